//! Ways to follow a face through the frames of a camera, against the truth of invented films: where the choices of `vision::Follower`
//! come from.
//!
//! `live [PEOPLE] [FRAMES]` prints for each way how far the points that landmarks carry lie from their truth, how much they tremble (the
//! scatter of second differences between frames, less the truth's own), and how long a frame takes.

use std::f64::consts::TAU;
use std::process::ExitCode;
use std::time::Instant;

use face::{Hairline, HairlineSource, Hands, Head, Landmarks, OwnMap, OwnPoint, Pixel, Places};
use phantom::{Film, Person, Truth, photograph};
use vision::{Care, Finder, Followed, Follower, View};
use vocab::Side;

/// Frames a second of the films.
const RATE: f64 = 15.0;
const SIZE: (usize, usize) = (480, 360);
const WAYS: [&str; 6] = [
    "detector, one pass",
    "one pass around the last",
    "detector, three passes and the mirrored picture",
    "the follower",
    "the follower, 1 euro filter in the picture",
    "the follower, 1 euro filter in the face",
];

/// The 1 euro filter (Casiez, Roussel, Vogel 2012, CHI, 2527): a low pass whose cut-off rises with the speed. The constants are those that
/// trembled least here without lagging more than a tenth of a millimetre.
#[derive(Clone, Copy, Default)]
struct Euro {
    last: Option<(f64, f64)>,
}

impl Euro {
    fn next(&mut self, value: f64, least: f64, rises: f64) -> f64 {
        let share = |cut: f64| 1.0 / (1.0 + RATE / (TAU * cut));
        let Some((before, speed)) = self.last else {
            self.last = Some((value, 0.0));
            return value;
        };
        let speed = speed + share(1.0) * ((value - before) * RATE - speed);
        let now = before + share(least + rises * speed.abs()) * (value - before);
        self.last = Some((now, speed));
        now
    }
}

/// What one way gave: errors (mm), and the places of each point in the frames, with the truth's.
#[derive(Default)]
struct Given {
    errors: Vec<f64>,
    trembling: Vec<f64>,
    ms: Vec<f64>,
    /// By point: the last two misses, mm, across and down.
    misses: Vec<Vec<[f64; 2]>>,
}

fn main() -> ExitCode {
    let number = |n: usize, usual: usize| std::env::args().nth(n).and_then(|w| w.parse().ok()).unwrap_or(usual);
    let (people, frames) = (number(1, 6), number(2, 60));
    let places = Places::built_in();
    let asked = asked(&places);
    let Ok(finder) = Finder::new() else {
        eprintln!("the networks do not load");
        return ExitCode::FAILURE;
    };
    let mut given: Vec<Given> = WAYS.iter().map(|_| Given::default()).collect();
    for seed in 1..=people as u64 {
        person(seed, frames, &finder, &places, &asked, &mut given);
        eprintln!("{seed} of {people}");
    }
    println!("{people} people, {frames} frames each, {} points that do not hang on the hairline", asked.len());
    println!("{:<48} {:>8} {:>8} {:>8} {:>10} {:>8}", "way", "middle", "95th", "worst", "trembling", "ms");
    for (name, given) in WAYS.iter().zip(&mut given) {
        let rms = (given.trembling.iter().map(|v| v * v).sum::<f64>() / given.trembling.len().max(1) as f64).sqrt();
        println!(
            "{name:<48} {:>8.2} {:>8.2} {:>8.2} {rms:>10.3} {:>8.1}",
            quantile(&mut given.errors, 0.5),
            quantile(&mut given.errors, 0.95),
            quantile(&mut given.errors, 1.0),
            quantile(&mut given.ms, 0.5)
        );
    }
    ExitCode::SUCCESS
}

