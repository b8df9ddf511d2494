//! From atlas, request and clearance to the optimisation problem; what falls away on the way is kept with its reason.

use std::collections::BTreeMap;

use vocab::{Class, Pressure, Side, Sides};

use crate::atlas::{Atlas, ConcernIx, Grade, Kind, Shown, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use crate::draft::{LeftOut, OutReason};
use crate::request::{Lock, Order, Request, SideMode};
use crate::screening::{Clearance, FELT};
use crate::solve::instance::{Choice, ChoiceStep, Decides, Instance, Item, Passage, Place, Start, step_gain};

/// How much a technique counts by its place in the target's order of preference, in percent.
const TECHNIQUE_FIT: [u64; 3] = [100, 85, 70];
/// How much a tool counts by its place in the technique's order of preference, in percent.
const TOOL_FIT: [u64; 3] = [100, 90, 80];

/// The problem with what explanations need.
pub(crate) struct Built {
    /// The problem.
    pub instance: Instance,
    /// Targets that serve the concerns and made no candidate, with the reason.
    pub excluded: Vec<LeftOut>,
    /// Why a target has its weight.
    pub weights: BTreeMap<TargetIx, Weight>,
    /// Locked or wanted targets that have no option left.
    pub impossible: Vec<TargetIx>,
    /// Steps softened by rules: (target, side) to rule ids.
    pub softened: BTreeMap<(TargetIx, Side), Vec<String>>,
    /// Zone-sides that may be worked, but not hard, since an opening on their way is skipped.
    pub beyond_skipped: BTreeMap<(ZoneIx, Side), Vec<(ZoneIx, Side)>>,
}

/// A target's weight and where it comes from.
#[derive(Clone, Debug, Default)]
pub(crate) struct Weight {
    /// The integer weight.
    pub total: u64,
    /// The concerns, with priority times link weight and grade.
    pub serves: Vec<(ConcernIx, u32, Grade)>,
    /// Whether it is the practitioner's own.
    pub own: bool,
}

/// A candidate that may be worked on a side.
struct Candidate {
    technique: TechniqueIx,
    tool: ToolIx,
    pressure: Pressure,
}

struct Builder<'a> {
    atlas: &'a Atlas,
    request: &'a Request,
    clearance: &'a Clearance,
    hands: ToolIx,
    /// For every zone-side: how it is opened, if clearance lets it.
    openings: BTreeMap<(ZoneIx, Side), Option<Passage>>,
    built: Built,
}

/// The rank of each zone in the work.
pub(crate) fn zone_ranks(atlas: &Atlas, order: &Order) -> Vec<usize> {
    let mut zones: Vec<ZoneIx> = (0..atlas.zones.len()).map(ZoneIx).collect();
    match order {
        Order::Outward => zones.sort_by_key(|&z| (atlas.zone(z).depth, atlas.zone(z).height)),
        Order::Downward => zones.sort_by_key(|&z| std::cmp::Reverse(atlas.zone(z).height)),
        Order::Own(own) => zones.sort_by_key(|&z| {
            let place = own.iter().position(|o| *o == z).unwrap_or(own.len());
            (place, atlas.zone(z).depth, atlas.zone(z).height)
        }),
    }
    let mut ranks = vec![0; zones.len()];
    for (rank, zone) in zones.into_iter().enumerate() {
        ranks[zone.0] = rank;
    }
    ranks
}

/// More than any rank of a target in its zone.
const FIRST: i64 = 1_000_000;

/// One class lighter.
fn lighter(pressure: Pressure) -> Pressure {
    match pressure {
        Pressure::Firm => Pressure::Light,
        _ => Pressure::Featherlight,
    }
}

/// Zone-sides that a target worked on `side` works: a midline target in a lateral zone works both its sides.
pub(crate) fn worked(atlas: &Atlas, target: TargetIx, side: Side) -> Vec<(ZoneIx, Side)> {
    let mut places = Vec::new();
    for &zone in &atlas.target(target).crosses {
        match (atlas.zone(zone).sides, side) {
            (Sides::Midline, _) => places.push((zone, Side::Midline)),
            (Sides::Lateral, Side::Left | Side::Right) => places.push((zone, side)),
            (Sides::Lateral, Side::Midline | Side::Both) => {
                places.extend([(zone, Side::Left), (zone, Side::Right)]);
            }
        }
    }
    places
}

