//! The tables of an export. No field of them is a formula.

use csv::Writer;

use crate::access::Reader;
use crate::error::Error;
use crate::id::ClientId;

/// Whether a spreadsheet would take the text for a formula, or let it break out of its cell (OWASP, "CSV Injection"):
/// it begins with one of `= + - @`, with their full-width forms, tab or line end.
pub fn is_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

/// The text with an apostrophe before it where it would be a formula. Numbers stay numbers.
fn disarmed(text: &str) -> String {
    let number = text.parse::<f64>().is_ok_and(f64::is_finite) && text.starts_with('-');
    if is_formula(text) && !number { format!("'{text}") } else { text.to_owned() }
}

struct Table {
    name: &'static str,
    rows: Writer<Vec<u8>>,
}

impl Table {
    fn new(name: &'static str, head: &[&str]) -> Table {
        let mut rows = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        // Writing into memory does not fail.
        let _ = rows.write_record(head);
        Table { name, rows }
    }

    fn row<const N: usize>(&mut self, fields: [String; N]) -> Result<(), Error> {
        self.rows.write_record(fields.iter().map(|f| disarmed(f))).map_err(Error::internal)
    }
}

/// All tables, row by row.
pub struct Tables {
    clients: Table,
    consents: Table,
    intakes: Table,
    visits: Table,
    sessions: Table,
    notes: Table,
    weeks: Table,
    home_notes: Table,
    readings: Table,
    courses: Table,
}

impl Tables {
    pub fn new() -> Tables {
        let person = "client";
        Tables {
            clients: Table::new(
                "clients.csv",
                &[
                    "number",
                    "name",
                    "birth",
                    "language",
                    "email",
                    "phone",
                    "address",
                    "notes",
                    "hands",
                    "tone class",
                    "tone angle",
                    "created",
                    "changed",
                ],
            ),
            consents: Table::new("consents.csv", &[person, "kind", "given", "at", "wording"]),
            intakes: Table::new("intakes.csv", &[person, "at", "until", "answers"]),
            visits: Table::new("visits.csv", &[person, "visit", "at", "conditions", "photographs", "measurements"]),
            sessions: Table::new("sessions.csv", &[person, "session", "at", "routine version", "log", "felt"]),
            notes: Table::new("notes.csv", &[person, "kind", "at", "changed", "visit", "text"]),
            weeks: Table::new(
                "weeks.csv",
                &[person, "weeks", "first", "days", "routine version", "plan", "ended", "ended because"],
            ),
            home_notes: Table::new("home_notes.csv", &[person, "weeks", "day", "at", "note"]),
            readings: Table::new(
                "readings.csv",
                &[person, "visit", "at", "value", "side", "mean", "photographs", "ss"],
            ),
            courses: Table::new("courses.csv", &[person, "course", "name", "joined", "left out at", "reason"]),
        }
    }

    pub fn add(&mut self, r: &Reader<'_>, id: ClientId) -> Result<(), Error> {
        fn or<T: ToString>(value: Option<T>) -> String {
            value.map_or_else(String::new, |v| v.to_string())
        }
        let who = || id.to_string();
        let known = r.client(id)?;
        let d = known.details;
        self.clients.row([
            who(),
            d.name,
            or(d.birth),
            d.language,
            d.email,
            d.phone,
            d.address,
            d.notes,
            d.hands.word().to_owned(),
            or(known.tone.as_ref().map(|t| &t.class)),
            or(known.tone.as_ref().and_then(|t| t.ita)),
            known.created.to_string(),
            known.changed.to_string(),
        ])?;
        for c in r.consents(id)? {
            let given = if c.given { "given" } else { "withdrawn" };
            self.consents.row([who(), c.kind.words().into(), given.into(), c.at.to_string(), c.wording])?;
        }
        for i in r.intakes(id)? {
            self.intakes.row([who(), i.at.to_string(), or(i.until), i.answers.as_str().to_owned()])?;
        }
        for v in r.visits(id)? {
            let photographs = r.photographs(v.id)?.len().to_string();
            let measured: Vec<String> = r.measurements(v.id)?.iter().map(|m| m.body.as_str().to_owned()).collect();
            let (at, conditions) = (v.at.to_string(), v.conditions.as_str().to_owned());
            self.visits.row([who(), v.id.to_string(), at, conditions, photographs, measured.join("\n")])?;
        }
        for s in r.sessions(Some(id))? {
            let (log, felt) = (s.log.as_str().to_owned(), s.felt.as_str().to_owned());
            self.sessions.row([who(), s.id.to_string(), s.at.to_string(), s.version.to_string(), log, felt])?;
        }
        for n in r.notes(id)? {
            let kind = n.kind.word().to_owned();
            self.notes.row([who(), kind, n.at.to_string(), n.changed.to_string(), or(n.visit), n.text])?;
        }
        for w in r.weeks(id)? {
            let (first, days, plan) = (w.first.to_string(), w.days.to_string(), w.body.as_str().to_owned());
            let (ended, because) = w.ended.map_or_else(Default::default, |e| (e.day.to_string(), e.reason));
            self.weeks.row([who(), w.id.to_string(), first, days, or(w.version), plan, ended, because])?;
        }
        for h in r.home_notes(id)? {
            let (day, at, note) = (h.day.to_string(), h.at.to_string(), h.body.as_str().to_owned());
            self.home_notes.row([who(), or(h.weeks), day, at, note])?;
        }
        for of in r.readings(id)? {
            let (visit, at, side) = (of.visit.to_string(), of.at.to_string(), of.side.word().to_owned());
            let numbers = [of.mean.to_string(), of.count.to_string(), of.ss.to_string()];
            let [mean, count, ss] = numbers;
            self.readings.row([who(), visit, at, of.name, side, mean, count, ss])?;
        }
        for (course, member) in r.courses_of(id)? {
            let (at, reason) = member.left_out.map_or_else(Default::default, |l| (l.at.to_string(), l.reason));
            let joined = member.joined.to_string();
            self.courses.row([who(), course.id.to_string(), course.name, joined, at, reason])?;
        }
        Ok(())
    }

    /// The files: name and bytes.
    pub fn finish(self) -> Result<Vec<(&'static str, Vec<u8>)>, Error> {
        let Tables { clients, consents, intakes, visits, sessions, notes, weeks, home_notes, readings, courses } = self;
        let all = [clients, consents, intakes, visits, sessions, notes, weeks, home_notes, readings, courses];
        all.into_iter().map(|t| Ok((t.name, t.rows.into_inner().map_err(Error::internal)?))).collect()
    }
}
