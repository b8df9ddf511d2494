//! Notes and incidents, plans of weeks, home notes.

use rusqlite::Row;
use vocab::Date;

use crate::access::{Done, Reader, Writer, choice, date, time, word_of};
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, HomeNoteId, NoteId, VersionId, VisitId, WeeksId};
use crate::text::{Json, quiet, said};
use crate::time::Time;

quiet!(Note, Ended);

/// What a note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoteKind {
    /// The practitioner's own words; they may be changed.
    Note,
    /// Something that went wrong; it is kept as it was written.
    Incident,
}

impl NoteKind {
    const ALL: [(NoteKind, &'static str); 2] = [(NoteKind::Note, "note"), (NoteKind::Incident, "incident")];

    /// The word in files.
    pub fn word(self) -> &'static str {
        word_of(&NoteKind::ALL, self)
    }
}

/// A note or an incident.
#[derive(Clone, PartialEq, Eq)]
pub struct Note {
    /// Its number.
    pub id: NoteId,
    /// Whose.
    pub client: ClientId,
    /// Of which visit, if of one.
    pub visit: Option<VisitId>,
    /// Which of the two.
    pub kind: NoteKind,
    /// When it was written.
    pub at: Time,
    /// When it was last changed.
    pub changed: Time,
    /// The words.
    pub text: String,
}

/// That weeks ended before their last day.
#[derive(Clone, PartialEq, Eq)]
pub struct Ended {
    /// The last day that counted.
    pub day: Date,
    /// Why, in words.
    pub reason: String,
}

/// A plan of weeks: a run of days with a routine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weeks {
    /// Its number.
    pub id: WeeksId,
    /// Whose.
    pub client: ClientId,
    /// Which version of a routine, if of one.
    pub version: Option<VersionId>,
    /// The first day.
    pub first: Date,
    /// How many days, 1 to 366.
    pub days: u16,
    /// When what it says was written down.
    pub at: Time,
    /// The plan.
    pub body: Json,
    /// That they ended early, where they did.
    pub ended: Option<Ended>,
}

/// What came back from home for a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HomeNote {
    /// Its number.
    pub id: HomeNoteId,
    /// Whose.
    pub client: ClientId,
    /// To which plan it belongs, if to one.
    pub weeks: Option<WeeksId>,
    /// The day it speaks of.
    pub day: Date,
    /// When it came in.
    pub at: Time,
    /// What it says.
    pub body: Json,
}

const NOTE: &str = "SELECT id, client, visit, kind, at, changed, body FROM notes";

fn note(row: &Row<'_>) -> rusqlite::Result<Note> {
    Ok(Note {
        id: row.get(0)?,
        client: row.get(1)?,
        visit: row.get(2)?,
        kind: choice(&NoteKind::ALL, row, 3)?,
        at: time(row, 4)?,
        changed: time(row, 5)?,
        text: row.get(6)?,
    })
}

const WEEKS: &str = "SELECT id, client, version, first, days, at, body, ended, ended_because FROM weeks";

fn weeks(row: &Row<'_>) -> rusqlite::Result<Weeks> {
    Ok(Weeks {
        id: row.get(0)?,
        client: row.get(1)?,
        version: row.get(2)?,
        first: date(row, 3)?,
        days: row.get(4)?,
        at: time(row, 5)?,
        body: Json::kept(row.get(6)?),
        ended: match row.get::<_, Option<String>>(7)? {
            None => None,
            Some(_) => Some(Ended { day: date(row, 7)?, reason: row.get(8)? }),
        },
    })
}

pub(crate) const HOME_NOTE: &str = "SELECT id, client, weeks, day, at, body FROM home_notes";

pub(crate) fn home_note(row: &Row<'_>) -> rusqlite::Result<HomeNote> {
    Ok(HomeNote {
        id: row.get(0)?,
        client: row.get(1)?,
        weeks: row.get(2)?,
        day: date(row, 3)?,
        at: time(row, 4)?,
        body: Json::kept(row.get(5)?),
    })
}

