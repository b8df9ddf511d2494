//! The minutes, and the cheapest way to keep them.

use vocab::Movement;

use super::person::Person;
use super::repair::{Repair, apply};
use super::{Breach, BreachKind};
use crate::routine::{Step, What, total_s};

/// The breach of the minutes, if there is one.
pub(super) fn breaches(person: &Person, steps: &[Step], minutes: u32) -> Vec<Breach> {
    let total = total_s(person.atlas, steps);
    let most = minutes * 60;
    if total <= most {
        return Vec::new();
    }
    let kind = BreachKind::TooLong(total, most);
    vec![Breach { step: None, rule: kind.rule(), kind, repair: repair(person, steps, total, total - most) }]
}

/// The fewest changes that free `excess` seconds: one step shortened, one left out, several shortened or
/// left out (whichever touches fewer), or steps
/// left out with what only they needed.
fn repair(person: &Person, steps: &[Step], total: u32, excess: u32) -> Repair {
    let shorter = shorten(person, steps, excess);
    if let Some((1, repair)) = shorter {
        return repair;
    }
    let work = || (0..steps.len()).filter(|i| steps[*i].movement == Movement::Work);
    let frees = |gone: &[usize]| {
        let mut rest = steps.to_vec();
        apply(&Repair::Drop { steps: gone.to_vec(), frees_s: 0 }, &mut rest);
        total.saturating_sub(total_s(person.atlas, &rest))
    };
    let one = work().map(|i| (frees(&[i]), i)).filter(|(freed, _)| *freed >= excess).min();
    if let Some((frees_s, i)) = one {
        return Repair::Drop { steps: vec![i], frees_s };
    }
    // Openings alone are no routine: if all work must go, it goes with what it needed, below.
    let few = few_that_free(work().collect(), excess, &frees).filter(|few| few.len() < work().count());
    match (shorter, few) {
        (Some((touched, repair)), few) if few.as_ref().is_none_or(|few| touched <= few.len()) => return repair,
        (_, Some(few)) => return Repair::Drop { frees_s: frees(&few), steps: few },
        _ => {}
    }
    // One more target goes, with what only it needed, until it fits; in the end nothing is left.
    let mut gone: Vec<usize> = unneeded(person, steps, &[]);
    while frees(&gone) < excess {
        let next = work().filter(|i| !gone.contains(i)).map(|i| {
            let mut with = gone.clone();
            with.push(i);
            let with = [with.clone(), unneeded(person, steps, &with)].concat();
            (frees(&with), with)
        });
        match next.max_by_key(|(freed, _)| *freed) {
            Some((_, with)) => gone = with,
            None => gone = (0..steps.len()).collect(),
        }
        gone.sort_unstable();
        gone.dedup();
        if gone.len() == steps.len() {
            break;
        }
    }
    let frees_s = frees(&gone);
    Repair::Drop { steps: gone, frees_s }
}

/// A few steps that free so many seconds together, the longest first; ascending. `None` if not even all do.
fn few_that_free(mut work: Vec<usize>, excess: u32, frees: &dyn Fn(&[usize]) -> u32) -> Option<Vec<usize>> {
    work.sort_by_cached_key(|i| std::cmp::Reverse(frees(&[*i])));
    let mut few = Vec::new();
    for i in work {
        few.push(i);
        if frees(&few) >= excess {
            few.sort_unstable();
            return Some(few);
        }
    }
    None
}

/// Work shortened within what its technique takes, the longest first; with how many steps it touches.
fn shorten(person: &Person, steps: &[Step], excess: u32) -> Option<(usize, Repair)> {
    let mut room: Vec<(u32, u32, usize)> = Vec::new();
    for (at, step) in steps.iter().enumerate().filter(|(_, s)| s.movement == Movement::Work) {
        let What::Target(target, technique) = step.what else { continue };
        let (fewest, grain) = match person.atlas.target(target).laps {
            Some(laps) => (laps.lap_s, laps.lap_s.max(1)),
            None => (person.atlas.technique(technique).seconds.0, 1),
        };
        let spare = step.seconds.saturating_sub(fewest) / grain * grain;
        if spare > 0 {
            room.push((spare, grain, at));
        }
    }
    room.sort_by_key(|(spare, _, at)| (u32::MAX - spare, *at));
    let mut to = Vec::new();
    let mut freed = 0;
    for (spare, grain, at) in room {
        if freed >= excess {
            break;
        }
        let less = (excess - freed).div_ceil(grain).saturating_mul(grain).min(spare);
        freed += less;
        to.push((at, steps[at].seconds - less));
    }
    to.sort_unstable();
    (freed >= excess).then_some((to.len(), Repair::Shorten { to, frees_s: freed }))
}

/// Openings, closings and oil that no work needs once `gone` is left out.
fn unneeded(person: &Person, steps: &[Step], gone: &[usize]) -> Vec<usize> {
    let left: Vec<&Step> = (0..steps.len())
        .filter(|i| !gone.contains(i) && steps[*i].movement == Movement::Work)
        .map(|i| &steps[i])
        .collect();
    let ways: Vec<_> = left.iter().flat_map(|s| person.way(s)).collect();
    let glides = left.iter().any(|s| match s.what {
        What::Target(_, technique) => person.atlas.technique(technique).glides,
        What::Oil => false,
    });
    let needed = |step: &Step| match step.movement {
        Movement::Work => true,
        Movement::Prepare => glides,
        Movement::Open | Movement::Close => person.places(step).iter().any(|p| ways.contains(p)),
    };
    (0..steps.len()).filter(|i| !gone.contains(i) && !needed(&steps[*i])).collect()
}
