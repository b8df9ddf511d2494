//! The claims check: what statements of a text mean by country. Guidance, not legal advice. English.
//!
//! A statement is found in two ways: by a wording that is one by itself (frames.csv), or by an effect that meets a matter within a clause
//! (effects.csv, topics.csv, pairs.csv). Then its surroundings decide how it is meant (context.csv). What it means in a country stands in verdicts.csv.

mod context;
mod find;
mod instead;
mod lexicon;
mod own;
mod pattern;
mod read;
mod rules;
pub mod second;
mod stem;
mod token;

use std::collections::BTreeMap;

use vocab::Finding;

use crate::timed::{Sentence, Spoken};
use find::Hit;
use lexicon::Lexicon;
use rules::{Country, Rule};

/// What a statement is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Not to be said.
    Avoid,
    /// Only with trials of this very treatment on this very matter.
    NeedsTrial,
    /// Only with a disclosure beside it.
    NeedsDisclosure,
    /// It may be said.
    Ok,
}

impl Verdict {
    /// Its name in the data and in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Avoid => "avoid",
            Verdict::NeedsTrial => "needs_trial",
            Verdict::NeedsDisclosure => "needs_disclosure",
            Verdict::Ok => "ok",
        }
    }
}

/// One statement in one country.
#[derive(Clone, Debug, PartialEq)]
pub struct Claim {
    /// Where its words begin in the file, in Unicode code points.
    pub start: usize,
    /// Where they end.
    pub end: usize,
    /// When it is said, in seconds.
    pub time: Option<f64>,
    /// The words.
    pub text: String,
    /// The country's code, lower case: `us`, `eu`, `uk` or a practice's own.
    pub country: String,
    /// Which kind of statement: `disease`, `body`, `promise` ... (data/words/claims/verdicts.csv).
    pub kind: String,
    /// About what: `collagen`, `pain` ...
    pub topic: String,
    /// What is to be done with it.
    pub verdict: Verdict,
    /// How sure, 0 to 1.
    pub confidence: f64,
    /// The rules it stands on, the leading one first.
    pub rules: Vec<String>,
    /// Why, in a sentence.
    pub reason: String,
    /// The leading rule's source.
    pub source: String,
    /// A safer wording of the whole sentence that keeps the speaker's voice.
    pub instead: Option<String>,
}

/// The rules and words that ship, and those of a practice.
#[derive(Clone, Debug)]
pub struct Rules {
    lexicon: Lexicon,
    rules: BTreeMap<String, Rule>,
    countries: Vec<(String, Country)>,
    reasons: BTreeMap<(String, String), String>,
    wordings: instead::Wordings,
    second: Option<second::Model>,
    sum: u64,
}

const RULES: &str = include_str!("../../../../data/words/claims/rules.csv");
const VERDICTS: &str = include_str!("../../../../data/words/claims/verdicts.csv");
const EFFECTS: &str = include_str!("../../../../data/words/claims/effects.csv");
const TOPICS: &str = include_str!("../../../../data/words/claims/topics.csv");
const CONTEXT: &str = concat!(
    include_str!("../../../../data/words/claims/context.csv"),
    include_str!("../../../../data/words/claims/harmless.csv")
);
const PAIRS: &str = include_str!("../../../../data/words/claims/pairs.csv");
const FRAMES: &str = include_str!("../../../../data/words/claims/frames.csv");
const INSTEAD: &str = include_str!("../../../../data/words/claims/instead.csv");
const REASONS: &str = include_str!("../../../../data/words/claims/reasons.csv");

