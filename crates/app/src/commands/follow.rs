//! `follow SERIES`: whether a series of values changed beyond its noise.

use std::path::PathBuf;

use clap::ArgMatches;
use follow::{Assessment, Dose, LAST_WEEK, Plan, Sides, assess, sides};
use vocab::{Date, Finding};

use super::{json, path};
use crate::json::follow::FollowOut;
use crate::outcome::{Code, Outcome};
use crate::series::visits::{Note, Series};
use crate::series::{self, SeriesPlan};
use crate::{files, tell, today};

/// A series with what is to be said of it.
pub struct Told {
    /// The plan it was held to.
    pub plan: SeriesPlan,
    /// The visits.
    pub series: Series,
    /// The day up to which it was looked at.
    pub today: i32,
    /// The verdict and its numbers.
    pub said: Assessment,
    /// The worked side against the other one.
    pub sides: Option<Sides>,
    /// Sessions.
    pub dose: Dose,
}

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let file = path(args, "series")?;
    let name = file.display().to_string();
    let given = match args.get_one::<PathBuf>("plan") {
        None => None,
        Some(path) => Some(SeriesPlan::read(&path.display().to_string(), &files::read(path)?)?),
    };
    let plan = given.clone().unwrap_or_else(SeriesPlan::none);
    let table = series::read(&name, &files::read(file)?, plan.plan.value)?;
    let series = Series::of(&table, &plan).map_err(|why| vec![series::words::no_series(&name, &why)])?;
    // Without a plan the series ends where it ends, whatever the clock says.
    let clock = given.and_then(|_| args.get_one::<Date>("today").copied().or_else(today::today));
    let told = tell_of(plan, series, clock, args.get_one::<PathBuf>("plan").is_some());
    if args.get_flag("json") {
        return Ok(json(&FollowOut::new(&told), Code::Done));
    }
    Ok(Outcome::done(tell::follow::plain(&told)))
}

fn tell_of(mut plan: SeriesPlan, mut series: Series, clock: Option<Date>, planned: bool) -> Told {
    if !planned {
        // A look before a week is over would have no baseline's length to stand on.
        plan.plan.days = u16::try_from(series.last.clamp(LAST_WEEK, 366)).unwrap_or(366);
    }
    let by_clock = clock.map_or(i64::MIN, |c| c.days_since(series.first) + 1);
    let today = i32::try_from(by_clock.clamp(i64::from(i32::MIN), i64::from(i32::MAX))).unwrap_or(series.last);
    let today = today.max(series.last);
    let visits = series.plain();
    let end = plan.plan.end();
    let after = visits.iter().filter(|v| v.day > end).count();
    if after > 0 {
        series.notes.push(Note::AfterEnd(after));
    }
    let said = assess(&plan.plan, &plan.prior, &visits, today);
    let sides = sides(&plan.plan, &plan.prior, &series.sides, today);
    let within = |d: &&i32| **d <= end;
    let worked: Vec<i32> = series.worked.iter().filter(within).copied().collect();
    let dose = Dose::of(&worked, asked(&plan, today), &visits);
    Told { plan, series, today, said, sides, dose }
}

/// Days asked for until now: of each seven so many, whole ones.
fn asked(plan: &SeriesPlan, today: i32) -> Option<u32> {
    let days = u32::try_from(today.clamp(0, plan.plan.end())).ok()?;
    plan.days_a_week.map(|n| days * u32::from(n) / 7)
}

impl Told {
    /// Days of the visits that are marked.
    pub fn odd_days(&self) -> Vec<i32> {
        self.said.odd.iter().filter_map(|i| self.series.visits.get(*i)).map(|l| l.visit.day).collect()
    }

    /// Visits and photographs before the first session, and in the last seven days up to a day.
    pub fn counts(&self, look: i32) -> [(usize, u32); 2] {
        let of = |take: &dyn Fn(i32) -> bool| {
            let taken = self.series.visits.iter().filter(|l| take(l.visit.day));
            taken.fold((0, 0), |(n, p), l| (n + 1, p + l.visit.count))
        };
        [of(&|d| d <= 0), of(&|d| d >= 1 && d <= look && d > look - LAST_WEEK)]
    }

    /// The plan alone.
    pub fn plan(&self) -> &Plan {
        &self.plan.plan
    }
}
