//! What was given to take home: each has a code that its home notes carry back.

use rusqlite::Row;
use vocab::Date;

use crate::access::{Reader, Writer, date, time};
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, HomeNoteId, TakehomeId, VersionId};
use crate::notes::HomeNote;
use crate::text::{Json, said};
use crate::time::Time;

/// Something given to take home.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Takehome {
    /// Its number.
    pub id: TakehomeId,
    /// To whom; none: to whoever takes it, as after a course.
    pub client: Option<ClientId>,
    /// Which version of a routine it runs.
    pub version: VersionId,
    /// The code, given to nothing else.
    pub code: String,
    /// The day on which it was made, as the practice has it.
    pub day: Date,
    /// Its language, a tag of BCP 47.
    pub language: String,
    /// When it was made.
    pub at: Time,
}

const TAKEHOME: &str = "SELECT id, client, version, code, day, language, at FROM takehomes";

fn takehome(row: &Row<'_>) -> rusqlite::Result<Takehome> {
    Ok(Takehome {
        id: row.get(0)?,
        client: row.get(1)?,
        version: row.get(2)?,
        code: row.get(3)?,
        day: date(row, 4)?,
        language: row.get(5)?,
        at: time(row, 6)?,
    })
}

impl Reader<'_> {
    /// What was given to a client to take home, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn takehomes(&self, client: ClientId) -> Result<Vec<Takehome>, Error> {
        self.all(&format!("{TAKEHOME} WHERE client = ?1 ORDER BY id"), [client], takehome)
    }

    /// What was given to whoever takes it, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn takehomes_for_all(&self) -> Result<Vec<Takehome>, Error> {
        self.all(&format!("{TAKEHOME} WHERE client IS NULL ORDER BY id"), [], takehome)
    }

    /// What carries this code; none: nothing does.
    ///
    /// # Errors
    /// Of the store.
    pub fn takehome_with(&self, code: &str) -> Result<Option<Takehome>, Error> {
        self.first(&format!("{TAKEHOME} WHERE code = ?1"), [code], takehome)
    }

    /// A home note.
    ///
    /// # Errors
    /// There is none with this number.
    pub fn home_note(&self, id: HomeNoteId) -> Result<HomeNote, Error> {
        self.first(&format!("{} WHERE id = ?1", crate::notes::HOME_NOTE), [id], crate::notes::home_note)?
            .ok_or_else(|| ErrorKind::NoSuch(HomeNoteId::WORD, id.0).into())
    }
}

impl Writer<'_> {
    /// Keeps that something was given to take home.
    ///
    /// # Errors
    /// There is no such client or version; the routine belongs to another client; the code is empty or taken.
    pub fn add_takehome(
        &self,
        client: Option<ClientId>,
        version: VersionId,
        code: &str,
        day: Date,
        language: &str,
    ) -> Result<TakehomeId, Error> {
        said("take-home's code", code)?;
        if let Some(id) = client {
            self.must_have("clients", ClientId::WORD, id.0)?;
        }
        self.must_be_theirs(version, client)?;
        if self.takehome_with(code)?.is_some() {
            return Err(Error::bad("take-home's code", "another take-home has it"));
        }
        let sql = "INSERT INTO takehomes (client, version, code, day, language, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        let row = (client, version, code, day.to_string(), language, self.now().unix());
        self.add(TakehomeId::WORD, client.map(|c| c.0), sql, row).map(TakehomeId)
    }

    /// Replaces what a home note says; its day and whose it is stay.
    ///
    /// # Errors
    /// There is no such home note.
    pub fn change_home_note(&self, id: HomeNoteId, body: &Json) -> Result<(), Error> {
        let HomeNote { client: whose, day, .. } = self.home_note(id)?;
        self.run("UPDATE home_notes SET body = ?2, at = ?3 WHERE id = ?1", (id, body.as_str(), self.now().unix()))?;
        self.project(id, whose, day, body)?;
        self.log(crate::access::Done::Changed, HomeNoteId::WORD, Some(id.0), Some(whose.0))
    }
}
