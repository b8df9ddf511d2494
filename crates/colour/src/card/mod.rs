//! From a reference card in the picture to colours that mean the same on another day.

mod error;
mod model;
mod straight;

use crate::difference::ciede2000;
use crate::lab::Lab;
use crate::light::{Linear, Xyz};
use crate::matrix::M3;

pub use error::FitError;
use model::{Channels, Form, Model};

/// A patch with more than this share of blown-out or black pixels is dropped. Our own choice.
pub const MOST_CLIPPED: f64 = 0.02;
/// A fit whose mean leave-one-out error is above this, CIEDE2000, is refused.
pub const WORST_LEAVE_ONE_OUT: f64 = 1.5;

/// A patch of a card: what it is known to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Its name on the card.
    pub name: String,
    /// Its colour.
    pub lab: Lab,
    /// Whether it is one of the grey steps.
    pub grey: bool,
}

/// What the picture shows of a patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Mean linear light.
    pub linear: Linear,
    /// Standard error of each channel's mean.
    pub se: [f64; 3],
    /// The share of pixels at 250 and above or 2 and below of 255 in any channel.
    pub clipped: f64,
}

/// The form of a fit, after the grey steps have straightened each channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitKind {
    /// A gain a channel.
    WhiteBalance,
    /// Three by three.
    Matrix,
    /// Root polynomial of degree 2: R, G, B, sqrt(RG), sqrt(GB), sqrt(RB).
    RootPolynomial,
}

/// Why a patch took no part in a fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dropped {
    /// Too many of its pixels were blown out or black.
    Clipped,
    /// A number of its reading or colour is not finite, or its light is not above 0.
    NoNumber,
}

/// How well a fit gives one patch.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// The patch's name.
    pub name: String,
    /// CIEDE2000 from its known colour, by the fit over all.
    pub de: f64,
    /// The same when it was left out of the fit; none where that could not be tried.
    pub left_out: Option<f64>,
    /// Why it took no part, if it did not.
    pub dropped: Option<Dropped>,
}

/// What a picture's linear light means, learnt from a card.
///
/// | kind | needs | undoes |
/// | --- | --- | --- |
/// | white balance | a grey step | the colour of even light, exposure |
/// | matrix | 4 patches, colours among them | also the camera's own colours |
/// | root polynomial | 10 patches | also what a matrix leaves of them |
///
/// With two or more grey steps each channel is straightened first. Which kind, and how far to straighten, is decided by the
/// mean leave-one-out error; of equals the simpler is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct CardFit {
    kind: FitKind,
    model: Model,
    loo: Option<f64>,
    residuals: Vec<Residual>,
    /// Known colour, and what leaving it out made of it less that, of each patch that was left out.
    errors: Vec<([f64; 3], [f64; 3])>,
}

/// A patch that takes part: known colour, reading, and how its errors are seen.
type Used<'a> = (&'a Patch, &'a Reading, M3);

/// The fewest patches for a root polynomial: 18 unknowns from 30 numbers. Our own choice.
const ROOT_PATCHES: usize = 10;

impl CardFit {
    /// The fit of a card: `readings` in the order of `patches`.
    ///
    /// Blown-out patches are dropped. A card of greys alone (a plain grey card) allows white balance only. Without greys the
    /// channels are not straightened.
    ///
    /// # Errors
    /// Where too few patches are left, or the fit does not describe the card: mean leave-one-out error above
    /// [`WORST_LEAVE_ONE_OUT`].
    pub fn fit(patches: &[Patch], readings: &[Reading]) -> Result<CardFit, FitError> {
        if patches.len() != readings.len() {
            return Err(FitError::Uneven(patches.len(), readings.len()));
        }
        let dropped: Vec<Option<Dropped>> = patches.iter().zip(readings).map(|(p, r)| dropped(p, r)).collect();
        let mut used: Vec<(usize, Used)> = (0..patches.len())
            .filter(|i| dropped[*i].is_none())
            .map(|i| (i, (&patches[i], &readings[i], model::metric(&patches[i], &readings[i]))))
            .collect();
        let kept = used.len();
        let greys = used.iter().filter(|(_, u)| u.0.grey).count();
        if kept == 0 || (kept < 4 && greys == 0) {
            let none_dropped = kept == patches.len() && kept > 0;
            let dropped = patches.len() - kept;
            return Err(if none_dropped { FitError::NoGreys } else { FitError::TooFewPatches { kept, dropped } });
        }
        // Two or three colours beside a grey cannot bear a matrix, and would only pull the white balance off.
        let plain = kept < 4 || greys == kept;
        if plain {
            used.retain(|(_, u)| u.0.grey);
        }
        let all: Vec<Used> = used.iter().map(|(_, u)| *u).collect();

        let (mut best, mut errors) = (None::<(f64, Model, FitKind)>, Vec::new());
        for form in forms(&all, plain) {
            let Some(model) = Model::fit(form, &all) else { continue };
            let Some(left_out) = leave_one_out(form, &all) else { continue };
            let mean = mean(left_out.iter().map(|(known, found)| ciede2000(*known, *found)));
            if !mean.is_finite() {
                continue;
            }
            if best.as_ref().is_none_or(|(least, _, _)| mean < *least - 1e-3) {
                best = Some((mean, model, form.kind));
                errors = left_out;
            }
        }
        let Some((loo, model, kind)) = best else {
            return Err(FitError::TooFewPatches { kept, dropped: patches.len() - kept });
        };
        let mut residuals: Vec<Residual> = (0..patches.len())
            .map(|i| Residual {
                name: patches[i].name.clone(),
                de: ciede2000(patches[i].lab, model.apply(readings[i].linear).lab()),
                left_out: None,
                dropped: dropped[i],
            })
            .collect();
        if plain {
            // Grey steps say nothing of colour, so there is no error to report; but they must agree with each other.
            let own = mean(used.iter().map(|(i, _)| residuals[*i].de));
            let fit = CardFit { kind, model, loo: None, residuals, errors: Vec::new() };
            return if own <= WORST_LEAVE_ONE_OUT { Ok(fit) } else { Err(FitError::TooFar { loo: own }) };
        }
        for ((i, _), (known, found)) in used.iter().zip(&errors) {
            residuals[*i].left_out = Some(ciede2000(*known, *found));
        }
        if loo > WORST_LEAVE_ONE_OUT {
            return Err(FitError::TooFar { loo });
        }
        let errors = errors
            .iter()
            .map(|(known, found)| {
                let (k, f) = (known.array(), found.array());
                (k, std::array::from_fn(|c| f[c] - k[c]))
            })
            .collect();
        Ok(CardFit { kind, model, loo: Some(loo), residuals, errors })
    }

