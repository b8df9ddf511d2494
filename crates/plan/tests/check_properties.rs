//! The check of hand-written routines over random step lists: it never panics, its repairs end, and what it passes is
//! safe by a second, plain reading of the invariants.

mod check_case;

use std::sync::OnceLock;

use check_case::book::Book;
use check_case::{ROUTINE, clearance, rule};
use plan::atlas::{Atlas, RuleZones, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use plan::check::{RULES, apply, check};
use plan::reading::{MOST_STEPS, RoutineFile};
use plan::routine::{Step, What};
use plan::screening::Clearance;
use proptest::prelude::*;
use vocab::{Class, Movement, Pressure, Side};

type Numbers = (usize, usize, usize, usize, usize, u32, usize);

/// A step of numbers, whatever they are: mostly with a technique that the target lists.
fn step_of(atlas: &Atlas, (movement, target, technique, side, tool, seconds, pressure): Numbers) -> Step {
    let target = target % atlas.targets.len();
    let own = &atlas.targets[target].techniques;
    let technique = match own.get(technique % 4) {
        Some(ix) => *ix,
        None => TechniqueIx(technique % atlas.techniques.len()),
    };
    let oil = seconds % 29 == 0;
    Step {
        movement: Movement::ALL[movement % 4],
        what: if oil { What::Oil } else { What::Target(TargetIx(target), technique) },
        side: if oil { Side::Midline } else { Side::ALL[side % 4] },
        tool: ToolIx(if tool % 3 == 0 { tool % atlas.tools.len() } else { 0 }),
        pressure: Pressure::ALL[pressure % 3],
        seconds,
    }
}

fn numbers() -> impl Strategy<Value = Numbers> {
    (0..4usize, 0..1000usize, 0..1000usize, 0..4usize, 0..1000usize, 0..60u32, 0..3usize)
}

/// Rules of random class, zone and side: none, a few.
fn rules() -> impl Strategy<Value = Vec<(usize, usize, usize, bool)>> {
    prop::collection::vec((0..8usize, 0..1000usize, 0..3usize, any::<bool>()), 0..4)
}

fn person(rules: &[(usize, usize, usize, bool)]) -> (Atlas, Clearance) {
    static ATLAS: OnceLock<Atlas> = OnceLock::new();
    let mut atlas = ATLAS.get_or_init(Atlas::built_in).clone();
    let made = rules
        .iter()
        .map(|(class, zone, side, oil)| {
            let class = [Class::LeaveOut, Class::AskFirst, Class::Gently][class % 3];
            let zone = atlas.zones[zone % atlas.zones.len()].id.clone();
            let mut made = rule(&atlas, class, &[zone.as_str()]);
            if *oil {
                made.oil = true;
                made.zones = RuleZones::All;
            }
            (made, [None, Some(Side::Left), Some(Side::Right)][side % 3])
        })
        .collect();
    let clearance = clearance(&mut atlas, made);
    (atlas, clearance)
}

/// Applies the repair of the first breach until there is none; answers the number of repairs.
fn mend(atlas: &Atlas, clearance: &Clearance, routine: &mut RoutineFile) -> usize {
    let most = 40 * (routine.steps.len() + 5);
    for done in 0..most {
        let found = check(atlas, routine, clearance);
        let Some(breach) = found.first() else { return done };
        assert!(RULES.contains(&breach.rule));
        for breach in &found {
            assert!(!breach.message(Book::english(), atlas, clearance, &routine.steps).trim().is_empty());
            assert!(breach.repair_words(Book::english(), atlas, &routine.steps).ends_with('.'));
        }
        apply(&breach.repair, &mut routine.steps);
    }
    panic!("not mended after {most} repairs: {:?}\n{:?}", check(atlas, routine, clearance), routine.steps);
}

/// Invariants 1 and 2 said once more, plainly and without the code under test: what clearance forbids is not in,
/// what is gentle is featherlight, the neck is worked on one side, and every zone on the way was opened before and
/// is closed after, unless it may not be touched.
fn is_safe(atlas: &Atlas, clearance: &Clearance, steps: &[Step]) -> Result<(), String> {
    let mut opened: Vec<(ZoneIx, Side)> = Vec::new();
    let mut open: Vec<(ZoneIx, Side)> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        let What::Target(target, technique) = step.what else { continue };
        let row = atlas.target(target);
        let sides: &[Side] = match step.side {
            Side::Both => &[Side::Left, Side::Right],
            Side::Left => &[Side::Left],
            Side::Right => &[Side::Right],
            Side::Midline => &[Side::Midline],
        };
        for &side in sides {
            let class = clearance.class(atlas, target, side, technique, step.tool);
            if !class.allows() || (class == Class::Gently && step.pressure != Pressure::Featherlight) {
                return Err(format!("step {at}: {class} with {}", step.pressure));
            }
            for &zone in &row.crosses {
                if step.side == Side::Both && atlas.zone(zone).neck {
                    return Err(format!("step {at}: both sides of the neck"));
                }
                for next in atlas.way(zone, side) {
                    let whole = atlas.target_named(&atlas.zone(next.0).id).expect("every zone is a target");
                    let with = atlas.zone(next.0).open_technique;
                    let hands = atlas.tool_named("hands").expect("hands");
                    if !clearance.class(atlas, whole, next.1, with, hands).allows() {
                        if step.pressure != Pressure::Featherlight {
                            return Err(format!("step {at}: {} beyond a blocked way", step.pressure));
                        }
                    } else if !opened.contains(&next) {
                        return Err(format!("step {at}: {next:?} was not opened"));
                    } else if step.movement == Movement::Work && !open.contains(&next) {
                        return Err(format!("step {at}: {next:?} was closed before"));
                    }
                }
                match step.movement {
                    Movement::Open => {
                        opened.push((zone, side));
                        open.push((zone, side));
                    }
                    Movement::Close => open.retain(|o| *o != (zone, side)),
                    Movement::Prepare | Movement::Work => {}
                }
            }
        }
    }
    let left = open.iter().find(|(zone, side)| {
        let row = atlas.zone(*zone);
        let whole = atlas.target_named(&row.id).expect("every zone is a target");
        let hands = atlas.tool_named("hands").expect("hands");
        clearance.class(atlas, whole, *side, row.close_technique, hands).allows()
    });
    left.map_or(Ok(()), |place| Err(format!("{place:?} is never closed")))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the steps: no panic, and doing the first repair again and again ends with a routine that passes.
    #[test]
    fn random_steps_are_mended(
        steps in prop::collection::vec(numbers(), 0..16),
        rules in rules(),
        minutes in 2..12u32,
        tools in prop::collection::vec(0..5usize, 0..3),
    ) {
        let (atlas, clearance) = person(&rules);
        let steps: Vec<Step> = steps.into_iter().map(|n| step_of(&atlas, n)).collect();
        let tools = tools.into_iter().map(|t| ToolIx(t % atlas.tools.len())).collect();
        let mut routine = RoutineFile { minutes, tools, audience: false, answers: None, steps };
        mend(&atlas, &clearance, &mut routine);
        prop_assert_eq!(is_safe(&atlas, &clearance, &routine.steps), Ok(()));
        prop_assert!(routine.steps.len() <= MOST_STEPS);
    }

    /// One slip in a routine that passes: the check sees it or it was none, and mending ends.
    #[test]
    fn one_slip_is_mended(at in 0..100usize, numbers in numbers(), how in 0..4usize, rules in rules()) {
        let (atlas, clearance) = person(&rules);
        let mut routine = RoutineFile::parse("routine.toml", ROUTINE, &atlas).expect("the example reads");
        let len = routine.steps.len();
        match how {
            0 => { routine.steps.remove(at % len); }
            1 => routine.steps.insert(at % len, step_of(&atlas, numbers)),
            2 => routine.steps.swap(at % len, numbers.1 % len),
            _ => routine.steps[at % len] = step_of(&atlas, numbers),
        }
        // What is not safe is seen by the check.
        if is_safe(&atlas, &clearance, &routine.steps).is_err() {
            prop_assert!(!check(&atlas, &routine, &clearance).is_empty());
        }
        mend(&atlas, &clearance, &mut routine);
        prop_assert_eq!(is_safe(&atlas, &clearance, &routine.steps), Ok(()));
    }
}
