//! The rules that touch a candidate: their ids, and each one's sentence.

use vocab::Class;

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
pub fn reason(atlas: &Atlas, id: &str) -> String {
    match RuleRef::from_id(atlas, id) {
        Some(RuleRef::Condition(c, rule)) => {
            let condition = &atlas.conditions[c.0];
            format!(
                "{}: {} {}",
                condition.name,
                condition.reason,
                what_to_do(condition.rules[rule].class, &condition.action)
            )
        }
        Some(RuleRef::Unanswered(c)) => {
            let condition = &atlas.conditions[c.0];
            format!("Not answered yet: {} Until it is, this is left out.", condition.question)
        }
        Some(RuleRef::Warning(sign)) => {
            let sign = &atlas.warning_signs[sign];
            format!("Warning sign: {}. {}", sign.sign, sign.action)
        }
        Some(RuleRef::Door) => {
            "Only the five grouped questions are answered, so the work stays featherlight, and places that \
            need more questions wait. The full intake opens the rest."
                .to_owned()
        }
        Some(RuleRef::Never) => "This place is in the atlas for knowledge, but it is not for the hand.".to_owned(),
        None => id.to_owned(),
    }
}

fn what_to_do(class: Class, action: &str) -> String {
    let lead = match class {
        Class::Stop => "No routine today.",
        Class::LeaveOut => "Left out.",
        Class::AskFirst => "Left out until a clinician agrees.",
        Class::Gently => "Featherlight only.",
        Class::Go => "",
    };
    format!("{lead} {action}").trim().to_owned()
}

/// Why a target is not for the hand, from the atlas itself.
pub(super) fn never_because(shown: &Shown) -> Option<&str> {
    match shown {
        Shown::Never(because) => Some(because),
        _ => None,
    }
}

/// How long a rule that ends by itself still holds, as a sentence to add; nothing once it is over.
pub(super) fn days_left(days: i64) -> String {
    match days {
        ..=0 => String::new(),
        1 => " This holds for one more day.".to_owned(),
        _ => format!(" This holds for {days} more days."),
    }
}

/// What is said in place of "ask first" while a clinician's word holds.
pub(super) fn cleared_sentence(condition: &Condition, word: &Cleared) -> String {
    let (name, reason) = (&condition.name, &condition.reason);
    let Cleared { by, on, until } = word;
    format!("{name}: {reason} Featherlight only: {by} agreed on {on}; this holds until {until}.")
}
