//! Intake: what a client answered, as the document that the screening reads (with where and since when), each state
//! kept; and a clinician's word on a condition: who, when, until when.

use rusqlite::Row;
use vocab::Date;

use crate::access::{Done, Reader, Writer, date, time, unreadable};
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, IntakeId, WordId};
use crate::text::{Document, Json, Toml, bounded, quiet, said};
use crate::time::Time;

quiet!(Intake, ClinicianWord, NewWord<'t>);

/// One set of answers.
#[derive(Clone, PartialEq, Eq)]
pub struct Intake {
    /// Its number.
    pub id: IntakeId,
    /// When it was recorded.
    pub at: Time,
    /// The first day on which it must be asked again, if there is one.
    pub until: Option<Date>,
    /// The answers.
    pub answers: Document,
}

/// A clinician's word on one condition.
#[derive(Clone, PartialEq, Eq)]
pub struct ClinicianWord {
    /// Its number.
    pub id: WordId,
    /// The condition, by its id in the screening data.
    pub condition: String,
    /// Where, by the words of the answers; empty: wherever the condition is.
    pub place: String,
    /// Who said it.
    pub who: String,
    /// The day it was said.
    pub said: Date,
    /// The last day on which it holds.
    pub until: Date,
    /// When it was recorded.
    pub at: Time,
    /// When it was taken back.
    pub withdrawn: Option<Time>,
}

impl ClinicianWord {
    /// Whether it holds on a day: said by then, not over, not taken back.
    pub fn holds_on(&self, day: Date) -> bool {
        self.withdrawn.is_none() && self.said <= day && day <= self.until
    }
}

/// A clinician's word to be recorded.
#[derive(Clone, Copy)]
pub struct NewWord<'t> {
    /// The condition, by its id in the screening data.
    pub condition: &'t str,
    /// Where; may be empty.
    pub place: &'t str,
    /// Who said it.
    pub who: &'t str,
    /// The day it was said, not later than today.
    pub said: Date,
    /// The last day on which it holds, not before `said`.
    pub until: Date,
}

fn intake(row: &Row<'_>) -> rusqlite::Result<Intake> {
    let until: Option<String> = row.get(2)?;
    let until = until.map(|t| Date::parse(&t).ok_or_else(|| unreadable(2))).transpose()?;
    let (format, text): (String, String) = (row.get(3)?, row.get(4)?);
    let answers = if format == "json" { Document::Json(Json::kept(text)) } else { Document::Toml(Toml::kept(text)) };
    Ok(Intake { id: row.get(0)?, at: time(row, 1)?, until, answers })
}

impl Reader<'_> {
    /// The answers that hold: the latest ones.
    ///
    /// # Errors
    /// Of the store.
    pub fn intake(&self, client: ClientId) -> Result<Option<Intake>, Error> {
        let sql = "SELECT id, at, until, format, answers FROM intakes WHERE client = ?1 ORDER BY id DESC LIMIT 1";
        self.first(sql, [client], intake)
    }

    /// Every set of answers, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn intakes(&self, client: ClientId) -> Result<Vec<Intake>, Error> {
        let sql = "SELECT id, at, until, format, answers FROM intakes WHERE client = ?1 ORDER BY id";
        self.all(sql, [client], intake)
    }

    /// Every clinician's word, oldest first, those that are over or taken back as well.
    ///
    /// # Errors
    /// Of the store.
    pub fn clinician_words(&self, client: ClientId) -> Result<Vec<ClinicianWord>, Error> {
        let sql = "SELECT id, condition, place, who, said, until, at, withdrawn FROM clinician_words \
                   WHERE client = ?1 ORDER BY id";
        self.all(sql, [client], |row| {
            Ok(ClinicianWord {
                id: row.get(0)?,
                condition: row.get(1)?,
                place: row.get(2)?,
                who: row.get(3)?,
                said: date(row, 4)?,
                until: date(row, 5)?,
                at: time(row, 6)?,
                withdrawn: row.get::<_, Option<i64>>(7)?.map(Time::from_unix),
            })
        })
    }
}

impl Writer<'_> {
    /// Adds a set of answers; the ones before stay on record.
    ///
    /// # Errors
    /// There is no such client.
    pub fn add_intake(&self, client: ClientId, answers: &Document, until: Option<Date>) -> Result<IntakeId, Error> {
        self.must_have("clients", ClientId::WORD, client.0)?;
        let sql = "INSERT INTO intakes (client, at, until, format, answers) VALUES (?1, ?2, ?3, ?4, ?5)";
        let until = until.map(|d| d.to_string());
        let row = (client, self.now().unix(), until, answers.format(), answers.as_str());
        self.add(IntakeId::WORD, Some(client.0), sql, row).map(IntakeId)
    }

    /// Records a clinician's word.
    ///
    /// # Errors
    /// There is no such client; condition or name is empty; it was said after today or ends before it was said.
    pub fn add_clinician_word(&self, client: ClientId, word: &NewWord<'_>) -> Result<WordId, Error> {
        said("condition", word.condition)?;
        said("clinician's name", word.who)?;
        bounded("place", word.place)?;
        // A day later than UTC's may be today already, further east.
        if word.said > self.now().plus(86_400).date() {
            return Err(Error::bad("day of a clinician's word", "it lies in the future"));
        }
        if word.until < word.said {
            return Err(Error::bad("last day of a clinician's word", "it lies before the day it was said"));
        }
        self.must_have("clients", ClientId::WORD, client.0)?;
        let sql = "INSERT INTO clinician_words (client, condition, place, who, said, until, at) \
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
        let (said, until) = (word.said.to_string(), word.until.to_string());
        let row = (client, word.condition, word.place, word.who, said, until, self.now().unix());
        self.add(WordId::WORD, Some(client.0), sql, row).map(WordId)
    }

    /// Takes a clinician's word back: it holds no longer, but stays on record.
    ///
    /// # Errors
    /// There is no such word.
    pub fn withdraw_clinician_word(&self, id: WordId) -> Result<(), Error> {
        let client: i64 = self
            .first("SELECT client FROM clinician_words WHERE id = ?1", [id], |r| r.get(0))?
            .ok_or(ErrorKind::NoSuch(WordId::WORD, id.0))?;
        let sql = "UPDATE clinician_words SET withdrawn = ?2 WHERE id = ?1 AND withdrawn IS NULL";
        self.run(sql, (id, self.now().unix()))?;
        self.log(Done::Changed, WordId::WORD, Some(id.0), Some(client))
    }
}
