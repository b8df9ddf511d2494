//! What is said, with its place in the file and its time: text, WebVTT, SRT, plain timed text.

use vocab::Finding;

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
    /// Without tags, entities decoded, line breaks as spaces.
    pub text: String,
    /// For each character of `text` its offset in the file, in Unicode code points; one more for the end.
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
    /// In order.
    pub pieces: Vec<Piece>,
    /// What is odd about the file but does no harm.
    pub notes: Vec<Finding>,
}

/// A sentence, across cues where it runs on.
#[derive(Clone, Debug, PartialEq)]
pub struct Sentence {
    /// Its words, one space between them.
    pub text: String,
    /// For each character of `text` its offset in the file, in Unicode code points; one more for the end.
    pub at: Vec<usize>,
    /// For each character the time at which its cue begins, in seconds; empty in plain text.
    pub time: Vec<f64>,
    /// A new paragraph, heading or list item begins here.
    pub opens: bool,
}

/// Reads a file of any of the four kinds.
///
/// # Errors
/// A file that is none of them, or is broken: each with its line and what to do.
pub fn read(name: &str, text: &str) -> Result<Spoken, Vec<Finding>> {
    let _ = text;
    Err(vec![Finding::new(name, 0, "not read yet")])
}

impl Spoken {
    /// The sentences, in order.
    pub fn sentences(&self) -> Vec<Sentence> {
        Vec::new()
    }
}
