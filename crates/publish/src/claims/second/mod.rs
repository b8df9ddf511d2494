//! A second reader: where no wording of the rules stands in a sentence, does it read like a statement all the same? A linear model over words
//! and parts of words (data/words/claims/second.txt, made by `cargo run --release -p publish --example second_train`). It only suspects:
//! it speaks where the rules were silent, never where they saw a caution, an order to the hand, a denial, a disclosure or anatomy.

mod features;
mod learn;
mod model;

pub use learn::{Row, learn, sum};
pub use model::Model;

use super::context::{Scene, Way};
use super::find::Hit;
use super::read::{self, Stated};
use super::rules::Country;
use super::token::{Form, Kind};
use super::{Claim, Rules, Sentence, Verdict, flags, instead, reason};

pub(super) const SHIPPED: &str = include_str!("../../../../../data/words/claims/second.txt");

/// How sure the second reader is at least and at most.
const SURE: (f64, f64) = (0.4, 0.6);
/// Fewer words say too little.
const WORDS: usize = 3;

impl Rules {
    /// The rules alone, without the second reader.
    #[must_use]
    pub fn alone(mut self) -> Rules {
        self.second = None;
        self
    }

    /// With this second reader in place of the one that ships.
    #[must_use]
    pub fn reading(mut self, model: Model) -> Rules {
        self.second = Some(model);
        self
    }
}

/// What a model says of a sentence whatever the rules say of it: how likely it is a statement, 0 to 1, of which type and topic.
pub fn read_alone(rules: &Rules, model: &Model, text: &str) -> (f64, String, String) {
    let features = features::of(&rules.lexicon, &Scene::new(&rules.lexicon, text));
    let (kind, topic) = model.kind(&features);
    (model.likely(&features), kind, topic)
}

/// The claims of sentences in which the rules found nothing; an empty list for all others.
pub(super) fn suspected(
    rules: &Rules,
    sentences: &[Sentence],
    stated: &[Stated],
    asked: &[(&String, &Country)],
) -> Vec<Vec<Claim>> {
    let Some(model) = &rules.second else { return vec![Vec::new(); stated.len()] };
    let one = |i: usize| {
        let before = i.checked_sub(1).map(|b| &stated[b].scene);
        let scene = &stated[i].scene;
        if !stated[i].silent() || quiet(scene, before) {
            return Vec::new();
        }
        let features = features::of(&rules.lexicon, scene);
        let likely = model.likely(&features);
        if likely < model.threshold {
            Vec::new()
        } else {
            claims(rules, model, &sentences[i], scene, &features, likely, asked)
        }
    };
    (0..stated.len()).map(one).collect()
}

/// Is there anything around that the rules read as no statement?
fn quiet(scene: &Scene, before: Option<&Scene>) -> bool {
    let words = scene.tokens.iter().filter(|t| t.kind == Kind::Word).count();
    if words < WORDS || scene.question() {
        return true;
    }
    let ways = [Way::Denial, Way::Open, Way::Limits, Way::Caution, Way::Clinician, Way::Disclosure];
    if ways.iter().any(|w| scene.has(*w)) || before.is_some_and(|b| b.has(Way::Disclosure)) {
        return true;
    }
    // A list of what is not claimed.
    let heading = before.filter(|s| s.tokens.last().is_some_and(|t| t.kind == Kind::Mark(':')));
    if heading.is_some_and(|s| ways.iter().any(|w| s.has(*w)) || s.has(Way::Negator)) {
        return true;
    }
    hand(scene) || anatomy(scene)
}

/// An order to the hand: it begins with what a hand does.
fn hand(scene: &Scene) -> bool {
    let opens =
        ["then", "now", "and", "please", "gently", "slowly", "softly", "next", "just", "okay", "ok", "so", "with"];
    let first = scene.tokens.iter().position(|t| t.kind == Kind::Word && !t.any(&opens));
    first.is_some_and(|i| {
        scene.tokens[i].form == Form::Base && (scene.covers(Way::Handverb, i) || scene.covers(Way::Motion, i))
    })
}

