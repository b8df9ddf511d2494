//! A home note looked at before it is kept: whose it is, and what of it is new.

use cabinet::{ClientId, Error, HomeNote as Kept, Reader, WeeksId, Writer};
use serde_json::Value;
use vocab::Date;

use crate::catalogue::{fill, text};
use crate::following::days::local_day;
use crate::notes::{Day, HomeNote};

/// What is already kept of a day.
#[derive(Clone, Debug, PartialEq)]
pub enum State {
    /// Nothing.
    New,
    /// The same.
    Same,
    /// Something else. `more`: what is kept is in the note, or stays beside it.
    Differs {
        /// The home note that is kept.
        kept: Box<Kept>,
        /// Whether nothing of it would be lost.
        more: bool,
    },
}

/// Whose a note is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whose {
    /// This client's: the code says so.
    Theirs(ClientId),
    /// The code does not say: it was given to many, or was not made in this practice.
    Unsure,
}

/// A note, looked at.
#[derive(Debug)]
pub struct Looked {
    /// Whose.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// Whether the code says that it is theirs.
    pub sure: bool,
    /// Each day with what is kept of it.
    pub days: Vec<(Day, State)>,
}

/// To whom the code of a note belongs.
///
/// # Errors
/// Of the store.
fn whose(r: &Reader<'_>, note: &HomeNote) -> Result<Whose, Error> {
    let given = r.takehome_with(&note.code)?;
    Ok(given.and_then(|t| t.client).map_or(Whose::Unsure, Whose::Theirs))
}

/// Looks at a note. `at`: the client at whose page it came in; none: the code has to say whose it is. In words why it can't be kept.
///
/// # Errors
/// Of the store.
pub fn look(r: &Reader<'_>, note: &HomeNote, at: Option<ClientId>) -> Result<Result<Looked, String>, Error> {
    let (client, sure) = match (whose(r, note)?, at) {
        (Whose::Theirs(client), None) => (client, true),
        (Whose::Theirs(client), Some(at)) if client == at => (at, true),
        (Whose::Theirs(_), Some(at)) => {
            let name = r.client(at)?.details.name;
            return Ok(Err(fill("homenotes.not_theirs", &[("code", &note.code), ("name", &name)])));
        }
        (Whose::Unsure, Some(at)) => (at, false),
        (Whose::Unsure, None) => {
            let known = r.takehome_with(&note.code)?.is_some();
            let why = if known { "homenotes.for_many" } else { "homenotes.unknown_code" };
            return Ok(Err(fill(why, &[("code", &note.code)])));
        }
    };
    let name = r.client(client)?.details.name;
    if !r.consents_to(client, cabinet::ConsentKind::Care)? {
        return Ok(Err(fill("homenotes.no_consent", &[("name", &name)])));
    }
    let kept = r.home_notes(client)?;
    let days = note.days.iter().map(|day| (day.clone(), state(&kept, day))).collect();
    Ok(Ok(Looked { client, name, sure, days }))
}

fn state(kept: &[Kept], day: &Day) -> State {
    let Some(there) = kept.iter().rev().find(|k| k.day == day.day) else { return State::New };
    let (was, is) = (read(there), day.body());
    let levels = (0..4).all(|i| was["levels"][i].is_null() || level_stays(&was, &is, i));
    if levels && bare(&was) == bare(&is) {
        return State::Same;
    }
    let sessions = |body: &Value| body.get("sessions").and_then(Value::as_array).cloned();
    let all_there = match (sessions(&was), sessions(&is)) {
        (Some(was), Some(is)) => was.iter().all(|session| is.contains(session)),
        _ => false,
    };
    let words = |body: &Value| body["felt"]["words"].as_str().unwrap_or_default().to_owned();
    let (old, new) = (words(&was), words(&is));
    let said = |line: &str| line.trim().is_empty() || new.lines().any(|l| l.trim() == line.trim());
    State::Differs { kept: Box::new(there.clone()), more: levels && all_there && old.lines().all(said) }
}

/// What only the desk notes of a day: no take-home says it, so it stays beside what comes in.
const OF_THE_DESK: [&str; 3] = ["context", "cycle_day", "levels"];

fn read(kept: &Kept) -> Value {
    serde_json::from_str(kept.body.as_str()).unwrap_or_default()
}

