//! What was found, held against the limits on the face and against what a person told. The strictest wins.

use vocab::{Class, Date};

use super::Product;
use crate::atlas::{Atlas, ConditionIx, Ingredient};
use crate::screening::{Answer, Answers};

/// Hundredths of a percent in millionths.
const BP: u32 = 100;

/// How much of it there may be on a face, against what is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// There is no limit.
    None,
    /// Not for the face at all.
    Not,
    /// More than there may be, in hundredths of a percent.
    TooStrong(u32),
    /// The share is not written; no more than so many hundredths of a percent.
    Unwritten(u32),
    /// Written, and within so many hundredths of a percent.
    Within(u32),
}

/// A rule that touches a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Met {
    /// Its place in [`Atlas::product_rules`].
    pub rule: usize,
    /// What follows.
    pub class: Class,
    /// How its condition stands.
    pub asked: Asked,
}

/// How a rule's condition stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// For everybody.
    Everybody,
    /// It applies.
    Applies,
    /// It applies, and a clinician's word on it holds.
    Cleared,
    /// It is not answered, or the answer no longer holds.
    Open,
}

/// A found name with what follows from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Its place in [`Product::found`].
    pub found: usize,
    /// The strictest of all that follows.
    pub class: Class,
    /// The limit on the face.
    pub limit: Limit,
    /// The rules that touch it, the strictest first.
    pub met: Vec<Met>,
}

/// What a product comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Every found name, in the list's order.
    pub rows: Vec<Row>,
    /// The conditions to be asked before it is used, as far as they are open and something found touches them.
    pub ask: Vec<ConditionIx>,
    /// The strictest of the rows; `Go` where nothing was found.
    pub class: Class,
}

impl Judged {
    /// Judges a product for a person, as of a day; without one, every condition is open.
    pub fn new(atlas: &Atlas, product: &Product, person: Option<(&Answers, Date)>) -> Judged {
        let mut ask: Vec<ConditionIx> = Vec::new();
        let mut rows = Vec::new();
        for (found, name) in product.found.iter().enumerate() {
            let ingredient = &atlas.ingredients[name.ingredient];
            let limit = limit(ingredient, name.share_ppm);
            let mut met = Vec::new();
            for (rule, data) in atlas.product_rules.iter().enumerate() {
                if !data.touches(name.ingredient, ingredient) {
                    continue;
                }
                let (class, asked) = match data.condition {
                    None => (data.class, Asked::Everybody),
                    Some(ix) => {
                        let stands =
                            person.map_or(Answer::Unknown, |(answers, today)| answers.stands(atlas, ix, today));
                        let cleared = person.is_some_and(|(answers, today)| {
                            answers.own(ix).and_then(|own| own.cleared.as_ref()).is_some_and(|word| word.holds(today))
                        });
                        match stands {
                            Answer::No => continue,
                            Answer::Yes if cleared && data.class == Class::AskFirst => (Class::Gently, Asked::Cleared),
                            Answer::Yes => (data.class, Asked::Applies),
                            Answer::Unknown => {
                                if !ask.contains(&ix) {
                                    ask.push(ix);
                                }
                                (Class::AskFirst, Asked::Open)
                            }
                        }
                    }
                };
                met.push(Met { rule, class, asked });
            }
            met.sort_by_key(|m| std::cmp::Reverse(m.class));
            let by_limit = match limit {
                Limit::Not | Limit::TooStrong(_) => Class::LeaveOut,
                Limit::Unwritten(_) => Class::AskFirst,
                Limit::None | Limit::Within(_) => Class::Gently,
            };
            let class = met.iter().map(|m| m.class).fold(by_limit, Class::max);
            rows.push(Row { found, class, limit, met });
        }
        ask.sort_unstable_by_key(|ix| ix.0);
        let class = rows.iter().map(|r| r.class).max().unwrap_or(Class::Go);
        Judged { rows, ask, class }
    }
}

/// A rule with everything on the list that it touches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// Its place in [`Atlas::product_rules`].
    pub rule: usize,
    /// What follows.
    pub class: Class,
    /// How its condition stands.
    pub asked: Asked,
    /// The names it touches, by their place in [`Product::found`], in the list's order.
    pub found: Vec<usize>,
}

impl Judged {
    /// Every rule that touches something, once, in the order of the data.
    pub fn reasons(&self) -> Vec<Reason> {
        let mut reasons: Vec<Reason> = Vec::new();
        for row in &self.rows {
            for met in &row.met {
                match reasons.iter_mut().find(|r| r.rule == met.rule) {
                    Some(reason) => reason.found.push(row.found),
                    None => reasons.push(Reason {
                        rule: met.rule,
                        class: met.class,
                        asked: met.asked,
                        found: vec![row.found],
                    }),
                }
            }
        }
        reasons.sort_by_key(|r| r.rule);
        reasons
    }
}

fn limit(ingredient: &Ingredient, share_ppm: Option<u32>) -> Limit {
    match (ingredient.face_limit_bp, share_ppm) {
        (None, _) => Limit::None,
        (Some(0), _) => Limit::Not,
        (Some(most), None) => Limit::Unwritten(most),
        (Some(most), Some(ppm)) if ppm > most * BP => Limit::TooStrong(most),
        (Some(most), Some(_)) => Limit::Within(most),
    }
}
