//! Several photographs of one visit as one measurement, with what the photographs' own values add to it.

use colour::Tone;
use measure::{Leading, Measured, Mode, Shadow, SideMeasured, Value, Visit, combine};

use super::Taken;
use crate::catalogue::{fill, text};

/// A visit: the combined values, and what they were combined from.
pub struct Combined {
    /// The combination of `measure`.
    pub visit: Visit,
    /// How the colours of its photographs were read.
    pub mode: Mode,
    /// Own right, own left: the means of what `measure` does not combine.
    pub more: [More; 2],
    /// What to mind, in words.
    pub warnings: Vec<String>,
}

/// Means over the photographs. Their intervals are those of one photograph on the average: most of what makes them wide is
/// shared by all photographs of a person (the width of the iris, the light, the card), so that no more is claimed.
pub struct More {
    /// As photographed: dL*, da*, db*, dE00 and dITA.
    pub as_photographed: Shadow,
    /// Heights by name, mm.
    pub heights: Vec<(&'static str, Value)>,
    /// Redness and yellowness of the white of the eye.
    pub sclera: Option<[Value; 2]>,
}

/// What is kept of each photograph until all are measured: everything but outlines.
#[derive(Default)]
pub struct Gathering {
    kept: Vec<Measured>,
    tones: Vec<Tone>,
    refused: usize,
}

impl Gathering {
    /// Adds a photograph.
    pub fn add(&mut self, taken: &Taken) {
        // Values past a gate are for looking at one photograph, never for a visit.
        if taken.sides().is_none() || !taken.measured.usable {
            self.refused += 1;
            return;
        }
        let mut measured = taken.measured.clone();
        for side in measured.sides.iter_mut().flatten() {
            side.outlines = Vec::new();
        }
        if taken.tone_from == super::ToneFrom::Guessed {
            self.tones.push(measured.tone);
        }
        self.kept.push(measured);
    }

    /// Adds one that could not be measured at all.
    pub fn add_refused(&mut self) {
        self.refused += 1;
    }

    /// The visit; none where no photograph is usable.
    pub fn combined(mut self) -> Option<Combined> {
        let mut warnings = Vec::new();
        let with_card = self.kept.iter().filter(|m| m.mode == Mode::Referenced).count();
        let mode = if 2 * with_card >= self.kept.len() && with_card > 0 { Mode::Referenced } else { Mode::Relative };
        let all = self.kept.len();
        self.kept.retain(|m| m.mode == mode);
        let left = all - self.kept.len();
        let visit = combine(&self.kept)?;
        if left > 0 {
            let key = if mode == Mode::Referenced { "measure.mixed_referenced" } else { "measure.mixed_relative" };
            warnings.push(fill(key, &[("n", &left)]));
        }
        if self.refused > 0 {
            warnings.push(fill("measure.visit_refused", &[("n", &self.refused)]));
        }
        if mode == Mode::Relative && self.tones.windows(2).any(|t| t[0] != t[1]) {
            warnings.push(text("measure.tones_differ").to_owned());
        }
        if visit.photographs == 1 {
            warnings.push(text("measure.take_more").to_owned());
        }
        let sides: Vec<&[SideMeasured; 2]> = self.kept.iter().filter_map(|m| m.sides.as_ref()).collect();
        let more = [0, 1].map(|k| More::of(&sides.iter().map(|s| &s[k]).collect::<Vec<_>>()));
        if visit.sides.iter().any(|s| s.parts[0].is_none()) {
            warnings.push(text("measure.no_brown").to_owned());
        }
        if more.iter().any(|m| m.sclera.is_none()) {
            let key = if mode == Mode::Relative { "measure.sclera_relative" } else { "measure.sclera_unseen" };
            warnings.push(text(key).to_owned());
        }
        Some(Combined { visit, mode, more, warnings })
    }
}

/// The mean of values, its interval as wide as theirs on the average.
fn mean(values: impl Iterator<Item = Value>) -> Option<Value> {
    let (mut sum, mut u95, mut n) = (0.0, 0.0, 0.0);
    for v in values {
        sum += v.value;
        u95 += v.u95;
        n += 1.0;
    }
    (n > 0.0).then(|| Value { value: sum / n, u95: u95 / n })
}

impl More {
    fn of(sides: &[&SideMeasured]) -> More {
        let of =
            |pick: &dyn Fn(&Shadow) -> Value| mean(sides.iter().map(|s| pick(&s.as_photographed))).unwrap_or_default();
        let ita = mean(sides.iter().filter_map(|s| s.as_photographed.ita));
        let names = sides.first().map(|s| s.heights.named().map(|h| h.0)).unwrap_or([""; 4]);
        let heights = (0..4).filter_map(|k| Some((names[k], mean(sides.iter().map(|s| s.heights.named()[k].1))?)));
        let white =
            |pick: fn(&measure::Sclera) -> Value| mean(sides.iter().filter_map(|s| s.sclera.as_ref().map(pick)));
        More {
            as_photographed: Shadow { l: of(&|s| s.l), a: of(&|s| s.a), b: of(&|s| s.b), de: of(&|s| s.de), ita },
            heights: heights.collect(),
            sclera: white(|s| s.redness).zip(white(|s| s.yellowness)).map(|(r, y)| [r, y]),
        }
    }
}

impl Combined {
    /// Own left less own right of everything, by name; none where a side has no value. What `measure` says of dL* and dE00
    /// leaves out what both sides share; of the rest the two intervals are added as if nothing were shared, which is wider.
    pub fn difference(&self) -> Vec<(&'static str, Option<Value>)> {
        let [right, left] = &self.visit.sides;
        let less = |l: Option<Value>, r: Option<Value>| {
            let (l, r) = l.zip(r)?;
            Some(Value { value: l.value - r.value, u95: l.u95.hypot(r.u95) })
        };
        let both = |pick: &dyn Fn(&Shadow) -> Option<Value>| less(pick(&left.shadow), pick(&right.shadow));
        let [dl, de] = self.visit.difference;
        let mut all = vec![
            ("dL", Some(dl)),
            ("da", both(&|s| Some(s.a))),
            ("db", both(&|s| Some(s.b))),
            ("dE00", Some(de)),
            ("dITA", both(&|s| s.ita)),
        ];
        let parts = ["brown", "blue_red", "relief"];
        all.extend(parts.iter().enumerate().map(|(k, name)| (*name, less(left.parts[k], right.parts[k]))));
        let [mr, ml] = &self.more;
        let white = |k: usize| less(ml.sclera.map(|s| s[k]), mr.sclera.map(|s| s[k]));
        all.extend([("redness", white(0)), ("yellowness", white(1))]);
        all.extend(ml.heights.iter().zip(&mr.heights).map(|(l, r)| (l.0, less(Some(l.1), Some(r.1)))));
        all
    }

    /// What leads on the own right and left.
    pub fn leading(&self) -> [Leading; 2] {
        [self.visit.sides[0].leading, self.visit.sides[1].leading]
    }
}
