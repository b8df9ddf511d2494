//! The way to the collarbone: opened before, closed after; and the oil before what glides.

use vocab::Movement;

use super::person::Person;
use super::repair::{Repair, without};
use super::{Breach, BreachKind, breach};
use crate::atlas::ToolIx;
use crate::routine::{Place, Step, What};

/// The breaches of way and oil.
pub(super) fn breaches(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut found = opened_before(person, steps);
    found.extend(closed_after(person, steps));
    found.extend(oil(person, steps));
    found
}

/// Whether a step opens (or closes) these places. One with the wrong technique counts: its technique is said apart.
fn passes(person: &Person, step: &Step, movement: Movement) -> Vec<Place> {
    if step.movement == movement && person.whole_zone(step).is_some() && person.side_exists(step) {
        person.places(step)
    } else {
        Vec::new()
    }
}

/// Before every step, each place on its way is opened, unless its opening is skipped. Openings count as steps, so
/// they too run from the collarbone outward. A place that is missing is said at the first step that needs it.
fn opened_before(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut found = Vec::new();
    let mut opened: Vec<Place> = Vec::new();
    // Openings belong before everything that is not an opening.
    let first_other = steps.iter().position(|s| s.movement != Movement::Open).unwrap_or(steps.len());
    for (at, step) in steps.iter().enumerate().filter(|(_, s)| person.side_exists(s)) {
        let missing = person.way(step).into_iter().filter(|p| !opened.contains(p) && person.opening(*p).is_some());
        let missing: Vec<Place> = missing.collect();
        let closes_nothing =
            step.movement == Movement::Close && person.places(step).iter().any(|p| !opened.contains(p));
        for place in missing {
            let kind = BreachKind::NotOpened(place.0, place.1);
            if closes_nothing {
                // Closing what was never opened: leaving it out is less than opening its way.
                found.push(breach(at, kind, without(at)));
                break;
            }
            let to = at.min(first_other);
            let later = (at + 1..steps.len()).find(|i| passes(person, &steps[*i], Movement::Open).contains(&place));
            let repair = match (later, person.opening(place)) {
                (Some(from), _) => Repair::Move { from, to },
                (None, Some(step)) => Repair::Insert { at: to, step },
                (None, None) => continue,
            };
            found.push(breach(at, kind, repair));
            opened.push(place);
        }
        opened.extend(passes(person, step, Movement::Open));
    }
    found
}

/// After the last work beyond an opened place, it is closed, unless clearance leaves its closing out.
fn closed_after(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let mut found = Vec::new();
    let mut opened: Vec<(Place, usize, ToolIx)> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        for place in passes(person, step, Movement::Open) {
            opened.retain(|(p, ..)| *p != place);
            opened.push((place, at, step.tool));
        }
    }
    for (place, at, tool) in opened {
        let Some(closing) = person.closing(place, tool) else { continue };
        let uses = |step: &Step| step.movement == Movement::Work && person.way(step).contains(&place);
        let last = steps.iter().rposition(uses).map_or(at, |last| last.max(at));
        let closes = |i: &usize| passes(person, &steps[*i], Movement::Close).contains(&place);
        if (last + 1..steps.len()).any(|i| closes(&i)) {
            continue;
        }
        let to = outermost_first(person, steps, place, last);
        let repair = match (0..last).find(closes) {
            // Once it is taken out before its new place, that place is one less.
            Some(from) => Repair::Move { from, to: to - 1 },
            None => Repair::Insert { at: to, step: closing },
        };
        found.push(breach(at, BreachKind::NotClosed(place.0, place.1, last), repair));
    }
    found
}

/// Where a closing goes: behind `last` and all work, before the closings that lie nearer to the collarbone and
/// before the right side of its own zone if it is the left.
fn outermost_first(person: &Person, steps: &[Step], place: Place, last: usize) -> usize {
    let depth = person.atlas.zone(place.0).depth;
    let nearer = |step: &Step| {
        let zone = step.zone(person.atlas).filter(|_| step.movement == Movement::Close);
        zone.is_some_and(|z| person.atlas.zone(z).depth < depth || (z == place.0 && step.side > place.1))
    };
    let mut to = steps.len();
    while to > last + 1 && nearer(&steps[to - 1]) {
        to -= 1;
    }
    to
}

/// Oil is spread before the first work that glides.
fn oil(person: &Person, steps: &[Step]) -> Vec<Breach> {
    let oil = steps.iter().position(|s| s.what == What::Oil);
    let glides = |step: &Step| match step.what {
        What::Target(_, technique) if step.movement == Movement::Work => {
            person.atlas.technique(technique).glides.then_some(technique)
        }
        _ => None,
    };
    let first = steps.iter().enumerate().find_map(|(at, step)| glides(step).map(|technique| (at, technique)));
    let (Some((at, technique)), Some(hands)) = (first, person.hands) else { return Vec::new() };
    let to = steps.iter().position(|s| s.movement > Movement::Prepare).map_or(at, |i| i.min(at));
    let repair = match oil {
        Some(oil) if oil < at => return Vec::new(),
        Some(from) => Repair::Move { from, to },
        None => Repair::Insert { at: to, step: oil_step(person, hands) },
    };
    vec![breach(at, BreachKind::NoOil(technique), repair)]
}

/// The oil as the data has it.
fn oil_step(person: &Person, hands: ToolIx) -> Step {
    Step {
        movement: Movement::Prepare,
        what: What::Oil,
        side: vocab::Side::Midline,
        tool: hands,
        pressure: vocab::Pressure::Featherlight,
        seconds: person.atlas.settings.oil_s,
    }
}
