//! Pictures that the program itself made, as files.

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};

use crate::error::{DecodeError, DecodeErrorKind};
use crate::{Format, Photograph, Profile, Samples, View};

/// A picture as a PNG file.
///
/// # Errors
/// When the encoder refuses.
pub fn png(view: &View<'_>) -> Result<Vec<u8>, DecodeError> {
    let mut out = Vec::new();
    let (w, h) = (view.width as u32, view.height as u32);
    let written = PngEncoder::new(&mut out).write_image(view.rgb, w, h, ExtendedColorType::Rgb8);
    written.map_err(|e| DecodeError::from(DecodeErrorKind::NotWritten(e.to_string())))?;
    Ok(out)
}

/// A picture as a JPEG file of this quality, 1 to 100.
///
/// # Errors
/// When the encoder refuses.
pub fn jpeg(view: &View<'_>, quality: u8) -> Result<Vec<u8>, DecodeError> {
    let mut out = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut out, quality.clamp(1, 100));
    let (w, h) = (view.width as u32, view.height as u32);
    let written = encoder.write_image(view.rgb, w, h, ExtendedColorType::Rgb8);
    written.map_err(|e| DecodeError::from(DecodeErrorKind::NotWritten(e.to_string())))?;
    Ok(out)
}

impl Photograph {
    /// A picture that was not read from a file: sRGB, upright. None if the bytes are not those of a picture of this size.
    pub fn drawn(width: u32, height: u32, rgb: Vec<u8>) -> Option<Photograph> {
        View::new(width as usize, height as usize, &rgb)?;
        Some(Photograph {
            width,
            height,
            samples: Samples::Eight(rgb),
            format: Format::Png,
            icc: None,
            profile: Profile::Assumed,
            orientation: 1,
            focal_35mm: None,
            chroma_step: None,
            notes: Vec::new(),
        })
    }
}
