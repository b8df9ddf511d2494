//! From chosen options to the list of steps in routine order: open, prepare, work, close.

use std::cmp::Reverse;

use vocab::{Movement, Pressure, Side};

use crate::atlas::Atlas;
use crate::request::SideMode;
use crate::routine::{Step, What};
use crate::solve::instance::{Instance, Passage};

/// In side-by-side mode: the left whole, the right whole, then midline and both.
pub(super) fn side_block(mode: SideMode, side: Side) -> u8 {
    match (mode, side) {
        (SideMode::TargetByTarget, _) => 0,
        (SideMode::SideBySide, Side::Left) => 1,
        (SideMode::SideBySide, Side::Right) => 2,
        (SideMode::SideBySide, Side::Midline | Side::Both) => 3,
    }
}

/// In the close of side-by-side mode the midline comes first.
fn close_block(mode: SideMode, side: Side) -> u8 {
    side_block(mode, side) % 3
}

/// Places in the order in which they are opened.
pub(super) fn opening_order(atlas: &Atlas, instance: &Instance, places: &mut [usize]) {
    places.sort_by_key(|&p| {
        let place = &instance.places[p];
        (side_block(instance.side_mode, place.side), place.depth, atlas.zone(place.zone).id.as_str(), place.side)
    });
}

/// Places in the order in which they are closed.
pub(super) fn closing_order(atlas: &Atlas, instance: &Instance, places: &mut [usize]) {
    places.sort_by_key(|&p| {
        let place = &instance.places[p];
        let id = atlas.zone(place.zone).id.as_str();
        (close_block(instance.side_mode, place.side), Reverse(place.depth), id, place.side)
    });
}

fn passage_step(movement: Movement, side: Side, passage: &Passage) -> Step {
    Step {
        movement,
        what: What::Target(passage.target, passage.technique),
        side,
        tool: passage.tool,
        pressure: passage.pressure,
        seconds: passage.seconds,
    }
}

/// The steps still to do for the chosen (item, option) pairs, in routine order.
pub(super) fn assemble(atlas: &Atlas, instance: &Instance, chosen: &[(usize, usize)]) -> Vec<Step> {
    let mut needed: Vec<usize> = instance.start.opened.clone();
    let mut glides = false;
    let mut work: Vec<(u8, usize, Side, Step)> = Vec::new();
    for &(item_ix, option_ix) in chosen {
        let item = &instance.items[item_ix];
        let option = &item.options[option_ix];
        glides |= option.needs_oil;
        needed.extend(option.ways.iter().copied());
        for step in &option.steps {
            work.push((
                side_block(instance.side_mode, step.side),
                item_ix,
                step.side,
                Step {
                    movement: Movement::Work,
                    what: What::Target(item.target, option.technique),
                    side: step.side,
                    tool: option.tool,
                    pressure: step.pressure,
                    seconds: step.seconds,
                },
            ));
        }
    }
    needed.sort_unstable();
    needed.dedup();
    let mut to_open: Vec<usize> = needed.iter().copied().filter(|p| !instance.start.opened.contains(p)).collect();
    opening_order(atlas, instance, &mut to_open);
    let mut to_close = needed;
    closing_order(atlas, instance, &mut to_close);
    work.sort_by_key(|(block, item, side, _)| (*block, *item, *side));

    let mut steps = Vec::new();
    for place in to_open.iter().map(|&p| &instance.places[p]) {
        if let Some(open) = &place.open {
            steps.push(passage_step(Movement::Open, place.side, open));
        }
    }
    if glides && !instance.start.oil_done {
        steps.push(oil_step(instance));
    }
    steps.extend(work.into_iter().map(|(.., step)| step));
    for place in to_close.iter().map(|&p| &instance.places[p]) {
        if let (Some(_), Some(close)) = (&place.open, &place.close) {
            steps.push(passage_step(Movement::Close, place.side, close));
        }
    }
    steps
}

/// The step that spreads the oil.
pub(super) fn oil_step(instance: &Instance) -> Step {
    Step {
        movement: Movement::Prepare,
        what: What::Oil,
        side: Side::Midline,
        tool: instance.hands,
        pressure: Pressure::Featherlight,
        seconds: instance.settings.oil_s,
    }
}

/// What decides between routines of equal gain and length: the steps in order, each by the bytes of its target's
/// id, side, technique, tool and seconds; a prefix is smaller.
pub(super) fn tie_key<'a>(atlas: &'a Atlas, step: &Step) -> (&'a [u8], Side, usize, usize, u32) {
    let technique = match step.what {
        What::Oil => 0,
        What::Target(_, technique) => technique.0,
    };
    (step.target_id(atlas).as_bytes(), step.side, technique, step.tool.0, step.seconds)
}
