//! From a file's bytes to an upright photograph: the format is recognised by its first bytes, the size is bounded from
//! the header before any pixel memory is taken, pixels are decoded with their bit depth, turned upright once, and
//! handed on with the colour profile as found. Nothing is converted here: samples are the encoded values.
//!
//! Left out on purpose: colour management (the consumer of `icc` does it), embedded thumbnails, gain and depth maps.

mod boxes;
mod heic;
mod jpeg;
mod page;
mod pixels;
mod png;
mod profile;
mod quantisation;
mod sniff;
mod tags;
mod turn;
mod webp;

use std::borrow::Cow;

pub use self::tags::day_taken;
use crate::error::{DecodeError, DecodeErrorKind};
use pixels::Raw;

/// How much a file may ask for. Checked against the file's length and the header's declared size, before pixel memory
/// is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest file, in bytes.
    pub most_bytes: usize,
    /// Largest picture, width times height, in pixels.
    pub most_pixels: u64,
    /// Longest side, in pixels.
    pub most_side: u32,
}

impl Default for Limits {
    /// 100 MB, 120 megapixels, 30 000 pixels a side: above the usual 12 to 108 megapixels of phones and cameras. One
    /// RGB copy at the limit is 360 MB; HEIC takes about five times that while decoding.
    fn default() -> Limits {
        Limits { most_bytes: 100_000_000, most_pixels: 120_000_000, most_side: 30_000 }
    }
}

impl Limits {
    /// Refuses a declared size that is beyond the limits.
    fn allow(&self, width: u32, height: u32) -> Result<(), DecodeError> {
        let pixels = u64::from(width) * u64::from(height);
        if width > self.most_side || height > self.most_side || pixels > self.most_pixels {
            return Err(DecodeErrorKind::TooLarge { width, height }.into());
        }
        if pixels == 0 {
            return Err(DecodeError::broken("a side of zero pixels"));
        }
        Ok(())
    }
}

/// The file formats read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// JPEG, baseline or progressive, 8 bits.
    Jpeg,
    /// PNG, 8 bits or fewer, or 16.
    Png,
    /// WebP, lossy or lossless, 8 bits.
    WebP,
    /// HEIF with HEVC pictures, as phones write it; 8 bits, or 10 and 12.
    Heic,
}

/// Interleaved RGB, row by row from the top left, encoded values (not linear light) of the photograph's own profile.
/// The length is width x height x 3.
#[derive(Clone, PartialEq, Eq)]
pub enum Samples {
    /// 0 to 255.
    Eight(Vec<u8>),
    /// 0 to 65 535: 16-bit PNG, and HEIC of 10 or 12 bits scaled up.
    Sixteen(Vec<u16>),
}

impl std::fmt::Debug for Samples {
    /// A picture of a person is not for logs: only how much there is.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Samples::Eight(v) => write!(f, "Eight({} samples)", v.len()),
            Samples::Sixteen(v) => write!(f, "Sixteen({} samples)", v.len()),
        }
    }
}

/// Whose colours the samples are in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Profile {
    /// The file holds no profile: sRGB is assumed, and a result should say so.
    Assumed,
    /// The file holds an RGB profile; its own description where it has one ("Display P3", "sRGB IEC61966-2.1").
    Embedded {
        /// The profile's description tag.
        name: Option<String>,
    },
    /// The file holds a profile that is corrupt, or not one for RGB: sRGB is assumed, and a note says so.
    Unreadable,
}

/// What a person or a measurement should know about how the file was read. At most one of each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Note {
    /// The colour profile is corrupt or incomplete; sRGB is assumed.
    IccUnreadable,
    /// The colour profile is one for grey or ink, not RGB; sRGB is assumed.
    IccNotRgb,
    /// Colour is described by something other than an ICC profile that is not sRGB (PNG `cICP`, `gAMA`, `cHRM`; HEIC
    /// `nclx`) and was not used; sRGB is assumed.
    ColourHintUnused,
    /// Ink colours (CMYK), converted by a rule of thumb: the colours are not to be trusted.
    Cmyk,
    /// One grey channel, repeated three times: nothing can be said about colour.
    Greyscale,
    /// Parts are transparent; they were laid on white.
    Transparent,
    /// A moving picture; this is its first frame.
    Animated,
    /// The camera's notes (EXIF) could not be read; the picture is shown as stored.
    ExifUnreadable,
    /// EXIF gives an orientation that does not exist (not 1 to 8); the picture is shown as stored.
    OrientationInvalid,
    /// A HEIC picture whose EXIF says it is turned while its container says it is not. The container is followed, as
    /// the format demands; if the picture lies on its side, save it upright.
    OrientationContradicts,
}

