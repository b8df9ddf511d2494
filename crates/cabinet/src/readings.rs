//! Readings: what a visit's photographs say of one value, as a mean with its scatter; made by the caller from their measurements.

use rusqlite::{Row, params};

use crate::access::{Done, Reader, Writer, choice, time, word_of};
use crate::error::Error;
use crate::id::{ClientId, CourseId, VisitId};
use crate::text::said;
use crate::time::Time;

/// Of which side a reading is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadingSide {
    /// The person's own left.
    Left,
    /// The person's own right.
    Right,
    /// The whole face: of each photograph the mean of both sides.
    Face,
}

impl ReadingSide {
    const ALL: [(ReadingSide, &'static str); 3] =
        [(ReadingSide::Left, "left"), (ReadingSide::Right, "right"), (ReadingSide::Face, "face")];

    /// The word in files.
    pub fn word(self) -> &'static str {
        word_of(&ReadingSide::ALL, self)
    }
}

/// A reading to be kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NewReading<'n> {
    /// The value's name.
    pub name: &'n str,
    /// The side.
    pub side: ReadingSide,
    /// Mean of the photographs, in the value's unit.
    pub mean: f64,
    /// How many photographs, 1 or more.
    pub count: u32,
    /// Sum of squared deviations from the mean, 0 or more.
    pub ss: f64,
}

/// A reading of a client's visit.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitReading {
    /// Of which visit.
    pub visit: VisitId,
    /// When that was.
    pub at: Time,
    /// The value's name.
    pub name: String,
    /// The side.
    pub side: ReadingSide,
    /// Mean of the photographs.
    pub mean: f64,
    /// How many photographs.
    pub count: u32,
    /// Sum of squared deviations from the mean.
    pub ss: f64,
}

/// A reading of one value on one side, of many clients.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Followed {
    /// Whose.
    pub client: ClientId,
    /// When the visit was.
    pub at: Time,
    /// Mean of the photographs.
    pub mean: f64,
    /// How many photographs.
    pub count: u32,
    /// Sum of squared deviations from the mean.
    pub ss: f64,
}

fn reading(row: &Row<'_>) -> rusqlite::Result<VisitReading> {
    Ok(VisitReading {
        visit: row.get(0)?,
        at: time(row, 1)?,
        name: row.get(2)?,
        side: choice(&ReadingSide::ALL, row, 3)?,
        mean: row.get(4)?,
        count: row.get(5)?,
        ss: row.get(6)?,
    })
}

fn followed(row: &Row<'_>) -> rusqlite::Result<Followed> {
    Ok(Followed { client: row.get(0)?, at: time(row, 1)?, mean: row.get(2)?, count: row.get(3)?, ss: row.get(4)? })
}

impl Reader<'_> {
    /// All readings of a client's visits, oldest visit first, then by name and side.
    ///
    /// # Errors
    /// Of the store.
    pub fn readings(&self, client: ClientId) -> Result<Vec<VisitReading>, Error> {
        let sql = "SELECT visit, at, name, side, mean, count, ss FROM readings WHERE client = ?1 \
                   ORDER BY at, visit, name, side";
        self.all(sql, [client], reading)
    }

    /// One value on one side of everybody in a course, by client, oldest visit first.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_readings(&self, course: CourseId, name: &str, side: ReadingSide) -> Result<Vec<Followed>, Error> {
        let sql = "SELECT r.client, r.at, r.mean, r.count, r.ss FROM course_members m \
                   CROSS JOIN readings r ON r.name = ?2 AND r.side = ?3 AND r.client = m.client \
                   WHERE m.course = ?1 ORDER BY m.client, r.at, r.visit";
        self.all(sql, (course, name, side.word()), followed)
    }

    /// One value on one side of every client, by client, oldest visit first.
    ///
    /// # Errors
    /// Of the store.
    pub fn readings_of(&self, name: &str, side: ReadingSide) -> Result<Vec<Followed>, Error> {
        let sql =
            "SELECT client, at, mean, count, ss FROM readings WHERE name = ?1 AND side = ?2 ORDER BY client, at, visit";
        self.all(sql, (name, side.word()), followed)
    }

    /// The visits that have a measurement, by number: up to `most` of those after `after`.
    ///
    /// # Errors
    /// Of the store.
    pub fn measured_visits(&self, after: Option<VisitId>, most: u32) -> Result<Vec<VisitId>, Error> {
        let sql = "SELECT DISTINCT visit FROM measurements WHERE visit > ?1 ORDER BY visit LIMIT ?2";
        self.all(sql, (after.map_or(0, |v| v.0), most), |row| row.get(0))
    }
}

impl Writer<'_> {
    /// Replaces all readings of a visit. They are made of what is kept already, so they need no line of their own in the change log
    /// where nothing was there before.
    ///
    /// # Errors
    /// There is no such visit; a name is empty; a number is not finite, the count 0, or the same value and side stands twice.
    pub fn set_readings(&self, visit: VisitId, readings: &[NewReading<'_>]) -> Result<(), Error> {
        let known = self.visit(visit)?;
        let before = self.run("DELETE FROM readings WHERE visit = ?1", [visit])?;
        for (at, new) in readings.iter().enumerate() {
            said("value's name", new.name)?;
            let fit = new.mean.is_finite() && new.ss.is_finite() && new.ss >= 0.0 && new.count >= 1;
            let twice = readings[..at].iter().any(|r| (r.name, r.side) == (new.name, new.side));
            if !fit || twice {
                let allowed = "a finite mean and scatter of one photograph or more, each value and side once";
                return Err(Error::bad("reading", allowed));
            }
            let sql = "INSERT INTO readings (name, side, client, at, visit, mean, count, ss) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
            let row =
                params![new.name, new.side.word(), known.client, known.at.unix(), visit, new.mean, new.count, new.ss];
            self.run(sql, row)?;
        }
        if before > 0 {
            self.log(Done::Changed, VisitId::WORD, Some(visit.0), Some(known.client.0))?;
        }
        Ok(())
    }
}
