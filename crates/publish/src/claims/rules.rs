//! What regulators say, and what it means for each kind of statement: data/words/claims/rules.csv and verdicts.csv.

use std::collections::BTreeMap;

use super::Verdict;
use super::lexicon::rows;

/// A rule of a regulator.
#[derive(Clone, Debug)]
pub(super) struct Rule {
    /// What it says, in our own words.
    pub meaning: String,
    /// Where it stands, with how it was found.
    pub source: String,
}

/// What a kind of statement means in a country.
#[derive(Clone, Debug)]
pub(super) struct Meant {
    /// What is to be done; none where the country has no rule on it.
    pub verdict: Option<Verdict>,
    /// The leading rule.
    pub rule: String,
    /// A practice's own reason, if it gave one.
    pub reason: Option<String>,
    /// A practice's own source.
    pub source: Option<String>,
}

/// A country with its verdicts.
#[derive(Clone, Debug, Default)]
pub(super) struct Country {
    /// In words.
    pub name: String,
    /// By kind and topic.
    pub meant: BTreeMap<(String, String), Meant>,
}

/// A verdict by its name in the data.
pub(super) fn verdict(name: &str) -> Option<Verdict> {
    match name {
        "avoid" => Some(Verdict::Avoid),
        "needs_trial" => Some(Verdict::NeedsTrial),
        "needs_disclosure" => Some(Verdict::NeedsDisclosure),
        "ok" => Some(Verdict::Ok),
        _ => None,
    }
}

/// The rules by their id.
pub(super) fn rules(text: &str) -> BTreeMap<String, Rule> {
    let mut found = BTreeMap::new();
    for row in rows(text) {
        let [id, _, _, meaning, _, source, mark] = row.as_slice() else { continue };
        let said = match mark.as_str() {
            "memory" => format!("{source} (from memory, not verified)"),
            "secondary" => format!("{source} (read in a copy)"),
            _ => source.clone(),
        };
        found.insert(id.clone(), Rule { meaning: meaning.clone(), source: said });
    }
    found
}

/// The three countries that ship, in their order.
pub(super) fn countries(text: &str) -> Vec<(String, Country)> {
    let mut all: Vec<(String, Country)> = [("us", "United States"), ("eu", "European Union"), ("uk", "United Kingdom")]
        .map(|(code, name)| (code.to_owned(), Country { name: name.to_owned(), meant: BTreeMap::new() }))
        .to_vec();
    for row in rows(text) {
        if row.len() < 8 {
            continue;
        }
        for (at, (_, country)) in all.iter_mut().enumerate() {
            let meant =
                Meant { verdict: verdict(&row[2 + 2 * at]), rule: row[3 + 2 * at].clone(), reason: None, source: None };
            country.meant.insert((row[0].clone(), row[1].clone()), meant);
        }
    }
    all
}
