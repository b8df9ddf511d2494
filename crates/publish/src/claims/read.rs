//! Sentence after sentence: what each states, with what the one before brings along.

use super::context::{Scene, Way};
use super::find::{Hit, candidates};
use super::lexicon::Lexicon;
use super::pattern::{Class, Mark};
use super::token::{Form, Kind, Token};
use crate::timed::Sentence;

/// What a sentence states.
#[derive(Clone, Debug)]
pub(super) struct Stated {
    pub scene: Scene,
    pub hits: Vec<Hit>,
    /// Before anything was asked of their context.
    found: Vec<Hit>,
}

impl Stated {
    /// Did the rules neither find anything nor dismiss what they found?
    pub fn silent(&self) -> bool {
        self.hits.is_empty() && self.found.is_empty()
    }
}

/// Kinds that a question about an effect can have as its answer.
const EFFECTS: &[&str] = &["body", "disease", "promise", "number", "approval", "guarantee", "wellbeing"];

/// All sentences of a text.
pub(super) fn all(lexicon: &Lexicon, sentences: &[Sentence]) -> Vec<Stated> {
    let mut stated: Vec<Stated> = Vec::new();
    let mut disclosed_before = false;
    for sentence in sentences {
        let scene = Scene::new(lexicon, &sentence.text);
        let found = distinct(candidates(lexicon, &scene));
        let mut hits: Vec<Hit> = Vec::new();
        for hit in &found {
            if let Some(less) = scene.meant(hit) {
                let mut hit = hit.clone();
                hit.sure *= less;
                hits.push(hit);
            }
        }
        if !hits.iter().any(|h| matches!(h.kind.as_str(), "body" | "disease")) {
            hits.extend(taken_up_within(lexicon, &scene));
        }
        let before = stated.last().map(|s| (&s.scene, &s.found));
        if let Some((earlier, candidates)) = before
            && !hits.iter().any(|h| matches!(h.kind.as_str(), "body" | "disease"))
        {
            hits.extend(carried(lexicon, &scene, earlier, candidates));
        }
        // "What I don't claim:" - "That it drains anything."
        let heading =
            stated.last().map(|s| &s.scene).filter(|s| s.tokens.last().is_some_and(|t| t.kind == Kind::Mark(':')));
        let taken_back = heading.is_some_and(|s| {
            [Way::Denial, Way::Negator, Way::Caution, Way::Clinician, Way::Limits].iter().any(|w| s.has(*w))
                || s.tokens.iter().any(|t| t.any(&["myth", "myths", "next", "rumours"]))
        });
        if taken_back {
            hits.clear();
        }
        if hits.is_empty() && found.is_empty() && !taken_back {
            hits.extend(unexplained(lexicon, &scene));
        }
        if !hits.iter().any(|h| matches!(h.kind.as_str(), "disease" | "story" | "advice")) && !taken_back {
            hits.extend(recovered(lexicon, &scene));
        }
        look(&scene, &mut hits);
        told(&scene, before.map(|(earlier, _)| earlier), &mut hits);
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
        stated.push(Stated { scene, hits, found });
    }
    stated
}

/// Each statement once at its place, the surest.
fn distinct(mut hits: Vec<Hit>) -> Vec<Hit> {
    hits.sort_by(|a, b| {
        (a.lo, a.hi, &a.kind, &a.topic).cmp(&(b.lo, b.hi, &b.kind, &b.topic)).then(b.sure.total_cmp(&a.sure))
    });
    hits.dedup_by(|a, b| (a.lo, a.hi, a.at, &a.kind, &a.topic) == (b.lo, b.hi, b.at, &b.kind, &b.topic));
    hits
}

