//! Words as outlines, for pictures that are opened where our type is not installed.

use std::fmt::Write;

use rustybuzz::ttf_parser::{GlyphId, OutlineBuilder};

use crate::error::PressError;
use crate::letters::Letters;

/// How heavy the letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Text.
    Regular,
    /// Headings.
    Bold,
}

/// The two fonts, to measure words and to draw them as path data.
pub struct Outlines {
    regular: Letters,
    bold: Letters,
}

impl Outlines {
    /// The fonts that are compiled in.
    ///
    /// # Errors
    /// A font can't be read.
    pub fn new() -> Result<Outlines, PressError> {
        Ok(Outlines { regular: Letters::regular()?, bold: Letters::bold()? })
    }

    fn letters(&self, weight: Weight) -> &Letters {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// The words with a question mark in place of each letter that the font lacks; blanks of every kind become spaces.
    pub fn legible(&self, weight: Weight, text: &str) -> String {
        let letters = self.letters(weight);
        let one = |c: char| match c {
            c if c.is_whitespace() => ' ',
            c if c.is_control() || !letters.has(c) => '?',
            c => c,
        };
        text.chars().map(one).collect()
    }

    /// How wide a line is, in parts of its size.
    ///
    /// # Errors
    /// The font lacks a letter (see [`Outlines::legible`]).
    pub fn width(&self, weight: Weight, text: &str) -> Result<f64, PressError> {
        Ok(self.letters(weight).shaped(text)?.width)
    }

    /// A line as SVG path data; its baseline begins at `at`, `size` is the em. Coordinates to a hundredth.
    ///
    /// # Errors
    /// As [`Outlines::width`].
    pub fn path(&self, weight: Weight, text: &str, at: [f64; 2], size: f64) -> Result<String, PressError> {
        let letters = self.letters(weight);
        let run = letters.shaped(text)?;
        let mut pen = Pen { out: String::new(), at, scale: size / letters.units_per_em() };
        for glyph in &run.glyphs {
            let advance = f64::from(glyph.x_advance) * size;
            let [x, y] = pen.at;
            pen.at = [x + f64::from(glyph.x_offset) * size, y - f64::from(glyph.y_offset) * size];
            if let Ok(id) = u16::try_from(glyph.glyph_id.to_u32()) {
                letters.draw(GlyphId(id), &mut pen);
            }
            pen.at = [x + advance, y];
        }
        Ok(pen.out)
    }
}

/// Writes a glyph's outline, upside down (a font's y goes up, a picture's down).
struct Pen {
    out: String,
    at: [f64; 2],
    scale: f64,
}

impl Pen {
    fn point(&self, x: f32, y: f32) -> String {
        let [dx, dy] = self.at;
        format!("{:.2} {:.2}", dx + f64::from(x) * self.scale, dy - f64::from(y) * self.scale)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.out, "M{}", self.point(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let _ = write!(self.out, "L{}", self.point(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let _ = write!(self.out, "Q{} {}", self.point(x1, y1), self.point(x, y));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let _ = write!(self.out, "C{} {} {}", self.point(x1, y1), self.point(x2, y2), self.point(x, y));
    }

    fn close(&mut self) {
        self.out.push('Z');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The corners that the numbers of path data span.
    fn bounds(path: &str) -> [f64; 4] {
        let numbers: Vec<f64> =
            path.split(|c: char| !c.is_ascii_digit() && c != '.' && c != '-').filter_map(|t| t.parse().ok()).collect();
        let mut all = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
        for pair in numbers.chunks_exact(2) {
            all = [all[0].min(pair[0]), all[1].min(pair[1]), all[2].max(pair[0]), all[3].max(pair[1])];
        }
        all
    }

    #[test]
    fn words_lie_where_they_are_put_and_are_as_wide_as_they_measure() {
        let outlines = Outlines::new().expect("fonts");
        for weight in [Weight::Regular, Weight::Bold] {
            let text = "Kaumuskel, beide";
            let width = outlines.width(weight, text).expect("a width") * 100.0;
            let path = outlines.path(weight, text, [40.0, 200.0], 100.0).expect("a path");
            let [left, top, right, bottom] = bounds(&path);
            assert!((40.0..52.0).contains(&left), "{left}");
            assert!(right <= 40.0 + width && right > 40.0 + width - 12.0, "{right} of {width}");
            // Above the line as high as a capital, below it a comma's tail.
            assert!((120.0..140.0).contains(&top) && (205.0..230.0).contains(&bottom), "{top} {bottom}");
            assert_eq!(path, outlines.path(weight, text, [40.0, 200.0], 100.0).expect("again"));
        }
        assert_eq!(outlines.path(Weight::Bold, " ", [0.0, 0.0], 10.0).expect("blank"), "");
    }

    #[test]
    fn what_the_font_lacks_is_a_question_mark() {
        let outlines = Outlines::new().expect("fonts");
        assert_eq!(outlines.legible(Weight::Bold, "Jaw\u{a0}\u{4e00}\n\u{7}ß"), "Jaw ? ?ß");
        assert!(outlines.width(Weight::Bold, "\u{4e00}").is_err());
    }
}
