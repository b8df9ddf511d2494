//! Sides: which is meant, the same on the other side, a whole side again.

use plan::atlas::{Atlas, TargetIx};
use vocab::{Side, Sides};

use super::clause::{Clause, Kind};
use super::fold::{Fold, Open};
use super::heard::Said as SaidSide;
use super::length::Length;
use super::lexicon::Lexicon;
use super::place::Mention;
use super::stream::Break;

impl Fold<'_> {
    /// What is known of the side from the clause alone.
    pub(super) fn told(&self, clause: &Clause, mention: &Mention) -> Option<Side> {
        let lateral = mention.targets.iter().any(|t| self.atlas.target(*t).sides == Sides::Lateral);
        if !lateral {
            return Some(Side::Midline);
        }
        let this = |side: Side| clause.sides.contains(&SaidSide::This(side));
        if this(Side::Left) && this(Side::Right) || this(Side::Both) && !this(Side::Left) && !this(Side::Right) {
            return Some(Side::Both);
        }
        if this(Side::Left) {
            return Some(Side::Left);
        }
        if this(Side::Right) {
            return Some(Side::Right);
        }
        if clause.sides.contains(&SaidSide::Other) {
            return self.other();
        }
        None
    }

    pub(super) fn other(&self) -> Option<Side> {
        let last = self.steps.iter().rev().find_map(|s| s.side.filter(|s| matches!(s, Side::Left | Side::Right)));
        match last.or(self.side) {
            Some(Side::Left) => Some(Side::Right),
            Some(Side::Right) => Some(Side::Left),
            _ => None,
        }
    }

    /// The last place was done on one side and then on the other: what comes next is no longer of that side.
    pub(super) fn closed(&self) -> bool {
        let [.., first, second] = self.steps.as_slice() else { return false };
        let one = |s: Option<Side>| matches!(s, Some(Side::Left | Side::Right));
        first.targets == second.targets
            && first.side != second.side
            && (second.copied || one(first.side) && one(second.side))
    }

    /// What is done again as a whole and was not named one by one, before what is said at this time.
    pub(super) fn flush(&mut self, time: Option<f64>) {
        for mut step in std::mem::take(&mut self.expected) {
            step.time = match (step.time, time) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, _) => a,
            };
            self.steps.push(step);
        }
    }

    /// A place of a side that is done again as a whole is named: it is done now.
    pub(super) fn awaited(&mut self, clause: &Clause, mention: &Mention) -> bool {
        if self.expected.is_empty() || clause.sides.contains(&SaidSide::This(Side::Both)) {
            return false;
        }
        let row = |t: &TargetIx| self.atlas.target(*t);
        let general = mention.weight <= 3;
        let same = |s: &Open| s.targets.iter().any(|t| mention.targets.contains(t));
        let zone = |s: &Open| s.targets.iter().any(|t| mention.targets.iter().any(|m| row(m).zone == row(t).zone));
        // A line is called by where it comes to.
        let ends = |s: &Open| {
            s.targets.iter().any(|t| mention.targets.iter().any(|m| row(t).crosses.contains(&row(m).zone)))
                && clause.actions.iter().any(|a| s.actions.iter().any(|b| a == b))
        };
        let does =
            |s: &Open| clause.actions.is_empty() || clause.actions.iter().any(|a| s.actions.iter().any(|b| a == b));
        let at = self.expected.iter().position(same);
        let at = at.or_else(|| self.expected.iter().position(|s| general && zone(s)));
        // Otherwise what is next in the row counts, but for one that was left out.
        let at = at.or_else(|| self.expected.iter().take(2).position(|s| zone(s) && does(s) || ends(s)));
        let Some(at) = at else { return false };
        self.done_now(clause, at);
        true
    }

    /// The step of the row that is done now; those before it were done without a word.
    fn done_now(&mut self, clause: &Clause, at: usize) {
        let first = &self.stream.words[clause.words.0];
        let (time, passage) = (first.time, first.passage);
        let rest = self.expected.split_off(at + 1);
        let mut found = self.expected.pop();
        self.flush(time);
        if let Some(found) = &mut found {
            (found.time, found.passage) = (time, passage);
            found.said = (clause.words.0, clause.words.1 - 1);
            if clause.length.is_some() {
                found.length = clause.length;
            }
        }
        self.steps.extend(found);
        self.expected = rest;
    }

    /// "back along underneath", after a silence, while a whole side is being done again: its next step.
    pub(super) fn next_in_row(&mut self, lexicon: &Lexicon, clause: &Clause, clauses: &[Clause]) -> bool {
        if self.expected.is_empty() || clause.kind < Kind::Name || !clause.sides.is_empty() {
            return false;
        }
        let words = &self.stream.words;
        let passage = words[clause.words.0].passage;
        let opens = clause.words.0 == 0 || words[clause.words.0 - 1].passage != passage;
        let all = words[clause.words.0..].iter().take_while(|w| w.passage == passage).count();
        let placed = clauses
            .iter()
            .any(|c| words[c.words.0].passage == passage && (!c.mentions.is_empty() || !c.aside.is_empty() || c.out));
        let does = clause.actions.iter().any(|a| self.expected[0].actions.iter().any(|b| a == b));
        let lies = words[clause.words.0..clause.words.1].iter().any(|w| lexicon.known.contains_key(&w.stem));
        if !opens || placed || all > 10 || !(does || lies) {
            return false;
        }
        self.done_now(clause, 0);
        true
    }

    /// A side without a place: the same there.
    pub(super) fn other_side(&mut self, clauses: &[Clause], n: usize, clause: &Clause, begins_sentence: bool) -> bool {
        if clause.sides.is_empty() || clause.keep {
            return false;
        }
        let Some(cur) = self.steps.last().cloned() else {
            // "the right side, and then the other": the first of them is meant.
            let told = clause.sides.iter().find_map(|s| match s {
                SaidSide::This(side) => Some(*side),
                SaidSide::Other => None,
            });
            // "... and then we repeat it on the left": what comes first is the other side.
            let first = match told {
                Some(Side::Left) if clause.same => Some(Side::Right),
                Some(Side::Right) if clause.same => Some(Side::Left),
                told => told,
            };
            if !(self.side.is_some() && told.is_some() && (clause.next || clause.same)) {
                self.side = first.or(self.side);
            }
            return true;
        };
        let passage = self.stream.words[clause.words.0].passage;
        let Some(side) = self.said_side(clause) else { return false };
        if clause.block {
            return self.block(clause, side);
        }
        if !matches!(cur.side, Some(Side::Left | Side::Right | Side::Both)) {
            self.side = Some(side);
            return false;
        }
        if cur.side == Some(side) {
            if let Some(last) = self.steps.last_mut() {
                last.side_sure = last.side_sure.max(0.9);
            }
            self.side = Some(side);
            return false;
        }
        let together = cur.passage == passage;
        let turns = clause.next
            || clause.same
            || clause.sides.contains(&SaidSide::Other)
            || self.stream.words[clause.words.0].raw == "and"
            || begins_sentence;
        // The side of the step that is being told was still open.
        if together && cur.side_sure < 0.8 && !(clause.next || clause.same || clause.sides.contains(&SaidSide::Other)) {
            if let Some(last) = self.steps.last_mut() {
                (last.side, last.side_sure) = (Some(side), 0.95);
            }
            self.side = Some(side);
            return false;
        }
        if side == Side::Both {
            if together
                && cur.side_sure < 0.9
                && let Some(last) = self.steps.last_mut()
            {
                (last.side, last.side_sure) = (Some(side), 0.95);
            }
            if !together {
                self.side = Some(side);
            }
            return false;
        }
        if !turns && together {
            return false;
        }
        // "Start on the left": only what comes is meant.
        let begun = |w: &super::stream::Word| matches!(w.raw.as_str(), "start" | "begin" | "starting" | "beginning");
        let starts = self.stream.words[clause.words.0..clause.words.1].iter().any(begun);
        if starts && !clause.same && !clause.sides.contains(&SaidSide::Other) {
            (self.side, self.turned) = (Some(side), true);
            return true;
        }
        // "From the outer corner of your right eye, drop straight down ...": the way to what comes.
        let leads_on = clause.kind <= Kind::Go
            && clause.actions.is_empty()
            && !clause.same
            && !clause.sides.contains(&SaidSide::Other)
            && self.stream.words[clause.words.0].raw == "from";
        if leads_on {
            (self.side, self.turned) = (Some(side), true);
            return true;
        }
        // It was one side, though nobody said which.
        if cur.side == Some(Side::Both) && cur.side_sure < 0.8 {
            let first = if side == Side::Left { Side::Right } else { Side::Left };
            if let Some(last) = self.steps.last_mut() {
                (last.side, last.side_sure) = (Some(first), 0.7);
            }
        } else if cur.side == Some(Side::Both) && !clause.same && !clause.sides.contains(&SaidSide::Other) {
            self.side = Some(side);
            return false;
        }
        // "Over to the right. Middle of the brow ..." only turns to a side.
        let follows = clauses.get(n + 1).is_some_and(|c| {
            let w = &self.stream.words[c.words.0];
            w.before < Break::Pause
                && !c.mentions.is_empty()
                && !c.out
                && !c.mentions.iter().any(|m| m.targets.iter().any(|t| cur.targets.contains(t)))
        });
        self.side = Some(side);
        if follows && !clause.same {
            self.turned = true;
            return true;
        }
        self.copy(clause, &cur, side, clause.words_pair());
        true
    }

    pub(super) fn said_side(&self, clause: &Clause) -> Option<Side> {
        let this = |side: Side| clause.sides.contains(&SaidSide::This(side));
        match (this(Side::Left), this(Side::Right)) {
            (true, true) => Some(Side::Both),
            (true, false) => Some(Side::Left),
            (false, true) => Some(Side::Right),
            _ if clause.sides.contains(&SaidSide::Other) => self.other().or_else(|| {
                let both = self.steps.last().is_some_and(|s| s.side == Some(Side::Both) && s.side_sure < 0.8);
                both.then_some(Side::Right)
            }),
            _ => this(Side::Both).then_some(Side::Both),
        }
    }

    pub(super) fn copy(&mut self, clause: &Clause, from: &Open, side: Side, said: (usize, usize)) {
        let words = &self.stream.words;
        let mut step = from.clone();
        step.side = Some(side);
        step.side_sure = 0.95;
        step.spoken = Some(side);
        step.time = words[clause.words.0].time;
        step.first_said = from.first_said.or(Some(from.said));
        step.said = (clause.words.0, (clause.words.1 - 1).max(said.1));
        step.words = (clause.words.0, clause.words.1 - 1);
        step.passage = words[clause.words.0].passage;
        step.copied = true;
        self.turned = false;
        step.length = clause.length.or(from.length.map(|l| Length { sure: l.sure * 0.8, ..l }));
        if !clause.actions.is_empty() {
            step.actions.extend(clause.actions.iter().map(|a| (*a).to_owned()));
        }
        if !self.full(clause.words.0) {
            self.steps.push(step);
            self.side = Some(side);
        }
    }

    /// How many steps of the other side stand at the end.
    pub(super) fn run_of(&self, side: Side) -> usize {
        let other = if side == Side::Left { Side::Right } else { Side::Left };
        self.steps.iter().rev().take_while(|s| s.side == Some(other)).count()
    }

    /// Everything of one side again on this one.
    pub(super) fn block(&mut self, clause: &Clause, side: Side) -> bool {
        let from = match side {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
            _ => return false,
        };
        // The last step was done again by a slip: all of them are.
        let slip = |s: &Open| s.copied && s.side == Some(side);
        if let [.., before, last] = self.steps.as_slice()
            && slip(last)
            && before.side == Some(from)
        {
            self.steps.pop();
        }
        // A step whose side was guessed belongs to the side that is left.
        let begin = self.steps.iter().rposition(|s| s.side == Some(side)).map_or(0, |i| i + 1);
        let whole: Vec<Open> = self.steps[begin..].iter().filter(|s| s.side == Some(from)).cloned().collect();
        if whole.is_empty() {
            return false;
        }
        let now = self.stream.words[clause.words.0].time;
        for step in whole {
            self.copy(clause, &step.clone(), side, clause.words_pair());
            if let Some(mut last) = self.steps.pop() {
                // Told together, all at once: when each is done nobody says.
                last.time = now.or(last.time);
                last.length = step.length.map(|l| Length { sure: l.sure * 0.8, ..l });
                self.expected.push(last);
            }
        }
        self.side = Some(side);
        true
    }
}

