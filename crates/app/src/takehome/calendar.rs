//! The calendar of sessions: which moments, told in which zone, and how it is known again.
//!
//! A session's UID is made of the take-home's code, its day and which of that day it is. So the same plan has the same UIDs, and a plan with
//! other hours, more days or a later start changes the sessions that a calendar has instead of adding to them. SEQUENCE is the minutes since
//! 1970 when it was made: whichever was made later counts.

use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};
use press::calendar::{Calendar, Event, Onset, WallTime, Zone};
use vocab::Date;

use super::Given;
use crate::catalogue::{fill, in_language, seconds, text};
use crate::desk::keep::date_in_words;

/// The most days of a calendar.
pub const MOST_DAYS: u32 = 366;
/// The most sessions of a day.
pub const MOST_TIMES: usize = 6;
/// How long before a session it is remembered, in minutes.
const REMIND: u32 = 10;

/// A time of the day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct At {
    /// 0 to 23.
    pub hour: i8,
    /// 0 to 59.
    pub minute: i8,
}

impl At {
    /// Reads `HH:MM`, or `H:MM`.
    pub fn parse(word: &str) -> Option<At> {
        let (hour, minute) = word.split_once(':')?;
        let digits = |t: &str, most: usize| (1..=most).contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit());
        if !digits(hour, 2) || minute.len() != 2 || !digits(minute, 2) {
            return None;
        }
        let (hour, minute) = (hour.parse().ok()?, minute.parse().ok()?);
        (hour < 24 && minute < 60).then_some(At { hour, minute })
    }
}

impl std::fmt::Display for At {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:02}:{:02}", self.hour, self.minute)
    }
}

/// When there are sessions.
#[derive(Clone, Debug)]
pub struct When {
    /// The first day.
    pub start: Date,
    /// On how many days.
    pub days: u32,
    /// At what times of the day.
    pub at: Vec<At>,
    /// Where these times are told.
    pub zone: TimeZone,
}

/// A calendar that was made, and what is to be said of it.
pub struct Made {
    /// The file.
    pub file: String,
    /// How many sessions are in it.
    pub sessions: usize,
    /// The last day with a session.
    pub last: Date,
    /// Sessions that are not in it because the answers hold no longer, and the day of the first of them.
    pub cut: Option<(usize, Date)>,
    /// Sentences on clocks that go forward or back.
    pub clocks: Vec<String>,
}

/// The time zone of this name in the tz database that is compiled in. No fixed offsets: their names mean the opposite of what they seem
/// to (`Etc/GMT+3`), and no rules of summer time come with them.
pub fn zone(name: &str) -> Option<TimeZone> {
    let zone = TimeZone::get(name).ok()?;
    zone.iana_name()?;
    Some(zone)
}

/// The calendar, in the language of the take-home. `made` is the moment it is made.
///
/// # Errors
/// A sentence that says what to change: two sessions that overlap, days beyond the year 9999, answers that hold no longer on the first day.
pub fn calendar(given: &Given<'_>, when: &When, made: Timestamp) -> Result<Made, String> {
    let total_s = given.draft().total_s;
    apart(when, total_s)?;
    let zone_name = when.zone.iana_name().unwrap_or("UTC").to_owned();
    let (mut sessions, mut cut, mut clocks) = (Vec::new(), None, Vec::new());
    for n in 0..when.days {
        let day = when.start.plus(i64::from(n)).ok_or_else(|| text("homecmd.too_late").to_owned())?;
        if given.until.is_some_and(|until| day > until) {
            let left = (when.days - n) as usize * when.at.len();
            cut = Some((left, day));
            break;
        }
        for (which, at) in when.at.iter().enumerate() {
            let told = wall(day, *at).ok_or_else(|| text("homecmd.too_late").to_owned())?;
            let ambiguous = when.zone.to_ambiguous_timestamp(told);
            let offset = ambiguous.offset();
            // RFC 5545, 3.3.5: of two the first; one that is not there, with the offset from before the gap.
            let moment = ambiguous.compatible().map_err(|_| text("homecmd.too_late").to_owned())?;
            let start = when.zone.to_datetime(moment);
            let values: [(&str, &dyn std::fmt::Display); 3] =
                [("day", &date_in_words(day)), ("at", at), ("zone", &zone_name)];
            match offset {
                AmbiguousOffset::Unambiguous { .. } => {}
                AmbiguousOffset::Gap { .. } => {
                    let then = At { hour: start.hour(), minute: start.minute() };
                    clocks.push(fill("homecmd.shifted", &[values[0], values[1], values[2], ("then", &then)]));
                }
                AmbiguousOffset::Fold { .. } => clocks.push(fill("homecmd.twice", &values)),
            }
            sessions.push((day, which, start, moment));
        }
    }
    let (Some(first), Some(last)) = (sessions.first().map(|s| s.3), sessions.last().copied()) else {
        let until = given.until.unwrap_or(given.day);
        return Err(fill(
            "homecmd.no_session",
            &[("until", &date_in_words(until)), ("start", &date_in_words(when.start))],
        ));
    };
    let end = last.3.checked_add(SignedDuration::from_secs(i64::from(total_s))).unwrap_or(last.3);
    let zone = Zone { id: zone_name, onsets: onsets(&when.zone, first, end) };
    let sequence = u32::try_from(made.as_second().max(0) / 60).unwrap_or(i32::MAX as u32).min(i32::MAX as u32);
    let count = sessions.len();
    let calendar = in_language(given.language, || {
        let events =
            sessions.into_iter().map(|(day, which, start, _)| event(given, day, which, start, last.0)).collect();
        Calendar {
            name: given.name.to_owned(),
            language: given.language.tag().to_owned(),
            made: wall_time(made.to_zoned_datetime(TimeZone::UTC).datetime()),
            sequence,
            zone,
            events,
        }
    });
    Ok(Made { file: press::calendar::calendar(&calendar), sessions: count, last: last.0, cut, clocks })
}

