//! Checks a routine that was written by hand: the rules of the model less its fixed order.
//!
//! A hand-written routine may work its zones in any order. It must still have worked the way to the collarbone
//! before what lies on it, close what it opened, keep to the clearance and to what target, technique and tool
//! take, and fit its minutes. Each [`Breach`] names the step, the rule and the smallest repair; [`apply`] does
//! the repair. What only makes a routine better or worse (left and right alike, gain) is not checked.
//!
//! Applying the repair of the first breach again and again ends with a routine without breaches: a repair never
//! adds work, each one changes a step so that it breaks fewer rules, and what is inserted (an opening, a closing,
//! the oil) is inserted once. `tests/check.rs` holds it to that.

mod order;
mod person;
mod repair;
mod step;
mod time;
mod way;
mod words;

pub use repair::{Repair, apply};

use vocab::{Class, Pressure, Side};

use crate::atlas::{Atlas, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use crate::reading::RoutineFile;
use crate::screening::{Clearance, RuleRef};
use person::Person;

/// Every rule that a hand-written routine is checked against, in the order of reports.
///
/// Each has one canonical test, marked `// proves: RULE`.
pub const RULES: &[&str] = &[
    "side_exists",
    "never",
    "clearance",
    "gently",
    "featherlight_beyond_skipped",
    "pressure_of_target",
    "technique_of_target",
    "technique_pressure",
    "technique_seconds",
    "technique_tool",
    "tool_at_hand",
    "neck_both_sides",
    "two_hands",
    "movement_order",
    "target_once",
    "targets_per_zone",
    "way_before_work",
    "oil_before_glide",
    "closed_after",
    "minutes",
];

/// What a routine does that it must not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Breach {
    /// The step (0-based); `None` when the whole is meant.
    pub step: Option<usize>,
    /// The rule, one of [`RULES`].
    pub rule: &'static str,
    /// What exactly is wrong.
    pub kind: BreachKind,
    /// The fewest changes that mend it.
    pub repair: Repair,
}

/// What exactly is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BreachKind {
    /// The target does not exist on this side.
    NoSuchSide(TargetIx, Side),
    /// The target is in the atlas, but not for the hand.
    NotForTheHand(TargetIx),
    /// Screening says stop: no routine today.
    Stop(Vec<RuleRef>),
    /// Screening says ask first or leave out.
    NotCleared(Class, Vec<RuleRef>),
    /// Screening says featherlight.
    TooHardToday(Vec<RuleRef>),
    /// The way from here to the collarbone is blocked at these, so only featherlight work is left.
    BeyondSkipped(Vec<(ZoneIx, Side)>),
    /// The target takes less.
    TooHardForTarget(TargetIx, Pressure),
    /// The target is not worked with this technique.
    NotOfTarget(TargetIx, TechniqueIx),
    /// The zone is opened, or closed, with another technique.
    NotOpening(ZoneIx, TechniqueIx),
    /// The zone is closed with another technique.
    NotClosing(ZoneIx, TechniqueIx),
    /// The technique can't take this pressure.
    NotOfTechnique(TechniqueIx, Pressure),
    /// The seconds are outside of what the technique takes (fewest, most).
    Seconds(TechniqueIx, u32, u32),
    /// The seconds are no whole number of laps (seconds of a lap, most laps).
    Laps(u32, u32),
    /// The technique is not done with this tool; `None`: the oil.
    WrongTool(Option<TechniqueIx>, ToolIx),
    /// The tool is not among those at hand.
    NotAtHand(ToolIx),
    /// Both sides of the neck at once.
    NeckBothSides(ZoneIx),
    /// This technique is not done left and right at once.
    OneHand(TechniqueIx),
    /// Left and right at once is for the two hands, not for a tool.
    BothNeedsHands(ToolIx),
    /// Openings and closings are done on one side, then the other.
    WayBothSides,
    /// Only the oil prepares, and the oil does nothing else.
    WrongMovement,
    /// The step stands among steps of another movement.
    OutOfOrder,
    /// The target is worked on this side in an earlier step.
    Twice(TargetIx, Side, usize),
    /// The zone has more targets on this side than it may (how many it may).
    ZoneFull(ZoneIx, Side, u32),
    /// A zone on the way is not opened before.
    NotOpened(ZoneIx, Side),
    /// The technique glides and no oil was spread.
    NoOil(TechniqueIx),
    /// The zone is opened and not closed after the last work beyond it (that step).
    NotClosed(ZoneIx, Side, usize),
    /// The whole is longer than its minutes (seconds it has, seconds it may have).
    TooLong(u32, u32),
}

