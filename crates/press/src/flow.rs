//! What is written, in columns: blocks placed one after another, whole where they can be, never cut off.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::error::PressError;
use crate::prose::{Fonts, Line, Piece, lines};
use crate::sheet::POINTS;
use crate::vector::Picture;

/// What a block is to who reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A heading of this level.
    Heading(u16),
    /// A paragraph.
    Text,
    /// An entry of the list with this number.
    Entry(usize),
}

/// A piece of what is written that stays together.
pub struct Block {
    /// What it is.
    pub role: Role,
    /// Of an entry: what stands before it.
    pub label: String,
    /// Of a step: the sign of what the hand does.
    pub mark: Option<Rc<Picture>>,
    /// What it says.
    pub paragraphs: Vec<Vec<Piece>>,
    /// What stands at the right end of its first line, and how wide that is with the air before it, in millimetres.
    pub aside: (String, f64),
    /// Height of its font, in points.
    pub points: f64,
    /// From line to line, in parts of that.
    pub leading: f64,
    /// Air above it, in millimetres; none at the top of a column.
    pub above: f64,
    /// Whether a line runs across the column above it.
    pub ruled: bool,
    /// Whether it stands on a ground of its own.
    pub panel: bool,
    /// How far its text is set in, in millimetres.
    pub indent: f64,
    /// The least height, in millimetres.
    pub least: f64,
}

/// How far the text on a ground of its own keeps from the edge of it, in millimetres.
pub const INSET: f64 = 3.6;
/// Between two paragraphs of a block, in millimetres.
const BETWEEN: f64 = 0.5;

impl Block {
    /// From line to line, in millimetres.
    pub fn line_mm(&self) -> f64 {
        self.points / POINTS * self.leading
    }
}

/// A column to fill, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The page, from 0.
    pub page: usize,
    /// Its left edge.
    pub x: f64,
    /// Where it begins.
    pub top: f64,
    /// Where it ends.
    pub bottom: f64,
    /// How wide it is.
    pub width: f64,
}

/// Lines with the number of the paragraph they belong to.
pub type Lines = Rc<Vec<(usize, Line)>>;

/// A block, or a part of one, at its place.
pub struct Placed {
    /// Which block.
    pub block: usize,
    /// In which column.
    pub column: Column,
    /// Its top, air above not counted.
    pub y: f64,
    /// Its height.
    pub height: f64,
    /// What stands there.
    pub lines: Lines,
    /// Whether it goes on with what stood in the column before.
    pub goes_on: bool,
}

/// What was measured before: a block's lines at a width.
pub struct Flow<'a> {
    fonts: &'a Fonts,
    blocks: &'a [Block],
    measured: BTreeMap<(usize, u64), Lines>,
}

impl<'a> Flow<'a> {
    /// Nothing measured yet.
    pub fn new(fonts: &'a Fonts, blocks: &'a [Block]) -> Flow<'a> {
        Flow { fonts, blocks, measured: BTreeMap::new() }
    }

    fn lines(&mut self, block: usize, column: &Column) -> Result<Lines, PressError> {
        let key = (block, column.width.to_bits());
        if let Some(known) = self.measured.get(&key) {
            return Ok(Rc::clone(known));
        }
        let made = Rc::new(self.broken(block, column, &self.blocks[block].paragraphs, 0)?);
        self.measured.insert(key, Rc::clone(&made));
        Ok(made)
    }

    fn broken(
        &self,
        block: usize,
        column: &Column,
        paragraphs: &[Vec<Piece>],
        first: usize,
    ) -> Result<Vec<(usize, Line)>, PressError> {
        let block = &self.blocks[block];
        let inset = if block.panel { 2.0 * INSET } else { 0.0 };
        let width = (column.width - block.indent - inset) * POINTS / block.points;
        let mut made = Vec::new();
        let aside = block.aside.1 * POINTS / block.points;
        for (n, pieces) in paragraphs.iter().enumerate() {
            let width = if first + n == 0 { width - aside } else { width };
            made.extend(lines(self.fonts, pieces, width)?.into_iter().map(|line| (first + n, line)));
        }
        Ok(made)
    }

    fn height(&self, block: usize, lines: &[(usize, Line)], whole: bool) -> f64 {
        let gaps = lines.windows(2).filter(|pair| pair[0].0 != pair[1].0).count();
        let block = &self.blocks[block];
        let text = lines.len() as f64 * block.line_mm() + gaps as f64 * BETWEEN;
        if whole { text.max(block.least) } else { text }
    }

    /// Every block at its place in the columns that `column` gives by their number, from 0; there are always more.
    ///
    /// # Errors
    /// A font that lacks a letter; a column that holds not even one line.
    pub fn place(&mut self, column: &dyn Fn(usize) -> Column) -> Result<Vec<Placed>, PressError> {
        let mut placed: Vec<Placed> = Vec::new();
        let mut number = 0;
        let mut now = column(0);
        let mut y = now.top;
        for i in 0..self.blocks.len() {
            let mut tried = 0;
            loop {
                let fresh = y <= now.top;
                let lines = self.lines(i, &now)?;
                let height = self.height(i, &lines, true);
                let top = if fresh { y } else { y + self.blocks[i].above };
                // A heading stays with what it is the heading of.
                let mut needs = height;
                let mut next = i;
                while matches!(self.blocks[next].role, Role::Heading(_)) && next + 1 < self.blocks.len() {
                    next += 1;
                    let below = self.lines(next, &now)?;
                    needs += self.blocks[next].above + self.height(next, &below, true);
                }
                if top + needs <= now.bottom {
                    y = top + height;
                    placed.push(Placed { block: i, column: now, y: top, height, lines, goes_on: false });
                    break;
                }
                // Higher than any column that follows: it is set in parts.
                if fresh && tried > 2 {
                    let rest = self.in_parts(i, column, &mut number, &mut now, &mut placed)?;
                    y = rest;
                    break;
                }
                tried += usize::from(fresh);
                number += 1;
                now = column(number);
                y = now.top;
            }
        }
        Ok(placed)
    }

    /// A block over several columns, line by line; where the text ends in the last of them.
    fn in_parts(
        &self,
        block: usize,
        column: &dyn Fn(usize) -> Column,
        number: &mut usize,
        now: &mut Column,
        placed: &mut Vec<Placed>,
    ) -> Result<f64, PressError> {
        let mut rest: Vec<Vec<Piece>> = self.blocks[block].paragraphs.clone();
        let mut first = 0;
        let mut goes_on = false;
        loop {
            let mut lines = self.broken(block, now, &rest, first)?;
            let mut fit = lines.len();
            while fit > 0 && now.top + self.height(block, &lines[..fit], false) > now.bottom {
                fit -= 1;
            }
            if fit == 0 && !lines.is_empty() {
                return Err(PressError::too_long("a column"));
            }
            let over = lines.split_off(fit);
            let height = self.height(block, &lines, false);
            let lines = Rc::new(lines);
            placed.push(Placed { block, column: *now, y: now.top, height, lines, goes_on });
            let Some((paragraph, _)) = over.first() else { return Ok(now.top + height) };
            first = *paragraph;
            rest = Vec::new();
            for (paragraph, line) in over {
                let at = paragraph - first;
                rest.resize_with(rest.len().max(at + 1), Vec::new);
                rest[at].extend(line.into_iter().map(|(bold, run)| Piece { bold, text: run.text }));
            }
            goes_on = true;
            *number += 1;
            *now = column(*number);
        }
    }
}

