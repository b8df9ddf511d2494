//! From clauses to steps: which talk begins a step, which goes on about it, and what was left open.

use plan::atlas::{Atlas, Kind as Sort, Shown, TargetIx};
use plan::reading::{HANDS, MOST_STEPS};
use plan::routine::{Step, What};
use vocab::{Movement, Pressure, Side, Sides};

use super::clause::{Clause, Kind};
use super::heard::many;
use super::length::Length;
use super::lexicon::Lexicon;
use super::place::Mention;
use super::stream::{Break, Stream};
use super::{HeardStep, Recording, Said, Sure, choose, left};

/// A weak step that another place follows so soon was only the way there, in seconds.
const SOON_S: f64 = 9.0;

/// The weight of a code or a standard name.
const SURE: usize = 12;

/// A step that is still being told.
#[derive(Clone, Debug)]
pub(super) struct Open {
    pub targets: Vec<TargetIx>,
    pub weight: usize,
    pub words: (usize, usize),
    pub said: (usize, usize),
    /// Where it was told first, when it is only done again.
    pub first_said: Option<(usize, usize)>,
    pub time: Option<f64>,
    pub side: Option<Side>,
    /// How sure the side is: told at the place, told before, or guessed.
    pub side_sure: f64,
    pub actions: Vec<String>,
    pub finger: bool,
    pub hand: bool,
    pub tool: Option<String>,
    pub pressure: Option<Pressure>,
    pub length: Option<Length>,
    pub kind: Kind,
    pub starts: bool,
    pub passage: usize,
    /// Done again on another side: only a guess until more is said.
    pub copied: bool,
    pub listed: bool,
    /// Left or right, as it was said beside a place that has no sides.
    pub spoken: Option<Side>,
    /// What was done at the same place on another side, where nothing else is said.
    pub like: Option<(Vec<TargetIx>, Vec<String>, Option<Length>)>,
}

impl Open {
    pub(super) fn weak(&self) -> bool {
        self.actions.is_empty() && self.length.is_none() && !self.copied
    }
}

pub(super) struct Fold<'a> {
    pub(super) atlas: &'a Atlas,
    pub(super) stream: &'a Stream,
    pub(super) steps: Vec<Open>,
    /// The side last spoken for lateral work.
    pub(super) side: Option<Side>,
    /// It was turned to as a whole: "over to the right".
    pub(super) turned: bool,
    pub(super) tool: Option<String>,
    /// A place in talk, with its sentence and how many steps there were.
    pub(super) aside: Option<(Mention, usize, usize)>,
    /// The side that was said with it.
    pub(super) aside_side: Option<Side>,
    pub(super) unknown: Vec<Said>,
    pub(super) first_of_list: usize,
    /// A whole side that is being done again.
    pub(super) expected: Vec<Open>,
    /// A sentence that says where a line runs.
    pub(super) elaborates: Option<usize>,
    /// That no more steps are taken was told.
    told_full: bool,
}

