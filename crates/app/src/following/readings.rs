//! What a visit's photographs say of each value, as a line of numbers for following: made of the answers that are kept with the visit.
//!
//! Of each photograph that passed the gates its last answer counts (a correction by hand makes a new one). `face` is the mean of both sides
//! of each photograph. Where single answers are not kept, as without consent to photographs, the visit's own answer stands for them.

use cabinet::{Cabinet, Error, Measurement, NewReading, PhotographId, ReadingSide, Time, VisitId, Writer};
use serde_json::Value as Json;

/// Which rule made the readings: a store whose setting says another is read anew, once.
const RULE: &str = "1";
/// The setting that holds it.
const SETTING: &str = "readings";
/// So many visits are caught up in one transaction.
const AT_ONCE: u32 = 200;

/// A value and where a side's answer holds it: of what is in each list the first two steps and the last.
const PLACES: [(&str, &[&str]); 10] = [
    ("dE00", &["shadow", "dE00"]),
    ("dL", &["shadow", "dL"]),
    ("brown", &["brown", "value"]),
    ("blue_red", &["blue_red", "value"]),
    ("relief", &["relief", "value"]),
    ("redness", &["sclera", "redness", "value"]),
    ("yellowness", &["sclera", "yellowness", "value"]),
    ("lid_opening", &["heights_mm", "lid_opening", "value"]),
    ("brow", &["heights_mm", "brow", "value"]),
    ("mouth_corner", &["heights_mm", "mouth_corner", "value"]),
];

const SIDES: [(ReadingSide, &str); 2] = [(ReadingSide::Left, "left"), (ReadingSide::Right, "right")];

fn at(side: &Json, steps: &[&str]) -> Option<f64> {
    let mut here = side;
    for step in steps {
        here = here.get(step)?;
    }
    here.as_f64().filter(|v| v.is_finite())
}

fn reading<'n>(name: &'n str, side: ReadingSide, photographs: &[f64]) -> Option<NewReading<'n>> {
    let of = follow::Visit::of(0, photographs)?;
    Some(NewReading { name, side, mean: of.mean, count: of.count, ss: of.ss })
}

/// The readings of a visit from its measurements, oldest first, and the photographs that it still has.
pub fn of(measurements: &[Measurement], photographs: &[PhotographId]) -> Vec<NewReading<'static>> {
    let read = |m: &Measurement| serde_json::from_str::<Json>(m.body.as_str()).unwrap_or_default();
    let last = |id: Option<PhotographId>| measurements.iter().rev().find(|m| m.photograph == id).map(read);
    let known: Vec<Json> = photographs.iter().filter_map(|id| last(Some(*id))).collect();
    if known.is_empty() {
        return last(None).map(|visit| of_visit(&visit)).unwrap_or_default();
    }
    let usable: Vec<&Json> = known.iter().filter(|p| p["usable"] == true && p["sides"].is_object()).collect();
    let mut all = Vec::new();
    for (name, steps) in PLACES {
        let one = |photo: &Json, word: &str| at(&photo["sides"][word], steps);
        for (side, word) in SIDES {
            let values: Vec<f64> = usable.iter().filter_map(|p| one(p, word)).collect();
            all.extend(reading(name, side, &values));
        }
        let both: Vec<f64> = usable.iter().filter_map(|p| Some(0.5 * (one(p, "left")? + one(p, "right")?))).collect();
        all.extend(reading(name, ReadingSide::Face, &both));
    }
    all
}

/// From the visit's own answer. Only of dE00 it says how the photographs scatter; any other value counts as read once, so that no
/// scatter of nought is claimed.
fn of_visit(visit: &Json) -> Vec<NewReading<'static>> {
    let photographs = visit["photographs"].as_u64().and_then(|n| u32::try_from(n).ok()).unwrap_or(1).max(1);
    let mut all = Vec::new();
    for (name, steps) in PLACES {
        let scatter =
            |word: &str| visit["sides"][word]["spread"].as_f64().filter(|_| name == "dE00" && photographs > 1);
        let new = |side, mean, spread: Option<f64>| match spread {
            Some(s) => NewReading { name, side, mean, count: photographs, ss: s * s * f64::from(photographs - 1) },
            None => NewReading { name, side, mean, count: 1, ss: 0.0 },
        };
        let [left, right] = SIDES.map(|(side, word)| {
            let mean = at(&visit["sides"][word], steps)?;
            all.push(new(side, mean, scatter(word)));
            Some(mean)
        });
        if let (Some(left), Some(right)) = (left, right) {
            // As if both sides went together, which is never narrower than what they do.
            let spread = scatter("left").zip(scatter("right")).map(|(l, r)| 0.5 * (l + r));
            all.push(new(ReadingSide::Face, 0.5 * (left + right), spread));
        }
    }
    all
}

/// Reads a visit's measurements, as they are kept now, into its readings. To be called in the transaction that measured it.
///
/// # Errors
/// There is no such visit; of the store.
pub fn keep(w: &Writer<'_>, visit: VisitId) -> Result<(), Error> {
    let photographs: Vec<PhotographId> = w.photographs(visit)?.iter().map(|p| p.id).collect();
    w.set_readings(visit, &of(&w.measurements(visit)?, &photographs))
}

