//! Published spectra, compiled in.

use std::sync::LazyLock;

use crate::light::Xyz;

/// The wavelengths looked at, nm: haemoglobin's table spans these, and beyond them light contributes less than 0.1 % of Y.
pub(crate) const FIRST_NM: f64 = 400.0;
/// Step, nm.
pub(crate) const STEP_NM: f64 = 5.0;
/// How many.
pub(crate) const COUNT: usize = 61;

/// A number at each wavelength.
pub(crate) type Spectrum = [f64; COUNT];

static OBSERVER: &str = include_str!("../../../../data/colour/observer_2_degree.csv");
static LIGHTS: &str = include_str!("../../../../data/colour/illuminants.csv");
static HAEMOGLOBIN: &str = include_str!("../../../../data/colour/hemoglobin_prahl.csv");

/// What the model needs of the published tables.
pub(crate) struct Spectra {
    /// X, Y and Z of each wavelength of a white surface under D65.
    pub xyz: [Spectrum; 3],
    /// Absorption of whole blood with its haemoglobin oxygenated, per cm.
    pub oxygenated: Spectrum,
    /// The same, not oxygenated.
    pub deoxygenated: Spectrum,
}

/// Wavelength of a place, nm.
pub(crate) fn nm(i: usize) -> f64 {
    FIRST_NM + STEP_NM * i as f64
}

pub(crate) static SPECTRA: LazyLock<Spectra> = LazyLock::new(|| {
    let light = column(LIGHTS, 1);
    let mut xyz = [1, 2, 3].map(|k| {
        let observer = column(OBSERVER, k);
        std::array::from_fn::<f64, COUNT, _>(|i| observer[i] * light[i])
    });
    // So scaled that white is the D65 of the standards, of which the sum over the tables differs in the fourth digit.
    for (k, channel) in xyz.iter_mut().enumerate() {
        let sum: f64 = channel.iter().sum();
        channel.iter_mut().for_each(|v| *v *= Xyz::WHITE_D65.0[k] / sum);
    }
    // 150 g of haemoglobin a litre of blood, 66 500 g a mole, ln 10 from decadic extinction
    // (omlc.org/spectra/hemoglobin/moaveni.html).
    let per_cm = |k: usize| column(HAEMOGLOBIN, k).map(|e| std::f64::consts::LN_10 * e * 150.0 / 66_500.0);
    Spectra { xyz, oxygenated: per_cm(1), deoxygenated: per_cm(2) }
});

/// A column of a table at the wavelengths looked at, between its rows by a straight line.
fn column(table: &str, column: usize) -> Spectrum {
    let rows: Vec<(f64, f64)> = table
        .lines()
        .filter(|l| l.starts_with(|c: char| c.is_ascii_digit()))
        .map(|l| {
            let mut fields = l.split(',').map(|f| f.trim().parse::<f64>().unwrap_or(f64::NAN));
            let nm = fields.next().unwrap_or(f64::NAN);
            (nm, fields.nth(column - 1).unwrap_or(f64::NAN))
        })
        .collect();
    std::array::from_fn(|i| {
        let at = nm(i);
        let above = rows.partition_point(|(n, _)| *n < at).clamp(1, rows.len() - 1);
        let ((n0, v0), (n1, v1)) = (rows[above - 1], rows[above]);
        v0 + (v1 - v0) * (at - n0) / (n1 - n0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_are_whole() {
        let s = &*SPECTRA;
        for spectrum in s.xyz.iter().chain([&s.oxygenated, &s.deoxygenated]) {
            assert!(spectrum.iter().all(|v| v.is_finite() && *v >= -1e-12), "{spectrum:?}");
        }
        // Prahl's table at 500 nm, by hand: ln 10 * 20 932.8 * 150 / 66 500.
        assert!((s.oxygenated[20] - 108.7208).abs() < 1e-3, "{}", s.oxygenated[20]);
    }

    #[test]
    fn what_lies_outside_the_range_is_small() {
        let observer: f64 = column(OBSERVER, 2).iter().zip(column(LIGHTS, 1)).map(|(y, d)| y * d).sum();
        let whole: f64 = OBSERVER
            .lines()
            .zip(LIGHTS.lines())
            .filter(|(l, _)| l.starts_with(|c: char| c.is_ascii_digit()))
            .map(|(o, d)| {
                let field = |l: &str, k| l.split(',').nth(k).unwrap().parse::<f64>().unwrap();
                assert_eq!(field(o, 0), field(d, 0));
                field(o, 2) * field(d, 1)
            })
            .sum();
        assert!((observer / whole - 1.0).abs() < 1e-3, "{observer} of {whole}");
    }
}