/// Whether a day was typed at the desk, on `since` or later.
pub fn typed_since(kept: &Kept, since: Date) -> bool {
    let body = read(kept);
    let timed = body["sessions"].as_array().into_iter().flatten().any(|s| s["at"].is_string());
    !timed && local_day(kept.at) >= since
}

/// What a take-home can say.
fn bare(body: &Value) -> Value {
    let mut body = body.clone();
    if let Some(all) = body.as_object_mut() {
        all.retain(|key, _| !OF_THE_DESK.contains(&key.as_str()));
    }
    body
}

/// The level that the sessions of a note say for their day.
fn level_of(is: &Value, i: usize) -> Option<&Value> {
    is["sessions"].as_array().into_iter().flatten().map(|s| &s["before"][i]).find(|l| !l.is_null())
}

/// Whether a level that was kept for the day holds beside the note: its sessions say none, or the same.
fn level_stays(was: &Value, is: &Value, i: usize) -> bool {
    level_of(is, i).is_none_or(|said| *said == was["levels"][i])
}

/// What is written where a day is kept already: the note, and what the desk noted beside it.
fn beside(was: &Value, mut is: Value) -> Value {
    for key in ["context", "cycle_day"] {
        if !was[key].is_null() {
            is[key] = was[key].clone();
        }
    }
    let levels: Vec<Value> =
        (0..4).map(|i| if level_of(&is, i).is_none() { was["levels"][i].clone() } else { Value::Null }).collect();
    if levels.iter().any(|l| !l.is_null()) {
        is["levels"] = Value::Array(levels);
    }
    is
}

/// What keeping came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Done {
    /// Days that are new.
    pub new: usize,
    /// Days that were replaced.
    pub replaced: usize,
    /// Days that were there as they are.
    pub same: usize,
    /// Days that were left as they were kept.
    pub left: usize,
}

/// Keeps a note that was looked at; a day that is kept otherwise is replaced only where `replace` names it.
///
/// # Errors
/// There is no consent to care; of the store.
pub fn keep(w: &Writer<'_>, looked: &Looked, replace: &[Date]) -> Result<Done, Error> {
    w.require(looked.client, cabinet::ConsentKind::Care)?;
    let weeks = w.weeks(looked.client)?;
    let plan = |day: Date| -> Option<WeeksId> {
        let within = |w: &&cabinet::Weeks| (0..i64::from(w.days)).contains(&day.days_since(w.first));
        weeks.iter().rev().find(within).map(|w| w.id)
    };
    let mut done = Done::default();
    for (day, state) in &looked.days {
        match state {
            State::New => {
                let body = cabinet::Json::new(day.body().to_string())?;
                w.add_home_note(looked.client, plan(day.day), day.day, &body)?;
                done.new += 1;
            }
            State::Same => done.same += 1,
            State::Differs { kept, .. } if replace.contains(&day.day) => {
                let body = cabinet::Json::new(beside(&read(kept), day.body()).to_string())?;
                w.change_home_note(kept.id, &body)?;
                done.replaced += 1;
            }
            State::Differs { .. } => done.left += 1,
        }
    }
    Ok(done)
}

/// What keeping came to, in words.
pub fn told(name: &str, done: Done) -> String {
    let mut said = vec![fill("homenotes.kept", &[("name", &name), ("n", &done.new)])];
    for (n, key) in [
        (done.replaced, "homenotes.kept_replaced"),
        (done.same, "homenotes.kept_same"),
        (done.left, "homenotes.kept_left"),
    ] {
        if n > 0 {
            said.push(fill(key, &[("n", &n)]));
        }
    }
    said.join(" ")
}

/// What is kept of a day, in a word.
pub fn state_words(state: &State) -> &'static str {
    match state {
        State::New => text("homenotes.new"),
        State::Same => text("homenotes.same"),
        State::Differs { more: true, .. } => text("homenotes.more"),
        State::Differs { .. } => text("homenotes.differs"),
    }
}

#[cfg(test)]
mod tests {
    use cabinet::{Cabinet, ConsentKind, Cost, Details, HomeNoteId, Json, Passphrase, Time};
    use serde_json::json;

    use super::*;
    use crate::notes;

    /// A note of one day with one session.
    fn note() -> HomeNote {
        let session = json!({
            "at": "21:30", "seconds": 471, "ended": "whole", "felt": [], "before": [5, null, null, null],
            "after": [7, null, null], "words": "warm",
        });
        let days = json!([{ "day": "2026-03-02", "sessions": [session] }]);
        let note = json!({
            "tragion": "home-note", "version": 1, "code": "k7p2w9x4", "made": "2026-03-09", "language": "en", "days": days,
        });
        notes::from_text(&note.to_string()).expect("a note")
    }