/// A place that is only called by its zone on the second side is what was done there on the first.
pub(super) fn second_side(atlas: &Atlas, open: &mut [Open]) {
    for i in 1..open.len() {
        let other = match open[i].side {
            Some(Side::Left) => Side::Right,
            Some(Side::Right) => Side::Left,
            _ => continue,
        };
        if open[i].weight > 3
            || open[i].copied
            || open[i].actions.iter().any(|a| !matches!(a.as_str(), "stroke" | "scrape" | "roll"))
        {
            continue;
        }
        let zone = |t: &TargetIx| atlas.target(*t).zone;
        let near = |s: &Open| s.targets.iter().any(|t| open[i].targets.iter().any(|o| zone(o) == zone(t)));
        let done = |s: &Open| open[..i].iter().any(|o| o.side == open[i].side && o.targets == s.targets);
        let Some(first) = open[..i].iter().find(|s| s.side == Some(other) && near(s) && !done(s)).cloned() else {
            continue;
        };
        let actions = if open[i].actions.is_empty() { first.actions.clone() } else { open[i].actions.clone() };
        let step = &mut open[i];
        (step.targets, step.actions, step.copied) = (first.targets, actions, true);
        step.length = step.length.or(first.length.map(|l| Length { sure: l.sure * 0.7, ..l }));
    }
}
