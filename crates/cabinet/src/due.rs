//! Who is due: the facts by which a practitioner decides whom to call, one line a client.

use rusqlite::Row;
use vocab::Date;

use crate::access::{Reader, unreadable};
use crate::error::Error;
use crate::id::ClientId;
use crate::text::quiet;
use crate::time::Time;

quiet!(Due);

/// When somebody counts as due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DueRule {
    /// Today.
    pub today: Date,
    /// The latest visit, or the day a client was added if there is none, is before this moment.
    pub visit_before: Time,
}

/// One client who is due, with what speaks for it.
#[derive(Clone, PartialEq, Eq)]
pub struct Due {
    /// Who.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// Their latest visit.
    pub last_visit: Option<Time>,
    /// Their latest session.
    pub last_session: Option<Time>,
    /// The day of the last home note.
    pub last_home_note: Option<Date>,
    /// The latest visit is too long ago.
    pub visit: bool,
    /// There are no answers, or they must be asked again by today.
    pub screening: bool,
    /// Consent to care was never given, or was withdrawn.
    pub consent: bool,
    /// A plan of weeks runs today, and the last home note is more than a week old or there is none.
    pub home_note: bool,
}

/// The first part looks for who is due, one reason after another, so that most clients cost one or two look-ups; the second
/// tells all reasons of those that are shown. Clients come by number: then each look-up lands beside the one before.
const DUE: &str = "
WITH running AS MATERIALIZED (
    SELECT DISTINCT client FROM weeks
    WHERE first BETWEEN date(?1, '-366 days') AND ?1 AND date(first, '+' || days || ' days') > ?1
        AND (ended IS NULL OR ended >= ?1)
), chosen AS MATERIALIZED (
    SELECT c.id AS client, c.created AS created,
        (SELECT at FROM visits v WHERE v.client = c.id ORDER BY at DESC LIMIT 1) AS visited
    FROM clients c INDEXED BY clients_by_id
    WHERE coalesce((SELECT at FROM visits v WHERE v.client = c.id ORDER BY at DESC LIMIT 1), c.created) < ?2
        OR coalesce((SELECT coalesce(until, '9999-12-31') FROM intakes i WHERE i.client = c.id
            ORDER BY id DESC LIMIT 1), '') <= ?1
        OR coalesce((SELECT given FROM consents k WHERE k.client = c.id AND k.kind = 'care'
            ORDER BY id DESC LIMIT 1), 0) = 0
        OR CASE WHEN c.id IN running THEN coalesce((SELECT day FROM home_notes h WHERE h.client = c.id
            ORDER BY day DESC LIMIT 1), '') < ?3 ELSE 0 END
    ORDER BY coalesce(visited, 0), client LIMIT ?4
), facts AS MATERIALIZED (
    SELECT client, created, visited,
        (SELECT at FROM sessions s WHERE s.client = j.client ORDER BY at DESC LIMIT 1) AS worked,
        (SELECT day FROM home_notes h WHERE h.client = j.client ORDER BY day DESC LIMIT 1) AS noted,
        (SELECT coalesce(until, '9999-12-31') FROM intakes i WHERE i.client = j.client ORDER BY id DESC LIMIT 1) AS asked,
        (SELECT given FROM consents k WHERE k.client = j.client AND k.kind = 'care' ORDER BY id DESC LIMIT 1) AS cared
    FROM chosen j
)
SELECT client, (SELECT name FROM clients c WHERE c.id = client), visited, worked, noted,
    coalesce(visited, created) < ?2, coalesce(asked, '') <= ?1, coalesce(cared, 0) = 0,
    client IN running AND coalesce(noted, '') < ?3
FROM facts ORDER BY coalesce(visited, 0), client";

fn due(row: &Row<'_>) -> rusqlite::Result<Due> {
    let moment = |column: usize| Ok::<_, rusqlite::Error>(row.get::<_, Option<i64>>(column)?.map(Time::from_unix));
    let noted: Option<String> = row.get(4)?;
    Ok(Due {
        client: row.get(0)?,
        name: row.get(1)?,
        last_visit: moment(2)?,
        last_session: moment(3)?,
        last_home_note: noted.map(|t| Date::parse(&t).ok_or_else(|| unreadable(4))).transpose()?,
        visit: row.get(5)?,
        screening: row.get(6)?,
        consent: row.get(7)?,
        home_note: row.get(8)?,
    })
}

impl Reader<'_> {
    /// Up to `most` clients who are due, those whose visit is longest ago first.
    ///
    /// # Errors
    /// Of the store.
    pub fn due(&self, rule: &DueRule, most: u32) -> Result<Vec<Due>, Error> {
        let today = rule.today.to_string();
        let week_ago: String = self.value("SELECT date(?1, '-7 days')", [&today])?;
        self.all(DUE, (today, rule.visit_before.unix(), week_ago, most), due)
    }
}
