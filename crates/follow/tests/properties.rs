//! What relates two runs of the same method, over plans with holes.

use follow::{Design, Plan, Prior, Sided, Value, Verdict, Visit, assess, change, power, sides, smallest_seen};
use proptest::prelude::*;

/// Plans as they go: five baseline days or fewer, worked days with holes, one to three photographs.
fn visits() -> impl Strategy<Value = Vec<Visit>> {
    let one = (-3.0..3.0f64, 1..4u32, 0.0..0.3f64);
    (prop::collection::vec((any::<bool>(), one.clone()), 5), prop::collection::vec((0..10u8, one), 10)).prop_map(
        |(before, worked)| {
            let visit = |day: i32, (mean, count, ss): (f64, u32, f64)| Visit {
                day,
                mean: 6.0 + mean,
                count,
                ss: if count > 1 { ss } else { 0.0 },
            };
            let first = before.iter().zip(0..).filter(|((kept, _), k)| *kept || *k == 4);
            let first = first.map(|((_, v), k)| visit(3 * k - 12, *v)).collect::<Vec<_>>();
            let then = worked.iter().zip(0..).filter(|((kept, _), k)| *kept < 7 || *k == 9);
            first.into_iter().chain(then.map(|((_, v), k)| visit(1 + 3 * k, *v))).collect()
        },
    )
}

fn prior() -> Prior {
    Prior::stated(Value::usual())
}

proptest! {
    #[test]
    fn visits_after_the_look_say_nothing(visits in visits(), later in -90.0..90.0f64) {
        let mut more = visits.clone();
        more.push(Visit { day: 29, mean: later, count: 2, ss: 0.1 });
        prop_assert_eq!(change(&visits, 28, &prior()), change(&more, 28, &prior()));
    }

    #[test]
    fn the_verdict_is_the_interval(visits in visits()) {
        let plan = Plan::usual(Value::usual());
        let said = assess(&plan, &prior(), &visits, 28);
        match (said.change, said.verdict) {
            (Some(c), Some(v)) => prop_assert_eq!(c.low > 0.0 || c.high < 0.0, v == Verdict::ClearChange),
            (_, v) => prop_assert!(v != Some(Verdict::ClearChange) && v != Some(Verdict::WithinNoise)),
        }
        prop_assert!(said.verdict.is_some() != said.no_verdict.is_some());
        let few = visits.iter().filter(|v| v.day <= 0).count() < Plan::LEAST_BASELINE;
        prop_assert_eq!(few, said.no_verdict.is_some());
    }

    #[test]
    fn two_sides_that_are_the_same_do_not_differ(visits in visits()) {
        let both: Vec<Sided> = visits.iter().map(|v| Sided { worked: *v, unworked: *v }).collect();
        if let Some(s) = sides(&Plan::usual(Value::usual()), &prior(), &both, 28) {
            prop_assert!(s.difference.estimate.abs() < 1e-9 && s.difference.low < 0.0 && s.difference.high > 0.0);
        }
    }

    #[test]
    fn a_larger_change_is_found_more_often(size in 0.1..4.0f64, more in 0.01..2.0f64, sd in 0.2..1.5f64) {
        let design = Design::of(&Plan::usual(Value::usual()), sd, 0.25);
        let (small, large) = (power(&design, size, &prior()).unwrap(), power(&design, size + more, &prior()).unwrap());
        prop_assert!(small <= large + 1e-9 && small >= 0.049 && large <= 1.0 + 1e-9);
        let seen = smallest_seen(&design, &prior()).unwrap();
        prop_assert!((power(&design, seen, &prior()).unwrap() - 0.8).abs() < 1e-6);
    }
}

/// SEM 0.316227766 has an MDC95 of 0.876539, and 0.968245837 one of 2.683841 (formula of Weir 2005; numbers computed once).
#[test]
fn what_two_visits_may_differ_by() {
    let visits: Vec<Visit> =
        (-4..1).map(|day| Visit { day, mean: 5.0 + 0.3 * f64::from(day % 2), count: 2, ss: 0.02 }).collect();
    let b = assess(&Plan::usual(Value::usual()), &prior(), &visits, 0).baseline.unwrap();
    for (sem, mdc95) in [(0.316_227_766, 0.876_539), (0.968_245_837, 2.683_841)] {
        assert!((b.mdc95 / b.sem * sem - mdc95).abs() < 1e-6);
    }
}
