//! The English of breaches and repairs; nothing else in this folder speaks.

use vocab::{Class, Movement, Side};

use super::person::Place;
use super::{Breach, BreachKind, Repair};
use crate::atlas::{Atlas, Shown, ToolIx, ZoneIx};
use crate::routine::{Step, What};
use crate::screening::{Clearance, RuleRef};

impl Breach {
    /// What is wrong, in one or two plain sentences. `steps` are those that were checked.
    pub fn message(&self, atlas: &Atlas, clearance: &Clearance, steps: &[Step]) -> String {
        let step = self.step.and_then(|at| steps.get(at)).map_or_else(String::new, |s| step_name(atlas, s));
        let technique = |ix: &crate::atlas::TechniqueIx| atlas.technique(*ix).name.as_str();
        let reasons = |rules: &[RuleRef]| {
            let said: Vec<String> = rules.iter().map(|r| clearance.reason(atlas, &r.id(atlas))).collect();
            if said.is_empty() { String::new() } else { format!(" {}", said.join(" ")) }
        };
        match &self.kind {
            BreachKind::NoSuchSide(target, side) => {
                let row = atlas.target(*target);
                let there = match row.sides {
                    vocab::Sides::Lateral => "left and right",
                    vocab::Sides::Midline => "once, on the midline",
                };
                format!("{} exists {there}, not \"{side}\".", row.name)
            }
            BreachKind::NotForTheHand(target) => match &atlas.target(*target).shown {
                Shown::Never(because) => format!("{} is not for the hand: {because}", atlas.target(*target).name),
                _ => format!("{} is not for the hand.", atlas.target(*target).name),
            },
            BreachKind::Stop(rules) => format!("No routine today.{}", reasons(rules)),
            BreachKind::NotCleared(Class::AskFirst, rules) => {
                format!("{step}: this asks for a clinician's word first.{}", reasons(rules))
            }
            BreachKind::NotCleared(_, rules) => format!("{step}: this must be left out today.{}", reasons(rules)),
            BreachKind::TooHardToday(rules) => format!("{step}: only featherlight today.{}", reasons(rules)),
            BreachKind::BeyondSkipped(skipped) => format!(
                "{step}: the way to the collarbone can't be worked at {}, so what lies beyond it takes featherlight only.",
                places(atlas, skipped)
            ),
            BreachKind::TooHardForTarget(_, most) => format!("{step}: this place takes {most} pressure at most."),
            BreachKind::NotOfTarget(_, with) => format!("{step}: this place is not worked with {}.", technique(with)),
            BreachKind::NotOpening(zone, with) => {
                format!("{step}: {} is opened as a whole, with {}.", atlas.zone(*zone).name, technique(with))
            }
            BreachKind::NotClosing(zone, with) => {
                format!("{step}: {} is closed as a whole, with {}.", atlas.zone(*zone).name, technique(with))
            }
            BreachKind::NotOfTechnique(with, pressure) => {
                format!("{step}: {} is not done with {pressure} pressure.", technique(with))
            }
            BreachKind::Seconds(with, min, max) => {
                format!("{step}: {} takes from {min} to {max} seconds.", technique(with))
            }
            BreachKind::Laps(lap, most) => {
                format!("{step}: a line takes whole laps, here of {lap} seconds, at most {most} of them.")
            }
            BreachKind::WrongTool(Some(with), with_tool) => {
                format!("{step}: {} is not done with {}.", technique(with), tool(atlas, *with_tool))
            }
            BreachKind::WrongTool(None, _) => format!("{step}: the oil is spread with the hands."),
            BreachKind::NotAtHand(with) => {
                format!("{step}: {} is not among the tools of this routine.", tool(atlas, *with))
            }
            BreachKind::NeckBothSides(zone) => format!(
                "{step}: it touches {} on both sides at once; the two sides of the neck are never worked at once.",
                atlas.zone(*zone).name
            ),
            BreachKind::OneHand(with) => format!("{step}: {} is not done left and right at once.", technique(with)),
            BreachKind::BothNeedsHands(with) => {
                format!("{step}: left and right at once is for the two hands, not for {}.", tool(atlas, *with))
            }
            BreachKind::WayBothSides => format!("{step}: openings and closings are done on one side, then the other."),
            BreachKind::WrongMovement => {
                format!("{step}: the oil is spread in the movement \"prepare\", and only the oil is.")
            }
            BreachKind::OutOfOrder => {
                format!("{step}: it stands out of order; a routine opens, then spreads the oil, works and closes.")
            }
            BreachKind::Twice(_, side, earlier) => {
                format!("{step}: this is worked {} in step {} already.", on(*side), earlier + 1)
            }
            BreachKind::ZoneFull(zone, side, most) => {
                format!("{step}: {} would have more than {most} targets.", place(atlas, (*zone, *side)))
            }
            BreachKind::NotOpened(zone, side) => format!(
                "{step}: {} lies on the way to the collarbone and is not opened before.",
                place(atlas, (*zone, *side))
            ),
            BreachKind::NoOil(with) => format!("{step}: {} glides, and no oil is spread before.", technique(with)),
            BreachKind::NotClosed(zone, side, last) => format!(
                "{} is opened here and not closed after step {}, the last that needs it.",
                capital(&place(atlas, (*zone, *side))),
                last + 1
            ),
            BreachKind::TooLong(total, most) => format!(
                "The routine takes {total} seconds with its changes of hand, {} more than its {} minutes.",
                total - most,
                most / 60
            ),
        }
    }

