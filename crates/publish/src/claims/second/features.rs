//! What the second reader sees of a sentence: stems of words, one to three in a row, and two with up to four others between; two to five
//! letters in a row within a word; the words of the sentence before; what the rules name; and a few properties of the whole. Each is a number
//! (FNV-1a) of which the model takes as many bits as it has places.

use super::super::context::{Scene, Way};
use super::super::lexicon::Lexicon;
use super::super::pattern::Mark;
use super::super::stem::stem;
use super::super::token::{Form, Kind, Token};

/// What a feature is of; features of one block count together as much as `WEIGHS` says, those never met before left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Block {
    /// Words in a row.
    Words,
    /// Two words with others between.
    Apart,
    /// Letters in a row.
    Letters,
    /// Words of the sentence before.
    Before,
    /// What the rules name, and properties of the whole.
    Whole,
}

/// How many blocks there are.
pub const BLOCKS: usize = 5;
/// How much each counts.
pub const WEIGHS: [f32; BLOCKS] = [1.0, 0.6, 0.7, 0.5, 0.7];

/// One thing seen.
#[derive(Clone, Copy, Debug)]
pub struct Feature {
    /// Its number.
    pub hash: u64,
    /// Of what.
    pub block: Block,
    /// First token.
    pub lo: u16,
    /// One past the last; the same as the first if it is of no token.
    pub hi: u16,
}

const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
const PRIME: u64 = 0x0000_0100_0000_01b3;
/// Marks that are looked at, and tokens: a sentence without an end is cut.
const MARKS: usize = 60;
const TOKENS: usize = 400;
/// How far two words may be apart.
const APART: usize = 4;

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

/// Everything seen of a sentence, and the words of the one before.
pub fn of(lexicon: &Lexicon, scene: &Scene, before: Option<&Scene>) -> Vec<Feature> {
    let mut all: Vec<Feature> = Vec::with_capacity(500);
    let mut put = |hash: u64, block: Block, lo: usize, hi: usize| {
        all.push(Feature { hash: mixed(hash), block, lo: lo as u16, hi: hi as u16 });
    };
    let row: Vec<(usize, String)> =
        scene.tokens.iter().enumerate().take(TOKENS).filter_map(|(i, t)| read(t).map(|w| (i, w))).collect();
    for (at, (i, word)) in row.iter().enumerate() {
        let token = &scene.tokens[*i];
        if token.kind == Kind::Word {
            put(text(on(BASIS, 1), &token.word), Block::Words, *i, i + 1);
        }
        let one = text(on(BASIS, 2), word);
        put(one, Block::Words, *i, i + 1);
        let mut hash = one;
        for (last, next) in row.iter().skip(at + 1).take(2) {
            hash = text(on(hash, b' '), next);
            put(hash, Block::Words, *i, last + 1);
        }
        for (last, far) in row.iter().skip(at + 2).take(APART) {
            put(text(on(one, b'_'), far), Block::Apart, *i, last + 1);
        }
    }
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
                    put(hash, Block::Letters, i, i + 1);
                }
            }
        }
    }
    named(lexicon, scene, &mut all);
    for name in whole(scene) {
        all.push(Feature { hash: mixed(text(on(BASIS, 4), name)), block: Block::Whole, lo: 0, hi: 0 });
    }
    if let Some(before) = before {
        earlier(before, &mut all);
    }
    all
}

/// The words of the sentence before, by themselves and two in a row.
fn earlier(before: &Scene, all: &mut Vec<Feature>) {
    let words: Vec<String> = before.tokens.iter().take(TOKENS).filter_map(read).collect();
    let mut put = |hash: u64| all.push(Feature { hash: mixed(hash), block: Block::Before, lo: 0, hi: 0 });
    for (i, word) in words.iter().enumerate() {
        let one = text(on(BASIS, 7), word);
        put(one);
        if let Some(next) = words.get(i + 1) {
            put(text(on(one, b' '), next));
        }
    }
}

/// Effects and matters of the lexicon that stand in it, and which stand together.
fn named(lexicon: &Lexicon, scene: &Scene, all: &mut Vec<Feature>) {
    let mut put = |hash: u64, mark: &Mark| {
        all.push(Feature { hash: mixed(hash), block: Block::Whole, lo: mark.lo as u16, hi: mark.hi as u16 });
    };
    let marks: Vec<&Mark> = scene.marks.all.iter().take(MARKS).collect();
    for mark in &marks {
        put(text(on(BASIS, 5), lexicon.name(mark.class)), mark);
    }
    for effect in marks.iter().filter(|m| lexicon.effect(m.class)) {
        let hash = on(text(on(BASIS, 6), lexicon.name(effect.class)), b' ');
        for matter in marks.iter().filter(|m| lexicon.topic(m.class)) {
            put(text(hash, lexicon.name(matter.class)), effect);
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
