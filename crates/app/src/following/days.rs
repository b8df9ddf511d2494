//! The days of one client: what was done, how they felt, what else there was. From desk sessions, home notes and notes.

use std::collections::BTreeMap;

use cabinet::{ClientId, Error, HomeNote, NoteKind, Reader, Session, Time};
use serde_json::Value as Json;
use vocab::Date;

use super::body::Body;

/// The four levels, 0 to 10, as home notes order them; also their names among the values.
pub const LEVELS: [&str; 4] = ["relaxed", "stress", "wellbeing", "sleep"];

/// What was said at one time; not everybody says everything.
pub type Levels = [Option<f64>; 4];

/// What stands beside a day and explains nothing away.
pub const CONTEXT: [&str; 4] = ["short_night", "cold", "allergy", "salty_meal"];

/// One day.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Day {
    /// Whether anything was worked.
    pub done: bool,
    /// Minutes worked.
    pub minutes: u32,
    /// Whether somebody noted the day, at home or at the desk.
    pub noted: bool,
    /// Levels said on a day without a session.
    pub levels: Levels,
    /// Levels before and after each session, in their order.
    pub sessions: Vec<[Levels; 2]>,
    /// Which of [`CONTEXT`].
    pub context: Vec<&'static str>,
    /// The day of the cycle, where it was said.
    pub cycle_day: Option<u8>,
    /// Own words.
    pub words: String,
}

impl Day {
    /// The level of the day: before its first session that says it, else as it was said for the day.
    pub fn level(&self, which: usize) -> Option<f64> {
        self.sessions.iter().find_map(|s| s[0][which]).or(self.levels[which])
    }

    /// After less before, of each session that says both.
    pub fn differences(&self, which: usize) -> impl Iterator<Item = f64> + '_ {
        self.sessions.iter().filter_map(move |s| Some(s[1][which]? - s[0][which]?))
    }
}

/// A note or an incident of a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The day's number.
    pub day: i32,
    /// Whether something went wrong.
    pub incident: bool,
    /// The words.
    pub words: String,
}

/// The day of a moment where this machine stands.
pub fn local_day(time: Time) -> Date {
    let here = jiff::Timestamp::from_second(time.unix()).map(|t| t.to_zoned_datetime(jiff::tz::TimeZone::system()));
    here.ok().and_then(|d| Date::parse(&d.date().to_string())).unwrap_or_else(|| time.date())
}

/// The days of a client that belong to a plan, by number, its baseline included.
///
/// # Errors
/// Of the store.
pub fn days(r: &Reader<'_>, client: ClientId, body: &Body) -> Result<BTreeMap<i32, Day>, Error> {
    let mut days: BTreeMap<i32, Day> = BTreeMap::new();
    let within = |day: i32| (body.earliest()..=body.end()).contains(&day);
    for session in r.sessions(Some(client))? {
        let number = body.number(local_day(session.at));
        if within(number) {
            at_desk(days.entry(number).or_default(), &session);
        }
    }
    for note in r.home_notes(client)? {
        let number = body.number(note.day);
        if within(number) {
            at_home(days.entry(number).or_default(), &note);
        }
    }
    Ok(days)
}

/// Notes and incidents of the same days.
///
/// # Errors
/// Of the store.
pub fn written(r: &Reader<'_>, client: ClientId, body: &Body) -> Result<Vec<Written>, Error> {
    let all = r.notes(client)?.into_iter().map(|n| Written {
        day: body.number(local_day(n.at)),
        incident: n.kind == NoteKind::Incident,
        words: n.text,
    });
    Ok(all.filter(|w| (body.earliest()..=body.end()).contains(&w.day)).collect())
}

fn at_desk(day: &mut Day, session: &Session) {
    let (log, felt) = (json(session.log.as_str()), json(session.felt.as_str()));
    let seconds = u32::try_from(log["seconds"].as_u64().unwrap_or(0)).unwrap_or(u32::MAX);
    day.done |= seconds > 0;
    day.minutes = day.minutes.saturating_add(seconds.div_ceil(60));
    day.noted = true;
    let said = |when: &str| LEVELS.map(|name| level(&felt[when][name]));
    day.sessions.push([said("before"), said("after")]);
    add_words(day, felt["words"].as_str());
}

/// What a home note says of its day.
fn at_home(day: &mut Day, note: &HomeNote) {
    let body = json(note.body.as_str());
    day.noted = true;
    day.done |= body["done"].as_bool() == Some(true);
    day.minutes = day.minutes.saturating_add(body["minutes"].as_u64().and_then(|m| u32::try_from(m).ok()).unwrap_or(0));
    let said = |of: &Json| [0, 1, 2, 3].map(|i| level(&of[i]));
    for session in body["sessions"].as_array().into_iter().flatten() {
        day.sessions.push([said(&session["before"]), said(&session["after"])]);
    }
    for (known, new) in day.levels.iter_mut().zip(said(&body["levels"])) {
        *known = known.or(new);
    }
    let context: Vec<&str> = body["context"].as_array().into_iter().flatten().filter_map(Json::as_str).collect();
    for word in CONTEXT.iter().filter(|w| context.contains(w)) {
        if !day.context.contains(word) {
            day.context.push(word);
        }
    }
    day.cycle_day = day.cycle_day.or_else(|| body["cycle_day"].as_u64().and_then(|n| u8::try_from(n).ok()));
    add_words(day, body["felt"]["words"].as_str());
}

fn json(text: &str) -> Json {
    serde_json::from_str(text).unwrap_or_default()
}

fn level(json: &Json) -> Option<f64> {
    json.as_f64().filter(|n| (0.0..=10.0).contains(n))
}

fn add_words(day: &mut Day, words: Option<&str>) {
    let Some(words) = words.map(str::trim).filter(|w| !w.is_empty()) else { return };
    if !day.words.is_empty() {
        day.words.push('\n');
    }
    day.words.push_str(words);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_says_its_level_once_and_each_session_its_difference() {
        let n = Some;
        let day = Day {
            sessions: vec![
                [[None, n(6.0), None, None], [n(5.0), n(3.0), None, None]],
                [[n(4.0), n(5.0), None, n(7.0)], [n(8.0), n(5.0), None, None]],
            ],
            levels: [n(1.0), n(1.0), n(9.0), None],
            ..Day::default()
        };
        assert_eq!([0, 1, 2, 3].map(|i| day.level(i)), [n(4.0), n(6.0), n(9.0), n(7.0)]);
        assert_eq!(day.differences(0).collect::<Vec<_>>(), [4.0]);
        assert_eq!(day.differences(1).collect::<Vec<_>>(), [-3.0, 0.0]);
        assert_eq!(day.differences(3).count(), 0);
    }
}
