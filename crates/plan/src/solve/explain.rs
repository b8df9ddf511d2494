//! Why each step of a draft is there.

use vocab::{Movement, Side};

use crate::atlas::{Atlas, TargetIx, ZoneIx};
use crate::draft::Why;
use crate::request::Request;
use crate::routine::{Step, What};
use crate::solve::build::{Built, ways, worked};

/// The reasons of each step, in the order of the steps.
pub(super) fn reasons(atlas: &Atlas, request: &Request, built: &Built, steps: &[Step]) -> Vec<Vec<Why>> {
    steps.iter().map(|step| of_step(atlas, request, built, steps, step)).collect()
}

fn work(steps: &[Step]) -> impl Iterator<Item = (TargetIx, Side, usize)> + '_ {
    steps.iter().filter(|s| s.movement == Movement::Work).filter_map(|s| match s.what {
        What::Target(target, technique) => Some((target, s.side, technique.0)),
        What::Oil => None,
    })
}

fn of_step(atlas: &Atlas, request: &Request, built: &Built, steps: &[Step], step: &Step) -> Vec<Why> {
    let (target, _) = match step.what {
        What::Oil => {
            let mut glides: Vec<TargetIx> =
                work(steps).filter(|(_, _, t)| atlas.techniques[*t].glides).map(|(target, ..)| target).collect();
            glides.dedup();
            return vec![Why::NeedsOil { glides }];
        }
        What::Target(target, technique) => (target, technique),
    };
    let place = (atlas.target(target).zone, step.side);
    let mut why = match step.movement {
        Movement::Close => vec![Why::ClosesTheWay],
        Movement::Open | Movement::Prepare => vec![Why::OnTheWay { from: whose_way(atlas, steps, place) }],
        Movement::Work => of_work(request, built, target, step.side),
    };
    let sides: &[Side] = if step.side == Side::Both { &[Side::Left, Side::Right] } else { &[step.side] };
    let mut rules: Vec<String> =
        sides.iter().filter_map(|s| built.softened.get(&(target, *s))).flatten().cloned().collect();
    rules.sort_unstable();
    rules.dedup();
    if step.movement == Movement::Work && !rules.is_empty() {
        why.push(Why::Softened { rules });
    }
    let mut skipped: Vec<(ZoneIx, Side)> = worked(atlas, target, step.side)
        .iter()
        .filter_map(|p| built.beyond_skipped.get(p))
        .flatten()
        .copied()
        .collect();
    skipped.sort_unstable();
    skipped.dedup();
    if !skipped.is_empty() {
        let skipped = skipped.into_iter().map(|(zone, side)| (atlas.zone(zone).id.clone(), side)).collect();
        why.push(Why::WayBlocked { skipped });
    }
    why
}

fn of_work(request: &Request, built: &Built, target: TargetIx, side: Side) -> Vec<Why> {
    let mut why = Vec::new();
    let covers = |asked: Option<Side>| asked.is_none() || asked == Some(side) || side == Side::Both;
    if request.locked.iter().any(|l| l.target == target && covers(l.side)) {
        why.push(Why::Locked);
    }
    if request.wanted.iter().any(|w| w.target == target && covers(w.side)) {
        why.push(Why::Wanted);
    }
    if request.tender.contains(&target) {
        why.push(Why::Tender);
    }
    if let Some(weight) = built.weights.get(&target) {
        if weight.own {
            why.push(Why::OwnWeight(u32::try_from(weight.total).unwrap_or(u32::MAX)));
        }
        let serves = weight.serves.iter().map(|&(concern, weight, grade)| Why::Serves { concern, weight, grade });
        why.extend(serves);
    }
    if why.is_empty() {
        // Alike: the other side was locked or wanted.
        why.push(Why::Wanted);
    }
    why
}

/// The worked targets on whose way a place lies.
fn whose_way(atlas: &Atlas, steps: &[Step], place: (ZoneIx, Side)) -> Vec<(TargetIx, Side)> {
    let mut from: Vec<(TargetIx, Side)> = Vec::new();
    for (target, side, _) in work(steps) {
        if ways(atlas, target, side).contains(&place) && !from.contains(&(target, side)) {
            from.push((target, side));
        }
    }
    from
}
