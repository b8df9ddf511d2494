//! Skin as two layers by Kubelka and Munk (1931): an epidermis that holds melanin over a dermis that holds blood.
//!
//! Deliberately another model than the one that `colour` inverts. Absorption: melanosomes 519 (nm / 500)^-3.5 per cm and, without any
//! pigment, 0.244 + 85.3 exp(-(nm - 154) / 66.2) per cm (S. L. Jacques, OMLC 1998 and Phys Med Biol 2013, 58:R37, from memory but for the
//! first); blood by its tables at 150 g/L. Scattering of skin 46 (nm / 500)^-1.421 per cm (Jacques 2013). Light that would leave is partly thrown back
//! inside (Saunderson 1942); the mirror's part of shine is no part of skin's colour.
//!
//! Melanosomes are not spread evenly: they lie packed in caps over the nuclei (Kobayashi et al. 1998, J Invest Dermatol 110:806, from
//! memory), and what one cap has taken another can't take again. A suspension of absorbing grains of optical depth t takes
//! (1 - exp(-t)) / t of what the same pigment in solution would (Duysens 1956, Biochim Biophys Acta 19:1, from memory): least in blue,
//! where melanin is densest, so that skin's apparent slope is nearer -2.7 than the melanosome's own -3.5.

use super::tables::{COUNT, Spectrum31, nm, tables};

/// What skin is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Skin {
    /// Volume share of melanosomes in the epidermis, 0.005 to 0.5.
    pub(crate) melanin: f64,
    /// Volume share of blood in the dermis, 0.002 to 0.15.
    pub(crate) blood: f64,
    /// Share of its haemoglobin that carries oxygen.
    pub(crate) oxygen: f64,
}

/// Thickness of the epidermis, cm.
const EPIDERMIS: f64 = 0.007;
/// Haemoglobin in blood, g/L, over its molar mass, g/mol.
const HAEMOGLOBIN: f64 = 150.0 / 64_500.0;
/// Share thrown back inside at the surface: diffuse light against 1.4.
const INSIDE: f64 = 0.45;
/// How far light goes through a packed cap, cm: about a nucleus (our own choice within 5 to 10 micrometres, with which the published
/// means of brown and dark skin are met).
const CAP: f64 = 0.0008;
/// Share that is reflected before it enters, and how much of that leaves in all ways and so is part of the colour: skin is rough, and the
/// published means were taken with the surface's own light (our own choice; the rest is shine).
const OUTSIDE: f64 = 0.03;
const ROUGH: f64 = 0.025;

/// The diffuse reflectance of skin.
pub(crate) fn reflectance(skin: Skin) -> Spectrum31 {
    let t = tables();
    std::array::from_fn(|i| {
        let l = nm(i);
        let scatter = 46.0 * (l / 500.0).powf(-1.421);
        let bare = 0.244 + 85.3 * (-(l - 154.0) / 66.2).exp();
        let alone = 519.0 * (l / 500.0).powf(-3.5);
        let melanin = (1.0 - (-alone * CAP).exp()) / CAP;
        let blood =
            std::f64::consts::LN_10 * HAEMOGLOBIN * (skin.oxygen * t.blood[0][i] + (1.0 - skin.oxygen) * t.blood[1][i]);
        // K = 2 mua and S = 3/4 mus' - 1/4 mua: van Gemert and Star 1987, Lasers Life Sci 1:287 (from memory).
        let layers = |mua: f64| (2.0 * mua, (0.75 * scatter - 0.25 * mua).max(0.05 * scatter));
        let (k, s) = layers(bare + skin.blood * blood);
        let ratio = k / s;
        let dermis = 1.0 + ratio - (ratio * ratio + 2.0 * ratio).sqrt();
        let (k, s) = layers(bare * (1.0 - skin.melanin) + skin.melanin * melanin);
        let a = 1.0 + k / s;
        let b = (a * a - 1.0).sqrt();
        let (sinh, cosh) = ((b * s * EPIDERMIS).sinh(), (b * s * EPIDERMIS).cosh());
        let back = sinh / (a * sinh + b * cosh);
        let through = b / (a * sinh + b * cosh);
        let whole = back + through * through * dermis / (1.0 - back * dermis);
        ROUGH + (1.0 - OUTSIDE) * (1.0 - INSIDE) * whole / (1.0 - INSIDE * whole)
    })
}

/// How many steps each table has.
pub(crate) const MELANIN_STEPS: usize = 48;
pub(crate) const BLOOD_STEPS: usize = 20;
pub(crate) const MELANIN: [f64; 2] = [0.002, 0.9];
const BLOOD: [f64; 2] = [0.001, 0.35];
pub(crate) const OXYGEN: [f64; 2] = [0.30, 0.95];

/// A table of three numbers over melanin and blood (even steps of their logarithms), for two shares of oxygen.
#[derive(Clone, Debug)]
pub(crate) struct Look(Vec<[f32; 3]>);