/// What the sentence before brings along: a question answered yes, a matter taken up by a pronoun or by nothing at all, an answer that is
/// only the matter.
fn carried(lexicon: &Lexicon, scene: &Scene, earlier: &Scene, candidates: &[Hit]) -> Vec<Hit> {
    let mut hits = Vec::new();
    let asked = earlier.tokens.last().is_some_and(|t| t.kind == Kind::Mark('?'))
        || earlier.question()
        || earlier.has(Way::Open);
    let end = scene.tokens.iter().position(Token::hard).unwrap_or(scene.tokens.len());
    if asked
        && end > 0
        && scene.begins(Way::Yes)
        && !scene.begins(Way::No)
        && !scene.within(Way::Negator, 0, end)
        && !scene.has(Way::Denial)
    {
        for hit in candidates.iter().filter(|h| EFFECTS.contains(&h.kind.as_str())) {
            hits.push(Hit { lo: 0, hi: end, at: 0, sure: hit.sure * 0.8, ..hit.clone() });
        }
        if !hits.is_empty() {
            return hits;
        }
    }
    if scene.question() || scene.has(Way::Denial) {
        return hits;
    }
    let topics: Vec<&Mark> = earlier.marks.all.iter().filter(|m| lexicon.topic(m.class)).collect();
    hits.extend(taken_up(lexicon, scene, &topics, scene.tokens.len(), 0.7));
    // "Suffering from sinusitis?" - "This is the stroke for you."
    let named = scene.marks.of(scene.way(Way::Foryou)).find(|m| !scene.negated(m.lo));
    if let Some(mark) = named {
        for topic in topics.iter().filter(|t| lexicon.unwanted(t.class)) {
            hits.extend(statement(lexicon, lexicon.class("good_for"), topic, mark.lo, mark.hi, 0.65));
        }
    }
    // "Who is this for?" - "Anyone with sinusitis."
    let offered = asked
        && earlier.tokens.iter().any(|t| t.is("who"))
        && !earlier
            .tokens
            .iter()
            .any(|t| t.any(&["ask", "not", "skip", "leave", "avoid", "careful", "should", "doctor", "wait"]));
    if offered
        && scene
            .tokens
            .first()
            .is_some_and(|t| t.any(&["anyone", "anybody", "everyone", "everybody", "people", "those", "all"]))
    {
        for topic in scene.marks.all.iter().filter(|m| lexicon.unwanted(m.class) && !scene.negated(m.lo)) {
            hits.extend(statement(lexicon, lexicon.class("good_for"), topic, topic.lo, topic.hi, 0.7));
        }
    }
    hits.extend(went_on(lexicon, scene, earlier));
    // "What leaves the body?" - "Toxins, mostly."
    let heads = earlier.tokens.last().is_some_and(|t| t.kind == Kind::Mark(':'));
    let wanted =
        (asked || heads) && earlier.tokens.first().is_some_and(|t| t.any(&["what", "which", "and", "so"])) && end <= 5;
    if wanted && !earlier.tokens.iter().any(|t| t.any(&["why", "if", "cause", "causes", "caused", "are"])) {
        for effect in earlier.marks.all.iter().filter(|m| lexicon.effect(m.class)) {
            for topic in scene.marks.all.iter().filter(|m| lexicon.topic(m.class) && m.hi <= end) {
                hits.extend(statement(lexicon, effect.class, topic, topic.lo, topic.hi, 0.6));
            }
        }
    }
    hits
}

