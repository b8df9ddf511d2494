//! How the weights are made: logistic regression by gradient steps in a fixed order, nothing random.

use std::collections::BTreeMap;

use super::super::context::Scene;
use super::super::{Rules, summed};
use super::features::{self, Feature};
use super::model::{FLAG, KIND, MOST, Model, Weights};

/// A labelled sentence.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Its words.
    pub text: &'a str,
    /// Its type and topic if it is a statement that some country does not let pass; else none.
    pub states: Option<(&'a str, &'a str)>,
}

/// What may be said everywhere, or is no statement at all.
const LET_PASS: &[&str] = &["innocent", "wellbeing", "appearance"];

impl<'a> Row<'a> {
    /// A row of a labelled set; none if it takes the sentence before to understand it: such a sentence teaches nothing about itself.
    pub fn of(kind: &'a str, topic: &'a str, before: &str, text: &'a str) -> Option<Row<'a>> {
        before.is_empty().then(|| Row { text, states: (!LET_PASS.contains(&kind)).then_some((kind, topic)) })
    }

    /// Sentences that state nothing, one a line; lines that begin with # are none.
    pub fn plain(text: &'a str) -> impl Iterator<Item = Row<'a>> {
        text.lines().filter(|l| !l.starts_with('#')).map(|text| Row { text, states: None })
    }
}

/// How strongly weights are drawn to nothing, and how often all sentences are read.
const SHRINK: f32 = 2e-5;
const ROUNDS: usize = 30;
const KIND_ROUNDS: usize = 12;

/// A sum of labelled sentences, to be kept with what was made of them.
pub fn sum(rows: &[Row]) -> String {
    let all = rows.iter().fold(0xcbf2_9ce4_8422_2325, |sum, row| {
        let (kind, topic) = row.states.unwrap_or(("", ""));
        [row.text, "\t", kind, "\t", topic, "\n"].iter().fold(sum, |sum, part| summed(sum, part))
    });
    format!("{all:016x}")
}

/// A second reader made of these sentences that speaks from this likelihood on.
pub fn learn(rules: &Rules, rows: &[Row], threshold: f64) -> Model {
    let seen: Vec<Vec<Feature>> =
        rows.iter().map(|row| features::of(&rules.lexicon, &Scene::new(&rules.lexicon, row.text))).collect();
    let mut kinds: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for row in rows {
        if let Some(states) = row.states {
            *kinds.entry(states).or_default() += 1;
        }
    }
    let claims: usize = kinds.values().sum();
    // Both sides weigh the same, however many sentences each has.
    let half = rows.len() as f32 / 2.0;
    let (pro, con) = (half / claims.max(1) as f32, half / (rows.len() - claims).max(1) as f32);
    let sides: Vec<(f32, f32)> =
        rows.iter().map(|r| if r.states.is_some() { (1.0, pro) } else { (0.0, con) }).collect();
    let all: Vec<usize> = (0..rows.len()).collect();
    let flag = one(&seen, &all, FLAG, ROUNDS, |i| sides[i]);
    let stating: Vec<usize> = all.into_iter().filter(|i| rows[*i].states.is_some()).collect();
    let names: Vec<(&str, &str)> = kinds.keys().copied().collect();
    let kinds = names
        .iter()
        .map(|name| {
            let weights = one(&seen, &stating, KIND, KIND_ROUNDS, |i| (f32::from(rows[i].states == Some(*name)), 1.0));
            (name.0.to_owned(), name.1.to_owned(), weights)
        })
        .collect();
    Model { threshold, made_of: sum(rows), flag, kinds }
}

/// Weights that tell sentences of one side from the other: `side` gives 1 or 0 and how much a sentence weighs.
fn one(seen: &[Vec<Feature>], rows: &[usize], bits: u32, rounds: usize, side: impl Fn(usize) -> (f32, f32)) -> Weights {
    let mask = (1usize << bits) - 1;
    let mut weights = vec![0.0f32; mask + 1];
    let (mut scale, mut bias, mut steps) = (1.0f32, 0.0f32, 0.0f32);
    // A stride without a common divisor visits every row once in a round, far ones after one another.
    let n = rows.len();
    let stride = (n / 3..=n).find(|s| *s > 0 && divisor(*s, n) == 1).unwrap_or(1);
    for round in 0..rounds {
        for k in 0..n {
            let i = rows[(k * stride + round) % n];
            let (wanted, weighs) = side(i);
            let z: f32 = seen[i].iter().map(|f| weights[f.hash as usize & mask] * f.value).sum::<f32>() * scale + bias;
            let step = 1.0 / (1.0 + SHRINK * 50.0 * steps);
            steps += 1.0;
            let push = step * weighs * (wanted - 1.0 / (1.0 + (-z).exp()));
            scale *= 1.0 - step * SHRINK;
            for f in &seen[i] {
                weights[f.hash as usize & mask] += push * f.value / scale;
            }
            bias += push * 0.1;
        }
    }
    let most = weights.iter().fold(0.0f32, |most, w| most.max(w.abs() * scale)).max(1e-9);
    // A few large weights may be cut, so that the many small ones keep their differences.
    let unit = most * 0.6 / MOST;
    let all = weights.iter().map(|w| (w * scale / unit).round().clamp(-MOST, MOST) as i8).collect();
    Weights { scale: unit, bias, all }
}

fn divisor(a: usize, b: usize) -> usize {
    if b == 0 { a } else { divisor(b, a % b) }
}
