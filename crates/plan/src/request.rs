//! What a practitioner asks of the planner.

use std::ops::RangeInclusive;

use vocab::Side;

use crate::atlas::{ConcernIx, TargetIx, TechniqueIx, ToolIx, ZoneIx};

/// The minutes a request may have.
pub const MINUTES: RangeInclusive<i64> = 2..=60;
/// The priority a concern may have.
pub const PRIORITY: RangeInclusive<i64> = 1..=5;
/// The weight a practitioner may give a target.
pub const WEIGHT: RangeInclusive<i64> = 0..=100;

/// A request for a routine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// The minutes there are, transitions included.
    pub minutes: u32,
    /// The concerns with their priorities; at least one unless something is wanted or locked.
    pub concerns: Vec<Asked>,
    /// Tools at hand in data order, hands always among them.
    pub tools: Vec<ToolIx>,
    /// Whether lateral targets are done left and right at once where a technique allows.
    pub both: bool,
    /// How left and right follow each other.
    pub side_mode: SideMode,
    /// In which order zones are worked.
    pub order: Order,
    /// Steps that must be as given.
    pub locked: Vec<Lock>,
    /// Targets that must be in.
    pub wanted: Vec<Wish>,
    /// Targets that must not be in.
    pub unwanted: Vec<Wish>,
    /// Targets whose sides are decided apart.
    pub free: Vec<TargetIx>,
    /// Weights of the practitioner's own, in place of those of the concerns.
    pub weights: Vec<(TargetIx, u32)>,
    /// Targets that were tender or tight when last worked: they count half as much again and come first in their zone.
    pub tender: Vec<TargetIx>,
    /// Targets that were red or painful when last worked: one class lighter than they take.
    pub softer: Vec<TargetIx>,
    /// Whether the routine is for a video or a class: nobody can be screened.
    pub audience: bool,
    /// The answers file named by the request, relative to it.
    pub answers: Option<String>,
}

/// A concern with its priority.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The concern.
    pub concern: ConcernIx,
    /// 1 (a little) to 5 (above all).
    pub priority: u32,
}

/// How left and right follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SideMode {
    /// Each target left, then right.
    TargetByTarget,
    /// The left whole, then the right whole, then midline and both.
    SideBySide,
}

/// In which order zones are worked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    /// By depth from the outlet, then from low to high.
    Outward,
    /// From high to low.
    Downward,
    /// The practitioner's own; zones not named follow, outward.
    Own(Vec<ZoneIx>),
}

/// A target that must be in, or must not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wish {
    /// The target.
    pub target: TargetIx,
    /// Only on this side; `None`: wherever it may be worked.
    pub side: Option<Side>,
}

/// A step that must be as given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lock {
    /// The target.
    pub target: TargetIx,
    /// Only on this side; `None`: wherever it may be worked.
    pub side: Option<Side>,
    /// With this technique, if given.
    pub technique: Option<TechniqueIx>,
    /// With this tool, if given.
    pub tool: Option<ToolIx>,
    /// For so many seconds, if given; for a line a whole number of laps.
    pub seconds: Option<u32>,
}

impl Request {
    /// A plain request: target by target, outward, hands only, nothing locked.
    pub fn plain(minutes: u32, concerns: Vec<Asked>, hands: ToolIx) -> Request {
        Request {
            minutes,
            concerns,
            tools: vec![hands],
            both: false,
            side_mode: SideMode::TargetByTarget,
            order: Order::Outward,
            locked: Vec::new(),
            wanted: Vec::new(),
            unwanted: Vec::new(),
            free: Vec::new(),
            weights: Vec::new(),
            tender: Vec::new(),
            softer: Vec::new(),
            audience: false,
            answers: None,
        }
    }
}
