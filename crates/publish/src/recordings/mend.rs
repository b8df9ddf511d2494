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
    &["what", "am", "i", "saying"],
    &["what", "did", "i", "say"],
    &["no", "that's", "not", "it"],
    &["that's", "not", "it"],
    &["no", "not", "that"],
    &["that's", "wrong"],
    &["no", "that's", "wrong"],
    &["make", "that"],
    &["strike", "that"],
    &["no", "i", "mean"],
    &["oh", "sorry"],
    &["or", "no"],
    &["wait"],
    &["sorry"],
    &["no"],
];
/// So many words may stand between what is taken back and the word that does so, and between that and what is meant.
const NEAR: usize = 6;
/// So many words may stand between the speaker's side and the person's.
const MIRROR: usize = 9;

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
        || matches!(word, "other" | "above" | "below" | "under" | "beside" | "behind" | "i'm" | "pointing" | "showing")
        || matches!(word, "doing" | "looking" | "this" | "we" | "want" | "oh" | "it" | "should" | "be" | "side's")
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
    // "my left, your right", "your right, which is my left": the person's own.
    for i in 0..stream.words.len() {
        let words = &stream.words;
        let whose = |j: usize, who: &str| j > 0 && side(&words[j]) && words[j - 1].raw == who;
        if !whose(i, "my") {
            continue;
        }
        let near = |j: usize| {
            let (a, b) = (i.min(j), i.max(j));
            words[a + 1..=b].iter().all(|w| w.before < Break::Sentence)
        };
        let after = (i + 1..words.len().min(i + MIRROR)).find(|j| whose(*j, "your") && near(*j));
        let before = (i.saturating_sub(MIRROR)..i).rev().find(|j| whose(*j, "your") && near(*j));
        if let Some(yours) = before.or(after) {
            let right = stream.words[yours].clone();
            (stream.words[i].raw, stream.words[i].stem) = (right.raw, right.stem);
        }
    }
}

/// A place that is taken back becomes the one that is meant.
pub fn places(stream: &mut Stream, mentions: &mut Vec<Mention>) {
    for (from, to) in taken_back(&stream.words) {
        let words = &stream.words;
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
        // The words that took it back tell nothing themselves.
        for word in &mut stream.words[from..to] {
            (word.raw, word.stem) = ("um".to_owned(), "um".to_owned());
        }
    }
}