/// Where the lines of a block lie: paragraph, line, and the top of each.
pub fn tops<'p>(block: &Block, placed: &'p Placed) -> impl Iterator<Item = (usize, &'p Line, f64)> {
    let leading = block.line_mm();
    let mut y = placed.y;
    let mut before = placed.lines.first().map_or(0, |l| l.0);
    placed.lines.iter().map(move |(paragraph, line)| {
        if *paragraph != before {
            y += BETWEEN;
            before = *paragraph;
        }
        let top = y;
        y += leading;
        (*paragraph, line, top)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(role: Role, words: usize) -> Block {
        let text: Vec<String> = (0..words).map(|n| format!("word{n}")).collect();
        Block {
            role,
            label: String::new(),
            mark: None,
            paragraphs: vec![vec![Piece::plain(text.join(" "))]],
            aside: Default::default(),
            points: 10.0,
            leading: 1.3,
            above: 2.0,
            ruled: false,
            panel: false,
            indent: 0.0,
            least: 0.0,
        }
    }

    fn column(n: usize) -> Column {
        Column { page: n / 2, x: n as f64, top: 20.0, bottom: 120.0, width: if n == 0 { 50.0 } else { 80.0 } }
    }

    fn said(placed: &[Placed], block: usize) -> String {
        let lines = placed.iter().filter(|p| p.block == block).flat_map(|p| p.lines.iter());
        lines.flat_map(|(_, line)| line.iter().map(|(_, run)| run.text.clone())).collect::<Vec<_>>().join("")
    }

    #[test]
    fn every_word_of_any_block_is_placed_within_its_column() {
        let fonts = Fonts::new().expect("fonts");
        let blocks: Vec<Block> = [3, 40, 900, 1, 60, 60, 60, 60, 2500, 5]
            .into_iter()
            .enumerate()
            .map(|(i, words)| block(if i % 4 == 3 { Role::Heading(2) } else { Role::Text }, words))
            .collect();
        let placed = Flow::new(&fonts, &blocks).place(&column).expect("placed");
        for (i, block) in blocks.iter().enumerate() {
            let words = |t: &str| t.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
            assert_eq!(words(&said(&placed, i)), words(&block.paragraphs[0][0].text), "block {i}");
        }
        for p in &placed {
            assert!(p.y >= p.column.top && p.y + p.height <= p.column.bottom + 1e-9, "block {}", p.block);
        }
        for pair in placed.windows(2) {
            let same = pair[0].column == pair[1].column;
            assert!(!same || pair[1].y >= pair[0].y + pair[0].height, "two blocks on each other");
        }
    }

    #[test]
    fn a_heading_is_never_the_last_of_a_column() {
        let fonts = Fonts::new().expect("fonts");
        for words in (100..240).step_by(4) {
            let blocks = [
                block(Role::Text, words),
                block(Role::Heading(2), 2),
                block(Role::Heading(3), 2),
                block(Role::Text, 30),
            ];
            let placed = Flow::new(&fonts, &blocks).place(&column).expect("placed");
            let of = |i: usize| placed.iter().find(|p| p.block == i).map(|p| p.column);
            assert_eq!(of(1), of(3), "{words} words before it");
        }
    }
}
