//! First and latest: two photographs chosen by rule, never by looks; laid over each other by the eyes, in one light where both hold a
//! card, cut alike.

use cabinet::{ClientId, Error, PhotographId, Reader, Visit};
use colour::{CardFit, Linear};
use face::{Landmarks, Pixel};
use vision::{Photograph, Placing, View, part};
use vocab::Date;

use super::days::local_day;
use crate::json::measured;
use crate::measuring::card::used;
use crate::measuring::{Lit, Told};

/// Width and height of each picture, in pixels.
pub const SIZE: [u32; 2] = [720, 960];
/// The middles of the eyes lie so far apart, in parts of the width; so that a face has some air around it.
const EYES_APART: f64 = 1.0 / 2.75;
/// And so far down, in parts of the height.
const EYES_DOWN: f64 = 0.44;
/// How much closer both may be cut where a photograph ends before the crop does.
const CLOSEST: f64 = 0.65;
/// Between the outer corners of the eyes of the canonical face, mm: near enough to know how large a card would be.
const CORNERS_MM: f64 = 89.0;

/// A photograph as the rule chooses it.
#[derive(Clone, Debug)]
pub struct Chosen {
    /// Of which visit.
    pub visit: Visit,
    /// Its number.
    pub photograph: PhotographId,
    /// The visit's day; day 1 is the first worked one.
    pub day: i32,
    /// How many corrections by hand it has: with another the picture is made anew.
    pub corrections: usize,
}

/// The rule: the first and the latest visit of the plan with a photograph that passed the gates, of each visit the first such
/// photograph in the order in which they were kept. None where there are no two such visits, or none of them is on a worked day.
///
/// # Errors
/// Of the store.
pub fn choose(r: &Reader<'_>, client: ClientId, first: Date, days: [i32; 2]) -> Result<Option<[Chosen; 2]>, Error> {
    let day = |visit: &Visit| i32::try_from(local_day(visit.at).days_since(first) + 1).unwrap_or(i32::MAX);
    let visits: Vec<(i32, Visit)> = r.visits(client)?.into_iter().map(|v| (day(&v), v)).collect();
    let within: Vec<&(i32, Visit)> = visits.iter().filter(|(d, _)| (days[0]..=days[1]).contains(d)).collect();
    let earliest = the_first_that_passed(r, within.iter().copied())?;
    let latest = the_first_that_passed(r, within.iter().rev().copied().filter(|(d, _)| *d >= 1))?;
    Ok(earliest.zip(latest).filter(|(a, b)| a.visit.id != b.visit.id).map(|(a, b)| [a, b]))
}

fn the_first_that_passed<'v>(
    r: &Reader<'_>,
    visits: impl Iterator<Item = &'v (i32, Visit)>,
) -> Result<Option<Chosen>, Error> {
    for (day, visit) in visits {
        if let Some(chosen) = passed(r, *day, visit)? {
            return Ok(Some(chosen));
        }
    }
    Ok(None)
}

/// The first photograph of a visit that passed every gate.
fn passed(r: &Reader<'_>, day: i32, visit: &Visit) -> Result<Option<Chosen>, Error> {
    let measurements = r.measurements(visit.id)?;
    for photo in r.photographs(visit.id)? {
        let last = measurements.iter().rev().find(|m| m.photograph == Some(photo.id));
        let looked = last.and_then(|m| measured::photo(m.body.as_str())).and_then(|p| p.looked.ok());
        if looked.is_some_and(|l| l.usable()) {
            let corrections = r.corrections(photo.id)?.len();
            return Ok(Some(Chosen { visit: visit.clone(), photograph: photo.id, day, corrections }));
        }
    }
    Ok(None)
}

/// In which light the two are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colours {
    /// Both by the card that lies in them.
    Matched,
    /// As photographed: neither holds a card that can be used.
    NoCard,
    /// As photographed: only one of them does.
    OneCard,
}

/// The two pictures.
#[derive(Clone)]
pub struct Made {
    /// First and latest as JPEG files of [`SIZE`], sRGB, without any metadata.
    pub jpeg: [Vec<u8>; 2],
    /// In which light.
    pub colours: Colours,
    /// Whether both were cut closer than usual, since one of them ends there.
    pub closer: bool,
}

/// The middle of an eye: between its corners, which do not move with the gaze.
fn eye(landmarks: &Landmarks, [outer, inner]: [usize; 2]) -> Pixel {
    let (a, b) = (landmarks.at(outer), landmarks.at(inner));
    Pixel::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0)
}

/// The person's own right eye and own left eye.
pub fn eyes(landmarks: &Landmarks) -> [Pixel; 2] {
    [eye(landmarks, [33, 133]), eye(landmarks, [263, 362])]
}

/// Where the eyes lie in both pictures, cut to this share of the usual.
pub fn eyes_shown(share: f64) -> [Pixel; 2] {
    let [w, h] = SIZE.map(f64::from);
    let half = w * EYES_APART / share / 2.0;
    let y = h * EYES_DOWN;
    [Pixel::new(w / 2.0 - half, y), Pixel::new(w / 2.0 + half, y)]
}

/// Makes the two pictures of two photographs of one face, with what was found in each. None where a picture can't be written, or its
/// eyes are in one place.
pub fn make(photos: [(&Photograph, &Landmarks); 2]) -> Option<Made> {
    let placing = |share: f64| {
        let [a, b] = photos.map(|(_, landmarks)| Placing::of(eyes_shown(share), eyes(landmarks)));
        Some([a?, b?])
    };
    let fits = |placings: &[Placing; 2]| placings.iter().zip(&photos).all(|(p, (photo, _))| p.within(SIZE, photo));
    let shares = || (0..=7).map(|k| 1.0 - 0.05 * f64::from(k));
    let share = shares().find(|s| placing(*s).is_some_and(|p| fits(&p))).unwrap_or(CLOSEST);
    let placings = placing(share)?;
    let cards = photos.map(|(photo, landmarks)| card(photo, landmarks));
    let colours = match &cards {
        [Some(_), Some(_)] => Colours::Matched,
        [None, None] => Colours::NoCard,
        _ => Colours::OneCard,
    };
    let mut jpeg = [Vec::new(), Vec::new()];
    for (k, (photo, _)) in photos.iter().enumerate() {
        let lit = Lit::new(photo);
        let seen = |light: Linear| match (&cards[k], colours) {
            (Some(fit), Colours::Matched) => Linear::of_xyz(fit.apply(light)),
            _ => light,
        };
        let rgb = part(photo, lit.space(), &placings[k], SIZE, &seen);
        let view = View::new(SIZE[0] as usize, SIZE[1] as usize, &rgb)?;
        jpeg[k] = vision::jpeg(&view, 90).ok()?;
    }
    Some(Made { jpeg, colours, closer: share < 1.0 })
}

/// What the card in a photograph makes of its colours; none without one that can be used.
fn card(photo: &Photograph, landmarks: &Landmarks) -> Option<CardFit> {
    let rgb = photo.rgb8();
    let view = View::new(photo.width as usize, photo.height as usize, &rgb)?;
    let lit = Lit::new(photo);
    let found = used(photo, &view, landmarks.eye_distance() / CORNERS_MM, lit.space(), &Told::default()).ok()?;
    found.card.map(|card| card.fit)
}
