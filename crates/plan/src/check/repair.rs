//! Repairs: the fewest changes that mend one breach, and doing them.

use vocab::{Movement, Pressure, Side};

use super::person::Person;
use super::step::broken;
use crate::atlas::{Kind, TechniqueIx, ToolIx};
use crate::routine::{Step, What};

/// The fewest changes that mend a breach. Indices are 0-based and those of the routine as it was checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Repair {
    /// Insert a step, so that it stands at this index.
    Insert {
        /// Its index.
        at: usize,
        /// The step.
        step: Step,
    },
    /// Change a step to this.
    Change {
        /// Its index.
        at: usize,
        /// The step as it becomes.
        to: Step,
    },
    /// Do a step on the left and then on the right.
    Split {
        /// Its index.
        at: usize,
    },
    /// Take a step out and put it in again.
    Move {
        /// Its index.
        from: usize,
        /// Its index once it is moved.
        to: usize,
    },
    /// Leave steps out.
    Drop {
        /// Their indices, ascending.
        steps: Vec<usize>,
        /// Seconds that become free, transitions included; 0 when seconds are not the matter.
        frees_s: u32,
    },
    /// Shorten steps.
    Shorten {
        /// Their indices with their new seconds, ascending.
        to: Vec<(usize, u32)>,
        /// Seconds that become free.
        frees_s: u32,
    },
    /// Do no routine today.
    StopToday,
}

/// Does a repair. A repair that does not belong to these steps changes nothing.
pub fn apply(repair: &Repair, steps: &mut Vec<Step>) {
    match repair {
        Repair::Insert { at, step } => steps.insert((*at).min(steps.len()), step.clone()),
        Repair::Change { at, to } => {
            if let Some(step) = steps.get_mut(*at) {
                *step = to.clone();
            }
        }
        Repair::Split { at } => {
            if *at < steps.len() {
                let mut right = steps[*at].clone();
                right.side = Side::Right;
                steps[*at].side = Side::Left;
                steps.insert(at + 1, right);
            }
        }
        Repair::Move { from, to } => {
            if *from < steps.len() {
                let step = steps.remove(*from);
                steps.insert((*to).min(steps.len()), step);
            }
        }
        Repair::Drop { steps: gone, .. } => {
            let mut index = 0;
            steps.retain(|_| {
                index += 1;
                !gone.contains(&(index - 1))
            });
        }
        Repair::Shorten { to, .. } => {
            for (at, seconds) in to {
                if let Some(step) = steps.get_mut(*at) {
                    step.seconds = *seconds;
                }
            }
        }
        Repair::StopToday => steps.clear(),
    }
}

/// Leaving one step out.
pub(super) fn without(at: usize) -> Repair {
    Repair::Drop { steps: vec![at], frees_s: 0 }
}

/// The nearest change of a step that mends `rule` and breaks no rule that it did not break before: fewest changed
/// fields, then the data's order of preference, then the higher pressure. `None` when only leaving out helps.
pub(super) fn refit(person: &Person, at: usize, step: &Step, rule: &str) -> Option<Repair> {
    let before: Vec<&str> = broken(person, step).iter().map(|k| k.rule()).collect();
    let mut best: Option<(usize, Step)> = None;
    let mut offer = |to: Step| {
        let edits = edits(step, &to);
        if edits == 0 || best.as_ref().is_some_and(|(fewest, _)| *fewest <= edits) {
            return;
        }
        if broken(person, &to).iter().all(|k| k.rule() != rule && before.contains(&k.rule())) {
            best = Some((edits, to));
        }
    };
    match step.what {
        What::Oil => {
            if let Some(tool) = person.hands {
                offer(Step { tool, pressure: Pressure::Featherlight, ..step.clone() });
                offer(Step { tool, ..step.clone() });
            }
        }
        What::Target(..) => {
            for (what, technique) in techniques(person, step) {
                for tool in tools(person, step, technique) {
                    for pressure in [step.pressure].iter().chain(Pressure::ALL.iter().rev()).copied() {
                        for seconds in [step.seconds, near_seconds(person, step, technique)] {
                            offer(Step { what, tool, pressure, seconds, ..step.clone() });
                        }
                    }
                }
            }
        }
    }
    best.map(|(_, to)| Repair::Change { at, to })
}

/// How many fields two steps differ in; target and technique count apart.
fn edits(a: &Step, b: &Step) -> usize {
    let what = match (a.what, b.what) {
        (What::Target(t1, x1), What::Target(t2, x2)) => usize::from(t1 != t2) + usize::from(x1 != x2),
        (a, b) => 2 * usize::from(a != b),
    };
    what + usize::from(a.movement != b.movement)
        + usize::from(a.side != b.side)
        + usize::from(a.tool != b.tool)
        + usize::from(a.pressure != b.pressure)
        + usize::from(a.seconds != b.seconds)
}

/// The techniques a step could have: its own first, then those of its target; an opening or a closing has one.
fn techniques(person: &Person, step: &Step) -> Vec<(What, TechniqueIx)> {
    let What::Target(target, technique) = step.what else { return Vec::new() };
    let row = person.atlas.target(target);
    let zone = person.atlas.zone(row.zone);
    let with = |technique| (What::Target(target, technique), technique);
    let way = |technique| {
        let whole = person.atlas.target_named(&zone.id).filter(|_| row.kind != Kind::Zone).unwrap_or(target);
        (What::Target(whole, technique), technique)
    };
    let mut found = vec![with(technique)];
    match step.movement {
        Movement::Open => found.push(way(zone.open_technique)),
        Movement::Close => found.push(way(zone.close_technique)),
        Movement::Prepare | Movement::Work => found.extend(row.techniques.iter().map(|t| with(*t))),
    }
    found
}

/// The tools a step could have with this technique: its own first, then those at hand in order of preference.
fn tools(person: &Person, step: &Step, technique: TechniqueIx) -> Vec<ToolIx> {
    let preferred = person.atlas.technique(technique).tools.iter().copied();
    [step.tool].into_iter().chain(preferred.filter(|t| person.tools.contains(t))).collect()
}

/// The seconds nearest to a step's own that it may have with this technique.
fn near_seconds(person: &Person, step: &Step, technique: TechniqueIx) -> u32 {
    let What::Target(target, _) = step.what else { return step.seconds };
    if let Some(laps) = person.atlas.target(target).laps.filter(|l| l.lap_s > 0) {
        let nearest = (step.seconds + laps.lap_s / 2) / laps.lap_s;
        return nearest.clamp(1, laps.most.max(1)) * laps.lap_s;
    }
    let zone = person.atlas.zone(person.atlas.target(target).zone);
    let (min, max) = person.atlas.technique(technique).seconds;
    let within = step.seconds.clamp(min, max.max(min));
    // The set seconds of an opening or closing may lie outside of what the technique takes as work.
    let set = match step.movement {
        Movement::Open => zone.open_s,
        Movement::Close => zone.close_s,
        Movement::Prepare | Movement::Work => within,
    };
    if step.seconds.abs_diff(set) < step.seconds.abs_diff(within) { set } else { within }
}
