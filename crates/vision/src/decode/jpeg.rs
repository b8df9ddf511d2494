//! JPEG: the segments are walked here for the size, the colour profile, EXIF, and the end of the picture; the pixels
//! are `image`'s, whose decoder makes up what is missing and says nothing. So the coded data is walked as well, at the
//! same time, by [`entropy`]: a picture damaged in its middle is refused like one that was cut short.

mod entropy;

use std::io::Cursor;

use image::codecs::jpeg::JpegDecoder;

use super::pixels::{Icc, Raw, guarded, push, rgb};
use super::{Limits, Note, Samples};
use crate::error::{DecodeError, DecodeErrorKind};

/// Reads a JPEG.
pub(super) fn read(bytes: &[u8], limits: &Limits) -> Result<Raw, DecodeError> {
    let walk = walk(bytes, limits)?;
    let mut notes = Vec::new();
    match walk.components {
        1 => push(&mut notes, Note::Greyscale),
        4 => push(&mut notes, Note::Cmyk),
        _ => {}
    }
    let check = || guarded(|| entropy::check(bytes));
    let samples = std::thread::scope(|scope| {
        // Where no thread is to be had, one after the other.
        let beside = std::thread::Builder::new().spawn_scoped(scope, check);
        let samples = pixels(bytes, &walk, &mut notes);
        let whole = match beside {
            Ok(thread) => thread.join().unwrap_or_else(|_| Err(DecodeErrorKind::Panicked.into())),
            Err(_) => check(),
        };
        // What the decoder does not read at all, it says best.
        let samples = samples?;
        whole.map(|()| samples)
    })?;
    Ok(Raw {
        width: walk.width,
        height: walk.height,
        samples,
        icc: walk.icc.join(),
        exif: walk.exif,
        turned: None,
        notes,
    })
}

fn pixels(bytes: &[u8], walk: &Walk, notes: &mut Vec<Note>) -> Result<Samples, DecodeError> {
    guarded(|| {
        let decoder = JpegDecoder::new(Cursor::new(bytes)).map_err(super::pixels::error)?;
        let declared = image::ImageDecoder::dimensions(&decoder);
        if declared != (walk.width, walk.height) {
            return Err(DecodeError::broken("two sizes in one JPEG"));
        }
        rgb(decoder, notes)
    })
}

struct Walk {
    width: u32,
    height: u32,
    components: u8,
    icc: Parts,
    exif: Option<Vec<u8>>,
}

/// The numbered parts of a profile (ICC.1:2022, B.4): `ICC_PROFILE\0`, number from 1, count, bytes.
#[derive(Default)]
struct Parts(Vec<(u8, u8, Vec<u8>)>);

impl Parts {
    fn join(mut self) -> Icc {
        if self.0.is_empty() {
            return Icc::None;
        }
        self.0.sort_by_key(|part| part.0);
        let count = self.0.len();
        let whole =
            self.0.iter().enumerate().all(|(i, (n, of, _))| usize::from(*n) == i + 1 && usize::from(*of) == count);
        if whole { Icc::Whole(self.0.into_iter().flat_map(|part| part.2).collect()) } else { Icc::Broken }
    }
}

/// Walks from the start to the end-of-image marker.
fn walk(bytes: &[u8], limits: &Limits) -> Result<Walk, DecodeError> {
    let cut = || DecodeError::from(DecodeErrorKind::Truncated);
    let mut size = None;
    let mut icc = Parts::default();
    let mut exif = None;
    let mut scanned = false;
    let mut at = 2;
    loop {
        // The next marker: cameras may leave fill bytes, and inside a scan everything up to it is coded data, in which
        // 0xFF is followed by 0 or by a restart marker.
        let marker = loop {
            let found = bytes.get(at..).and_then(|rest| rest.iter().position(|&b| b == 0xff)).ok_or_else(cut)?;
            at += found + 1;
            match *bytes.get(at).ok_or_else(cut)? {
                0x00 | 0x01 | 0xd0..=0xd7 => at += 1,
                0xff => {}
                marker => {
                    at += 1;
                    break marker;
                }
            }
        };
        match marker {
            0xd9 if scanned => break,
            0xd9 => return Err(DecodeError::broken("a JPEG that ends before its picture")),
            0xd8 => continue,
            _ => {}
        }
        let length = bytes.get(at..).and_then(|b| b.first_chunk::<2>()).ok_or_else(cut)?;
        let length = usize::from(u16::from_be_bytes(*length));
        let body = at + 2..at + length;
        if length < 2 {
            return Err(DecodeError::broken("a JPEG segment without length"));
        }
        let body = bytes.get(body).ok_or_else(cut)?;
        at += length;
        match marker {
            // Start of frame, all codings; C4, C8 and CC are tables.
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                let [_, h1, h0, w1, w0, components, ..] = *body else {
                    return Err(DecodeError::broken("a short JPEG frame header"));
                };
                let (width, height) = (u16::from_be_bytes([w1, w0]).into(), u16::from_be_bytes([h1, h0]).into());
                limits.allow(width, height)?;
                size.get_or_insert((width, height, components));
            }
            0xda => scanned = true,
            0xe1 if exif.is_none() && body.starts_with(b"Exif\0") => exif = Some(body.get(6..).unwrap_or(&[]).to_vec()),
            0xe2 => {
                if let Some([number, count, part @ ..]) = body.strip_prefix(b"ICC_PROFILE\0") {
                    icc.0.push((*number, *count, part.to_vec()));
                }
            }
            _ => {}
        }
    }
    let (width, height, components) = size.ok_or_else(|| DecodeError::broken("a JPEG without a frame header"))?;
    Ok(Walk { width, height, components, icc, exif })
}
