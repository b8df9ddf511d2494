//! Corrections by hand: the handles on a photograph, and what is told beside them.

use face::{HANDLES, Pixel};
use maud::{Markup, html};

use super::album::Held;
use super::visitor::token;
use crate::catalogue::{fill, text};
use crate::own::desk;

/// The words of each landmark's handle, in the order of [`HANDLES`].
const WORDS: [&str; HANDLES.len()] = [
    "mappage.outer_corner_right",
    "mappage.inner_corner_right",
    "mappage.outer_corner_left",
    "mappage.inner_corner_left",
    "mappage.pupil_right",
    "mappage.pupil_left",
    "mappage.lower_lid_right",
    "mappage.lower_lid_left",
    "mappage.brow_inner_right",
    "mappage.brow_arch_right",
    "mappage.brow_outer_right",
    "mappage.brow_inner_left",
    "mappage.brow_arch_left",
    "mappage.brow_outer_left",
    "mappage.nose_tip",
    "mappage.nose_base",
    "mappage.wing_right",
    "mappage.wing_left",
    "mappage.mouth_right",
    "mappage.mouth_left",
    "mappage.upper_lip",
    "mappage.lower_lip",
    "mappage.chin",
    "mappage.jaw_right",
    "mappage.jaw_left",
    "mappage.ear_right",
    "mappage.ear_left",
];

/// The words of the hairline's handles, from the person's right temple to their left.
const HAIRLINE_WORDS: [&str; desk::HAIRLINE] =
    ["mappage.hairline_0", "mappage.hairline_1", "mappage.hairline_2", "mappage.hairline_3", "mappage.hairline_4"];

/// Every handle: its name, its words, and where it stands in pixels of the picture.
pub fn handles(held: &Held) -> Vec<(String, &'static str, [f64; 2])> {
    let landmark = |((number, key), words): (&(usize, &str), &&'static str)| {
        let at = held.seen.map.landmarks.at(*number);
        ((*key).to_owned(), text(words), [at.x, at.y])
    };
    let mut all: Vec<_> = HANDLES.iter().zip(&WORDS).map(landmark).collect();
    let line = desk::hairline(&held.seen, &held.hands);
    all.extend(line.iter().zip(HAIRLINE_WORDS).enumerate().map(|(i, (at, words))| {
        let inside = |v: f64, most: u32| v.clamp(0.0, f64::from(most));
        (
            format!("hairline_{i}"),
            text(words),
            [inside(at.x, held.seen.photo.width), inside(at.y, held.seen.photo.height)],
        )
    }));
    all
}

/// What to do, and how to undo it.
pub fn how(held: Option<&Held>, undo: &str) -> Markup {
    let Some(held) = held else { return html! {} };
    let moved = held.hands.landmarks.len() + usize::from(!held.hands.hairline.is_empty());
    html! {
        section.by-hand aria-labelledby="by-hand" {
            h2 #by-hand { (text("mappage.by_hand")) }
            p { (text("mappage.by_hand_how")) }
            noscript { p.gently { (text("mappage.by_hand_script")) } }
            p #moved role="status" {
                @match moved {
                    0 => (text("mappage.moved_none")),
                    1 => (text("mappage.moved_one")),
                    n => (fill("mappage.moved", &[("n", &n)])),
                }
            }
            @if moved > 0 {
                form #undo method="post" action=(undo) { (token()) button.quiet type="submit" { (text("mappage.undo")) } }
            }
        }
    }
}

/// A place of the picture that a form names, if it is one: at most a picture's size outside of it.
pub fn place(held: &Held, x: &str, y: &str) -> Option<Pixel> {
    let read = |word: &str, most: u32| {
        let value: f64 = word.parse().ok()?;
        let most = f64::from(most);
        (value.is_finite() && (-most..=2.0 * most).contains(&value)).then_some(value)
    };
    Some(Pixel::new(read(x, held.seen.photo.width)?, read(y, held.seen.photo.height)?))
}