/// The steps of clauses.
pub(super) fn fold(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, clauses: &[Clause]) -> Recording {
    let mut fold = Fold {
        atlas,
        stream,
        steps: Vec::new(),
        side: None,
        turned: false,
        tool: None,
        aside: None,
        aside_side: None,
        unknown: Vec::new(),
        first_of_list: 0,
        expected: Vec::new(),
        elaborates: None,
        told_full: false,
    };
    for (n, clause) in clauses.iter().enumerate() {
        fold.take(lexicon, clauses, n, clause);
    }
    fold.flush(None);
    let full = fold.told_full;
    let cautions = cautions(lexicon, stream);
    let unknown = std::mem::take(&mut fold.unknown);
    let mut open: Vec<Open> =
        fold.steps.into_iter().filter(|s| !(s.weak() && s.kind <= Kind::Find && !s.hand)).collect();
    // A heading: "Jaw day. Right masseter ..., left masseter ...".
    let heading = |a: &Open, b: &Open| {
        a.weak() && !a.hand && a.side_sure < 0.7 && !b.weak() && a.targets.iter().any(|t| b.targets.contains(t))
    };
    let headings: Vec<bool> = (0..open.len()).map(|i| open.get(i + 1).is_some_and(|b| heading(&open[i], b))).collect();
    let mut headings = headings.into_iter();
    open.retain(|_| headings.next() != Some(true));
    super::sides::second_side(atlas, &mut open);
    for step in &mut open {
        if let Some((targets, actions, length)) = step.like.take()
            && step.actions.is_empty()
        {
            (step.targets, step.actions) = (targets, actions);
            step.length = step.length.or(length.map(|l| Length { sure: l.sure * 0.8, ..l }));
        }
    }
    // Beyond the most steps only that is told.
    let unknown = if full { unknown } else { left::over(stream, clauses, &open, &cautions, unknown) };
    let steps = choose::steps(atlas, lexicon, stream, open);
    Recording { steps, cautions, not_understood: unknown }
}

