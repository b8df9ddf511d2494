//! Photographs without what the camera wrote beside the picture: place, device, time, thumbnails, a film after the end.
//!
//! The picture itself is not decoded: its coded bytes stay as they were. Kept are the colour profile, and which way up it is
//! (fresh EXIF with that one field). Kinds: JPEG (ITU T.81), PNG (third edition) and WebP (RFC 9649).

/// A photograph for outside.
#[derive(Clone, PartialEq, Eq)]
pub struct Stripped {
    bytes: Vec<u8>,
    ending: &'static str,
    clean: bool,
}

impl Stripped {
    /// The file's bytes.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The ending of its name.
    pub fn ending(&self) -> &'static str {
        self.ending
    }

    /// Whether place and device are gone. If not, the bytes are as they were taken.
    pub fn is_clean(&self) -> bool {
        self.clean
    }
}

/// Takes the metadata off. What is no JPEG, PNG or WebP, or is none from end to end, comes back as it was, and says so.
pub fn without_metadata(bytes: &[u8]) -> Stripped {
    let (ending, stripped) = if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        ("jpg", jpeg(bytes))
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        ("png", png(bytes))
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        ("webp", webp(bytes))
    } else if bytes.get(4..8) == Some(b"ftyp") {
        ("heic", None)
    } else {
        ("bin", None)
    };
    let clean = stripped.is_some();
    Stripped { bytes: stripped.unwrap_or_else(|| bytes.to_vec()), ending, clean }
}

fn u16_at(bytes: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?)))
}

fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let (mut out, mut upright, mut at) = (vec![0xff, 0xd8], None, 2);
    let mut kept = Vec::new();
    loop {
        // Any number of fill bytes may stand before a marker.
        while bytes.get(at) == Some(&0xff) && bytes.get(at + 1) == Some(&0xff) {
            at += 1;
        }
        if bytes.get(at) != Some(&0xff) {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        if marker == 0xd9 {
            kept.extend([0xff, 0xd9]);
            break;
        }
        let end = at + 2 + u16_at(bytes, at + 2)?;
        let body = bytes.get(at + 4..end)?;
        match marker {
            // JFIF and Adobe say how the colours are coded, the ICC profile what they mean.
            0xe0 if body.starts_with(b"JFIF\0") => kept.extend(&bytes[at..end]),
            0xee => kept.extend(&bytes[at..end]),
            0xe2 if body.starts_with(b"ICC_PROFILE\0") => kept.extend(&bytes[at..end]),
            0xe1 if body.starts_with(b"Exif\0\0") => upright = upright.or_else(|| orientation(&body[6..])),
            0xe0..=0xef | 0xfe => {}
            _ => kept.extend(&bytes[at..end]),
        }
        at = end;
        if marker == 0xda {
            // The coded picture, up to the next marker that is no restart and no stuffed byte.
            let start = at;
            while bytes.get(at) != Some(&0xff) || matches!(bytes.get(at + 1), Some(0 | 0xd0..=0xd7 | 0xff)) {
                at += 1;
                if at >= bytes.len() {
                    return None;
                }
            }
            kept.extend(&bytes[start..at]);
        }
    }
    if let Some(way) = upright {
        out.extend([0xff, 0xe1, 0, 34]);
        out.extend(b"Exif\0\0");
        out.extend(tiff_of(way));
    }
    out.extend(kept);
    Some(out)
}

/// TIFF that says which way up and nothing else: big-endian, one directory with one entry, tag 0x0112, SHORT, one value
/// (EXIF 2.32, 4.6.4).
fn tiff_of(way: u8) -> Vec<u8> {
    [&b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0"[..], &[way, 0, 0, 0, 0, 0, 0]].concat()
}

/// Which way up, 2 to 8, from the first directory of a TIFF; 1 needs no word.
fn orientation(tiff: &[u8]) -> Option<u8> {
    let little = tiff.starts_with(b"II");
    if !little && !tiff.starts_with(b"MM") {
        return None;
    }
    let short = |at: usize| {
        let pair: [u8; 2] = tiff.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let four: [u8; 4] = tiff.get(4..8)?.try_into().ok()?;
    let start = usize::try_from(if little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) }).ok()?;
    let count = usize::from(short(start)?);
    (0..count)
        .map(|n| start.saturating_add(2 + n * 12))
        .find(|at| short(*at) == Some(0x0112))
        .and_then(|at| u8::try_from(short(at.checked_add(8)?)?).ok())
        .filter(|way| (2..=8).contains(way))
}

/// Chunks that are the picture or say what its colours mean.
const PNG_KEPT: [&[u8; 4]; 14] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"sBIT", b"cICP", b"bKGD",
    b"pHYs", b"hIST",
];

fn png(bytes: &[u8]) -> Option<Vec<u8>> {
    let (mut out, mut at) = (bytes[..8].to_vec(), 8);
    loop {
        let length = usize::try_from(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?)).ok()?;
        let kind: &[u8; 4] = bytes.get(at + 4..at + 8)?.try_into().ok()?;
        let end = at.checked_add(length)?.checked_add(12)?;
        let chunk = bytes.get(at..end)?;
        if PNG_KEPT.contains(&kind) {
            out.extend(chunk);
        }
        if let (b"eXIf", Some(way)) = (kind, orientation(&chunk[8..end - at - 4])) {
            let body = [&b"eXIf"[..], &tiff_of(way)].concat();
            out.extend((body.len() as u32 - 4).to_be_bytes());
            out.extend(&body);
            out.extend(crc(&body).to_be_bytes());
        }
        if kind == b"IEND" {
            return Some(out);
        }
        at = end;
    }
}

/// CRC-32 of a PNG chunk (PNG, annex D).
fn crc(bytes: &[u8]) -> u32 {
    let step = |c: u32, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 };
    !bytes.iter().fold(u32::MAX, |c, b| (0..8).fold(c ^ u32::from(*b), step))
}

fn webp(bytes: &[u8]) -> Option<Vec<u8>> {
    let riff = usize::try_from(u32::from_le_bytes(bytes.get(4..8)?.try_into().ok()?)).ok()?;
    let all = bytes.get(..riff.checked_add(8)?)?;
    let (mut out, mut at, mut flags, mut upright) = (all[..12].to_vec(), 12, None, None);
    while at < all.len() {
        let kind: &[u8; 4] = all.get(at..at + 4)?.try_into().ok()?;
        let length = usize::try_from(u32::from_le_bytes(all.get(at + 4..at + 8)?.try_into().ok()?)).ok()?;
        let end = at.checked_add(8)?.checked_add(length)?.checked_add(length % 2)?;
        let chunk = all.get(at..end)?;
        match kind {
            b"VP8X" => {
                let start = out.len();
                out.extend(chunk);
                // The flags for EXIF (0x08) and XMP (0x04).
                *out.get_mut(start + 8)? &= !0x0c;
                flags = Some(start + 8);
            }
            b"EXIF" => {
                let body = &chunk[8..];
                upright = orientation(body.strip_prefix(b"Exif\0\0").unwrap_or(body));
            }
            b"VP8 " | b"VP8L" | b"ALPH" | b"ICCP" | b"ANIM" | b"ANMF" => out.extend(chunk),
            _ => {}
        }
        at = end;
    }
    if let (Some(flags), Some(way)) = (flags, upright) {
        let body = tiff_of(way);
        out[flags] |= 0x08;
        out.extend(b"EXIF");
        out.extend((body.len() as u32).to_le_bytes());
        out.extend(body);
    }
    let size = u32::try_from(out.len() - 8).ok()?;
    out[4..8].copy_from_slice(&size.to_le_bytes());
    Some(out)
}
