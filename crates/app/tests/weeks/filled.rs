//! A practice in which weeks have run: everybody in it is invented, and so are their numbers. For the journeys and the browser.

use std::path::Path;

use cabinet::{
    Cabinet, ClientId, ConsentKind, Cost, Details, Error, Json, NewReading, NoteKind, Passphrase, ReadingSide, Time,
    Writer,
};
use serde_json::json;
use vocab::Date;

/// Somebody and their weeks.
pub struct Story {
    pub name: &'static str,
    /// The first worked day, so many days before the practice's own.
    pub ago: i64,
    pub plan: serde_json::Value,
    /// Baseline visits.
    pub baseline: i32,
    /// By so much the colour under the eyes and the level of stress differ in the last week.
    pub change: f64,
    pub stress: f64,
    /// A session on all days but each so many-th.
    pub skip: i32,
    /// A visit that lies far from the others: its day.
    pub odd: Option<i32>,
}

/// The usual plan with changes.
pub fn plan(more: serde_json::Value) -> serde_json::Value {
    let mut plan = json!({ "value": "dE00", "others": ["brow"], "size": 2.0, "baseline": 5, "every": 3, "photographs": 2, "looks": 1, "side": null, "measure_later": false });
    for (key, value) in more.as_object().into_iter().flatten() {
        plan[key] = value.clone();
    }
    plan
}

/// Five of them: a clear change, none, before the look, one side, too few baseline days.
pub fn stories() -> Vec<Story> {
    let usual = |name, ago, change, more| Story {
        name,
        ago,
        plan: plan(more),
        baseline: 5,
        change,
        stress: change,
        skip: 6,
        odd: None,
    };
    vec![
        usual("Ada Winter", 29, -3.0, json!({})),
        usual("Ben Sommer", 29, 0.0, json!({})),
        usual("Cara Herbst", 11, -3.0, json!({})),
        usual("Dan Lenz", 29, -3.0, json!({ "side": "left", "looks": 2 })),
        Story { baseline: 2, odd: Some(16), ..usual("Elis Maier", 29, -3.0, json!({})) },
    ]
}

/// Numbers between -1 and 1, the same each time (Steele, Lea, Flood 2014: SplitMix64; from memory).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

fn noon(day: Date) -> Time {
    Time::parse(&format!("{day}T12:00:00Z")).expect("a moment")
}

/// Makes the practice in a folder; `today`: its own day.
pub fn fill(folder: &Path, passphrase: &str, today: Date, stories: &[Story]) -> Result<Vec<ClientId>, Error> {
    let before = noon(today.plus(-120).expect("a day"));
    let cabinet = Cabinet::create(folder, &Passphrase::new(passphrase), Cost::STANDARD, before)?;
    let mut found = Vec::new();
    for (at, story) in stories.iter().enumerate() {
        found.push(one(&cabinet, story, today, at as u64)?);
    }
    Ok(found)
}

fn one(cabinet: &Cabinet, s: &Story, today: Date, seed: u64) -> Result<ClientId, Error> {
    let first = today.plus(-s.ago).expect("a day");
    let date = |number: i32| first.plus(i64::from(number) - 1).expect("a day");
    let body = json!({ "times": "21:30", "days_a_week": 7, "plan": s.plan });
    let (id, weeks) = cabinet.write(noon(date(-20)), |w| {
        let details = Details { name: s.name.to_owned(), ..Details::default() };
        let id = w.add_client(&details)?;
        w.record_consent(id, ConsentKind::Care, true, w.now(), "care 1")?;
        w.record_consent(id, ConsentKind::Photographs, true, w.now(), "photographs 1")?;
        let weeks = w.add_weeks(id, None, first, 28, &Json::new(body.to_string())?)?;
        Ok((id, weeks))
    })?;
    let mut draw = Draw(seed);
    for number in -14..=28 {
        let day = date(number);
        if day > today {
            break;
        }
        cabinet.write(noon(day), |w| {
            let share = (f64::from(number.max(0)) / 25.0).min(1.0);
            let asked = (number - 1).rem_euclid(3) == 0;
            if asked && number > -3 * s.baseline {
                let far = if s.odd == Some(number) { 6.0 } else { 0.0 };
                visit(w, id, s, [share, far], &mut draw)?;
            }
            let level = |draw: &mut Draw, middle: f64| (middle + draw.next()).round().clamp(0.0, 10.0);
            let (relaxed, stress) = (level(&mut draw, 4.0 - s.stress * share), level(&mut draw, 6.0 + s.stress * share));
            let (well, sleep) = (level(&mut draw, 6.0), level(&mut draw, 5.0));
            let said = json!([relaxed, stress, well, sleep]);
            let worked = number >= 1 && number % s.skip != 0;
            let mut note = json!({ "done": worked, "minutes": if worked { 8 } else { 0 }, "felt": { "words": "", "places": [] } });
            if worked {
                let after = json!([(relaxed + 2.0).min(10.0), (stress - 1.0).max(0.0), well, null]);
                note["sessions"] = json!([{ "at": null, "seconds": 480, "ended": "whole", "felt": [], "before": said, "after": after, "words": "" }]);
            } else if number < 1 {
                note["levels"] = said;
            }
            if number == 9 || number == 17 {
                note["context"] = json!(["short_night"]);
            }
            if number == 13 {
                note["context"] = json!(["cold"]);
                note["cycle_day"] = json!(3);
            }
            if worked || number < 1 || number == 13 {
                w.add_home_note(id, (number >= 1).then_some(weeks), day, &Json::new(note.to_string())?)?;
            }
            if number == 10 {
                w.add_note(id, None, NoteKind::Incident, "A small bruise on the right cheek, from a door.")?;
            }
            Ok(())
        })?;
    }
    Ok(id)
}

/// A visit of two photographs: numbers alone, as a measurement would leave them.
fn visit(w: &Writer<'_>, id: ClientId, s: &Story, [share, far]: [f64; 2], draw: &mut Draw) -> Result<(), Error> {
    let visit = w.add_visit(id, w.now(), &Json::new("{}")?)?;
    let one_side = s.plan["side"].is_string();
    let shared = 0.7 * draw.next() + far;
    let mut readings = Vec::new();
    for (name, level, change, noise) in [("dE00", 8.0, s.change, 1.0), ("brow", 22.0, 0.0, 0.6)] {
        let right = level + noise * (shared + 0.2 * draw.next()) + if one_side { 0.0 } else { change * share };
        let left = level + noise * (shared + 0.2 * draw.next()) + change * share;
        for (side, mean) in
            [(ReadingSide::Left, left), (ReadingSide::Right, right), (ReadingSide::Face, 0.5 * (left + right))]
        {
            readings.push(NewReading { name, side, mean, count: 2, ss: 0.06 * noise * (1.0 + draw.next()) });
        }
    }
    w.set_readings(visit, &readings)
}
