//! What a sentence states: wordings that are statements by themselves, and effects that meet a matter within a clause.

use super::context::{Scene, Way};
use super::lexicon::Lexicon;
use super::pattern::Mark;
use super::token::{Form, Kind, Token};

/// A statement found, before it is asked what it means in a country.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hit {
    /// As in verdicts.csv.
    pub kind: String,
    /// As in verdicts.csv.
    pub topic: String,
    /// First token.
    pub lo: usize,
    /// One past the last.
    pub hi: usize,
    /// The token that decides: the verb, or the first of the wording.
    pub at: usize,
    /// How sure, 0 to 1.
    pub sure: f64,
    /// Negation and questions are part of the wording.
    pub fixed: bool,
    /// A practice's own wording.
    pub own: bool,
    /// Made of an effect and a matter.
    pub pair: bool,
    /// The matter's own class name, for what is carried over and for the safer wording.
    pub matter: String,
    /// Rules that come on top of the country's own.
    pub more: Vec<String>,
}

/// Words after which a thing is only a place: `smooth the oil over the lines`.
const PLACES: &[&str] = &[
    "over", "across", "along", "around", "below", "between", "near", "toward", "towards", "into", "above", "beside",
    "behind", "beneath", "under", "on", "onto", "upon", "through", "from", "with", "before", "after", "by", "at",
    "against", "outside", "inside", "past", "where",
];

/// Words at which a new thought begins.
const THOUGHTS: &[&str] = &[
    "that", "which", "who", "if", "when", "while", "because", "although", "though", "but", "so", "whereas", "until",
    "unless", "whether", "where", "how", "what", "why", "than",
];

/// Candidates of a sentence: nothing is yet asked of its context.
pub(super) fn candidates(lexicon: &Lexicon, scene: &Scene) -> Vec<Hit> {
    let mut hits = Vec::new();
    for (meaning, lo, hi) in lexicon.framed(&scene.tokens, &scene.marks) {
        let meaning = &lexicon.meanings[meaning];
        hits.push(Hit {
            kind: meaning.kind.clone(),
            topic: meaning.topic.clone(),
            lo,
            hi,
            at: lo,
            sure: meaning.sure,
            fixed: meaning.fixed,
            own: meaning.own,
            pair: false,
            matter: String::new(),
            more: Vec::new(),
        });
    }
    let effects: Vec<&Mark> = scene.marks.all.iter().filter(|m| lexicon.effect(m.class)).collect();
    if effects.is_empty() {
        return hits;
    }
    let topics: Vec<&Mark> = scene.marks.all.iter().filter(|m| lexicon.topic(m.class)).collect();
    for effect in &effects {
        for topic in &topics {
            let Some(meaning) = lexicon.pair(effect.class, topic.class) else { continue };
            let Some(directness) = meets(lexicon, scene, effect, topic) else { continue };
            hits.push(Hit {
                kind: meaning.kind.clone(),
                topic: meaning.topic.clone(),
                lo: effect.lo.min(topic.lo),
                hi: effect.hi.max(topic.hi),
                at: effect.lo,
                sure: meaning.sure * directness,
                fixed: false,
                own: false,
                pair: true,
                matter: lexicon.name(topic.class).to_owned(),
                more: Vec::new(),
            });
        }
    }
    hits
}

