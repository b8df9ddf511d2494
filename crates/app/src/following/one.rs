//! One client's weeks: plan, values, sessions, notes, and what they say.

use std::collections::BTreeMap;

use cabinet::{ClientId, Error, ErrorKind, Reader, Time, Weeks, WeeksId};
use colour::Tone;
use follow::stats::student_two_sided;
use follow::{Assessment, Dose, Level, Plan, Prior, Sides, VALUES, Value, Visit, assess, assess_shared, level, sides};
use vocab::Date;

use super::body::Body;
use super::days::{self, Day, LEVELS, Written};
use super::measured::Measured;

/// One value through the weeks.
#[derive(Clone, Debug)]
pub struct Series {
    /// Which.
    pub value: &'static Value,
    /// The plan as it is for this value; none: no plan was fixed.
    pub plan: Option<Plan>,
    /// What was taken of the noise.
    pub prior: Prior,
    /// Its visits, a day each, oldest first.
    pub visits: Vec<Visit>,
    /// What they say; none where no plan was fixed.
    pub assessment: Option<Assessment>,
    /// Of the values beside the primary one: the p value of the change after Holm's correction for all of them, once there is a change.
    /// The interval and the verdict of the assessment are already held to it.
    pub holm: Option<f64>,
}

/// How they felt: one of the four levels.
#[derive(Clone, Debug)]
pub struct Felt {
    /// The level of each day, before anything was worked.
    pub series: Series,
    /// After less before, of each session on a worked day.
    pub differences: Vec<(i32, f64)>,
    /// Their mean with its interval.
    pub difference: Option<Level>,
}

/// Everything of one client's weeks.
#[derive(Clone, Debug)]
pub struct Followed {
    /// Whose.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// The row as it is kept; it says whether they ended early.
    pub weeks: Weeks,
    /// What it holds.
    pub body: Body,
    /// The plan of the primary value; none: no plan was fixed before.
    pub plan: Option<Plan>,
    /// Today's number.
    pub today: i32,
    /// The values that photographs give (and a primary one that is said): the primary one first.
    pub series: Vec<Series>,
    /// The moment of the primary value's first visit; none where there is no visit, or where it is said: a day that was said has no moment.
    pub first_at: Option<Time>,
    /// The worked side against the other one, where the plan asks.
    pub sides: Option<Sides>,
    /// Sessions done of asked for, and how they go with the primary value.
    pub dose: Dose,
    /// The days, by number, baseline included.
    pub days: BTreeMap<i32, Day>,
    /// Sessions: day, whether done, minutes.
    pub sessions: Vec<(i32, bool, u32)>,
    /// How they felt, in the order of [`LEVELS`].
    pub felt: Vec<Felt>,
    /// Notes and incidents.
    pub written: Vec<Written>,
}

impl Followed {
    /// The primary value; none where no plan was fixed and nothing was measured.
    pub fn primary(&self) -> Option<&Series> {
        self.series.first()
    }

    /// Whether the plan's first look has come: before it no change is shown.
    pub fn looked(&self) -> bool {
        self.plan.as_ref().is_none_or(|p| p.looks().first().is_none_or(|l| l.day <= self.today))
    }
}