/// FNV-1a, 64 bits (Fowler, Noll and Vo).
fn summed(mut sum: u64, text: &str) -> u64 {
    for byte in text.bytes() {
        sum = (sum ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    sum
}

impl Rules {
    /// Those that ship.
    pub fn shipped() -> Rules {
        Rules::read(&mut Vec::new())
    }

    fn read(wrong: &mut Vec<String>) -> Rules {
        let lexicon = Lexicon::read(EFFECTS, TOPICS, CONTEXT, PAIRS, FRAMES, wrong);
        let reasons = lexicon::rows(REASONS)
            .into_iter()
            .filter(|r| r.len() == 4)
            .map(|r| ((r[0].clone(), r[1].clone()), r[2].clone()))
            .collect();
        let wordings = lexicon::rows(INSTEAD)
            .into_iter()
            .filter(|r| r.len() == 5)
            .map(|r| ((r[0].clone(), r[1].clone(), r[2].clone()), r[3].clone()))
            .collect();
        let sum = [RULES, VERDICTS, EFFECTS, TOPICS, CONTEXT, PAIRS, FRAMES, REASONS, INSTEAD, second::SHIPPED]
            .iter()
            .fold(0xcbf2_9ce4_8422_2325, |sum, text| summed(sum, text));
        let second = second::Model::read(second::SHIPPED);
        Rules {
            lexicon,
            rules: rules::rules(RULES),
            countries: rules::countries(VERDICTS),
            reasons,
            wordings,
            second,
            sum,
        }
    }

    /// With a practice's own country or words added (TOML; an example is examples/words_country.toml). Its words hold in every country.
    ///
    /// # Errors
    /// Each with its line and what to do.
    pub fn with(self, name: &str, toml: &str) -> Result<Rules, Vec<Finding>> {
        own::with(self, name, toml)
    }

    /// A sum over all of them: whether a text that was checked earlier is to be checked again.
    pub fn sum(&self) -> String {
        format!("{:016x}", self.sum)
    }

    /// The countries' codes with their names.
    pub fn countries(&self) -> Vec<(String, String)> {
        self.countries.iter().map(|(code, country)| (code.clone(), country.name.clone())).collect()
    }
}

/// The claims of a text in these countries, in the order of the text, countries in the order asked.
pub fn check(rules: &Rules, spoken: &Spoken, countries: &[String]) -> Vec<Claim> {
    check_sentences(rules, &spoken.sentences(), countries)
}

/// The same of sentences that were parted already.
pub fn check_sentences(rules: &Rules, sentences: &[Sentence], countries: &[String]) -> Vec<Claim> {
    let asked: Vec<(&String, &Country)> = countries
        .iter()
        .filter_map(|code| rules.countries.iter().find(|(c, _)| c == code).map(|(c, country)| (c, country)))
        .collect();
    let mut claims = Vec::new();
    let mut stated = read::all(&rules.lexicon, sentences);
    let suspected = second::read_on(rules, sentences, &mut stated, &asked);
    for ((sentence, hits), suspected) in sentences.iter().zip(stated).zip(suspected) {
        claims.extend(suspected);
        if hits.hits.is_empty() {
            continue;
        }
        let chars: Vec<char> = sentence.text.chars().collect();
        let flagged: Vec<Hit> = hits.hits.iter().filter(|h| asked.iter().any(|(_, c)| flags(c, h))).cloned().collect();
        let safer = safer(rules, &hits.scene, &sentence.text, &flagged);
        for hit in hits.hits {
            let (lo, hi) = (hits.scene.tokens[hit.lo].lo, hits.scene.tokens[hit.hi - 1].hi);
            for (code, country) in &asked {
                let Some(meant) = country.meant.get(&(hit.kind.clone(), hit.topic.clone())) else { continue };
                let Some(verdict) = meant.verdict else { continue };
                let mut leading = vec![meant.rule.clone()];
                leading.extend(hit.more.iter().filter(|r| r.starts_with(code.as_str()) && **r != meant.rule).cloned());
                let rule = rules.rules.get(&meant.rule);
                let instead = if verdict == Verdict::Ok { None } else { safer.clone() };
                let none = verdict != Verdict::Ok && instead.is_none();
                let mut why = reason(rules, &hit.kind, &hit.topic, meant, rule);
                if none {
                    why.push_str(" No safer wording keeps this sentence: leave it out.");
                }
                claims.push(Claim {
                    start: sentence.at.get(lo).copied().unwrap_or(0),
                    end: sentence.at.get(hi.saturating_sub(1)).map_or(0, |at| at + 1),
                    time: sentence.time.get(lo).copied(),
                    text: chars[lo..hi].iter().collect(),
                    country: (*code).clone(),
                    kind: hit.kind.clone(),
                    topic: hit.topic.clone(),
                    verdict,
                    confidence: (hit.sure * 100.0).round() / 100.0,
                    rules: leading,
                    reason: why,
                    source: meant.source.clone().or_else(|| rule.map(|r| r.source.clone())).unwrap_or_default(),
                    instead,
                });
            }
        }
    }
    claims
}

/// Does the country say more of it than that it may be said?
fn flags(country: &Country, hit: &Hit) -> bool {
    let meant = country.meant.get(&(hit.kind.clone(), hit.topic.clone()));
    meant.and_then(|m| m.verdict).is_some_and(|v| v != Verdict::Ok)
}

/// A safer wording of a sentence that passes the check itself, in every country there is.
fn safer(rules: &Rules, scene: &context::Scene, sentence: &str, flagged: &[Hit]) -> Option<String> {
    if flagged.is_empty() {
        return None;
    }
    instead::candidates(&rules.wordings, scene, sentence, flagged).into_iter().find(|text| {
        let alone = Sentence { text: text.clone(), at: Vec::new(), time: Vec::new(), opens: true };
        read::all(&rules.lexicon, &[alone])
            .iter()
            .all(|s| s.hits.iter().all(|h| !rules.countries.iter().any(|(_, c)| flags(c, h))))
    })
}

/// Why, in a sentence: what the words say, and what the rule says.
fn reason(rules: &Rules, kind: &str, topic: &str, meant: &rules::Meant, rule: Option<&Rule>) -> String {
    if let Some(own) = &meant.reason {
        return own.clone();
    }
    let says = rules.reasons.get(&(kind.to_owned(), topic.to_owned())).cloned().unwrap_or_default();
    match rule {
        Some(rule) => format!("{says} The rule: {}.", rule.meaning),
        None => says,
    }
}

#[cfg(test)]
mod own_tests;
#[cfg(test)]
mod tests;
