//! From a nominal colour to what a printer is sent.

/// CIELAB (D65, 2 degree) as 8-bit sRGB: CIE 15:2018 for the one, IEC 61966-2-1 for the other. What lies outside sRGB is
/// cut off; the card's colours all lie within, as a test says.
pub fn srgb([l, a, b]: [f64; 3]) -> [u8; 3] {
    encoded(linear([l, a, b])).map(|v| (255.0 * v.clamp(0.0, 1.0)).round() as u8)
}

fn linear([l, a, b]: [f64; 3]) -> [f64; 3] {
    let limit = 6.0 / 29.0;
    let back = |t: f64| if t > limit { t.powi(3) } else { 3.0 * limit * limit * (t - 4.0 / 29.0) };
    let fy = (l + 16.0) / 116.0;
    let (x, y, z) = (0.95047 * back(fy + a / 500.0), back(fy), 1.08883 * back(fy - b / 200.0));
    [
        3.2404542 * x - 1.5371385 * y - 0.4985314 * z,
        -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,
        0.0556434 * x - 0.2040259 * y + 1.0572252 * z,
    ]
}

fn encoded(light: [f64; 3]) -> [f64; 3] {
    light.map(|v| if v <= 0.0031308 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::patches;

    #[test]
    fn well_known_colours() {
        // The sRGB primaries and white as CIELAB, D65 (computed from IEC 61966-2-1).
        for (lab, rgb) in [
            ([100.0, 0.0, 0.0], [255, 255, 255]),
            ([0.0, 0.0, 0.0], [0, 0, 0]),
            ([53.2408, 80.0925, 67.2032], [255, 0, 0]),
            ([87.7347, -86.1827, 83.1793], [0, 255, 0]),
            ([32.2970, 79.1875, -107.8602], [0, 0, 255]),
            ([53.5850, 0.0, 0.0], [128, 128, 128]),
        ] {
            assert_eq!(srgb(lab), rgb, "{lab:?}");
        }
    }

    #[test]
    fn no_patch_is_cut_off() {
        for patch in patches() {
            let light = encoded(linear(patch.lab));
            assert!(light.iter().all(|v| (0.02..=0.98).contains(v)), "{patch:?}: {light:?}");
        }
    }
}