/// Somebody's illness in the sentence before, and in this one how it is now: "Colin had tinnitus for years." - "After my workshop it was silent."
fn went_on(lexicon: &Lexicon, scene: &Scene, earlier: &Scene) -> Option<Hit> {
    let quiet = |s: &Scene| {
        [Way::Denial, Way::Open, Way::Limits, Way::Caution, Way::Clinician].iter().any(|w| s.has(*w)) || s.question()
    };
    let had = earlier
        .tokens
        .iter()
        .any(|t| t.any(&["had", "was", "were", "suffered", "came", "lived", "arrived", "started", "struggled"]));
    let whose = earlier.has(Way::Person)
        || earlier.tokens.iter().any(|t| t.any(&["she", "he", "my", "her", "his"]))
        || earlier.tokens.iter().any(|t| t.capital && t.exact == 0 && t.stem == 0);
    let opens = scene
        .tokens
        .first()
        .is_some_and(|t| t.any(&["now", "today", "by", "since", "after", "then", "two", "three", "four", "six"]));
    let later = scene.tokens.iter().take(8).any(|t| {
        t.any(&[
            "workshop",
            "course",
            "massage",
            "strokes",
            "stroke",
            "routine",
            "lesson",
            "lessons",
            "sessions",
            "weeks",
            "months",
            "spring",
            "summer",
            "autumn",
            "winter",
            "christmas",
            "easter",
            "packet",
            "tablets",
            "gone",
            "again",
            "no",
        ])
    });
    if quiet(scene) || quiet(earlier) || !had || !whose || !opens || !later {
        return None;
    }
    let ill = |name: &str| matches!(name, "condition" | "skin_condition" | "pain");
    let mark = earlier.marks.all.iter().find(|m| ill(lexicon.name(m.class)))?;
    let mut hit = statement(lexicon, lexicon.class("heal_v"), mark, 0, scene.tokens.len().min(8), 0.65)?;
    hit.kind = "story".into();
    hit.topic = "condition".into();
    Some(hit)
}

/// Something unwanted, or something wished for, in a sentence without any word that makes it a bare mention: an effect in words that the
/// lexicon does not know ("crow's feet get their marching papers"). Never sure.
fn unexplained(lexicon: &Lexicon, scene: &Scene) -> Option<Hit> {
    const WITH: &[(&str, &str, bool)] = &[
        ("condition", "heal_v", true),
        ("skin_condition", "heal_v", true),
        ("pain", "heal_v", true),
        ("dark_circles", "remove_v", true),
        ("wrinkles", "remove_v", true),
        ("sagging", "remove_v", true),
        ("inflammation", "remove_v", true),
        ("pigment", "remove_v", true),
        ("toxins", "remove_v", true),
        ("collagen", "boost_v", true),
        ("immune", "boost_v", true),
    ];
    scene.marks.all.iter().find_map(|mark| {
        let (_, effect, firm) = WITH.iter().find(|(name, ..)| *name == lexicon.name(mark.class))?;
        if !scene.unexplained(mark.lo, mark.hi, *firm) {
            return None;
        }
        statement(lexicon, lexicon.class(effect), mark, mark.lo, mark.hi, 0.5)
    })
}

/// Somebody's illness, then and now: "I had it for nine years, and this ended it".
fn recovered(lexicon: &Lexicon, scene: &Scene) -> Option<Hit> {
    let quiet = [Way::Denial, Way::Open, Way::Limits, Way::Caution].iter().any(|w| scene.has(*w));
    let person = scene
        .marks
        .of(scene.way(Way::Person))
        .any(|m| !scene.tokens[m.lo].any(&["people", "women", "participants", "everyone"]));
    let somebody = person
        || scene
            .tokens
            .iter()
            .any(|t| t.any(&["my", "her", "his", "she", "he"]) || (t.capital && t.exact == 0 && t.stem == 0));
    let then_now = scene.tokens.iter().enumerate().any(|(i, t)| {
        t.any(&[
            "since",
            "until",
            "ended",
            "anymore",
            "vanished",
            "faded",
            "stopped",
            "gone",
            "cured",
            "healed",
            "recovered",
        ]) || (t.is("after")
            && scene.tokens[i + 1..].iter().take(4).any(|u| {
                u.any(&[
                    "day",
                    "days",
                    "week",
                    "weeks",
                    "month",
                    "months",
                    "session",
                    "sessions",
                    "sunday",
                    "course",
                    "evening",
                    "evenings",
                    "stroke",
                    "strokes",
                    "workshop",
                    "massage",
                    "routine",
                    "lesson",
                    "lessons",
                    "class",
                    "treatment",
                ])
            }))
            || (t.is("no") && scene.tokens.get(i + 1).is_some_and(|u| u.any(&["longer", "more"])))
            || (t.is("in") && scene.tokens[i + 1..].iter().take(2).any(|u| u.any(&["days", "weeks", "sessions"])))
    });
    if quiet
        || !somebody
        || !then_now
        || scene.question()
        || scene.tokens.iter().any(|t| {
            t.any(&["if", "should", "please", "today", "morning", "yesterday", "trial", "study", "trials", "studies"])
        })
    {
        return None;
    }
    let ill = |name: &str| matches!(name, "condition" | "skin_condition" | "pain");
    let mark = scene.marks.all.iter().find(|m| ill(lexicon.name(m.class)))?;
    let mut hit = statement(lexicon, lexicon.class("heal_v"), mark, mark.lo, mark.hi, 0.6)?;
    (hit.kind, hit.topic, hit.pair) = ("story".into(), "condition".into(), false);
    Some(hit)
}

