//! When the sessions of a take-home are: asked in a form, for its calendar.

use maud::{Markup, html};
use vocab::Date;

use crate::catalogue::{fill, text};
use crate::desk::clients::said;
use crate::desk::fields::Field;
use crate::takehome::calendar::{self, At, When};

/// The most days of a calendar: a plan of weeks has as many.
const MOST_DAYS: u32 = 366;

/// As it was filled in. No first day: no calendar.
pub struct Schedule {
    first: String,
    days: String,
    times: String,
    zone: String,
}

impl Schedule {
    /// As it stands there at first: four weeks, in the evening, where this machine stands.
    pub fn first() -> Schedule {
        let zone = jiff::tz::TimeZone::system().iana_name().unwrap_or("UTC").to_owned();
        Schedule { first: String::new(), days: "28".to_owned(), times: "21:30".to_owned(), zone }
    }

    /// From a form.
    pub fn read(form: &[u8]) -> Schedule {
        let first = Schedule::first();
        let or = |name: &str, usual: String| Some(said(form, name)).filter(|s| !s.is_empty()).unwrap_or(usual);
        Schedule {
            first: said(form, "first"),
            days: or("days", first.days),
            times: or("times", first.times),
            zone: or("zone", first.zone),
        }
    }

    /// When the sessions are; none: no calendar is asked for.
    ///
    /// # Errors
    /// In words: which field, and what it takes.
    pub fn when(&self) -> Result<Option<When>, String> {
        if self.first.is_empty() {
            return Ok(None);
        }
        let word = |word: &str| word.chars().take(40).collect::<String>();
        let start =
            Date::parse(&self.first).ok_or_else(|| fill("takehomes.bad_first", &[("word", &word(&self.first))]))?;
        let days = self.days.parse::<u32>().ok().filter(|n| (1..=MOST_DAYS).contains(n));
        let days =
            days.ok_or_else(|| fill("takehomes.bad_days", &[("word", &word(&self.days)), ("most", &MOST_DAYS)]))?;
        let mut at: Vec<At> = Vec::new();
        for time in self.times.split([',', ';', ' ', '\n']).map(str::trim).filter(|t| !t.is_empty()) {
            at.push(At::parse(time).ok_or_else(|| fill("takehomes.bad_time", &[("word", &word(time))]))?);
        }
        at.sort_unstable();
        if at.is_empty() || at.len() > calendar::MOST_TIMES {
            return Err(fill("takehomes.bad_times", &[("most", &calendar::MOST_TIMES)]));
        }
        let zone =
            calendar::zone(&self.zone).ok_or_else(|| fill("takehomes.bad_zone", &[("word", &word(&self.zone))]))?;
        Ok(Some(When { start, days, at, zone }))
    }

    /// The fields.
    pub fn fields(&self) -> Markup {
        html! {
            fieldset.field {
                legend { (text("takehomes.schedule")) }
                p.hint { (text("takehomes.schedule_hint")) }
                (Field::text("first", text("takehomes.first"), &self.first).kind("date").show())
                (Field::text("days", text("takehomes.days"), &self.days).kind("number").show())
                (Field::text("times", text("takehomes.times"), &self.times).hint(text("takehomes.times_hint")).show())
                (Field::text("zone", text("takehomes.zone"), &self.zone).hint(text("takehomes.zone_hint")).show())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_schedule_is_read_or_says_which_field() {
        let read = |form: &str| Schedule::read(form.as_bytes()).when();
        assert!(read("").expect("no calendar").is_none());
        let when =
            read("first=2026-03-02&days=14&times=21%3A30,+7:05&zone=Europe/Vienna").expect("reads").expect("one");
        assert_eq!(
            (when.days, when.at.iter().map(At::to_string).collect::<Vec<_>>()),
            (14, vec!["07:05".into(), "21:30".into()])
        );
        for (form, word) in [
            ("first=soon", "soon"),
            ("first=2026-03-02&days=0", "0"),
            ("first=2026-03-02&days=400", "400"),
            ("first=2026-03-02&times=25:00", "25:00"),
            ("first=2026-03-02&times=,", "6"),
            ("first=2026-03-02&zone=Mars/Base", "Mars/Base"),
        ] {
            let why = read(form).expect_err(form);
            assert!(why.contains(word), "{form}: {why}");
        }
    }
}
