//! How the weights are made: logistic regression by gradient steps in a fixed order, nothing random.

use std::collections::BTreeMap;

use super::super::context::Scene;
use super::super::{Rules, summed};
use super::features::{self, Block, Feature};
use super::model::{self, FLAG, KIND, Met, Model, UNMET, WARNS, Weights, place};

/// A labelled sentence.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// The sentence before, where it is needed; else empty.
    pub before: &'a str,
    /// Its words.
    pub text: &'a str,
    /// Its type and topic if it is a statement that some country does not let pass; else none.
    pub states: Option<(&'a str, &'a str)>,
    /// Is it a caution?
    pub warns: bool,
    /// Is it of the plain sentences, which are of everything?
    pub plain: bool,
}

/// What may be said everywhere, or is no statement at all.
const LET_PASS: &[&str] = &["innocent", "wellbeing", "appearance"];

impl<'a> Row<'a> {
    /// A row of a labelled set.
    pub fn of(kind: &'a str, topic: &'a str, before: &'a str, text: &'a str) -> Row<'a> {
        let states = (!LET_PASS.contains(&kind)).then_some((kind, topic));
        Row { before, text, states, warns: (kind, topic) == ("innocent", "caution"), plain: false }
    }

    /// Sentences that state nothing, one a line; lines that begin with # are none.
    pub fn plain(text: &'a str) -> impl Iterator<Item = Row<'a>> {
        text.lines().filter(|l| !l.starts_with('#')).map(|text| Row {
            before: "",
            text,
            states: None,
            warns: false,
            plain: true,
        })
    }
}

/// How strongly weights are drawn to nothing, and how often all sentences are read.
const SHRINK: f32 = 3e-6;
const ROUNDS: usize = 60;
const KIND_ROUNDS: usize = 12;
/// How far a sentence moves the weights at first, and how much calmer each round is.
const STEP: f32 = 1.0;
const CALMER: f32 = 0.5;

/// A sum of labelled sentences, to be kept with what was made of them.
pub fn sum(rows: &[Row]) -> String {
    let all = rows.iter().fold(0xcbf2_9ce4_8422_2325, |sum, row| {
        let (kind, topic) = row.states.unwrap_or(("", if row.warns { "caution" } else { "" }));
        [row.before, "\t", row.text, "\t", kind, "\t", topic, "\n"].iter().fold(sum, |sum, part| summed(sum, part))
    });
    format!("{all:016x}")
}

/// What is seen of a row.
pub(super) fn seen(rules: &Rules, row: &Row) -> Vec<Feature> {
    let scene = |text: &str| Scene::new(&rules.lexicon, text);
    let before = (!row.before.is_empty()).then(|| scene(row.before));
    features::of(&rules.lexicon, &scene(row.text), before.as_ref())
}

/// How often something must be met to be known: letters in a row and words apart are many, and say little by themselves.
const OFTEN: u32 = 2;
const OFTEN_MANY: u32 = 5;

