//! A routine as the session needs it.

use vocab::{Movement, Pressure, Side};

use super::endings;
use crate::atlas::{Atlas, Kind};
use crate::routine::{Place, Step, What, places, total_s, way};

/// The zones where a hold ends when it hurts, beside those of the neck.
const EYE: &str = "eye";
/// By so much a hold on a point or zone grows, in seconds.
const GROW_S: u32 = 5;
/// The first step, too, begins with a breath, in seconds.
const LEAD_S: u32 = 4;
/// So much later than planned is no reason yet to leave anything out, in seconds.
const SLACK_S: u32 = 15;

/// One step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hold {
    /// The routine's part.
    pub movement: Movement,
    /// Which target, counted inside of this score.
    pub target: usize,
    /// The side.
    pub side: Side,
    /// The tool, as the atlas counts.
    pub tool: usize,
    /// The zone, as the atlas counts; none for the oil.
    pub zone: Option<usize>,
    /// Seconds as planned.
    pub seconds: u32,
    /// An opening that ends before so many seconds counts as left out.
    pub least: u32,
    /// To so many seconds it may grow; never below what is planned.
    pub most: u32,
    /// By so many seconds it grows at once: five, or a lap of a line.
    pub grow: u32,
    /// How hard.
    pub pressure: Pressure,
    /// How soft its technique can be.
    pub softest: Pressure,
    /// At the eye or the neck: what hurts there ends.
    pub delicate: bool,
    /// The openings on its way, as steps of this score.
    pub needs: Vec<usize>,
    /// Of a closing: the openings that it closes.
    pub closes: Vec<usize>,
    /// Whether it needs the oil.
    pub glides: bool,
}

/// A shorter rest: what is left out after a step when it is so late.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ending {
    /// After the step at this place of the order.
    pub after: usize,
    /// When it is at most so many seconds late.
    pub late: u32,
    /// These steps are left out, and with them what only they needed.
    pub drop: Vec<usize>,
}

/// A routine as the session runs it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Score {
    /// The steps in order.
    pub steps: Vec<Hold>,
    /// Seconds for a change of tool, of side, of zone.
    pub change: [u32; 3],
    /// Seconds before the first step.
    pub lead: u32,
    /// Seconds that are spoken before each step, to a class.
    pub talk: u32,
    /// The seconds there are for the whole, talking included.
    pub budget: u32,
    /// So many seconds late is not late yet.
    pub slack: u32,
    /// The shorter rests, by place, then by how late it is; the last of each place is the close alone.
    pub endings: Vec<Ending>,
}

impl Score {
    /// The score of these steps, which came through the clearance, for as many minutes; `talk` seconds are spoken before each.
    pub fn new(atlas: &Atlas, steps: &[Step], minutes: u32, talk: u32) -> Score {
        let mut targets = Vec::new();
        let holds: Vec<Hold> = (0..steps.len()).map(|at| hold(atlas, steps, at, &mut targets)).collect();
        let planned = total_s(atlas, steps) + LEAD_S + talk * steps.len() as u32;
        let s = &atlas.settings;
        let mut score = Score {
            steps: holds,
            change: [s.change_tool_s, s.change_side_s, s.change_zone_s],
            lead: LEAD_S,
            talk,
            budget: planned.max(minutes * 60 + talk * steps.len() as u32),
            slack: SLACK_S,
            endings: Vec::new(),
        };
        score.endings = endings::endings(&score);
        score
    }

    /// How many targets there are.
    pub fn targets(&self) -> usize {
        self.steps.iter().map(|s| s.target + 1).max().unwrap_or(0)
    }

    /// Seconds between two steps, the talking before the second included; before the first step the lead.
    pub fn change_s(&self, from: Option<usize>, to: usize) -> u32 {
        let Some(from) = from.map(|i| &self.steps[i]) else { return self.lead + self.talk };
        let to = &self.steps[to];
        let [tool, side, zone] = self.change;
        let crossed = matches!((from.side, to.side), (Side::Left, Side::Right) | (Side::Right, Side::Left));
        let moved = from.zone.is_some() && to.zone.is_some() && from.zone != to.zone;
        let part = |yes: bool, s: u32| if yes { s } else { 0 };
        self.talk + part(from.tool != to.tool, tool) + part(crossed, side) + part(moved, zone)
    }
}

fn hold(atlas: &Atlas, steps: &[Step], at: usize, targets: &mut Vec<What>) -> Hold {
    let step = &steps[at];
    // A target is one thing, whatever is done there.
    let same = |other: &What| match (other, &step.what) {
        (What::Oil, What::Oil) => true,
        (What::Target(a, _), What::Target(b, _)) => a == b,
        _ => false,
    };
    let target = targets.iter().position(same).unwrap_or_else(|| {
        targets.push(step.what);
        targets.len() - 1
    });
    let (least, most, grow, softest, glides, delicate) = match step.what {
        What::Oil => (0, step.seconds, GROW_S, step.pressure, false, false),
        What::Target(target, technique) => {
            let (target, technique) = (atlas.target(target), atlas.technique(technique));
            let (least, most, grow) = match target.laps.filter(|_| step.movement == Movement::Work) {
                Some(laps) => (laps.lap_s, laps.lap_s * laps.most, laps.lap_s),
                None => (technique.seconds.0, technique.seconds.1, GROW_S),
            };
            let softest = technique.pressures.iter().copied().min().unwrap_or(step.pressure).min(step.pressure);
            let eye = |zone| atlas.zone_set(EYE).is_some_and(|set| set.zones.contains(zone));
            let delicate = target.crosses.iter().any(|z| atlas.zone(*z).neck || eye(z));
            (least.min(step.seconds), most.max(step.seconds), grow, softest, technique.glides, delicate)
        }
    };
    let opened = openings(atlas, &steps[..at]);
    let on_the_way = |places: Vec<Place>| {
        let last = |p: &Place| opened.iter().rfind(|(o, _)| o == p).map(|(_, i)| *i);
        let mut found: Vec<usize> = places.iter().filter_map(last).collect();
        found.sort_unstable();
        found.dedup();
        found
    };
    let closing = step.movement == Movement::Close;
    let needs = if closing { Vec::new() } else { on_the_way(way(atlas, step)) };
    let closes = if closing { on_the_way(places(atlas, step)) } else { Vec::new() };
    Hold {
        movement: step.movement,
        target,
        side: step.side,
        tool: step.tool.0,
        zone: step.zone(atlas).map(|z| z.0),
        seconds: step.seconds,
        least,
        most,
        grow,
        pressure: step.pressure,
        softest,
        delicate,
        needs,
        closes,
        glides: glides && step.movement == Movement::Work,
    }
}

/// Which step opens which place. A target that is the whole zone opens it, as the checker has it.
fn openings(atlas: &Atlas, steps: &[Step]) -> Vec<(Place, usize)> {
    let opens = |step: &Step| match step.what {
        What::Target(target, _) => step.movement == Movement::Open && atlas.target(target).kind == Kind::Zone,
        What::Oil => false,
    };
    let opening = steps.iter().enumerate().filter(|(_, s)| opens(s));
    opening.flat_map(|(i, s)| places(atlas, s).into_iter().map(move |p| (p, i))).collect()
}
