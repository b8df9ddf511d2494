//! Rules about the list of steps: movements in order, each target once, not too many in a zone.

use vocab::{Movement, Side, Sides};

use super::person::Person;
use super::repair::{Repair, without};
use super::step::broken;
use super::{Breach, BreachKind, breach};
use crate::atlas::{TargetIx, ZoneIx};
use crate::routine::{Step, What};

/// The breaches of the list.
pub(super) fn breaches(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut found = movements(steps);
    found.extend(once(person, steps));
    found.extend(zones(person, steps));
    found
}

/// The most steps whose movements are in order stay where they are; each other one is out of order.
fn movements(steps: &[Step]) -> Vec<Breach> {
    let kept = longest_in_order(steps);
    let mut found = Vec::new();
    for (at, step) in steps.iter().enumerate().filter(|(i, _)| !kept[*i]) {
        // It goes behind the last step that stays and is of its own or an earlier movement.
        let behind = (0..steps.len()).rev().find(|i| kept[*i] && steps[*i].movement <= step.movement);
        let to = match behind {
            None => 0,
            Some(i) if i > at => i,
            Some(i) => i + 1,
        };
        found.push(breach(at, BreachKind::OutOfOrder, Repair::Move { from: at, to }));
    }
    found
}

/// Marks a longest run of steps whose movements never go back; of several, one that ends early (so that a closing
/// among the work is moved rather than the work).
fn longest_in_order(steps: &[Step]) -> Vec<bool> {
    let mut best: [Vec<usize>; 4] = Default::default();
    for (at, step) in steps.iter().enumerate() {
        let rank = step.movement as usize;
        let longest = (0..=rank).max_by_key(|m| (best[*m].len(), *m)).unwrap_or(rank);
        let mut run = best[longest].clone();
        run.push(at);
        best[rank] = run;
    }
    let mut kept = vec![false; steps.len()];
    let end = (0..Movement::ALL.len()).max_by_key(|m| (best[*m].len(), usize::MAX - m)).unwrap_or(0);
    for at in &best[end] {
        kept[*at] = true;
    }
    kept
}

/// The single sides of a step: both is left and right.
fn single_sides(side: Side) -> &'static [Side] {
    match side {
        Side::Left => &[Side::Left],
        Side::Right => &[Side::Right],
        Side::Midline => &[Side::Midline],
        Side::Both => &[Side::Left, Side::Right],
    }
}

/// Each target at most once on a side.
fn once(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut seen: Vec<(TargetIx, Side, usize)> = Vec::new();
    let mut found = Vec::new();
    for (at, step) in steps.iter().enumerate().filter(|(_, s)| s.movement == Movement::Work) {
        let What::Target(target, _) = step.what else { continue };
        let mut again = None;
        let mut new = Vec::new();
        for &side in single_sides(step.side) {
            match seen.iter().find(|(t, s, _)| *t == target && *s == side) {
                Some(earlier) => again = again.or(Some(*earlier)),
                None => new.push(side),
            }
        }
        if let Some((_, side, earlier)) = again {
            let repair = match new.as_slice() {
                [other] => {
                    let to = Step { side: *other, ..step.clone() };
                    if broken(person, &to).len() > broken(person, step).len() {
                        without(at)
                    } else {
                        Repair::Change { at, to }
                    }
                }
                _ => without(at),
            };
            found.push(breach(at, BreachKind::Twice(target, side, earlier), repair));
        }
        seen.extend(new.into_iter().map(|side| (target, side, at)));
    }
    found
}

/// At most so many targets in a zone on a side.
fn zones(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let most = person.atlas.settings.targets_per_zone;
    let mut seen: Vec<(ZoneIx, Side, TargetIx)> = Vec::new();
    let mut found = Vec::new();
    for (at, step) in steps.iter().enumerate().filter(|(_, s)| s.movement == Movement::Work) {
        let What::Target(target, _) = step.what else { continue };
        let zone = person.atlas.target(target).zone;
        // A midline target in a zone that has two sides counts on both.
        let sides: &[Side] = match (person.atlas.zone(zone).sides, step.side) {
            (Sides::Midline, _) => &[Side::Midline],
            (Sides::Lateral, Side::Midline) => single_sides(Side::Both),
            (Sides::Lateral, side) => single_sides(side),
        };
        for &side in sides {
            if seen.contains(&(zone, side, target)) {
                continue;
            }
            seen.push((zone, side, target));
            if seen.iter().filter(|(z, s, _)| *z == zone && *s == side).count() > most as usize {
                found.push(breach(at, BreachKind::ZoneFull(zone, side, most), without(at)));
                break;
            }
        }
    }
    found
}