/// Told of the body as it is: a part of it is what the sentence is about, and nothing of ours does anything to it.
fn anatomy(scene: &Scene) -> bool {
    let first = scene
        .tokens
        .iter()
        .position(|t| t.kind == Kind::Word && !t.any(&["the", "a", "an", "this", "these", "two", "each"]));
    first.is_some_and(|i| {
        scene.covers(Way::Anatomy, i)
            && !scene.has(Way::Ours)
            && !scene.tokens.iter().any(|t| t.any(&["your", "you", "my", "our"]))
    })
}

/// What it says in each country.
fn claims(
    rules: &Rules,
    model: &Model,
    sentence: &Sentence,
    scene: &Scene,
    features: &[features::Feature],
    likely: f64,
    asked: &[(&String, &Country)],
) -> Vec<Claim> {
    let (kind, topic) = model.kind(features);
    let words: Vec<usize> =
        (0..scene.tokens.len()).filter(|i| !matches!(scene.tokens[*i].kind, Kind::Mark(_))).collect();
    let (Some(first), Some(last)) = (words.first(), words.last()) else { return Vec::new() };
    let (lo, hi) = (scene.tokens[*first].lo, scene.tokens[*last].hi);
    let weighs = model.heaviest(features, scene);
    let share = (likely - model.threshold) / (1.0 - model.threshold).max(1e-9);
    let firm = SURE.0 + 0.05 + share * (SURE.1 - SURE.0 - 0.05);
    // A hedge never makes surer.
    let sure = if scene.has(Way::Hedge) { SURE.0 } else { firm.clamp(SURE.0, SURE.1) };
    let hit = Hit {
        kind: kind.clone(),
        topic: "*".into(),
        lo: *first,
        hi: *last + 1,
        at: *first,
        sure,
        fixed: false,
        pair: false,
        matter: String::new(),
        more: Vec::new(),
    };
    let safer = safer(rules, model, scene, &sentence.text, &hit);
    let mut claims = Vec::new();
    for (code, country) in asked {
        let Some(meant) = country.meant.get(&(kind.clone(), topic.clone())) else { continue };
        let Some(verdict) = meant.verdict.filter(|v| *v != Verdict::Ok) else { continue };
        let rule = rules.rules.get(&meant.rule);
        let mut why = format!(
            "No wording of the rules stands in this sentence, but it reads like statements of this kind; {weighs}. If it is meant so: {}",
            reason(rules, &kind, &topic, meant, rule)
        );
        if safer.is_none() {
            why.push_str(" No safer wording is known for it: if it is meant so, leave it out.");
        }
        claims.push(Claim {
            start: sentence.at.get(lo).copied().unwrap_or(0),
            end: sentence.at.get(hi.saturating_sub(1)).map_or(0, |at| at + 1),
            time: sentence.time.get(lo).copied(),
            text: sentence.text.chars().skip(lo).take(hi - lo).collect(),
            country: (*code).clone(),
            kind: kind.clone(),
            topic: topic.clone(),
            verdict,
            confidence: (sure * 100.0).round() / 100.0,
            rules: vec![meant.rule.clone()],
            reason: why,
            source: meant.source.clone().or_else(|| rule.map(|r| r.source.clone())).unwrap_or_default(),
            instead: safer.clone(),
        });
    }
    claims
}

/// The generic wording of its type, if it fits and neither the rules nor this reader have anything against it.
fn safer(rules: &Rules, model: &Model, scene: &Scene, sentence: &str, hit: &Hit) -> Option<String> {
    instead::candidates(&rules.wordings, scene, sentence, std::slice::from_ref(hit)).into_iter().find(|text| {
        let alone = Sentence { text: text.clone(), at: Vec::new(), time: Vec::new(), opens: true };
        text != sentence
            && read::all(&rules.lexicon, &[alone]).iter().all(|s| {
                let passes = s.hits.iter().all(|h| !rules.countries.iter().any(|(_, c)| flags(c, h)));
                passes
                    && (quiet(&s.scene, None)
                        || model.likely(&features::of(&rules.lexicon, &s.scene)) < model.threshold)
            })
    })
}

#[cfg(test)]
mod tests;
