//! WebP: the chunks are walked here for every declared size (a small canvas may hold a huge frame), the profile and
//! EXIF; the pixels are `image`'s.

use std::io::Cursor;

use image::ImageDecoder;
use image::codecs::webp::WebPDecoder;

use super::pixels::{Icc, Raw, error, guarded, push, rgb};
use super::{Limits, Note};
use crate::error::{DecodeError, DecodeErrorKind};

/// Reads a WebP.
pub(super) fn read(bytes: &[u8], limits: &Limits) -> Result<Raw, DecodeError> {
    let mut chunks = Chunks::default();
    let declared = bytes.get(4..).and_then(|b| b.first_chunk::<4>()).ok_or(DecodeErrorKind::Truncated)?;
    let end = (u32::from_le_bytes(*declared) as usize).saturating_add(8);
    // A pad byte at the very end is sometimes left out.
    if end > bytes.len() + 1 {
        return Err(DecodeErrorKind::Truncated.into());
    }
    let body = bytes.get(12..end.min(bytes.len())).ok_or(DecodeErrorKind::Truncated)?;
    chunks.walk(body, limits, true)?;
    let mut notes = Vec::new();
    if chunks.animated {
        push(&mut notes, Note::Animated);
    }
    let (width, height, samples) = guarded(|| {
        let decoder = WebPDecoder::new(Cursor::new(bytes)).map_err(error)?;
        let (width, height) = decoder.dimensions();
        limits.allow(width, height)?;
        Ok((width, height, rgb(decoder, &mut notes)?))
    })?;
    let icc = chunks.icc.map_or(Icc::None, Icc::Whole);
    Ok(Raw { width, height, samples, icc, exif: chunks.exif, turned: None, notes })
}

#[derive(Default)]
struct Chunks {
    animated: bool,
    icc: Option<Vec<u8>>,
    exif: Option<Vec<u8>>,
}

impl Chunks {
    /// Walks RIFF chunks (RFC 9649); frames of an animation hold chunks of their own.
    fn walk(&mut self, mut rest: &[u8], limits: &Limits, outer: bool) -> Result<(), DecodeError> {
        while let Some((head, after)) = rest.split_first_chunk::<8>() {
            let [a, b, c, d, l0, l1, l2, l3] = *head;
            let length = u32::from_le_bytes([l0, l1, l2, l3]) as usize;
            let body = after.get(..length).ok_or(DecodeErrorKind::Truncated)?;
            match &[a, b, c, d] {
                b"VP8X" => {
                    if let Some([flags, _, _, _, w0, w1, w2, h0, h1, h2]) = body.first_chunk::<10>() {
                        limits.allow(u24(*w0, *w1, *w2) + 1, u24(*h0, *h1, *h2) + 1)?;
                        self.animated |= flags & 2 != 0;
                    }
                }
                b"ANMF" if outer => {
                    if let Some((frame, inner)) = body.split_first_chunk::<16>() {
                        limits.allow(u24(frame[6], frame[7], frame[8]) + 1, u24(frame[9], frame[10], frame[11]) + 1)?;
                        self.walk(inner, limits, false)?;
                    }
                }
                b"VP8 " => {
                    // RFC 6386, 9.1: three bytes of tag, three of start code, then 14 bits each.
                    if let Some([.., w0, w1, h0, h1]) = body.first_chunk::<10>() {
                        let [w, h] = [[*w0, *w1], [*h0, *h1]].map(|v| u32::from(u16::from_le_bytes(v) & 0x3fff));
                        limits.allow(w, h)?;
                    }
                }
                b"VP8L" => {
                    // RFC 9649, 3.4: one byte of signature, then 14 bits each, less one.
                    if let Some([_, b0, b1, b2, b3]) = body.first_chunk::<5>() {
                        let bits = u32::from_le_bytes([*b0, *b1, *b2, *b3]);
                        limits.allow((bits & 0x3fff) + 1, (bits >> 14 & 0x3fff) + 1)?;
                    }
                }
                b"ICCP" if self.icc.is_none() => self.icc = Some(body.to_vec()),
                b"EXIF" if self.exif.is_none() => self.exif = Some(body.to_vec()),
                _ => {}
            }
            rest = after.get(length + length % 2..).unwrap_or(&[]);
        }
        Ok(())
    }
}

fn u24(a: u8, b: u8, c: u8) -> u32 {
    u32::from_le_bytes([a, b, c, 0])
}
