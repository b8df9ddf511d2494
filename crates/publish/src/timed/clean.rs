//! Characters into clean text: tags out, entities decoded, blanks as one space, each with its place.

use super::Piece;
use super::rows::Row;

/// What marks may stand in the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marks {
    /// None: every character is meant.
    None,
    /// WebVTT: whatever follows `<` up to `>` is a tag; entities.
    WebVtt,
    /// SRT: tags that begin with a letter or a slash, `{\an8}`, entities.
    Srt,
}

/// A piece while it is being put together.
#[derive(Default)]
pub struct Clean {
    text: String,
    at: Vec<usize>,
    end: usize,
    space: Option<usize>,
}

impl Clean {
    /// One character that stands at `at` and ends at `end`.
    fn push(&mut self, c: char, at: usize, end: usize) {
        // A byte order mark is neither: it counts as nothing, as the other marks that nobody sees.
        if unseen(c) {
            return;
        }
        if c.is_whitespace() || c.is_control() {
            if !self.text.is_empty() && self.space.is_none() {
                self.space = Some(at);
            }
            return;
        }
        if let Some(space) = self.space.take() {
            self.text.push(' ');
            self.at.push(space);
        }
        self.text.push(c);
        self.at.push(at);
        self.end = end;
    }

    /// One line, and the line break after it.
    pub fn row(&mut self, row: &Row<'_>, marks: Marks) {
        let chars = row.chars;
        let mut i = 0;
        while i < chars.len() {
            let at = row.at + i;
            if let Some(n) = tag(&chars[i..], marks) {
                i += n;
            } else if let Some((c, n)) = entity(&chars[i..]).filter(|_| marks != Marks::None) {
                self.push(c, at, at + n);
                i += n;
            } else {
                self.push(chars[i], at, at + 1);
                i += 1;
            }
        }
        self.push('\n', row.at + chars.len(), row.at + chars.len());
    }

    /// The piece; nothing where no character was seen.
    pub fn done(self, from: Option<f64>, to: Option<f64>) -> Option<Piece> {
        let Clean { text, mut at, end, .. } = self;
        if text.is_empty() {
            return None;
        }
        at.push(end);
        Some(Piece { text, at, from, to })
    }
}

/// Marks of width nought, directions and soft hyphens: nobody sees them, and a word with one in it is the same word.
fn unseen(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// How many characters the tag at the beginning has.
fn tag(chars: &[char], marks: Marks) -> Option<usize> {
    // A line without an end is not searched to its end again and again.
    let until = |end: char| chars.iter().take(400).position(|c| *c == end).map(|n| n + 1);
    match (marks, chars.first()?) {
        (Marks::WebVtt, '<') => until('>').or_else(|| (!chars.get(1)?.is_whitespace()).then_some(chars.len().min(400))),
        (Marks::Srt, '<') => chars.get(1).filter(|c| c.is_ascii_alphabetic() || **c == '/').and_then(|_| until('>')),
        (Marks::Srt, '{') => chars.get(1).filter(|c| **c == '\\').and_then(|_| until('}')),
        _ => None,
    }
}

/// The names that captions use (HTML, named character references).
const NAMED: &[(&str, char)] = &[
    ("amp", '&'),
    ("lt", '<'),
    ("gt", '>'),
    ("nbsp", '\u{a0}'),
    ("lrm", '\u{200e}'),
    ("rlm", '\u{200f}'),
    ("quot", '"'),
    ("apos", '\''),
    ("hellip", '\u{2026}'),
    ("mdash", '\u{2014}'),
    ("ndash", '\u{2013}'),
    ("lsquo", '\u{2018}'),
    ("rsquo", '\u{2019}'),
    ("ldquo", '\u{201c}'),
    ("rdquo", '\u{201d}'),
    ("shy", '\u{ad}'),
    ("eacute", '\u{e9}'),
    ("auml", '\u{e4}'),
    ("ouml", '\u{f6}'),
    ("uuml", '\u{fc}'),
    ("szlig", '\u{df}'),
];

/// The character that an entity at the beginning stands for, and how many characters it has.
fn entity(chars: &[char]) -> Option<(char, usize)> {
    if chars.first() != Some(&'&') {
        return None;
    }
    let end = chars.iter().take(10).position(|c| *c == ';')?;
    let name: String = chars[1..end].iter().collect();
    let c = match name.strip_prefix('#') {
        None => NAMED.iter().find(|(n, _)| *n == name)?.1,
        Some(number) => {
            let code = match number.strip_prefix(['x', 'X']) {
                Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                None => number.parse().ok()?,
            };
            char::from_u32(code).filter(|c| *c != '\0')?
        }
    };
    Some((c, end + 1))
}
