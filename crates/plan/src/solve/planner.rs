//! The draft: collect what may be done, solve, arrange, explain.

use vocab::Side;

use crate::atlas::{Atlas, TargetIx};
use crate::draft::{CurvePoint, Draft, DraftStep, LeftOut, NoDraft, NoReason, OutReason, Release};
use crate::request::Request;
use crate::routine::{Step, timeline, total_s};
use crate::screening::Clearance;
use crate::solve::assemble::assemble;
use crate::solve::build::{Built, build};
use crate::solve::explain::reasons;
use crate::solve::fallback::fallbacks;
use crate::solve::instance::Instance;
use crate::solve::release::{fewest_seconds, smallest_release};
use crate::solve::search::{Search, Solution};

/// The minutes of the curve.
pub const CURVE_MINUTES: std::ops::RangeInclusive<u32> = 2..=30;

/// What the planner answers.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// A routine with its reasons.
    Draft(Box<Draft>),
    /// Why there is none.
    None(NoDraft),
}

/// Drafts the best routine of a request for a person, with its curve and fallbacks.
pub fn draft(atlas: &Atlas, request: &Request, clearance: &Clearance) -> Outcome {
    if let Some(none) = nothing_before_solving(atlas, clearance) {
        return Outcome::None(none);
    }
    let built = build(atlas, request, clearance);
    if let Some(none) = nothing_to_do(request, clearance, &built) {
        return Outcome::None(none);
    }
    let search = Search::new(atlas, &built.instance);
    let Some(solution) = search.best(built.instance.budget_s, None, false) else {
        return Outcome::None(too_long(atlas, request, clearance, &built));
    };
    let steps = assemble(atlas, &built.instance, &solution.chosen);
    let times = timeline(atlas, &steps);
    let why = reasons(atlas, request, &built, &steps);
    let drafted = steps.iter().zip(times).zip(why).map(|((step, (start_s, end_s)), why)| DraftStep {
        step: step.clone(),
        start_s,
        end_s,
        why,
    });
    Outcome::Draft(Box::new(Draft {
        steps: drafted.collect(),
        total_s: total_s(atlas, &steps),
        gain: solution.gain,
        bound: solution.bound,
        proven_best: solution.proven,
        left_out: left_out(atlas, &built, &solution, &steps),
        curve: curve(atlas, &built.instance, &solution),
        fallbacks: fallbacks(atlas, &built.instance, &solution.chosen),
        blocked: blocked(atlas, &built, &solution),
    }))
}

/// The problem of a request for a person, or why there is none.
///
/// # Errors
/// The reason why nothing may be worked, before any solving.
pub fn instance(atlas: &Atlas, request: &Request, clearance: &Clearance) -> Result<Instance, NoDraft> {
    if let Some(none) = nothing_before_solving(atlas, clearance) {
        return Err(none);
    }
    let built = build(atlas, request, clearance);
    match nothing_to_do(request, clearance, &built) {
        Some(none) => Err(none),
        None => Ok(built.instance),
    }
}

/// The steps of a solution in routine order.
pub fn steps_of(atlas: &Atlas, instance: &Instance, solution: &Solution) -> Vec<Step> {
    assemble(atlas, instance, &solution.chosen)
}

fn nothing_before_solving(atlas: &Atlas, clearance: &Clearance) -> Option<NoDraft> {
    if clearance.stop.is_empty() {
        return None;
    }
    let rules: Vec<String> = clearance.stop.iter().map(|r| r.id(atlas)).collect();
    Some(NoDraft { reason: NoReason::Stop { rules: rules.clone() }, release: vec![Release::Wait(rules)] })
}

fn nothing_to_do(request: &Request, clearance: &Clearance, built: &Built) -> Option<NoDraft> {
    if !built.impossible.is_empty() {
        let mut release = Vec::new();
        for &target in &built.impossible {
            if request.locked.iter().any(|l| l.target == target) {
                release.push(Release::Lock(target));
            }
            if request.wanted.iter().any(|w| w.target == target) {
                release.push(Release::Want(target));
            }
        }
        return Some(NoDraft { reason: NoReason::LockedNotAllowed, release });
    }
    if !built.instance.items.is_empty() {
        return None;
    }
    if !clearance.unanswered.is_empty() {
        let questions = clearance.unanswered.clone();
        let release = vec![Release::Answer(questions.clone())];
        return Some(NoDraft { reason: NoReason::Unanswered { questions }, release });
    }
    let mut rules: Vec<String> = built
        .excluded
        .iter()
        .flat_map(|out| match &out.reason {
            OutReason::Screening { rules, .. } | OutReason::Pressure { rules } => rules.clone(),
            _ => Vec::new(),
        })
        .collect();
    rules.sort_unstable();
    rules.dedup();
    let release = if rules.is_empty() { vec![Release::OtherConcern] } else { vec![Release::Clinician(rules.clone())] };
    Some(NoDraft { reason: NoReason::NothingAllowed { rules }, release })
}

