//! How weeks stand today: whether they may still be changed, what is due.

use cabinet::{ClientId, Error, ErrorKind, Reader, Weeks, WeeksId};
use vocab::Date;

use crate::following::body::Body;
use crate::following::days::{self, local_day};
use crate::following::one::Followed;

/// A plan of weeks under the address of its client.
///
/// # Errors
/// There is no such plan, or it is another client's: to this address both are the same.
pub fn weeks_of(r: &Reader<'_>, client: ClientId, id: WeeksId) -> Result<Weeks, Error> {
    r.client(client)?;
    let found = r.weeks_of(id)?;
    if found.client == client { Ok(found) } else { Err(ErrorKind::NoSuch(WeeksId::WORD, id.number()).into()) }
}

/// Whether a plan may still be changed or taken out: nothing of it has begun. Neither has its first day gone by, nor was there a
/// visit, a session or a note on one of its days since it was made.
///
/// # Errors
/// Of the store.
pub fn is_open(r: &Reader<'_>, client: ClientId, row: &Weeks, today: Date) -> Result<bool, Error> {
    let body = Body::read(row);
    if row.ended.is_some() || today > body.first {
        return Ok(false);
    }
    let begins = body.date(body.begins());
    let since = |day: Date| day >= begins && day >= local_day(row.at);
    let visited = r.visits(client)?.iter().any(|v| since(local_day(v.at)) && v.at >= row.at);
    let noted = days::days(r, client, &body)?.keys().any(|day| since(body.date(*day)));
    Ok(!visited && !noted)
}

/// What is due today.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Due {
    /// A visit with photographs.
    pub visit: bool,
    /// The visits of these days did not take place, and no later one made up for it: the latest one.
    pub missed: Option<i32>,
    /// The plan looks today.
    pub look: bool,
    /// Days of the last seven about which nobody has said anything, yesterday the last.
    pub silent: Vec<i32>,
    /// A session today.
    pub session: bool,
    /// A level for a baseline day today.
    pub level: bool,
}

/// Whether the weeks run today, their baseline included.
pub fn runs(f: &Followed) -> bool {
    f.today >= f.body.begins() && f.today <= last(f)
}

/// The last day that counts.
pub fn last(f: &Followed) -> i32 {
    f.weeks.ended.as_ref().map_or(f.body.end(), |e| f.body.number(e.day).min(f.body.end()))
}

/// What is due today; nothing where the weeks do not run.
pub fn due(f: &Followed) -> Due {
    let mut due = Due::default();
    if !runs(f) {
        return due;
    }
    let photographs = f.plan.is_some() && f.series.iter().any(|s| !s.value.said);
    let visits: Vec<i32> = visits(f);
    if let (Some(plan), true) = (&f.plan, photographs) {
        let asked = plan.visit_days();
        due.visit = asked.contains(&f.today) && !visits.contains(&f.today);
        let late = asked.iter().rev().find(|d| **d < f.today).copied();
        due.missed = late.filter(|d| !due.visit && !visits.iter().any(|v| v >= d));
    }
    due.look = f.plan.as_ref().is_some_and(|p| p.looks().iter().any(|l| l.day == f.today));
    let from = (f.today - 7).max(1);
    due.silent = (from..f.today).filter(|day| !f.days.get(day).is_some_and(|d| d.noted)).collect();
    // With fewer sessions a week not every day has something to say.
    let free = 7 - i32::from(f.body.days_a_week);
    if i32::try_from(due.silent.len()).unwrap_or(i32::MAX) <= free {
        due.silent.clear();
    }
    let today = f.days.get(&f.today);
    due.session = f.today >= 1 && !today.is_some_and(|d| d.done);
    due.level = f.today < 1 && f.plan.is_some() && !today.is_some_and(|d| d.levels.iter().any(Option::is_some));
    due
}

/// The days on which there was a visit that gave a value.
pub fn visits(f: &Followed) -> Vec<i32> {
    let mut days: Vec<i32> =
        f.series.iter().filter(|s| !s.value.said).flat_map(|s| s.visits.iter().map(|v| v.day)).collect();
    days.sort_unstable();
    days.dedup();
    days
}
