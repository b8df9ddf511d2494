//! `phantom OUT.mjpeg --film FRAMES`: a film of an invented person with the truth of every frame, to try the live face with.
//!
//! The film is JPEG pictures one after the other, as a browser's stand-in for a camera plays it. In the upper left corner of each stands
//! its number in blocks, so that a frame can be told wherever it comes out: a white one, a black one, then eight bits, the highest first.

use std::path::Path;

use face::{Hands, Landmarks, OwnMap, Pixel, Places, View as Sheet};
use phantom::{Film, Person, photograph};
use plan::atlas::{Atlas, Kind, Shown};
use serde::Serialize;
use vision::View;
use vocab::{Finding, Side};

use crate::catalogue::{fill, text};
use crate::files;
use crate::outcome::{Code, Outcome};
use crate::own::{self, invented, sides};

/// The size of a frame, px, and frames a second: what a browser plays such a file with.
const SIZE: (usize, usize) = (640, 480);
const RATE: f64 = 30.0;
/// The side of a block, px.
const BLOCK: usize = 16;
/// A number has eight bits.
pub const MOST: usize = 256;

#[derive(Serialize)]
struct FilmTruth {
    invented: bool,
    seed: u64,
    tone: &'static str,
    size: [usize; 2],
    rate: f64,
    block: usize,
    frames: Vec<FrameTruth>,
}

#[derive(Serialize)]
struct FrameTruth {
    /// Yaw, pitch and roll, degrees.
    turn: [f64; 3],
    mm_per_px: f64,
    /// Every target that a picture of a face carries or might, px.
    targets: Vec<TargetTruth>,
}

#[derive(Serialize)]
struct TargetTruth {
    target: String,
    side: &'static str,
    at: [f64; 2],
    ways: Vec<Vec<[f64; 2]>>,
    outline: Vec<[f64; 2]>,
    /// Whether it hangs on the hairline, which is an estimate where hair hides it.
    by_hairline: bool,
}

/// Writes the film; with `json` its truth is the answer.
pub fn run(out: &Path, seed: u64, frames: usize, json: bool) -> Result<Outcome, Vec<Finding>> {
    let wrong = |why: String| vec![Finding::new(out.display().to_string(), 0, why)];
    let person = Person::invented(seed);
    let film = Film::of(&person, SIZE.0, SIZE.1, RATE);
    let atlas = Atlas::built_in();
    let mut bytes = Vec::new();
    let mut truths = Vec::new();
    for number in 0..frames.min(MOST) {
        let (who, shot) = film.frame(number);
        let (mut picture, truth) = photograph(&who, &shot);
        let size = (picture.width, picture.height);
        truths.push(truth_of(&atlas, &who, &picture, &truth));
        numbered(&mut picture.rgb, size.0, number);
        let view = View::new(size.0, size.1, &picture.rgb).ok_or_else(|| wrong(text("photo.broken").to_owned()))?;
        bytes.extend(vision::jpeg(&view, 92).map_err(|e| wrong(e.to_string()))?);
    }
    files::write_bytes(out, &bytes)?;
    if json {
        let size = [SIZE.0, SIZE.1];
        let tone = person.tone.name();
        let truth = FilmTruth { invented: true, seed, tone, size, rate: RATE, block: BLOCK, frames: truths };
        return Ok(super::json(&truth, Code::Done));
    }
    let said = fill("film.done", &[("file", &out.display()), ("frames", &frames.min(MOST)), ("seed", &seed)]);
    Ok(Outcome::done(format!("{said}\n")))
}

/// Writes the number into the corner.
fn numbered(rgb: &mut [u8], width: usize, number: usize) {
    let bits = (0..8).map(|k| number >> (7 - k) & 1 == 1);
    for (i, white) in [true, false].into_iter().chain(bits).enumerate() {
        for y in 0..BLOCK {
            let from = 3 * (y * width + i * BLOCK);
            rgb[from..from + 3 * BLOCK].fill(if white { 235 } else { 20 });
        }
    }
}

/// Where every target truly lies: points by their rules on the true head, lines and zones as the drawing is carried by the true landmarks.
fn truth_of(atlas: &Atlas, who: &Person, picture: &phantom::Picture, truth: &phantom::Truth) -> FrameTruth {
    let places = own::places();
    let mut targets: Vec<TargetTruth> = invented::points(atlas, places, who, truth)
        .into_iter()
        .map(|(code, side, at)| TargetTruth {
            target: code.to_owned(),
            side: side.word(),
            at: rounded(at),
            ways: Vec::new(),
            outline: Vec::new(),
            by_hairline: by_hairline(places, who, truth, code, side),
        })
        .collect();
    let map = View::new(picture.width, picture.height, &picture.rgb).and_then(|view| {
        let landmarks = Landmarks::new(truth.landmarks.clone())?;
        let hairline = truth.hairline_px.iter().map(|p| Pixel::new(p[0], p[1])).collect();
        OwnMap::make(&landmarks, &view, &Hands { landmarks: Vec::new(), hairline }, places, &[])
    });
    if let Some(map) = map {
        let warp = map.onto_picture();
        let mut higher = map.clone();
        higher.head.hairline = map.head.hairline.raised(5.0);
        let moved = higher.onto_picture();
        let carry = |s: &face::Spot| {
            let at = warp.carry(*s);
            rounded([at.x, -at.y])
        };
        let spread = atlas.targets.iter().filter(|t| t.kind != Kind::Point && !matches!(t.shown, Shown::Never(_)));
        for (target, side) in spread.flat_map(|t| sides(t.sides).iter().map(move |s| (t, *s))) {
            let Some(seen) = own::drawn().see(&target.id, side).filter(|s| s.view == Sheet::Face) else { continue };
            targets.push(TargetTruth {
                target: target.id.clone(),
                side: side.word(),
                at: carry(&seen.at),
                ways: seen.ways.iter().map(|w| w.iter().map(carry).collect()).collect(),
                outline: seen.outline.iter().map(carry).collect(),
                by_hairline: seen
                    .outline
                    .iter()
                    .chain(seen.ways.iter().flatten())
                    .any(|s| warp.carry(*s).to(moved.carry(*s)) * truth.mm_per_px > 0.5),
            });
        }
    }
    FrameTruth { turn: truth.pose_deg, mm_per_px: truth.mm_per_px, targets }
}

/// Whether a point moves when the hairline does.
fn by_hairline(places: &Places, who: &Person, truth: &phantom::Truth, code: &str, side: Side) -> bool {
    let head = invented::head(truth).with_thumb(who.build.thumb_mm);
    let mut higher = head.clone();
    higher.hairline = head.hairline.raised(5.0);
    let at = |head: &face::Head| places.find(code, side, head).map(|found| found.0);
    at(&head).zip(at(&higher)).is_some_and(|(a, b)| (0..3).any(|k| (a[k] - b[k]).abs() > 0.2))
}

fn rounded(at: [f64; 2]) -> [f64; 2] {
    at.map(|v| (v * 100.0).round() / 100.0)
}
