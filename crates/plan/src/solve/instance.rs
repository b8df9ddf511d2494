//! The optimisation problem of one request, with every number final: what another solver needs to be asked the
//! same question, and the only thing our own search reads.

use vocab::{Pressure, Side};

use crate::atlas::{Settings, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use crate::request::SideMode;

/// The problem.
#[derive(Clone, Debug)]
pub struct Instance {
    /// The minutes asked.
    pub minutes: u32,
    /// Seconds there are, transitions included.
    pub budget_s: u32,
    /// How left and right follow each other.
    pub side_mode: SideMode,
    /// Transitions, the oil's seconds and the limit of targets for a zone and side.
    pub settings: Settings,
    /// The tool `hands`, which spreads the oil.
    pub hands: ToolIx,
    /// Places that may have to be opened.
    pub places: Vec<Place>,
    /// One decision each, in the order of the work.
    pub items: Vec<Item>,
    /// Where a routine that has already begun stands; fresh for a whole routine.
    pub start: Start,
}

/// Where a routine stands when its rest is planned.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Start {
    /// Whether a step has been done, and its tool, side and zone.
    pub last: Option<(ToolIx, Side, Option<ZoneIx>)>,
    /// Places (by index) already opened; they are closed in any case.
    pub opened: Vec<usize>,
    /// Whether the oil is on the skin.
    pub oil_done: bool,
    /// Whether a rest without any work is an answer.
    pub may_be_empty: bool,
}

/// A zone on a side that may have to be opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The zone.
    pub zone: ZoneIx,
    /// Left, right or midline.
    pub side: Side,
    /// Steps to the outlet.
    pub depth: u32,
    /// Its opening; `None` when clearance leaves it out.
    pub open: Option<Passage>,
    /// Its closing; `None` when there is no opening or clearance leaves the closing out.
    pub close: Option<Passage>,
}

/// An opening or a closing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Passage {
    /// The zone as a target.
    pub target: TargetIx,
    /// With which technique.
    pub technique: TechniqueIx,
    /// With which tool.
    pub tool: ToolIx,
    /// How hard.
    pub pressure: Pressure,
    /// How long.
    pub seconds: u32,
}

/// Which sides an item decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decides {
    /// Left and right together, alike.
    Pair,
    /// One side, or the midline.
    One(Side),
}

/// A decision: at most one option, exactly one when required.
#[derive(Clone, Debug)]
pub struct Item {
    /// The target.
    pub target: TargetIx,
    /// Its zone.
    pub zone: ZoneIx,
    /// The zone's rank in the work.
    pub zone_rank: usize,
    /// The target's rank in its zone.
    pub target_rank: i64,
    /// Its weight, as a side of it counts.
    pub weight: u64,
    /// Which sides it decides.
    pub decides: Decides,
    /// Whether one option must be taken.
    pub required: bool,
    /// The options.
    pub options: Vec<Choice>,
}

/// A fixed choice of technique, tool and seconds for an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The technique.
    pub technique: TechniqueIx,
    /// The tool.
    pub tool: ToolIx,
    /// Whether it glides.
    pub needs_oil: bool,
    /// One step, or left and right.
    pub steps: Vec<ChoiceStep>,
    /// Places (by index) that must be opened before; skipped ones included.
    pub ways: Vec<usize>,
    /// Where it counts against the limit of targets for a zone and side.
    pub counts: Vec<(ZoneIx, Side)>,
}

/// A step of a choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChoiceStep {
    /// The side.
    pub side: Side,
    /// How hard.
    pub pressure: Pressure,
    /// How long.
    pub seconds: u32,
    /// Its gain in thousandths.
    pub gain: u64,
}

impl Choice {
    /// The gain of all its steps, in thousandths.
    pub fn gain(&self) -> u64 {
        self.steps.iter().map(|s| s.gain).sum()
    }
}

/// Gain of one step in integer thousandths, rounded once, half up, from the exact rational
/// `weight x technique/100 x tool/100 x (1 - (1 - x/full)^2) x 1000`, x at most `full`.
pub fn step_gain(weight: u64, technique_percent: u64, tool_percent: u64, x: u64, full: u64) -> u64 {
    let x = x.min(full);
    let numerator = weight * technique_percent * tool_percent * (2 * x * full - x * x);
    let denominator = 10 * full * full;
    (2 * numerator + denominator) / (2 * denominator)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gains_are_exact_and_round_half_up() {
        let check = |w, t, o, x, full, expected| {
            assert_eq!(step_gain(w, t, o, x, full), expected, "{w} {t} {o} {x}/{full}");
        };
        check(1, 100, 100, 20, 20, 1000);
        check(1, 100, 100, 10, 20, 750);
        check(3, 85, 90, 15, 20, 2152); // 3 x 0.85 x 0.9 x 15/16 = 2.1515625, half up to 2.152
        check(1, 100, 100, 40, 20, 1000);
        check(2, 70, 80, 1, 3, 622); // 2 x 0.7 x 0.8 x 5/9 = 0.6222
        check(1, 85, 90, 10, 20, 574); // 0.57375
        check(1, 70, 85, 15, 20, 558); // 0.5578125
        check(0, 100, 100, 20, 20, 0);
    }
}
