//! The machine itself. Every line of it stands in `engine.js` too, in the same order.

use vocab::{Movement, Pressure};

use super::event::{Do, Event, Felt};
use super::score::Score;

/// What is going on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Not begun.
    Ready,
    /// From one step to the next: tool, side, place; the present step is the coming one.
    Change,
    /// The hand is at work.
    Hold,
    /// Ended.
    Over,
}

/// How a session ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// To the last step.
    Whole,
    /// Early, with its close.
    Early,
    /// With a warning sign.
    Sign,
    /// Somebody was dizzy.
    Dizzy,
    /// Something was numb.
    Numb,
}

/// What became of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Still to come.
    ToCome,
    /// Done.
    Done,
    /// Left out.
    LeftOut,
    /// The present one.
    Present,
}

/// What the last event, or the passing of time, brought about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Note {
    /// The hold grew.
    Longer,
    /// It does not grow, or no longer.
    NoLonger,
    /// Lighter and shorter.
    Lighter,
    /// The hold ended.
    Ended,
    /// Steps are left out.
    Dropped,
    /// Time runs over: a shorter rest was taken.
    ShorterRest,
}

/// Where a session stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    /// What is going on.
    pub phase: Phase,
    /// Whether time stands still.
    pub paused: bool,
    /// The steps in the order in which they are done.
    pub order: Vec<usize>,
    /// The place of the present step in that order.
    pub at: usize,
    /// Milliseconds left of this phase.
    pub left: u64,
    /// Milliseconds that the present hold lasts in all.
    pub hold: u64,
    /// Whether the present hold may not grow: something was red or hurt.
    pub barred: bool,
    /// How hard the present step is.
    pub pressure: Pressure,
    /// Milliseconds since the beginning, pauses included.
    pub now: u64,
    /// Milliseconds without pauses, since the start.
    pub spent: u64,
    /// Of each step.
    pub status: Vec<Status>,
    /// How hard each step will be.
    pub lighter: Vec<Pressure>,
    /// How often each target hurt.
    pub pains: Vec<u32>,
    /// What was felt: at which step, what, when.
    pub felt: Vec<(usize, Felt, u64)>,
    /// Whether the end was asked for.
    pub early: bool,
    /// How it ended.
    pub over: Option<Over>,
    /// What the last event brought about.
    pub note: Option<Note>,
}

impl State {
    /// Before the start.
    pub fn begin(score: &Score) -> State {
        State {
            phase: Phase::Ready,
            paused: false,
            order: (0..score.steps.len()).collect(),
            at: 0,
            left: 0,
            hold: 0,
            barred: false,
            pressure: Pressure::Featherlight,
            now: 0,
            spent: 0,
            status: vec![Status::ToCome; score.steps.len()],
            lighter: score.steps.iter().map(|s| s.pressure).collect(),
            pains: vec![0; score.targets()],
            felt: Vec::new(),
            early: false,
            over: None,
            note: None,
        }
    }

    /// The state after these events, at a time.
    pub fn replay(score: &Score, events: &[Event], at: u64) -> State {
        let mut state = State::begin(score);
        for event in events {
            state.apply(score, event);
        }
        state.until(score, at);
        state
    }

    /// The present step; none before the start and after the end.
    pub fn present(&self) -> Option<usize> {
        self.runs().then(|| self.order[self.at])
    }

    /// The step that comes next.
    pub fn following(&self) -> Option<usize> {
        let from = if self.runs() { self.at + 1 } else { 0 };
        if self.phase == Phase::Over {
            return None;
        }
        self.order[from.min(self.order.len())..].iter().copied().find(|i| self.status[*i] == Status::ToCome)
    }

    fn runs(&self) -> bool {
        matches!(self.phase, Phase::Change | Phase::Hold)
    }

    /// Lets time pass. A time before the present one is the present one.
    pub fn until(&mut self, score: &Score, at: u64) {
        self.note = None;
        let mut passes = at.saturating_sub(self.now);
        self.now += passes;
        while passes > 0 && self.runs() && !self.paused {
            if self.left > passes {
                self.left -= passes;
                self.spent += passes;
                return;
            }
            passes -= self.left;
            self.spent += self.left;
            self.left = 0;
            if self.phase == Phase::Change {
                self.begin_hold(score);
            } else {
                self.finish(score, Status::Done);
            }
        }
    }

