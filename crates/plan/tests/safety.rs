//! Safety on random people and requests: what clearance leaves out is never drafted, nothing is worked before its way,
//! every way is closed, and adding a condition only ever takes away.

mod common;

use std::collections::BTreeMap;

use common::random::{Rng, random_answers, random_request, random_yes, today};
use plan::atlas::{Atlas, ConditionIx, Shown, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use plan::request::{Request, SideMode};
use plan::routine::{Step, What, total_s};
use plan::screening::{Answer, Answers, Clearance};
use plan::solve::instance::Instance;
use plan::solve::{Outcome, Solution, draft, solve, steps_of};
use vocab::{Class, Movement, Pressure, Side, Sides};

/// The full count; `TRAGION_SAFETY_CASES` asks for fewer or more.
const CASES: u64 = 100_000;

fn cases() -> u64 {
    std::env::var("TRAGION_SAFETY_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(CASES)
}

/// The zone-sides after `(zone, side)` to the outlet, found anew from the rows of the atlas.
fn way(atlas: &Atlas, zone: ZoneIx, side: Side, found: &mut Vec<(ZoneIx, Side)>) {
    let Some(next) = atlas.zone(zone).next_main else { return };
    for s in [Side::Left, Side::Right, Side::Midline] {
        let exists = match atlas.zone(next).sides {
            Sides::Lateral => s != Side::Midline,
            Sides::Midline => s == Side::Midline,
        };
        let reached = side == s || s == Side::Midline || matches!(side, Side::Midline | Side::Both);
        if exists && reached && !found.contains(&(next, s)) {
            found.push((next, s));
            way(atlas, next, s, found);
        }
    }
}

fn ways_of(atlas: &Atlas, target: TargetIx, side: Side) -> Vec<(ZoneIx, Side)> {
    let mut found = Vec::new();
    for &zone in &atlas.target(target).crosses {
        way(atlas, zone, side, &mut found);
    }
    found
}

struct Person<'a> {
    atlas: &'a Atlas,
    clearance: &'a Clearance,
    request: &'a Request,
}

impl Person<'_> {
    fn class(&self, target: TargetIx, side: Side, technique: TechniqueIx, tool: ToolIx) -> Class {
        let sides: &[Side] = if side == Side::Both { &[Side::Left, Side::Right] } else { &[side] };
        sides
            .iter()
            .map(|s| self.clearance.of(self.atlas, target, *s, technique, tool).class)
            .max()
            .unwrap_or(Class::Go)
    }

    /// Whether clearance lets the zone be opened on this side with any tool at hand.
    fn can_open(&self, zone: ZoneIx, side: Side) -> bool {
        let data = self.atlas.zone(zone);
        let target = self.atlas.target_named(&data.id).expect("a zone is a target");
        let tools = &self.atlas.technique(data.open_technique).tools;
        tools
            .iter()
            .filter(|t| self.request.tools.contains(t))
            .any(|t| self.class(target, side, data.open_technique, *t).allows())
    }

    fn assert_safe(&self, steps: &[Step], seed: u64) {
        let atlas = self.atlas;
        let mut opened: Vec<(ZoneIx, Side)> = Vec::new();
        let mut in_zone: BTreeMap<(ZoneIx, Side), u32> = BTreeMap::new();
        let mut reached = Movement::Open;
        for (n, step) in steps.iter().enumerate() {
            let at = format!("seed {seed}, step {n} {} {}", step.target_id(atlas), step.side);
            assert!(step.movement >= reached, "{at}: movements out of order");
            reached = step.movement;
            let What::Target(target, technique) = step.what else {
                assert_eq!(step.movement, Movement::Prepare, "{at}");
                continue;
            };
            let data = atlas.target(target);
            assert!(!matches!(data.shown, Shown::Never(_)), "{at}: never for the hand");
            assert!(self.request.tools.contains(&step.tool), "{at}: tool not at hand");
            let class = self.class(target, step.side, technique, step.tool);
            assert!(class.allows(), "{at}: clearance says {class}");
            assert!(class == Class::Go || step.pressure == Pressure::Featherlight, "{at}: not gentle");
            assert!(step.pressure <= data.pressure, "{at}: too hard");
            assert!(atlas.technique(technique).pressures.contains(&step.pressure), "{at}: technique cannot take it");
            assert!(atlas.technique(technique).tools.contains(&step.tool), "{at}: technique without this tool");
            let neck = data.crosses.iter().any(|z| atlas.zone(*z).neck && atlas.zone(*z).sides == Sides::Lateral);
            assert!(!(neck && matches!(step.side, Side::Both)), "{at}: both sides of the neck at once");
            for place in ways_of(atlas, target, step.side) {
                if !opened.contains(&place) {
                    assert!(!self.can_open(place.0, place.1), "{at}: {} was not worked before", atlas.zone(place.0).id);
                    assert_eq!(step.pressure, Pressure::Featherlight, "{at}: above a way that is left out");
                }
            }
            match step.movement {
                Movement::Open => opened.push((data.zone, step.side)),
                Movement::Work => {
                    let sides: &[Side] = match (atlas.zone(data.zone).sides, step.side) {
                        (Sides::Lateral, Side::Both | Side::Midline) => &[Side::Left, Side::Right],
                        _ => &[step.side],
                    };
                    for side in sides {
                        let count = in_zone.entry((data.zone, *side)).or_default();
                        *count += 1;
                        assert!(*count <= atlas.settings.targets_per_zone, "{at}: too many in one zone");
                    }
                }
                Movement::Prepare | Movement::Close => {}
            }
        }
        let closes = |place: &(ZoneIx, Side)| {
            steps.iter().any(|s| s.movement == Movement::Close && s.zone(atlas) == Some(place.0) && s.side == place.1)
        };
        for place in &opened {
            assert!(closes(place), "seed {seed}: {} {} is not closed", atlas.zone(place.0).id, place.1);
        }
        assert!(total_s(atlas, steps) <= self.request.minutes * 60, "seed {seed}: over the minutes");
    }
}

