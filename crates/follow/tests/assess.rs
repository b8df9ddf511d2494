//! From visits to one verdict.

use follow::{
    Assessment, Design, Eye, Looks, NoVerdict, Plan, Prior, PriorSource, TooEarly, Value, Verdict, Visit, assess,
    needed, power, smallest_seen,
};
use proptest::prelude::*;

/// Fixed numbers that scatter around nought with a standard deviation of about one.
const NOISE: [f64; 15] = [0.4, -1.2, 0.9, 0.1, -0.6, 1.3, -0.4, 0.2, -1.5, 0.8, 1.1, -0.7, -0.1, 0.6, -0.9];

fn plan() -> Plan {
    Plan::usual(Value::usual())
}

fn visits(sd: f64, change: f64) -> Vec<Visit> {
    let level = |d: i32| 6.0 + if d > 0 { change } else { 0.0 };
    let one = |(d, n): (i32, f64)| Visit::of(d, &[level(d) + sd * n - 0.1, level(d) + sd * n + 0.1]).unwrap();
    plan().visit_days().into_iter().zip(NOISE).map(one).collect()
}

fn said(plan: &Plan, visits: &[Visit], today: i32) -> Assessment {
    assess(plan, &Prior::stated(plan.value), visits, today)
}

#[test]
fn a_large_change_is_clear_and_its_sight_depends_on_the_skin() {
    let all = visits(0.3, -2.0);
    let open = said(&plan(), &all, 28);
    assert_eq!(open.verdict, Some(Verdict::ClearChange));
    let change = open.change.unwrap();
    assert!(change.high < 0.0 && (change.level - 0.95).abs() < 1e-12, "{change:?}");
    // Between what someone sees on light skin and what anybody sees on dark skin it stays open while the class is not told.
    assert_eq!(open.visible, None);
    assert_eq!(said(&Plan { eye: Eye::of_class(0), ..plan() }, &all, 28).visible, Some(true));
    let dark = said(&Plan { eye: Eye::of_class(5), ..plan() }, &visits(0.1, -1.0), 28);
    assert_eq!((dark.verdict, dark.visible), (Some(Verdict::ClearChange), Some(false)));
    // An unclear change is never called visible.
    let none = said(&Plan { eye: Eye::of_class(0), ..plan() }, &visits(0.3, 0.0), 28);
    assert_eq!(none.visible, None);
}

#[test]
fn quiet_days_without_a_change_are_within_the_noise() {
    let said = said(&plan(), &visits(0.3, 0.0), 28);
    assert_eq!(said.verdict, Some(Verdict::WithinNoise));
    assert!(said.power.unwrap() >= 0.8 && said.visits_to_settle.is_none());
    let base = said.baseline.unwrap();
    assert_eq!((base.n, base.source), (5, PriorSource::Stated));
    assert!((base.mdc95 / base.sem - 1.96 * 2f64.sqrt()).abs() < 1e-12);
}

#[test]
fn loud_days_without_a_change_are_too_early_and_say_what_would_tell() {
    let said = said(&plan(), &visits(1.6, 0.0), 28);
    assert_eq!(said.verdict, Some(Verdict::TooEarly(TooEarly::Unsure)));
    assert!(said.power.unwrap() < 0.8);
    // With a change of eight to be seen a visit or two more would do; with one of two the baseline can't bear it.
    let large = Plan { size: 5.2, ..plan() };
    let settle = assess(&large, &Prior::stated(large.value), &visits(1.6, 0.0), 28).visits_to_settle;
    assert!(settle.is_none_or(|n| n >= 1));
    assert_eq!(said.visits_to_settle, None);
}

#[test]
fn more_visits_are_named_only_where_they_would_do() {
    let prior = Prior::stated(Value::usual());
    let few: Vec<Visit> = visits(0.5, 0.0).into_iter().filter(|v| v.day <= 22).collect();
    let named = needed(&plan(), &few[..7], 4, 0.6, 0.25, &prior);
    let more = named.expect("a plan just begun can still tell");
    assert!((1..=60).contains(&more));
    assert_eq!(needed(&plan(), &few[..7], 4, 6.0, 0.25, &prior), None, "no number of visits outweighs such days");
}

#[test]
fn under_three_baseline_days_there_is_no_verdict() {
    let all = visits(0.3, -2.0);
    for first in 3..=5 {
        let few = said(&plan(), &all[first..], 28);
        assert_eq!((few.verdict, few.no_verdict), (None, Some(NoVerdict::FewBaseline(5 - first))));
        assert!(few.change.is_none() && few.visible.is_none());
    }
    assert!(said(&plan(), &all[2..], 28).verdict.is_some());
}

#[test]
fn working_now_and_measuring_later_gives_no_verdict_on_colour_but_on_what_is_said() {
    let later = Plan { measure_later: true, ..plan() };
    let without = said(&later, &visits(0.3, -2.0), 28);
    assert_eq!((without.verdict, without.no_verdict, without.change), (None, Some(NoVerdict::MeasureLater), None));
    let sleep = Plan { measure_later: true, ..Plan::usual(Value::named("sleep").unwrap()) };
    assert!(said(&sleep, &visits(0.3, 2.0), 28).verdict.is_some());
}

