//! Screening: what a client told, and what must therefore be left out, asked first or done gently.
//!
//! [`Answers`] are read from a file or built by a page; [`Clearance`] says for every target, side, technique and
//! tool what may be done and which rules say so. Rules only remove or soften, the strictest wins, and what is
//! unknown asks: it never passes.

mod answers;
mod audience;
mod clearance;
mod parse;
mod report;
mod rules;
mod write;

pub use answers::{Answer, Answers, Cleared, Own, SignToday};
pub use audience::Spoken;
pub use clearance::{Clearance, Verdict};
pub use report::{Report, ReportRow, SignRow};
pub use rules::{DOOR, FELT, NEVER, RuleRef, reason};

use crate::atlas::{Atlas, TargetIx, TechniqueIx};

/// The techniques that can be done at a target: its own, and of a zone its opening and closing.
pub(crate) fn techniques_at(atlas: &Atlas, target: TargetIx) -> Vec<TechniqueIx> {
    report::techniques(atlas, atlas.target(target))
}
