//! What is said, with its place in the file and its time: text, WebVTT, SRT, plain timed text.
//!
//! `read` is the whole way: look which kind it is, take its pieces (cues, timed lines, paragraphs), read rolling captions once. Of the
//! pieces `Spoken::sentences` makes sentences, also where nobody set a full stop. Every character knows where it stands in the file.

mod clean;
mod clock;
mod decode;
mod english;
mod plain;
mod rolling;
mod rows;
mod sentences;
mod srt;
mod text;
mod webvtt;

use vocab::Finding;

pub use decode::{MOST_BYTES, decode};

use rows::{Notes, Row, rows};

/// What kind of file it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// No times.
    Text,
    /// WebVTT (W3C).
    WebVtt,
    /// SubRip.
    Srt,
    /// Lines that begin with a time.
    PlainTimed,
}

/// One cue, or one paragraph: its clean text, and where each of its characters stands in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Without tags, entities decoded, line breaks as spaces. Never empty, no space at either end, never two in a row.
    pub text: String,
    /// For each character of `text` its offset in the file, in Unicode code points; one more for the end. Strictly rising.
    pub at: Vec<usize>,
    /// When it begins, in seconds; none in plain text.
    pub from: Option<f64>,
    /// When it ends, in seconds, where the file says it.
    pub to: Option<f64>,
}

/// A file that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Spoken {
    /// What it is.
    pub format: Format,
    /// In the file's order; at least one.
    pub pieces: Vec<Piece>,
    /// Whether captions repeat what the one before said: the pieces hold it once, the file more often.
    pub rolling: bool,
    /// What is odd about the file but does no harm.
    pub notes: Vec<Finding>,
}

/// A sentence, across cues where it runs on.
#[derive(Clone, Debug, PartialEq)]
pub struct Sentence {
    /// Its words, one space between them.
    pub text: String,
    /// For each character of `text` its offset in the file, in Unicode code points; one more for the end. Strictly rising.
    pub at: Vec<usize>,
    /// For each character the time at which its cue begins, in seconds; empty in plain text.
    pub time: Vec<f64>,
    /// A new paragraph, heading or list item begins here.
    pub opens: bool,
}

/// Reads a file of any of the four kinds. Offsets count the Unicode code points of `text`, a byte order mark at its beginning among them.
///
/// # Errors
/// A file that is none of them, or is broken: each with its line and what to do.
pub fn read(name: &str, text: &str) -> Result<Spoken, Vec<Finding>> {
    decode::refuse(name, text)?;
    let chars: Vec<char> = text.chars().collect();
    let rows = rows(&chars);
    let mut notes = Notes::new(name);
    let format = kind(&rows);
    let pieces = match format {
        Format::WebVtt => webvtt::pieces(&rows, &mut notes)?,
        Format::Srt => srt::pieces(&rows, &mut notes)?,
        Format::PlainTimed => plain::pieces(&rows, &mut notes),
        Format::Text => text::pieces(&rows),
    };
    if format == Format::Text {
        clock::refuse_broken_arrows(name, &rows)?;
    } else {
        clock::note_order(&pieces, &mut notes);
    }
    let pieces: Vec<Piece> = pieces.into_iter().map(|(_, piece)| piece).collect();
    let letters = |pieces: &[Piece]| pieces.iter().map(|p| p.at.len()).sum::<usize>();
    let whole = letters(&pieces);
    let pieces = if format == Format::Text { pieces } else { rolling::once(pieces, &mut notes) };
    let rolling = letters(&pieces) < whole;
    if pieces.is_empty() {
        return Err(vec![Finding::new(
            name,
            0,
            "there are no words in it: write or paste what is said, or bring another file",
        )]);
    }
    Ok(Spoken { format, pieces, rolling, notes: notes.done() })
}

/// Where each line of a text begins, in code points; the line of an offset is the number of beginnings up to it.
pub fn line_beginnings(text: &str) -> Vec<usize> {
    let chars: Vec<char> = text.chars().collect();
    rows(&chars).iter().map(|row| row.at).collect()
}

/// Which kind of file these rows are.
fn kind(rows: &[Row<'_>]) -> Format {
    let first = rows.iter().find(|row| !row.is_blank());
    if first.is_some_and(webvtt::is_header) {
        return Format::WebVtt;
    }
    if let Some(cue) = rows.iter().find_map(|row| clock::cue(row.chars)) {
        return if cue.comma { Format::Srt } else { Format::WebVtt };
    }
    if plain::fits(rows) { Format::PlainTimed } else { Format::Text }
}

impl Spoken {
    /// The sentences, in order. Where nobody set full stops, as in captions that a machine made, they end at pauses, where a line
    /// begins with a capital letter, or near words that open a clause, after about 14 to 20 words.
    pub fn sentences(&self) -> Vec<Sentence> {
        sentences::of(self)
    }
}

#[cfg(test)]
mod tests;
