//! A calendar file (RFC 5545): one event a session, and the rules of the time zone that its times are told in.
//!
//! Own writer: what has to be right here (UIDs, DTSTAMP and SEQUENCE from the caller, the zone's rules beside its name) is what a
//! library would have to be talked out of.

use std::fmt::Write as _;

/// A time as a clock on the wall shows it, with no zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WallTime {
    /// 1 to 9999.
    pub year: i16,
    /// 1 to 12.
    pub month: i8,
    /// 1 to 31.
    pub day: i8,
    /// 0 to 23.
    pub hour: i8,
    /// 0 to 59.
    pub minute: i8,
    /// 0 to 59.
    pub second: i8,
}

/// When a zone begins to have an offset.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Onset {
    /// The moment, as the clocks before it show it.
    pub at: WallTime,
    /// The offset before, in seconds east of UTC.
    pub from_s: i32,
    /// The offset from then on, in seconds east of UTC.
    pub to_s: i32,
    /// What the time is called from then on (`CEST`).
    pub name: String,
    /// Whether it is summer time.
    pub summer: bool,
}

/// A time zone, as far as the events need it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Zone {
    /// Its name in the tz database.
    pub id: String,
    /// What holds when the first event begins, and every change up to the last; in their order, at least one.
    pub onsets: Vec<Onset>,
}

/// A session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Known nowhere else in the world, and the same whenever this session is written again.
    pub uid: String,
    /// When it begins.
    pub start: WallTime,
    /// How many minutes it takes.
    pub minutes: u32,
    /// The line that a calendar shows.
    pub title: String,
    /// What there is to say.
    pub text: String,
    /// What a reminder says, and how many minutes before.
    pub remind: Option<(String, u32)>,
}

/// A calendar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// What it is called.
    pub name: String,
    /// The language of its texts, as in BCP 47.
    pub language: String,
    /// When it was made, in UTC.
    pub made: WallTime,
    /// Larger than of any calendar made earlier of the same sessions.
    pub sequence: u32,
    /// Of all its times.
    pub zone: Zone,
    /// The sessions.
    pub events: Vec<Event>,
}

/// By which a file of ours is known again (RFC 5545, 3.7.3).
pub const PRODUCT: &str = "-//Tragion//Take-home//EN";

/// The calendar as the bytes of a file.
pub fn calendar(calendar: &Calendar) -> String {
    let mut out = Lines::default();
    out.line("BEGIN", "VCALENDAR");
    out.line("VERSION", "2.0");
    out.line("PRODID", PRODUCT);
    out.line("CALSCALE", "GREGORIAN");
    // RFC 7986, and what calendars read before it.
    out.text("NAME", &calendar.language, &calendar.name);
    out.line("X-WR-CALNAME", &escaped(&calendar.name));
    zone(&mut out, &calendar.zone);
    for event in &calendar.events {
        out.line("BEGIN", "VEVENT");
        out.line("UID", &escaped(&event.uid));
        out.line("DTSTAMP", &format!("{}Z", time(calendar.made)));
        out.line("SEQUENCE", &calendar.sequence.to_string());
        out.line(&format!("DTSTART;TZID={}", parameter(&calendar.zone.id)), &time(event.start));
        out.line("DURATION", &format!("PT{}M", event.minutes.max(1)));
        out.text("SUMMARY", &calendar.language, &event.title);
        out.text("DESCRIPTION", &calendar.language, &event.text);
        // What it is about is nobody else's.
        out.line("CLASS", "PRIVATE");
        if let Some((words, minutes)) = &event.remind {
            out.line("BEGIN", "VALARM");
            out.line("ACTION", "DISPLAY");
            out.text("DESCRIPTION", &calendar.language, words);
            out.line("TRIGGER", &format!("-PT{minutes}M"));
            out.line("END", "VALARM");
        }
        out.line("END", "VEVENT");
    }
    out.line("END", "VCALENDAR");
    out.0
}

/// The zone's rules: each change of the days asked by itself (RFC 5545, 3.6.5), so that nothing rests on what a reader knows.
fn zone(out: &mut Lines, zone: &Zone) {
    out.line("BEGIN", "VTIMEZONE");
    out.line("TZID", &escaped(&zone.id));
    for onset in &zone.onsets {
        let kind = if onset.summer { "DAYLIGHT" } else { "STANDARD" };
        out.line("BEGIN", kind);
        out.line("DTSTART", &time(onset.at));
        out.line("TZOFFSETFROM", &offset(onset.from_s));
        out.line("TZOFFSETTO", &offset(onset.to_s));
        out.line("TZNAME", &escaped(&onset.name));
        out.line("END", kind);
    }
    out.line("END", "VTIMEZONE");
}

fn time(t: WallTime) -> String {
    format!("{:04}{:02}{:02}T{:02}{:02}{:02}", t.year, t.month, t.day, t.hour, t.minute, t.second)
}

/// `+0100`, and with seconds only where there are any (RFC 5545, 3.3.14).
fn offset(s: i32) -> String {
    let (sign, all) = (if s < 0 { '-' } else { '+' }, s.unsigned_abs());
    let mut out = format!("{sign}{:02}{:02}", all / 3600, all / 60 % 60);
    if all % 60 != 0 {
        let _ = write!(out, "{:02}", all % 60);
    }
    out
}

