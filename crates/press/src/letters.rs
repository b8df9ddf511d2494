//! Letters: the two fonts, lines of text shaped once for measuring and drawing, and where lines break.

use std::cell::RefCell;

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Face, Script, ShapePlan, UnicodeBuffer};

use crate::error::PressError;

const REGULAR: &[u8] = include_bytes!("../../../data/fonts/AtkinsonHyperlegibleNext-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../../data/fonts/AtkinsonHyperlegibleNext-Bold.ttf");

/// One font, for shaping and for drawing.
pub struct Letters {
    face: Face<'static>,
    /// How text of each kind is shaped: making this takes longer than a line of it.
    plans: RefCell<Vec<(Direction, Script, ShapePlan)>>,
    /// As it is embedded.
    pub font: Font,
}

impl Letters {
    /// The upright text font.
    pub fn regular() -> Result<Letters, PressError> {
        Letters::new(REGULAR)
    }

    /// The font of headings.
    pub fn bold() -> Result<Letters, PressError> {
        Letters::new(BOLD)
    }

    fn new(bytes: &'static [u8]) -> Result<Letters, PressError> {
        let face = Face::from_slice(bytes, 0).ok_or_else(PressError::font)?;
        let font = Font::new(bytes.into(), 0).ok_or_else(PressError::font)?;
        Ok(Letters { face, plans: RefCell::default(), font })
    }

    /// How many of the font's units an em has.
    pub fn units_per_em(&self) -> f64 {
        f64::from(self.face.units_per_em())
    }

    /// Whether the font has this letter.
    pub fn has(&self, letter: char) -> bool {
        self.face.glyph_index(letter).is_some()
    }

    /// Draws a glyph's outline in the font's own units.
    pub fn draw(&self, glyph: rustybuzz::ttf_parser::GlyphId, pen: &mut dyn rustybuzz::ttf_parser::OutlineBuilder) {
        // A blank has none.
        let _ = self.face.outline_glyph(glyph, pen);
    }

    /// A run of text as glyphs; lengths are in parts of the font's size.
    pub fn shaped(&self, text: &str) -> Result<Run, PressError> {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let em = self.face.units_per_em() as f32;
        let (direction, script) = (buffer.direction(), buffer.script());
        let mut plans = self.plans.borrow_mut();
        let known = plans.iter().position(|(d, s, _)| (*d, *s) == (direction, script)).unwrap_or_else(|| {
            plans.push((direction, script, ShapePlan::new(&self.face, direction, Some(script), None, &[])));
            plans.len() - 1
        });
        let shaped = rustybuzz::shape_with_plan(&self.face, &plans[known].2, buffer);
        let (infos, places) = (shaped.glyph_infos(), shaped.glyph_positions());
        let mut glyphs = Vec::with_capacity(infos.len());
        for (i, (info, place)) in infos.iter().zip(places).enumerate() {
            let from = info.cluster as usize;
            if info.glyph_id == 0 {
                return Err(PressError::no_letter(text[from..].chars().next().unwrap_or('\u{fffd}')));
            }
            let next = infos[i + 1..].iter().find(|other| other.cluster != info.cluster);
            let to = next.map_or(text.len(), |other| other.cluster as usize);
            let part = |units: i32| units as f32 / em;
            glyphs.push(KrillaGlyph::new(
                GlyphId::new(info.glyph_id),
                part(place.x_advance),
                part(place.x_offset),
                part(place.y_offset),
                part(place.y_advance),
                from..to,
                None,
            ));
        }
        let width = glyphs.iter().map(|g| f64::from(g.x_advance)).sum();
        Ok(Run { text: text.to_owned(), glyphs, width })
    }

    /// A paragraph as lines no wider than `width`, in parts of the font's size. A word is never broken: one that is wider
    /// than the line stands alone on it. Words joined by a no-break space (U+00A0) stay together. Each line but the last ends in a space, which a reader needs to part the words.
    pub fn lines(&self, text: &str, width: f64) -> Result<Vec<Run>, PressError> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split([' ', '\n']).filter(|w| !w.is_empty()) {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if !line.is_empty() && self.shaped(&longer)?.width > width {
                lines.push(self.shaped(&format!("{line} "))?);
                line = word.to_owned();
            } else {
                line = longer;
            }
        }
        if !line.is_empty() {
            lines.push(self.shaped(&line)?);
        }
        Ok(lines)
    }
}

/// A run of shaped text.
pub struct Run {
    /// What it says.
    pub text: String,
    /// As it is drawn.
    pub glyphs: Vec<KrillaGlyph>,
    /// In parts of the font's size.
    pub width: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_as_wide_as_they_may_be() {
        let letters = Letters::regular().expect("a font");
        let text = "Hold the card beside the cheek, in the plane of the face, and let no light glance off it.";
        let lines = letters.lines(text, 16.0).expect("lines");
        assert!(lines.len() > 2);
        let words: String = lines.iter().map(|l| l.text.as_str()).collect();
        assert_eq!(words, text);
        let space = letters.shaped(" ").expect("a space").width;
        for pair in lines.windows(2) {
            assert!(pair[0].width - space <= 16.0, "{}", pair[0].text);
            let word = pair[1].text.split(' ').next().unwrap_or_default();
            let longer = letters.shaped(&format!("{}{word}", pair[0].text)).expect("a run").width;
            assert!(longer > 16.0, "{word} would have fitted after {}", pair[0].text);
        }
        assert!(letters.lines("", 10.0).expect("nothing").is_empty());
    }

    #[test]
    fn a_letter_that_is_not_there_is_an_error() {
        let letters = Letters::bold().expect("a font");
        let error = letters.shaped("a \u{4e00}").err().map(|e| e.to_string());
        assert_eq!(error.as_deref(), Some("the font has no letter '一'"));
    }

    #[test]
    fn widths_are_those_of_the_font() {
        // The advances in the font's own table (hmtx, 1000 units an em), read with fontTools 4.68.
        for (letters, widths) in [
            (Letters::regular(), [("o", 0.548), ("a", 0.525), ("W", 0.856), ("8", 0.615)]),
            (Letters::bold(), [("o", 0.576), ("a", 0.552), ("W", 0.886), ("8", 0.624)]),
        ] {
            let letters = letters.expect("a font");
            for (letter, width) in widths {
                let got = letters.shaped(letter).expect("a run").width;
                assert!((got - width).abs() < 1e-6, "{letter}: {got}");
            }
        }
    }
}
