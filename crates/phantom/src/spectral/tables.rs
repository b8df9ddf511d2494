//! The spectra that everything here rests on, 400 to 700 nm in steps of 10 nm.

use std::sync::OnceLock;

static OBSERVER: &str = include_str!("../../../../data/colour/observer_2_degree.csv");
static ILLUMINANTS: &str = include_str!("../../../../data/colour/illuminants.csv");
static BLOOD: &str = include_str!("../../../../data/colour/hemoglobin_prahl.csv");

/// How many wavelengths.
pub(crate) const COUNT: usize = 31;

/// One number a wavelength.
pub(crate) type Spectrum31 = [f64; COUNT];

/// The wavelength of an index, nm.
pub(crate) fn nm(i: usize) -> f64 {
    400.0 + 10.0 * i as f64
}

/// A column of a table at our wavelengths. Rows that hold no numbers (remarks, the head) are passed over.
fn column(text: &str, which: usize) -> Spectrum31 {
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter_map(|l| l.split(',').map(|c| c.trim().parse().ok()).collect::<Option<Vec<f64>>>())
        .collect();
    std::array::from_fn(|i| {
        rows.iter().find(|r| (r[0] - nm(i)).abs() < 0.1).and_then(|r| r.get(which)).copied().unwrap_or(0.0)
    })
}

/// Observer (x, y, z), lights (D65, A, cool LED), molar extinction of blood (with and without oxygen).
pub(crate) struct Tables {
    pub(crate) observer: [Spectrum31; 3],
    pub(crate) lights: [Spectrum31; 3],
    pub(crate) blood: [Spectrum31; 2],
}

/// The tables, read once.
pub(crate) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables {
        observer: [1, 2, 3].map(|k| column(OBSERVER, k)),
        lights: [1, 2, 3].map(|k| column(ILLUMINANTS, k)),
        blood: [1, 2].map(|k| column(BLOOD, k)),
    })
}

/// The luminance of a light, in the unit of its table.
pub(crate) fn luminance(light: &Spectrum31) -> f64 {
    (0..COUNT).map(|i| light[i] * tables().observer[1][i]).sum()
}

/// CIE XYZ under D65 of a reflectance, white Y = 1.
pub(crate) fn xyz(reflectance: &Spectrum31) -> [f64; 3] {
    let t = tables();
    let white: f64 = (0..COUNT).map(|i| t.observer[1][i] * t.lights[0][i]).sum();
    std::array::from_fn(|k| (0..COUNT).map(|i| t.observer[k][i] * t.lights[0][i] * reflectance[i]).sum::<f64>() / white)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_are_whole_and_a_grey_is_grey() {
        let t = tables();
        assert!(t.observer[1].iter().all(|v| *v > 0.0) && t.lights.iter().flatten().all(|v| *v > 0.0));
        assert!(t.blood.iter().flatten().all(|v| *v > 100.0));
        let [x, y, z] = xyz(&[0.5; COUNT]);
        // D65 as XYZ (ASTM E308): 0.9505, 1, 1.0888; the cut at 400 and 700 nm and the steps cost a thousandth.
        assert!(
            (y - 0.5).abs() < 1e-12 && (x / 0.9505 - 0.5).abs() < 1e-3 && (z / 1.0888 - 0.5).abs() < 2e-3,
            "{x} {y} {z}"
        );
    }
}