    /// Its form.
    pub fn kind(&self) -> FitKind {
        self.kind
    }

    /// Mean leave-one-out error, CIEDE2000: each patch is predicted by the fit of the others. None for a card of greys
    /// alone, which says nothing about colours.
    pub fn leave_one_out(&self) -> Option<f64> {
        self.loo
    }

    /// Each patch, in the order given.
    pub fn residuals(&self) -> &[Residual] {
        &self.residuals
    }

    /// What the picture's linear light means.
    pub fn apply(&self, linear: Linear) -> Xyz {
        self.model.apply(linear)
    }

    /// Root mean square error that the fit adds to a *difference* of two colours near `around` that differ by `delta`
    /// (dL*, da*, db*), as (dL*, da*, db*). None where leaving out was not possible.
    ///
    /// From the leave-one-out errors of all pairs of patches, those near `around` counting most (a bell of 25 units, our own
    /// choice): how fast the error changes with colour, times the difference, and no more than two such errors differ
    /// anyway. Two like colours share most of their error, so this is far below the error of either.
    pub fn difference_error(&self, around: Lab, delta: [f64; 3]) -> Option<[f64; 3]> {
        const REACH: f64 = 25.0;
        let square = |v: [f64; 3]| v.iter().map(|c| c * c).sum::<f64>();
        let around = around.array();
        let (mut weights, mut spans, mut sums) = (0.0, 0.0, [0.0; 3]);
        for (i, (one, e)) in self.errors.iter().enumerate() {
            for (other, f) in &self.errors[..i] {
                let off = std::array::from_fn(|k| (one[k] + other[k]) / 2.0 - around[k]);
                let weight = (-0.5 * square(off) / (REACH * REACH)).exp();
                weights += weight;
                spans += weight * square(std::array::from_fn(|k| one[k] - other[k]));
                (0..3).for_each(|k| sums[k] += weight * (e[k] - f[k]).powi(2));
            }
        }
        let share = (square(delta) * weights / spans).min(1.0);
        (weights > 0.0 && spans > 0.0).then(|| sums.map(|s| (s / weights * share).sqrt()))
    }
}

fn dropped(patch: &Patch, reading: &Reading) -> Option<Dropped> {
    let Linear(light) = reading.linear;
    let numbers = patch.lab.array().into_iter().chain(light).chain(reading.se).chain([reading.clipped]);
    if !{ numbers }.all(f64::is_finite) {
        return Some(Dropped::NoNumber);
    }
    if reading.clipped > MOST_CLIPPED {
        return Some(Dropped::Clipped);
    }
    // A grey is read in logarithms.
    let dark = |v: &f64| *v <= 1e-5;
    let black = light.iter().all(dark)
        || (patch.grey && (light.iter().any(dark) || Linear::of_xyz(patch.lab.xyz()).0.iter().any(dark)));
    black.then_some(Dropped::NoNumber)
}

/// What to try, from simple to free.
fn forms(used: &[Used], plain: bool) -> Vec<Form> {
    let greys = used.iter().filter(|u| u.0.grey).count();
    let mut kinds = vec![FitKind::WhiteBalance];
    if !plain {
        kinds.push(FitKind::Matrix);
        if used.len() >= ROOT_PATCHES {
            kinds.push(FitKind::RootPolynomial);
        }
    }
    // A curve keeps one step more than it has unknowns, and one for leaving out.
    let degrees = (0..=3).filter(|d| greys >= d + 2).map(Some);
    let degrees: Vec<Option<usize>> = std::iter::once(None).chain(degrees.skip(1)).collect();
    let mut forms = Vec::new();
    for kind in kinds {
        forms.extend(degrees.iter().map(|degree| Form { kind, degree: *degree, channels: Channels::Srgb }));
        // Without a curve the two come to the same, and greys alone do not tell them apart.
        let degrees = if plain { &[] } else { &degrees[..] };
        forms.extend(degrees.iter().skip(1).map(|degree| Form { kind, degree: *degree, channels: Channels::P3 }));
    }
    forms
}

/// Each patch's known colour, and what the fit of the others makes of it. A lone patch stands for itself.
fn leave_one_out(form: Form, used: &[Used]) -> Option<Vec<(Lab, Lab)>> {
    (0..used.len())
        .map(|i| {
            let mut others = used.to_vec();
            let out = if used.len() > 1 { others.remove(i) } else { used[i] };
            Some((out.0.lab, Model::fit(form, &others)?.apply(out.1.linear).lab()))
        })
        .collect()
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let n = values.len() as f64;
    values.sum::<f64>() / n
}

#[cfg(test)]
mod tests;
