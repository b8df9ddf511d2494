//! Many clients: all of them. Nobody is left out of the numbers but with a recorded reason, which stands beside them.

use crate::stats::{random_effects, student_quantile, wilson};
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

/// A share of members, 0 to 1, with its 95 % interval (Wilson 1927).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The share.
    pub share: f64,
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Share {
    fn of(count: usize, of: usize) -> Option<Share> {
        let [low, high] = wilson(count, of, LEVEL)?;
        Some(Share { share: count as f64 / of as f64, low, high })
    }
}

/// A group in numbers. Everybody who joined is in one of `assessed`, `running`, `dropped_out`, `not_measured` and `left_out`.
///
/// People with a high value at baseline tend to lower ones whatever is done (regression to the mean): where members were chosen by
/// their value, the mean change holds that too.
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
    /// At the end without enough visits, or with a change that is no number.
    pub not_measured: usize,
    /// Left out, each with a reason.
    pub left_out: Vec<LeftOut>,
    /// Clear changes downward and upward.
    pub clear: [usize; 2],
    /// Their shares of the assessed; none without one.
    pub clear_share: Option<[Share; 2]>,
    /// Sessions done of asked for, all members together.
    pub done: u64,
    /// Sessions asked for.
    pub asked: u64,
    /// Sessions done over sessions asked for; none where none was asked for, above 1 where more were done.
    pub adherence: Option<f64>,
    /// Mean change, random effects: REML, interval of Hartung and Knapp, 95 %; none with fewer than two assessed. Each member's variance
    /// is drawn half way to the mean of all: one member's standard error is itself unsure, and weights of such errors alone make
    /// an interval that holds too little (92.5 to 94.9 % in simulations, so 94.4 to 95.8: `examples/proven_many`).
    pub mean: Option<Change>,
    /// Standard deviation of true changes between people (tau). Days are taken as strongly tied, so noise rather too large and this rather
    /// too small.
    pub between: Option<f64>,
    /// Where the measured change of one more person, followed in the same way, would lie in 95 of 100: Student's t with n - 2 degrees of
    /// freedom as Higgins, Thompson and Spiegelhalter (2009) have it, with the noise of one person's change added, because an interval of
    /// true changes would rest on `between` (it held 82 to 98 %, so 94.5 to 99.9). None with fewer than three.
    pub next: Option<Change>,
}

const LEVEL: f64 = 0.95;

/// A group of all its members. Takes time with their number: some milliseconds for thousands.
pub fn summarise(members: &[Member]) -> Group {
    let mut group = Group {
        members: members.len(),
        assessed: 0,
        running: 0,
        dropped_out: 0,
        not_measured: 0,
        left_out: Vec::new(),
        clear: [0, 0],
        clear_share: None,
        done: 0,
        asked: 0,
        adherence: None,
        mean: None,
        between: None,
        next: None,
    };
    let mut changes = Vec::new();
    for (at, member) in members.iter().enumerate() {
        match &member.standing {
            Standing::Assessed { change, se, verdict }
                if change.estimate.is_finite() && *se > 0.0 && se.is_finite() =>
            {
                group.assessed += 1;
                changes.push((change.estimate, se * se));
                if *verdict == Verdict::ClearChange {
                    group.clear[usize::from(change.estimate > 0.0)] += 1;
                }
            }
            Standing::Assessed { .. } | Standing::NotMeasured => group.not_measured += 1,
            Standing::Running => group.running += 1,
            Standing::DroppedOut => group.dropped_out += 1,
            Standing::LeftOut(reason) => group.left_out.push(LeftOut { member: at, reason: reason.clone() }),
        }
        group.done += u64::from(member.done);
        group.asked += u64::from(member.asked);
    }
    group.adherence = (group.asked > 0).then(|| group.done as f64 / group.asked as f64);
    let [down, up] = group.clear.map(|count| Share::of(count, group.assessed));
    group.clear_share = down.zip(up).map(|(down, up)| [down, up]);
    let noise = changes.iter().map(|c| c.1).sum::<f64>() / changes.len() as f64;
    for (_, variance) in &mut changes {
        *variance = 0.5 * (*variance + noise);
    }
    if let Some(all) = random_effects(&changes) {
        let with = |[low, high]: [f64; 2]| Change { estimate: all.mean, low, high, level: LEVEL };
        group.mean = Some(with(all.interval(LEVEL)));
        group.between = Some(all.tau2.sqrt());
        let df = all.n as f64 - 2.0;
        let wide = student_quantile(0.5 + 0.5 * LEVEL, df) * (all.tau2 + noise + all.se * all.se).sqrt();
        group.next = (df >= 1.0).then(|| with([all.mean - wide, all.mean + wide]));
    }
    group
}

