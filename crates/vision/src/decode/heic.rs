//! HEIC: the container's claims are bounded by [`boxes`](super::boxes), the pixels are `heic-decoder`'s, which also
//! crops, turns and mirrors as the container asks. EXIF orientation repeats that turn and must not be applied again
//! (ISO/IEC 23008-12, 6.5.10 and annex A).

use heic_decoder::{ColorInfo, DecodedImage, HeifError, RgbOptions};

use super::pixels::{Icc, Raw, guarded, over_white, push};
use super::{Limits, Note, Samples, boxes};
use crate::error::{DecodeError, DecodeErrorKind};

/// H.273: "unspecified", for a matrix and for primaries.
const UNSPECIFIED: u16 = 2;
/// H.273: BT.601, 525 lines.
const BT_601: u16 = 6;
/// H.273: primaries of BT.709, which are sRGB's.
const BT_709: u16 = 1;

/// Reads a HEIC.
pub(super) fn read(bytes: &[u8], limits: &Limits) -> Result<Raw, DecodeError> {
    let claims = boxes::bound(bytes, limits)?;
    guarded(|| {
        let info = heic_decoder::probe(bytes).map_err(error)?;
        limits.allow(side(info.coded_width), side(info.coded_height))?;
        limits.allow(side(info.width), side(info.height))?;
        let image = heic_decoder::decode(bytes).map_err(error)?;
        convert(image, claims.turned)
    })
}

fn convert(mut image: DecodedImage, turned: bool) -> Result<Raw, DecodeError> {
    let mut notes = Vec::new();
    let options = RgbOptions { color: Some(colour(image.color_info)), ..RgbOptions::default() };
    if image.chroma_format_idc == 0 {
        push(&mut notes, Note::Greyscale);
    }
    if image.alpha.as_ref().is_some_and(|alpha| alpha.premultiplied) {
        return Err(DecodeErrorKind::UnsupportedFormat("a HEIC with premultiplied transparency").into());
    }
    let deep = image.bit_depth_luma > 8 || image.bit_depth_chroma > 8;
    let alpha = image.alpha.is_some();
    let samples = match (deep, alpha) {
        (false, false) => Samples::Eight(image.to_rgb8_with_options(&options).map_err(error)?.data),
        (true, false) => Samples::Sixteen(image.to_rgb16_with_options(&options).map_err(error)?.data),
        (false, true) => {
            let mut v = image.to_rgba8_with_options(&options).map_err(error)?.data;
            over_white::<u8, 4, 3>(&mut v, u8::MAX, &mut notes);
            Samples::Eight(v)
        }
        (true, true) => {
            let mut v = image.to_rgba16_with_options(&options).map_err(error)?.data;
            over_white::<u16, 4, 3>(&mut v, u16::MAX, &mut notes);
            Samples::Sixteen(v)
        }
    };
    let icc = image.metadata.icc_profile.take().map_or(Icc::None, Icc::Whole);
    let primaries = image.color_info.map_or(UNSPECIFIED, |c| c.color_primaries);
    if matches!(icc, Icc::None) && !matches!(primaries, UNSPECIFIED | BT_709) {
        push(&mut notes, Note::ColourHintUnused);
    }
    Ok(Raw {
        width: side(image.width),
        height: side(image.height),
        samples,
        icc,
        exif: image.metadata.exif.take(),
        turned: Some(turned),
        notes,
    })
}

/// The matrix and range to use. Files that leave the matrix unspecified are BT.601, and where nothing at all is said
/// also full range, as libheif takes them; a range that is stated is kept. The decoder's own fallback (BT.709, limited)
/// makes skin too red.
fn colour(found: Option<ColorInfo>) -> ColorInfo {
    let unsaid = ColorInfo {
        matrix_coefficients: UNSPECIFIED,
        full_range: true,
        color_primaries: UNSPECIFIED,
        ..Default::default()
    };
    let mut colour = found.unwrap_or(unsaid);
    if colour.matrix_coefficients == UNSPECIFIED {
        colour.matrix_coefficients = BT_601;
    }
    colour
}

fn side(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn error(e: HeifError) -> DecodeError {
    match e {
        HeifError::Truncated { .. } => DecodeErrorKind::Truncated.into(),
        HeifError::Unsupported(_) => {
            DecodeErrorKind::UnsupportedFormat("a rare variant of HEIC (not as phones write it)").into()
        }
        e => DecodeError::broken(e),
    }
}
