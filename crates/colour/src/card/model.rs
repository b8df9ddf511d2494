//! One candidate of a card fit: three straightened channels, then gains, a matrix or a root polynomial.

use nalgebra::{DMatrix, DVector};

use super::{FitKind, Patch, Reading, straight::Straight};
use crate::lab::Lab;
use crate::light::{D65, Linear, P3, SRGB, Xyz, primaries};
use crate::matrix::{M3, inverse, product, times};

/// What a fit leaves of a well-read patch, CIEDE2000: patches whose own noise is larger count for less. Our own choice.
const USUAL: f64 = 0.5;

/// What is fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Form {
    /// After the straightening.
    pub kind: FitKind,
    /// Degree of the straightening; none leaves the channels as they are.
    pub degree: Option<usize>,
    /// Which channels are straightened.
    pub channels: Channels,
}

/// Whose channels are straightened: a camera bends those of the file it writes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Channels {
    /// sRGB's.
    Srgb,
    /// Display P3's, which many telephones write.
    P3,
}

/// Linear sRGB to linear Display P3.
const TO_P3: M3 = product(&inverse(&primaries(&P3, D65)), &primaries(&SRGB, D65));
const OF_P3: M3 = inverse(&TO_P3);

impl Channels {
    fn of(self, light: Linear) -> [f64; 3] {
        match self {
            Channels::Srgb => light.0,
            Channels::P3 => times(&TO_P3, light.0),
        }
    }

    fn light(self, channels: [f64; 3]) -> Linear {
        match self {
            Channels::Srgb => Linear(channels),
            Channels::P3 => Linear(times(&OF_P3, channels)),
        }
    }

    /// A metric of linear light, for these channels.
    fn metric(self, metric: &M3) -> M3 {
        match self {
            Channels::Srgb => *metric,
            Channels::P3 => product(metric, &OF_P3),
        }
    }
}

/// A fitted candidate.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Model {
    channels: Channels,
    straight: [Straight; 3],
    kind: FitKind,
    /// One row an output channel, one entry a term of [`terms`].
    rows: [Vec<f64>; 3],
}

/// The terms of a kind. Root polynomial: Finlayson, Mackiewicz and Hurlbert 2015, doi:10.1109/TIP.2015.2405336, degree 2;
/// every term scales with exposure as light does.
fn terms(kind: FitKind, [r, g, b]: [f64; 3]) -> Vec<f64> {
    let root = |x: f64, y: f64| (x.max(0.0) * y.max(0.0)).sqrt();
    match kind {
        FitKind::WhiteBalance | FitKind::Matrix => vec![r, g, b],
        FitKind::RootPolynomial => vec![r, g, b, root(r, g), root(g, b), root(r, b)],
    }
}

impl Model {
    /// Fits a form. `metric` holds for each patch how an error of linear light is seen ([`metric`]).
    pub(crate) fn fit(form: Form, patches: &[(&Patch, &Reading, M3)]) -> Option<Model> {
        let Form { kind, channels, .. } = form;
        let straight = match form.degree {
            None => [Straight::none(), Straight::none(), Straight::none()],
            Some(degree) => {
                let channel = |k: usize| {
                    let steps: Vec<(f64, f64)> = patches
                        .iter()
                        .filter(|(p, _, _)| p.grey)
                        .map(|(p, r, _)| (channels.of(r.linear)[k], channels.of(Linear::of_xyz(p.lab.xyz()))[k]))
                        .collect();
                    Straight::fit(&steps, degree)
                };
                [channel(0)?, channel(1)?, channel(2)?]
            }
        };
        let count = terms(kind, [1.0; 3]).len();
        // Which terms each output channel may use: gains use their own alone.
        let used: [Vec<usize>; 3] = std::array::from_fn(|k| match kind {
            FitKind::WhiteBalance => vec![k],
            _ => (0..count).collect(),
        });
        let starts = [0, used[0].len(), used[0].len() + used[1].len()];
        let unknowns = starts[2] + used[2].len();
        if 3 * patches.len() < unknowns {
            return None;
        }
        let mut system = DMatrix::zeros(3 * patches.len(), unknowns);
        let mut sought = DVector::zeros(3 * patches.len());
        for (i, (patch, reading, metric)) in patches.iter().enumerate() {
            let light = channels.of(reading.linear);
            let terms = terms(kind, std::array::from_fn(|k| straight[k].apply(light[k])));
            let truth = channels.of(Linear::of_xyz(patch.lab.xyz()));
            let metric = channels.metric(metric);
            for (seen, weights) in metric.iter().enumerate() {
                let row = 3 * i + seen;
                for (k, weight) in weights.iter().enumerate() {
                    sought[row] += weight * truth[k];
                    for (place, term) in used[k].iter().enumerate() {
                        system[(row, starts[k] + place)] += weight * terms[*term];
                    }
                }
            }
        }
        let found = system.svd(true, true).solve(&sought, 1e-10).ok()?;
        let rows = std::array::from_fn(|k| {
            let mut row = vec![0.0; count];
            for (place, term) in used[k].iter().enumerate() {
                row[*term] = found[starts[k] + place];
            }
            row
        });
        Some(Model { channels, straight, kind, rows })
    }

    /// What linear light means.
    pub(crate) fn apply(&self, light: Linear) -> Xyz {
        let light = self.channels.of(light);
        let terms = terms(self.kind, std::array::from_fn(|k| self.straight[k].apply(light[k])));
        self.channels.light(std::array::from_fn(|k| self.rows[k].iter().zip(&terms).map(|(c, t)| c * t).sum())).xyz()
    }
}

/// How a small error of linear light at a patch is seen: a matrix to (lightness, chroma, hue), each divided by CIEDE2000's
/// weight there, so that least squares minimises what a person would see rather than raw light; and by the patch's noise.
pub(crate) fn metric(patch: &Patch, reading: &Reading) -> M3 {
    let Lab { l, a, b } = patch.lab;
    let at = Linear::of_xyz(patch.lab.xyz()).0;
    let step = 1e-5;
    let slope = |k: usize| {
        let side = |by: f64| {
            let mut moved = at;
            moved[k] += by;
            Linear(moved).xyz().lab().array()
        };
        let (up, down) = (side(step), side(-step));
        [0, 1, 2].map(|i: usize| (up[i] - down[i]) / (2.0 * step))
    };
    let slopes = [slope(0), slope(1), slope(2)];
    let chroma = a.hypot(b);
    let (cos, sin) = if chroma > 1e-6 { (a / chroma, b / chroma) } else { (1.0, 0.0) };
    // Weights of CIEDE2000 (equations 18 to 20 of doi:10.1002/col.20070) without the hue's fine structure.
    let sl = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt();
    let (sc, sh) = (1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma);
    let seen: M3 = [
        slopes.map(|s| s[0] / sl),
        slopes.map(|s| (cos * s[1] + sin * s[2]) / sc),
        slopes.map(|s| (cos * s[2] - sin * s[1]) / sh),
    ];
    let noise: f64 = seen.iter().map(|row| (0..3).map(|k| (row[k] * reading.se[k]).powi(2)).sum::<f64>()).sum();
    let weight = USUAL / (USUAL * USUAL + noise).sqrt();
    seen.map(|row| row.map(|v| v * weight))
}