impl Look {
    /// Fills a table from reflectances.
    pub(crate) fn of(what: impl Fn(&Spectrum31) -> [f64; 3]) -> Look {
        let step =
            |range: [f64; 2], i: usize, n: usize| range[0] * (range[1] / range[0]).powf(i as f64 / (n - 1) as f64);
        let mut all = Vec::with_capacity(2 * MELANIN_STEPS * BLOOD_STEPS);
        for oxygen in OXYGEN {
            for m in 0..MELANIN_STEPS {
                for b in 0..BLOOD_STEPS {
                    let skin =
                        Skin { melanin: step(MELANIN, m, MELANIN_STEPS), blood: step(BLOOD, b, BLOOD_STEPS), oxygen };
                    all.push(what(&reflectance(skin)).map(|v| v.max(1e-5).ln() as f32));
                }
            }
        }
        Look(all)
    }

    /// The numbers for this skin, straight in logarithms between the steps.
    pub(crate) fn at(&self, skin: Skin) -> [f32; 3] {
        let place = |v: f64, range: [f64; 2], n: usize| {
            let p = ((v / range[0]).ln() / (range[1] / range[0]).ln()).clamp(0.0, 1.0) * (n - 1) as f64;
            let low = (p as usize).min(n - 2);
            (low, (p - low as f64) as f32)
        };
        let (m, fm) = place(skin.melanin, MELANIN, MELANIN_STEPS);
        let (b, fb) = place(skin.blood, BLOOD, BLOOD_STEPS);
        let fo = (((skin.oxygen - OXYGEN[0]) / (OXYGEN[1] - OXYGEN[0])).clamp(0.0, 1.0)) as f32;
        let one = |o: usize, m: usize, b: usize, k: usize| self.0[(o * MELANIN_STEPS + m) * BLOOD_STEPS + b][k];
        std::array::from_fn(|k| {
            let plane = |o: usize| {
                let row = |m: usize| one(o, m, b, k) * (1.0 - fb) + one(o, m, b + 1, k) * fb;
                row(m) * (1.0 - fm) + row(m + 1) * fm
            };
            (plane(0) * (1.0 - fo) + plane(1) * fo).exp()
        })
    }
}

/// The sum over wavelengths of a reflectance against a weight.
pub(crate) fn sum(reflectance: &Spectrum31, weight: &Spectrum31) -> f64 {
    (0..COUNT).map(|i| reflectance[i] * weight[i]).sum()
}

#[cfg(test)]
mod tests {
    use super::super::cielab::{ciede2000, lab};
    use super::super::tables::xyz;
    use super::*;

    /// Published means of skin (Alaluf 2002, Xiao 2017) are reached within 3 CIEDE2000 (those for the 10 degree observer as they stand).
    #[test]
    fn published_skin_is_reached() {
        let table = include_str!("../../../../data/colour/skin_lab.csv");
        let mut count = 0;
        let mut grid = Vec::new();
        for m in 0..60 {
            for b in 0..60 {
                for oxygen in [0.4, 0.6, 0.75, 0.9] {
                    let (melanin, blood) = (0.005 * 1.09f64.powi(m), 0.001 * 1.1f64.powi(b));
                    grid.push(lab(xyz(&reflectance(Skin { melanin, blood, oxygen }))));
                }
            }
        }
        for line in table.lines() {
            let cells: Vec<&str> = line.split(',').collect();
            let numbers: Option<Vec<f64>> = cells.iter().skip(2).take(3).map(|c| c.parse().ok()).collect();
            let Some(n) = numbers.filter(|n| n.len() == 3) else { continue };
            let best = grid.iter().map(|g| ciede2000(*g, [n[0], n[1], n[2]])).fold(f64::MAX, f64::min);
            assert!(best <= 3.0, "{} {}: {best:.2}", cells[0], cells[1]);
            count += 1;
        }
        assert!(count >= 30, "{count} rows");
    }

    #[test]
    fn more_pigment_is_darker_and_the_table_agrees() {
        let look = Look::of(xyz);
        let y = |melanin, blood| xyz(&reflectance(Skin { melanin, blood, oxygen: 0.7 }))[1];
        assert!(y(0.02, 0.03) > y(0.04, 0.03) && y(0.02, 0.03) > y(0.02, 0.06));
        for (melanin, blood) in [(0.013, 0.021), (0.08, 0.05), (0.3, 0.012)] {
            let skin = Skin { melanin, blood, oxygen: 0.7 };
            let (a, b) = (look.at(skin), xyz(&reflectance(skin)));
            for k in 0..3 {
                assert!((f64::from(a[k]) / b[k] - 1.0).abs() < 0.01, "{melanin} {blood}: {a:?} {b:?}");
            }
        }
    }
}
