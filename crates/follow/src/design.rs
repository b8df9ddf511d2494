//! Before the weeks begin, and when they have told nothing yet: which visits would tell.

use crate::change::Geometry;
use crate::stats::power_two_sided;
use crate::{Plan, Prior, Visit};

/// Power that a plan aims at: a change of its size is found in so many of a hundred, over 100.
pub(crate) const POWER: f64 = 0.8;
/// More visits than that are never advised.
const MOST: usize = 60;

/// The days of a plan with their photographs, and the noise they meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Day and number of photographs of each visit.
    pub visits: Vec<(i32, u32)>,
    /// The last day.
    pub end: i32,
    /// Standard deviation between days.
    pub sd: f64,
    /// Standard deviation between photographs of a visit.
    pub within: f64,
    /// How many false alarms the look may spend.
    pub alpha: f64,
}

impl Design {
    /// A plan as it is meant to go, with this noise.
    pub fn of(plan: &Plan, sd: f64, within: f64) -> Design {
        let count = u32::from(plan.photographs.max(1));
        let alpha = plan.looks().last().map_or(0.05, |l| l.alpha);
        let visits = plan.visit_days().into_iter().map(|d| (d, count)).collect();
        Design { visits, end: plan.end(), sd, within, alpha }
    }

    /// Standard error of a change, in the value's unit, and its degrees of freedom; none without a visit on either side of day 1.
    pub fn standard_error(&self, prior: &Prior) -> Option<(f64, f64)> {
        let g = Geometry::of(&self.visits, self.end, self.within, self.sd)?;
        Some((self.sd * g.unit_se, prior.df + (self.visits.len() as f64 - 3.0).max(0.0)))
    }
}

/// How likely the design finds a change of this size, 0 to 1.
pub fn power(design: &Design, size: f64, prior: &Prior) -> Option<f64> {
    let (se, df) = design.standard_error(prior)?;
    Some(power_two_sided(size / se, df, design.alpha))
}

/// The smallest change that the design finds in 80 of 100.
pub fn smallest_seen(design: &Design, prior: &Prior) -> Option<f64> {
    let (se, df) = design.standard_error(prior)?;
    let (mut low, mut high) = (0.0, 200.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if power_two_sided(middle, df, design.alpha) < POWER { low = middle } else { high = middle }
    }
    Some(high * se)
}

/// How many more visits, at the plan's pace, until a change of the plan's size would be found in 80 of 100 at this noise; none where
/// no number of them would, because the baseline itself is too unsure.
pub fn needed(plan: &Plan, visits: &[Visit], today: i32, sd: f64, within: f64, prior: &Prior) -> Option<u32> {
    let alpha = plan.looks().last().map_or(0.05, |l| l.alpha);
    let mut all: Vec<(i32, u32)> = visits.iter().map(|v| (v.day, v.count)).collect();
    let every = i32::from(plan.every.max(1));
    let mut next = all.iter().map(|v| v.0).max().unwrap_or(0).max(today - every).max(1 - every) + every;
    for more in 1..=MOST {
        all.push((next, u32::from(plan.photographs.max(1))));
        next += every;
        let end = plan.end().max(all.last().map_or(0, |v| v.0));
        let design = Design { visits: all.clone(), end, sd, within, alpha };
        if power(&design, plan.size, prior).is_some_and(|p| p >= POWER) {
            return u32::try_from(more).ok();
        }
    }
    None
}