    /// Lets time pass until an event, then does it. What makes no sense now changes nothing.
    pub fn apply(&mut self, score: &Score, event: &Event) {
        self.until(score, event.at);
        let passed = self.note.take();
        match event.what {
            Do::Start if self.phase == Phase::Ready => self.advance(score, None),
            Do::Sign if self.phase != Phase::Over => self.end(Over::Sign),
            Do::Felt(felt) if self.runs() => self.feel(score, felt),
            Do::Longer if self.phase == Phase::Hold => self.grow(score),
            Do::Next if self.phase == Phase::Hold => self.enough(score),
            Do::Next if self.phase == Phase::Change => self.begin_hold(score),
            Do::Skip if self.runs() => {
                self.finish(score, Status::LeftOut);
                self.note = Some(Note::Dropped);
            }
            Do::Back if self.runs() => self.back(score),
            Do::Pause if self.runs() => self.paused = true,
            Do::Resume if self.runs() => self.paused = false,
            Do::Swap if self.runs() => self.swap(score),
            Do::End if self.runs() && !self.early => self.end_early(score),
            _ => {}
        }
        self.note = self.note.or(passed);
    }

    fn end(&mut self, over: Over) {
        self.phase = Phase::Over;
        self.paused = false;
        self.left = 0;
        self.hold = 0;
        self.over = Some(over);
        for status in &mut self.status {
            if *status == Status::Present {
                *status = Status::LeftOut;
            }
        }
    }

    fn begin_hold(&mut self, score: &Score) {
        self.phase = Phase::Hold;
        self.hold = u64::from(score.steps[self.order[self.at]].seconds) * 1000;
        self.left = self.hold;
    }

    /// The step at this place becomes the present one; `from` is the one before.
    fn enter(&mut self, score: &Score, place: usize, from: Option<usize>) {
        let step = self.order[place];
        self.at = place;
        self.status[step] = Status::Present;
        self.barred = false;
        self.pressure = self.lighter[step];
        self.phase = Phase::Change;
        self.hold = u64::from(score.steps[step].seconds) * 1000;
        self.left = u64::from(score.change_s(from, step)) * 1000;
        if self.left == 0 {
            self.begin_hold(score);
        }
    }

    /// The present step is over, one way or another; on to the next.
    fn finish(&mut self, score: &Score, status: Status) {
        let step = self.order[self.at];
        self.status[step] = status;
        if status == Status::LeftOut {
            prune(score, &mut self.status);
        }
        self.advance(score, Some(step));
    }

    fn advance(&mut self, score: &Score, from: Option<usize>) {
        self.in_time(score, from);
        let first = if from.is_some() { self.at + 1 } else { 0 };
        let next = (first..self.order.len()).find(|p| self.status[self.order[*p]] == Status::ToCome);
        match next {
            Some(place) => self.enter(score, place, from),
            None => self.end(if self.early { Over::Early } else { Over::Whole }),
        }
    }

    /// Enough of the present hold. An opening that was too short is none.
    fn enough(&mut self, score: &Score) {
        let step = &score.steps[self.order[self.at]];
        let short = self.hold - self.left < u64::from(step.least) * 1000;
        let status = if step.movement == Movement::Open && short { Status::LeftOut } else { Status::Done };
        self.finish(score, status);
        if status == Status::LeftOut {
            self.note = Some(Note::Dropped);
        }
    }

    fn grow(&mut self, score: &Score) {
        let step = &score.steps[self.order[self.at]];
        let longest = u64::from(step.most) * 1000;
        let longer = (self.hold + u64::from(step.grow) * 1000).min(longest);
        if self.barred || longer <= self.hold {
            self.note = Some(Note::NoLonger);
            return;
        }
        self.left += longer - self.hold;
        self.hold = longer;
        self.note = Some(Note::Longer);
    }

    fn feel(&mut self, score: &Score, felt: Felt) {
        // Between two steps it is the one before that was felt.
        let step = match self.phase {
            Phase::Hold => Some(self.order[self.at]),
            _ => self.order[..self.at].iter().rev().copied().find(|i| self.status[*i] == Status::Done),
        };
        if let Some(step) = step {
            self.felt.push((step, felt, self.now));
        }
        match (felt, step) {
            (Felt::Dizzy, _) => self.end(Over::Dizzy),
            (Felt::Numb, _) => self.end(Over::Numb),
            (Felt::Tender | Felt::Tight, Some(_)) if self.phase == Phase::Hold => self.grow(score),
            (Felt::Red, Some(step)) => {
                self.lighten(score, step);
                if self.phase == Phase::Hold {
                    self.red(score, step);
                }
            }
            (Felt::Painful, Some(step)) => self.painful(score, step),
            _ => {}
        }
    }

