//! What a format's reader hands over, and the steps all of them share.

use std::panic::{AssertUnwindSafe, catch_unwind};

use image::{DynamicImage, ImageDecoder, ImageError};

use super::{Note, Samples};
use crate::error::{DecodeError, DecodeErrorKind};

/// A decoded file, not yet upright.
pub(super) struct Raw {
    pub width: u32,
    pub height: u32,
    pub samples: Samples,
    pub icc: Icc,
    /// EXIF from its TIFF header on (a leading `Exif\0\0` is tolerated).
    pub exif: Option<Vec<u8>>,
    /// `Some` where the format turns its pictures itself and EXIF orientation must not be applied again; whether this
    /// file's container asks for a turn.
    pub turned: Option<bool>,
    pub notes: Vec<Note>,
}

/// The colour profile as a container holds it.
pub(super) enum Icc {
    None,
    /// There is one, but it cannot be put together (missing parts, bad compression).
    Broken,
    Whole(Vec<u8>),
}

/// Runs a third party's decoder; a panic becomes an error. The decoders here say they do not panic, and their
/// arithmetic is checked in our development builds; this is the belt to those braces.
pub(super) fn guarded<T>(work: impl FnOnce() -> Result<T, DecodeError>) -> Result<T, DecodeError> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| Err(DecodeErrorKind::Panicked.into()))
}

/// Decodes with one of `image`'s decoders into RGB.
pub(super) fn rgb(decoder: impl ImageDecoder, notes: &mut Vec<Note>) -> Result<Samples, DecodeError> {
    let picture = DynamicImage::from_decoder(decoder).map_err(error)?;
    Ok(match picture {
        DynamicImage::ImageRgb8(p) => Samples::Eight(p.into_raw()),
        DynamicImage::ImageRgb16(p) => Samples::Sixteen(p.into_raw()),
        DynamicImage::ImageLuma8(p) => {
            push(notes, Note::Greyscale);
            Samples::Eight(repeat(p.as_raw()))
        }
        DynamicImage::ImageLuma16(p) => {
            push(notes, Note::Greyscale);
            Samples::Sixteen(repeat(p.as_raw()))
        }
        DynamicImage::ImageLumaA8(p) => {
            push(notes, Note::Greyscale);
            let mut grey = p.into_raw();
            over_white::<u8, 2, 1>(&mut grey, u8::MAX, notes);
            Samples::Eight(repeat(&grey))
        }
        DynamicImage::ImageLumaA16(p) => {
            push(notes, Note::Greyscale);
            let mut grey = p.into_raw();
            over_white::<u16, 2, 1>(&mut grey, u16::MAX, notes);
            Samples::Sixteen(repeat(&grey))
        }
        DynamicImage::ImageRgba8(p) => {
            let mut v = p.into_raw();
            over_white::<u8, 4, 3>(&mut v, u8::MAX, notes);
            Samples::Eight(v)
        }
        DynamicImage::ImageRgba16(p) => {
            let mut v = p.into_raw();
            over_white::<u16, 4, 3>(&mut v, u16::MAX, notes);
            Samples::Sixteen(v)
        }
        _ => return Err(DecodeErrorKind::UnsupportedFormat("a picture of floating-point samples").into()),
    })
}

/// What `image` says, in our kinds.
pub(super) fn error(e: ImageError) -> DecodeError {
    match e {
        ImageError::Unsupported(_) => {
            DecodeErrorKind::UnsupportedFormat("a rare variant of its format (arithmetic coding, 12 bits or the like)")
                .into()
        }
        ImageError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => DecodeErrorKind::Truncated.into(),
        e => DecodeError::broken(e),
    }
}

/// Adds a note once.
pub(super) fn push(notes: &mut Vec<Note>, note: Note) {
    if !notes.contains(&note) {
        notes.push(note);
    }
}

/// A 16-bit sample as 8 bits, rounded to the nearest.
pub(super) fn to_eight(s: u16) -> u8 {
    // 65 535 = 255 x 257 exactly; the result is at most 255.
    ((u32::from(s) + 128) / 257) as u8
}

fn repeat<T: Copy>(grey: &[T]) -> Vec<T> {
    let mut rgb = Vec::with_capacity(grey.len() * 3);
    for &g in grey {
        rgb.extend_from_slice(&[g; 3]);
    }
    rgb
}

/// Lays pixels of `C` samples, the last of them opacity, on white, in place; leaves `K = C - 1` samples a pixel.
pub(super) fn over_white<T, const C: usize, const K: usize>(v: &mut Vec<T>, most: T, notes: &mut Vec<Note>)
where
    T: Copy + PartialEq + Into<u32> + TryFrom<u32>,
{
    let pixels = v.len() / C;
    let top: u32 = most.into();
    let mut seen = false;
    for i in 0..pixels {
        let alpha: u32 = v[i * C + K].into();
        seen |= alpha != top;
        for k in 0..K {
            let s = v[i * C + k];
            let s: u32 = s.into();
            // Rounded; at most top x top + top / 2 + ..., which u32 holds for 16 bits: 65 535^2 + 32 767 < 2^32.
            let laid = (s * alpha + top * (top - alpha) + top / 2) / top;
            v[i * K + k] = T::try_from(laid).unwrap_or(most);
        }
    }
    v.truncate(pixels * K);
    v.shrink_to_fit();
    if seen {
        push(notes, Note::Transparent);
    }
}
