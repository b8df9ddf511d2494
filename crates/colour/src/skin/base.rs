//! The directions in which brown pigment and blood change the light of one cheek.

use super::model::{BLOOD, Content, MELANIN, Skin};
use crate::difference::ciede2000;
use crate::light::{Linear, Xyz};

/// Further than this from the model's nearest colour, CIEDE2000, a cheek counts as beyond it: published means of skin lie
/// within 2. Our own choice.
const BEYOND: f64 = 4.0;

/// How far the directions may be off the truth, one standard deviation of red, green and blue, of melanin and of haemoglobin:
/// on light skin (first) and at [`DARK`] (second), between them by lightness. Our own choice: not less than the spread of the directions over
/// six versions of the model that all reach the published means of skin (melanin exponent 3.0 and 3.5, two scattering laws, vessels of 0, 25 and 50
/// micrometres, oxygenation 0.6 and 0.7), and about as far as the chords between published means are from the model's; on dark
/// skin wider, since the oxygen of added blood is not known either.
const DOUBT: [[[f64; 3]; 2]; 2] = [[[0.07, 0.02, 0.16], [0.06, 0.03, 0.12]], [[0.09, 0.04, 0.20], [0.22, 0.14, 0.16]]];
/// The share of melanin's doubt that each channel has for itself. Our own choice.
const OWN_WAY: f64 = 0.3;
/// How much more brown the direction of melanin is taken to: this much of luminance density, as much as a clear shadow has.
const STEP: f64 = 0.06;
/// L* of a cheek from which on the first and at which the second of [`DOUBT`] holds.
const LIGHT: f64 = 56.0;
/// Share of oxygen in the blood that is added: venous blood at rest in skin, 0.5 to 0.7 by common practice, the lower end of it for what
/// stands under an eye.
const VENOUS: f64 = 0.5;
/// See [`LIGHT`].
const DARK: f64 = 36.0;

/// The directions of brown pigment and blood about one cheek, in density: d(-log10 of a linear channel) per unit of each,
/// the unit so chosen that the density of luminance changes by 1.
///
/// They are derivatives of a diffuse-reflectance model at the cheek's own colour, of melanin over a step of a clear shadow's size: raw
/// extinction spectra point elsewhere,
/// since light does not pass skin in a straight line (measured: rank correlation with the truth 0.1 to 0.5 for melanin
/// from raw spectra, 0.8 and above from derivatives).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Base {
    /// Per unit of melanin.
    pub melanin: [f64; 3],
    /// Per unit of haemoglobin.
    pub haemoglobin: [f64; 3],
    /// |cos| of the angle between melanin and the grey direction (1, 1, 1): near 1 brown pigment and shading cannot be
    /// told apart.
    pub cosine: f64,
    /// Share of each linear channel in the cheek's luminance; adds up to 1. A small density times these is the density of
    /// luminance.
    pub luminance: [f64; 3],
    /// How far each channel of the melanin direction, and of the haemoglobin direction, may be off: one standard deviation,
    /// from versions of the model that reach the published means of skin alike.
    pub doubt: [[f64; 3]; 2],
    /// Whether the cheek's colour lies beyond what the model reaches, so that the nearest was taken.
    pub clamped: bool,
}

impl Base {
    /// The base at the melanin and blood that make this cheek colour; nearest in CIELAB, where none do.
    pub fn at(cheek: Xyz) -> Base {
        let sound = cheek.0.iter().all(|v| v.is_finite());
        let sought = if sound { cheek } else { Xyz(Xyz::WHITE_D65.0.map(|w| w * 0.25)) };
        let content = Skin::OURS.content(sought);
        let off = ciede2000(Skin::OURS.xyz(content).lab(), sought.lab());
        Base { clamped: !sound || off > BEYOND, ..Base::of(&Skin::OURS, content) }
    }

    /// How far the directions of melanin and of haemoglobin may be off, per unit of each: covariances of the three channels. A flatter melanin
    /// takes more of red and less of blue, so its channels are off together; those of blood each for itself.
    pub fn doubts(&self) -> [[[f64; 3]; 3]; 2] {
        let [r, g, b] = self.doubt[0];
        let flatter = [r, -g, -b];
        let of = |k: usize, together: [f64; 3], own: f64| {
            std::array::from_fn(|i| {
                std::array::from_fn(|j| {
                    together[i] * together[j] + if i == j { (own * self.doubt[k][i]).powi(2) } else { 0.0 }
                })
            })
        };
        [of(0, flatter, OWN_WAY), of(1, [0.0; 3], 1.0)]
    }

