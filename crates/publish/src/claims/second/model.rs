//! The weights: whether a sentence reads like a statement, and like one of which type and topic.

use super::super::context::Scene;
use super::super::token::Kind;
use super::features::{BLOCKS, Block, Feature, WEIGHS};

/// Places of the first part, as a power of two.
pub(super) const FLAG: u32 = 22;
/// Places of each type and topic, as a power of two.
pub(super) const KIND: u32 = 13;
/// Places of what tells a caution, as a power of two.
pub(super) const WARNS: u32 = 15;
/// A place that nothing met while it was learnt.
pub(super) const UNMET: i8 = i8::MIN;
/// A weight is one letter: from -30 to 30.
const LETTERS: &[u8; 61] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxy";
/// The most of a weight, either way.
pub(super) const MOST: f32 = 30.0;
const LINE: usize = 128;
/// Words that tell nobody why.
const SMALL: &[&str] = &[
    "the", "and", "you", "your", "yours", "for", "with", "that", "this", "these", "those", "are", "was", "were",
    "will", "would", "has", "have", "had", "not", "but", "from", "into", "out", "off", "all", "can", "its", "our",
    "ours", "his", "her", "hers", "she", "him", "they", "them", "their", "who", "whom", "what", "when", "where",
    "which", "how", "than", "then", "there", "here", "been", "being", "did", "does", "any", "some", "own", "one",
    "too", "very", "just", "also", "about", "over", "under", "through", "only", "mine",
];
/// How far to the next place that was met: digits of this base, the lowest first, all but the last with a mark (`DIGITS` after `GOES_ON`).
const DIGITS: usize = 32;
const GOES_ON: &[u8; DIGITS] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdef";
const ENDS: &[u8; DIGITS] = b"ghijklmnopqrstuvwxyz0123456789-_";

/// A weight as it counts: what is kept is its root, since most are small.
fn drawn(kept: i8) -> f32 {
    f32::from(kept) * f32::from(kept).abs()
}

/// A feature where it stands in the first part, and how much it counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Met {
    pub feature: Feature,
    pub value: f32,
}

/// Those features that were met while learning, each block as heavy as it weighs whatever its number.
pub(super) fn met(features: &[Feature], known: impl Fn(usize) -> bool) -> Vec<Met> {
    let mut counts = [0usize; BLOCKS];
    let met: Vec<Feature> = features.iter().filter(|f| known(place(f.hash, FLAG))).copied().collect();
    for f in &met {
        counts[f.block as usize] += 1;
    }
    let even = |b: Block| WEIGHS[b as usize] / (counts[b as usize].max(1) as f32).sqrt();
    met.into_iter().map(|feature| Met { feature, value: even(feature.block) }).collect()
}

/// Where a feature stands among so many places.
pub(super) fn place(hash: u64, bits: u32) -> usize {
    (hash & ((1 << bits) - 1)) as usize
}

/// Does it tell of type and topic? Letters and distant words only blur that.
pub(super) fn tells_kind(feature: &Feature) -> bool {
    matches!(feature.block, Block::Words | Block::Before | Block::Whole)
}

/// Weights for a row of places.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Weights {
    pub scale: f32,
    pub bias: f32,
    pub all: Vec<i8>,
}

impl Weights {
    fn sum(&self, met: &[Met]) -> f32 {
        let bits = self.all.len().trailing_zeros();
        let of = |m: &Met| drawn(self.all[place(m.feature.hash, bits)]) * m.value;
        met.iter().map(of).sum::<f32>() * self.scale + self.bias
    }

    /// Those of floating point, as near as they can be kept.
    pub fn kept(weights: &[f32], bias: f32) -> Weights {
        let most = weights.iter().fold(0.0f32, |most, w| most.max(w.abs())).max(1e-9);
        let scale = most / (MOST * MOST);
        let near = |w: &f32| ((w.abs() / scale).sqrt().round() * w.signum()).clamp(-MOST, MOST) as i8;
        Weights { scale, bias, all: weights.iter().map(near).collect() }
    }
}