/// A statement of an effect on a matter that stands elsewhere.
fn statement(lexicon: &Lexicon, effect: Class, topic: &Mark, lo: usize, hi: usize, less: f64) -> Option<Hit> {
    let meaning = lexicon.pair(effect, topic.class)?;
    (meaning.kind != "wellbeing").then(|| Hit {
        kind: meaning.kind.clone(),
        topic: meaning.topic.clone(),
        lo,
        hi,
        at: lo,
        sure: meaning.sure * less,
        fixed: false,
        own: false,
        pair: true,
        matter: lexicon.name(topic.class).to_owned(),
        more: Vec::new(),
    })
}

/// Effects without a matter of their own that take one up by a pronoun ("this irons them out", "they are gone") or by nothing ("gone after
/// this"): of the matters given, those that end before `limit` tokens of this scene do, or those of the sentence before.
fn taken_up(lexicon: &Lexicon, scene: &Scene, topics: &[&Mark], limit: usize, less: f64) -> Vec<Hit> {
    let mut hits = Vec::new();
    for effect in scene.marks.all.iter().filter(|m| lexicon.effect(m.class) && m.lo <= limit) {
        if scene.negated(effect.lo) {
            continue;
        }
        let own = |m: &&Mark| {
            lexicon.topic(m.class)
                && lexicon.pair(effect.class, m.class).is_some()
                && m.hi > effect.lo
                && m.lo < effect.hi + 4
        };
        if scene.marks.all.iter().any(|m| own(&m)) {
            continue;
        }
        let n = scene.tokens.len();
        let after = (effect.lo + 1..n.min(effect.hi + 2)).any(|i| scene.covers(Way::Pronoun, i));
        let before = (effect.lo.saturating_sub(5)..effect.lo)
            .any(|i| scene.tokens[i].any(&["they", "it", "them", "that", "these", "those", "all", "what", "both"]));
        let ends = effect.hi == n || scene.tokens[effect.hi].hard() || scene.tokens[effect.hi].comma();
        let takes = match lexicon.name(effect.class).rsplit('_').next() {
            Some("v" | "for") => after || (scene.tokens[effect.lo].form == Form::Ed && before) || (before && ends),
            Some("i") => before || effect.lo <= 1,
            Some("a") => before && ends,
            Some("x") => lexicon.name(effect.class) == "safe_x",
            _ => false,
        };
        if takes {
            for topic in topics {
                hits.extend(statement(lexicon, effect.class, topic, effect.lo, effect.hi, less));
            }
        }
    }
    hits.retain(|hit| scene.meant(hit).is_some());
    hits
}

