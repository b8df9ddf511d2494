//! A photograph as a small JPEG for pages and overlays.

use image::codecs::jpeg::JpegEncoder;
use image::imageops::thumbnail;
use image::{ExtendedColorType, ImageBuffer, ImageEncoder, Rgb};

use super::{Photograph, Profile};
use crate::error::{DecodeError, DecodeErrorKind};

/// Most sides a JPEG can have, in pixels.
const MOST: u32 = 65_535;

/// See [`Photograph::jpeg`].
pub(super) fn jpeg(photo: &Photograph, longest_side: u32, quality: u8) -> Result<Vec<u8>, DecodeError> {
    let rgb = photo.rgb8();
    let failed = |e: String| DecodeError::from(DecodeErrorKind::NotWritten(e));
    let full: ImageBuffer<Rgb<u8>, &[u8]> = ImageBuffer::from_raw(photo.width, photo.height, rgb.as_ref())
        .ok_or_else(|| failed("fewer samples than pixels".into()))?;
    let longest = longest_side.clamp(1, MOST);
    let (width, height) = fitted(photo.width, photo.height, longest);
    let mut out = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut out, quality.clamp(1, 100));
    if let (Profile::Embedded { .. }, Some(icc)) = (&photo.profile, &photo.icc) {
        encoder.set_icc_profile(icc.clone()).map_err(|e| failed(e.to_string()))?;
    }
    let small;
    let samples = if (width, height) == (photo.width, photo.height) {
        rgb.as_ref()
    } else {
        small = thumbnail(&full, width, height);
        small.as_raw().as_slice()
    };
    encoder.write_image(samples, width, height, ExtendedColorType::Rgb8).map_err(|e| failed(e.to_string()))?;
    Ok(out)
}

/// The size with its longer side at most `longest`, proportions kept, at least one pixel.
fn fitted(width: u32, height: u32, longest: u32) -> (u32, u32) {
    let side = width.max(height);
    if side <= longest {
        return (width, height);
    }
    let scaled = |v: u32| ((u64::from(v) * u64::from(longest) + u64::from(side) / 2) / u64::from(side)).max(1) as u32;
    (scaled(width), scaled(height))
}
