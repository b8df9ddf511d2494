//! The rules that touch a candidate: their ids, and each one's sentence.

use vocab::{Class, Phrases};

use super::answers::Cleared;
use crate::atlas::{Atlas, Condition, ConditionIx, Shown};

/// A rule that touched a candidate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RuleRef {
    /// A rule of a condition that applies: `filler.1`.
    Condition(ConditionIx, usize),
    /// A condition that is not answered: `unanswered.filler`.
    Unanswered(ConditionIx),
    /// A warning sign that is there today: `warning.stroke`.
    Warning(usize),
    /// Only the grouped questions were answered: `door`.
    Door,
    /// In the atlas, but not for the hand: `atlas_never`.
    Never,
}

/// The id of the rule that keeps work featherlight while only the grouped questions are answered.
pub const DOOR: &str = "door";
/// The id of the rule that keeps the hand off what the atlas marks as never.
pub const NEVER: &str = "atlas_never";
/// What stands in place of a rule where something was red or hurt last time. It is no rule of screening: it softens a draft, and that alone.
pub const FELT: &str = "felt_last_time";
const UNANSWERED: &str = "unanswered.";
const WARNING: &str = "warning.";

impl RuleRef {
    /// Its id, as written in JSON and in reasons.
    pub fn id(self, atlas: &Atlas) -> String {
        match self {
            RuleRef::Condition(c, rule) => format!("{}.{}", atlas.conditions[c.0].id, rule + 1),
            RuleRef::Unanswered(c) => format!("{UNANSWERED}{}", atlas.conditions[c.0].id),
            RuleRef::Warning(sign) => format!("{WARNING}{}", atlas.warning_signs[sign].id),
            RuleRef::Door => DOOR.to_owned(),
            RuleRef::Never => NEVER.to_owned(),
        }
    }

    /// The rule of this id.
    pub fn from_id(atlas: &Atlas, id: &str) -> Option<RuleRef> {
        if id == DOOR {
            return Some(RuleRef::Door);
        }
        if id == NEVER {
            return Some(RuleRef::Never);
        }
        if let Some(sign) = id.strip_prefix(WARNING) {
            return atlas.warning_signs.iter().position(|s| s.id == sign).map(RuleRef::Warning);
        }
        if let Some(condition) = id.strip_prefix(UNANSWERED) {
            return atlas.condition_named(condition).map(RuleRef::Unanswered);
        }
        let (condition, number) = id.rsplit_once('.')?;
        let condition = atlas.condition_named(condition)?;
        let rule: usize = number.parse::<usize>().ok()?.checked_sub(1)?;
        (rule < atlas.conditions[condition.0].rules.len()).then_some(RuleRef::Condition(condition, rule))
    }
}

/// Why a rule says what it says, in plain sentences; the id itself if there is no such rule.
pub fn reason(book: &dyn Phrases, atlas: &Atlas, id: &str) -> String {
    match RuleRef::from_id(atlas, id) {
        Some(RuleRef::Condition(c, rule)) => {
            let condition = &atlas.conditions[c.0];
            let lead = match condition.rules[rule].class {
                Class::Stop => book.say("reason.stop"),
                Class::LeaveOut => book.say("reason.leave_out"),
                Class::AskFirst => book.say("reason.ask_first"),
                Class::Gently => book.say("reason.gently"),
                Class::Go => "",
            };
            let (name, reason, action) = (&condition.name, &condition.reason, &condition.action);
            book.fill("reason.condition", &[("name", name), ("reason", reason), ("lead", &lead), ("action", action)])
        }
        Some(RuleRef::Unanswered(c)) => {
            book.fill("reason.unanswered", &[("question", &atlas.conditions[c.0].question)])
        }
        Some(RuleRef::Warning(sign)) => {
            let sign = &atlas.warning_signs[sign];
            book.fill("reason.warning", &[("sign", &sign.sign), ("action", &sign.action)])
        }
        Some(RuleRef::Door) => book.say("reason.door").to_owned(),
        Some(RuleRef::Never) => book.say("reason.never").to_owned(),
        None if id == FELT => book.say("reason.felt").to_owned(),
        None => id.to_owned(),
    }
}

/// Why a target is not for the hand, from the atlas itself.
pub(super) fn never_because(shown: &Shown) -> Option<&str> {
    match shown {
        Shown::Never(because) => Some(because),
        _ => None,
    }
}

/// A reason with how long it still holds, when it ends by itself; as it was once that is over.
pub(super) fn with_days_left(book: &dyn Phrases, reason: String, days: i64) -> String {
    match days {
        ..=0 => reason,
        1 => book.fill("reason.one_day", &[("reason", &reason)]),
        _ => book.fill("reason.days", &[("reason", &reason), ("days", &days)]),
    }
}

/// What is said in place of "ask first" while a clinician's word holds.
pub(super) fn cleared_sentence(book: &dyn Phrases, condition: &Condition, word: &Cleared) -> String {
    let (name, reason) = (&condition.name, &condition.reason);
    let Cleared { by, on, until } = word;
    book.fill("reason.cleared", &[("name", name), ("reason", reason), ("by", by), ("on", on), ("until", until)])
}
