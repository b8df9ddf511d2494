//! Where words are broken: into cues of at most two lines, at sense.

use unicode_segmentation::UnicodeSegmentation;

use super::tongue::{Tongue, bare, ends_clause, ends_sentence};

/// The most characters (Unicode code points) of a line.
pub const MOST_LETTERS: usize = 42;
/// The most lines of a cue.
pub const MOST_LINES: usize = 2;
/// A cue with fewer characters stands longer than it is spoken, since none stands for less than a second.
const SHORT: usize = 17;

/// What it costs to tear words apart in a way that must not be: only what can't be otherwise is torn so.
const NEVER: f64 = 1e6;
/// A cue more.
const CUE: f64 = 6.0;
/// A cue that ends a sentence and begins another one without ending it.
const BEGUN: f64 = 12.0;
/// A second line.
const LINE: f64 = 1.0;

/// A word, and whether it goes on in the next one (a word longer than a line).
struct Word {
    text: String,
    letters: usize,
    goes_on: bool,
}

/// The text as cues, each of one or two lines of at most [`MOST_LETTERS`] characters. White space and control characters only part
/// words; no word is lost, and one that is longer than a line goes on in the next.
pub fn parts(text: &str, tongue: &Tongue) -> Vec<Vec<String>> {
    let words = words(text);
    let n = words.len();
    if n == 0 {
        return Vec::new();
    }
    let tears: Vec<f64> = (0..n)
        .map(|i| if i + 1 == n { 0.0 } else { tear(&words[i], &words[i + 1], words.get(i + 2), tongue) })
        .collect();
    // best[i]: the least cost of the words from i on; next[i]: where the first cue of these ends, and its first line.
    let mut best = vec![f64::INFINITY; n + 1];
    let mut next = vec![(n, None); n];
    best[n] = 0.0;
    for i in (0..n).rev() {
        for j in i + 1..=n {
            let Some((cost, split)) = cue(&words, &tears, i, j) else { break };
            let begun = j < n && tears[j - 1] > 0.0 && words[i..j - 1].iter().any(|w| ends_sentence(&w.text));
            let cost = cost + CUE + tears[j - 1] + if begun { BEGUN } else { 0.0 } + best[j];
            if cost < best[i] {
                (best[i], next[i]) = (cost, (j, split));
            }
        }
    }
    let mut all = Vec::new();
    let mut at = 0;
    while at < n {
        let (end, split) = next[at];
        all.push(match split {
            Some(split) => vec![joined(&words[at..split]), joined(&words[split..end])],
            None => vec![joined(&words[at..end])],
        });
        at = end;
    }
    all
}

/// The characters of a cue, its lines joined by a space.
pub fn letters(lines: &[String]) -> usize {
    lines.iter().map(|l| l.chars().count()).sum::<usize>() + lines.len().saturating_sub(1)
}

/// The words from i to before j as one cue: its cost, and where its second line begins. None: they do not fit.
fn cue(words: &[Word], tears: &[f64], i: usize, j: usize) -> Option<(f64, Option<usize>)> {
    let all = length(&words[i..j]);
    let mut best = (all <= MOST_LETTERS).then_some((0.0, None));
    for split in i + 1..j {
        let (first, second) = (length(&words[i..split]), length(&words[split..j]));
        if first > MOST_LETTERS {
            break;
        }
        if second > MOST_LETTERS {
            continue;
        }
        // Lines of about the same length are read with the least way of the eye.
        let apart = first.abs_diff(second) as f64;
        let cost = LINE + tears[split - 1] * 0.7 + apart * apart / 160.0;
        if best.is_none_or(|(least, _)| cost < least) {
            best = Some((cost, Some(split)));
        }
    }
    let short = SHORT.saturating_sub(all) as f64;
    best.map(|(cost, split)| (cost + short, split))
}

/// What it costs to end a line or cue between these words.
fn tear(before: &Word, after: &Word, next: Option<&Word>, tongue: &Tongue) -> f64 {
    if before.goes_on {
        return 0.0;
    }
    if ends_sentence(&before.text) {
        return 0.0;
    }
    if ends_clause(&before.text) {
        return 2.0;
    }
    let (left, right) = (bare(&before.text), bare(&after.text));
    let number = left.chars().next_back().is_some_and(|c| c.is_ascii_digit());
    if (number && tongue.units.contains(&right.as_str())) || tongue.articles.contains(&left.as_str()) {
        return NEVER;
    }
    let opens = |word: &str| tongue.opens.contains(&word);
    // "Put in within two days", "lassen Sie es aus, wenn": such a small word belongs to the verb before it.
    let particle = |word: &str, after: bool| tongue.particles.contains(&word) && after;
    let followed =
        next.is_some_and(|w| opens(&bare(&w.text))) || ends_clause(&after.text) || ends_sentence(&after.text);
    if particle(&right, followed) {
        return 20.0;
    }
    match (opens(&left), opens(&right)) {
        (true, true) if particle(&left, true) => 5.0,
        // A small word stays with what it opens.
        (true, _) => 40.0,
        (false, true) => 5.0,
        (false, false) => 12.0,
    }
}

fn length(words: &[Word]) -> usize {
    let spaces = words.iter().take(words.len().saturating_sub(1)).filter(|w| !w.goes_on).count();
    words.iter().map(|w| w.letters).sum::<usize>() + spaces
}

fn joined(words: &[Word]) -> String {
    let mut line = String::new();
    for (i, word) in words.iter().enumerate() {
        line.push_str(&word.text);
        if i + 1 < words.len() && !word.goes_on {
            line.push(' ');
        }
    }
    line
}

/// The words of a text; longer ones in pieces, cut between what a reader sees as letters.
fn words(text: &str) -> Vec<Word> {
    let mut all = Vec::new();
    for word in text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()) {
        let count = word.chars().count();
        if count <= MOST_LETTERS {
            all.push(Word { text: word.to_owned(), letters: count, goes_on: false });
            continue;
        }
        let mut pieces: Vec<String> = vec![String::new()];
        let mut room = MOST_LETTERS;
        let mut add = |piece: &str, length: usize| {
            if length > room {
                pieces.push(String::new());
                room = MOST_LETTERS;
            }
            room -= length;
            if let Some(last) = pieces.last_mut() {
                last.push_str(piece);
            }
        };
        for seen in word.graphemes(true) {
            let length = seen.chars().count();
            if length <= MOST_LETTERS {
                add(seen, length);
            } else {
                seen.chars().for_each(|c| add(c.encode_utf8(&mut [0; 4]), 1));
            }
        }
        let last = pieces.len() - 1;
        let pieces = pieces.into_iter().enumerate().filter(|(_, p)| !p.is_empty());
        all.extend(pieces.map(|(i, text)| Word { letters: text.chars().count(), text, goes_on: i < last }));
    }
    all
}