#[test]
fn before_the_look_nothing_is_told() {
    let all = visits(0.3, -2.0);
    let before = said(&plan(), &all, 27);
    assert_eq!(before.verdict, Some(Verdict::TooEarly(TooEarly::BeforeLook(28))));
    assert!(before.change.is_none() && before.look.is_none());
    let two = Plan { looks: Looks::Two, ..plan() };
    assert_eq!(said(&two, &all, 13).verdict, Some(Verdict::TooEarly(TooEarly::BeforeLook(14))));
    let half = said(&two, &all, 20);
    assert_eq!(half.look.unwrap().day, 14);
    assert!((half.change.unwrap().level - 0.995).abs() < 1e-12);
    let whole = said(&two, &all, 28);
    assert!((whole.change.unwrap().level - 0.955).abs() < 1e-12);
    assert_eq!(whole.earlier.unwrap().0.day, 14);
    assert_eq!(whole.earlier.unwrap().1, half.change.unwrap());
}

#[test]
fn without_a_visit_in_the_last_week_it_is_too_early() {
    let all: Vec<Visit> = visits(0.3, -2.0).into_iter().filter(|v| v.day < 22).collect();
    let said = said(&plan(), &all, 30);
    assert_eq!(said.verdict, Some(Verdict::TooEarly(TooEarly::NoVisitNow(28))));
    assert!(said.change.is_none());
}

#[test]
fn what_is_odd_is_marked_and_kept() {
    let mut all = visits(0.2, 0.0);
    let plain = said(&plan(), &all, 28);
    assert!(plain.odd.is_empty());
    all[9].mean += 6.0;
    let marked = said(&plan(), &all, 28);
    assert_eq!(marked.odd, [9]);
    assert!(marked.fit.unwrap().sigma > plain.fit.unwrap().sigma, "it counts");
}

#[test]
fn more_of_everything_sees_smaller_changes() {
    let prior = Prior::stated(Value::usual());
    let seen = |p: &Plan| smallest_seen(&Design::of(p, 0.6, 0.25), &prior).unwrap();
    let usual = seen(&plan());
    assert!(seen(&Plan { baseline: 7, ..plan() }) < usual);
    assert!(seen(&Plan { baseline: 3, ..plan() }) > usual);
    assert!(seen(&Plan { days: 56, ..plan() }) < usual);
    assert!(seen(&Plan { every: 7, ..plan() }) > usual);
    let quiet = smallest_seen(&Design::of(&plan(), 0.3, 0.25), &prior).unwrap();
    assert!(quiet < usual);
    let at = power(&Design::of(&plan(), 0.6, 0.25), usual, &prior).unwrap();
    assert!((at - 0.8).abs() < 1e-6, "{at}");
}

#[test]
fn ten_clients_make_a_prior_and_quiet_ones_never_a_narrow_one() {
    let value = Value::usual();
    assert_eq!(Prior::of_practice(value, &[0.9; 9]), Prior::stated(value));
    let ten = Prior::of_practice(value, &[0.9, 0.7, 0.8, 1.0, 0.9, 0.9, 0.6, 1.1, 0.9, 0.9]);
    assert!((ten.sd - 0.9).abs() < 1e-12 && ten.source == PriorSource::Practice(10));
    assert_eq!(Prior::of_practice(value, &[0.1; 30]).sd, value.between);
    assert_eq!(Prior::of_practice(value, &[f64::NAN; 30]), Prior::stated(value));
}

proptest! {
    /// Whatever the visits, a verdict is one of three, and each figure that goes with it is there.
    #[test]
    fn every_answer_is_whole(
        days in prop::collection::btree_set(-20i32..40, 0..20),
        values in prop::collection::vec(0.0..20.0f64, 20),
        today in -5i32..60,
        two in any::<bool>(),
    ) {
        let looks = if two { Looks::Two } else { Looks::One };
        let plan = Plan { looks, ..plan() };
        let all: Vec<Visit> = days.into_iter().zip(values).filter_map(|(d, v)| Visit::of(d, &[v, v + 0.2])).collect();
        let said = said(&plan, &all, today);
        prop_assert!(said.verdict.is_some() != said.no_verdict.is_some());
        match said.verdict {
            Some(Verdict::ClearChange) => {
                let c = said.change.unwrap();
                prop_assert!(c.low > 0.0 || c.high < 0.0);
            }
            Some(Verdict::WithinNoise) => {
                let c = said.change.unwrap();
                prop_assert!(c.low <= 0.0 && c.high >= 0.0 && said.power.unwrap() >= 0.8);
            }
            Some(Verdict::TooEarly(TooEarly::Unsure)) => prop_assert!(said.power.unwrap() < 0.8),
            Some(Verdict::TooEarly(_)) | None => prop_assert!(said.change.is_none()),
        }
        if let Some(c) = said.change {
            prop_assert!(c.low.is_finite() && c.high.is_finite() && c.low <= c.estimate && c.estimate <= c.high);
        }
    }
}
