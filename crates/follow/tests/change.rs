//! The change of one series: what must hold of every one.

use follow::{Change, Plan, Prior, Sided, Value, Visit, change, interval, sides};
use proptest::prelude::*;

fn prior() -> Prior {
    Prior::stated(Value::usual())
}

fn of(day: i32, photographs: &[f64]) -> Visit {
    Visit::of(day, photographs).unwrap()
}

/// Visits on the days of the usual plan, two photographs each around these levels.
fn visits(levels: &[f64]) -> Vec<Visit> {
    let days = Plan::usual(Value::usual()).visit_days();
    days.into_iter().zip(levels).map(|(d, v)| of(d, &[v - 0.1, v + 0.1])).collect()
}

fn found(visits: &[Visit], prior: &Prior) -> Change {
    interval(&change(visits, 28, prior).unwrap(), 0.05)
}

#[test]
fn the_usual_plan_is_five_days_before_and_every_third_day() {
    let days = Plan::usual(Value::usual()).visit_days();
    assert_eq!(days, [-14, -11, -8, -5, -2, 1, 4, 7, 10, 13, 16, 19, 22, 25, 28]);
}

#[test]
fn a_level_and_a_line_are_read_on_day_25() {
    let plan = Plan::usual(Value::usual());
    let exact: Vec<Visit> = plan
        .visit_days()
        .into_iter()
        .map(|d| of(d, &[if d < 1 { 7.0 } else { 6.0 - 0.05 * f64::from(d) }; 2]))
        .collect();
    let fit = change(&exact, 28, &prior()).unwrap();
    // The ridge of a millionth is all that keeps it from being exact.
    assert!((fit.base - 7.0).abs() < 1e-4 && (fit.change - (6.0 - 0.05 * 25.0 - 7.0)).abs() < 1e-4, "{fit:?}");
    assert!((fit.slope + 0.05).abs() < 1e-4 && fit.read == 25.0, "{fit:?}");
    // Half way, what comes later is not looked at.
    let early = change(&exact, 14, &prior()).unwrap();
    assert!((early.change - (6.0 - 0.05 * 11.0 - 7.0)).abs() < 1e-4 && early.df < fit.df, "{early:?}");
}

#[test]
fn without_a_day_on_either_side_there_is_none() {
    let all = visits(&[5.0; 15]);
    assert!(change(&all[..5], 28, &prior()).is_none());
    assert!(change(&all[5..], 28, &prior()).is_none());
    assert!(change(&[], 28, &prior()).is_none());
    assert!(Visit::of(1, &[]).is_none() && Visit::of(1, &[f64::NAN]).is_none());
}

#[test]
fn all_follow_visits_on_one_day_are_no_panic() {
    let mut few = visits(&[5.0; 5]);
    few.extend([of(28, &[4.0]), of(28, &[4.2])]);
    let c = found(&few, &prior());
    assert!(c.low.is_finite() && c.high.is_finite() && c.low < c.high, "{c:?}");
}

#[test]
fn the_side_that_was_worked_is_held_against_the_other() {
    let plan = Plan::usual(Value::usual());
    let noise = [0.2, -0.1, 0.0, 0.15, -0.2, 0.1, 0.0, -0.1, 0.2, -0.15, 0.05, 0.0, 0.1, -0.1, 0.0];
    let both: Vec<Sided> = plan
        .visit_days()
        .into_iter()
        .zip(noise)
        .map(|(d, n)| {
            // What both sides share, here a darker month, says nothing about the side.
            let shared = 5.0 + 3.0 * f64::from(u8::from(d > 0));
            let worked = shared + n - if d > 0 { 2.0 } else { 0.0 };
            Sided { worked: of(d, &[worked, worked + 0.1]), unworked: of(d, &[shared, shared + 0.1]) }
        })
        .collect();
    let said = sides(&plan, &prior(), &both, 28).unwrap().difference;
    assert!((said.estimate + 2.0).abs() < 0.3 && said.high < 0.0, "{said:?}");
    assert!(sides(&plan, &prior(), &both, 20).is_none(), "before the look there is none");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// A level that is the same for all says nothing; turned upside down all is turned; in another unit all is scaled.
    #[test]
    fn level_sign_and_unit(values in prop::collection::vec(-6.0..6.0f64, 15), shift in -40.0..40.0f64, scale in 0.2..5.0f64) {
        let base = found(&visits(&values), &prior());
        let near = |a: f64, b: f64| (a - b).abs() < 1e-6 * (1.0 + a.abs());
        let map = |f: &dyn Fn(f64) -> f64| {
            let days = Plan::usual(Value::usual()).visit_days();
            days.into_iter().zip(&values).map(|(d, v)| of(d, &[f(v - 0.1), f(v + 0.1)])).collect::<Vec<_>>()
        };
        let moved = found(&map(&|v| v + shift), &prior());
        prop_assert!(near(moved.estimate, base.estimate) && near(moved.low, base.low) && near(moved.high, base.high));
        let turned = found(&map(&|v| -v), &prior());
        prop_assert!(near(turned.estimate, -base.estimate) && near(turned.low, -base.high));
        let own = Prior { sd: prior().sd * scale, within: prior().within * scale, ..prior() };
        let scaled = found(&map(&|v| v * scale), &own);
        prop_assert!(near(scaled.low, base.low * scale) && near(scaled.high, base.high * scale));
    }

    /// No visit is left out, however odd: moving any one moves the change or its interval.
    #[test]
    fn every_visit_counts(values in prop::collection::vec(-1.0..1.0f64, 15), at in 0usize..15, far in 3.0..30.0f64) {
        let base = found(&visits(&values), &prior());
        let mut other = values.clone();
        other[at] += far;
        let moved = found(&visits(&other), &prior());
        prop_assert!((moved.high - base.high).abs() + (moved.low - base.low).abs() > 1e-3);
    }

    /// A smaller share of false alarms is a wider interval around the same estimate; the estimate lies within.
    #[test]
    fn a_stricter_level_is_wider(values in prop::collection::vec(-6.0..6.0f64, 15)) {
        let fit = change(&visits(&values), 28, &prior()).unwrap();
        let (wide, usual) = (interval(&fit, 0.005), interval(&fit, 0.05));
        prop_assert!(wide.low < usual.low && usual.low < usual.estimate && usual.estimate < usual.high && usual.high < wide.high);
        prop_assert!(fit.se > 0.0 && fit.sigma > 0.0 && fit.df == 13.0);
    }
}
