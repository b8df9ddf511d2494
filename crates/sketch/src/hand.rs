//! What a caller says of a step, and of the sheet.

use vocab::{Class, Movement, Pressure, Side};

use crate::{Ground, MapView};

/// What the hand does, as the sheet shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mark {
    /// A line that tapers in the stroke's direction.
    Stroke,
    /// A dot that fills with ink as its seconds pass.
    Hold,
    /// A loose spiral.
    Circles,
    /// Three short bars.
    Press,
    /// A doubled line.
    ToAndFro,
    /// A wide soft hatching.
    Palm,
    /// Two small facing arcs.
    Pinch,
    /// A drop.
    Oil,
}

impl Mark {
    /// Every mark, with its word in the atlas.
    pub const ALL: [(&'static str, Mark); 8] = [
        ("stroke", Mark::Stroke),
        ("hold", Mark::Hold),
        ("circles", Mark::Circles),
        ("press", Mark::Press),
        ("to_and_fro", Mark::ToAndFro),
        ("palm", Mark::Palm),
        ("pinch", Mark::Pinch),
        ("oil", Mark::Oil),
    ];

    /// Reads the atlas's word; `None` if there is no such mark.
    pub fn from_word(word: &str) -> Option<Mark> {
        Mark::ALL.iter().find(|(w, _)| *w == word).map(|(_, m)| *m)
    }
}

/// One step of a routine, as the drawing needs it.
#[derive(Clone, Debug)]
pub struct MarkedStep<'a> {
    /// Its number in the routine, from 1; becomes `data-step`.
    pub number: usize,
    /// The target's id; a target that is not drawn (the oil) has no place and gets none.
    pub target: &'a str,
    /// On which side.
    pub side: Side,
    /// What the hand does.
    pub mark: Mark,
    /// How hard: the weight of the line.
    pub pressure: Pressure,
    /// How long.
    pub seconds: u32,
    /// The full measure of such a step; a hold's dot is filled by `seconds / full_s`.
    pub full_s: u32,
    /// The routine's part; openings and closings are drawn hollow.
    pub movement: Movement,
    /// What screening says: plain, dotted, dashed or struck.
    pub class: Class,
    /// One line for the tooltip, from the caller's catalogue.
    pub title: &'a str,
}

/// What is drawn over a figure or a photograph.
#[derive(Clone, Copy, Debug)]
pub enum Notation<'a> {
    /// The figure alone.
    Bare,
    /// Where targets lie.
    Map(&'a MapView<'a>),
    /// A whole routine.
    Routine(&'a [MarkedStep<'a>]),
}

/// The words on and around a drawing, from the caller's catalogue.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    /// The accessible name.
    pub title: &'a str,
    /// The accessible description: for a sheet, the routine in a sentence.
    pub desc: &'a str,
    /// Written at the viewer's left of the front.
    pub your_right: &'a str,
    /// Written at the viewer's right of the front.
    pub your_left: &'a str,
    /// Written at the back figure.
    pub from_behind: &'a str,
}

/// How a drawing is made.
#[derive(Clone, Copy, Debug)]
pub struct Options<'a> {
    /// On what it lies.
    pub ground: Ground,
    /// Prefix of the element ids, unique in the page: letters, digits, `-`.
    pub id: &'a str,
    /// Its words.
    pub words: Words<'a>,
    /// Quiet step numerals beside the marks.
    pub numerals: bool,
}