/// Reads a client's weeks as they stand on `today`; none where there are no such weeks of this client.
///
/// # Errors
/// There is no such client; of the store.
pub fn one(r: &Reader<'_>, client: ClientId, weeks: WeeksId, today: Date) -> Result<Option<Followed>, Error> {
    let who = r.client(client)?;
    let Some(row) = r.weeks(client)?.into_iter().find(|w| w.id == weeks) else { return Ok(None) };
    let body = Body::read(&row);
    let tone = who.tone.as_ref().and_then(|t| Tone::parse(&t.class));
    let days = days::days(r, client, &body)?;
    let measured = Measured::read(r, client)?;
    let today = body.number(today);
    let reader = Making { body: &body, tone, today };
    let plan = body.plan(tone);

    let mut series = Vec::new();
    let mut primary = None;
    if let (Some(fixed), Some(plan)) = (&body.fixed, &plan) {
        let visits =
            if fixed.value.said { said(&days, fixed.value) } else { measured.of(fixed.value, fixed.side, &body) };
        let mut one = reader.plain(fixed.value, visits);
        one.assessment = Some(assess(plan, &one.prior, &one.visits, today));
        one.plan = Some(plan.clone());
        primary = Some(fixed.value);
        series.push(one);
        for value in fixed.others.iter().filter(|v| !v.said) {
            series.push(reader.beside(value, measured.of(value, fixed.side, &body)));
        }
    } else {
        for value in VALUES.iter().filter(|v| !v.said) {
            let visits = measured.of(value, None, &body);
            if !visits.is_empty() {
                series.push(reader.plain(value, visits));
            }
        }
    }
    let mut felt = Vec::new();
    for (at, name) in LEVELS.iter().enumerate() {
        let Some(value) = Value::named(name) else { continue };
        let same = series.first().filter(|s| primary == Some(value) && s.value == value).cloned();
        let one = match same {
            Some(one) => one,
            None => reader.beside(value, said(&days, value)),
        };
        let differences: Vec<(i32, f64)> =
            days.range(1..).flat_map(|(day, d)| d.differences(at).map(|v| (*day, v))).collect();
        let difference = level(&differences, &one.prior);
        felt.push(Felt { series: one, differences, difference });
    }
    if let Some(primary) = primary {
        let photographs = series.iter_mut().filter(|s| s.value != primary);
        let levels = felt.iter_mut().map(|f| &mut f.series).filter(|s| s.value != primary);
        hold_to_holm(photographs.chain(levels).collect(), today);
    }

    let until = today.min(body.end());
    let worked: Vec<i32> = days.range(1..=until.max(0)).filter(|(_, d)| d.done).map(|(day, _)| *day).collect();
    let asked = plan.as_ref().map(|_| body.asked_until(until));
    let visits = series.first().map_or(&[][..], |s| s.visits.as_slice());
    let dose = Dose::of(&worked, asked, visits);
    let photographed = body.fixed.as_ref().filter(|f| !f.value.said);
    let first_at = photographed.and_then(|f| measured.first_at(f.value, f.side, &body));
    let one_side = body.fixed.as_ref().and_then(|f| Some((f.side?, f.value)));
    let sides = match (one_side, &plan, series.first()) {
        (Some((worked, value)), Some(plan), Some(first)) if !value.said => {
            sides(plan, &first.prior, &measured.sided(value, worked, &body), today)
        }
        _ => None,
    };
    let sessions = days.iter().filter(|(_, d)| d.noted).map(|(day, d)| (*day, d.done, d.minutes)).collect();
    let written = days::written(r, client, &body)?;
    Ok(Some(Followed {
        client,
        name: who.details.name,
        weeks: row,
        plan,
        today,
        series,
        first_at,
        sides,
        dose,
        sessions,
        days,
        felt,
        written,
        body,
    }))
}

/// As [`one`].
///
/// # Errors
/// There are no such weeks of this client; of the store.
pub fn must(r: &Reader<'_>, client: ClientId, weeks: WeeksId, today: Date) -> Result<Followed, Error> {
    one(r, client, weeks, today)?.ok_or_else(|| ErrorKind::NoSuch(WeeksId::WORD, weeks.number()).into())
}

/// What every series is made with.
struct Making<'a> {
    body: &'a Body,
    tone: Option<Tone>,
    today: i32,
}

impl Making<'_> {
    /// A series that nothing is said of.
    fn plain(&self, value: &'static Value, visits: Vec<Visit>) -> Series {
        let prior = self.body.prior(value);
        Series { value, plan: None, prior, visits, assessment: None, holm: None }
    }

    /// A value beside the primary one.
    fn beside(&self, value: &'static Value, visits: Vec<Visit>) -> Series {
        let mut one = self.plain(value, visits);
        one.plan = self.body.plan_for(value, self.tone);
        one.assessment = one.plan.as_ref().map(|p| assess(p, &one.prior, &one.visits, self.today));
        one
    }
}

/// The levels that somebody said, a day each.
fn said(days: &BTreeMap<i32, Day>, value: &Value) -> Vec<Visit> {
    let Some(which) = LEVELS.iter().position(|name| *name == value.name) else { return Vec::new() };
    days.iter().filter_map(|(day, d)| Visit::of(*day, &[d.level(which)?])).collect()
}

/// Holm (1979, Scand J Stat 6:65): the smallest p value is held to a m-th of what the look may spend, the next to one of m-1, and so
/// on; after the first that fails none holds. Each series is assessed again with the share it was held to, so that its interval excludes
/// zero exactly where Holm says so.
fn hold_to_holm(mut series: Vec<&mut Series>, today: i32) {
    series.retain(|s| s.assessment.as_ref().is_some_and(|a| a.change.is_some() && a.fit.is_some()));
    let p = |s: &Series| {
        let fit = s.assessment.as_ref().and_then(|a| a.fit);
        fit.map_or(1.0, |f| student_two_sided(f.change / f.se, f.df))
    };
    series.sort_by(|a, b| p(a).total_cmp(&p(b)));
    let all = series.len();
    let (mut held, mut worst, mut share) = (true, 0.0_f64, 1.0);
    for (rank, one) in series.into_iter().enumerate() {
        let (own, left) = (p(one), (all - rank) as f64);
        worst = worst.max((own * left).min(1.0));
        one.holm = Some(worst);
        if held {
            share = 1.0 / left;
            let alpha = one.assessment.as_ref().and_then(|a| a.look).map_or(0.05, |l| l.alpha);
            held = own < alpha * share;
        }
        if let Some(plan) = &one.plan {
            one.assessment = Some(assess_shared(plan, &one.prior, &one.visits, today, share));
        }
    }
}
