//! Sessions done against asked for, and how they go with the value: an association, never a cause.

use crate::stats::kendall_tau;
use crate::{LAST_WEEK, Visit};

/// How the worked days before a visit go with its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Association {
    /// Kendall's tau-b (Kendall 1945) of worked days in the seven days before a visit and its value, -1 to 1.
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

/// Fewer visits on worked days say nothing of the dose.
const LEAST: usize = 6;

impl Dose {
    /// Of the days with a session (a day named twice counts once), and of the visits. A visit before the first worked day has no dose.
    pub fn of(worked: &[i32], asked: Option<u32>, visits: &[Visit]) -> Dose {
        let mut days = worked.to_vec();
        days.sort_unstable();
        days.dedup();
        Dose { done: u32::try_from(days.len()).unwrap_or(u32::MAX), asked, association: association(&days, visits) }
    }
}

fn association(worked: &[i32], visits: &[Visit]) -> Option<Association> {
    let counted: Vec<&Visit> = visits.iter().filter(|v| v.day >= 1).collect();
    if counted.len() < LEAST {
        return None;
    }
    let week = |day: i32| worked.iter().filter(|w| **w < day && **w >= day - LAST_WEEK).count() as f64;
    let doses: Vec<f64> = counted.iter().map(|v| week(v.day)).collect();
    let values: Vec<f64> = counted.iter().map(|v| v.mean).collect();
    Some(Association { tau: kendall_tau(&doses, &values)?, visits: counted.len() })
}

#[cfg(test)]
mod tests {
    use super::Dose;
    use crate::Visit;

    fn visits(values: &[(i32, f64)]) -> Vec<Visit> {
        values.iter().map(|(day, mean)| Visit { day: *day, mean: *mean, count: 1, ss: 0.0 }).collect()
    }

    #[test]
    fn more_worked_days_and_a_lower_value() {
        // Days worked in the seven before each visit: 0, 1, 2, 3, 4, 5.
        let seen = visits(&[(-3, 9.0), (1, 6.0), (2, 5.5), (3, 5.0), (4, 4.0), (5, 3.0), (6, 2.0)]);
        let dose = Dose::of(&[1, 2, 3, 4, 5, 5, 20], Some(30), &seen);
        assert_eq!((dose.done, dose.asked), (6, Some(30)));
        let found = dose.association.unwrap();
        assert_eq!((found.tau, found.visits), (-1.0, 6));
    }

    #[test]
    fn a_week_ends() {
        let seen = visits(&[(8, 1.0), (9, 2.0), (10, 2.0), (11, 2.0), (12, 2.0), (13, 2.0)]);
        // Day 1 is within seven days before day 8 and before no other visit.
        assert_eq!(Dose::of(&[1], None, &seen).association.unwrap().tau, -1.0);
    }

    #[test]
    fn no_association() {
        let five = visits(&[(1, 1.0), (2, 2.0), (3, 3.0), (4, 4.0), (5, 5.0)]);
        assert!(Dose::of(&[1, 2], None, &five).association.is_none());
        let six = visits(&[(1, 1.0), (2, 2.0), (3, 3.0), (4, 4.0), (5, 5.0), (6, 6.0)]);
        assert!(Dose::of(&[], None, &six).association.is_none());
        assert_eq!(Dose::of(&[], None, &six).done, 0);
    }
}
