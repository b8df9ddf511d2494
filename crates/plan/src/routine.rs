//! A routine as a list of steps, and its timeline.

use vocab::{Movement, Pressure, Side, Sides};

use crate::atlas::{Atlas, TargetIx, TechniqueIx, ToolIx, ZoneIx};

/// One step: target x side x technique x tool x pressure x seconds.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Step {
    /// The routine's part it belongs to.
    pub movement: Movement,
    /// What is worked.
    pub what: What,
    /// On which side; midline for the oil, which has none.
    pub side: Side,
    /// With which tool.
    pub tool: ToolIx,
    /// How hard.
    pub pressure: Pressure,
    /// How long.
    pub seconds: u32,
}

/// What a step does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum What {
    /// Spreading the oil: no zone, no side; in files target `oil`, technique `spread`.
    Oil,
    /// A target of the atlas with a technique.
    Target(TargetIx, TechniqueIx),
}

/// The id of the oil step's target and technique in files and JSON.
pub const OIL_TARGET: &str = "oil";
/// The technique id of the oil step.
pub const OIL_TECHNIQUE: &str = "spread";

impl Step {
    /// The target's id as written in files.
    pub fn target_id<'a>(&self, atlas: &'a Atlas) -> &'a str {
        match self.what {
            What::Oil => OIL_TARGET,
            What::Target(target, _) => &atlas.target(target).id,
        }
    }

    /// The technique's id as written in files.
    pub fn technique_id<'a>(&self, atlas: &'a Atlas) -> &'a str {
        match self.what {
            What::Oil => OIL_TECHNIQUE,
            What::Target(_, technique) => &atlas.technique(technique).id,
        }
    }

    /// The zone whose place in the order the step takes; none for the oil.
    pub fn zone(&self, atlas: &Atlas) -> Option<ZoneIx> {
        match self.what {
            What::Oil => None,
            What::Target(target, _) => Some(atlas.target(target).zone),
        }
    }
}

/// Seconds between two neighbouring steps: change of tool, of side (left to right or back), of zone by name.
/// A step without zone costs nothing for the zone.
pub fn transition_s(atlas: &Atlas, from: &Step, to: &Step) -> u32 {
    let s = &atlas.settings;
    let tool = if from.tool == to.tool { 0 } else { s.change_tool_s };
    let side = match (from.side, to.side) {
        (Side::Left, Side::Right) | (Side::Right, Side::Left) => s.change_side_s,
        _ => 0,
    };
    let zone = match (from.zone(atlas), to.zone(atlas)) {
        (Some(a), Some(b)) if a != b => s.change_zone_s,
        _ => 0,
    };
    tool + side + zone
}

/// When each step starts and ends, in seconds from the beginning; transitions lie between.
pub fn timeline(atlas: &Atlas, steps: &[Step]) -> Vec<(u32, u32)> {
    let mut now = 0;
    let mut times = Vec::with_capacity(steps.len());
    for (i, step) in steps.iter().enumerate() {
        if i > 0 {
            now += transition_s(atlas, &steps[i - 1], step);
        }
        times.push((now, now + step.seconds));
        now += step.seconds;
    }
    times
}

/// The length of the whole, transitions included, in seconds.
pub fn total_s(atlas: &Atlas, steps: &[Step]) -> u32 {
    timeline(atlas, steps).last().map_or(0, |t| t.1)
}

/// A zone on one side.
pub type Place = (ZoneIx, Side);

/// Every zone that a step touches, on every side on which it touches it; none for the oil.
pub fn places(atlas: &Atlas, step: &Step) -> Vec<Place> {
    let What::Target(target, _) = step.what else { return Vec::new() };
    let mut places = Vec::new();
    for &zone in &atlas.target(target).crosses {
        let sides: &[Side] = match (atlas.zone(zone).sides, step.side) {
            (Sides::Midline, _) => &[Side::Midline],
            (Sides::Lateral, Side::Left) => &[Side::Left],
            (Sides::Lateral, Side::Right) => &[Side::Right],
            (Sides::Lateral, Side::Both | Side::Midline) => &[Side::Left, Side::Right],
        };
        places.extend(sides.iter().map(|side| (zone, *side)));
    }
    places
}

/// The union of the ways of every place that a step touches, nearest first.
pub fn way(atlas: &Atlas, step: &Step) -> Vec<Place> {
    let mut all = Vec::new();
    for (zone, side) in places(atlas, step) {
        for place in atlas.way(zone, side) {
            if !all.contains(&place) {
                all.push(place);
            }
        }
    }
    all
}
