//! Sentence after sentence: what each states, with what the one before brings along.

use super::context::{Scene, Way};
use super::find::{Hit, candidates};
use super::lexicon::Lexicon;
use super::token::{Form, Kind, Token};
use crate::timed::Sentence;

/// What a sentence states.
#[derive(Clone, Debug)]
pub(super) struct Stated {
    pub tokens: Vec<Token>,
    pub hits: Vec<Hit>,
}

/// Kinds that a question about an effect can have as its answer.
const EFFECTS: &[&str] = &["body", "disease", "promise", "number", "approval", "guarantee", "wellbeing"];

/// All sentences of a text.
pub(super) fn all(lexicon: &Lexicon, sentences: &[Sentence]) -> Vec<Stated> {
    let mut stated: Vec<Stated> = Vec::new();
    let mut before: Option<(Scene, Vec<Hit>)> = None;
    let mut disclosed_before = false;
    for sentence in sentences {
        let scene = Scene::new(lexicon, &sentence.text);
        let found = candidates(lexicon, &scene);
        let mut hits: Vec<Hit> = Vec::new();
        for hit in &found {
            if let Some(less) = scene.meant(hit) {
                let mut hit = hit.clone();
                hit.sure *= less;
                hits.push(hit);
            }
        }
        if let Some((earlier, candidates)) = &before {
            if !hits.iter().any(|h| matches!(h.kind.as_str(), "body" | "disease")) {
                hits.extend(carried(lexicon, &scene, earlier, candidates));
            }
        }
        look(&scene, &mut hits);
        told(&scene, &mut hits);
        let discloses = scene.has(Way::Disclosure);
        if discloses || disclosed_before {
            hits.retain(|h| h.kind != "selling" || h.topic == "form");
        }
        if discloses {
            hits.retain(|h| !(h.kind == "story" && h.topic == "actor"));
        }
        more_rules(&scene, &mut hits);
        once(&mut hits);
        disclosed_before = discloses;
        stated.push(Stated { tokens: scene.tokens.clone(), hits });
        before = Some((scene, found));
    }
    stated
}

/// What the sentence before brings along: a question answered yes, a matter taken up by a pronoun or by nothing at all.
fn carried(lexicon: &Lexicon, scene: &Scene, earlier: &Scene, candidates: &[Hit]) -> Vec<Hit> {
    let mut hits = Vec::new();
    let asked = earlier.tokens.last().is_some_and(|t| t.kind == Kind::Mark('?'))
        || earlier.question()
        || earlier.has(Way::Open);
    if asked && scene.begins(Way::Yes) && !scene.begins(Way::No) {
        let end =
            scene.tokens.iter().position(Token::hard).unwrap_or(scene.tokens.len()).max(1).min(scene.tokens.len());
        for hit in candidates.iter().filter(|h| EFFECTS.contains(&h.kind.as_str())) {
            if !scene.negated(end - 1) && !scene.has(Way::Denial) {
                hits.push(Hit { lo: 0, hi: end, at: 0, sure: hit.sure * 0.8, ..hit.clone() });
            }
        }
        if !hits.is_empty() {
            return hits;
        }
    }
    // An effect without a matter of its own: "this irons them out", "gone after this".
    if scene.question() || scene.has(Way::Denial) {
        return hits;
    }
    let effects: Vec<_> = scene.marks.all.iter().filter(|m| lexicon.effect(m.class)).collect();
    let topics: Vec<_> = earlier.marks.all.iter().filter(|m| lexicon.topic(m.class)).collect();
    for effect in &effects {
        let name = lexicon.name(effect.class);
        if scene.negated(effect.lo) {
            continue;
        }
        let own = scene.marks.all.iter().any(|m| {
            lexicon.topic(m.class)
                && lexicon.pair(effect.class, m.class).is_some()
                && m.lo >= effect.hi
                && m.lo - effect.hi < 4
        });
        if own {
            continue;
        }
        let pronoun_after =
            (effect.lo..scene.tokens.len().min(effect.hi + 2)).any(|i| scene.covers(Way::Pronoun, i) && i > effect.lo);
        let pronoun_before = (effect.lo.saturating_sub(4)..effect.lo)
            .any(|i| scene.tokens[i].any(&["they", "it", "them", "that", "these", "those", "all", "what"]));
        let alone = effect.lo <= 1;
        let takes = match name.rsplit('_').next() {
            Some("v" | "for") => {
                let passive = scene.tokens[effect.lo].form == Form::Ed && pronoun_before;
                pronoun_after
                    || passive
                    || (pronoun_before
                        && effect.hi == scene.tokens.iter().position(Token::hard).unwrap_or(scene.tokens.len()))
            }
            Some("i") => pronoun_before || alone,
            _ => false,
        };
        if !takes {
            continue;
        }
        for topic in &topics {
            if let Some(meaning) = lexicon.pair(effect.class, topic.class) {
                if meaning.kind == "wellbeing" {
                    continue;
                }
                let hit = Hit {
                    kind: meaning.kind.clone(),
                    topic: meaning.topic.clone(),
                    lo: effect.lo,
                    hi: effect.hi,
                    at: effect.lo,
                    sure: meaning.sure * 0.7,
                    fixed: false,
                    pair: true,
                    matter: lexicon.name(topic.class).to_owned(),
                    more: Vec::new(),
                };
                if scene.meant(&hit).is_some() {
                    hits.push(hit);
                }
            }
        }
    }
    hits
}

