//! A routine as a script with timings and a shot list.

/// What is said and done in one step; the words are the caller's.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// The movement's heading.
    pub movement: String,
    /// What the hand does, where, on which side: the sentence that is spoken first.
    pub says: String,
    /// What is to be minded here, in sentences, each spoken.
    pub minds: Vec<String>,
    /// A short name for lists: the place.
    pub place: String,
    /// The side, in words; empty for none.
    pub side: String,
    /// When the hand begins, in seconds from the beginning of the routine.
    pub from: f64,
    /// When it ends.
    pub to: f64,
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
}
