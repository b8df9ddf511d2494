//! The demo's photographs: drawn and measured one visit after the other while the desk already answers, and kept as each visit is finished.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use cabinet::{Cabinet, ConsentKind, Error, ErrorKind, Json, NewPhotograph, VisitId, Writer};
use colour::Tone;
use phantom::{Person, Shot, Space, UnderEye};
use serde_json::{Value, json};
use vision::{Finder, View};
use vocab::Date;

use super::fill::moment;
use super::scenario::{Invented, Visit};
use crate::desk::{Desk, keep};
use crate::following::readings;
use crate::json::measure::{PhotoOut, VisitOut};
use crate::measuring::visit::Gathering;
use crate::measuring::{Taken, Told, measure_file};
use crate::own::invented;

/// Photographs of each visit.
pub const SHOTS: usize = 2;
/// Width and height without a card: large enough for every gate, and drawn in two thirds of the time of 1200 x 1500.
const SIZE: (usize, usize) = (960, 1200);
/// The setting that holds the demo's day, its clients in the order of the scenario, and the visits that are kept.
pub const SETTING: &str = "demo";
const QUALITY: u8 = 88;
/// How long to wait for a practice that is locked.
const PATIENCE: Duration = Duration::from_millis(500);

/// How far the photographs are: kept, and in all.
#[derive(Default)]
pub struct Drawing(Mutex<Option<(usize, usize)>>);

impl Drawing {
    /// How many photographs are kept of how many; none when all are.
    pub fn progress(&self) -> Option<(usize, usize)> {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn set(&self, now: Option<(usize, usize)>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = now;
    }
}

/// What the setting says.
struct Made {
    day: Date,
    /// The visits of each person, in the order of the scenario.
    visits: Vec<Vec<VisitId>>,
    drawn: Vec<(usize, usize)>,
}

impl Made {
    fn read(text: &str) -> Option<Made> {
        let said: Value = serde_json::from_str(text).ok()?;
        let numbers = |v: &Value| v.as_array().map(|all| all.iter().filter_map(Value::as_i64).collect::<Vec<_>>());
        let visits = |v: &Value| Some(numbers(v)?.into_iter().map(VisitId::from_number).collect());
        let place = |v: &Value| {
            let pair = numbers(v)?;
            Some((usize::try_from(*pair.first()?).ok()?, usize::try_from(*pair.get(1)?).ok()?))
        };
        Some(Made {
            day: Date::parse(said.get("day")?.as_str()?)?,
            visits: said.get("visits")?.as_array()?.iter().filter_map(visits).collect(),
            drawn: said.get("drawn")?.as_array()?.iter().filter_map(place).collect(),
        })
    }
}

/// The setting of a demo that was made on this day.
pub fn setting(day: Date, visits: &[Vec<VisitId>], drawn: &[(usize, usize)]) -> String {
    let visits: Vec<Vec<i64>> = visits.iter().map(|all| all.iter().map(|v| v.number()).collect()).collect();
    json!({ "day": day.to_string(), "visits": visits, "drawn": drawn }).to_string()
}

/// Draws what is missing, on a thread of its own, until all is there or the desk has gone over to another practice.
pub fn draw_beside(desk: Arc<Desk>, people: Vec<Invented>) {
    let cabinet = desk.keep.cabinet();
    // Set before the first page is asked for.
    desk.drawing.set(left(&cabinet, &people).ok().flatten().map(|(_, _, progress)| progress));
    std::thread::spawn(move || {
        let Ok(finder) = Finder::new().map(|f| f.beside()) else { return };
        while Arc::ptr_eq(&cabinet, &desk.keep.cabinet()) {
            match one(&cabinet, &desk, &people, &finder) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) if matches!(error.kind(), ErrorKind::Locked) => std::thread::sleep(PATIENCE),
                Err(error) => {
                    eprintln!("{error}");
                    break;
                }
            }
        }
        if Arc::ptr_eq(&cabinet, &desk.keep.cabinet()) {
            desk.drawing.set(None);
        }
    });
}

/// What is still to be drawn: person and visit, the most important person first, the latest visit first; and how far it is.
#[expect(clippy::type_complexity, reason = "asked for in one place")]
fn left(cabinet: &Cabinet, people: &[Invented]) -> Result<Option<(Made, Vec<(usize, usize)>, (usize, usize))>, Error> {
    let Some(made) = cabinet.read(|r| r.setting(SETTING))?.as_deref().and_then(Made::read) else { return Ok(None) };
    let mut order: Vec<usize> = (0..people.len()).collect();
    order.sort_by_key(|i| people[*i].draw);
    let all: Vec<(usize, usize)> =
        order.into_iter().flat_map(|i| (0..people[i].visits.len()).map(move |n| (i, n))).collect();
    let count = all.len();
    let left: Vec<_> = all.into_iter().filter(|place| !made.drawn.contains(place)).collect();
    let progress = (SHOTS * (count - left.len()), SHOTS * count);
    Ok(if left.is_empty() { None } else { Some((made, left, progress)) })
}