    pub(crate) fn of(skin: &Skin, content: Content) -> Base {
        let at = |content| skin.xyz(content);
        let slope_of = |less: Xyz, more: Xyz| -> [f64; 3] {
            // A channel that leaves the gamut of sRGB (no skin does) is held just inside.
            let density = |xyz| Linear::of_xyz(xyz).0.map(|v| -v.max(1e-4).log10());
            let (d0, d1) = (density(less), density(more));
            let luminance = -(more.0[1] / less.0[1]).log10();
            std::array::from_fn(|k| (d1[k] - d0[k]) / luminance)
        };
        let slope = |less: Content, more: Content| slope_of(at(less), at(more));
        let Content { melanin, blood } = content;
        // As much more as a clear shadow has: the more there is, the flatter it gets.
        let (mut low, mut high) = (melanin + 1e-4, MELANIN.1.max(melanin + 2e-4));
        for _ in 0..30 {
            let more = (low + high) / 2.0;
            let depth = -(at(Content { melanin: more, blood }).0[1] / at(content).0[1]).log10();
            if depth < STEP { low = more } else { high = more }
        }
        let melanin = slope(content, Content { melanin: low, blood });
        // More blood under the eye is blood that stands in veins: what is added holds less oxygen than what is there.
        let with = |share: f64| {
            let blood = (blood * share).clamp(BLOOD.0, BLOOD.1);
            let saturation = (skin.saturation + VENOUS * (share - 1.0)) / share;
            (Skin { saturation, ..*skin }, Content { blood, ..content })
        };
        let ((less, few), (more, many)) = (with(1.0 / 1.01), with(1.01));
        let haemoglobin = slope_of(less.xyz(few), more.xyz(many));
        let light = at(content);
        let channels = Linear::of_xyz(light).0;
        let luminance = std::array::from_fn(|k| {
            let mut one = [0.0; 3];
            one[k] = channels[k];
            Linear(one).luminance() / light.0[1]
        });
        let length = melanin.iter().map(|v| v * v).sum::<f64>().sqrt();
        let cosine = (melanin.iter().sum::<f64>() / (3f64.sqrt() * length)).abs();
        let dark = ((LIGHT - light.lab().l) / (LIGHT - DARK)).clamp(0.0, 1.0);
        let doubt = std::array::from_fn(|part| {
            std::array::from_fn(|k| DOUBT[0][part][k] * (1.0 - dark) + DOUBT[1][part][k] * dark)
        });
        Base { melanin, haemoglobin, cosine, luminance, doubt, clamped: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lab::Lab;
    use crate::tone::Tone;

    #[test]
    fn parts_are_measured_in_luminance() {
        for tone in Tone::ALL {
            let base = Base::at(tone.nominal_cheek().xyz());
            assert!(!base.clamped, "{}", tone.name());
            for direction in [base.melanin, base.haemoglobin, [1.0; 3]] {
                let luminance: f64 = (0..3).map(|k| base.luminance[k] * direction[k]).sum();
                assert!((luminance - 1.0).abs() < 5e-3, "{}: {luminance}", tone.name());
            }
        }
    }

    #[test]
    fn brown_takes_blue_most_on_light_skin_and_is_grey_on_dark() {
        let base = |tone: Tone| Base::at(tone.nominal_cheek().xyz());
        let light = base(Tone::Light);
        assert!(light.melanin[0] < light.melanin[1] && light.melanin[1] < light.melanin[2], "{light:?}");
        // Blood takes green most: its bands about 550 nm.
        assert!(light.haemoglobin[1] > light.haemoglobin[0] && light.haemoglobin[1] > light.haemoglobin[2]);
        assert!(light.cosine < 0.95, "{}", light.cosine);
        let cosines = Tone::ALL.map(|tone| base(tone).cosine);
        // On the darkest the surface's own light makes brown even a little blue: past grey.
        assert!(cosines[..5].is_sorted() && cosines[5] > 0.98, "{cosines:?}");
    }

    #[test]
    fn any_colour_gives_numbers() {
        for lab in [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [50.0, 80.0, 60.0], [50.0, -60.0, 20.0], [200.0, 9.0, 9.0]] {
            let base = Base::at(Lab::of_array(lab).xyz());
            assert!(base.clamped, "{lab:?}");
            assert!(base.melanin.iter().chain(&base.haemoglobin).all(|v| v.is_finite()), "{lab:?}: {base:?}");
        }
        assert!(Base::at(Xyz([f64::NAN; 3])).clamped);
    }
}