/// Something may be done, but nothing that is asked fits the minutes.
fn too_long(atlas: &Atlas, request: &Request, clearance: &Clearance, built: &Built) -> NoDraft {
    let needs_s = fewest_seconds(atlas, &built.instance);
    let minutes = needs_s.div_ceil(60);
    if built.instance.items.iter().any(|i| i.required) {
        let mut release = smallest_release(atlas, request, clearance);
        if release.is_empty() {
            release.push(Release::Minutes(minutes));
        }
        NoDraft { reason: NoReason::LockedTooLong { needs_s }, release }
    } else {
        NoDraft { reason: NoReason::TooShort { needs_s }, release: vec![Release::Minutes(minutes)] }
    }
}

/// The best gain for each minute; each point solved, each at least the one before. A solution that is already known is
/// not asked for again.
fn curve(atlas: &Atlas, instance: &Instance, solution: &Solution) -> Vec<CurvePoint> {
    let search = Search::new(atlas, instance).up_to(CURVE_MINUTES.end() * 60);
    let mut points = Vec::new();
    let mut known: Option<u64> = None;
    for minutes in CURVE_MINUTES {
        let budget_s = minutes * 60;
        known = if budget_s == instance.budget_s {
            Some(solution.gain)
        } else {
            search.best(budget_s, known, true).map(|better| better.gain).or(known)
        };
        if let Some(gain) = known {
            points.push(CurvePoint { minutes, gain });
        }
    }
    points
}

fn left_out(atlas: &Atlas, built: &Built, solution: &Solution, steps: &[Step]) -> Vec<LeftOut> {
    let mut out: Vec<LeftOut> = built.excluded.clone();
    let instance = &built.instance;
    let total = total_s(atlas, steps);
    let spare_s = instance.budget_s - total;
    for (ix, item) in instance.items.iter().enumerate() {
        if solution.chosen.iter().any(|(i, _)| *i == ix) {
            continue;
        }
        let side = match item.decides {
            crate::solve::instance::Decides::Pair => Side::Both,
            crate::solve::instance::Decides::One(side) => side,
        };
        let needs_s = fewest_more(atlas, instance, solution, &[ix]);
        let reason = if needs_s <= spare_s { OutReason::ZoneFull } else { OutReason::Seconds { needs_s, spare_s } };
        out.push(LeftOut { target: item.target, side, reason });
    }
    out.retain(|o| built.weights.get(&o.target).is_some_and(|w| w.total > 0) || o.reason == OutReason::Unwanted);
    let weight = |t: &TargetIx| built.weights.get(t).map_or(0, |w| w.total);
    out.sort_by_key(|o| (std::cmp::Reverse(weight(&o.target)), o.target, o.side));
    out.dedup_by(|right, left| joined(atlas, instance, solution, left, right));
    out
}

/// Makes one row of left and right where the reason is the same. Where it is the minutes, the seconds are then those of
/// both sides together, as for a pair that is decided as one.
fn joined(atlas: &Atlas, instance: &Instance, solution: &Solution, left: &mut LeftOut, right: &LeftOut) -> bool {
    if left.target != right.target || (left.side, right.side) != (Side::Left, Side::Right) {
        return false;
    }
    match (&mut left.reason, &right.reason) {
        (OutReason::Seconds { needs_s, .. }, OutReason::Seconds { .. }) => {
            let items = instance.items.iter().enumerate().filter(|(_, item)| item.target == right.target);
            let items: Vec<usize> = items.map(|(ix, _)| ix).collect();
            *needs_s = fewest_more(atlas, instance, solution, &items);
        }
        (one, other) if one == other => {}
        _ => return false,
    }
    left.side = Side::Both;
    true
}

/// The fewest seconds that doing these items as well would add to a solution.
fn fewest_more(atlas: &Atlas, instance: &Instance, solution: &Solution, items: &[usize]) -> u32 {
    let mut ways = vec![solution.chosen.clone()];
    for &ix in items {
        let longer = |chosen: &Vec<(usize, usize)>| {
            let chosen = chosen.clone();
            (0..instance.items[ix].options.len()).map(move |o| {
                let mut chosen = chosen.clone();
                chosen.push((ix, o));
                chosen
            })
        };
        ways = ways.iter().flat_map(longer).collect();
    }
    let seconds = ways.into_iter().map(|mut chosen| {
        chosen.sort_unstable();
        total_s(atlas, &assemble(atlas, instance, &chosen))
    });
    let total = total_s(atlas, &assemble(atlas, instance, &solution.chosen));
    seconds.min().map_or(0, |s| s.saturating_sub(total))
}

/// Zone-sides on the ways of this routine whose opening clearance leaves out.
fn blocked(atlas: &Atlas, built: &Built, solution: &Solution) -> Vec<(String, Side)> {
    let instance = &built.instance;
    let ways = solution.chosen.iter().flat_map(|&(i, o)| &instance.items[i].options[o].ways);
    let mut places: Vec<usize> = ways.copied().filter(|&p| instance.places[p].open.is_none()).collect();
    places.sort_unstable();
    places.dedup();
    let mut names: Vec<(u32, String, Side)> = places
        .into_iter()
        .map(|p| &instance.places[p])
        .map(|p| (p.depth, atlas.zone(p.zone).id.clone(), p.side))
        .collect();
    names.sort();
    names.into_iter().map(|(_, id, side)| (id, side)).collect()
}
