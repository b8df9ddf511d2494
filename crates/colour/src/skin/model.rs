//! Diffuse reflectance of skin: an epidermis that filters, over a dermis that scatters.

use super::spectra::{COUNT, SPECTRA, Spectrum, nm};
use crate::light::Xyz;

/// Melanin (as the share of the epidermis that is melanosomes) and blood (as the share of the dermis).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Content {
    pub melanin: f64,
    pub blood: f64,
}

/// The ranges searched; published shares lie inside (melanosomes 1 to 43 %, blood 0.2 to 7 %; Jacques 2013).
pub(crate) const MELANIN: (f64, f64) = (0.0, 0.6);
/// See [`MELANIN`].
pub(crate) const BLOOD: (f64, f64) = (0.0005, 0.2);

/// The model's constants.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Skin {
    /// Exponent of melanosomes' absorption, 519 per cm at 500 nm (Jacques 2013, doi:10.1088/0031-9155/58/11/R37, where it is 3.5 for single
    /// ones; in skin, where they lie packed, less).
    pub melanin_exponent: f64,
    /// Reduced scattering, per cm at 500 nm, and its exponent (the same, skin; from memory).
    pub scattering: (f64, f64),
    /// Share of the blood's haemoglobin that is oxygenated; common practice for mixed capillary and venous blood.
    pub saturation: f64,
    /// Share of the epidermis' scattered light that turns back before it reaches the dermis.
    pub turned_back: f64,
    /// Reflected by the rough surface in every direction, all colours alike: published means of skin hold it. Shine, which has a
    /// direction, is left out of the areas measured.
    pub surface: f64,
}

/// Thickness of the epidermis, cm (60 micrometres, Jacques 2013), and how much longer than straight down and up diffuse light's way through
/// it is (2, as in Kubelka and Munk's for diffuse light).
const EPIDERMIS_CM: f64 = 0.006;
const WAY: f64 = 2.0 * 2.0;
/// Internal reflection at an index of refraction of 1.4: (1 + r) / (1 - r) with r 0.53 (Groenhuis, Ferwerda and Ten Bosch
/// 1983, doi:10.1364/AO.22.002456).
const INNER: f64 = 3.25;

impl Skin {
    /// The constants used. The exponent, `turned_back` and `surface` are our own choice, so made that every published mean of skin is reached and
    /// that more melanin leads from the lighter groups' means to the darker ones'; the others are published.
    pub(crate) const OURS: Skin =
        Skin { melanin_exponent: 3.0, scattering: (46.0, 1.421), saturation: 0.7, turned_back: 0.45, surface: 0.016 };

    /// Share of the light that comes back at each wavelength.
    pub(crate) fn reflectance(&self, Content { melanin, blood }: Content) -> Spectrum {
        let spectra = &*SPECTRA;
        std::array::from_fn(|i| {
            let nm = nm(i);
            // Skin without pigment or blood (Jacques 1998, omlc.org/news/jan98/skinoptics.html).
            let bare = 0.244 + 85.3 * (-(nm - 154.0) / 66.2).exp();
            let haemoglobin =
                self.saturation * spectra.oxygenated[i] + (1.0 - self.saturation) * spectra.deoxygenated[i];
            let dermis = blood * haemoglobin + (1.0 - blood) * bare;
            let pigment = 519.0 * (nm / 500.0).powf(-self.melanin_exponent);
            let epidermis = melanin * pigment + (1.0 - melanin) * bare;
            let scattering = self.scattering.0 * (nm / 500.0).powf(-self.scattering.1);

            // A semi-infinite scatterer (Flock, Patterson, Wilson and Wyman 1989, IEEE Trans Biomed Eng 36:1162; from
            // memory).
            let albedo = scattering / (scattering + dermis);
            let below = albedo
                / (1.0 + 2.0 * INNER * (1.0 - albedo) + (1.0 + 2.0 / 3.0 * INNER) * (3.0 * (1.0 - albedo)).sqrt());

            // The epidermis takes its share on the way in and out, and turns some light back from within: single
            // scattering, averaged over its depth.
            let depth = WAY * epidermis * EPIDERMIS_CM;
            let through = (-depth).exp();
            let turned = self.turned_back * scattering * EPIDERMIS_CM * (1.0 - through) / depth;
            self.surface + (1.0 - self.surface) * (turned + (1.0 - turned).powi(2) * below * through)
        })
    }

    /// Its colour under D65.
    pub(crate) fn xyz(&self, content: Content) -> Xyz {
        let reflectance = self.reflectance(content);
        Xyz(SPECTRA.xyz.map(|w| (0..COUNT).map(|i| w[i] * reflectance[i]).sum()))
    }