/// A second reader.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// From which likelihood on it speaks, 0 to 1.
    pub threshold: f64,
    /// The same where the rules read that nothing is stated: an order to the hand, a denial, anatomy.
    pub strict: f64,
    /// A sum of the labelled sentences that it was made of.
    pub made_of: String,
    pub(super) flag: Weights,
    /// Whether it is a caution rather than a statement.
    pub(super) warns: Weights,
    /// By type and topic.
    pub(super) kinds: Vec<(String, String, Weights)>,
}

impl Model {
    /// Those of the features that it knows.
    pub(super) fn met(&self, features: &[Feature]) -> Vec<Met> {
        met(features, |at| self.flag.all[at] != UNMET)
    }

    /// How likely it is a statement, 0 to 1.
    pub(super) fn likely(&self, met: &[Met]) -> f64 {
        1.0 / (1.0 + f64::from(-self.flag.sum(met)).exp())
    }

    /// How likely it is a caution, if it is one of the two, 0 to 1.
    pub(super) fn cautions(&self, met: &[Met]) -> f64 {
        1.0 / (1.0 + f64::from(-self.warns.sum(met)).exp())
    }

    /// Of which type and topic it would be.
    pub(super) fn kind(&self, met: &[Met]) -> (String, String) {
        let told: Vec<Met> = met.iter().filter(|m| tells_kind(&m.feature)).copied().collect();
        let best = self.kinds.iter().map(|(k, t, w)| (w.sum(&told), k, t)).max_by(|a, b| a.0.total_cmp(&b.0));
        best.map(|(_, k, t)| (k.clone(), t.clone())).unwrap_or_default()
    }

    /// The two or three words that weigh most, in words of a reason.
    pub(super) fn heaviest(&self, met: &[Met], scene: &Scene) -> String {
        let mut by_token = vec![0.0f32; scene.tokens.len()];
        for m in met.iter().filter(|m| m.feature.hi > m.feature.lo) {
            let (lo, hi) = (m.feature.lo, m.feature.hi);
            let weight = drawn(self.flag.all[place(m.feature.hash, FLAG)]) * m.value;
            // Of two words with others between, the two.
            let ends = [lo, hi - 1];
            let on: Vec<u16> = if m.feature.block == Block::Apart { ends.to_vec() } else { (lo..hi).collect() };
            for at in &on {
                by_token[usize::from(*at)] += weight / on.len() as f32;
            }
        }
        let mut words: Vec<usize> = (0..by_token.len())
            .filter(|i| {
                let word = scene.tokens[*i].word.as_str();
                scene.tokens[*i].kind == Kind::Word && word.len() > 2 && !SMALL.contains(&word) && by_token[*i] > 0.0
            })
            .collect();
        words.sort_by(|a, b| by_token[*b].total_cmp(&by_token[*a]));
        let mut told: Vec<&str> = Vec::new();
        for i in words {
            let word = scene.tokens[i].word.as_str();
            if !told.contains(&word) && told.len() < 3 {
                told.push(word);
            }
        }
        match told.as_slice() {
            [] => "no word of it weighs more than the others".into(),
            [one] => format!("the word that weighs most is “{one}”"),
            [one, two] => format!("the words that weigh most are “{one}” and “{two}”"),
            [one, two, three, ..] => format!("the words that weigh most are “{one}”, “{two}” and “{three}”"),
        }
    }

    /// The same, but speaking from these likelihoods on.
    #[must_use]
    pub fn from(mut self, threshold: f64, strict: f64) -> Model {
        self.threshold = threshold;
        self.strict = strict;
        self
    }