impl Fold<'_> {
    fn take(&mut self, lexicon: &Lexicon, clauses: &[Clause], n: usize, clause: &Clause) {
        let words = &self.stream.words;
        let first = &words[clause.words.0];
        let begins_sentence = first.before >= Break::Sentence;
        if let Some(tool) = clause.tool {
            self.tool = Some(tool.to_owned());
        }
        for aside in &clause.aside {
            if self
                .aside
                .as_ref()
                .is_some_and(|(old, sentence, _)| *sentence == first.sentence && old.weight >= aside.weight)
            {
                continue;
            }
            self.aside = Some((aside.clone(), first.sentence, self.steps.len()));
            self.aside_side = self.told(clause, aside).filter(|s| *s != Side::Midline);
        }
        if clause.out {
            return;
        }
        if !clause.mentions.is_empty() {
            self.unfold(clauses, n, clause, begins_sentence);
            return;
        }
        // Of a side that is done again only the end of a line is named.
        if clause.kind > Kind::Talk && clause.aside.iter().any(|m| self.awaited(clause, m)) {
            return;
        }
        if self.next_in_row(lexicon, clause, clauses) {
            return;
        }
        // "The left now gets exactly what the right got."
        if clause.block
            && clause.sides.is_empty()
            && let Some(last) = self.steps.last().filter(|s| s.copied && s.passage == first.passage)
            && let Some(side) = last.side
        {
            let last = self.steps.pop();
            if !self.block(clause, side) {
                self.steps.extend(last);
            }
            return;
        }
        // "and the other half is still in bed" turns to no side.
        let half = words[clause.words.0..clause.words.1].iter().any(|w| matches!(w.raw.as_str(), "half" | "one"));
        let turns = !half || clause.block || clause.next || clause.same || clause.words.1 - clause.words.0 <= 5;
        if clause.kind == Kind::Talk && (clause.sides.is_empty() || !turns) {
            return;
        }
        if self.line_between(lexicon, clause) || self.told_aside(clause) {
            return;
        }
        self.not_known(lexicon, clause);
        if self.other_side(clauses, n, clause, begins_sentence) {
            return;
        }
        self.go_on(clause);
    }

    /// "Fingertips in the middle of the forehead. Draw them out to the temples": one line.
    fn line_between(&mut self, lexicon: &Lexicon, clause: &Clause) -> bool {
        let words = &self.stream.words;
        let passage = words[clause.words.0].passage;
        let strokes = clause.actions.iter().any(|a| matches!(*a, "stroke" | "scrape" | "roll"));
        let Some(cur) = self.steps.last().filter(|s| s.weak() && s.hand && s.passage == passage && strokes) else {
            return false;
        };
        let [end] = clause.aside.as_slice() else { return false };
        let parts = |(from, to): (usize, usize)| -> Vec<String> {
            let row = (from..=to).filter(|i| !super::lexicon::small(&words[*i].raw, None));
            lexicon.compared(row.map(|i| (words[i].stem.clone(), i, i)).collect()).into_iter().map(|w| w.0).collect()
        };
        let (begins, ends) = (parts(cur.words), parts(end.words));
        let way = lexicon.ways.iter().find(|w| {
            w.by.is_empty() && begins.iter().any(|b| w.from.contains(b)) && ends.iter().any(|e| w.to.contains(e))
        });
        let Some(line) = way.and_then(|w| self.atlas.target_named(&w.target)) else { return false };
        let plural = (cur.words.0..=end.words.1).any(|i| many(&words[i].raw));
        let sentence = words[clause.words.0].sentence;
        let side = match self.atlas.target(line).sides {
            Sides::Midline => Some(Side::Midline),
            Sides::Lateral => cur.side.filter(|s| *s != Side::Midline).or(plural.then_some(Side::Both)),
        };
        if let Some(last) = self.steps.last_mut() {
            (last.targets, last.weight, last.side) = (vec![line], 8, side.or(Some(Side::Both)));
        }
        self.elaborates = Some(sentence);
        self.go_on(clause);
        true
    }

    /// "There's a dip below the lip. Hold there": the place stood in talk.
    fn told_aside(&mut self, clause: &Clause) -> bool {
        let Some((mention, sentence, steps)) = self.aside.clone() else { return false };
        let here = self.stream.words[clause.words.0].sentence;
        let passage = self.stream.words[clause.words.0].passage;
        // Or the talk began after a silence with this place, and nothing was done since.
        let opened = self.stream.words[mention.words.0].passage == passage
            && self.steps.last().is_none_or(|s| s.passage != passage)
            && here.saturating_sub(sentence) <= 3;
        let pointed = clause.points_back && here.saturating_sub(sentence) <= 1;
        let does = clause.kind == Kind::Act || opened && clause.length.is_some();
        if !(does && !clause.keep && (pointed || opened) && steps == self.steps.len()) {
            return false;
        }
        let apart = self.steps.last().is_none_or(|cur| !mention.targets.iter().any(|t| cur.targets.contains(t)));
        if !apart || here == sentence && self.steps.last().is_some_and(|cur| !cur.weak() && cur.passage == passage) {
            return false;
        }
        self.aside = None;
        let side = self.aside_side.take();
        self.push(clause, &mention, side);
        true
    }

    fn unfold(&mut self, clauses: &[Clause], n: usize, clause: &Clause, begins_sentence: bool) {
        let (atlas, stream) = (self.atlas, self.stream);
        let words = &stream.words;
        let passage = words[clause.words.0].passage;
        let time = words[clause.words.0].time;
        let zone = |t: &TargetIx| atlas.target(*t).zone;
        for (k, mention) in clause.mentions.iter().enumerate() {
            let mut mention = mention.clone();
            // The zone and the ends of a line within it: the line.
            if let Some(line) = mention.along.take()
                && mention
                    .targets
                    .iter()
                    .any(|t| zone(t) == zone(&line) || atlas.target(line).crosses.contains(&zone(t)))
            {
                mention.targets = vec![line];
            }
            let mention = &mention;
            if self.awaited(clause, mention) {
                continue;
            }
            let told = self.told(clause, mention);
            let Some(cur) = self.steps.last().cloned() else {
                if clause.kind == Kind::Find && !likely(clauses, n) {
                    self.aside = Some((mention.clone(), words[clause.words.0].sentence, 0));
                    continue;
                }
                self.first_of_list = 0;
                self.push(clause, mention, told);
                continue;
            };
            let new_side = told.filter(|s| cur.side.is_some_and(|c| c != *s) && cur.side != Some(Side::Midline));
            let turned = new_side.filter(|s| *s != Side::Midline);
            let overlaps = mention.targets.iter().any(|t| cur.targets.contains(t));
            let together = cur.passage == passage;
            let same_sentence = words[cur.words.0].sentence == words[mention.words.0].sentence
                && words[cur.words.0..=mention.words.0].iter().skip(1).all(|w| w.before < Break::Sentence);
            let soon = together && cur.time.zip(time).is_none_or(|(a, b)| b - a <= SOON_S);
            let near = mention.targets.iter().any(|t| {
                cur.targets.iter().any(|c| {
                    zone(c) == zone(t)
                        || atlas.target(*c).crosses.contains(&zone(t))
                        || atlas.target(*t).crosses.contains(&zone(c))
                })
            });
            let same_zone = mention.targets.iter().any(|t| cur.targets.iter().any(|c| zone(c) == zone(t)));
            let area = cur.targets.iter().all(|t| atlas.target(*t).kind != Sort::Point)
                && matches!(cur.side, Some(Side::Left | Side::Right));
            let plain = clause.actions.is_empty() && !clause.hand && same_zone && area && mention.weight <= 7;
            let general =
                mention.targets.iter().any(|t| atlas.target(*t).kind == Sort::Zone) && (mention.weight <= 3 || plain);
            // "Round the right eye in the same way": all that was done on the other side.
            if let Some(side) = new_side.filter(|s| *s != Side::Midline)
                && (clause.same || clause.block)
                && !overlaps
                && self.run_of(side) >= 3
                && self.block(clause, side)
            {
                // "all of that on the right, the temple ..." names the first of them at once.
                if self.expected.first().is_some_and(|s| s.targets.iter().any(|t| mention.targets.contains(t))) {
                    self.awaited(clause, mention);
                }
                return;
            }
            // "and the left collarbone", after work under the right one.
            let again = mention.weight <= 6
                && matches!(cur.side, Some(Side::Left | Side::Right))
                && clause.actions.iter().all(|a| cur.actions.iter().any(|c| c == a))
                && cur.said.0 <= cur.said.1
                && words[cur.said.0..=cur.said.1].iter().any(|w| w.stem == words[mention.words.1].stem);
            // The same place on another side: what was done is done again.
            if let Some(side) = new_side
                && (overlaps || (near && general || again) && (side != Side::Both || clause.actions.is_empty()))
                && !(cur.weak() && soon)
            {
                if cur.copied && together && self.steps.len() > 1 {
                    self.steps.pop();
                }
                let before = self.steps.last().cloned().unwrap_or(cur.clone());
                let copy = if before.side == Some(side) { cur.clone() } else { before };
                if overlaps
                    && (clause.hand
                        || !clause.actions.is_empty()
                        || clause.length.is_some()
                        || clause.next
                        || !together)
                    && !clause.same
                    && mention.targets != copy.targets
                    && !general
                {
                    // It may be another of the places that the words mean.
                    self.push(clause, mention, told);
                    if let Some(last) = self.steps.last_mut() {
                        last.like = Some((copy.targets.clone(), copy.actions.clone(), copy.length));
                    }
                } else {
                    self.copy(clause, &copy, side, mention.words);
                    // "Jaw day. Right masseter ...": what both may mean.
                    if let Some(last) = self.steps.last_mut()
                        && last.targets.len() > 1
                        && last.targets.iter().any(|t| mention.targets.contains(t))
                        && !general
                    {
                        last.targets.retain(|t| mention.targets.contains(t));
                    }
                }
                continue;
            }
            if clause.keep && !clause.hand && (overlaps || !same_zone && !begins_sentence || clause.kind == Kind::Talk)
            {
                continue;
            }
            let different = !clause.actions.is_empty()
                && !cur.actions.is_empty()
                && !clause.actions.iter().any(|a| cur.actions.iter().any(|c| c == a));
            if overlaps && new_side.is_none() {
                let down = words[clause.words.0..clause.words.1]
                    .iter()
                    .any(|w| matches!(w.raw.as_str(), "go" | "move" | "down"));
                let elsewhere = mention.targets != cur.targets && (clause.path || clause.next || down);
                let anew = !together
                    && (clause.hand || !clause.actions.is_empty() || elsewhere)
                    && clause.kind >= Kind::Go
                    && !cur.weak()
                    && !clause.keep;
                if !(anew || different && clause.next) {
                    self.narrow(clause, mention, told);
                    continue;
                }
            }
            // A nearer word for the same place: "the jaw, right at the hinge".
            let where_it_is = words[clause.words.0].raw == "where" && !clause.hand && clause.actions.is_empty();
            let leads_in = matches!(
                words[mention.words.0.saturating_sub(1).max(clause.words.0)].raw.as_str(),
                "at" | "in" | "on" | "just" | "right" | "where" | "about"
            ) || matches!(
                words[clause.words.0].raw.as_str(),
                "at" | "in"
                    | "on"
                    | "just"
                    | "right"
                    | "where"
                    | "below"
                    | "under"
                    | "above"
                    | "beside"
                    | "between"
                    | "behind"
                    | "straight"
                    | "about"
                    | "that's"
                    | "along"
                    | "close"
                    | "next"
                    | "either"
                    | "outside"
                    | "inside"
                    | "up"
                    | "halfway"
                    | "midway"
                    | "half"
                    | "around"
            );
            // A code or a standard name says it for sure.
            if same_sentence && clause.kind <= Kind::Name && mention.weight >= SURE && near && cur.weak() {
                self.replace(clause, mention, told);
                continue;
            }
            if cur.weight >= SURE && mention.weight < SURE && near && cur.weak() && together {
                self.go_on(clause);
                continue;
            }
            let colon = words[clause.words.0].before == Break::Colon;
            // "round the whole eye: out along the brow, in again below": the ring stays the ring.
            let ring = cur.targets.len() == 1 && atlas.target(cur.targets[0]).id == "orbit_ring";
            if ring && together && same_sentence && near && !clause.next && turned.is_none() && k == 0 {
                self.go_on(clause);
                continue;
            }
            // "Jaw: from the chin to the ear": the second says it nearer, but for a line that runs elsewhere.
            if same_sentence && cur.weak() && k == 0 && (colon || mention.way && clause.kind <= Kind::Name) {
                if near || colon && mention.way {
                    self.replace(clause, mention, told);
                } else {
                    self.go_on(clause);
                }
                continue;
            }
            let listed = k > 0 || same_sentence && clause.kind <= Kind::Name && !leads_in;
            if same_sentence
                && (clause.kind <= Kind::Name || where_it_is)
                && leads_in
                && (new_side.is_none() || turned.is_none() && near)
            {
                if mention.weight > cur.weight
                    && near
                    && !cur.targets.iter().any(|t| atlas.target(*t).kind == Sort::Line)
                {
                    self.replace(clause, mention, told);
                }
                continue;
            }
            // A line says where it runs.
            let line = cur.targets.iter().any(|t| atlas.target(*t).kind == Sort::Line)
                && (cur.actions.iter().any(|a| {
                    matches!(a.as_str(), "stroke" | "scrape" | "roll" | "press" | "release" | "pinch" | "circle")
                }) || cur.tool.as_deref().is_some_and(|t| t != HANDS));
            if together
                && clause.kind <= Kind::Name
                && !cur.weak()
                && new_side.is_none()
                && (line
                    && (near
                        || same_sentence
                        || self.aside.as_ref().is_some_and(|(_, s, _)| *s == words[clause.words.0].sentence))
                    || !clause.next && !begins_sentence && !listed)
            {
                self.aside = Some((mention.clone(), words[clause.words.0].sentence, self.steps.len()));
                self.elaborates = Some(words[clause.words.0].sentence);
                continue;
            }
            if self.elaborates == Some(words[clause.words.0].sentence)
                && together
                && !clause.hand
                && clause.actions.is_empty()
                && new_side.is_none()
            {
                continue;
            }
            if line && together && !clause.hand && clause.kind <= Kind::Go && near && new_side.is_none() && !clause.next
            {
                self.elaborates = Some(words[clause.words.0].sentence);
                continue;
            }
            if clause.kind == Kind::Find && together && !cur.weak() && !likely(clauses, n) {
                self.aside = Some((mention.clone(), words[clause.words.0].sentence, self.steps.len()));
                continue;
            }
            // "rub the nape, up and down, either side of the spine": how it is done.
            let how = matches!(
                words[clause.words.0].raw.as_str(),
                "up" | "down" | "along" | "either" | "over" | "back" | "all"
            );
            if how && same_sentence && together && same_zone && !cur.weak() && !clause.hand && turned.is_none() {
                self.go_on(clause);
                continue;
            }
            let only_ends = !clause.actions.is_empty() && clause.actions.iter().all(|a| *a == "release");
            if only_ends && same_zone && together && !cur.weak() && !clause.hand && turned.is_none() {
                self.go_on(clause);
                continue;
            }
            // "the back of the cheek by the ear": where it lies.
            let beside = k > 0
                && mention.words.0 == clause.mentions[k - 1].words.1 + 1
                && matches!(words[mention.words.0].raw.as_str(), "by" | "near" | "beside" | "next" | "close");
            if beside && turned.is_none() {
                continue;
            }
            let way_there = cur.weak()
                && soon
                && !(listed && k > 0)
                && !cur.listed
                && !(listed && cur.kind <= Kind::Name)
                && (cur.kind == Kind::Find
                    || cur.starts
                    || clause.path
                    || near
                    || same_sentence && clause.kind >= Kind::Go
                    || clause.kind == Kind::Find);
            let wrong_guess = cur.copied && cur.passage == passage && soon && self.steps.len() > 1 && !clause.next;
            let heading =
                cur.weak() && soon && !cur.hand && cur.kind <= Kind::Go && clause.hand && !clause.next && k == 0;
            let begins_line = same_sentence
                && clause.actions.iter().any(|a| matches!(*a, "stroke" | "scrape" | "roll"))
                && mention.targets.iter().any(|t| atlas.target(*t).kind == Sort::Line)
                && cur.length.is_none()
                && cur.actions.iter().all(|a| matches!(a.as_str(), "palm" | "hold"));
            if begins_line || heading || way_there && !cur.hand_alone() || wrong_guess && told.is_none() {
                let side = cur.spoken.or(cur.side.filter(|s| cur.side_sure > 0.8 && *s != Side::Midline));
                let time = cur.time;
                self.steps.pop();
                let plural = (mention.words.0..=mention.words.1).any(|i| many(&words[i].raw));
                self.push(clause, mention, told.or(side.filter(|_| !plural)));
                if let Some(last) = self.steps.last_mut() {
                    last.time = time;
                }
                continue;
            }
            if !listed {
                self.first_of_list = self.steps.len();
            }
            self.push(clause, mention, told);
            if listed && let Some(last) = self.steps.last_mut() {
                last.listed = true;
            }
        }
    }

    /// Whether no further step is taken; what is left out is told once.
    pub(super) fn full(&mut self, word: usize) -> bool {
        let full = self.steps.len() + self.expected.len() >= MOST_STEPS;
        if full && !std::mem::replace(&mut self.told_full, true) {
            let words = format!("only the first {MOST_STEPS} steps were taken; what is said from here on is left out");
            self.unknown.push(Said { time: self.stream.words[word].time, words });
        }
        full
    }

    /// Begins a step.
    fn push(&mut self, clause: &Clause, mention: &Mention, told: Option<Side>) {
        if self.full(clause.words.0) {
            return;
        }
        let words = &self.stream.words;
        let midline = mention.targets.iter().all(|t| self.atlas.target(*t).sides == Sides::Midline);
        let plural = clause.hands || (mention.words.0..=mention.words.1).any(|i| many(&words[i].raw));
        let (side, sure) = match told {
            Some(side) if midline => (Some(side), 1.0),
            Some(side) => (Some(side), 0.95),
            None if midline => (Some(Side::Midline), 1.0),
            None if plural => (Some(Side::Both), 0.75),
            None => match self.side.filter(|_| self.turned || !self.closed()) {
                Some(side) => (Some(side), 0.6),
                None => (Some(Side::Both), 0.45),
            },
        };
        if !midline && (told.is_some() || plural) {
            self.side = side;
        }
        self.flush(words[clause.words.0].time);
        let mut actions: Vec<String> = clause.actions.iter().map(|a| (*a).to_owned()).collect();
        if clause.same && actions.is_empty() {
            actions = self.steps.last().map(|s| s.actions.clone()).unwrap_or_default();
        }
        self.steps.push(Open {
            targets: mention.targets.clone(),
            weight: mention.weight,
            words: mention.words,
            said: (clause.words.0.min(mention.words.0), (clause.words.1 - 1).max(mention.words.1)),
            first_said: None,
            time: words[clause.words.0].time,
            side,
            side_sure: sure,
            actions,
            finger: clause.finger,
            hand: clause.hand,
            tool: self.tool.clone(),
            pressure: clause.pressure.and_then(Pressure::from_word),
            length: clause.length,
            kind: clause.kind,
            starts: clause.starts,
            passage: words[clause.words.0].passage,
            copied: false,
            listed: false,
            spoken: self.said_side(clause),
            like: None,
        });
    }

    fn replace(&mut self, clause: &Clause, mention: &Mention, told: Option<Side>) {
        if let Some(cur) = self.steps.last_mut() {
            cur.targets.clone_from(&mention.targets);
            cur.weight = mention.weight;
            cur.said.1 = clause.words.1 - 1;
            if let Some(side) = told {
                (cur.side, cur.side_sure) = (Some(side), 0.95);
            }
        }
        self.go_on(clause);
    }

    /// The same place said again, perhaps more nearly.
    fn narrow(&mut self, clause: &Clause, mention: &Mention, told: Option<Side>) {
        let side = told.filter(|s| *s != Side::Midline);
        if let Some(cur) = self.steps.last_mut() {
            let both: Vec<TargetIx> = cur.targets.iter().filter(|t| mention.targets.contains(t)).copied().collect();
            if !both.is_empty() && mention.weight >= cur.weight {
                cur.targets = both;
            }
            cur.weight = cur.weight.max(mention.weight);
            if let Some(side) = side
                && cur.side_sure < 0.9
            {
                (cur.side, cur.side_sure) = (Some(side), 0.95);
                self.side = Some(side);
            }
        }
        self.go_on(clause);
    }

    /// More about the step that is being told.
    fn go_on(&mut self, clause: &Clause) {
        let raw: Vec<&str> = self.stream.words[clause.words.0..clause.words.1].iter().map(|w| w.raw.as_str()).collect();
        let in_turn = raw.windows(4).any(|w| w == ["one", "at", "a", "time"] || w == ["one", "after", "the", "other"]);
        if in_turn && let Some(last) = self.steps.last_mut() {
            last.side_sure = last.side_sure.min(0.5);
        }
        let first = self.first_of_list;
        let passage = self.stream.words[clause.words.0].passage;
        let n = self.steps.len();
        for (i, step) in self
            .steps
            .iter_mut()
            .enumerate()
            .filter(|(i, s)| *i + 1 == n || *i >= first && s.passage == passage && (s.weak() || s.length.is_none()))
        {
            let last = i + 1 == n;
            if !last && !step.weak() {
                // "Circle the temples and the cheeks, ten seconds": each so long.
                step.length = clause.length;
                continue;
            }
            if step.copied && step.length.is_some_and(|l| l.sure < 0.9) || step.length.is_none() {
                step.length = clause.length.or(step.length);
            }
            if let (Some(old), Some(new)) = (step.length, clause.length)
                && new.sure > old.sure + 0.15
            {
                step.length = Some(new);
            }
            if clause.kind >= Kind::Find && !(clause.keep && clause.length.is_none() && !clause.points_back) {
                step.actions.extend(clause.actions.iter().map(|a| (*a).to_owned()));
                // "the base of the skull, thumbs in the hollows": one on each side.
                if last && clause.hands && step.side_sure < 0.7 && step.passage == passage && !step.copied {
                    (step.side, step.side_sure) = (Some(Side::Both), 0.7);
                }
                step.finger |= clause.finger;
                step.hand |= clause.hand;
                if last && clause.tool.is_some() {
                    step.tool = clause.tool.map(str::to_owned);
                }
            }
            if step.pressure.is_none() {
                step.pressure = clause.pressure.and_then(Pressure::from_word);
            }
            if last && step.passage == passage && clause.kind >= Kind::Name {
                step.said.1 = step.said.1.max(clause.words.1 - 1);
            }
        }
    }

    /// The hand is put where the atlas knows no place.
    fn not_known(&mut self, lexicon: &Lexicon, clause: &Clause) {
        if clause.kind < Kind::Go || !clause.hand && clause.actions.is_empty() {
            return;
        }
        let (from, to) = clause.words;
        let heard = super::heard::manners(lexicon, &self.stream.words, from, to);
        if heard.iter().any(|h| h.manner.kind == "cue" && h.manner.is == "elsewhere")
            && !heard.iter().any(|h| h.manner.kind == "cue" && matches!(h.manner.is.as_str(), "body" | "not"))
        {
            self.unknown.push(Said { time: self.stream.words[from].time, words: self.stream.said(from, to - 1) });
        }
    }
}