    /// The content whose colour is nearest to a colour in CIELAB, within the ranges.
    pub(crate) fn content(&self, sought: Xyz) -> Content {
        let sought = sought.lab().array();
        let miss = |m: f64, b: f64| -> f64 {
            let found = self.xyz(Content { melanin: m, blood: b.exp() }).lab().array();
            (0..3).map(|k| (found[k] - sought[k]).powi(2)).sum()
        };
        // Blood by its logarithm: colour goes with it evenly.
        let bounds = [MELANIN, (BLOOD.0.ln(), BLOOD.1.ln())];
        let inside = |k: usize, v: f64| v.clamp(bounds[k].0, bounds[k].1);
        let mut span = bounds.map(|(l, h)| (h - l) / 12.0);
        let mut best = (f64::INFINITY, [0.0; 2]);
        let look = |best: &mut (f64, [f64; 2]), m: f64, b: f64| {
            let at = [inside(0, m), inside(1, b)];
            let now = miss(at[0], at[1]);
            if now < best.0 {
                *best = (now, at);
            }
        };
        for i in 0..=12 {
            for j in 0..=12 {
                look(&mut best, bounds[0].0 + span[0] * f64::from(i), bounds[1].0 + span[1] * f64::from(j));
            }
        }
        // Then a pattern that closes in: plain, and at home at the edges of the ranges.
        for _ in 0..200 {
            let (before, [m, b]) = best;
            for (i, j) in [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)] {
                look(&mut best, m + span[0] * f64::from(i), b + span[1] * f64::from(j));
            }
            if best.0 >= before {
                span = span.map(|s| s / 2.0);
            }
            if span[0] < 1e-8 {
                break;
            }
        }
        Content { melanin: best.1[0], blood: best.1[1].exp() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difference::ciede2000;
    use crate::lab::Lab;
    use crate::light::Linear;

    #[test]
    fn every_published_mean_of_skin_is_reached() {
        let table = include_str!("../../../../data/colour/skin_lab.csv");
        let (mut rows, mut sum, mut worst) = (0, 0.0, 0.0f64);
        for line in table.lines().filter(|l| !l.starts_with(['#', 's'])) {
            let f: Vec<&str> = line.split(',').collect();
            let lab = Lab::of_array([2, 3, 4].map(|i: usize| f[i].parse().unwrap()));
            let content = Skin::OURS.content(lab.xyz());
            let de = ciede2000(lab, Skin::OURS.xyz(content).lab());
            assert!(de < 3.0, "{}: {de} with {content:?}", f[1]);
            (rows, sum, worst) = (rows + 1, sum + de, worst.max(de));
        }
        assert_eq!(rows, 30);
        assert!(sum < 0.9 * f64::from(rows) && worst < 2.5, "mean {}, worst {worst}", sum / f64::from(rows));
    }

    /// Where the same place of the body was measured on lighter and darker groups (Alaluf 2002: inside of the upper arm, back of the
    /// forearm), what lies between them is melanin, most of all: more of it must lead from one mean to the other.
    #[test]
    fn more_melanin_leads_from_published_lighter_skin_to_darker() {
        let density = |xyz: Xyz| Linear::of_xyz(xyz).0.map(|v| -v.log10());
        let along = |from: Xyz, to: Xyz| -> [f64; 3] {
            let (a, b) = (density(from), density(to));
            std::array::from_fn(|k| (b[k] - a[k]) / -(to.0[1] / from.0[1]).log10())
        };
        for (lighter, darker) in [
            ([65.0, 7.1, 13.3], [53.7, 10.3, 17.9]),
            ([65.0, 7.1, 13.3], [49.2, 10.2, 18.4]),
            ([62.1, 8.4, 16.3], [49.2, 10.2, 18.4]),
            ([53.94, 12.57, 19.23], [43.71, 12.89, 17.15]),
            ([53.94, 12.57, 19.23], [38.14, 12.66, 15.04]),
        ] {
            let [from, to] = [lighter, darker].map(|lab| Lab::of_array(lab).xyz());
            let start = Skin::OURS.content(from);
            let (mut low, mut high) = (start.melanin, 1.0);
            for _ in 0..40 {
                let melanin = (low + high) / 2.0;
                if Skin::OURS.xyz(Content { melanin, ..start }).0[1] > to.0[1] { low = melanin } else { high = melanin }
            }
            let reached = Skin::OURS.xyz(Content { melanin: low, ..start });
            let (ours, theirs) = (along(Skin::OURS.xyz(start), reached), along(from, to));
            for k in 0..3 {
                assert!(
                    (ours[k] - theirs[k]).abs() < 0.22,
                    "{lighter:?} to {darker:?}: {ours:?}, published {theirs:?}"
                );
            }
        }
    }

    #[test]
    fn the_content_of_its_own_colours_is_found() {
        for melanin in [0.01, 0.05, 0.12, 0.3, 0.5] {
            for blood in [0.003, 0.01, 0.03, 0.08] {
                let content = Content { melanin, blood };
                let found = Skin::OURS.content(Skin::OURS.xyz(content));
                assert!((found.melanin - melanin).abs() < 1e-4, "{content:?}: {found:?}");
                assert!((found.blood / blood - 1.0).abs() < 1e-3, "{content:?}: {found:?}");
            }
        }
    }

    #[test]
    fn more_of_either_gives_back_less_at_every_wavelength() {
        for melanin in [0.0, 0.1, 0.3] {
            for blood in [0.002, 0.02, 0.1] {
                let base = Skin::OURS.reflectance(Content { melanin, blood });
                for more in [Content { melanin: melanin + 0.05, blood }, Content { melanin, blood: blood * 1.5 }] {
                    let other = Skin::OURS.reflectance(more);
                    assert!(base.iter().zip(&other).all(|(b, o)| o < b && *b < 1.0 && *o > 0.0));
                }
            }
        }
    }
}
