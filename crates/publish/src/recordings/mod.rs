//! A caption file of an old recording as a draft routine: what was said is understood as steps, with its time and how sure it is.
//!
//! The words of places lie in data/words/recordings. English. Nothing that was not said is made up: seconds that nobody told are
//! taken from the time until the next step, and say so by their confidence.

mod choose;
mod clause;
mod fold;
mod heard;
mod left;
mod length;
mod lexicon;
mod mend;
mod place;
mod sides;
mod stream;

use plan::atlas::{Atlas, TargetIx};
use plan::routine::Step;

use crate::timed::Spoken;

/// How sure each part of a step is, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sure {
    /// The place.
    pub target: f64,
    /// The side.
    pub side: f64,
    /// What the hand does.
    pub technique: f64,
    /// How long.
    pub seconds: f64,
}

/// A step that was heard.
#[derive(Clone, Debug, PartialEq)]
pub struct HeardStep {
    /// As a step of a routine.
    pub step: Step,
    /// When it is said, in seconds; none where the file has no times.
    pub time: Option<f64>,
    /// The words.
    pub heard: String,
    /// How sure the whole is, 0 to 1: place and side first.
    pub confidence: f64,
    /// How sure each part is.
    pub sure: Sure,
    /// What else the words may mean.
    pub also: Vec<TargetIx>,
}

/// Something that was said, with its time.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// When, in seconds.
    pub time: Option<f64>,
    /// The words.
    pub words: String,
}

/// A recording that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// Steps in the order in which they are done.
    pub steps: Vec<HeardStep>,
    /// Sentences that tell what to mind.
    pub cautions: Vec<Said>,
    /// Words for a place that the atlas lacks.
    pub not_understood: Vec<Said>,
}

/// The row of words and the places in it, as they were meant.
fn named(atlas: &Atlas, lexicon: &lexicon::Lexicon, spoken: &Spoken) -> (stream::Stream, Vec<place::Mention>) {
    let mut stream = stream::Stream::new(spoken);
    mend::sides(&mut stream);
    let mut mentions = place::mentions(atlas, lexicon, &stream);
    for code in place::codes(atlas, &stream) {
        mentions.retain(|m| m.words.1 < code.words.0 || code.words.1 < m.words.0);
        mentions.push(code);
    }
    mentions.sort_by_key(|m| m.words.0);
    mend::places(&mut stream, &mut mentions);
    (stream, mentions)
}

/// Reads what was said as a draft.
pub fn read(atlas: &Atlas, spoken: &Spoken) -> Recording {
    let lexicon = lexicon::shipped();
    let (stream, mentions) = named(atlas, lexicon, spoken);
    let clauses = clause::clauses(lexicon, &stream, &mentions);
    fold::fold(atlas, lexicon, &stream, &clauses)
}

/// How many plain wordings the data has for a target.
pub fn wordings(target: &str) -> usize {
    lexicon::shipped().places.count(target)
}

/// What each clause was taken for, one line each: to look at while the words are being written.
pub fn look(atlas: &Atlas, spoken: &Spoken) -> Vec<String> {
    let lexicon = lexicon::shipped();
    let (stream, mentions) = named(atlas, lexicon, spoken);
    let names = |all: &[place::Mention]| -> Vec<String> {
        all.iter()
            .map(|m| m.targets.iter().map(|t| atlas.target(*t).id.as_str()).collect::<Vec<_>>().join("|"))
            .collect()
    };
    clause::clauses(lexicon, &stream, &mentions)
        .iter()
        .map(|c| {
            let words = stream.said(c.words.0, c.words.1 - 1);
            let first = &stream.words[c.words.0];
            format!(
                "{:>6.1} {:?} {:?} {} {:?} aside {:?} {:?} {:?} {:?} | {words}",
                first.time.unwrap_or(0.0),
                first.before,
                c.kind,
                if c.out { "OUT" } else { "" },
                names(&c.mentions),
                names(&c.aside),
                c.actions,
                c.sides,
                c.length.map(|l| l.seconds)
            )
        })
        .collect()
}