impl Open {
    /// A hand was put there flat: that is a step, though no word tells what it does.
    fn hand_alone(&self) -> bool {
        self.actions.iter().any(|a| a == "palm")
    }
}

impl Clause<'_> {
    pub(super) fn words_pair(&self) -> (usize, usize) {
        (self.words.0, self.words.1 - 1)
    }
}

/// Whether what follows soon tells the hand to do something without naming another place.
fn likely(clauses: &[Clause], n: usize) -> bool {
    clauses[n].hand
        || clauses[n + 1..]
            .iter()
            .take(4)
            .find(|c| c.kind == Kind::Act || !c.mentions.is_empty())
            .is_some_and(|c| c.kind == Kind::Act && c.mentions.is_empty())
}

/// Sentences that say what to mind.
fn cautions(lexicon: &Lexicon, stream: &Stream) -> Vec<Said> {
    let mut found = Vec::new();
    let mut from = 0;
    for i in 1..=stream.words.len() {
        if i < stream.words.len() && stream.words[i].sentence == stream.words[from].sentence {
            continue;
        }
        let heard = super::heard::manners(lexicon, &stream.words, from, i);
        if heard.iter().any(|h| h.manner.kind == "cue" && h.manner.is == "caution") {
            found.push(Said {
                time: stream.words[from].time,
                words: stream.sentences[stream.words[from].sentence].trim().to_owned(),
            });
        }
        from = i;
    }
    found
}

/// A row of a target that is for the hand.
pub(super) fn workable(atlas: &Atlas, target: TargetIx) -> bool {
    !matches!(atlas.target(target).shown, Shown::Never(_))
}

/// A step as a routine has it, its movement still open.
pub(super) fn bare(
    atlas: &Atlas,
    what: What,
    side: Side,
    tool: plan::atlas::ToolIx,
    pressure: Pressure,
    seconds: u32,
) -> Step {
    debug_assert!(atlas.tool_named(HANDS).is_some());
    Step { movement: Movement::Work, what, side, tool, pressure, seconds }
}

/// What a chosen step tells besides.
pub(super) fn heard(
    step: Step,
    open: &Open,
    words: String,
    sure: Sure,
    confidence: f64,
    also: Vec<TargetIx>,
) -> HeardStep {
    HeardStep { step, time: open.time, heard: words, confidence, sure, also }
}