/// A parameter's value: in quotes where it holds what would end it (RFC 5545, 3.2).
fn parameter(value: &str) -> String {
    let plain: String = value.chars().filter(|c| !c.is_control() && *c != '"').collect();
    if plain.contains([':', ';', ',']) { format!("\"{plain}\"") } else { plain }
}

/// A text as it stands in a line (RFC 5545, 3.3.11). Every kind of line end is one `\n`; other control characters, which a line may
/// not hold, are left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(letter);
            }
            '\r' | '\n' => {
                if letter == '\r' && letters.peek() == Some(&'\n') {
                    letters.next();
                }
                out.push_str("\\n");
            }
            '\t' => out.push('\t'),
            control if control.is_control() => {}
            other => out.push(other),
        }
    }
    out
}

/// Octets of a line, its end not counted (RFC 5545, 3.1).
const MOST: usize = 75;

/// Lines, folded.
#[derive(Default)]
struct Lines(String);

impl Lines {
    fn text(&mut self, name: &str, language: &str, text: &str) {
        self.line(&format!("{name};LANGUAGE={}", parameter(language)), &escaped(text));
    }

    /// Writes `name:value`, folded between letters where it is longer than [`MOST`] octets.
    fn line(&mut self, name: &str, value: &str) {
        let mut long = 0;
        for letter in name.chars().chain([':']).chain(value.chars()) {
            if long + letter.len_utf8() > MOST {
                self.0.push_str("\r\n ");
                long = 1;
            }
            self.0.push(letter);
            long += letter.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn at(month: i8, day: i8, hour: i8) -> WallTime {
        WallTime { year: 2026, month, day, hour, minute: 30, second: 0 }
    }

    fn one(title: &str, text: &str) -> Calendar {
        let onset = Onset { at: at(3, 29, 2), from_s: 3600, to_s: 7200, name: "CEST".into(), summer: true };
        let remind = Some((title.to_owned(), 10));
        let (uid, title, text) = ("a-1@b".to_owned(), title.to_owned(), text.to_owned());
        Calendar {
            name: title.clone(),
            language: "en".into(),
            made: at(3, 9, 8),
            sequence: 7,
            zone: Zone { id: "Europe/Berlin".into(), onsets: vec![onset] },
            events: vec![Event { uid, start: at(4, 1, 21), minutes: 8, title, text, remind }],
        }
    }

    /// A reader of our own: lines unfolded, one property's value taken back to what it says.
    fn value(file: &str, name: &str) -> Vec<String> {
        let unfolded = file.replace("\r\n ", "");
        let values = unfolded.split("\r\n").filter_map(|line| {
            let (head, value) = line.split_once(':')?;
            (head == name || head.strip_prefix(name).is_some_and(|r| r.starts_with(';'))).then_some(value)
        });
        let back = |value: &str| {
            let mut out = String::new();
            let mut letters = value.chars();
            while let Some(letter) = letters.next() {
                match (letter, if letter == '\\' { letters.next() } else { None }) {
                    ('\\', Some('n')) => out.push('\n'),
                    ('\\', Some(other)) => out.push(other),
                    (other, _) => out.push(other),
                }
            }
            out
        };
        values.map(back).collect()
    }

    #[test]
    fn a_file_by_hand() {
        let said = calendar(&one("Jaw", "Sit down; breathe, and begin."));
        for line in [
            "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n",
            "\r\nTZID:Europe/Berlin\r\nBEGIN:DAYLIGHT\r\nDTSTART:20260329T023000\r\nTZOFFSETFROM:+0100\r\nTZOFFSETTO:+0200\r\n",
            "\r\nDTSTAMP:20260309T083000Z\r\nSEQUENCE:7\r\nDTSTART;TZID=Europe/Berlin:20260401T213000\r\nDURATION:PT8M\r\n",
            "\r\nDESCRIPTION;LANGUAGE=en:Sit down\\; breathe\\, and begin.\r\n",
            "\r\nTRIGGER:-PT10M\r\nEND:VALARM\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        ] {
            assert!(said.contains(line), "{line:?} is not in\n{said}");
        }
        for (s, said) in [(0, "+0000"), (-12_600, "-0330"), (37_800, "+1030"), (3208, "+005328")] {
            assert_eq!(offset(s), said);
        }
    }

    proptest! {
        #[test]
        fn any_words_come_back_and_no_line_is_too_long(title in "\\PC{0,60}", text in "(\\PC|[,;\\\\\\n\"😴é]){0,300}") {
            let said = calendar(&one(&title, &text));
            prop_assert!(said.ends_with("\r\n") && !said.replace("\r\n", "").contains(['\r', '\n']));
            for line in said.split("\r\n") {
                prop_assert!(line.len() <= MOST, "{} octets: {line:?}", line.len());
            }
            let clean = |t: &str| t.chars().filter(|c| !c.is_control() || *c == '\n').collect::<String>();
            prop_assert_eq!(value(&said, "SUMMARY"), vec![clean(&title)]);
            prop_assert_eq!(value(&said, "DESCRIPTION"), vec![clean(&text), clean(&title)]);
            // No words can end an event or begin another.
            prop_assert_eq!(said.matches("\r\nBEGIN:VEVENT\r\n").count(), 1);
            prop_assert_eq!(said.matches("\r\nEND:").count(), 5);
        }
    }
}
