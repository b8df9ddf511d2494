//! Embedded ICC profiles (ICC.1:2022).

use moxcms::{ColorProfile, DataColorSpace, ProfileText, ToneReprCurve};

use super::curve::Curve;
use super::lut::Lut;
use super::{Space, SpaceError, Way, from_xyz};
use crate::light::{Xyz, bradford};
use crate::matrix::{determinant, product};

/// Further than this from D50, in any of X, Y, Z, the sum of the colorants is taken for the profile's own white: rounding in
/// a profile stays below 0.001; profiles written without adaptation are off by 0.26 in Z. Our own choice.
const OFF_WHITE: f64 = 0.02;

pub(crate) fn read(bytes: &[u8]) -> Result<Space, SpaceError> {
    let profile = ColorProfile::new_from_slice(bytes).map_err(|e| SpaceError::Damaged(e.to_string()))?;
    if profile.color_space != DataColorSpace::Rgb {
        return Err(SpaceError::NotRgb(format!("{:?}", profile.color_space).to_uppercase()));
    }
    let name = name(&profile);
    if let (Some(r), Some(g), Some(b)) = (&profile.red_trc, &profile.green_trc, &profile.blue_trc) {
        let m = profile.colorant_matrix().v;
        if m.as_flattened().iter().any(|v| *v != 0.0) {
            let curves = [channel(r)?, channel(g)?, channel(b)?];
            return shaper(name, &profile, curves, m);
        }
    }
    // What was measured before what was made to please.
    let tables = [&profile.lut_a_to_b_colorimetric, &profile.lut_a_to_b_perceptual, &profile.lut_a_to_b_saturation];
    let Some(table) = tables.into_iter().flatten().next() else {
        return Err(SpaceError::NoMeaning("it holds neither curves with a matrix nor a table".to_string()));
    };
    let lut = Lut::new(table, profile.pcs)?;
    let (black, white) = (lut.linear([0.0; 3]).luminance(), lut.linear([1.0; 3]).luminance());
    if !white.is_finite() || white - black < 0.1 {
        return Err(SpaceError::Damaged("its tables do not lead from black to white".to_string()));
    }
    let note = "this colour profile is made of tables; colours beyond what the tables hold are cut off at their edge";
    Ok(Space { name, note: Some(note.to_string()), way: Way::Lut(lut) })
}

fn shaper(name: String, profile: &ColorProfile, curves: [Curve; 3], m: [[f64; 3]; 3]) -> Result<Space, SpaceError> {
    let white: [f64; 3] = std::array::from_fn(|row| m[row].iter().sum());
    if !determinant(&m).is_finite() || determinant(&m).abs() < 1e-6 || white.iter().any(|w| *w <= 0.0) {
        return Err(SpaceError::Damaged("its three primaries do not span a space of colours".to_string()));
    }
    let off = (0..3).any(|k| (white[k] - Xyz::WHITE_D50.0[k]).abs() > OFF_WHITE);
    let mut note = None;
    if off {
        note = Some("this colour profile's white is not the standard's; it was taken for the white of the file");
    } else if profile.lut_a_to_b_colorimetric.is_some() || profile.lut_a_to_b_perceptual.is_some() {
        note = Some("this colour profile holds tables too; its curves and matrix were used, which cut nothing off");
    }
    // From the white as the profile rounds it, so that the file's white is 1, 1, 1 to the last digit.
    let matrix = product(&from_xyz(), &product(&bradford(white, Xyz::WHITE_D65.0), &m));
    Ok(Space { name, note: note.map(str::to_string), way: Way::Shaper { curves, matrix } })
}

/// A curve as it stands.
pub(crate) fn curve(curve: &ToneReprCurve) -> Result<Curve, SpaceError> {
    Ok(match curve {
        ToneReprCurve::Lut(values) if values.is_empty() => Curve::Power(1.0),
        // One value is an exponent, u8Fixed8Number.
        ToneReprCurve::Lut(values) if values.len() == 1 => Curve::Power(f64::from(values[0]) / 256.0),
        ToneReprCurve::Lut(values) => Curve::Table(values.iter().map(|v| f64::from(*v) / 65535.0).collect()),
        ToneReprCurve::Parametric(p) => {
            let p: Vec<f64> = p.iter().map(|v| f64::from(*v)).collect();
            // The five function types of ICC.1:2022, table 68.
            let [g, a, b, c, d, e, f] = match p[..] {
                [g] => [g, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
                [g, a, b] => [g, a, b, 0.0, -b / a, 0.0, 0.0],
                [g, a, b, c] => [g, a, b, 0.0, -b / a, c, c],
                [g, a, b, c, d] => [g, a, b, c, d, 0.0, 0.0],
                [g, a, b, c, d, e, f] => [g, a, b, c, d, e, f],
                _ => return Err(SpaceError::Damaged("a curve has the wrong number of values".to_string())),
            };
            Curve::Parametric { g, a, b, c, d, e, f }
        }
    })
}

/// A curve of a channel, if it leads from black to white.
fn channel(trc: &ToneReprCurve) -> Result<Curve, SpaceError> {
    let curve = curve(trc)?;
    let (black, white) = (curve.linear(0.0), curve.linear(1.0));
    let sound = (0..=64).all(|i| curve.linear(f64::from(i) / 64.0).is_finite());
    if !sound || white - black < 0.1 || white > 4.0 || black < -1.0 {
        return Err(SpaceError::Damaged("a curve does not lead from black to white".to_string()));
    }
    Ok(curve)
}

/// The profile's own description.
fn name(profile: &ColorProfile) -> String {
    let said = match &profile.description {
        Some(ProfileText::PlainString(text)) => Some(text.as_str()),
        Some(ProfileText::Localizable(all)) => {
            all.iter().find(|l| l.language == "en").or(all.first()).map(|l| l.value.as_str())
        }
        Some(ProfileText::Description(text)) => Some(text.ascii_string.as_str()),
        None => None,
    };
    let clean: String = said.unwrap_or_default().chars().filter(|c| !c.is_control()).take(80).collect();
    let clean = clean.trim();
    if clean.is_empty() { "a profile without a name".to_string() } else { clean.to_string() }
}
