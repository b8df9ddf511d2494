//! PNG: the chunks are walked here for what the decoder does not tell (EXIF after the pixels, colour hints, animation);
//! the pixels are `image`'s.

use std::io::Cursor;

use image::ImageDecoder;
use image::codecs::png::PngDecoder;

use super::pixels::{Icc, Raw, error, guarded, push, rgb};
use super::{Limits, Note};
use crate::error::{DecodeError, DecodeErrorKind};

/// What the decoder may take beside the pixels: rows, text, and the unpacked profile. A row at the longest side is
/// 30 000 x 8 bytes; real profiles are below 4 MB.
const BESIDE: u64 = 32 << 20;

/// Reads a PNG.
pub(super) fn read(bytes: &[u8], limits: &Limits) -> Result<Raw, DecodeError> {
    let chunks = walk(bytes, limits)?;
    let mut notes = Vec::new();
    if chunks.animated {
        push(&mut notes, Note::Animated);
    }
    let mut icc = Icc::None;
    let samples = guarded(|| {
        let mut bounds = image::Limits::no_limits();
        bounds.max_alloc = Some(BESIDE);
        let mut decoder = PngDecoder::with_limits(Cursor::new(bytes), bounds).map_err(error)?;
        if decoder.dimensions() != (chunks.width, chunks.height) {
            return Err(DecodeError::broken("two sizes in one PNG"));
        }
        icc = match decoder.icc_profile().map_err(error)? {
            Some(profile) => Icc::Whole(profile),
            None if chunks.profile => Icc::Broken,
            None => Icc::None,
        };
        rgb(decoder, &mut notes)
    })?;
    if chunks.hint && matches!(icc, Icc::None) {
        push(&mut notes, Note::ColourHintUnused);
    }
    Ok(Raw { width: chunks.width, height: chunks.height, samples, icc, exif: chunks.exif, turned: None, notes })
}

struct Chunks {
    width: u32,
    height: u32,
    profile: bool,
    hint: bool,
    animated: bool,
    exif: Option<Vec<u8>>,
}

/// Walks the chunks as far as they go; whether the pixels are complete is the decoder's to say.
fn walk(bytes: &[u8], limits: &Limits) -> Result<Chunks, DecodeError> {
    let head = bytes.get(8..).and_then(|b| b.first_chunk::<16>()).ok_or(DecodeErrorKind::Truncated)?;
    let [_, _, _, _, b'I', b'H', b'D', b'R', w3, w2, w1, w0, h3, h2, h1, h0] = *head else {
        return Err(DecodeError::broken("a PNG that does not begin with its header"));
    };
    let (width, height) = (u32::from_be_bytes([w3, w2, w1, w0]), u32::from_be_bytes([h3, h2, h1, h0]));
    limits.allow(width, height)?;
    let mut found = Chunks { width, height, profile: false, hint: false, animated: false, exif: None };
    let mut srgb = false;
    let mut rest = &bytes[8..];
    while let Some((length, after)) = rest.split_first_chunk::<4>() {
        let length = u32::from_be_bytes(*length) as usize;
        let Some((kind, after)) = after.split_first_chunk::<4>() else { break };
        // Four bytes of checksum follow the body.
        let (Some(body), Some(next)) = (after.get(..length), after.get(length.saturating_add(4)..)) else { break };
        match kind {
            b"iCCP" => found.profile = true,
            b"sRGB" => srgb = true,
            // Primaries 1 with transfer 13 is sRGB (ITU-T H.273).
            b"cICP" if body.starts_with(&[1, 13]) => srgb = true,
            b"cICP" => found.hint = true,
            // 1/2.2 is what software writes beside or instead of sRGB.
            b"gAMA" => found.hint |= body != 45_455u32.to_be_bytes(),
            b"cHRM" => found.hint |= !is_srgb(body),
            b"acTL" => found.animated = true,
            b"eXIf" if found.exif.is_none() => found.exif = Some(body.to_vec()),
            b"IEND" => break,
            _ => {}
        }
        rest = next;
    }
    found.hint &= !srgb;
    Ok(found)
}

/// Whether a `cHRM` body is sRGB's white and primaries, in 1/100 000 (IEC 61966-2-1; PNG, 11.3.2.1).
fn is_srgb(body: &[u8]) -> bool {
    const SRGB: [u32; 8] = [31_270, 32_900, 64_000, 33_000, 30_000, 60_000, 15_000, 6_000];
    let (values, _) = body.as_chunks::<4>();
    values.len() == 8 && values.iter().zip(SRGB).all(|(v, s)| u32::from_be_bytes(*v).abs_diff(s) <= 10)
}