    /// As it is kept in data/words/claims/second.txt.
    pub fn written(&self) -> String {
        let mut out = format!(
            "# source: made by `cargo run --release -p publish --example second_train` of tests/words/build.csv, more.csv, further.csv and plain.txt (own writing); not to be edited by hand\n\
             # A head of a part: type, topic, scale, bias. Weights are a letter each, 0 for -30 to y for 30, and count by their square. Of the first part only places that were met are told, each\n\
             # after how far it lies from the one before: digits 0 to 31, the lowest first, A to f where more follow, g to _ for the last.\n\
             sum of the sentences,{}\nthreshold,{},{}\n",
            self.made_of, self.threshold, self.strict
        );
        let letter = |w: i8| char::from(LETTERS[(i32::from(w) + MOST as i32) as usize]);
        let mut put = |kind: &str, topic: &str, weights: &Weights, letters: String| {
            out.push_str(&format!("{kind},{topic},{},{}\n", weights.scale, weights.bias));
            for line in letters.as_bytes().chunks(LINE) {
                out.extend(line.iter().copied().map(char::from));
                out.push('\n');
            }
        };
        let (mut letters, mut next) = (String::new(), 0);
        for (at, weight) in self.flag.all.iter().enumerate().filter(|(_, w)| **w != UNMET) {
            let mut gap = at - next;
            while gap >= DIGITS {
                letters.push(char::from(GOES_ON[gap % DIGITS]));
                gap /= DIGITS;
            }
            letters.push(char::from(ENDS[gap]));
            letters.push(letter(*weight));
            next = at + 1;
        }
        put("flag", "", &self.flag, letters);
        put("caution", "", &self.warns, self.warns.all.iter().map(|w| letter(*w)).collect());
        for (kind, topic, weights) in &self.kinds {
            put(kind, topic, weights, weights.all.iter().map(|w| letter(*w)).collect());
        }
        out
    }

    /// Read from what `written` gives; none if it is anything else.
    pub fn read(text: &str) -> Option<Model> {
        let mut lines = text.lines().filter(|l| !l.starts_with('#')).peekable();
        let made_of = lines.next()?.strip_prefix("sum of the sentences,")?.to_owned();
        let (threshold, strict) = lines.next()?.strip_prefix("threshold,")?.split_once(',')?;
        let (threshold, strict) = (threshold.parse().ok()?, strict.parse().ok()?);
        let mut parts = Vec::new();
        while let Some(head) = lines.next() {
            let fields: Vec<&str> = head.split(',').collect();
            let [kind, topic, scale, bias] = fields.as_slice() else { return None };
            let mut letters = Vec::new();
            while let Some(line) = lines.next_if(|l| !l.contains(',')) {
                letters.extend_from_slice(line.as_bytes());
            }
            let all = if parts.is_empty() {
                apart(&letters)?
            } else {
                letters.into_iter().map(weight).collect::<Option<_>>()?
            };
            if all.len() != 1 << [FLAG, WARNS].get(parts.len()).unwrap_or(&KIND) {
                return None;
            }
            let weights = Weights { scale: scale.parse().ok()?, bias: bias.parse().ok()?, all };
            parts.push(((*kind).to_owned(), (*topic).to_owned(), weights));
        }
        if parts.len() < 3 {
            return None;
        }
        let flag = parts.remove(0).2;
        let warns = parts.remove(0).2;
        Some(Model { threshold, strict, made_of, flag, warns, kinds: parts })
    }
}

fn weight(letter: u8) -> Option<i8> {
    let at = match letter {
        b'0'..=b'9' => letter - b'0',
        b'A'..=b'Z' => letter - b'A' + 10,
        b'a'..=b'y' => letter - b'a' + 36,
        _ => return None,
    };
    Some(at as i8 - MOST as i8)
}

/// The first part: gaps and weights.
fn apart(letters: &[u8]) -> Option<Vec<i8>> {
    let mut all = vec![UNMET; 1 << FLAG];
    let (mut next, mut rest) = (0usize, letters.iter().copied());
    let digit = |of: &[u8; DIGITS], byte: u8| of.iter().position(|b| *b == byte);
    while let Some(mut byte) = rest.next() {
        let (mut gap, mut unit) = (0usize, 1usize);
        while let Some(more) = digit(GOES_ON, byte) {
            gap += more * unit;
            unit = unit.checked_mul(DIGITS).filter(|u| *u <= 1 << FLAG)?;
            byte = rest.next()?;
        }
        gap += digit(ENDS, byte)? * unit;
        *all.get_mut(next + gap)? = weight(rest.next()?)?;
        next += gap + 1;
    }
    Some(all)
}
