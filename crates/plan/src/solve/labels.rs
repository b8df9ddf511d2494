//! The exact pass over the fixed order: partial routines ("labels") with seconds, gain and what the next transition
//! depends on; a label falls when another is at least as good whatever follows, or when even the bound on what can
//! follow does not reach the best routine known.

use std::cmp::Ordering;

use crate::routine::Step;
use crate::solve::assemble::{assemble, tie_key};
use crate::solve::bound::{Bound, NONE, small, usable};
use crate::solve::compact::{CItem, COption, Compact, Frame, NO_ZONE, PAST_ZONE, Places, Sig};

/// What the rest of a routine depends on, besides seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct State {
    /// Last step of each track; of the first track, what stands before the work while it is empty.
    last: [Option<Sig>; 3],
    /// First step of the second and third track.
    first: [Option<Sig>; 2],
    /// Targets so far in this zone on the left (or midline) and on the right, where the limit can bind.
    counts: [u8; 2],
}

#[derive(Clone, Copy, Debug)]
struct Label {
    state: State,
    time: u32,
    gain: i32,
    /// Index into the chosen options so far; `u32::MAX` for none.
    node: u32,
}

/// A chosen option and what was chosen before it.
struct Node {
    before: u32,
    item: u16,
    option: u16,
}

const NO_NODE: u32 = u32::MAX;

/// What a pass found.
pub(super) struct Found {
    /// Chosen (item, original option) pairs in item order.
    pub chosen: Vec<(usize, usize)>,
    pub gain: i32,
    pub total_s: u32,
}

/// How a pass is run.
pub(super) struct Pass<'a> {
    pub compact: &'a Compact<'a>,
    pub shell: Places,
    pub oil: bool,
    pub frame: Frame,
    pub bound: &'a Bound,
    pub budget_s: u32,
    /// Keep only so many labels an item (a heuristic pass), or all.
    pub width: Option<usize>,
    /// Only the gain matters: ties need not be told apart.
    pub gain_only: bool,
}

/// More labels than this in one layer, and the pass gives up being exact.
const MOST_LABELS: usize = 400_000;

