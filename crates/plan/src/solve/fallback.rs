//! Shorter endings, solved beforehand: after each step, for the seconds that may be left, the best rest that can be made of
//! the steps still to come, with the close kept. The page at home needs no solver.

use vocab::{Movement, Side};

use crate::atlas::Atlas;
use crate::draft::Fallback;
use crate::routine::{Step, What, timeline};
use crate::solve::assemble::assemble;
use crate::solve::instance::{Choice, Decides, Instance, Item, Start};
use crate::solve::search::Search;

/// How late one may be, in seconds: each has its own shorter ending.
pub const LATENESS_S: [u32; 7] = [15, 30, 60, 90, 120, 180, 300];

/// The shorter endings of a routine.
pub(super) fn fallbacks(atlas: &Atlas, instance: &Instance, chosen: &[(usize, usize)]) -> Vec<Fallback> {
    let steps = assemble(atlas, instance, chosen);
    let times = timeline(atlas, &steps);
    let Some(&(_, end)) = times.last() else { return Vec::new() };
    let mut all = Vec::new();
    for done in 0..steps.len().saturating_sub(1) {
        if steps[done].movement == Movement::Close {
            break;
        }
        let planned = end - times[done].1;
        let strict = rest(instance, chosen, &steps, done, true);
        let loose = rest(instance, chosen, &steps, done, false);
        let strict_search = Search::new(atlas, &strict);
        let loose_search = Search::new(atlas, &loose);
        for late in LATENESS_S {
            let Some(seconds_left) = planned.checked_sub(late) else { break };
            let found = strict_search
                .best(seconds_left, None, false)
                .map(|s| assemble(atlas, &strict, &s.chosen))
                .or_else(|| loose_search.best(seconds_left, None, false).map(|s| assemble(atlas, &loose, &s.chosen)));
            let Some(steps) = found else { break };
            all.push(Fallback { after_step: done, seconds_left, steps });
        }
    }
    all
}

/// The problem of what is left after `done`: the same targets, techniques and tools, no longer than planned. A target
/// of which one side is done wants its other side alike (`strict`); when that does not fit it may be shorter or left.
fn rest(instance: &Instance, chosen: &[(usize, usize)], steps: &[Step], done: usize, strict: bool) -> Instance {
    let before = &steps[..=done];
    let last = &steps[done];
    let zone_of = |step: &Step| match step.what {
        What::Oil => None,
        What::Target(target, _) => instance
            .items
            .iter()
            .find(|i| i.target == target)
            .map(|i| i.zone)
            .or_else(|| instance.places.iter().find(|p| opens(p, step)).map(|p| p.zone)),
    };
    let opened = (0..instance.places.len())
        .filter(|&p| before.iter().any(|s| s.movement == Movement::Open && opens(&instance.places[p], s)))
        .collect();
    let still_opening = last.movement == Movement::Open;
    let mut rest = instance.clone();
    rest.start = Start {
        last: Some((last.tool, last.side, zone_of(last))),
        opened,
        oil_done: before.iter().any(|s| s.movement == Movement::Prepare),
        may_be_empty: true,
    };
    rest.items = chosen
        .iter()
        .filter_map(|&(i, o)| rest_of_item(&instance.items[i], &instance.items[i].options[o], before, strict))
        .collect();
    if !still_opening {
        // Once the work has begun no further place is opened.
        let open = rest.start.opened.clone();
        let skipped = |p: &usize| instance.places[*p].open.is_none();
        for item in &mut rest.items {
            item.options.retain(|o| o.ways.iter().all(|p| open.contains(p) || skipped(p)));
        }
    }
    rest
}

fn opens(place: &crate::solve::instance::Place, step: &Step) -> bool {
    let what = place.open.as_ref().map(|open| What::Target(open.target, open.technique));
    place.side == step.side && what == Some(step.what)
}

fn rest_of_item(item: &Item, planned: &Choice, before: &[Step], strict: bool) -> Option<Item> {
    let done = |side: Side| {
        before.iter().any(|s| {
            s.movement == Movement::Work && s.side == side && matches!(s.what, What::Target(t, _) if t == item.target)
        })
    };
    let left: Vec<usize> = (0..planned.steps.len()).filter(|&k| !done(planned.steps[k].side)).collect();
    if left.is_empty() {
        return None;
    }
    let half_done = left.len() < planned.steps.len();
    let alike = |o: &&Choice| {
        (o.technique, o.tool) == (planned.technique, planned.tool)
            && o.steps.iter().zip(&planned.steps).all(|(a, b)| a.side == b.side && a.seconds <= b.seconds)
            && (!half_done || !strict || o.steps[0].seconds == planned.steps[0].seconds)
    };
    let mut options: Vec<Choice> = item.options.iter().filter(alike).cloned().collect();
    for option in &mut options {
        option.steps = left.iter().map(|&k| option.steps[k].clone()).collect();
        if half_done {
            let side = option.steps[0].side;
            option.counts.retain(|(_, s)| *s == side);
        }
    }
    let decides = if half_done { Decides::One(planned.steps[left[0]].side) } else { item.decides };
    Some(Item { options, decides, required: half_done && strict, ..item.clone() })
}
