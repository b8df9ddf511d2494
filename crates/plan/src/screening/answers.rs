//! What a client told: to the five grouped questions, and to each condition's own question.

use std::fmt;

use vocab::{Date, Side};

use crate::atlas::{Atlas, ConditionIx, GroupIx, ZoneIx};

/// The answer to one question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Answer {
    /// It does not apply.
    No,
    /// It applies.
    Yes,
    /// Not known, or not said.
    Unknown,
}

impl Answer {
    /// The spellings in files.
    pub const WORDS: &'static [(&'static str, Answer)] =
        &[("no", Answer::No), ("yes", Answer::Yes), ("unknown", Answer::Unknown)];
}

/// A clinician's word on a condition: who gave it, when, and until when it holds.
#[derive(Clone, PartialEq, Eq)]
pub struct Cleared {
    /// Who gave it.
    pub by: String,
    /// When.
    pub on: Date,
    /// The last day on which it holds.
    pub until: Date,
}

impl Cleared {
    /// Whether the word holds on this day.
    pub fn holds(&self, today: Date) -> bool {
        self.on <= today && today <= self.until
    }
}

/// The answer to a condition's own question.
#[derive(Clone, PartialEq, Eq)]
pub struct Own {
    /// Whether it applies.
    pub answer: Answer,
    /// Where, when the condition asks it; empty: not said, so everywhere it can be.
    pub places: Vec<ZoneIx>,
    /// On which side, when the condition asks it; `None`: not said, so both.
    pub side: Option<Side>,
    /// Since when, when the condition asks it.
    pub since: Option<Date>,
    /// The last day on which the answer holds.
    pub until: Option<Date>,
    /// When it was asked; `None`: with the whole.
    pub asked: Option<Date>,
    /// A clinician's word.
    pub cleared: Option<Cleared>,
}

impl Own {
    /// A bare answer.
    pub fn new(answer: Answer) -> Own {
        Own { answer, places: Vec::new(), side: None, since: None, until: None, asked: None, cleared: None }
    }
}

/// A warning sign that is there today.
#[derive(Clone, PartialEq, Eq)]
pub struct SignToday {
    /// Its place in [`Atlas::warning_signs`].
    pub sign: usize,
    /// Where; empty: not said, so everywhere it can be.
    pub places: Vec<ZoneIx>,
    /// On which side; `None`: not said, so both.
    pub side: Option<Side>,
}

/// Everything a client answered. Its `Debug` tells nothing: what a client told is not for a log.
#[derive(Clone, PartialEq, Eq)]
pub struct Answers {
    pub(super) groups: Vec<Option<Answer>>,
    pub(super) conditions: Vec<Option<Own>>,
    pub(super) signs: Vec<SignToday>,
    pub(super) asked: Option<Date>,
}

impl fmt::Debug for Answers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Answers(not shown)")
    }
}

impl Answers {
    /// Nothing is answered: everything asks.
    pub fn unknown(atlas: &Atlas) -> Answers {
        Answers {
            groups: vec![None; atlas.groups.len()],
            conditions: vec![None; atlas.conditions.len()],
            signs: Vec::new(),
            asked: None,
        }
    }

    /// All grouped questions answered alike, no condition by itself.
    pub fn by_groups(atlas: &Atlas, answer: Answer) -> Answers {
        Answers { groups: vec![Some(answer); atlas.groups.len()], ..Answers::unknown(atlas) }
    }

    /// Every condition answered *no* by itself: the full intake of somebody whom nothing concerns.
    pub fn all_no(atlas: &Atlas) -> Answers {
        Answers {
            conditions: atlas.conditions.iter().map(|_| Some(Own::new(Answer::No))).collect(),
            ..Answers::unknown(atlas)
        }
    }

    /// With the answer to a grouped question.
    pub fn with_group(mut self, group: GroupIx, answer: Answer) -> Answers {
        if let Some(slot) = self.groups.get_mut(group.0) {
            *slot = Some(answer);
        }
        self
    }

    /// With the answer to a condition's own question.
    pub fn with(mut self, condition: ConditionIx, own: Own) -> Answers {
        if let Some(slot) = self.conditions.get_mut(condition.0) {
            *slot = Some(own);
        }
        self
    }

    /// With a warning sign that is there today.
    pub fn with_sign(mut self, sign: SignToday) -> Answers {
        self.signs.push(sign);
        self
    }

    /// As asked on this day. Without a day the answers count as given today.
    pub fn asked_on(mut self, day: Date) -> Answers {
        self.asked = Some(day);
        self
    }

    /// The answer to a grouped question, if there is one.
    pub fn group(&self, group: GroupIx) -> Option<Answer> {
        self.groups.get(group.0).copied().flatten()
    }

    /// The answer to a condition's own question, if there is one.
    pub fn own(&self, condition: ConditionIx) -> Option<&Own> {
        self.conditions.get(condition.0).and_then(Option::as_ref)
    }

    /// The warning signs that are there today.
    pub fn signs(&self) -> &[SignToday] {
        &self.signs
    }

    /// When the whole was asked.
    pub fn asked(&self) -> Option<Date> {
        self.asked
    }
}
