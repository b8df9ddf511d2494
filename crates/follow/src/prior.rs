//! What is taken of the noise before a person's own visits speak.

use crate::Value;

/// Where a prior comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PriorSource {
    /// Stated with the value.
    Stated,
    /// The median of so many clients of this practice.
    Practice(usize),
    /// Given with the plan.
    Given,
}

/// The prior of the noise between days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Standard deviation between days, in the value's unit.
    pub sd: f64,
    /// How many degrees of freedom it is worth.
    pub df: f64,
    /// Standard deviation between photographs of one visit; worth [`Prior::WITHIN_DF`].
    pub within: f64,
    /// Where it comes from.
    pub source: PriorSource,
}

impl Prior {
    /// Degrees of freedom of a stated prior.
    pub const STATED_DF: f64 = 1.0;
    /// Degrees of freedom of a practice's own.
    pub const PRACTICE_DF: f64 = 2.0;
    /// Degrees of freedom of the prior of the scatter within a visit.
    pub const WITHIN_DF: f64 = 4.0;
    /// From so many clients on a practice has a prior of its own.
    pub const CLIENTS: usize = 10;

    /// The stated one of a value.
    pub fn stated(value: &Value) -> Prior {
        Prior { sd: value.between, df: Prior::STATED_DF, within: value.within, source: PriorSource::Stated }
    }

    /// One that somebody states with their plan.
    pub fn given(sd: f64, within: f64) -> Prior {
        Prior { sd, df: Prior::STATED_DF, within, source: PriorSource::Given }
    }

    /// A practice's own as it was noted when a plan was fixed: a standard deviation, of so many clients.
    pub fn practice(value: &Value, sd: f64, clients: usize) -> Prior {
        let source = PriorSource::Practice(clients);
        Prior { sd: sd.max(value.between), df: Prior::PRACTICE_DF, within: value.within, source }
    }

    /// The practice's own: the median of the pooled standard deviations ([`crate::Fit::pooled`]) of its clients; the stated one while
    /// they are fewer than [`Prior::CLIENTS`]. Never below the stated one: that all others are quiet must not make one who is not look
    /// sure (a prior of 0.3 worth 2 gave 5.8 % false alarms, one of 0.3 worth 4 gave 7.5: `examples/proven`).
    pub fn of_practice(value: &Value, pooled: &[f64]) -> Prior {
        let mut known: Vec<f64> = pooled.iter().copied().filter(|s| s.is_finite() && *s > 0.0).collect();
        if known.len() < Prior::CLIENTS {
            return Prior::stated(value);
        }
        known.sort_by(f64::total_cmp);
        let middle = known.len() / 2;
        let sd = if known.len() % 2 == 1 { known[middle] } else { 0.5 * (known[middle - 1] + known[middle]) };
        Prior::practice(value, sd, known.len())
    }
}
