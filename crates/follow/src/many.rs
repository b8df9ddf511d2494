//! Many clients: all of them. Nobody is left out of the numbers but with a recorded reason, which stands beside them.

use crate::{Change, Verdict};

/// Why somebody is left out of a group's numbers; never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason(String);

impl Reason {
    /// A reason in words; none where there are no words.
    pub fn new(words: &str) -> Option<Reason> {
        let words = words.trim();
        (!words.is_empty()).then(|| Reason(words.to_owned()))
    }

    /// The words.
    pub fn words(&self) -> &str {
        &self.0
    }
}

/// How it stands with one member of a group.
#[derive(Clone, Debug, PartialEq)]
pub enum Standing {
    /// Assessed at the end: the change (of the plan's last look), its standard error and the verdict.
    Assessed {
        /// Now less baseline, with its interval.
        change: Change,
        /// Its standard error.
        se: f64,
        /// The verdict.
        verdict: Verdict,
    },
    /// Still under way.
    Running,
    /// Stopped coming or noting before the end: counted and shown as a drop-out.
    DroppedOut,
    /// There at the end, but with too few visits for a change.
    NotMeasured,
    /// Left out of the numbers, for this reason.
    LeftOut(Reason),
}

/// One member: everybody who joined is one, whatever became of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// How it stands.
    pub standing: Standing,
    /// Sessions done and asked for.
    pub done: u32,
    /// Sessions asked for until now.
    pub asked: u32,
}

/// Somebody left out, with the place in the list of members.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The place in the list.
    pub member: usize,
    /// The recorded reason.
    pub reason: Reason,
}

/// A group in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Everybody who joined.
    pub members: usize,
    /// Of them assessed; the numbers below are theirs.
    pub assessed: usize,
    /// Still under way.
    pub running: usize,
    /// Drop-outs.
    pub dropped_out: usize,
    /// At the end without enough visits.
    pub not_measured: usize,
    /// Left out, each with a reason.
    pub left_out: Vec<LeftOut>,
    /// Clear changes downward and upward.
    pub clear: [usize; 2],
    /// Sessions done of asked for, all members together.
    pub done: u64,
    /// Sessions asked for.
    pub asked: u64,
    /// Mean change, random effects: REML, interval of Hartung and Knapp; none with fewer than two assessed.
    pub mean: Option<Change>,
    /// Standard deviation of true changes between people (tau).
    pub between: Option<f64>,
    /// Where the change of one more person would lie in 95 of 100; none with fewer than three.
    pub next: Option<Change>,
}

/// A group of all its members.
pub fn summarise(members: &[Member]) -> Group {
    let mut group = Group {
        members: members.len(),
        assessed: 0,
        running: 0,
        dropped_out: 0,
        not_measured: 0,
        left_out: Vec::new(),
        clear: [0, 0],
        done: 0,
        asked: 0,
        mean: None,
        between: None,
        next: None,
    };
    for (at, member) in members.iter().enumerate() {
        match &member.standing {
            Standing::Assessed { change, verdict, .. } => {
                group.assessed += 1;
                if *verdict == Verdict::ClearChange {
                    group.clear[usize::from(change.estimate > 0.0)] += 1;
                }
            }
            Standing::Running => group.running += 1,
            Standing::DroppedOut => group.dropped_out += 1,
            Standing::NotMeasured => group.not_measured += 1,
            Standing::LeftOut(reason) => group.left_out.push(LeftOut { member: at, reason: reason.clone() }),
        }
        group.done += u64::from(member.done);
        group.asked += u64::from(member.asked);
    }
    group
}
