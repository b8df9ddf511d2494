//! What was felt moves the next draft, until it fades.

use vocab::Side;

use super::event::Felt;
use crate::atlas::TargetIx;

/// What is known of one session: what was worked, and what was felt where.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Past {
    /// What was worked, on which side.
    pub worked: Vec<(TargetIx, Side)>,
    /// What was felt, on which side.
    pub felt: Vec<(TargetIx, Side, Felt)>,
}

/// What the next draft should heed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Memory {
    /// Tender or tight when last worked: these come first.
    pub tender: Vec<TargetIx>,
    /// Red or painful when last worked: one class lighter.
    pub softer: Vec<TargetIx>,
}

/// What past sessions, the newest first, mean for the next draft. A target keeps what was felt there until it is worked again without it.
pub fn remember(sessions: &[Past]) -> Memory {
    let mut memory = Memory::default();
    let mut settled: Vec<TargetIx> = Vec::new();
    for session in sessions {
        let felt = session.felt.iter().map(|(target, ..)| *target);
        let mut here: Vec<TargetIx> = session.worked.iter().map(|(target, _)| *target).chain(felt).collect();
        here.sort_unstable();
        here.dedup();
        here.retain(|target| !settled.contains(target));
        for target in here {
            let was = |any: &[Felt]| session.felt.iter().any(|(t, _, f)| *t == target && any.contains(f));
            if was(&[Felt::Red, Felt::Painful]) {
                memory.softer.push(target);
            } else if was(&[Felt::Tender, Felt::Tight]) {
                memory.tender.push(target);
            }
            settled.push(target);
        }
    }
    memory.tender.sort_unstable();
    memory.softer.sort_unstable();
    memory
}