    /// The smallest repair, in plain words. `steps` are those that were checked; they are counted from 1.
    pub fn repair_words(&self, atlas: &Atlas, steps: &[Step]) -> String {
        match &self.repair {
            Repair::Insert { at, step } => {
                format!("Insert {}, {}.", whole_step(atlas, step), where_to(*at, None, steps.len()))
            }
            Repair::Change { at, to } => match steps.get(*at) {
                Some(from) => format!("In step {}, {}.", at + 1, changes(atlas, from, to)),
                None => format!("Make step {} {}.", at + 1, whole_step(atlas, to)),
            },
            Repair::Split { at } => format!("Do step {} on the left, then on the right, one side at a time.", at + 1),
            Repair::Move { from, to } => {
                format!("Move step {} {}.", from + 1, where_to(*to, Some(*from), steps.len()))
            }
            Repair::Drop { steps: gone, frees_s } => {
                let what = if gone.len() == steps.len() && gone.len() > 1 {
                    "Leave all steps out; nothing of this fits".to_owned()
                } else {
                    format!("Leave out {}", numbered(gone.iter().map(|at| at + 1)))
                };
                if *frees_s == 0 { format!("{what}.") } else { format!("{what}, which frees {frees_s} seconds.") }
            }
            Repair::Shorten { to, frees_s } => {
                let each: Vec<String> = to.iter().map(|(at, s)| format!("step {} to {s} seconds", at + 1)).collect();
                format!("Shorten {}, which frees {frees_s} seconds.", joined(&each))
            }
            Repair::StopToday => "Do no routine today; the reason says whom to ask.".to_owned(),
        }
    }
}

/// A step's place in words: "Small circles, chewing muscle, left".
fn step_name(atlas: &Atlas, step: &Step) -> String {
    match step.what {
        What::Oil => "Spreading the oil".to_owned(),
        What::Target(target, technique) => {
            let what = capital(&atlas.technique(technique).name);
            format!("{what}, {}{}", target_name(atlas, target.0), comma_side(step.side))
        }
    }
}

/// A target's name; a point's code stands with it.
fn target_name(atlas: &Atlas, ix: usize) -> String {
    let row = &atlas.targets[ix];
    match row.kind {
        crate::atlas::Kind::Point => format!("{} ({})", row.id, row.name),
        _ => row.name.clone(),
    }
}

/// Everything about a step that is to be inserted.
fn whole_step(atlas: &Atlas, step: &Step) -> String {
    let name = match step.what {
        What::Oil => "the oil".to_owned(),
        What::Target(target, technique) => {
            let movement = match step.movement {
                Movement::Open => "the opening of",
                Movement::Close => "the closing of",
                Movement::Prepare | Movement::Work => "the work on",
            };
            let name = target_name(atlas, target.0);
            format!("{movement} {name}{} ({})", comma_side(step.side), atlas.technique(technique).name)
        }
    };
    format!("{name}, with {}, {}, {} seconds", tool(atlas, step.tool), step.pressure, step.seconds)
}

/// What changes from one step to another.
fn changes(atlas: &Atlas, from: &Step, to: &Step) -> String {
    let mut said = Vec::new();
    if let (What::Target(t1, x1), What::Target(t2, x2)) = (from.what, to.what) {
        if t1 != t2 {
            said.push(format!("take {} as a whole", target_name(atlas, t2.0)));
        }
        if x1 != x2 {
            said.push(format!("use {}", atlas.technique(x2).name));
        }
    }
    if from.movement != to.movement {
        said.push(format!("set the movement to {}", to.movement));
    }
    if from.side != to.side {
        said.push(format!("set the side to {}", to.side));
    }
    if from.tool != to.tool {
        said.push(format!("take {}", tool(atlas, to.tool)));
    }
    if from.pressure != to.pressure {
        said.push(format!("set the pressure to {}", to.pressure));
    }
    if from.seconds != to.seconds {
        said.push(format!("set the time to {} seconds", to.seconds));
    }
    joined(&said)
}

/// Where a step goes, counted from 1 among the steps as they were: `from` is taken out first.
fn where_to(to: usize, from: Option<usize>, len: usize) -> String {
    // Without the step that is taken out, what stood behind it has moved up by one.
    let now = |index: usize| if from.is_some_and(|f| index >= f) { index + 1 } else { index };
    let left = len - usize::from(from.is_some());
    if to >= left { "to the end".to_owned() } else { format!("before step {}", now(to) + 1) }
}

/// A zone on a side, in words.
fn place(atlas: &Atlas, (zone, side): (ZoneIx, Side)) -> String {
    format!("{}{}", atlas.zone(zone).name, comma_side(side))
}

fn places(atlas: &Atlas, list: &[Place]) -> String {
    joined(&list.iter().map(|p| place(atlas, *p)).collect::<Vec<_>>())
}

fn tool(atlas: &Atlas, ix: ToolIx) -> String {
    match atlas.tool(ix).id.as_str() {
        crate::reading::HANDS => "the hands".to_owned(),
        _ => format!("the {}", atlas.tool(ix).name),
    }
}

/// A side behind a name; the midline goes without saying.
fn comma_side(side: Side) -> &'static str {
    match side {
        Side::Left => ", left",
        Side::Right => ", right",
        Side::Midline => "",
        Side::Both => ", both sides at once",
    }
}

fn on(side: Side) -> &'static str {
    match side {
        Side::Left => "on the left",
        Side::Right => "on the right",
        Side::Midline => "on the midline",
        Side::Both => "on both sides",
    }
}

fn numbered(steps: impl Iterator<Item = usize>) -> String {
    let all: Vec<String> = steps.map(|n| n.to_string()).collect();
    format!("{} {}", if all.len() == 1 { "step" } else { "steps" }, joined(&all))
}

/// A list in words: "a", "a and b", "a, b and c".
fn joined(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