impl Reader<'_> {
    /// A note or an incident.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn note(&self, id: NoteId) -> Result<Note, Error> {
        self.first(&format!("{NOTE} WHERE id = ?1"), [id], note)?
            .ok_or_else(|| ErrorKind::NoSuch(NoteId::WORD, id.0).into())
    }

    /// Notes and incidents of a client, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn notes(&self, client: ClientId) -> Result<Vec<Note>, Error> {
        self.all(&format!("{NOTE} WHERE client = ?1 ORDER BY at, id"), [client], note)
    }

    /// The plans of weeks of a client, by their first day.
    ///
    /// # Errors
    /// Of the store.
    pub fn weeks(&self, client: ClientId) -> Result<Vec<Weeks>, Error> {
        self.all(&format!("{WEEKS} WHERE client = ?1 ORDER BY first, id"), [client], weeks)
    }

    /// A plan of weeks.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn weeks_of(&self, id: WeeksId) -> Result<Weeks, Error> {
        self.first(&format!("{WEEKS} WHERE id = ?1"), [id], weeks)?
            .ok_or_else(|| ErrorKind::NoSuch(WeeksId::WORD, id.0).into())
    }

    /// The plans of all clients of which a day lies in `from ..= to`, by their first day; those that ended early before `from`
    /// are not among them.
    ///
    /// # Errors
    /// Of the store.
    pub fn weeks_between(&self, from: Date, to: Date) -> Result<Vec<Weeks>, Error> {
        let sql = format!(
            "{WEEKS} WHERE first <= ?2 AND date(first, '+' || (days - 1) || ' days') >= ?1 \
             AND (ended IS NULL OR ended >= ?1) ORDER BY first, id"
        );
        self.all(&sql, (from.to_string(), to.to_string()), weeks)
    }

    /// Up to `most` plans of all clients, the latest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn latest_weeks(&self, most: u32) -> Result<Vec<Weeks>, Error> {
        self.all(&format!("{WEEKS} ORDER BY first DESC, id DESC LIMIT ?1"), [most], weeks)
    }

    /// The home notes of a client, by day.
    ///
    /// # Errors
    /// Of the store.
    pub fn home_notes(&self, client: ClientId) -> Result<Vec<HomeNote>, Error> {
        self.all(&format!("{HOME_NOTE} WHERE client = ?1 ORDER BY day, id"), [client], home_note)
    }
}

