//! The problem in the small numbers that the search works on.

use vocab::Side;

use crate::atlas::{Atlas, MOST_ROWS, ToolIx, ZoneIx};
use crate::request::SideMode;
use crate::solve::assemble::{closing_order, opening_order, side_block};
use crate::solve::build::tracks;
use crate::solve::instance::{Choice, Instance, Item};

/// What a transition depends on, of one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Sig {
    pub tool: u8,
    /// 0 for midline, both or none; 1 left; 2 right.
    pub side: u8,
    pub zone: u8,
}

/// No zone (the oil): costs nothing for the zone.
pub(super) const NO_ZONE: u8 = u8::MAX;
/// A zone that no later step has.
pub(super) const PAST_ZONE: u8 = u8::MAX - 1;

/// A set of places to open, a bit each.
pub(super) type Places = u128;
/// Most places that a problem may have.
pub(super) const MAX_PLACES: usize = 2 * MOST_ROWS;
const _: () = assert!(MAX_PLACES <= Places::BITS as usize);

pub(super) struct Compact<'a> {
    pub atlas: &'a Atlas,
    pub instance: &'a Instance,
    pub tracks: usize,
    pub items: Vec<CItem>,
    pub tool_s: u32,
    pub side_s: u32,
    pub zone_s: u32,
    /// For each item: zones of it and of all later items.
    pub zones_from: Vec<[u64; 4]>,
}

pub(super) struct CItem {
    pub zone: u8,
    pub required: bool,
    /// Whether the next item lies in the same zone.
    pub same_zone_next: bool,
    /// Whether the limit of targets for a zone and side can bind here.
    pub counted: bool,
    pub options: Vec<COption>,
}

#[derive(Clone)]
pub(super) struct COption {
    pub original: usize,
    pub gain: u64,
    /// Seconds of the steps, and of the transition between the two in one sequence.
    pub cost: u32,
    pub needs_oil: bool,
    pub ways: Places,
    pub tool: u8,
    /// Side code of the first and last step.
    pub first: u8,
    pub last: u8,
    /// The track of the first step (0 in a single sequence) and of the second.
    pub track: [Option<u8>; 2],
    pub counts: [u8; 2],
}

pub(super) fn side_code(side: Side) -> u8 {
    match side {
        Side::Left => 1,
        Side::Right => 2,
        Side::Midline | Side::Both => 0,
    }
}

fn in_set(set: &[u64; 4], zone: u8) -> bool {
    set[usize::from(zone / 64)] >> (zone % 64) & 1 == 1
}

impl<'a> Compact<'a> {
    pub fn new(atlas: &'a Atlas, instance: &'a Instance) -> Compact<'a> {
        let mode = instance.side_mode;
        let s = &instance.settings;
        let limit = s.targets_per_zone as usize;
        let items: Vec<CItem> = instance
            .items
            .iter()
            .enumerate()
            .map(|(i, item)| CItem {
                zone: zone_code(item.zone),
                required: item.required,
                same_zone_next: instance.items.get(i + 1).is_some_and(|next| next.zone == item.zone),
                counted: instance.items.iter().filter(|other| other.zone == item.zone).count() > limit,
                options: undominated(item, mode, s.change_side_s),
            })
            .collect();
        let mut zones_from = vec![[0u64; 4]; items.len() + 1];
        for i in (0..items.len()).rev() {
            zones_from[i] = zones_from[i + 1];
            let zone = items[i].zone;
            zones_from[i][usize::from(zone / 64)] |= 1 << (zone % 64);
        }
        Compact {
            atlas,
            instance,
            tracks: tracks(mode),
            items,
            tool_s: s.change_tool_s,
            side_s: s.change_side_s,
            zone_s: s.change_zone_s,
            zones_from,
        }
    }

    /// Whether the zone occurs among the items from `item` on.
    pub fn zone_ahead(&self, item: usize, zone: u8) -> bool {
        zone < PAST_ZONE && in_set(&self.zones_from[item], zone)
    }

    pub fn transition(&self, from: Sig, to: Sig) -> u32 {
        let tool = if from.tool == to.tool { 0 } else { self.tool_s };
        let side = if from.side + to.side == 3 && from.side != 0 && to.side != 0 { self.side_s } else { 0 };
        let zone = if from.zone == to.zone || from.zone == NO_ZONE || to.zone == NO_ZONE { 0 } else { self.zone_s };
        tool + side + zone
    }

    /// The largest transition there is.
    pub fn largest_transition(&self) -> u32 {
        self.tool_s + self.side_s + self.zone_s
    }

    /// What lies around the work when exactly `shell` is open, with or without the oil step.
    pub fn frame(&self, shell: Places, oil: bool) -> Frame {
        let instance = self.instance;
        let begun = instance.start.last.map(|(tool, side, zone)| Sig {
            tool: tool_code(tool),
            side: side_code(side),
            zone: zone.map_or(NO_ZONE, zone_code),
        });
        let mut before = Run { first: None, last: begun, seconds: 0 };
        let mut places: Vec<usize> = (0..instance.places.len()).filter(|p| shell >> p & 1 == 1).collect();
        let mut to_open: Vec<usize> = places.iter().copied().filter(|p| !instance.start.opened.contains(p)).collect();
        opening_order(self.atlas, instance, &mut to_open);
        for place in to_open.iter().map(|&p| &instance.places[p]) {
            if let Some(open) = &place.open {
                let sig = sig(open.tool, place.side, place.zone);
                before.push(self, sig, open.seconds);
            }
        }
        if oil {
            let sig = Sig { tool: tool_code(instance.hands), side: 0, zone: NO_ZONE };
            before.push(self, sig, instance.settings.oil_s);
        }
        let mut after = Run { first: None, last: None, seconds: 0 };
        closing_order(self.atlas, instance, &mut places);
        for place in places.iter().map(|&p| &instance.places[p]) {
            if let (Some(_), Some(close)) = (&place.open, &place.close) {
                after.push(self, sig(close.tool, place.side, place.zone), close.seconds);
            }
        }
        Frame { before: before.last, before_s: before.seconds, after: after.first, after_s: after.seconds }
    }
}