    /// What the note's day is beside a day that is kept: the same, or whether nothing would be lost.
    fn beside_kept(was: &Value) -> (bool, Option<bool>) {
        let day = note().days[0].clone();
        let body = Json::new(was.to_string()).expect("a body");
        let (id, client, at) = (HomeNoteId::from_number(1), ClientId::from_number(1), Time::from_unix(0));
        match state(&[Kept { id, client, weeks: None, day: day.day, at, body }], &day) {
            State::New => (false, None),
            State::Same => (true, None),
            State::Differs { more, .. } => (false, Some(more)),
        }
    }

    #[test]
    fn a_typed_day_is_later_than_notes_made_before_it() {
        let kept = |session: Value| Kept {
            id: HomeNoteId::from_number(1),
            client: ClientId::from_number(1),
            weeks: None,
            day: Date::parse("2026-03-02").expect("a day"),
            at: Time::from_unix(1_773_144_000),
            body: Json::new(json!({ "sessions": [session] }).to_string()).expect("a body"),
        };
        let typed = kept(json!({ "at": null }));
        // The moment is noon of 10 March 2026 in UTC.
        assert!(typed_since(&typed, Date::parse("2026-03-09").expect("a day")));
        assert!(!typed_since(&typed, Date::parse("2026-03-12").expect("a day")));
        assert!(!typed_since(&kept(json!({ "at": "21:30" })), Date::parse("2026-03-09").expect("a day")));
    }

    #[test]
    fn what_the_desk_noted_makes_no_other_day_and_is_never_lost_unasked() {
        let mut same = note().days[0].body();
        same["context"] = json!(["cold"]);
        same["cycle_day"] = json!(12);
        same["levels"] = json!([null, 4, null, null]);
        assert_eq!(beside_kept(&same), (true, None));

        let typed = |levels: Value, words: &str| {
            json!({ "done": false, "minutes": 0, "sessions": [], "levels": levels, "context": ["cold"], "cycle_day": null,
                    "felt": { "words": words, "places": [] } })
        };
        for (was, more) in [
            (typed(json!([null, null, null, 6]), ""), true),
            (typed(json!([5, null, null, 6]), "warm"), true),
            (typed(json!([3, null, null, 6]), ""), false),
            (typed(Value::Null, "a long day"), false),
            (json!({ "done": true, "minutes": 4, "sessions": [{ "at": null, "before": [2] }] }), false),
        ] {
            assert_eq!(beside_kept(&was), (false, Some(more)), "{was}");
        }
    }

    #[test]
    fn a_note_taken_in_keeps_what_the_desk_noted_and_twice_is_the_same() {
        let folder = std::env::temp_dir().join(format!("look-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        let now = Time::from_unix(0);
        let words = Passphrase::new("horse lamp river seven");
        let store = Cabinet::create(&folder, &words, Cost::FOR_TESTS, now).expect("made");
        let note = note();
        let day = note.days[0].day;
        let told = store.write(now, |w| {
            let client = w.add_client(&Details { name: "Ana".into(), ..Default::default() })?;
            w.record_consent(client, ConsentKind::Care, true, now, "1")?;
            let typed = json!({
                "done": false, "minutes": 0, "sessions": [], "levels": [null, null, null, 6], "context": ["cold"],
                "cycle_day": 12, "felt": { "words": "", "places": [] },
            });
            w.add_home_note(client, None, day, &Json::new(typed.to_string())?)?;
            let take = || -> Result<Done, Error> {
                match look(w, &note, Some(client))? {
                    Ok(looked) => keep(w, &looked, &[day]),
                    Err(why) => panic!("{why}"),
                }
            };
            let done = [take()?, take()?];
            Ok((done, w.home_notes(client)?))
        });
        std::fs::remove_dir_all(&folder).expect("removed");
        let (done, kept) = told.expect("written");
        assert_eq!((done[0].replaced, done[1].same, kept.len()), (1, 1, 1));
        let body = read(&kept[0]);
        assert_eq!(body["sessions"], note.days[0].body()["sessions"]);
        assert_eq!((&body["context"], &body["cycle_day"]), (&json!(["cold"]), &json!(12)));
        assert_eq!(body["levels"], json!([null, null, null, 6]));
    }
}
