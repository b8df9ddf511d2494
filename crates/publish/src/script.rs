//! A routine as a script with timings and a shot list.
//!
//! Before the hand is there it is said what it does, where, how hard, how long and what to mind; how it is done is said while it is there. The
//! next step's words begin in the silence of the hold before it, unless holds are to be quiet, or it is the same on the other side.
//! Where the words need longer than there is, this is the rule, and each time it is told ([`Told`]):
//! 1. Words of a step that may be spared (about the other hand) are left out.
//! 2. What does not fit into the hold is said before the hand is there.
//! 3. The step begins later. In a finished video, whose steps begin when they begin, it is said faster, up to 17 characters a second, and then
//!    it runs over, and that is told.

mod lay;
mod shots;

pub use lay::{Given, Pace, retimed, timed};
pub use shots::{Shot, ShotOf, merged};

/// What is said and done in one step; the words are the caller's.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// The movement's heading.
    pub movement: String,
    /// What the hand does, where, on which side: the sentence that is spoken first.
    pub says: String,
    /// What is to be minded here, in sentences, each spoken.
    pub minds: Vec<String>,
    /// How it is done, said while the hand is there.
    pub holds: Vec<Held>,
    /// Whether its words are so few that they are said in the change of hands, and not in the hold before.
    pub short: bool,
    /// A short name for lists: the place.
    pub place: String,
    /// The side, in words; empty for none.
    pub side: String,
    /// When the hand begins, in seconds from the beginning of the video.
    pub from: f64,
    /// When it ends.
    pub to: f64,
}

/// A sentence that is said while the hand is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// What is said.
    pub says: String,
    /// Whether it is the first to be left out where there is no time.
    pub spare: bool,
}

/// To what a line belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Before the first step.
    Opening,
    /// What comes: before the hand is there.
    Says,
    /// What to mind: before the hand is there.
    Minds,
    /// While the hand is there.
    Holds,
    /// The last seconds, counted.
    Counts,
    /// After the last step.
    Closing,
}

/// A take: the words with their times.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// When it begins to be said, in seconds of the video.
    pub from: f64,
    /// When it has to be over.
    pub to: f64,
    /// What is said.
    pub says: String,
    /// The act it belongs to; none: opening words and closing words.
    pub act: Option<usize>,
    /// To what it belongs.
    pub part: Part,
}

/// Where the words needed longer than there was, and what was done.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// These words of a step are left out, since the hold is too short for them.
    Spared(usize, String),
    /// These words of a step are said before the hand is there, since the hold is too short for them.
    Earlier(usize, String),
    /// A step begins so many seconds later than its change of hands alone would have it.
    Later(usize, f64),
    /// A line (its place in the script) is read out so many seconds beyond the time there is for it.
    Over(usize, f64),
    /// The last line is over so many seconds after the video.
    Beyond(f64),
}

/// A routine as it is spoken.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// What is said, in order; no two at once.
    pub lines: Vec<Line>,
    /// The steps with their times.
    pub acts: Vec<Act>,
    /// What was done where there was no time.
    pub told: Vec<Told>,
    /// How long the whole is, in seconds.
    pub length: f64,
}

#[cfg(test)]
mod tests;