/// Reads what was measured before there were readings, in steps; done once, and cut off at any moment it begins anew the next time.
///
/// # Errors
/// Of the store; it was locked meanwhile.
pub fn catch_up(cabinet: &Cabinet, now: Time) -> Result<(), Error> {
    if cabinet.read(|r| r.setting(SETTING))?.as_deref() == Some(RULE) {
        return Ok(());
    }
    let mut after = None;
    loop {
        let next = cabinet.read(|r| r.measured_visits(after, AT_ONCE))?;
        let Some(last) = next.last() else { break };
        after = Some(*last);
        cabinet.write(now, |w| {
            for visit in &next {
                // Somebody may have taken it out meanwhile.
                if w.visit(*visit).is_ok() {
                    keep(w, *visit)?;
                }
            }
            Ok(())
        })?;
    }
    cabinet.write(now, |w| w.set(SETTING, Some(RULE)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(de: f64, brown: Option<f64>) -> Json {
        serde_json::json!({
            "shadow": { "dE00": de, "dL": -de }, "brown": brown.map(|b| serde_json::json!({ "value": b, "u95": 0.1 })),
            "heights_mm": { "brow": { "value": 20.0, "u95": 1.0 } }, "sclera": null,
        })
    }

    fn photo(left: f64, right: f64, usable: bool) -> Json {
        serde_json::json!({ "usable": usable, "sides": { "left": side(left, Some(0.2)), "right": side(right, None) } })
    }

    fn of_photos(photos: &[Json], visit: &Json) -> Vec<NewReading<'static>> {
        let folder = std::env::temp_dir().join(format!("readings-{}-{:p}", std::process::id(), photos));
        let _ = std::fs::remove_dir_all(&folder);
        let now = Time::from_unix(0);
        let words = cabinet::Passphrase::new("horse lamp river seven");
        let store = Cabinet::create(&folder, &words, cabinet::Cost::FOR_TESTS, now).expect("made");
        let made = store.write(now, |w| {
            let client = w.add_client(&cabinet::Details { name: "Ana".into(), ..Default::default() })?;
            w.record_consent(client, cabinet::ConsentKind::Photographs, true, now, "1")?;
            let id = w.add_visit(client, now, &cabinet::Json::new("{}")?)?;
            for (k, body) in photos.iter().enumerate() {
                let bytes = [k as u8 + 1];
                let new =
                    cabinet::NewPhotograph { shot: "front", media: "image/jpeg", width: 1, height: 1, bytes: &bytes };
                let photo = w.add_photograph(id, &new)?;
                w.add_measurement(id, Some(photo), &cabinet::Json::new("{\"usable\":true,\"sides\":{}}")?)?;
                w.add_measurement(id, Some(photo), &cabinet::Json::new(body.to_string())?)?;
            }
            w.add_measurement(id, None, &cabinet::Json::new(visit.to_string())?)?;
            let ids: Vec<_> = w.photographs(id)?.iter().map(|p| p.id).collect();
            Ok(of(&w.measurements(id)?, &ids))
        });
        std::fs::remove_dir_all(&folder).expect("removed");
        made.expect("written")
    }

    fn one(all: &[NewReading<'_>], name: &str, side: ReadingSide) -> Option<(f64, u32, f64)> {
        all.iter().find(|r| (r.name, r.side) == (name, side)).map(|r| (r.mean, r.count, r.ss))
    }

    #[test]
    fn photographs_that_passed_count_by_their_last_answer_and_the_face_is_the_mean_of_both_sides() {
        let all = of_photos(&[photo(4.0, 2.0, true), photo(5.0, 4.0, true), photo(50.0, 50.0, false)], &Json::Null);
        assert_eq!(one(&all, "dE00", ReadingSide::Left), Some((4.5, 2, 0.5)));
        assert_eq!(one(&all, "dE00", ReadingSide::Right), Some((3.0, 2, 2.0)));
        assert_eq!(one(&all, "dE00", ReadingSide::Face), Some((3.75, 2, 1.125)));
        assert_eq!(one(&all, "dL", ReadingSide::Face), Some((-3.75, 2, 1.125)));
        assert_eq!(one(&all, "brown", ReadingSide::Left), Some((0.2, 2, 0.0)));
        // One side alone is no face; what was not measured is not there.
        assert_eq!(one(&all, "brown", ReadingSide::Face), None);
        assert_eq!(one(&all, "redness", ReadingSide::Left), None);
        assert_eq!(one(&all, "brow", ReadingSide::Face), Some((20.0, 2, 0.0)));
    }

    #[test]
    fn without_photographs_the_visit_speaks_and_claims_no_scatter_that_it_does_not_know() {
        let mut visit = photo(4.0, 2.0, true);
        visit["photographs"] = 2.into();
        visit["sides"]["left"]["spread"] = 0.5.into();
        visit["sides"]["right"]["spread"] = 1.5.into();
        let all = of_photos(&[], &visit);
        assert_eq!(one(&all, "dE00", ReadingSide::Left), Some((4.0, 2, 0.25)));
        assert_eq!(one(&all, "dE00", ReadingSide::Face), Some((3.0, 2, 1.0)));
        assert_eq!(one(&all, "dL", ReadingSide::Face), Some((-3.0, 1, 0.0)));
        assert!(of_photos(&[], &serde_json::json!({})).is_empty());
        assert!(of_photos(&[photo(4.0, 2.0, false)], &visit).is_empty(), "none of its photographs passed");
    }
}
