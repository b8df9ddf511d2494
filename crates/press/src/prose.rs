//! Prose in two weights: pieces of bold and regular text as lines.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::error::PressError;
use crate::letters::{Letters, Run};

/// The two fonts.
pub struct Fonts {
    /// Of text.
    pub regular: Letters,
    /// Of headings and of what stands out.
    pub bold: Letters,
    /// Widths of words measured before: a guide is set several times until it fits.
    widths: RefCell<BTreeMap<(bool, String), f64>>,
}

impl Fonts {
    /// The fonts compiled in.
    pub fn new() -> Result<Fonts, PressError> {
        Ok(Fonts { regular: Letters::regular()?, bold: Letters::bold()?, widths: RefCell::default() })
    }

    /// The width of a word, in parts of the font's size.
    fn width(&self, bold: bool, word: &str) -> Result<f64, PressError> {
        let key = (bold, word.to_owned());
        if let Some(known) = self.widths.borrow().get(&key) {
            return Ok(*known);
        }
        let width = self.of(bold).shaped(word)?.width;
        self.widths.borrow_mut().insert(key, width);
        Ok(width)
    }

    /// One of them.
    pub fn of(&self, bold: bool) -> &Letters {
        if bold { &self.bold } else { &self.regular }
    }
}

/// A piece of text in one weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Whether it stands out.
    pub bold: bool,
    /// What it says.
    pub text: String,
}

impl Piece {
    /// Regular text.
    pub fn plain(text: impl Into<String>) -> Piece {
        Piece { bold: false, text: text.into() }
    }

    /// Text that stands out.
    pub fn bold(text: impl Into<String>) -> Piece {
        Piece { bold: true, text: text.into() }
    }
}

/// A line: runs one after another.
pub type Line = Vec<(bool, Run)>;

/// Pieces as lines no wider than `width`, in parts of the font's size; between two pieces lies a space. A word is broken only where it is
/// wider than a line. Each line but the last ends in a space, which a reader needs to part the words.
pub fn lines(fonts: &Fonts, pieces: &[Piece], width: f64) -> Result<Vec<Line>, PressError> {
    let mut words: Vec<(bool, String, f64)> = Vec::new();
    for piece in pieces {
        for word in piece.text.split([' ', '\n', '\t']).filter(|w| !w.is_empty()) {
            for part in fitting(fonts, piece.bold, word, width)? {
                words.push((piece.bold, part.0, part.1));
            }
        }
    }
    let space = fonts.width(false, " ")?;
    let mut lines: Vec<Vec<(bool, String)>> = Vec::new();
    let mut long = 0.0;
    for (bold, word, wide) in words {
        let after = long + space + wide;
        match lines.last_mut().filter(|_| after <= width) {
            Some(line) => {
                long = after;
                match line.last_mut().filter(|(b, _)| *b == bold) {
                    Some((_, text)) => {
                        text.push(' ');
                        text.push_str(&word);
                    }
                    None => {
                        // The space belongs to what went before.
                        if let Some((_, text)) = line.last_mut() {
                            text.push(' ');
                        }
                        line.push((bold, word));
                    }
                }
            }
            None => {
                if let Some((_, text)) = lines.last_mut().and_then(|l| l.last_mut()) {
                    text.push(' ');
                }
                lines.push(vec![(bold, word)]);
                long = wide;
            }
        }
    }
    let shaped = |line: Vec<(bool, String)>| {
        line.into_iter().map(|(bold, text)| Ok((bold, fonts.of(bold).shaped(&text)?))).collect::<Result<Line, _>>()
    };
    lines.into_iter().map(shaped).collect()
}

/// A word, or its parts where it is wider than a line, with their widths.
fn fitting(fonts: &Fonts, bold: bool, word: &str, width: f64) -> Result<Vec<(String, f64)>, PressError> {
    let whole = fonts.width(bold, word)?;
    let letters = fonts.of(bold);
    if whole <= width {
        return Ok(vec![(word.to_owned(), whole)]);
    }
    let mut parts: Vec<(String, f64)> = Vec::new();
    for letter in word.chars() {
        let longer = parts.last().map_or(String::new(), |(part, _)| part.clone()) + letter.encode_utf8(&mut [0; 4]);
        let wide = letters.shaped(&longer)?.width;
        match parts.last_mut().filter(|_| wide <= width) {
            Some(part) => *part = (longer, wide),
            None => {
                let alone = letter.to_string();
                let wide = letters.shaped(&alone)?.width;
                parts.push((alone, wide));
            }
        }
    }
    Ok(parts)
}

/// A text with a question mark in place of each letter that the fonts lack; those letters are added to `missing`, each once.
pub fn writable(fonts: &Fonts, text: &str, missing: &mut Vec<char>) -> String {
    let has = |c: char| {
        let one = c.to_string();
        c.is_whitespace() || (fonts.regular.shaped(&one).is_ok() && fonts.bold.shaped(&one).is_ok())
    };
    let one = |c: char| {
        if has(c) {
            return c;
        }
        if !missing.contains(&c) {
            missing.push(c);
        }
        '?'
    };
    text.chars().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(lines: &[Line]) -> String {
        lines.iter().flatten().map(|(_, run)| run.text.as_str()).collect()
    }

    #[test]
    fn two_weights_make_lines_that_say_the_same() {
        let fonts = Fonts::new().expect("fonts");
        let pieces =
            [Piece::bold("Mind:"), Piece::plain("never press on the eye, and let the skin move with the hand.")];
        for width in [8.0, 12.0, 40.0] {
            let made = lines(&fonts, &pieces, width).expect("lines");
            assert_eq!(said(&made), "Mind: never press on the eye, and let the skin move with the hand.");
            assert!(made[0][0].0 && (width < 12.0 || !made[0][1].0));
            for line in &made {
                let wide: f64 = line.iter().map(|(_, run)| run.width).sum();
                assert!(wide <= width + 0.3, "{wide} of {width}");
            }
        }
        assert!(lines(&fonts, &[], 10.0).expect("nothing").is_empty());
    }

    #[test]
    fn a_word_wider_than_a_line_is_broken_and_none_is_lost() {
        let fonts = Fonts::new().expect("fonts");
        let word = "W".repeat(50);
        let made = lines(&fonts, &[Piece::plain(format!("a {word} b"))], 9.0).expect("lines");
        assert!(made.len() > 5);
        assert_eq!(said(&made).replace(' ', ""), format!("a{word}b"));
        assert!(made.iter().all(|l| l.iter().map(|(_, r)| r.width).sum::<f64>() <= 9.3));
    }

    #[test]
    fn letters_that_are_not_there_are_told() {
        let fonts = Fonts::new().expect("fonts");
        let mut missing = Vec::new();
        assert_eq!(writable(&fonts, "Müde 😴 漢 漢", &mut missing), "Müde ? ? ?");
        assert_eq!(missing, ['😴', '漢']);
    }
}
