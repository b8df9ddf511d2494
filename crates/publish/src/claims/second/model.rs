//! The weights: whether a sentence reads like a statement, and like one of which type and topic.

use super::super::context::Scene;
use super::super::token::Kind;
use super::features::Feature;

/// Places of the first part, as a power of two.
pub(super) const FLAG: u32 = 15;
/// Places of each type and topic, as a power of two.
pub(super) const KIND: u32 = 12;
/// A weight is one letter: from -30 to 30.
const LETTERS: &[u8; 61] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxy";
/// The most of a weight, either way.
pub(super) const MOST: f32 = 30.0;
const LINE: usize = 128;

/// Weights for a row of places.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Weights {
    pub scale: f32,
    pub bias: f32,
    pub all: Vec<i8>,
}

impl Weights {
    fn sum(&self, features: &[Feature]) -> f32 {
        let mask = self.all.len() - 1;
        let sum: f32 = features.iter().map(|f| f32::from(self.all[f.hash as usize & mask]) * f.value).sum();
        sum * self.scale + self.bias
    }
}

/// A second reader.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// From which likelihood on it speaks, 0 to 1.
    pub threshold: f64,
    /// A sum of the labelled sentences that it was made of.
    pub made_of: String,
    pub(super) flag: Weights,
    /// By type and topic.
    pub(super) kinds: Vec<(String, String, Weights)>,
}

impl Model {
    /// How likely it is a statement, 0 to 1.
    pub(super) fn likely(&self, features: &[Feature]) -> f64 {
        1.0 / (1.0 + f64::from(-self.flag.sum(features)).exp())
    }

    /// Of which type and topic it would be.
    pub(super) fn kind(&self, features: &[Feature]) -> (String, String) {
        let best = self.kinds.iter().map(|(k, t, w)| (w.sum(features), k, t)).max_by(|a, b| a.0.total_cmp(&b.0));
        best.map(|(_, k, t)| (k.clone(), t.clone())).unwrap_or_default()
    }

    /// The two or three words that weigh most, in words of a reason.
    pub(super) fn heaviest(&self, features: &[Feature], scene: &Scene) -> String {
        let mask = self.flag.all.len() - 1;
        let mut by_token = vec![0.0f32; scene.tokens.len()];
        for f in features.iter().filter(|f| f.hi > f.lo) {
            let weight = f32::from(self.flag.all[f.hash as usize & mask]) * f.value / f32::from(f.hi - f.lo);
            for at in f.lo..f.hi {
                by_token[usize::from(at)] += weight;
            }
        }
        let mut words: Vec<usize> = (0..by_token.len())
            .filter(|i| scene.tokens[*i].kind == Kind::Word && scene.tokens[*i].word.len() > 2 && by_token[*i] > 0.0)
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

    /// The same, but speaking from this likelihood on.
    #[must_use]
    pub fn from(mut self, threshold: f64) -> Model {
        self.threshold = threshold;
        self
    }

    /// As it is kept in data/words/claims/second.txt.
    pub fn written(&self) -> String {
        let mut out = format!(
            "# source: made by `cargo run --release -p publish --example second_train` of tests/words/build.csv, more.csv and plain.txt (own writing); not to be edited by hand\n\
             # A head of a part: type, topic, scale, bias. Then its weights, a letter each, 0 for -30 to y for 30, {LINE} a line.\n\
             sum of the sentences,{}\nthreshold,{}\n",
            self.made_of, self.threshold
        );
        let first = ("flag".to_owned(), String::new(), self.flag.clone());
        for (kind, topic, weights) in std::iter::once(&first).chain(&self.kinds) {
            out.push_str(&format!("{kind},{topic},{},{}\n", weights.scale, weights.bias));
            for line in weights.all.chunks(LINE) {
                out.extend(line.iter().map(|w| char::from(LETTERS[(i32::from(*w) + MOST as i32) as usize])));
                out.push('\n');
            }
        }
        out
    }

    /// Read from what `written` gives; none if it is anything else.
    pub fn read(text: &str) -> Option<Model> {
        let mut lines = text.lines().filter(|l| !l.starts_with('#')).peekable();
        let made_of = lines.next()?.strip_prefix("sum of the sentences,")?.to_owned();
        let threshold = lines.next()?.strip_prefix("threshold,")?.parse().ok()?;
        let mut parts = Vec::new();
        while let Some(head) = lines.next() {
            let fields: Vec<&str> = head.split(',').collect();
            let [kind, topic, scale, bias] = fields.as_slice() else { return None };
            let mut all = Vec::new();
            while let Some(line) = lines.next_if(|l| !l.contains(',')) {
                for byte in line.bytes() {
                    let at = match byte {
                        b'0'..=b'9' => byte - b'0',
                        b'A'..=b'Z' => byte - b'A' + 10,
                        b'a'..=b'y' => byte - b'a' + 36,
                        _ => return None,
                    };
                    all.push(at as i8 - MOST as i8);
                }
            }
            let places = if parts.is_empty() { FLAG } else { KIND };
            if all.len() != 1 << places {
                return None;
            }
            let weights = Weights { scale: scale.parse().ok()?, bias: bias.parse().ok()?, all };
            parts.push(((*kind).to_owned(), (*topic).to_owned(), weights));
        }
        if parts.len() < 2 {
            return None;
        }
        let flag = parts.remove(0).2;
        Some(Model { threshold, made_of, flag, kinds: parts })
    }
}
