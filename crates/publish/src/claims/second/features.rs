//! What the second reader sees of a sentence: words and their stems, one to three in a row; two to five letters in a row within a word; and a
//! few properties of the whole. Each is a number (FNV-1a) of which the model takes as many bits as it has places.

use super::super::context::{Scene, Way};
use super::super::lexicon::Lexicon;
use super::super::pattern::Mark;
use super::super::stem::stem;
use super::super::token::{Form, Kind, Token};

/// One thing seen.
#[derive(Clone, Copy, Debug)]
pub struct Feature {
    /// Its number.
    pub hash: u64,
    /// How much it counts.
    pub value: f32,
    /// First token.
    pub lo: u16,
    /// One past the last.
    pub hi: u16,
}

const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
const PRIME: u64 = 0x0000_0100_0000_01b3;
/// How much a property of the whole counts beside all words (1) and all letters (1).
const WHOLE: f32 = 0.3;
/// Marks that are looked at, and tokens: a sentence without an end is cut.
const MARKS: usize = 60;
const TOKENS: usize = 400;

fn on(hash: u64, byte: u8) -> u64 {
    (hash ^ u64::from(byte)).wrapping_mul(PRIME)
}

fn text(hash: u64, text: &str) -> u64 {
    text.bytes().fold(hash, on)
}

/// The high bits of FNV mix best: fold them down.
fn mixed(hash: u64) -> u64 {
    let hash = (hash ^ (hash >> 32)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    hash ^ (hash >> 29)
}

/// How a token is read in a row of words.
fn read(token: &Token) -> Option<String> {
    match token.kind {
        Kind::Word => Some(stem(&token.word)),
        Kind::Number => Some("#".into()),
        Kind::Mark(',') => None,
        Kind::Mark('?') => Some("?".into()),
        Kind::Mark(_) => Some("|".into()),
    }
}

/// Everything seen of a sentence.
pub fn of(lexicon: &Lexicon, scene: &Scene) -> Vec<Feature> {
    let mut all: Vec<Feature> = Vec::with_capacity(300);
    let mut put = |hash: u64, lo: usize, hi: usize| {
        all.push(Feature { hash: mixed(hash), value: 1.0, lo: lo as u16, hi: hi as u16 });
    };
    let row: Vec<(usize, String)> =
        scene.tokens.iter().enumerate().take(TOKENS).filter_map(|(i, t)| read(t).map(|w| (i, w))).collect();
    for (at, (i, word)) in row.iter().enumerate() {
        let token = &scene.tokens[*i];
        if token.kind == Kind::Word {
            put(text(on(BASIS, 1), &token.word), *i, i + 1);
        }
        let mut hash = text(on(BASIS, 2), word);
        put(hash, *i, i + 1);
        for (last, next) in row.iter().skip(at + 1).take(2) {
            hash = text(on(hash, b' '), next);
            put(hash, *i, last + 1);
        }
    }
    let words = all.len();
    let mut put = |hash: u64, at: usize| {
        all.push(Feature { hash: mixed(hash), value: 1.0, lo: at as u16, hi: at as u16 + 1 });
    };
    let mut letters: Vec<u8> = Vec::new();
    for (i, token) in scene.tokens.iter().enumerate().take(TOKENS).filter(|(_, t)| t.kind == Kind::Word) {
        letters.clear();
        letters.push(b' ');
        letters.extend(token.word.bytes());
        letters.push(b' ');
        for from in 0..letters.len().min(40) {
            let mut hash = on(BASIS, 3);
            for (n, byte) in letters[from..].iter().take(5).enumerate() {
                hash = on(hash, *byte);
                if n > 0 {
                    put(hash, i);
                }
            }
        }
    }
    let end = all.len();
    let even = |n: usize| 1.0 / (n.max(1) as f32).sqrt();
    let (of_words, of_letters) = (even(words), even(end - words));
    for (i, feature) in all.iter_mut().enumerate() {
        feature.value = if i < words { of_words } else { of_letters };
    }
    named(lexicon, scene, &mut all);
    for name in whole(scene) {
        all.push(Feature { hash: mixed(text(on(BASIS, 4), name)), value: WHOLE, lo: 0, hi: 0 });
    }
    all
}

/// Effects and matters of the lexicon that stand in it, and which stand together.
fn named(lexicon: &Lexicon, scene: &Scene, all: &mut Vec<Feature>) {
    let mut put = |hash: u64, value: f32, mark: &Mark| {
        all.push(Feature { hash: mixed(hash), value, lo: mark.lo as u16, hi: mark.hi as u16 });
    };
    for mark in scene.marks.all.iter().take(MARKS) {
        put(text(on(BASIS, 5), lexicon.name(mark.class)), WHOLE, mark);
    }
    let of = |effect: bool| {
        scene
            .marks
            .all
            .iter()
            .take(MARKS)
            .filter(move |m| if effect { lexicon.effect(m.class) } else { lexicon.topic(m.class) })
    };
    let together = WHOLE / ((of(true).count() * of(false).count()).max(1) as f32).sqrt();
    for effect in of(true) {
        let hash = on(text(on(BASIS, 6), lexicon.name(effect.class)), b' ');
        for matter in of(false) {
            put(text(hash, lexicon.name(matter.class)), together, effect);
        }
    }
}

/// Properties of the whole.
fn whole(scene: &Scene) -> Vec<&'static str> {
    let tokens = &scene.tokens;
    let any = |words: &[&str]| tokens.iter().any(|t| t.any(words));
    let mut found = Vec::new();
    let mut tell = |is: bool, name: &'static str| {
        if is {
            found.push(name);
        }
    };
    tell(tokens.last().is_some_and(|t| t.kind == Kind::Mark('?')), "asks");
    tell(scene.has(Way::Negator), "negates");
    tell(tokens.iter().any(|t| t.quoted), "quotes");
    tell(scene.has(Way::Caution) || scene.has(Way::Clinician), "warns");
    tell(scene.has(Way::Hedge), "hedges");
    tell(scene.has(Way::Ours), "ours");
    tell(scene.has(Way::Anatomy), "anatomy");
    tell(scene.has(Way::Person), "person");
    let base = tokens.first().is_some_and(|t| t.kind == Kind::Word && t.form == Form::Base);
    tell(base && (scene.covers(Way::Handverb, 0) || scene.covers(Way::Motion, 0)), "orders");
    tell(any(&["i", "me", "my", "mine", "we", "us", "our"]), "first");
    tell(any(&["you", "your", "yours"]), "second");
    tell(any(&["he", "she", "her", "his", "him"]), "third");
    found
}