/// What stands before and after the work.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub before: Option<Sig>,
    pub before_s: u32,
    pub after: Option<Sig>,
    pub after_s: u32,
}

struct Run {
    first: Option<Sig>,
    last: Option<Sig>,
    seconds: u32,
}

impl Run {
    fn push(&mut self, compact: &Compact<'_>, sig: Sig, seconds: u32) {
        self.seconds += self.last.map_or(0, |last| compact.transition(last, sig)) + seconds;
        self.first = self.first.or(Some(sig));
        self.last = Some(sig);
    }
}

pub(super) fn zone_code(zone: ZoneIx) -> u8 {
    u8::try_from(zone.0).unwrap_or(PAST_ZONE - 1).min(PAST_ZONE - 1)
}

pub(super) fn tool_code(tool: ToolIx) -> u8 {
    u8::try_from(tool.0).unwrap_or(u8::MAX)
}

fn sig(tool: ToolIx, side: Side, zone: ZoneIx) -> Sig {
    Sig { tool: tool_code(tool), side: side_code(side), zone: zone_code(zone) }
}

fn option(original: usize, choice: &Choice, mode: SideMode, change_side_s: u32) -> COption {
    let track = |i: usize| choice.steps.get(i).map(|s| side_block(mode, s.side).saturating_sub(1));
    let seconds: u32 = choice.steps.iter().map(|s| s.seconds).sum();
    let inner = if choice.steps.len() == 2 && mode == SideMode::TargetByTarget { change_side_s } else { 0 };
    let mut counts = [0u8; 2];
    for (_, side) in &choice.counts {
        counts[usize::from(*side == Side::Right)] += 1;
    }
    COption {
        original,
        gain: choice.gain(),
        cost: seconds + inner,
        needs_oil: choice.needs_oil,
        ways: choice.ways.iter().fold(0, |set, p| set | 1 << p),
        tool: tool_code(choice.tool),
        first: choice.steps.first().map_or(0, |s| side_code(s.side)),
        last: choice.steps.last().map_or(0, |s| side_code(s.side)),
        track: [track(0), track(1)],
        counts,
    }
}

/// The options that can be part of a best routine: an option is dropped when another with the same tool and sides,
/// no more to open and no more need of oil gains as much in less time, or as much in the same time and comes first.
fn undominated(item: &Item, mode: SideMode, change_side_s: u32) -> Vec<COption> {
    let all: Vec<COption> = item.options.iter().enumerate().map(|(i, c)| option(i, c, mode, change_side_s)).collect();
    let order = |o: &COption| {
        let choice = &item.options[o.original];
        (choice.technique, choice.tool, choice.steps.iter().map(|s| s.seconds).max())
    };
    let beats = |a: &COption, b: &COption| {
        let same = a.tool == b.tool && a.first == b.first && a.last == b.last && a.track == b.track;
        let no_more = a.ways & !b.ways == 0 && a.needs_oil <= b.needs_oil && a.gain >= b.gain && a.cost <= b.cost;
        let strictly = a.gain > b.gain || a.cost < b.cost;
        // Equal gain and time: only when nothing else about the routine can differ does the order of names decide.
        let twin = a.gain == b.gain && a.cost == b.cost && a.ways == b.ways && a.needs_oil == b.needs_oil;
        same && no_more && (strictly || (twin && order(a) < order(b)))
    };
    let mut kept: Vec<COption> = all.iter().filter(|b| !all.iter().any(|a| beats(a, b))).cloned().collect();
    kept.sort_by_key(|o| (o.cost, o.original));
    kept
}
