//! Large words fitted to a column: as large as they may be, in as few lines as they need, never cut off.

use std::fmt::Write;

use press::PressError;
use press::outline::{Outlines, Weight};

/// One thing that is said.
pub struct Line<'a> {
    /// The words; nothing where there is none.
    pub text: &'a str,
    /// How heavy.
    pub weight: Weight,
    /// Whether in the softer colour.
    pub soft: bool,
    /// The largest and the smallest size in pixels.
    pub sizes: (u32, u32),
    /// In at most so many lines, down to the smallest size; then in as many as there must be.
    pub lines: usize,
    /// Whether the step's mark stands before it.
    pub mark: bool,
}

/// A line as it stands: where its baseline begins, within the block.
struct Set {
    text: String,
    weight: Weight,
    soft: bool,
    size: f64,
    at: [f64; 2],
}

/// All of it.
pub struct Block {
    set: Vec<Set>,
    /// As wide as the column.
    pub width: f64,
    /// From the top of the first line to the foot of the last.
    pub height: f64,
    /// Where the mark stands, from the block's top.
    pub mark_top: f64,
    /// Its width and height.
    pub mark_size: f64,
}

/// From a line's top to its baseline, to its foot, and to the next line's top, in parts of its size.
const RISE: f64 = 0.78;
const FOOT: f64 = 1.02;
const NEXT: f64 = 1.1;
/// Between two things that are said, in pixels.
const GAP: f64 = 30.0;

impl Block {
    /// Fits the words.
    ///
    /// # Errors
    /// A font can't be read.
    pub fn fitted(outlines: &Outlines, lines: &[Line<'_>], width: f64) -> Result<Block, PressError> {
        let mut block = Block { set: Vec::new(), width, height: 0.0, mark_top: 0.0, mark_size: 0.0 };
        let mut y = 0.0;
        for line in lines {
            let said = outlines.legible(line.weight, line.text);
            if said.trim().is_empty() {
                continue;
            }
            if y > 0.0 {
                y += GAP;
            }
            let room = |size: f64| if line.mark { width - 1.9 * size } else { width };
            let (size, rows) = fit(outlines, line, &said, &room)?;
            if line.mark {
                block.mark_size = 1.6 * size;
                block.mark_top = y + (FOOT * size - block.mark_size) / 2.0;
            }
            let x = width - room(size);
            for (i, text) in rows.into_iter().enumerate() {
                if i > 0 {
                    y += NEXT * size;
                }
                block.set.push(Set { text, weight: line.weight, soft: line.soft, size, at: [x, y + RISE * size] });
            }
            y += FOOT * size;
        }
        block.height = y;
        Ok(block)
    }

    /// Draws it; `colours`: of words and of softer words.
    ///
    /// # Errors
    /// A font can't be read.
    pub fn draw(
        &self,
        outlines: &Outlines,
        [x, y]: [f64; 2],
        [ink, soft]: [&str; 2],
        out: &mut String,
    ) -> Result<(), PressError> {
        for line in &self.set {
            let path = outlines.path(line.weight, &line.text, [x + line.at[0], y + line.at[1]], line.size)?;
            let _ = write!(out, "<path d=\"{path}\" fill=\"{}\"/>", if line.soft { soft } else { ink });
        }
        Ok(())
    }

    /// The rectangle of each line (left, top, right, foot), within the block.
    #[cfg(test)]
    pub fn boxes(&self, outlines: &Outlines) -> Vec<(String, [f64; 4])> {
        let one = |line: &Set| {
            let long = outlines.width(line.weight, &line.text).expect("a width") * line.size;
            let [x, y] = line.at;
            (line.text.clone(), [x, y - RISE * line.size, x + long, y + (FOOT - RISE) * line.size])
        };
        self.set.iter().map(one).collect()
    }
}

/// The largest size at which the words stand in their lines, and the lines.
fn fit(
    outlines: &Outlines,
    line: &Line<'_>,
    said: &str,
    room: &dyn Fn(f64) -> f64,
) -> Result<(f64, Vec<String>), PressError> {
    let (most, least) = line.sizes;
    for size in (least..=most).rev().step_by(2).map(f64::from) {
        let rows = broken(outlines, line.weight, said, room(size) / size, false)?;
        if rows.len() <= line.lines && all_within(outlines, line.weight, &rows, room(size) / size)? {
            return Ok((size, rows));
        }
    }
    let size = f64::from(least);
    Ok((size, broken(outlines, line.weight, said, room(size) / size, true)?))
}

fn all_within(outlines: &Outlines, weight: Weight, rows: &[String], width: f64) -> Result<bool, PressError> {
    for row in rows {
        if outlines.width(weight, row)? > width {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Lines no wider than `width`, in parts of the size; a word that is wider stands alone, or is taken apart where it must be.
fn broken(outlines: &Outlines, weight: Weight, said: &str, width: f64, apart: bool) -> Result<Vec<String>, PressError> {
    let mut rows: Vec<String> = Vec::new();
    let mut row = String::new();
    for word in said.split(' ').filter(|w| !w.is_empty()) {
        let longer = if row.is_empty() { word.to_owned() } else { format!("{row} {word}") };
        if outlines.width(weight, &longer)? <= width {
            row = longer;
            continue;
        }
        if !row.is_empty() {
            rows.push(std::mem::take(&mut row));
        }
        for letter in word.chars() {
            let longer = format!("{row}{letter}");
            if apart && !row.is_empty() && outlines.width(weight, &longer)? > width {
                rows.push(std::mem::take(&mut row));
            }
            row.push(letter);
        }
    }
    if !row.is_empty() {
        rows.push(row);
    }
    Ok(rows)
}