#[cfg(test)]
mod tests {
    use super::{Group, Member, Reason, Standing, summarise};
    use crate::{Change, Verdict};
    use proptest::prelude::*;

    fn assessed(estimate: f64, se: f64) -> Standing {
        let change = Change { estimate, low: estimate - 2.0 * se, high: estimate + 2.0 * se, level: 0.95 };
        let clear = change.low > 0.0 || change.high < 0.0;
        Standing::Assessed { change, se, verdict: if clear { Verdict::ClearChange } else { Verdict::WithinNoise } }
    }

    fn member(standing: Standing) -> Member {
        Member { standing, done: 20, asked: 24 }
    }

    fn places(g: &Group) -> usize {
        g.assessed + g.running + g.dropped_out + g.not_measured + g.left_out.len()
    }

    #[test]
    fn a_small_group() {
        let left = Standing::LeftOut(Reason::new(" moved away ").unwrap());
        let all = [
            assessed(-2.0, 0.5),
            assessed(-1.0, 0.7),
            left,
            assessed(1.5, 0.5),
            Standing::DroppedOut,
            Standing::Running,
            assessed(f64::NAN, 0.5),
        ];
        let g = summarise(&all.map(member));
        assert_eq!((g.members, g.assessed, g.running, g.dropped_out, g.not_measured), (7, 3, 1, 1, 1));
        assert_eq!((g.left_out[0].member, g.left_out[0].reason.words()), (2, "moved away"));
        assert_eq!((g.clear, g.done, g.asked), ([1, 1], 140, 168));
        assert!((g.adherence.unwrap() - 20.0 / 24.0).abs() < 1e-15);
        let [down, up] = g.clear_share.unwrap();
        assert!(down == up && down.low > 0.0 && down.low < 1.0 / 3.0 && down.high > 1.0 / 3.0);
        let (mean, next) = (g.mean.unwrap(), g.next.unwrap());
        assert!(next.low < mean.low && next.high > mean.high && g.between.unwrap() > 1.0);
    }

    #[test]
    fn nobody() {
        let g = summarise(&[]);
        assert!(g.members == 0 && g.mean.is_none() && g.clear_share.is_none() && g.adherence.is_none());
        assert!(summarise(&[member(assessed(1.0, 1.0))]).mean.is_none());
        assert!(Reason::new(" \n").is_none());
    }

    fn standing() -> impl Strategy<Value = Standing> {
        prop_oneof![
            4 => (-5.0..5.0f64, 0.1..2.0f64).prop_map(|(e, se)| assessed(e, se)),
            1 => Just(Standing::Running),
            1 => Just(Standing::DroppedOut),
            1 => Just(Standing::NotMeasured),
            1 => Just(assessed(1.0, 0.0)),
            1 => Just(Standing::LeftOut(Reason("moved away".into()))),
        ]
    }

    proptest! {
        #[test]
        fn everybody_stands_somewhere(standings in prop::collection::vec(standing(), 0..40), more in standing()) {
            let mut members: Vec<Member> = standings.into_iter().map(member).collect();
            let before = summarise(&members);
            prop_assert_eq!(places(&before), members.len());
            members.push(member(more));
            let after = summarise(&members);
            prop_assert_eq!(places(&after), members.len());
            prop_assert!(after.clear[0] + after.clear[1] <= after.assessed && after.done == before.done + 20);
        }

        #[test]
        fn the_order_of_members_does_not_matter(standings in prop::collection::vec(standing(), 0..30)) {
            let members: Vec<Member> = standings.into_iter().map(member).collect();
            let back: Vec<Member> = members.iter().rev().cloned().collect();
            let (a, b) = (summarise(&members), summarise(&back));
            prop_assert!(a.clear == b.clear && a.assessed == b.assessed && a.left_out.len() == b.left_out.len());
            match (a.mean, b.mean) {
                (Some(a), Some(b)) => prop_assert!((a.estimate - b.estimate).abs() < 1e-6 && (a.low - b.low).abs() < 1e-6),
                (a, b) => prop_assert!(a.is_none() && b.is_none()),
            }
        }
    }
}