impl BreachKind {
    /// The rule it breaks.
    pub fn rule(&self) -> &'static str {
        match self {
            BreachKind::NoSuchSide(..) => "side_exists",
            BreachKind::NotForTheHand(_) => "never",
            BreachKind::Stop(_) | BreachKind::NotCleared(..) => "clearance",
            BreachKind::TooHardToday(_) => "gently",
            BreachKind::BeyondSkipped(_) => "featherlight_beyond_skipped",
            BreachKind::TooHardForTarget(..) => "pressure_of_target",
            BreachKind::NotOfTarget(..) | BreachKind::NotOpening(..) | BreachKind::NotClosing(..) => {
                "technique_of_target"
            }
            BreachKind::NotOfTechnique(..) => "technique_pressure",
            BreachKind::Seconds(..) | BreachKind::Laps(..) => "technique_seconds",
            BreachKind::WrongTool(..) => "technique_tool",
            BreachKind::NotAtHand(_) => "tool_at_hand",
            BreachKind::NeckBothSides(_) => "neck_both_sides",
            BreachKind::OneHand(_) | BreachKind::BothNeedsHands(_) | BreachKind::WayBothSides => "two_hands",
            BreachKind::WrongMovement | BreachKind::OutOfOrder => "movement_order",
            BreachKind::Twice(..) => "target_once",
            BreachKind::ZoneFull(..) => "targets_per_zone",
            BreachKind::NotOpened(..) => "way_before_work",
            BreachKind::NoOil(_) => "oil_before_glide",
            BreachKind::NotClosed(..) => "closed_after",
            BreachKind::TooLong(..) => "minutes",
        }
    }
}

/// Everything that a routine does that it must not, in the order of its steps and of [`RULES`]; the whole comes
/// last. When screening says stop, that is the one breach.
pub fn check(atlas: &Atlas, routine: &RoutineFile, clearance: &Clearance) -> Vec<Breach> {
    if !clearance.stop.is_empty() && !routine.steps.is_empty() {
        let kind = BreachKind::Stop(clearance.stop.clone());
        return vec![Breach { step: None, rule: kind.rule(), kind, repair: Repair::StopToday }];
    }
    let person = Person::new(atlas, clearance, &routine.tools);
    let steps = &routine.steps;
    let mut found = Vec::new();
    found.extend(step::breaches(&person, steps));
    found.extend(order::breaches(&person, steps));
    found.extend(way::breaches(&person, steps));
    found.extend(time::breaches(&person, steps, routine.minutes));
    let rank = |rule: &str| RULES.iter().position(|r| *r == rule);
    found.sort_by_key(|b| (b.step.unwrap_or(usize::MAX), rank(b.rule)));
    found
}

/// The places on the ways of a routine's work whose opening is skipped, since clearance leaves them out: zone ids with sides.
/// Beyond them only featherlight work is left, and the page says so.
pub fn skipped(atlas: &Atlas, clearance: &Clearance, routine: &RoutineFile) -> Vec<(String, Side)> {
    let person = Person::new(atlas, clearance, &routine.tools);
    let mut found: Vec<(ZoneIx, Side)> = routine.steps.iter().flat_map(|step| person.skipped(step)).collect();
    found.sort_unstable();
    found.dedup();
    found.into_iter().map(|(zone, side)| (atlas.zone(zone).id.clone(), side)).collect()
}

/// A breach of a step.
fn breach(step: usize, kind: BreachKind, repair: Repair) -> Breach {
    Breach { step: Some(step), rule: kind.rule(), kind, repair }
}