/// How directly an effect meets a matter, 0 to 1; none if it does not.
fn meets(lexicon: &Lexicon, scene: &Scene, effect: &Mark, topic: &Mark) -> Option<f64> {
    if effect.lo < topic.lo && topic.hi <= effect.hi {
        return Some(1.0);
    }
    if effect.lo < topic.hi && topic.lo < effect.hi {
        // One word may be both, as `facelift`; those are frames.
        return None;
    }
    let name = lexicon.name(effect.class);
    let after = topic.lo >= effect.hi;
    let (from, to) = if after { (effect.hi, topic.lo) } else { (topic.hi, effect.lo) };
    let between = &scene.tokens[from..to];
    if !after && elliptic(scene, effect, between, name) {
        return Some(0.85);
    }
    if between.iter().any(|t| t.hard()) {
        let only_mark = between.len() == 1;
        return (only_mark && !after && name == "vanish_i").then_some(0.85);
    }
    let far = between.len();
    let near = 1.0 - 0.02 * far as f64;
    let thought = between.iter().any(|t| t.any(THOUGHTS));
    let place = between.iter().any(|t| t.any(PLACES));
    let form = scene.tokens[effect.lo].form;
    let be = || {
        (from..to).any(|i| scene.marks.covers(scene.way(Way::Be), i))
            || scene.marks.covers(scene.way(Way::Be), effect.lo.saturating_sub(1))
    };
    let commas = between.iter().filter(|t| t.comma()).count();
    let listed = commas == 0 || scene.listed(from, to);
    // "The nose tip, which droops with age, is tilted up": what stands between two commas is an aside.
    let aside = !after
        && commas == 2
        && between.first().is_some_and(Token::comma)
        && between.iter().rev().take(3).any(Token::comma)
        && far <= 14
        && !between.iter().any(|t| t.any(&["if", "stop", "not", "ask", "doctor"]));
    if let Some(kind) = name.rsplit('_').next() {
        match kind {
            "v" | "for" => {
                if after {
                    let reach = if listed && commas > 0 { 14 } else { 7 };
                    (far <= reach && !thought && !place && (commas == 0 || listed)).then_some(near.max(0.8))
                } else if form == Form::Ed && aside {
                    be().then_some(0.85)
                } else if form == Form::Ed || participle(scene, effect) {
                    (far <= 6 && !thought && be() && commas == 0).then_some(near * 0.97)
                } else {
                    (form == Form::Ing && far == 0).then_some(0.97)
                }
            }
            "i" => {
                if after {
                    (far <= 3 && between.first().is_some_and(|t| t.any(&["are", "is"]))).then_some(0.9)
                } else {
                    // "The frontalis lifts the brow" is told of the muscle: the verb has an object.
                    let governs = scene
                        .tokens
                        .get(effect.hi)
                        .is_some_and(|t| t.any(&["the", "your", "a", "an", "my", "it", "them"]))
                        // "Shrinks a little more" has none.
                        && !scene.tokens.get(effect.hi + 1).is_some_and(|t| t.any(&["little", "bit", "touch", "notch", "lot"]));
                    let broken = governs
                        || between.iter().any(|t| {
                            t.any(&[
                                "if", "when", "while", "because", "although", "but", "whether", "which", "we", "you",
                                "where", "i", "then", "until", "before", "as", "so",
                            ])
                        });
                    // "Under-eye shadows, be gone."
                    let called = commas == 1
                        && far == 1
                        && scene.tokens[effect.lo].any(&["be", "begone", "gone", "bye", "goodbye"]);
                    ((far <= 7 && !broken && (commas == 0 || called)) || aside && !governs)
                        .then_some(near.max(0.8) * 0.97)
                }
            }
            // "Toxins out", "throwing out poisons".
            "p" => {
                let (lo, hi) = scene.clause(effect.lo);
                let kept =
                    effect.lo > 0 && scene.tokens[effect.lo - 1].any(&["keep", "stay", "hands", "keeps", "hand"]);
                let near_by = !kept && far <= if after { 2 } else { 1 };
                (near_by && !place && commas == 0 && !scene.within(Way::Caution, lo, hi)).then_some(0.9)
            }
            "x" => (far <= 8
                && commas <= 1
                && !between.iter().any(|t| t.any(&["because", "but", "if", "when", "while", "although"])))
            .then_some(near * 0.95),
            "n" => {
                if after {
                    let joined = between
                        .first()
                        .is_some_and(|t| t.any(&["of", "for", "from", "in", "to", "against", "on", "with"]));
                    (joined && far <= 5 && !thought && commas == 0).then_some(near * 0.95)
                } else {
                    (far == 0).then_some(0.95)
                }
            }
            "a" => {
                if after {
                    (far <= 3 && !thought && !place && commas == 0).then_some(near * 0.95)
                } else {
                    (far <= 4 && !thought && be() && commas == 0 && !place).then_some(near * 0.92)
                }
            }
            _ => None,
        }
    } else {
        None
    }
}

/// "Marionette lines? Deleted.", "nodes emptied, face emptied": only a participle behind the matter, at the end of its thought.
fn elliptic(scene: &Scene, effect: &Mark, between: &[Token], name: &str) -> bool {
    let marked = between.len() == 1 && matches!(between[0].kind, Kind::Mark(',' | ':' | '?' | '!' | ';' | '.' | '-'));
    let ends = scene
        .tokens
        .get(effect.hi)
        .is_none_or(|t| matches!(t.kind, Kind::Mark(_)) || t.any(&["in", "within", "overnight", "forever", "for"]));
    name.ends_with("_v") && scene.tokens[effect.lo].form == Form::Ed && ends && (marked || between.is_empty())
}

/// Participles that look like the verb itself: "is put to sleep".
fn participle(scene: &Scene, effect: &Mark) -> bool {
    scene.tokens[effect.lo].any(&["put", "cut", "shut", "set", "let", "split"])
        && effect.lo > 0
        && scene.covers(Way::Be, effect.lo - 1)
}
