//! A second reader beside the rules: does a sentence as a whole read like a statement? A linear model over words and parts of words
//! (data/words/claims/second.txt, made by `cargo run --release -p publish --example second_train` of thousands of labelled sentences). Where the
//! rules found nothing it suspects, where they found something light it may suspect something weightier, and what they found in a sentence that
//! it has next to no doubt about it lets go, unless it is a practice's own wording. A caution it never suspects.

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
const SURE: (f64, f64) = (0.5, 0.7);
/// Below this likelihood what the rules found goes.
const LET_GO: f64 = 0.1;
/// From this likelihood on it may find something weightier than the rules did.
const WEIGHTIER: f64 = 0.9;
const FOUND_NOTHING: &str =
    "No wording of the rules stands in this sentence, but it reads like statements of this kind;";
const FOUND_LIGHTER: &str =
    "The rules found something lighter in this sentence, but as a whole it reads like statements of this kind;";
/// From this likelihood on a sentence is a caution rather than a statement.
const CAUTION: f64 = 0.5;
/// As sure as this a wording is plain: then it goes only from this likelihood of a caution on, and below this one of a statement.
const PLAIN: f64 = 0.9;
const CAUTION_SURE: f64 = 0.9;
const CAUTIOUS: f64 = 0.5;
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
pub fn read_alone(rules: &Rules, model: &Model, row: &Row) -> (f64, String, String) {
    let met = model.met(&learn::seen(rules, row));
    let (kind, topic) = model.kind(&met);
    (model.likely(&met), kind, topic)
}

/// What it adds to the rules' findings, by sentence; what it lets go is taken out of them.
pub(super) fn read_on(
    rules: &Rules,
    sentences: &[Sentence],
    stated: &mut [Stated],
    asked: &[(&String, &Country)],
) -> Vec<Vec<Claim>> {
    let Some(model) = &rules.second else { return vec![Vec::new(); stated.len()] };
    let mut added = Vec::with_capacity(stated.len());
    for i in 0..stated.len() {
        let before = i.checked_sub(1).map(|b| &stated[b].scene);
        let scene = &stated[i].scene;
        let mets = |hits: &[Hit], what: fn(&Country, &Hit) -> bool| -> Vec<bool> {
            asked.iter().map(|(_, c)| hits.iter().any(|h| what(c, h))).collect()
        };
        let flagged = mets(&stated[i].hits, flags).contains(&true);
        if !flagged && (warned(scene) || torn(&sentences[i].text)) {
            added.push(Vec::new());
            continue;
        }
        let met = model.met(&features::of(&rules.lexicon, scene, before));
        let likely = model.likely(&met);
        let caution = model.cautions(&met);
        let cautions = caution >= CAUTION;
        let of = |open: &[bool]| claims(rules, model, &sentences[i], scene, &met, likely, asked, open, flagged);
        if !flagged {
            let from = if quiet(scene, before) || !stated[i].silent() { model.strict } else { model.threshold };
            added.push(if likely < from || cautions { Vec::new() } else { of(&vec![true; asked.len()]) });
        } else if likely >= WEIGHTIER && !cautions && !warned(scene) {
            let open: Vec<bool> = mets(&stated[i].hits, avoids).iter().map(|a| !a).collect();
            let mut found = of(&open);
            found.retain(|c| c.verdict == Verdict::Avoid);
            added.push(found);
        } else {
            added.push(Vec::new());
            // A plain wording goes only where both are sure; a figure or a sale stays what it is.
            let stays = |h: &Hit| h.own || matches!(h.kind.as_str(), "number" | "selling" | "before_after");
            let plain = stated[i].hits.iter().any(|h| h.sure >= PLAIN);
            let goes = if plain {
                caution >= CAUTION_SURE && likely < CAUTIOUS
            } else {
                likely < LET_GO || cautions && likely < model.threshold
            };
            if goes && !stated[i].hits.iter().any(stays) {
                stated[i].hits.retain(|h| !asked.iter().any(|(_, c)| flags(c, h)));
            }
        }
    }
    added
}

/// A line torn off at a bracket, as paper and tables break them, is no sentence to be judged.
fn torn(text: &str) -> bool {
    let of = |bracket: char| text.chars().filter(|c| *c == bracket).count();
    of('(') != of(')')
}

fn avoids(country: &Country, hit: &Hit) -> bool {
    let meant = country.meant.get(&(hit.kind.clone(), hit.topic.clone()));
    meant.is_some_and(|m| m.verdict == Some(Verdict::Avoid))
}

/// Too few words, a plain question, or a denial: of these it says nothing.
fn warned(scene: &Scene) -> bool {
    let words = scene.tokens.iter().filter(|t| t.kind == Kind::Word).count();
    words < WORDS || scene.question() || scene.has(Way::Denial)
}

/// Is there anything around that the rules read as no statement?
fn quiet(scene: &Scene, before: Option<&Scene>) -> bool {
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

/// What it says in each country that is open; beside lighter findings of the rules, or alone.
#[allow(clippy::too_many_arguments, reason = "one reading of one sentence")]
fn claims(
    rules: &Rules,
    model: &Model,
    sentence: &Sentence,
    scene: &Scene,
    met: &[model::Met],
    likely: f64,
    asked: &[(&String, &Country)],
    open: &[bool],
    beside: bool,
) -> Vec<Claim> {
    let (kind, topic) = model.kind(met);
    let words: Vec<usize> =
        (0..scene.tokens.len()).filter(|i| !matches!(scene.tokens[*i].kind, Kind::Mark(_))).collect();
    let (Some(first), Some(last)) = (words.first(), words.last()) else { return Vec::new() };
    let (lo, hi) = (scene.tokens[*first].lo, scene.tokens[*last].hi);
    let weighs = model.heaviest(met, scene);
    let share = ((likely - model.threshold) / (1.0 - model.threshold).max(1e-9)).max(0.0);
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
        own: false,
        pair: false,
        matter: String::new(),
        more: Vec::new(),
    };
    let safer = safer(rules, model, scene, &sentence.text, &hit);
    let mut claims = Vec::new();
    let found = if beside { FOUND_LIGHTER } else { FOUND_NOTHING };
    for ((code, country), _) in asked.iter().zip(open).filter(|(_, open)| **open) {
        let Some(meant) = country.meant.get(&(kind.clone(), topic.clone())) else { continue };
        let Some(verdict) = meant.verdict.filter(|v| *v != Verdict::Ok) else { continue };
        let rule = rules.rules.get(&meant.rule);
        let mut why = format!("{found} {weighs}. If it is meant so: {}", reason(rules, &kind, &topic, meant, rule));
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
                        || model.likely(&model.met(&features::of(&rules.lexicon, &s.scene, None))) < model.threshold)
            })
    })
}

#[cfg(test)]
mod tests;
