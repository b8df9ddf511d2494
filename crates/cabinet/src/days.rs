//! Days at home as numbers: what courses count and average without reading whole notes.

use rusqlite::{Connection, Row, params};
use serde_json::Value;
use vocab::Date;

use crate::access::{Reader, Writer, date, time};
use crate::error::Error;
use crate::id::{ClientId, CourseId, HomeNoteId};
use crate::text::Json;
use crate::time::Time;

/// A day at home, as numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HomeDay {
    /// Whose.
    pub client: ClientId,
    /// The day.
    pub day: Date,
    /// Whether there was a session.
    pub done: bool,
    /// Minutes worked.
    pub minutes: u32,
    /// Relaxed, stress, well-being, last night's sleep, 0 to 10, before the session or told of a day without one.
    pub levels: [Option<u8>; 4],
}

/// What a note's body says as numbers: of each level what was told of the day itself, else what its first session that tells it says.
fn numbers(body: &str) -> (bool, u32, [Option<u8>; 4]) {
    let body: Value = serde_json::from_str(body).unwrap_or_default();
    let level = |all: &Value, k: usize| all[k].as_u64().filter(|v| *v <= 10).map(|v| v as u8);
    let sessions = body["sessions"].as_array().map_or(&[][..], Vec::as_slice);
    let levels = [0, 1, 2, 3]
        .map(|k| level(&body["levels"], k).or_else(|| sessions.iter().find_map(|s| level(&s["before"], k))));
    let minutes = body["minutes"].as_u64().unwrap_or(0).min(24 * 60) as u32;
    (body["done"].as_bool().unwrap_or(false), minutes, levels)
}

const INTO: &str = "INSERT OR REPLACE INTO home_days (client, day, note, done, minutes, relaxed, stress, wellbeing, sleep) \
                    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";

/// Fills the numbers of every note that is there: once, when a store becomes one that has them.
pub(crate) fn project_all(conn: &Connection) -> rusqlite::Result<()> {
    let mut notes = conn.prepare("SELECT client, day, id, body FROM home_notes")?;
    let mut into = conn.prepare(INTO)?;
    let mut rows = notes.query([])?;
    while let Some(row) = rows.next()? {
        let (client, day, note): (i64, String, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let (done, minutes, [a, b, c, d]) = numbers(&row.get::<_, String>(3)?);
        into.execute(params![client, day, note, done, minutes, a, b, c, d])?;
    }
    Ok(())
}

const DAY: &str = "d.client, d.day, d.done, d.minutes, d.relaxed, d.stress, d.wellbeing, d.sleep";

fn home_day(row: &Row<'_>) -> rusqlite::Result<HomeDay> {
    Ok(HomeDay {
        client: row.get(0)?,
        day: date(row, 1)?,
        done: row.get(2)?,
        minutes: row.get(3)?,
        levels: [row.get(4)?, row.get(5)?, row.get(6)?, row.get(7)?],
    })
}

impl Reader<'_> {
    /// The days at home of a client, by day.
    ///
    /// # Errors
    /// Of the store.
    pub fn home_days(&self, client: ClientId) -> Result<Vec<HomeDay>, Error> {
        self.all(
            &format!("SELECT {DAY} FROM home_days d WHERE d.client = ?1 ORDER BY d.day, d.note"),
            [client],
            home_day,
        )
    }

    /// The days at home of everybody in a course, from one day to another, by client and day.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_days(&self, course: CourseId, from: Date, to: Date) -> Result<Vec<HomeDay>, Error> {
        let sql = format!(
            "SELECT {DAY} FROM course_members m CROSS JOIN home_days d ON d.client = m.client AND d.day BETWEEN ?2 AND ?3 \
             WHERE m.course = ?1 ORDER BY m.client, d.day, d.note"
        );
        self.all(&sql, (course, from.to_string(), to.to_string()), home_day)
    }

    /// When sessions at the desk were, of everybody in a course, in `from .. to`; by client.
    ///
    /// # Errors
    /// Of the store.
    pub fn course_sessions(&self, course: CourseId, from: Time, to: Time) -> Result<Vec<(ClientId, Time)>, Error> {
        let sql = "SELECT s.client, s.at FROM course_members m \
                   CROSS JOIN sessions s ON s.client = m.client AND s.at >= ?2 AND s.at < ?3 \
                   WHERE m.course = ?1 ORDER BY m.client, s.at";
        self.all(sql, (course, from.unix(), to.unix()), |row| Ok((row.get(0)?, time(row, 1)?)))
    }
}

impl Writer<'_> {
    /// Keeps a note's numbers beside it.
    pub(crate) fn project(&self, note: HomeNoteId, client: ClientId, day: Date, body: &Json) -> Result<(), Error> {
        let (done, minutes, [a, b, c, d]) = numbers(body.as_str());
        self.run(INTO, params![client, day.to_string(), note, done, minutes, a, b, c, d]).map(|_| ())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_each_level_the_day_itself_comes_first_then_its_sessions_in_order() {
        let check = |body: &str, expected| assert_eq!(numbers(body), expected, "{body}");
        check(
            r#"{"done":true,"minutes":9,"sessions":[{"before":[null,4,null,7]},{"before":[3,5,6,2]}]}"#,
            (true, 9, [Some(3), Some(4), Some(6), Some(7)]),
        );
        check(
            r#"{"done":false,"minutes":0,"levels":[5,null,null,11],"sessions":[{"before":[1,2,null,4]}]}"#,
            (false, 0, [Some(5), Some(2), None, Some(4)]),
        );
        check(r#"{"done":1,"minutes":"x","levels":[-1,2.5,"3",0]}"#, (false, 0, [None, None, None, Some(0)]));
        check("[6]", (false, 0, [None; 4]));
    }
}