/// Draws, measures and keeps the next visit; whether there was one.
fn one(cabinet: &Cabinet, desk: &Desk, people: &[Invented], finder: &Finder) -> Result<bool, Error> {
    let Some((made, left, progress)) = left(cabinet, people)? else { return Ok(false) };
    desk.drawing.set(Some(progress));
    let Some(&(i, n)) = left.first() else { return Ok(false) };
    let (Some(p), Some(visit)) = (people.get(i), made.visits.get(i).and_then(|v| v.get(n))) else { return Ok(false) };
    let taken = taken(p, n, finder);
    let at = moment(made.day, keep::now(desk), p.visits[n].ago);
    cabinet.write(at, |w| {
        let Some(mut now) = w.setting(SETTING)?.as_deref().and_then(Made::read) else { return Ok(()) };
        if now.drawn.contains(&(i, n)) {
            return Ok(());
        }
        // Somebody may have taken it out meanwhile, or the client with it.
        if w.visit(*visit).is_ok() {
            keep_visit(w, *visit, p, &taken)?;
        }
        now.drawn.push((i, n));
        w.set(SETTING, Some(&setting(now.day, &now.visits, &now.drawn)))
    })?;
    Ok(true)
}

/// A photograph and what was measured on it.
pub struct Shown {
    /// The file.
    pub jpeg: Vec<u8>,
    /// Its measurement.
    pub taken: Taken,
}

/// The photographs of a visit, drawn and measured as any other's would be.
pub fn taken(p: &Invented, n: usize, finder: &Finder) -> Vec<Shown> {
    let who = Person::invented(p.seed);
    let told = Told { tone: Tone::parse(who.tone.name()), ..Told::default() };
    let shots = (0..SHOTS).map(|k| shot(&who, &p.visits[n], n, k));
    shots
        .filter_map(|shot| {
            let (photo, _) = invented::picture(&who, &shot);
            let rgb = photo?.rgb8().into_owned();
            let jpeg = vision::jpeg(&View::new(shot.width, shot.height, &rgb)?, QUALITY).ok()?;
            let taken = measure_file(&jpeg, finder, &told).ok()?;
            Some(Shown { jpeg, taken })
        })
        .collect()
}

fn shot(who: &Person, visit: &Visit, n: usize, k: usize) -> Shot {
    let seed = who.seed + 1000 * (1 + n as u64) + 100 * k as u64;
    let mut shot = Shot::measured(seed, visit.light.0);
    (shot.width, shot.height) = SIZE;
    // One camera a practice; the light is the same for the photographs of one visit.
    shot.camera_kind = 1 + (who.seed % 3) as u8;
    shot.light_seed = who.seed + 1000 * n as u64;
    shot.jpeg_space = Space::Srgb;
    shot.card = visit.card;
    if visit.card {
        // The card lies below the chin and its code needs pixels: a larger picture that reaches further down.
        (shot.width, shot.height) = (1500, 2250);
        shot.fill *= 5.0 / 6.0;
    }
    let [brown, blue_red, relief] = visit.under;
    let uneven = 0.06 * ((who.seed % 5) as f64 - 2.0);
    let both = |v: f64| [v * (1.0 + uneven), v * (1.0 - uneven)];
    shot.under_eye = UnderEye { brown: both(brown), blue_red: both(blue_red), relief: both(relief) };
    shot
}

fn keep_visit(w: &Writer<'_>, kept: VisitId, p: &Invented, shown: &[Shown]) -> Result<(), Error> {
    let id = w.visit(kept)?.client;
    let mut gathering = Gathering::default();
    for (k, one) in shown.iter().enumerate() {
        gathering.add(&one.taken);
        let shot = format!("front {}", k + 1);
        let name = format!("{}.jpg", shot.replace(' ', "-"));
        let body = Json::new(serde_json::to_string(&PhotoOut::new(&name, &one.taken)).unwrap_or_default())?;
        // Whoever has taken back the consent to photographs has none here; their numbers stay.
        let photograph = if p.photographs.1.is_none() && w.consents_to(id, ConsentKind::Photographs)? {
            let [width, height] = one.taken.picture;
            let new = NewPhotograph { shot: &shot, media: "image/jpeg", width, height, bytes: &one.jpeg };
            Some(w.add_photograph(kept, &new)?)
        } else {
            None
        };
        if photograph.is_some() {
            w.add_measurement(kept, photograph, &body)?;
        }
    }
    if let Some(combined) = gathering.combined() {
        let body = Json::new(serde_json::to_string(&VisitOut::new(&combined)).unwrap_or_default())?;
        w.add_measurement(kept, None, &body)?;
    }
    readings::keep(w, kept)
}
