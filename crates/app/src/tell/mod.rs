//! Puts the planner's answers into words: names, reasons, what is left out and why.

pub mod follow;
pub mod measure;
mod out;
pub mod plain;
pub mod product;
pub mod recorded;
mod why;
pub mod words;

pub use out::{left_out, no_draft, release_kind, releases, rule_ids};
pub use why::why;

use plan::atlas::{Atlas, Grade, TargetIx, Urgency};
use plan::draft::Draft;
use plan::routine::{Step, What};
use plan::screening::Clearance;
use vocab::{Class, Movement, Pressure, Side, Sides};

use crate::catalogue::{Catalogue, fill, listed, sentence_case, text};

/// A side as it stands beside a place.
pub fn side(side: Side) -> &'static str {
    match side {
        Side::Left => text("side.left"),
        Side::Right => text("side.right"),
        Side::Midline => text("side.midline"),
        Side::Both => text("side.both"),
    }
}

/// How hard, in words.
pub fn pressure(pressure: Pressure) -> &'static str {
    match pressure {
        Pressure::Featherlight => text("pressure.featherlight"),
        Pressure::Light => text("pressure.light"),
        Pressure::Firm => text("pressure.firm"),
    }
}

/// What the hand does in a movement, as its heading.
pub fn movement(movement: Movement) -> &'static str {
    match movement {
        Movement::Open => text("movement.open"),
        Movement::Prepare => text("movement.prepare"),
        Movement::Work => text("movement.work"),
        Movement::Close => text("movement.close"),
    }
}

/// A clearance class in words.
pub fn class(class: Class) -> &'static str {
    match class {
        Class::Go => text("class.go"),
        Class::Gently => text("class.gently"),
        Class::AskFirst => text("class.ask_first"),
        Class::LeaveOut => text("class.leave_out"),
        Class::Stop => text("class.stop"),
    }
}

/// On what an association rests.
pub fn grade(grade: Grade) -> &'static str {
    match grade {
        Grade::Tradition => text("grade.tradition"),
        Grade::Anatomy => text("grade.anatomy"),
        Grade::Trial => text("grade.trial"),
    }
}

/// How soon a clinician.
pub fn urgency(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Emergency => text("urgency.emergency"),
        Urgency::SameDay => text("urgency.same_day"),
        Urgency::Doctor => text("urgency.doctor"),
    }
}

/// A place with its side: "chewing muscle, left"; without a side where it exists once.
pub fn place(atlas: &Atlas, target: TargetIx, on: Side) -> String {
    let name = &atlas.target(target).name;
    if atlas.target(target).sides == Sides::Midline || on == Side::Midline {
        name.clone()
    } else {
        fill("place.with_side", &[("place", name), ("side", &side(on))])
    }
}

/// A place that is left out: "both sides", where both are.
pub fn place_left_out(atlas: &Atlas, target: TargetIx, on: Side) -> String {
    match on {
        Side::Both => {
            fill("place.with_side", &[("place", &atlas.target(target).name), ("side", &text("side.both_sides"))])
        }
        on => place(atlas, target, on),
    }
}

/// A zone id with its side, as a skipped opening is named.
pub fn zone_place(atlas: &Atlas, zone: &str, on: Side) -> String {
    match atlas.zone_named(zone) {
        Some(ix) if atlas.zone(ix).sides == Sides::Midline => atlas.zone(ix).name.clone(),
        Some(ix) => fill("place.with_side", &[("place", &atlas.zone(ix).name), ("side", &side(on))]),
        None => zone.to_owned(),
    }
}

/// One step in words.
pub struct Said<'a> {
    /// What the hand does: the technique's name.
    pub does: &'a str,
    /// Where.
    pub place: String,
    /// On which side; empty for what has none.
    pub side: &'static str,
    /// What to do, as one sentence.
    pub says: &'a str,
    /// How to find the place.
    pub find: &'a str,
    /// What to mind there.
    pub caution: Option<&'a str>,
    /// What the other hand does.
    pub support: Option<&'a str>,
    /// What the hand works with.
    pub tool: &'a str,
    /// The notation mark.
    pub mark: &'a str,
    /// How many laps, for a line.
    pub laps: Option<u32>,
}

/// A step in words.
pub fn step<'a>(atlas: &'a Atlas, step: &Step) -> Said<'a> {
    let tool = atlas.tool(step.tool).name.as_str();
    match step.what {
        What::Oil => Said {
            does: text("oil.does"),
            place: text("oil.place").to_owned(),
            side: "",
            says: text("oil.says"),
            find: "",
            caution: Some(text("oil.caution")),
            support: None,
            tool,
            mark: "oil",
            laps: None,
        },
        What::Target(target, technique) => {
            let (target, technique) = (atlas.target(target), atlas.technique(technique));
            let working = step.movement == Movement::Work;
            Said {
                does: &technique.name,
                place: sentence_case(&target.name),
                side: if target.sides == Sides::Midline { "" } else { side(step.side) },
                says: &technique.says,
                find: &target.find,
                caution: target.caution.as_deref(),
                support: technique.support.as_deref().filter(|_| working),
                tool,
                mark: &technique.mark,
                laps: target.laps.filter(|l| working && l.lap_s > 0).map(|l| step.seconds / l.lap_s),
            }
        }
    }
}

/// Whether anything was softened because only the five questions are answered.
pub fn door_holds(draft: &Draft) -> bool {
    use plan::draft::Why;
    let door = |w: &Why| matches!(w, Why::Softened { rules } if rules.iter().any(|r| r == plan::screening::DOOR));
    draft.steps.iter().any(|s| s.why.iter().any(door))
}

/// That part of the way is left out, so only featherlight work is done above it.
pub fn blocked(atlas: &Atlas, draft: &Draft) -> String {
    let neck = |zone: &str| atlas.zone_named(zone).is_some_and(|z| atlas.zone(z).neck);
    if draft.blocked.iter().any(|(zone, _)| neck(zone)) {
        return text("routine.neck_left_out").to_owned();
    }
    let places: Vec<String> = draft.blocked.iter().map(|(zone, side)| zone_place(atlas, zone, *side)).collect();
    fill("routine.way_left_out", &[("places", &listed(&places))])
}

/// What is said at a step to many at once: who leaves it out, and what they do instead.
pub fn spoken(atlas: &Atlas, clearance: &Clearance, step: &Step) -> Vec<String> {
    let What::Target(target, technique) = step.what else { return Vec::new() };
    let spoken = clearance.spoken(atlas, target, step.side, technique);
    spoken.into_iter().map(|s| s.sentences(&Catalogue, atlas)).collect()
}

/// A group's or condition's question; its id if there is none.
pub fn question<'a>(atlas: &'a Atlas, id: &'a str) -> &'a str {
    let group = atlas.groups.iter().find(|g| g.id == id).map(|g| g.question.as_str());
    group.or_else(|| atlas.condition_named(id).map(|c| atlas.conditions[c.0].question.as_str())).unwrap_or(id)
}
