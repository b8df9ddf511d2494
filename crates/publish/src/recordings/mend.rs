//! What a speaker takes back: "the left, I mean the right", "your chest, sorry, the forehead".

use super::place::Mention;
use super::stream::{Break, Stream, Word};

/// What takes back the word before it.
const TAKES_BACK: &[&[&str]] = &[
    &["i", "mean"],
    &["i", "meant"],
    &["i", "should", "say"],
    &["or", "rather"],
    &["no", "wait"],
    &["wait", "no"],
    &["oh", "no"],
    &["no", "sorry"],
    &["sorry", "no"],
    &["sorry", "i", "mean"],
    &["correction"],
    &["scratch", "that"],
    &["my", "mistake"],
    &["sorry"],
    &["no"],
];
/// So many words may stand between what is taken back and the word that does so, and between that and what is meant.
const NEAR: usize = 4;

/// Where something is taken back: from the first word of it to the word after its last.
fn taken_back(words: &[Word]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for i in 0..words.len() {
        if found.last().is_some_and(|(_, to)| i < *to) {
            continue;
        }
        let fits =
            |said: &&&[&str]| said.iter().enumerate().all(|(k, w)| words.get(i + k).is_some_and(|x| x.raw == *w));
        if let Some(said) = TAKES_BACK.iter().filter(fits).max_by_key(|s| s.len()) {
            found.push((i, i + said.len()));
        }
    }
    found
}

/// Words that stand between without a sense of their own.
fn passing(word: &str) -> bool {
    matches!(
        word,
        "the"
            | "your"
            | "my"
            | "on"
            | "to"
            | "no"
            | "not"
            | "over"
            | "in"
            | "at"
            | "of"
            | "sorry"
            | "wait"
            | "um"
            | "uh"
            | "er"
    ) || matches!(word, "side" | "one" | "its" | "it's" | "is" | "that" | "that's" | "now" | "so" | "actually" | "well")
}

fn side(word: &Word) -> bool {
    matches!(word.raw.as_str(), "left" | "right")
}

/// A side that is taken back becomes the one that is meant.
pub fn sides(stream: &mut Stream) {
    for (from, to) in taken_back(&stream.words) {
        let words = &stream.words;
        let meant = (to..words.len().min(to + NEAR))
            .take_while(|i| side(&words[*i]) || passing(&words[*i].raw))
            .find(|i| side(&words[*i]));
        let before = (from.saturating_sub(NEAR + 1)..from).rev().take_while(|i| words[i + 1].before < Break::Pause);
        let said = before.into_iter().find(|i| side(&words[*i]));
        if let (Some(said), Some(meant)) = (said, meant)
            && words[said].raw != words[meant].raw
        {
            let right = stream.words[meant].clone();
            (stream.words[said].raw, stream.words[said].stem) = (right.raw, right.stem);
        }
    }
    // "my left, your right": the person's own.
    for i in 0..stream.words.len() {
        let words = &stream.words;
        let mine = i > 0 && side(&words[i]) && words[i - 1].raw == "my";
        let yours = (i + 1..words.len().min(i + NEAR + 2)).find(|j| side(&words[*j]) && words[*j - 1].raw == "your");
        if let Some(yours) = yours.filter(|y| mine && words[i + 1..=*y].iter().all(|w| w.before < Break::Sentence)) {
            let right = stream.words[yours].clone();
            (stream.words[i].raw, stream.words[i].stem) = (right.raw, right.stem);
        }
    }
}

/// A place that is taken back becomes the one that is meant.
pub fn places(stream: &Stream, mentions: &mut Vec<Mention>) {
    let words = &stream.words;
    for (from, to) in taken_back(words) {
        let meant = mentions.iter().position(|m| {
            m.words.0 >= to
                && m.words.0 <= to + NEAR
                && (to..m.words.0).all(|i| passing(&words[i].raw) || words[i].raw == "right")
        });
        let said = mentions.iter().rposition(|m| {
            m.words.1 < from && from - m.words.1 <= 3 && (m.words.1 + 1..=from).all(|i| words[i].before < Break::Pause)
        });
        let (Some(meant), Some(said)) = (meant, said) else { continue };
        // "no" needs to stand right there: "the temple, no, the cheek".
        let bare = to - from == 1 && words[from].raw == "no" && from - mentions[said].words.1 > 1;
        if bare || meant != said + 1 {
            continue;
        }
        let right = mentions.remove(meant);
        let wrong = &mut mentions[said];
        (wrong.targets, wrong.weight, wrong.way, wrong.along) = (right.targets, right.weight, right.way, right.along);
    }
}