/// Sessions of a day must not overlap.
fn apart(when: &When, total_s: u32) -> Result<(), String> {
    let minute = |at: At| u32::from(at.hour.unsigned_abs()) * 60 + u32::from(at.minute.unsigned_abs());
    for pair in when.at.windows(2) {
        if pair[0] == pair[1] {
            return Err(fill("homecmd.at_twice", &[("at", &pair[0])]));
        }
        if (minute(pair[1]) - minute(pair[0])) * 60 < total_s {
            let values: [(&str, &dyn std::fmt::Display); 3] =
                [("at", &pair[1]), ("before", &pair[0]), ("length", &seconds(total_s))];
            return Err(fill("homecmd.at_close", &values));
        }
    }
    Ok(())
}

fn event(given: &Given<'_>, day: Date, which: usize, start: DateTime, last: Date) -> Event {
    let draft = given.draft();
    let length = seconds(draft.total_s);
    let mut said = vec![
        fill("calendar.steps", &[("n", &draft.steps.len()), ("length", &length)]),
        text("calendar.hurts").to_owned(),
        text("calendar.halt").to_owned(),
    ];
    if let Some(until) = given.until {
        said.push(fill("calendar.until", &[("day", &date_in_words(until))]));
    }
    if day == last {
        said.push(text("calendar.last").to_owned());
    }
    Event {
        uid: format!("{}-{day}-{}@tragion", given.code, which + 1),
        start: wall_time(start),
        minutes: draft.total_s.div_ceil(60),
        title: given.name.to_owned(),
        text: said.join("\n"),
        remind: Some((fill("calendar.soon", &[("name", &given.name), ("n", &REMIND)]), REMIND)),
    }
}

/// What holds at `first`, and every change until `last`.
fn onsets(zone: &TimeZone, first: Timestamp, last: Timestamp) -> Vec<Onset> {
    let onset = |at: Timestamp| {
        let just_before = at - SignedDuration::from_secs(1);
        let (before, after) = (zone.to_offset_info(just_before), zone.to_offset_info(at));
        let told = before.offset().to_datetime(at);
        Onset {
            at: wall_time(told),
            from_s: before.offset().seconds(),
            to_s: after.offset().seconds(),
            name: after.abbreviation().to_owned(),
            summer: after.dst().is_dst(),
        }
    };
    // A change at the first moment itself counts as before it.
    let holds = zone.preceding(first + SignedDuration::from_secs(1)).next().map(|t| onset(t.timestamp()));
    let holds = holds.unwrap_or_else(|| {
        // Never changed since the tz database begins.
        let info = zone.to_offset_info(first);
        let at = WallTime { year: 1970, month: 1, day: 1, hour: 0, minute: 0, second: 0 };
        let s = info.offset().seconds();
        Onset { at, from_s: s, to_s: s, name: info.abbreviation().to_owned(), summer: info.dst().is_dst() }
    });
    let later = zone.following(first).take_while(|t| t.timestamp() <= last).map(|t| onset(t.timestamp()));
    std::iter::once(holds).chain(later).collect()
}

fn wall(day: Date, at: At) -> Option<DateTime> {
    let day: jiff::civil::Date = day.to_string().parse().ok()?;
    Some(day.at(at.hour, at.minute, 0, 0))
}

fn wall_time(t: DateTime) -> WallTime {
    WallTime { year: t.year(), month: t.month(), day: t.day(), hour: t.hour(), minute: t.minute(), second: t.second() }
}