/// When there is no draft and nothing is required, not even one choice alone fits.
fn assert_nothing_fits(atlas: &Atlas, instance: &Instance, seed: u64) -> bool {
    if instance.items.iter().any(|i| i.required) {
        return false;
    }
    for (i, item) in instance.items.iter().enumerate() {
        for o in 0..item.options.len() {
            let one = Solution { chosen: vec![(i, o)], gain: 0, bound: 0, total_s: 0, proven: false };
            let total = total_s(atlas, &steps_of(atlas, instance, &one));
            assert!(total > instance.budget_s, "seed {seed}: {} alone fits", atlas.target(item.target).id);
        }
    }
    true
}

// proves: never_left_out
// proves: draft_opens_the_way
// proves: way_closed
// proves: empty_only_when_nothing_fits
#[test]
fn random_people_are_safe() {
    let atlas = Atlas::built_in();
    let (mut drafted, mut refused, mut nothing, mut blocked) = (0, 0, 0, 0);
    for seed in 0..cases() {
        let mut rng = Rng::new(seed ^ 0xA5A5_0000);
        let answers = random_answers(&atlas, &mut rng);
        let request = random_request(&atlas, &mut rng);
        let clearance = Clearance::new(&atlas, &answers, today());
        let Ok(instance) = plan::solve::instance(&atlas, &request, &clearance) else {
            refused += 1;
            continue;
        };
        assert!(clearance.stop.is_empty(), "seed {seed}: a problem in spite of stop");
        match solve(&atlas, &instance) {
            Some(solution) => {
                assert!(solution.proven, "seed {seed}");
                let steps = steps_of(&atlas, &instance, &solution);
                Person { atlas: &atlas, clearance: &clearance, request: &request }.assert_safe(&steps, seed);
                drafted += 1;
                blocked += usize::from(instance.places.iter().any(|p| p.open.is_none()));
            }
            None => nothing += usize::from(assert_nothing_fits(&atlas, &instance, seed)),
        }
    }
    println!("{drafted} drafted ({blocked} with a blocked way), {refused} refused, {nothing} proven not to fit");
    let enough = cases() as usize / 1000;
    assert!(drafted > 50 * enough && refused > enough && blocked > enough, "the draw is too narrow");
}

