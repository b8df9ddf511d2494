//! Bytes into text, or why not; and which texts are no captions and no plain text at all.

use vocab::Finding;

/// The largest file that is read, in bytes: some forty hours of captions.
pub const MOST_BYTES: usize = 4 * 1024 * 1024;

/// Kinds of files that people bring by mistake, by how they begin.
const OTHERS: &[(&[u8], &str)] = &[
    (b"%PDF", "this is a PDF: copy its text into a file of its own"),
    (
        b"PK\x03\x04",
        "this is a packed file (Word and Pages documents are such): save it as plain text, or copy its text",
    ),
    (b"\xd0\xcf\x11\xe0", "this is a Word document: save it as plain text, or copy its text"),
    (b"\x1f\x8b", "this is a packed file: unpack it first"),
    (b"\x89PNG", "this is a picture: type its words into a text file"),
    (b"\xff\xd8\xff", "this is a picture: type its words into a text file"),
    (b"RIFF", "this is sound or a video: bring its captions as WebVTT or SRT"),
    (b"\x1aE\xdf\xa3", "this is a video: bring its captions as WebVTT or SRT"),
    (b"OggS", "this is sound or a video: bring its captions as WebVTT or SRT"),
    (b"ID3", "this is sound: bring its captions as WebVTT or SRT"),
];

/// The text of a file.
///
/// # Errors
/// Too large, of another encoding than UTF-8, or no text: with the line where there is one, and what to do.
pub fn decode(name: &str, bytes: &[u8]) -> Result<String, Vec<Finding>> {
    let refuse = |line: usize, message: String| Err(vec![Finding::new(name, line, message)]);
    if let Some((_, what)) = OTHERS.iter().find(|(begins, _)| bytes.starts_with(begins)) {
        return refuse(0, (*what).to_owned());
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return refuse(0, String::from("this is a video: bring its captions as WebVTT or SRT"));
    }
    if bytes.len() > MOST_BYTES {
        return refuse(0, too_large());
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return refuse(0, String::from("the text is encoded as UTF-16: save it as UTF-8"));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.to_owned()),
        Err(error) => {
            let line = bytes[..error.valid_up_to()].iter().filter(|b| **b == b'\n').count() + 1;
            let binary = bytes.iter().take(4096).any(|b| *b == 0);
            if binary {
                return refuse(0, String::from(BINARY));
            }
            refuse(
                line,
                String::from(
                    "this line is not encoded as UTF-8 (often it is Windows-1252 or Latin-1): save the file as UTF-8",
                ),
            )
        }
    }
}

const BINARY: &str = "this is no text file: bring a text, WebVTT or SRT file, saved as UTF-8";

fn too_large() -> String {
    format!("the file is larger than {MOST_BYTES} bytes, more than forty hours of captions: bring it in parts")
}

/// Refuses texts of kinds that would be read as something they are not.
pub fn refuse(name: &str, text: &str) -> Result<(), Vec<Finding>> {
    let refuse = |line: usize, message: String| Err(vec![Finding::new(name, line, message)]);
    if text.len() > MOST_BYTES {
        return refuse(0, too_large());
    }
    if let Some(at) = text.find('\0') {
        return refuse(text[..at].matches('\n').count() + 1, String::from(BINARY));
    }
    let begins: String =
        text.trim_start_matches('\u{feff}').trim_start().chars().take(24).collect::<String>().to_lowercase();
    let what = if begins.starts_with("{\\rtf") {
        "this is a rich text file: save it as plain text"
    } else if begins.starts_with("[script info]") {
        "these are captions in the form of SubStation Alpha: save them as WebVTT or SRT"
    } else if begins.starts_with("<?xml") || begins.starts_with("<tt ") || begins.starts_with("<tt>") {
        "these are captions or a document in XML (TTML, for one): save them as WebVTT or SRT"
    } else if begins.starts_with("<!doctype html") || begins.starts_with("<html") {
        "this is a web page: copy its text into a file of its own"
    } else {
        return Ok(());
    };
    refuse(1, what.to_owned())
}

/// The beginning of a line, in quotes, for a message.
pub fn shown(chars: &[char]) -> String {
    let clean = |c: &char| if c.is_control() { ' ' } else { *c };
    let mut said: String = chars.iter().take(60).map(clean).collect();
    if chars.len() > 60 {
        said.push('\u{2026}');
    }
    format!("\u{201c}{}\u{201d}", said.trim())
}