/// A photograph, upright, with what its file says about colour and lens.
#[derive(Debug, Clone, PartialEq)]
pub struct Photograph {
    /// Width in pixels, upright.
    pub width: u32,
    /// Height in pixels, upright.
    pub height: u32,
    /// The pixels.
    pub samples: Samples,
    /// What the file was.
    pub format: Format,
    /// The ICC profile, byte for byte as found, also when it is not usable. Use it only where `profile` is
    /// [`Profile::Embedded`].
    pub icc: Option<Vec<u8>>,
    /// What the profile is.
    pub profile: Profile,
    /// The EXIF orientation, 1 to 8, that has been applied (EXIF 2.32, 4.6.5.A tag 274); 1 is none. Always 1 for HEIC,
    /// which is turned by its container.
    pub orientation: u8,
    /// Focal length in millimetres on 35 mm film, from EXIF (tag 41989); none where unknown.
    pub focal_35mm: Option<f64>,
    /// The step in which a JPEG keeps the mean chroma (Cb, Cr) of a block, in levels of 255; none in other files.
    pub chroma_step: Option<f64>,
    /// What should be known about how the file was read.
    pub notes: Vec<Note>,
}

/// Reads a photograph from a file's bytes.
///
/// # Errors
/// [`DecodeError`] for bytes that are no photograph, a format that is not read, a file that is cut short or damaged,
/// and anything beyond `limits`. A panic in a decoding library is caught and becomes an error too (where the build
/// unwinds on panic).
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<Photograph, DecodeError> {
    if bytes.is_empty() {
        return Err(DecodeErrorKind::Empty.into());
    }
    if bytes.len() > limits.most_bytes {
        return Err(DecodeErrorKind::TooManyBytes { bytes: bytes.len(), most: limits.most_bytes }.into());
    }
    let format = sniff::format(bytes)?;
    let raw = match format {
        Format::Jpeg => jpeg::read(bytes, limits)?,
        Format::Png => png::read(bytes, limits)?,
        Format::WebP => webp::read(bytes, limits)?,
        Format::Heic => heic::read(bytes, limits)?,
    };
    let chroma_step = if format == Format::Jpeg { quantisation::chroma_step(bytes) } else { None };
    Ok(Photograph { chroma_step, ..finish(raw, format) })
}

/// Turns the picture upright and names its profile.
fn finish(raw: Raw, format: Format) -> Photograph {
    let Raw { width, height, samples, icc, exif, turned, mut notes } = raw;
    let tags = exif.map(|exif| tags::read(exif, &mut notes)).unwrap_or_default();
    let orientation = match turned {
        None => tags.orientation,
        Some(by_container) => {
            if tags.orientation != 1 && !by_container {
                notes.push(Note::OrientationContradicts);
            }
            1
        }
    };
    let (profile, icc) = profile::name(icc, &mut notes);
    let (width, height, samples) = turn::upright(width, height, samples, orientation);
    Photograph {
        width,
        height,
        samples,
        format,
        icc,
        profile,
        orientation,
        focal_35mm: tags.focal_35mm,
        chroma_step: None,
        notes,
    }
}

impl Photograph {
    /// The samples as 8 bits; 16-bit values are rounded to the nearest (65 535 becomes 255).
    pub fn rgb8(&self) -> Cow<'_, [u8]> {
        match &self.samples {
            Samples::Eight(v) => Cow::Borrowed(v),
            Samples::Sixteen(v) => Cow::Owned(v.iter().map(|&s| pixels::to_eight(s)).collect()),
        }
    }

    /// The picture as a JPEG file for a page: upright, its longer side at most `longest_side` pixels (never enlarged),
    /// `quality` 1 to 100. It carries the RGB colour profile, so that colours stay right, and no other metadata: no
    /// place, no time, no camera.
    ///
    /// # Errors
    /// [`DecodeErrorKind::NotWritten`] where the encoder refuses.
    pub fn jpeg(&self, longest_side: u32, quality: u8) -> Result<Vec<u8>, DecodeError> {
        page::jpeg(self, longest_side, quality)
    }
}
