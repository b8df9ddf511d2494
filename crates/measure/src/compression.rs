//! What compression costs: a JPEG rounds the mean colour of each block to a step, and smooth skin is rounded alike in all blocks.

/// Errors of one standard deviation in Cb and in Cr: -log10 of the factors of the three channels.
pub(crate) type Rounding = [[f64; 3]; 2];

/// The step of the files that the other parts of the uncertainty were calibrated on: quality 92, whose table for chroma begins with 3
/// (ITU-T T.81, table K.2, scaled as libjpeg does). What is not coarser is in them already.
pub(crate) const CALIBRATED: f64 = 3.0 / 8.0;
/// What one level of Cb and of Cr adds to red, green and blue (ITU-T T.871, 7).
const CHROMA: [[f64; 3]; 2] = [[0.0, -0.344_136, 1.772], [1.402, -0.714_136, 0.0]];

/// What rounding chroma to a step, in levels of 255, does to an area of this linear light. Taken is that a mean lies anywhere
/// between two steps, which gives a standard deviation of a step over the root of 12; texture makes it less. Levels are taken
/// to be sRGB's (IEC 61966-2-1), as Display P3's are too.
pub(crate) fn rounding(step: f64, light: [f64; 3]) -> Rounding {
    let levels = (step * step - CALIBRATED * CALIBRATED).max(0.0).sqrt() / 12f64.sqrt();
    CHROMA.map(|by| {
        std::array::from_fn(|k| {
            -levels / 255.0 * by[k] * slope(light[k]) / light[k].max(1e-3) / std::f64::consts::LN_10
        })
    })
}

/// How linear light rises with the level, both 0 to 1.
fn slope(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        return 1.0 / 12.92;
    }
    let level = 1.055 * light.powf(1.0 / 2.4) - 0.055;
    2.4 / 1.055 * ((level + 0.055) / 1.055).powf(1.4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_added_up_to_the_quality_that_the_rest_was_calibrated_on() {
        assert!(rounding(0.0, [0.4, 0.3, 0.2]).iter().flatten().all(|v| *v == 0.0));
        assert!(rounding(CALIBRATED, [0.4, 0.3, 0.2]).iter().flatten().all(|v| *v == 0.0));
        assert!(rounding(1.25, [0.4, 0.3, 0.2])[0][2] != 0.0);
    }

    #[test]
    fn a_level_of_chroma_changes_light_as_the_file_would() {
        // By the curve itself: levels 180, 140, 120, one standard deviation of Cb added.
        let step = 1.25f64;
        let levels = (step * step - CALIBRATED * CALIBRATED).sqrt() / 12f64.sqrt();
        let light = |l: f64| ((l / 255.0 + 0.055) / 1.055).powf(2.4);
        let was = [180.0, 140.0, 120.0].map(light);
        let is = [180.0, 140.0 - 0.344_136 * levels, 120.0 + 1.772 * levels].map(light);
        for (k, found) in rounding(step, was)[0].iter().enumerate() {
            let expected = -(is[k] / was[k]).log10();
            assert!((found - expected).abs() < 0.01 * expected.abs().max(1e-6), "{k}: {found} {expected}");
        }
    }
}