/// A second reader made of these sentences that speaks from these likelihoods on.
pub fn learn(rules: &Rules, rows: &[Row], (threshold, strict): (f64, f64)) -> Model {
    let seen: Vec<Vec<Feature>> = rows.iter().map(|row| seen(rules, row)).collect();
    let known = known(&seen);
    let met: Vec<Vec<Met>> = seen.iter().map(|f| model::met(f, |at| known[at])).collect();
    drop(seen);
    let mut kinds: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for row in rows {
        if let Some(states) = row.states {
            *kinds.entry(states).or_default() += 1;
        }
    }
    let claims: usize = kinds.values().sum();
    // Both sides weigh the same, however many sentences each has; plain ones come on top, each as heavy as an innocent one.
    let labelled = rows.iter().filter(|r| !r.plain).count();
    let half = labelled as f32 / 2.0;
    let (pro, con) = (half / claims.max(1) as f32, half / labelled.saturating_sub(claims).max(1) as f32);
    let side = |r: &Row| if r.states.is_some() { (1.0, pro) } else { (0.0, con) };
    let sides: Vec<(f32, f32)> = rows.iter().map(side).collect();
    let all: Vec<&[Met]> = met.iter().map(Vec::as_slice).collect();
    let mut flag = one(&all, FLAG, ROUNDS, |i| sides[i]);
    for (weight, known) in flag.all.iter_mut().zip(&known) {
        if !known {
            *weight = UNMET;
        }
    }
    let apart: Vec<usize> = (0..rows.len()).filter(|i| rows[*i].states.is_some() || rows[*i].warns).collect();
    let told: Vec<&[Met]> = apart.iter().map(|i| met[*i].as_slice()).collect();
    let heavy = claims as f32 / (apart.len() - claims).max(1) as f32;
    let warns = one(&told, WARNS, ROUNDS, |i| if rows[apart[i]].warns { (1.0, heavy) } else { (0.0, 1.0) });
    let stating: Vec<usize> = (0..rows.len()).filter(|i| rows[*i].states.is_some()).collect();
    let told: Vec<Vec<Met>> =
        stating.iter().map(|i| met[*i].iter().filter(|m| model::tells_kind(&m.feature)).copied().collect()).collect();
    let told: Vec<&[Met]> = told.iter().map(Vec::as_slice).collect();
    let kinds = kinds
        .into_keys()
        .map(|name| {
            let side = |i: usize| (f32::from(u8::from(rows[stating[i]].states == Some(name))), 1.0);
            (name.0.to_owned(), name.1.to_owned(), one(&told, KIND, KIND_ROUNDS, side))
        })
        .collect();
    Model { threshold, strict, made_of: sum(rows), flag, warns, kinds }
}

/// Which places were met in enough sentences.
fn known(seen: &[Vec<Feature>]) -> Vec<bool> {
    let mut times = vec![(0u32, u32::MAX, 0u32); 1 << FLAG];
    for (i, features) in seen.iter().enumerate() {
        for f in features {
            let at = &mut times[place(f.hash, FLAG)];
            at.2 = at.2.max(if matches!(f.block, Block::Letters | Block::Apart) { OFTEN_MANY } else { OFTEN });
            if at.1 != i as u32 {
                *at = (at.0 + 1, i as u32, at.2);
            }
        }
    }
    times.into_iter().map(|(n, _, often)| n > 0 && n >= often).collect()
}

/// Weights that tell sentences of one side from the other: `side` gives 1 or 0 and how much a sentence weighs.
fn one(rows: &[&[Met]], bits: u32, rounds: usize, side: impl Fn(usize) -> (f32, f32)) -> Weights {
    let mut weights = vec![0.0f32; 1 << bits];
    let (mut scale, mut bias) = (1.0f32, 0.0f32);
    // The mean of what the later rounds end with: a single end depends on which sentence came last.
    let (mut mean, mut mean_bias) = (vec![0.0f32; 1 << bits], 0.0f32);
    let counted = (rounds / 2).max(1);
    // A stride near the golden section without a common divisor visits every row once in a round, each time far from the last ones.
    let n = rows.len();
    let stride = (n * 618 / 1000..=n).find(|s| *s > 0 && divisor(*s, n) == 1).unwrap_or(1);
    for round in 0..rounds {
        let step = STEP / (1.0 + round as f32 * CALMER);
        for k in 0..n {
            let i = (k * stride + round) % n;
            let (wanted, weighs) = side(i);
            let of = |m: &Met| weights[place(m.feature.hash, bits)] * m.value;
            let z: f32 = rows[i].iter().map(of).sum::<f32>() * scale + bias;
            let push = step * weighs * (wanted - 1.0 / (1.0 + (-z).exp()));
            scale *= 1.0 - step * SHRINK;
            for m in rows[i] {
                weights[place(m.feature.hash, bits)] += push * m.value / scale;
            }
            bias += push * 0.1;
        }
        if round + counted >= rounds {
            let share = scale / counted as f32;
            mean.iter_mut().zip(&weights).filter(|(_, w)| **w != 0.0).for_each(|(m, w)| *m += w * share);
            mean_bias += bias / counted as f32;
        }
    }
    Weights::kept(&mean, mean_bias)
}

fn divisor(a: usize, b: usize) -> usize {
    if b == 0 { a } else { divisor(b, a % b) }
}