impl Writer<'_> {
    /// Writes a note or an incident.
    ///
    /// # Errors
    /// It is empty; there is no such client; the visit is another's.
    pub fn add_note(
        &self,
        client: ClientId,
        visit: Option<VisitId>,
        kind: NoteKind,
        text: &str,
    ) -> Result<NoteId, Error> {
        said(kind.word(), text)?;
        self.must_have("clients", ClientId::WORD, client.0)?;
        if let Some(id) = visit
            && self.visit(id)?.client != client
        {
            return Err(Error::bad("note", "its visit is another client's"));
        }
        let sql = "INSERT INTO notes (client, visit, kind, at, changed, body) VALUES (?1, ?2, ?3, ?4, ?4, ?5)";
        let row = (client, visit, kind.word(), self.now().unix(), text);
        self.add(NoteId::WORD, Some(client.0), sql, row).map(NoteId)
    }

    /// Replaces the words of a note.
    ///
    /// # Errors
    /// It is empty, there is no such note, or it is an incident.
    pub fn change_note(&self, id: NoteId, text: &str) -> Result<(), Error> {
        said("note", text)?;
        let note = self.note(id)?;
        if note.kind == NoteKind::Incident {
            return Err(ErrorKind::Unchangeable("incident").into());
        }
        self.run("UPDATE notes SET body = ?2, changed = ?3 WHERE id = ?1", (id, text, self.now().unix()))?;
        self.log(Done::Changed, NoteId::WORD, Some(id.0), Some(note.client.0))
    }

    /// Takes out a note.
    ///
    /// # Errors
    /// There is no such note, or it is an incident.
    pub fn remove_note(&self, id: NoteId) -> Result<(), Error> {
        let note = self.note(id)?;
        if note.kind == NoteKind::Incident {
            return Err(ErrorKind::Unchangeable("incident").into());
        }
        self.remove("notes", NoteId::WORD, id.0, Some(note.client.0))
    }

    /// Adds a plan of weeks.
    ///
    /// # Errors
    /// There is no such client or version; the routine is another client's; not 1 to 366 days.
    pub fn add_weeks(
        &self,
        client: ClientId,
        version: Option<VersionId>,
        first: Date,
        days: u16,
        body: &Json,
    ) -> Result<WeeksId, Error> {
        self.must_have("clients", ClientId::WORD, client.0)?;
        if let Some(version) = version {
            self.must_be_theirs(version, Some(client))?;
        }
        if !(1..=366).contains(&days) {
            return Err(Error::bad("plan of weeks", "1 to 366 days are possible"));
        }
        let sql = "INSERT INTO weeks (client, version, first, days, at, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        let row = (client, version, first.to_string(), days, self.now().unix(), body.as_str());
        self.add(WeeksId::WORD, Some(client.0), sql, row).map(WeeksId)
    }

    /// Replaces what a plan of weeks says, and when it was written down: now. Whose it is stays. Whether a plan may still be changed is the
    /// caller's to know.
    ///
    /// # Errors
    /// There is no such plan; it ended early; not 1 to 366 days.
    pub fn change_weeks(&self, id: WeeksId, first: Date, days: u16, body: &Json) -> Result<(), Error> {
        let known = self.weeks_of(id)?;
        if known.ended.is_some() {
            return Err(ErrorKind::Unchangeable("plan of weeks that ended").into());
        }
        if !(1..=366).contains(&days) {
            return Err(Error::bad("plan of weeks", "1 to 366 days are possible"));
        }
        self.run(
            "UPDATE weeks SET first = ?2, days = ?3, body = ?4, at = ?5 WHERE id = ?1",
            (id, first.to_string(), days, body.as_str(), self.now().unix()),
        )?;
        self.log(Done::Changed, WeeksId::WORD, Some(id.0), Some(known.client.0))
    }

    /// Ends a plan of weeks early: `day` is the last one that counts. It stays ended.
    ///
    /// # Errors
    /// There is no such plan; it ended already; the day is after its last one; no words.
    pub fn end_weeks(&self, id: WeeksId, day: Date, reason: &str) -> Result<(), Error> {
        said("reason", reason)?;
        let known = self.weeks_of(id)?;
        if known.ended.is_some() {
            return Err(ErrorKind::Unchangeable("plan of weeks that ended").into());
        }
        if day.days_since(known.first) >= i64::from(known.days) {
            return Err(Error::bad("day", "it is after the last day of the weeks"));
        }
        let row = (id, day.to_string(), reason.trim());
        self.run("UPDATE weeks SET ended = ?2, ended_because = ?3 WHERE id = ?1", row)?;
        self.log(Done::Changed, WeeksId::WORD, Some(id.0), Some(known.client.0))
    }

    /// Adds a home note of a day.
    ///
    /// # Errors
    /// There is no such client; the plan is another client's.
    pub fn add_home_note(
        &self,
        client: ClientId,
        weeks: Option<WeeksId>,
        day: Date,
        body: &Json,
    ) -> Result<HomeNoteId, Error> {
        self.must_have("clients", ClientId::WORD, client.0)?;
        if let Some(id) = weeks {
            let whose: Option<ClientId> = self.first("SELECT client FROM weeks WHERE id = ?1", [id], |r| r.get(0))?;
            if whose != Some(client) {
                return Err(Error::bad("home note", "its plan of weeks is another client's"));
            }
        }
        let sql = "INSERT INTO home_notes (client, weeks, day, at, body) VALUES (?1, ?2, ?3, ?4, ?5)";
        let row = (client, weeks, day.to_string(), self.now().unix(), body.as_str());
        let id = self.add(HomeNoteId::WORD, Some(client.0), sql, row).map(HomeNoteId)?;
        self.project(id, client, day, body)?;
        Ok(id)
    }

    /// Takes out a plan of weeks; its home notes stay, with the client.
    ///
    /// # Errors
    /// There is no such plan.
    pub fn remove_weeks(&self, id: WeeksId) -> Result<(), Error> {
        let whose = self.first("SELECT client FROM weeks WHERE id = ?1", [id], |r| r.get(0))?;
        self.remove("weeks", WeeksId::WORD, id.0, whose)
    }

    /// Takes out a home note.
    ///
    /// # Errors
    /// There is no such home note.
    pub fn remove_home_note(&self, id: HomeNoteId) -> Result<(), Error> {
        let whose = self.first("SELECT client FROM home_notes WHERE id = ?1", [id], |r| r.get(0))?;
        self.remove("home_notes", HomeNoteId::WORD, id.0, whose)
    }
}
