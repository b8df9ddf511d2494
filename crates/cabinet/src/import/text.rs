//! Bytes of a file to text: UTF-8, UTF-16 with a mark, or, when it is neither, Windows-1252 with a word about it.

use super::{MOST_IMPORT_BYTES, Reading};

/// Windows-1252 where it differs from Latin-1, from 0x80 (Unicode Consortium, CP1252.TXT); 0: not used.
const WINDOWS: [u16; 32] = [
    0x20ac, 0, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160, 0x2039, 0x0152, 0, 0x017d, 0, 0,
    0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0, 0x017e, 0x0178,
];

/// The text, or `None` with a problem that says why not.
pub fn text_of(bytes: &[u8], reading: &mut Reading) -> Option<String> {
    if bytes.len() > MOST_IMPORT_BYTES {
        let most = MOST_IMPORT_BYTES / (1024 * 1024);
        reading.left_out(0, format!("the file is larger than {most} MB: split it into several files"), "");
        return None;
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        let little = bytes[0] == 0xff;
        let units = bytes[2..].chunks(2).map(|pair| match (pair, little) {
            ([a, b], true) => u16::from_le_bytes([*a, *b]),
            ([a, b], false) => u16::from_be_bytes([*a, *b]),
            _ => 0xfffd,
        });
        let text: Result<String, _> = char::decode_utf16(units).collect();
        return match text {
            Ok(text) => Some(text),
            Err(_) => {
                reading.left_out(0, "the file says it is UTF-16 and is not: save it again as UTF-8", "");
                None
            }
        };
    }
    let bytes = bytes.strip_prefix(&[0xef, 0xbb, 0xbf]).unwrap_or(bytes);
    if let Ok(text) = std::str::from_utf8(bytes) {
        if text.contains('\0') {
            reading.left_out(0, "the file is no text: choose a CSV or vCard file", "");
            return None;
        }
        return Some(text.to_owned());
    }
    if bytes.contains(&0) {
        reading.left_out(0, "the file is no text: choose a CSV or vCard file", "");
        return None;
    }
    let message = "the file is not UTF-8; it was read as Windows-1252, as old spreadsheets write. If letters with marks look \
                   wrong, save it again as UTF-8";
    reading.otherwise(0, message, "");
    Some(bytes.iter().map(|b| windows(*b)).collect())
}

fn windows(byte: u8) -> char {
    let code = match byte {
        0x80..=0x9f => u32::from(WINDOWS[usize::from(byte - 0x80)]),
        _ => u32::from(byte),
    };
    char::from_u32(code).filter(|c| *c != '\0').unwrap_or('\u{fffd}')
}
