//! Rules that one step keeps or breaks by itself.

use vocab::{Class, Movement, Pressure, Side};

use super::person::Person;
use super::repair::{Repair, refit, without};
use super::{Breach, BreachKind, breach};
use crate::atlas::{Kind, Shown, TargetIx, TechniqueIx};
use crate::routine::{Step, What};
use crate::screening::RuleRef;

/// The breaches of every step by itself.
pub(super) fn breaches(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut found = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        for kind in broken(person, step) {
            let repair = repair(person, at, step, &kind);
            found.push(breach(at, kind, repair));
        }
    }
    found
}

/// The rules that a step breaks by itself. A side that does not exist is said first; what depends on the side is
/// then not looked at.
pub(super) fn broken(person: &Person, step: &Step) -> Vec<BreachKind> {
    let mut found = Vec::new();
    if (step.what == What::Oil) != (step.movement == Movement::Prepare) {
        found.push(BreachKind::WrongMovement);
    }
    let What::Target(target, technique) = step.what else {
        oil(person, step, &mut found);
        return found;
    };
    let row = person.atlas.target(target);
    let never = matches!(row.shown, Shown::Never(_));
    if never {
        found.push(BreachKind::NotForTheHand(target));
    }
    if person.side_exists(step) {
        cleared(person, step, never, &mut found);
        both(person, step, technique, &mut found);
    } else {
        found.push(BreachKind::NoSuchSide(target, step.side));
    }
    if step.pressure > row.pressure {
        found.push(BreachKind::TooHardForTarget(target, row.pressure));
    }
    fits(person, step, target, technique, &mut found);
    found
}

/// Hands spread the oil, and only where some glide is left.
fn oil(person: &Person, step: &Step, found: &mut Vec<BreachKind>) {
    let said = person.verdict(step);
    if !said.class.allows() {
        found.push(BreachKind::NotCleared(said.class, said.rules));
    }
    if person.hands.is_some_and(|hands| step.tool != hands) {
        found.push(BreachKind::WrongTool(None, step.tool));
    }
}

/// Screening, and the featherlight that is left beyond a skipped opening.
fn cleared(person: &Person, step: &Step, never: bool, found: &mut Vec<BreachKind>) {
    let mut said = person.verdict(step);
    said.rules.retain(|r| !never || *r != RuleRef::Never);
    if !said.class.allows() && !said.rules.is_empty() {
        found.push(BreachKind::NotCleared(said.class, said.rules));
    } else if said.class == Class::Gently && step.pressure > Pressure::Featherlight {
        found.push(BreachKind::TooHardToday(said.rules));
    }
    if step.pressure > Pressure::Featherlight {
        let skipped = person.skipped(step);
        if !skipped.is_empty() {
            found.push(BreachKind::BeyondSkipped(skipped));
        }
    }
}

/// Left and right at once: never the neck, never the way, only what two hands can do.
fn both(person: &Person, step: &Step, technique: TechniqueIx, found: &mut Vec<BreachKind>) {
    if step.side != Side::Both {
        return;
    }
    if let Some((zone, _)) = person.places(step).into_iter().find(|(z, _)| person.atlas.zone(*z).neck) {
        found.push(BreachKind::NeckBothSides(zone));
    }
    if matches!(step.movement, Movement::Open | Movement::Close) {
        found.push(BreachKind::WayBothSides);
    } else if !person.atlas.technique(technique).two_hands {
        found.push(BreachKind::OneHand(technique));
    } else if person.hands.is_some_and(|hands| step.tool != hands) {
        found.push(BreachKind::BothNeedsHands(step.tool));
    }
}

/// What target and technique take.
fn fits(person: &Person, step: &Step, target: TargetIx, technique: TechniqueIx, found: &mut Vec<BreachKind>) {
    let atlas = person.atlas;
    let row = atlas.target(target);
    let zone = atlas.zone(row.zone);
    let whole = row.kind == Kind::Zone;
    match step.movement {
        Movement::Open if !whole || technique != zone.open_technique => {
            found.push(BreachKind::NotOpening(row.zone, zone.open_technique));
        }
        Movement::Close if !whole || technique != zone.close_technique => {
            found.push(BreachKind::NotClosing(row.zone, zone.close_technique));
        }
        Movement::Work | Movement::Prepare if !row.techniques.contains(&technique) => {
            found.push(BreachKind::NotOfTarget(target, technique));
        }
        _ => {}
    }
    let how = atlas.technique(technique);
    if !how.pressures.contains(&step.pressure) {
        found.push(BreachKind::NotOfTechnique(technique, step.pressure));
    }
    if !how.tools.contains(&step.tool) {
        found.push(BreachKind::WrongTool(Some(technique), step.tool));
    }
    if !person.tools.contains(&step.tool) {
        found.push(BreachKind::NotAtHand(step.tool));
    }
    let set = match step.movement {
        Movement::Open => Some(zone.open_s),
        Movement::Close => Some(zone.close_s),
        Movement::Prepare | Movement::Work => None,
    };
    if set == Some(step.seconds) {
        return;
    }
    match row.laps {
        Some(laps) if row.kind == Kind::Line => {
            let whole_laps = laps.lap_s > 0 && step.seconds.is_multiple_of(laps.lap_s);
            if !whole_laps || step.seconds == 0 || step.seconds > laps.lap_s * laps.most {
                found.push(BreachKind::Laps(laps.lap_s, laps.most));
            }
        }
        _ if !(how.seconds.0..=how.seconds.1).contains(&step.seconds) => {
            found.push(BreachKind::Seconds(technique, how.seconds.0, how.seconds.1));
        }
        _ => {}
    }
}

/// The smallest repair of what one step breaks by itself.
fn repair(person: &Person, at: usize, step: &Step, kind: &BreachKind) -> Repair {
    match kind {
        BreachKind::NotForTheHand(_) => without(at),
        BreachKind::WrongMovement => {
            let movement = if step.what == What::Oil { Movement::Prepare } else { Movement::Work };
            Repair::Change { at, to: Step { movement, ..step.clone() } }
        }
        BreachKind::NoSuchSide(..) => other_side(person, at, step),
        BreachKind::NeckBothSides(_) | BreachKind::WayBothSides => Repair::Split { at },
        BreachKind::OneHand(_) | BreachKind::BothNeedsHands(_) => {
            refit(person, at, step, kind.rule()).unwrap_or(Repair::Split { at })
        }
        _ => refit(person, at, step, kind.rule()).unwrap_or_else(|| without(at)),
    }
}

/// The side on which the step breaks fewest rules: both at once before left before right.
fn other_side(person: &Person, at: usize, step: &Step) -> Repair {
    let sides = [Side::Both, Side::Left, Side::Right, Side::Midline];
    let there = sides.into_iter().map(|side| Step { side, ..step.clone() }).filter(|to| person.side_exists(to));
    match there.min_by_key(|to| broken(person, to).len()) {
        Some(to) => Repair::Change { at, to },
        None => without(at),
    }
}
