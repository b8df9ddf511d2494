//! Which part of a shadow leads: a description of the photograph, not a diagnosis.

use colour::{Base, separate};

use crate::{M3, V3};

/// The part that leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leading {
    /// Brown (melanin).
    Brown,
    /// Blue-red (blood).
    BlueRed,
    /// Relief (shape and its own small shadow).
    Relief,
    /// More than one part stands out.
    Mixed,
    /// Nothing stands out of its noise.
    CannotTell,
}

/// A part is above its noise from this many standard uncertainties on (measurement.md).
const CLEAR: f64 = 3.0;
/// A part alone explains the three channels where what it leaves is below this chi-square: 95 % of two degrees of freedom.
const FITS: f64 = 5.99;
/// Another part alone is ruled out where it leaves this much more: 95 % of two degrees of freedom again.
const RULED_OUT: f64 = 5.99;
/// A part that alone is not even this many standard uncertainties from nothing is no rival (our own choice).
const RIVAL: f64 = 2.0;
/// The part that leads must give at least this share of the difference of luminance (our own choice).
const MOST: f64 = 0.6;
/// Every face has some relief under the eye, log10 of luminance, one standard deviation about this mean (our own choice).
const USUAL_RELIEF: f64 = 0.012;

/// One part taken as the only one: how much of it there is, how sure, and what it leaves.
#[derive(Clone, Copy, Debug)]
struct Alone {
    much: f64,
    u: f64,
    left: f64,
}

impl Alone {
    fn of(density: V3, noise: &M3, direction: V3, doubt: &M3, bare: f64) -> Option<Alone> {
        let grey = V3::repeat(1.0);
        let density = density - grey * bare;
        let noise = noise + grey * grey.transpose() * (bare * bare);
        let mut alone = Alone { much: 0.0, u: 0.0, left: 0.0 };
        for _ in 0..4 {
            let weight = (noise + doubt * (alone.much * alone.much)).try_inverse()?;
            let sure = (direction.transpose() * weight * direction)[(0, 0)];
            alone.much = (direction.transpose() * weight * density)[(0, 0)] / sure;
            alone.u = sure.recip().sqrt();
            let left = density - direction * alone.much;
            alone.left = (left.transpose() * weight * left)[(0, 0)];
        }
        Some(alone)
    }
}

impl Leading {
    /// From the densities of the three channels with their covariance: each part in turn is taken as the only one.
    ///
    /// It leads where it is clear of its noise, explains the channels, has no rival that does nearly as well, gives most of the luminance,
    /// and is the largest of the three together too. Where none explains the channels, the shadow is mixed.
    pub fn of(density: [f64; 3], covariance: &M3, base: &Base) -> Leading {
        let names = [Leading::Brown, Leading::BlueRed, Leading::Relief];
        let density = V3::from(density);
        let doubts = base.doubts().map(|d| M3::from_fn(|i, j| d[i][j]));
        let parts: [(V3, M3, f64); 3] = [
            (base.melanin.into(), doubts[0], USUAL_RELIEF),
            (base.haemoglobin.into(), doubts[1], USUAL_RELIEF),
            (V3::repeat(1.0), M3::zeros(), 0.0),
        ];
        let alone = parts.map(|(direction, doubt, bare)| Alone::of(density, covariance, direction, &doubt, bare));
        let [Some(brown), Some(blue), Some(relief)] = alone else { return Leading::CannotTell };
        let alone = [brown, blue, relief];
        let weights = V3::from(base.luminance);
        let whole = density.dot(&weights);
        let u_whole = (weights.transpose() * covariance * weights)[(0, 0)].max(0.0).sqrt();
        let fits = |k: usize| alone[k].left <= FITS;
        if (0..3).all(|k| !fits(k)) {
            return if whole > CLEAR * u_whole { Leading::Mixed } else { Leading::CannotTell };
        }
        // Nearly grey brown and relief are told apart by what is likelier of the three parts together.
        let together =
            separate(density.into(), std::array::from_fn(|i| std::array::from_fn(|j| covariance[(i, j)])), base);
        let together = [together.melanin, together.haemoglobin, together.shading];
        let leads = |k: usize| {
            let no_rival = |j: usize| alone[j].much <= RIVAL * alone[j].u || alone[j].left > alone[k].left + RULED_OUT;
            fits(k)
                && alone[k].much > CLEAR * alone[k].u
                && alone[k].much > MOST * whole
                && together.iter().all(|part| *part <= together[k])
                && (0..3).all(|j| j == k || no_rival(j))
        };
        // Only one can be the largest of the three together.
        (0..3).find(|k| leads(*k)).map_or(Leading::CannotTell, |k| names[k])
    }

    /// Its name in answers.
    pub fn name(self) -> &'static str {
        match self {
            Leading::Brown => "brown",
            Leading::BlueRed => "blue_red",
            Leading::Relief => "relief",
            Leading::Mixed => "mixed",
            Leading::CannotTell => "cannot_tell",
        }
    }
}

#[cfg(test)]
mod tests {
    use colour::Tone;

    use super::*;

    fn base(tone: Tone) -> Base {
        Base::at(tone.nominal_cheek().xyz())
    }

    /// Noise as a good photograph has: each channel 0.004, all together 0.012.
    fn noise() -> M3 {
        M3::identity() * 1.6e-5 + M3::repeat(1.44e-4)
    }

    #[test]
    fn a_part_leads_only_when_it_is_clear_and_alone() {
        for tone in [Tone::VeryLight, Tone::Light, Tone::Intermediate, Tone::Tan] {
            let base = base(tone);
            let of = |brown: f64, blue: f64, relief: f64| {
                let d = std::array::from_fn(|k| brown * base.melanin[k] + blue * base.haemoglobin[k] + relief);
                Leading::of(d, &noise(), &base)
            };
            assert_eq!(of(0.08, 0.0, 0.01), Leading::Brown, "{}", tone.name());
            assert_eq!(of(0.0, 0.08, 0.01), Leading::BlueRed, "{}", tone.name());
            assert_eq!(of(0.0, 0.0, 0.08), Leading::Relief, "{}", tone.name());
            assert_eq!(of(0.0, 0.0, 0.02), Leading::CannotTell, "{}", tone.name());
            assert_eq!(of(0.0, 0.0, 0.0), Leading::CannotTell, "{}", tone.name());
            assert_ne!(of(0.05, 0.0, 0.08), Leading::Brown, "{}", tone.name());
            assert_ne!(of(0.0, 0.05, 0.08), Leading::BlueRed, "{}", tone.name());
            let both = of(0.10, 0.10, 0.0);
            assert!(both == Leading::Mixed || both == Leading::CannotTell, "{}: {both:?}", tone.name());
        }
    }

    #[test]
    fn what_is_grey_is_not_called_brown() {
        for tone in Tone::ALL {
            for relief in [0.05, 0.1, 0.2] {
                let said = Leading::of([relief; 3], &noise(), &base(tone));
                assert!(said == Leading::Relief || said == Leading::CannotTell, "{} {relief}: {said:?}", tone.name());
            }
        }
    }
}
