//! Which format the bytes are, by their first bytes: a file's name says nothing.

use super::Format;
use crate::error::{DecodeError, DecodeErrorKind};

/// Beginnings of files a person might well choose, which are not read: each with what to call it.
const KNOWN: [(&[u8], &str); 14] = [
    (b"GIF87a", "a GIF"),
    (b"GIF89a", "a GIF"),
    (b"BM", "a BMP picture"),
    (b"II*\0", "a TIFF or a camera's raw file"),
    (b"MM\0*", "a TIFF or a camera's raw file"),
    (b"II+\0", "a TIFF or a camera's raw file"),
    (b"II\xbc\x01", "a JPEG XR picture"),
    (b"IIRO", "a camera's raw file"),
    (b"FUJIFILM", "a camera's raw file"),
    (b"%PDF", "a PDF document"),
    (b"\xff\x0a", "a JPEG XL picture"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture"),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture"),
    (b"8BPS", "a Photoshop document"),
];

/// The brands of HEIF files whose pictures are HEVC, or that may hold such (ISO/IEC 23008-12 annex B; `mif1` and
/// `msf1` say nothing about the coding).
const HEIC: [&[u8; 4]; 10] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"];

/// Recognises a format.
pub(super) fn format(bytes: &[u8]) -> Result<Format, DecodeError> {
    if bytes.starts_with(b"\xff\xd8\xff") {
        return Ok(Format::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Ok(Format::Png);
    }
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Ok(Format::WebP);
    }
    if let Some(b"ftyp") = bytes.get(4..8) {
        return isobmff(bytes);
    }
    let known = KNOWN.iter().find(|(start, _)| bytes.starts_with(start));
    // Two letters are not enough to call something a BMP: its length field must be about right too.
    let known = known.filter(|(start, _)| start.len() > 2 || bytes.len() >= 26 || *start != b"BM");
    if let Some((_, what)) = known {
        return Err(DecodeErrorKind::UnsupportedFormat(what).into());
    }
    // A file of the right kind, cut off inside its very first bytes.
    let begun: [&[u8]; 3] = [b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF"];
    if bytes.len() >= 2 && begun.iter().any(|start| start.starts_with(bytes)) {
        return Err(DecodeErrorKind::Truncated.into());
    }
    Err(DecodeErrorKind::NotAnImage.into())
}

fn isobmff(bytes: &[u8]) -> Result<Format, DecodeError> {
    let length = bytes.first_chunk::<4>().map_or(0, |b| u32::from_be_bytes(*b)) as usize;
    let (brands, _) = bytes.get(8..length.min(bytes.len()).min(1024)).unwrap_or_default().as_chunks::<4>();
    let major = brands.first();
    let has = |wanted: &[u8; 4]| brands.iter().any(|b| b == wanted);
    if major.is_some_and(|b| b == b"avif" || b == b"avis") || (has(b"avif") && !has(b"heic") && !has(b"heix")) {
        return Err(DecodeErrorKind::UnsupportedFormat("an AVIF picture").into());
    }
    if major.is_some_and(|b| b == b"crx ") {
        return Err(DecodeErrorKind::UnsupportedFormat("a camera's raw file").into());
    }
    if HEIC.iter().any(|b| has(b)) {
        return Ok(Format::Heic);
    }
    if bytes.len() < length || length < 16 {
        return Err(DecodeErrorKind::Truncated.into());
    }
    Err(DecodeErrorKind::UnsupportedFormat("a film, or a kind of picture that is not HEIC").into())
}