    /// Later holds of the same target are one class lighter than this one was.
    fn lighten(&mut self, score: &Score, step: usize) {
        let was = if self.phase == Phase::Hold { self.pressure } else { self.lighter[step] };
        for (i, other) in score.steps.iter().enumerate() {
            if other.target == score.steps[step].target && self.status[i] != Status::Done && i != step {
                self.lighter[i] = self.lighter[i].min(softer(was)).max(other.softest);
            }
        }
        // Between two steps, the coming one may be of the same target.
        if self.phase == Phase::Change {
            self.pressure = self.lighter[self.order[self.at]];
        }
    }

    fn red(&mut self, score: &Score, step: usize) {
        self.barred = true;
        self.note = Some(Note::NoLonger);
        let planned = u64::from(score.steps[step].seconds) * 1000;
        if self.hold > planned {
            let cut = self.hold - planned;
            self.hold = planned;
            self.left = self.left.saturating_sub(cut);
            if self.left == 0 {
                self.finish(score, Status::Done);
                self.note = Some(Note::Ended);
            }
        }
    }

    fn painful(&mut self, score: &Score, step: usize) {
        let row = &score.steps[step];
        self.pains[row.target] += 1;
        let third = self.pains[row.target] >= 3;
        self.lighten(score, step);
        if third {
            for (i, other) in score.steps.iter().enumerate() {
                if other.target == row.target && self.status[i] == Status::ToCome {
                    self.status[i] = Status::LeftOut;
                }
            }
            prune(score, &mut self.status);
            self.note = Some(Note::Dropped);
        }
        if self.phase == Phase::Change {
            // What hurts is not open; the coming step may lie beyond it, or be of the same target.
            if row.movement == Movement::Open {
                self.status[step] = Status::LeftOut;
                prune(score, &mut self.status);
            }
            let coming = self.order[self.at];
            if third && score.steps[coming].target == row.target || senseless(score, &self.status, coming) {
                self.finish(score, Status::LeftOut);
                self.note = Some(Note::Dropped);
            }
            return;
        }
        if third || row.delicate || self.pressure <= row.softest {
            // What hurts is not open.
            let status = if row.movement == Movement::Open { Status::LeftOut } else { Status::Done };
            self.finish(score, status);
            self.note = Some(if third || status == Status::LeftOut { Note::Dropped } else { Note::Ended });
            return;
        }
        self.barred = true;
        self.pressure = softer(self.pressure).max(row.softest);
        self.lighter[step] = self.pressure;
        let half = self.left / 2;
        self.hold -= self.left - half;
        self.left = half;
        self.note = Some(Note::Lighter);
    }

    fn back(&mut self, score: &Score) {
        let again = |p: &usize| {
            let step = self.order[*p];
            self.status[step] == Status::Done && self.pains[score.steps[step].target] < 3
        };
        let before = (0..self.at).rev().find(again);
        let Some(place) = before else { return };
        let step = self.order[self.at];
        self.status[step] = Status::ToCome;
        self.enter(score, place, Some(step));
    }

    /// The other side of the same target first: in the work wherever it is still to come, in open and close only if it is the next.
    fn swap(&mut self, score: &Score) {
        let step = self.order[self.at];
        let row = &score.steps[step];
        let to_come = |p: &usize| self.status[self.order[*p]] == Status::ToCome;
        let other = (self.at + 1..self.order.len()).filter(to_come).find(|p| {
            let twin = &score.steps[self.order[*p]];
            twin.target == row.target && twin.movement == row.movement && twin.side != row.side
        });
        let Some(place) = other else { return };
        let next = (self.at + 1..self.order.len()).find(to_come);
        let ready = score.steps[self.order[place]].needs.iter().all(|n| self.status[*n] == Status::Done);
        if !ready || row.movement != Movement::Work && next != Some(place) {
            return;
        }
        self.order.swap(self.at, place);
        self.status[step] = Status::ToCome;
        self.enter(score, self.at, Some(step));
    }