// proves: stop_means_no_routine
#[test]
fn stop_means_no_routine() {
    let atlas = Atlas::built_in();
    let mut stopped = 0;
    for (ix, condition) in atlas.conditions.iter().enumerate() {
        let whole = |r: &plan::atlas::Rule| r.class == Class::Stop && r.from_day == 0 && r.until_day.is_none();
        if !condition.rules.iter().any(whole) {
            continue;
        }
        stopped += 1;
        let mut rng = Rng::new(ix as u64);
        let yes = plan::screening::Own::new(Answer::Yes);
        let answers = Answers::all_no(&atlas).with(ConditionIx(ix), yes);
        let clearance = Clearance::new(&atlas, &answers, today());
        let request = random_request(&atlas, &mut rng);
        let outcome = draft(&atlas, &request, &clearance);
        assert!(matches!(outcome, Outcome::None(_)), "{} says stop, but there is a draft", condition.id);
    }
    assert!(stopped >= 4, "only {stopped} conditions stop");
}

/// Every candidate that may be worked, with its pressure: each side for itself.
fn allowed(instance: &Instance) -> BTreeMap<(TargetIx, Side, TechniqueIx, ToolIx), Pressure> {
    let mut all = BTreeMap::new();
    for item in &instance.items {
        for option in &item.options {
            for step in &option.steps {
                all.insert((item.target, step.side, option.technique, option.tool), step.pressure);
            }
        }
    }
    all
}

// proves: monotony
#[test]
fn adding_a_condition_only_takes_away() {
    let atlas = Atlas::built_in();
    let (mut fewer, mut softer, mut same) = (0, 0, 0);
    for seed in 0..(cases() / 10).max(2000) {
        let mut rng = Rng::new(seed ^ 0x0F0F_1234);
        let answers = random_answers(&atlas, &mut rng);
        let mut request = random_request(&atlas, &mut rng);
        // Sides apart, so that what is listed is exactly what clearance allows.
        request.free = (0..atlas.targets.len()).map(TargetIx).collect();
        request.locked.clear();
        request.wanted.clear();
        request.side_mode = SideMode::TargetByTarget;
        let condition = ConditionIx(rng.below(atlas.conditions.len()));
        let was_clear = answers.own(condition).is_none_or(|own| own.answer == Answer::No);
        let known =
            answers.own(condition).is_some() || answers.group(atlas.conditions[condition.0].group) == Some(Answer::No);
        if !was_clear || !known {
            continue;
        }
        let own = random_yes(&atlas, condition, &mut rng);
        // The other answers stay as they are: with a yes of its own the condition no longer rests on its group.
        let more = answers.clone().with(condition, own);
        let problem = |a: &Answers| {
            let clearance = Clearance::new(&atlas, a, today());
            plan::solve::instance(&atlas, &request, &clearance).map(|i| allowed(&i)).unwrap_or_default()
        };
        let (before, after) = (problem(&answers), problem(&more));
        for (candidate, pressure) in &after {
            let was = before.get(candidate);
            let id = &atlas.conditions[condition.0].id;
            assert!(was.is_some(), "seed {seed}: {id} allows {candidate:?}");
            assert!(was.is_some_and(|w| pressure <= w), "seed {seed}: {id} hardens {candidate:?}");
        }
        fewer += usize::from(after.len() < before.len());
        softer += usize::from(after.iter().any(|(c, p)| before.get(c).is_some_and(|w| p < w)));
        same += usize::from(after == before);
    }
    assert!(fewer > 300 && softer > 20 && same > 20, "too narrow: {fewer} fewer, {softer} softer, {same} same");
}