impl Pass<'_> {
    /// Runs the pass; `floor` is the gain to reach (or to beat, when only the gain matters). The second value says
    /// whether the pass was exact.
    pub fn run(&self, floor: i32) -> (Option<Found>, bool) {
        let c = self.compact;
        let mut nodes: Vec<Node> = Vec::new();
        let state = State { last: [self.frame.before, None, None], first: [None, None], counts: [0, 0] };
        let mut labels = vec![Label { state, time: self.frame.before_s, gain: 0, node: NO_NODE }];
        let mut exact = true;
        for (i, item) in c.items.iter().enumerate() {
            let mut next: Vec<Label> = Vec::with_capacity(labels.len() * 4);
            for label in &labels {
                if !item.required {
                    self.keep(&mut next, i, *label, floor);
                }
                for (o, option) in item.options.iter().enumerate() {
                    if !usable(option, self.shell, self.oil) {
                        continue;
                    }
                    if let Some(mut longer) = self.extend(label, item, option) {
                        longer.node = u32::try_from(nodes.len()).unwrap_or(NO_NODE);
                        let before = next.len();
                        self.keep(&mut next, i, longer, floor);
                        if next.len() > before {
                            nodes.push(Node { before: label.node, item: i as u16, option: o as u16 });
                        }
                    }
                }
            }
            labels = self.dominate(next, item, &nodes);
            if let Some(width) = self.width
                && labels.len() > width
            {
                labels.sort_by_key(|l| (-self.reach(i + 1, l), l.time));
                labels.truncate(width);
            }
            if labels.len() > MOST_LABELS {
                labels.sort_by_key(|l| (-self.reach(i + 1, l), l.time));
                labels.truncate(MOST_LABELS / 8);
                exact = false;
            }
        }
        (self.best(&labels, &nodes), exact)
    }

    /// Adds the label as it stands after item `i`, unless it cannot reach the floor.
    fn keep(&self, next: &mut Vec<Label>, i: usize, mut label: Label, floor: i32) {
        let item = &self.compact.items[i];
        if !item.same_zone_next {
            label.state.counts = [0, 0];
        }
        self.forget(&mut label.state, i + 1);
        if label.time + self.frame.after_s > self.budget_s {
            return;
        }
        let reach = self.reach(i + 1, &label);
        if reach > NONE / 2 && (reach > floor || (reach == floor && !self.gain_only)) {
            next.push(label);
        }
    }

    /// An upper bound on the gain of any routine that goes on from this label at item `i`.
    fn reach(&self, i: usize, label: &Label) -> i32 {
        let Some(left) = self.budget_s.checked_sub(label.time + self.frame.after_s) else { return NONE };
        let c = self.compact;
        let zone = c.items.get(i).map(|item| item.zone);
        let inside = |sig: Option<Sig>| sig.is_none_or(|s| s.zone == NO_ZONE || Some(s.zone) == zone);
        let (state, credit) = if c.tracks == 1 {
            let side = label.state.last[0].map_or(0, |s| s.side);
            // What stands before the work may lie in a later zone, or in none: then the entry may be free.
            let credit = if label.node == NO_NODE { c.zone_s } else { 0 };
            (usize::from(side) * 2 + usize::from(inside(label.state.last[0])), credit)
        } else {
            let [left_last, right_last, middle_last] = label.state.last;
            let bits = usize::from(inside(left_last))
                | usize::from(right_last.is_some() && inside(right_last)) << 1
                | usize::from(middle_last.is_some() && inside(middle_last)) << 2;
            (bits, 3 * c.zone_s)
        };
        let rest = self.bound.at(i, state, left + credit);
        if rest <= NONE / 2 { NONE } else { label.gain + rest }
    }

    fn extend(&self, label: &Label, item: &CItem, option: &COption) -> Option<Label> {
        let c = self.compact;
        let mut label = *label;
        label.gain += small(option.gain);
        label.time += option.cost;
        if item.counted {
            let limit = c.instance.settings.targets_per_zone;
            for (count, more) in label.state.counts.iter_mut().zip(option.counts) {
                *count += more;
                if u32::from(*count) > limit {
                    return None;
                }
            }
        }
        let sig = |side: u8| Sig { tool: option.tool, side, zone: item.zone };
        if c.tracks == 1 {
            label.time += label.state.last[0].map_or(0, |last| c.transition(last, sig(option.first)));
            label.state.last[0] = Some(sig(option.last));
        } else {
            for (track, side) in option.track.iter().zip([option.first, option.last]) {
                let Some(track) = track else { continue };
                let track = usize::from(*track);
                let sig = sig(side);
                match label.state.last[track] {
                    Some(last) => label.time += c.transition(last, sig),
                    None if track > 0 => label.state.first[track - 1] = Some(sig),
                    None => {}
                }
                label.state.last[track] = Some(sig);
            }
        }
        (label.time + self.frame.after_s <= self.budget_s).then_some(label)
    }

    /// Replaces zones that no later step can have, so that labels that differ in nothing else meet.
    fn forget(&self, state: &mut State, item: usize) {
        let c = self.compact;
        let mut firsts = [state.first[0].map(|s| s.zone), state.first[1].map(|s| s.zone), None];
        firsts[2] = self.frame.after.map(|s| s.zone);
        for last in state.last.iter_mut().flatten() {
            let meets = firsts.contains(&Some(last.zone));
            if last.zone < PAST_ZONE && !meets && !c.zone_ahead(item, last.zone) {
                last.zone = PAST_ZONE;
            }
        }
        for k in 0..2 {
            let Some(first) = state.first[k] else { continue };
            let met = state.last[..=k].iter().flatten().any(|last| last.zone == first.zone);
            if first.zone < PAST_ZONE && !met && !c.zone_ahead(item, first.zone) {
                // PAST_ZONE meets PAST_ZONE nowhere: a first and a last of past zones are of different zones here.
                state.first[k] = Some(Sig { zone: PAST_ZONE - 1, ..first });
            }
        }
    }

    /// Drops labels that cannot be part of a best routine any more.
    fn dominate(&self, mut labels: Vec<Label>, item: &CItem, nodes: &[Node]) -> Vec<Label> {
        let c = self.compact;
        if labels.is_empty() {
            return labels;
        }
        // Whatever the states: enough seconds earlier and at least the gain.
        let free_counts = !(item.counted && item.same_zone_next);
        if free_counts {
            let joints = if c.tracks == 1 { 1 } else { 5 };
            let slack = (joints * c.largest_transition() + 1) as usize;
            let mut best = vec![NONE; self.budget_s as usize + 2];
            for l in &labels {
                let cell = &mut best[l.time as usize];
                *cell = (*cell).max(l.gain);
            }
            for t in 1..best.len() {
                best[t] = best[t].max(best[t - 1]);
            }
            labels.retain(|l| (l.time as usize).checked_sub(slack).is_none_or(|t| best[t] < l.gain));
        }
        labels.sort_unstable_by(|a, b| {
            a.state.cmp(&b.state).then(a.time.cmp(&b.time)).then(b.gain.cmp(&a.gain)).then(a.node.cmp(&b.node))
        });
        let mut kept: Vec<Label> = Vec::with_capacity(labels.len());
        for label in labels {
            // The last kept label of this state has the most gain so far.
            let Some(last) = kept.last().copied().filter(|k| k.state == label.state) else {
                kept.push(label);
                continue;
            };
            if label.gain > last.gain {
                kept.push(label);
            } else if label.gain == last.gain && label.time == last.time && !self.gain_only {
                self.settle_twins(&mut kept, label, nodes);
            }
        }
        kept
    }

    /// Among labels alike in state, time and gain keeps those whose list of steps can still be the smallest.
    fn settle_twins(&self, kept: &mut Vec<Label>, label: Label, nodes: &[Node]) {
        let alike = |k: &Label| k.state == label.state && k.time == label.time && k.gain == label.gain;
        let start = kept.iter().rposition(|k| !alike(k)).map_or(0, |p| p + 1);
        let mine = self.tracks_of(label.node, nodes);
        let mut i = start;
        while i < kept.len() {
            let theirs = self.tracks_of(kept[i].node, nodes);
            match self.compare(&mine, &theirs) {
                Some(Ordering::Less) => {
                    kept.remove(i);
                }
                Some(_) => return,
                None => i += 1,
            }
        }
        kept.push(label);
    }

    /// The steps so far, by track.
    fn tracks_of(&self, node: u32, nodes: &[Node]) -> [Vec<Step>; 3] {
        let mut tracks = [Vec::new(), Vec::new(), Vec::new()];
        for (item, option) in chain(node, nodes) {
            let c = self.compact;
            let original = c.items[item].options[option].original;
            let chosen = &c.instance.items[item].options[original];
            for (k, step) in chosen.steps.iter().enumerate() {
                let track = c.items[item].options[option].track[k].unwrap_or(0);
                tracks[usize::from(track)].push(Step {
                    movement: vocab::Movement::Work,
                    what: crate::routine::What::Target(c.instance.items[item].target, chosen.technique),
                    side: step.side,
                    tool: chosen.tool,
                    pressure: step.pressure,
                    seconds: step.seconds,
                });
            }
        }
        tracks
    }

    /// Which list of steps will be smaller whatever follows; `None` while that is open.
    fn compare(&self, mine: &[Vec<Step>; 3], theirs: &[Vec<Step>; 3]) -> Option<Ordering> {
        let atlas = self.compact.atlas;
        for (a, b) in mine.iter().zip(theirs) {
            for (x, y) in a.iter().zip(b) {
                match tie_key(atlas, x).cmp(&tie_key(atlas, y)) {
                    Ordering::Equal => {}
                    decided => return Some(decided),
                }
            }
            if a.len() != b.len() {
                return None;
            }
        }
        Some(Ordering::Equal)
    }

    fn best(&self, labels: &[Label], nodes: &[Node]) -> Option<Found> {
        let c = self.compact;
        let may_be_empty = c.instance.start.may_be_empty;
        let finished = labels.iter().filter(|l| may_be_empty || l.node != NO_NODE).filter_map(|l| {
            let total = self.finish(l);
            (total <= self.budget_s).then_some((l, total))
        });
        let mut best: Option<(i32, u32, Vec<u32>)> = None;
        for (label, total) in finished {
            match &mut best {
                Some((gain, time, found)) => match (label.gain.cmp(gain), total.cmp(time)) {
                    (Ordering::Greater, _) | (Ordering::Equal, Ordering::Less) => {
                        best = Some((label.gain, total, vec![label.node]));
                    }
                    (Ordering::Equal, Ordering::Equal) => found.push(label.node),
                    _ => {}
                },
                None => best = Some((label.gain, total, vec![label.node])),
            }
        }
        let (gain, total_s, found) = best?;
        let originals = |node: u32| -> Vec<(usize, usize)> {
            let mut chosen: Vec<(usize, usize)> =
                chain(node, nodes).map(|(item, option)| (item, c.items[item].options[option].original)).collect();
            chosen.sort_unstable();
            chosen
        };
        let chosen = if self.gain_only {
            originals(found[0])
        } else {
            let lists = found.into_iter().map(originals);
            lists
                .min_by(|a, b| compare_lists(c, &assemble(c.atlas, c.instance, a), &assemble(c.atlas, c.instance, b)))?
        };
        Some(Found { chosen, gain, total_s })
    }

    /// The length of the whole routine if nothing more is added.
    fn finish(&self, label: &Label) -> u32 {
        let c = self.compact;
        let mut time = label.time;
        let mut at = label.state.last[0];
        for k in 0..2 {
            if let (Some(first), Some(last)) = (label.state.first[k], label.state.last[k + 1]) {
                time += at.map_or(0, |from| c.transition(from, first));
                at = Some(last);
            }
        }
        if let (Some(from), Some(to)) = (at, self.frame.after) {
            time += c.transition(from, to);
        }
        time + self.frame.after_s
    }
}

/// Compares two routines of equal gain and length.
pub(super) fn compare_lists(compact: &Compact<'_>, a: &[Step], b: &[Step]) -> Ordering {
    let key = |s| tie_key(compact.atlas, s);
    a.iter().map(key).cmp(b.iter().map(key))
}

/// The chosen options from a node back to the first, put in item order.
fn chain(node: u32, nodes: &[Node]) -> impl Iterator<Item = (usize, usize)> {
    let mut chosen = Vec::new();
    let mut at = node;
    while at != NO_NODE {
        let n = &nodes[at as usize];
        chosen.push((usize::from(n.item), usize::from(n.option)));
        at = n.before;
    }
    chosen.into_iter().rev()
}