/// Every zone-side whose opening a target worked on `side` needs.
pub(crate) fn ways(atlas: &Atlas, target: TargetIx, side: Side) -> Vec<(ZoneIx, Side)> {
    let mut all: Vec<(ZoneIx, Side)> =
        worked(atlas, target, side).into_iter().flat_map(|(zone, on)| atlas.way(zone, on)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Weights of all targets under a request.
pub(crate) fn weights(atlas: &Atlas, request: &Request) -> BTreeMap<TargetIx, Weight> {
    let mut weights: BTreeMap<TargetIx, Weight> = BTreeMap::new();
    for asked in &request.concerns {
        for link in &atlas.concerns[asked.concern.0].links {
            let weight = weights.entry(link.target).or_default();
            weight.total += u64::from(asked.priority * link.weight);
            weight.serves.push((asked.concern, asked.priority * link.weight, link.grade));
        }
    }
    for &(target, own) in &request.weights {
        let weight = weights.entry(target).or_default();
        *weight = Weight { total: u64::from(own), serves: std::mem::take(&mut weight.serves), own: true };
    }
    // What was tender counts half as much again, rounded up.
    for target in &request.tender {
        if let Some(weight) = weights.get_mut(target) {
            weight.total += weight.total.div_ceil(2);
        }
    }
    weights
}

/// A request's problem before anything is decided.
pub(crate) fn frame(atlas: &Atlas, request: &Request) -> Instance {
    Instance {
        minutes: request.minutes,
        budget_s: request.minutes * 60,
        side_mode: request.side_mode,
        settings: atlas.settings.clone(),
        hands: atlas.tool_named("hands").unwrap_or(ToolIx(0)),
        places: Vec::new(),
        items: Vec::new(),
        start: Start::default(),
    }
}

/// How much a technique and a tool count for a target, in percent, by their place in the orders of preference.
pub(crate) fn fits(atlas: &Atlas, target: TargetIx, technique: TechniqueIx, tool: ToolIx) -> (u64, u64) {
    let t = atlas.target(target).techniques.iter().position(|x| *x == technique).unwrap_or(2);
    let o = atlas.technique(technique).tools.iter().position(|x| *x == tool).unwrap_or(2);
    (TECHNIQUE_FIT[t.min(2)], TOOL_FIT[o.min(2)])
}

/// Builds the problem of a request for a person.
pub(crate) fn build(atlas: &Atlas, request: &Request, clearance: &Clearance) -> Built {
    let instance = frame(atlas, request);
    let hands = instance.hands;
    let built = Built {
        instance,
        excluded: Vec::new(),
        weights: weights(atlas, request),
        impossible: Vec::new(),
        softened: BTreeMap::new(),
        beyond_skipped: BTreeMap::new(),
    };
    let mut builder = Builder { atlas, request, clearance, hands, openings: BTreeMap::new(), built };
    builder.find_openings();
    builder.make_items();
    builder.built
}

impl Builder<'_> {
    fn tools_of(&self, technique: TechniqueIx) -> impl Iterator<Item = (usize, ToolIx)> + '_ {
        let tools = &self.atlas.technique(technique).tools;
        tools.iter().copied().enumerate().filter(|(_, tool)| self.request.tools.contains(tool) || *tool == self.hands)
    }

    /// How each zone-side that lies on some way is opened, outlet first, and which ways are blocked.
    fn find_openings(&mut self) {
        let atlas = self.atlas;
        let mut zones: Vec<ZoneIx> = (0..atlas.zones.len()).map(ZoneIx).collect();
        zones.sort_by_key(|&z| atlas.zone(z).depth);
        for zone in zones {
            for &side in atlas.zone(zone).sides.each() {
                let skipped: Vec<(ZoneIx, Side)> = atlas
                    .way(zone, side)
                    .into_iter()
                    .filter(|place| self.openings.get(place).is_some_and(Option::is_none))
                    .collect();
                let opening = self.opening(zone, side, !skipped.is_empty());
                self.openings.insert((zone, side), opening);
                if !skipped.is_empty() {
                    self.built.beyond_skipped.insert((zone, side), skipped);
                }
            }
        }
    }

    fn opening(&self, zone: ZoneIx, side: Side, blocked: bool) -> Option<Passage> {
        let data = self.atlas.zone(zone);
        let target = self.atlas.target_named(&data.id)?;
        self.tools_of(data.open_technique).find_map(|(_, tool)| {
            let verdict = self.clearance.of(self.atlas, target, side, data.open_technique, tool);
            verdict.class.allows().then(|| {
                let soft = blocked || verdict.class == Class::Gently;
                let most = if soft { Pressure::Featherlight } else { data.pressure };
                Passage {
                    target,
                    technique: data.open_technique,
                    tool,
                    pressure: capped(self.atlas, data.open_technique, most),
                    seconds: data.open_s,
                }
            })
        })
    }

    fn closing(&self, zone: ZoneIx, side: Side, open: &Passage) -> Option<Passage> {
        let data = self.atlas.zone(zone);
        let takes = self.atlas.technique(data.close_technique).tools.contains(&open.tool);
        let verdict = self.clearance.of(self.atlas, open.target, side, data.close_technique, open.tool);
        (takes && verdict.class.allows()).then(|| {
            let most = if verdict.class == Class::Gently { Pressure::Featherlight } else { open.pressure };
            Passage {
                technique: data.close_technique,
                seconds: data.close_s,
                pressure: capped(self.atlas, data.close_technique, most),
                ..open.clone()
            }
        })
    }

    fn place(&mut self, zone: ZoneIx, side: Side) -> usize {
        if let Some(ix) = self.built.instance.places.iter().position(|p| (p.zone, p.side) == (zone, side)) {
            return ix;
        }
        let open = self.openings.get(&(zone, side)).cloned().flatten();
        let close = open.as_ref().and_then(|open| self.closing(zone, side, open));
        let depth = self.atlas.zone(zone).depth;
        self.built.instance.places.push(Place { zone, side, depth, open, close });
        self.built.instance.places.len() - 1
    }

    fn make_items(&mut self) {
        let ranks = zone_ranks(self.atlas, &self.request.order);
        for ix in 0..self.atlas.targets.len() {
            let target = TargetIx(ix);
            let weight = self.built.weights.get(&target).map_or(0, |w| w.total);
            let asked_for = self.request.locked.iter().any(|l| l.target == target)
                || self.request.wanted.iter().any(|w| w.target == target);
            if weight == 0 && !asked_for {
                continue;
            }
            self.make_target(target, weight, &ranks);
        }
        let atlas = self.atlas;
        self.built.instance.items.sort_by(|a, b| {
            let key = |i: &Item| (i.zone_rank, i.target_rank);
            key(a)
                .cmp(&key(b))
                .then_with(|| atlas.target(a.target).id.cmp(&atlas.target(b.target).id))
                .then_with(|| side_of(a.decides).cmp(&side_of(b.decides)))
        });
    }

    fn make_target(&mut self, target: TargetIx, weight: u64, ranks: &[usize]) {
        let data = self.atlas.target(target);
        if let Shown::Never(reason) = &data.shown {
            self.exclude(target, data.sides.each(), &OutReason::Never(reason.clone()));
            self.note_impossible(target, None);
            return;
        }
        let sides: Vec<Side> = data
            .sides
            .each()
            .iter()
            .copied()
            .filter(|&side| !self.request.unwanted.iter().any(|w| w.target == target && covers(w.side, side)))
            .collect();
        let unwanted: Vec<Side> = data.sides.each().iter().copied().filter(|s| !sides.contains(s)).collect();
        self.exclude(target, &unwanted, &OutReason::Unwanted);

        let mut allowed: Vec<(Side, Vec<Candidate>)> = Vec::new();
        let mut out: Vec<(Side, OutReason)> = Vec::new();
        for &side in &sides {
            match self.candidates(target, side) {
                Ok(candidates) => allowed.push((side, candidates)),
                Err(reason) => out.push((side, reason)),
            }
        }
        let all_same = out.windows(2).all(|w| w[0].1 == w[1].1);
        if all_same && let Some((_, reason)) = out.first().cloned() {
            let sides: Vec<Side> = out.iter().map(|(side, _)| *side).collect();
            self.exclude(target, &sides, &reason);
        } else {
            for (side, reason) in &out {
                self.exclude(target, &[*side], reason);
            }
        }

        let free = self.request.free.contains(&target);
        let mut decisions: Vec<(Decides, Vec<Choice>)> = Vec::new();
        if let [(Side::Left, left), (Side::Right, right)] = allowed.as_slice()
            && !free
        {
            let options = self.pair_options(target, weight, left, right);
            if options.is_empty() {
                for (side, list) in &allowed {
                    decisions.push((Decides::One(*side), self.single_options(target, weight, *side, list)));
                }
            } else {
                decisions.push((Decides::Pair, options));
            }
        } else {
            for (side, list) in &allowed {
                decisions.push((Decides::One(*side), self.single_options(target, weight, *side, list)));
            }
        }

        let mut met = Vec::new();
        for (decides, mut options) in decisions {
            let lock = self.lock_for(target, decides);
            let wanted = self.request.wanted.iter().any(|w| w.target == target && concerns(w.side, decides));
            if let Some(lock) = lock {
                options.retain(|o| obeys(o, lock));
                if options.is_empty() {
                    self.built.impossible.push(target);
                    continue;
                }
            }
            met.push(decides);
            self.built.instance.items.push(Item {
                target,
                zone: data.zone,
                zone_rank: ranks[data.zone.0],
                target_rank: if self.request.tender.contains(&target) { data.rank - FIRST } else { data.rank },
                weight,
                decides,
                required: lock.is_some() || wanted,
                options,
            });
        }
        self.note_impossible(target, Some(&met));
    }

    /// Notes a lock or wish of this target that no item answers.
    fn note_impossible(&mut self, target: TargetIx, met: Option<&[Decides]>) {
        let asks = self.request.locked.iter().map(|l| (l.target, l.side));
        let wants = self.request.wanted.iter().map(|w| (w.target, w.side));
        for (_, side) in asks.chain(wants).filter(|(t, _)| *t == target) {
            let answered = met.is_some_and(|met| met.iter().any(|d| concerns(side, *d)));
            if !answered && !self.built.impossible.contains(&target) {
                self.built.impossible.push(target);
            }
        }
    }

    fn lock_for(&self, target: TargetIx, decides: Decides) -> Option<&Lock> {
        self.request.locked.iter().find(|l| l.target == target && concerns(l.side, decides))
    }

    fn exclude(&mut self, target: TargetIx, sides: &[Side], reason: &OutReason) {
        let side = match sides {
            [] => return,
            [one] => *one,
            _ => Side::Both,
        };
        self.built.excluded.push(LeftOut { target, side, reason: reason.clone() });
    }

    /// Allowed (technique, tool) for a target on a side with the lowered pressure, or why there is none.
    fn candidates(&mut self, target: TargetIx, side: Side) -> Result<Vec<Candidate>, OutReason> {
        let data = self.atlas.target(target);
        let blocked = worked(self.atlas, target, side).iter().any(|p| self.built.beyond_skipped.contains_key(p));
        let mut found = Vec::new();
        let mut strictest = Class::Go;
        let mut rules: Vec<String> = Vec::new();
        let mut too_soft: Vec<String> = Vec::new();
        let mut needs: Vec<ToolIx> = Vec::new();
        let mut softened: Vec<String> = Vec::new();
        for &technique in &data.techniques {
            needs.extend(self.atlas.technique(technique).tools.iter().copied());
            for (_, tool) in self.tools_of(technique) {
                let verdict = self.clearance.of(self.atlas, target, side, technique, tool);
                if !verdict.class.allows() {
                    strictest = strictest.max(verdict.class);
                    rules.extend(verdict.rule_ids(self.atlas));
                    continue;
                }
                let soft = blocked || verdict.class == Class::Gently;
                let felt = self.request.softer.contains(&target) && data.pressure > Pressure::Featherlight;
                let most = if felt { lighter(data.pressure) } else { data.pressure };
                let pressure = if soft { Pressure::Featherlight } else { most };
                if self.atlas.technique(technique).pressures.contains(&pressure) {
                    if verdict.class == Class::Gently && data.pressure > Pressure::Featherlight {
                        softened.extend(verdict.rule_ids(self.atlas));
                    }
                    if felt {
                        softened.push(FELT.to_owned());
                    }
                    found.push(Candidate { technique, tool, pressure });
                } else {
                    too_soft.extend(verdict.rule_ids(self.atlas));
                    if blocked {
                        too_soft.push("way_blocked".to_owned());
                    }
                    if felt {
                        too_soft.push(FELT.to_owned());
                    }
                }
            }
        }
        if !found.is_empty() {
            dedup(&mut softened);
            self.built.softened.insert((target, side), softened);
            return Ok(found);
        }
        dedup(&mut rules);
        dedup(&mut too_soft);
        needs.sort_unstable();
        needs.dedup();
        Err(if !rules.is_empty() {
            OutReason::Screening { class: strictest, rules }
        } else if !too_soft.is_empty() {
            OutReason::Pressure { rules: too_soft }
        } else {
            OutReason::Tool { needs }
        })
    }

    /// Seconds of each allowed length with the length in units of `full` (seconds, or laps of a line).
    fn lengths(&self, target: TargetIx, technique: TechniqueIx) -> (Vec<(u32, u64)>, u64) {
        let data = self.atlas.target(target);
        let settings = &self.atlas.settings;
        if let Some(laps) = data.laps {
            let lengths = (1..=laps.most).map(|lap| (lap * laps.lap_s, u64::from(lap))).collect();
            return (lengths, u64::from(settings.full_line_laps));
        }
        let (min, max) = self.atlas.technique(technique).seconds;
        let lengths = (min..=max).step_by(5).map(|s| (s, u64::from(s))).collect();
        let full = if data.kind == Kind::Point { settings.full_point_s } else { settings.full_zone_s };
        (lengths, u64::from(full))
    }

    fn single_options(&mut self, target: TargetIx, weight: u64, side: Side, list: &[Candidate]) -> Vec<Choice> {
        let factor = if side == Side::Midline { 2 } else { 1 };
        let mut options = Vec::new();
        for c in list {
            self.push_options(&mut options, target, c, &[(side, c.pressure)], weight * factor);
        }
        options
    }

    fn pair_options(&mut self, target: TargetIx, weight: u64, left: &[Candidate], right: &[Candidate]) -> Vec<Choice> {
        let at_once = self.request.both && !self.atlas.target(target).crosses.iter().any(|&z| self.atlas.zone(z).neck);
        let mut options = Vec::new();
        for l in left {
            let Some(r) = right.iter().find(|r| (r.technique, r.tool) == (l.technique, l.tool)) else { continue };
            let softer = l.pressure.min(r.pressure);
            let two_hands = self.atlas.technique(l.technique).two_hands
                && self.atlas.technique(l.technique).pressures.contains(&softer);
            if at_once && l.tool == self.hands && two_hands {
                self.push_options(&mut options, target, l, &[(Side::Both, softer)], weight * 2);
            } else {
                let sides = [(Side::Left, l.pressure), (Side::Right, r.pressure)];
                self.push_options(&mut options, target, l, &sides, weight);
            }
        }
        options
    }

    fn push_options(
        &mut self,
        options: &mut Vec<Choice>,
        target: TargetIx,
        candidate: &Candidate,
        sides: &[(Side, Pressure)],
        weight: u64,
    ) {
        let mut places: Vec<(ZoneIx, Side)> = sides.iter().flat_map(|(s, _)| ways(self.atlas, target, *s)).collect();
        places.sort_unstable();
        places.dedup();
        let ways: Vec<usize> = places.into_iter().map(|(zone, side)| self.place(zone, side)).collect();
        let zone = self.atlas.target(target).zone;
        let counts = sides
            .iter()
            .flat_map(|(side, _)| match (self.atlas.zone(zone).sides, side) {
                (Sides::Midline, _) => vec![(zone, Side::Midline)],
                (Sides::Lateral, Side::Left | Side::Right) => vec![(zone, *side)],
                (Sides::Lateral, _) => vec![(zone, Side::Left), (zone, Side::Right)],
            })
            .collect::<Vec<_>>();
        let (technique_fit, tool_fit) = fits(self.atlas, target, candidate.technique, candidate.tool);
        let (lengths, full) = self.lengths(target, candidate.technique);
        for (seconds, x) in lengths {
            let gain = step_gain(weight, technique_fit, tool_fit, x, full);
            options.push(Choice {
                technique: candidate.technique,
                tool: candidate.tool,
                needs_oil: self.atlas.technique(candidate.technique).glides,
                steps: sides
                    .iter()
                    .map(|(side, pressure)| ChoiceStep { side: *side, pressure: *pressure, seconds, gain })
                    .collect(),
                ways: ways.clone(),
                counts: counts.clone(),
            });
        }
    }
}