fn person(seed: u64, frames: usize, finder: &Finder, places: &Places, asked: &[(&str, Side)], given: &mut [Given]) {
    let person = Person::invented(seed);
    let film = Film::of(&person, SIZE.0, SIZE.1, RATE);
    let alone = finder.beside();
    let mut follower = Follower::new(finder);
    let mut base: Option<OwnMap> = None;
    let mut last: Option<Landmarks> = None;
    let mut euros = vec![[Euro::default(); 4]; asked.len()];
    given.iter_mut().for_each(|g| g.misses = vec![Vec::new(); asked.len()]);
    for i in 0..frames {
        let (who, mut shot) = film.frame(i);
        // Another grain in each frame.
        shot.seed += i as u64;
        let (picture, truth) = photograph(&who, &shot);
        let Some(view) = View::new(picture.width, picture.height, &picture.rgb) else { continue };
        let wanted = truths(places, asked, &who, &truth);
        let timed = |care: Care| {
            let begun = Instant::now();
            (alone.find(&view, care).ok(), begun.elapsed().as_secs_f64() * 1e3)
        };
        let (one, one_ms) = timed(Care::ONE_PASS);
        let (best, best_ms) = timed(Care::PHOTOGRAPH);
        let (Some(one), Some(best)) = (one, best) else { continue };
        let begun = Instant::now();
        let around =
            last.as_ref().and_then(|l| alone.track(&view, l).ok()).map_or_else(|| one.landmarks.clone(), |t| t.0);
        let around_ms = begun.elapsed().as_secs_f64() * 1e3;
        if base.is_none() {
            base = OwnMap::make(&best.landmarks, &view, &Hands::default(), places, asked);
        }
        let Some(base) = &base else { continue };
        let begun = Instant::now();
        let followed = follower.next(&view, places, &asked[..1]);
        let follower_ms = begun.elapsed().as_secs_f64() * 1e3;
        let Ok(Followed::Face(followed)) = followed else { continue };
        let whole = OwnMap::with(
            &followed.landmarks,
            followed.frame.clone(),
            followed.scale,
            followed.head.hairline.clone(),
            places,
            asked,
        );
        for (way, landmarks, ms) in
            [(0, &one.landmarks, one_ms), (1, &around, around_ms), (2, &best.landmarks, best_ms)]
        {
            let Some(map) = base.follow(landmarks, places, asked) else { continue };
            let at: Vec<Pixel> = map.points.iter().map(|p| p.at).collect();
            note(&mut given[way], &at, &wanted, truth.mm_per_px, ms);
        }
        let at: Vec<Pixel> = whole.points.iter().map(|p| p.at).collect();
        note(&mut given[3], &at, &wanted, truth.mm_per_px, follower_ms);
        let (mut in_picture, mut in_face) = (Vec::new(), Vec::new());
        for (OwnPoint { at, place, .. }, euro) in whole.points.iter().zip(&mut euros) {
            in_picture.push(Pixel::new(euro[0].next(at.x, 2.0, 0.1), euro[1].next(at.y, 2.0, 0.1)));
            // The head's turn is taken as it is; only the place on the face is smoothed.
            let smooth = [euro[2].next(place[0], 1.0, 0.1), euro[3].next(place[1], 1.0, 0.1), place[2]];
            in_face.push(whole.frame.to_picture(smooth));
        }
        note(&mut given[4], &in_picture, &wanted, truth.mm_per_px, follower_ms);
        note(&mut given[5], &in_face, &wanted, truth.mm_per_px, follower_ms);
        last = Some(around);
    }
}

/// Every point that does not hang on the hairline, on each side it exists on.
fn asked(places: &Places) -> Vec<(&str, Side)> {
    let head = face::drawn_head();
    let mut higher = head.clone();
    higher.hairline = head.hairline.raised(5.0);
    let mut list = Vec::new();
    for code in places.codes() {
        let at = |head: &Head| places.find(code, Side::Left, head).map(|f| f.0);
        let (Some(here), Some(there)) = (at(&head), at(&higher)) else { continue };
        if (0..3).any(|k| (here[k] - there[k]).abs() > 0.2) {
            continue;
        }
        list.extend(if here[0].abs() < 1e-6 {
            vec![(code, Side::Midline)]
        } else {
            vec![(code, Side::Left), (code, Side::Right)]
        });
    }
    list
}

/// Where they truly lie, px.
fn truths(places: &Places, asked: &[(&str, Side)], who: &Person, truth: &Truth) -> Vec<[f64; 2]> {
    let line = truth.hairline_mm.iter().map(|p| [p[0], p[1]]).collect();
    let head = Head::new(truth.head_mm.clone(), Hairline::through(line, HairlineSource::Hand, 0.0))
        .with_thumb(who.build.thumb_mm);
    let one =
        |(code, side): &(&str, Side)| places.find(code, *side, &head).map_or([f64::NAN; 2], |f| truth.project(f.0));
    asked.iter().map(one).collect()
}

fn note(given: &mut Given, at: &[Pixel], wanted: &[[f64; 2]], mm_per_px: f64, ms: f64) {
    given.ms.push(ms);
    for ((at, want), misses) in at.iter().zip(wanted).zip(&mut given.misses) {
        let miss = [(at.x - want[0]) * mm_per_px, (at.y - want[1]) * mm_per_px];
        given.errors.push(miss[0].hypot(miss[1]));
        misses.push(miss);
        if let [.., a, b, c] = misses.as_slice() {
            // A steady scatter of s has second differences of s times the root of 6.
            given.trembling.extend((0..2).map(|k| (a[k] - 2.0 * b[k] + c[k]) / 6.0_f64.sqrt()));
        }
    }
}

fn quantile(list: &mut [f64], share: f64) -> f64 {
    list.sort_by(f64::total_cmp);
    list.get(((list.len() as f64 - 1.0) * share).round() as usize).copied().unwrap_or(f64::NAN)
}