    fn end_early(&mut self, score: &Score) {
        let close = |i: usize| score.steps[i].movement == Movement::Close;
        self.early = true;
        for i in 0..score.steps.len() {
            if self.status[i] == Status::ToCome && !close(i) {
                self.status[i] = Status::LeftOut;
            }
        }
        prune(score, &mut self.status);
        // A closing under way is done to its end.
        if close(self.order[self.at]) {
            return;
        }
        if self.phase == Phase::Change {
            self.finish(score, Status::LeftOut);
        } else {
            self.enough(score);
        }
        self.note = Some(Note::Dropped);
    }

    /// Takes a shorter rest if what is still to come does not fit the seconds there are.
    fn in_time(&mut self, score: &Score, from: Option<usize>) {
        let budget = u64::from(score.budget) * 1000;
        let slack = u64::from(score.slack) * 1000;
        let late = |state: &State| (state.spent + rest_ms(score, state, from)).saturating_sub(budget);
        let mut by = late(self);
        if from.is_none() || by <= slack {
            return;
        }
        for ending in score.endings.iter().filter(|e| e.after == self.at) {
            let last = !score.endings.iter().any(|e| e.after == self.at && e.late > ending.late);
            if u64::from(ending.late) * 1000 < by && !last {
                continue;
            }
            let mut dropped = false;
            for &i in &ending.drop {
                if self.status[i] == Status::ToCome {
                    self.status[i] = Status::LeftOut;
                    dropped = true;
                }
            }
            if dropped {
                prune(score, &mut self.status);
                self.note = Some(Note::ShorterRest);
            }
            by = late(self);
            if by <= slack {
                return;
            }
        }
    }
}

fn softer(pressure: Pressure) -> Pressure {
    match pressure {
        Pressure::Firm => Pressure::Light,
        _ => Pressure::Featherlight,
    }
}

/// Milliseconds of all that is still to come.
pub(super) fn rest_ms(score: &Score, state: &State, from: Option<usize>) -> u64 {
    let mut last = from;
    let mut sum = 0;
    for &i in state.order.iter().filter(|i| state.status[**i] == Status::ToCome) {
        sum += u64::from(score.change_s(last, i) + score.steps[i].seconds) * 1000;
        last = Some(i);
    }
    sum
}

/// Leaves out what makes no sense without what is left out already: whatever lies beyond an opening that is left out, openings that no work
/// needs any more, oil for nothing, closings of what is not open.
pub(super) fn prune(score: &Score, status: &mut [Status]) {
    loop {
        let wanted = Wanted::of(score, status);
        let mut changed = false;
        for i in 0..score.steps.len() {
            if status[i] == Status::ToCome && wanted.senseless(score, status, i) {
                status[i] = Status::LeftOut;
                changed = true;
            }
        }
        if !changed {
            return;
        }
    }
}

fn senseless(score: &Score, status: &[Status], i: usize) -> bool {
    Wanted::of(score, status).senseless(score, status, i)
}

/// Which openings, and whether the oil, any work needs that is not left out.
struct Wanted {
    /// Of each step: 0 no work ever needs it, 1 none does any more, 2 some does.
    openings: Vec<u8>,
    oil: u8,
}

impl Wanted {
    fn of(score: &Score, status: &[Status]) -> Wanted {
        let mut wanted = Wanted { openings: vec![0; score.steps.len()], oil: 0 };
        for (w, step) in score.steps.iter().enumerate().filter(|(_, s)| s.movement == Movement::Work) {
            let by = if status[w] == Status::LeftOut { 1 } else { 2 };
            for &n in &step.needs {
                wanted.openings[n] = wanted.openings[n].max(by);
            }
            if step.glides {
                wanted.oil = wanted.oil.max(by);
            }
        }
        wanted
    }

    fn senseless(&self, score: &Score, status: &[Status], i: usize) -> bool {
        let step = &score.steps[i];
        let beyond = || step.needs.iter().any(|n| status[*n] == Status::LeftOut);
        match step.movement {
            Movement::Open => beyond() || self.openings[i] == 1,
            Movement::Prepare => self.oil == 1,
            Movement::Work => beyond(),
            Movement::Close => !step.closes.is_empty() && step.closes.iter().all(|o| status[*o] == Status::LeftOut),
        }
    }
}