/// The most a technique can take that is not above `most`.
fn capped(atlas: &Atlas, technique: TechniqueIx, most: Pressure) -> Pressure {
    let takes = &atlas.technique(technique).pressures;
    takes.iter().copied().filter(|p| *p <= most).max().unwrap_or(Pressure::Featherlight)
}

fn dedup(rules: &mut Vec<String>) {
    rules.sort_unstable();
    rules.dedup();
}

fn side_of(decides: Decides) -> Side {
    match decides {
        Decides::Pair => Side::Left,
        Decides::One(side) => side,
    }
}

fn covers(asked: Option<Side>, side: Side) -> bool {
    matches!(asked, None | Some(Side::Both)) || asked == Some(side)
}

fn concerns(asked: Option<Side>, decides: Decides) -> bool {
    match decides {
        Decides::Pair => asked != Some(Side::Midline),
        Decides::One(side) => covers(asked, side),
    }
}

fn obeys(option: &Choice, lock: &Lock) -> bool {
    lock.technique.is_none_or(|t| t == option.technique)
        && lock.tool.is_none_or(|t| t == option.tool)
        && lock.seconds.is_none_or(|s| option.steps.iter().all(|step| step.seconds == s))
}

/// Whether a request's side mode keeps one sequence or three blocks.
pub(crate) fn tracks(mode: SideMode) -> usize {
    match mode {
        SideMode::TargetByTarget => 1,
        SideMode::SideBySide => 3,
    }
}