/// What is of the look alone may be said.
fn look(scene: &Scene, hits: &mut [Hit]) {
    for hit in hits.iter_mut() {
        if matches!(hit.kind.as_str(), "body" | "promise") && scene.appearance(hit) {
            hit.kind = "appearance".into();
            hit.topic = "temporary".into();
        }
    }
}

/// A result that somebody had is a story; a survey tells of people, not of the matter.
fn told(scene: &Scene, hits: &mut Vec<Hit>) {
    if hits.iter().any(|h| h.kind == "number" && h.topic == "survey") {
        hits.retain(|h| {
            !matches!(h.kind.as_str(), "body" | "promise" | "story") && !(h.kind == "number" && h.topic == "figure")
        });
        return;
    }
    if hits.iter().any(|h| h.kind == "rivals" && h.topic == "denigrates") {
        hits.retain(|h| h.kind != "fear");
    }
    if hits.iter().any(|h| h.kind == "unclear") {
        hits.retain(|h| h.kind != "body");
    }
    for hit in hits.iter_mut() {
        if matches!(hit.kind.as_str(), "body" | "promise" | "disease") && scene.story(hit) {
            hit.topic = if hit.kind == "disease" { "condition".into() } else { "result".into() };
            hit.kind = "story".into();
        }
    }
}

/// Rules that come on top: a tool as the one who does it, a disclaimer that does not rescue.
fn more_rules(scene: &Scene, hits: &mut [Hit]) {
    for hit in hits.iter_mut() {
        if hit.kind == "body" && (0..hit.at).any(|i| scene.covers(Way::Tool, i)) {
            hit.more.push("us_device".into());
        }
        if hit.kind == "disease" && scene.has(Way::Disclaimer) {
            hit.more.push("uk_disclaimer".into());
        }
    }
}

/// Each kind and topic once in a clause, the surest; all in the order of the text.
fn once(hits: &mut Vec<Hit>) {
    hits.sort_by(|a, b| (&a.kind, &a.topic, a.lo).cmp(&(&b.kind, &b.topic, b.lo)).then(b.sure.total_cmp(&a.sure)));
    let mut kept: Vec<Hit> = Vec::new();
    for hit in hits.drain(..) {
        match kept.iter_mut().find(|k| k.kind == hit.kind && k.topic == hit.topic && hit.lo < k.hi + 12) {
            Some(k) if hit.sure > k.sure => *k = hit,
            Some(_) => {}
            None => kept.push(hit),
        }
    }
    kept.sort_by_key(|h| (h.lo, h.hi));
    *hits = kept;
}