/// The same within a sentence: "all those toxins, we are going to sweep them away".
fn taken_up_within(lexicon: &Lexicon, scene: &Scene) -> Vec<Hit> {
    let mut hits = Vec::new();
    let topics: Vec<&Mark> = scene
        .marks
        .all
        .iter()
        .filter(|m| {
            lexicon.topic(m.class)
                && !matches!(lexicon.name(m.class), "face" | "muscle" | "skin_tone" | "youth" | "tension" | "calm")
        })
        .collect();
    for topic in topics {
        let later: Vec<Hit> = taken_up(lexicon, scene, &[topic], scene.tokens.len(), 0.8)
            .into_iter()
            .filter(|h| h.lo > topic.hi)
            .collect();
        hits.extend(
            later
                .into_iter()
                .filter(|h| {
                    // "Zigzag over the lines, because that rubs them out" tells of the stroke, not of the lines' cause.
                    let told = scene.tokens[h.at].form == Form::S;
                    !scene.tokens[topic.hi..h.lo]
                        .iter()
                        .any(|t| t.any(&["if", "stop", "do", "not", "until"]) || !told && t.any(&["so", "because"]))
                })
                .map(|h| Hit { lo: topic.lo, ..h }),
        );
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
fn told(scene: &Scene, earlier: Option<&Scene>, hits: &mut Vec<Hit>) {
    if hits.iter().any(|h| h.kind == "number" && h.topic == "survey") {
        hits.retain(|h| {
            !(matches!(h.kind.as_str(), "body" | "promise" | "story") || h.kind == "number" && h.topic == "figure")
        });
        return;
    }
    // "A wake-up call for your cells", "we lose collagen and this puts it back": no threat.
    let better: Vec<(usize, usize)> = hits.iter().filter(|h| h.kind == "body").map(|h| (h.lo, h.hi)).collect();
    hits.retain(|h| {
        let mild = scene.tokens[h.lo..h.hi].iter().any(|t| t.any(&["call", "lose"]));
        !(h.kind == "fear" && mild && better.iter().any(|(lo, hi)| *lo < h.hi && h.lo < *hi))
    });
    // "The habit that is ruining your skin" frightens; no rival is named.
    let habit =
        scene.tokens.iter().any(|t| t.any(&["habit", "habits", "mistake", "mistakes", "error", "errors", "pillow"]));
    if habit && hits.iter().any(|h| h.kind == "fear") {
        hits.retain(|h| h.kind != "rivals");
    }
    if hits.iter().any(|h| h.kind == "rivals" && h.topic == "denigrates") {
        hits.retain(|h| h.kind != "fear");
    }
    if hits.iter().any(|h| h.topic == "legal_minimum") {
        hits.retain(|h| h.topic != "authority");
    }
    if hits.iter().any(|h| h.kind == "unclear") {
        hits.retain(|h| h.kind != "body");
    }
    for hit in hits.iter_mut() {
        if matches!(hit.kind.as_str(), "body" | "promise" | "disease")
            && (scene.story(hit) || earlier.is_some_and(|e| scene.goes_on(e)))
        {
            hit.topic = if hit.kind == "disease" { "condition".into() } else { "result".into() };
            hit.kind = "story".into();
        }
    }
}

/// Rules that come on top of the country's own, by kind and topic ("" for every topic).
const BESIDE: &[(&str, &str, &[&str])] = &[
    ("disease", "", &["us_drug_def", "us_ftc_evidence", "uk_medicinal"]),
    ("story", "condition", &["us_conditions", "us_ftc_typical", "uk_testimonial"]),
    ("story", "result", &["us_ftc_testimony"]),
    ("body", "collagen", &["us_wrinkle_remove"]),
    ("number", "proof", &["uk_dark_circles"]),
];

/// Rules that come on top: a tool as the one who does it, reflexology, a disclaimer that does not rescue.
fn more_rules(scene: &Scene, hits: &mut [Hit]) {
    let reflex = scene.tokens.iter().any(|t| t.any(&["reflexology", "reflex", "reflexologist"]));
    for hit in hits.iter_mut() {
        let beside =
            BESIDE.iter().filter(|(kind, topic, _)| *kind == hit.kind && (topic.is_empty() || *topic == hit.topic));
        hit.more.extend(beside.flat_map(|(_, _, rules)| rules.iter().map(|r| (*r).to_owned())));
        if hit.kind == "body" && (0..hit.at).any(|i| scene.covers(Way::Tool, i)) {
            hit.more.push("us_device".into());
        }
        if reflex && matches!(hit.kind.as_str(), "body" | "disease") {
            hit.more.push("uk_facial_reflex".into());
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
