//! What is said as one row of words with times and breaks.

use super::lexicon::stem;
use crate::timed::{Format, Spoken};

/// So many characters are said in a second, slowly.
const SPOKEN_PER_SECOND: f64 = 14.0;
/// A silence of so many seconds parts what is said.
const PAUSE_S: f64 = 2.5;

/// A shorter one parts what nobody punctuated, where it was parted already.
const REST_S: f64 = 1.2;

/// What stands before a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Break {
    /// Nothing.
    None,
    /// A comma.
    Comma,
    /// A colon, semicolon or dash.
    Colon,
    /// The end of a sentence.
    Sentence,
    /// A silence.
    Pause,
}

/// A word.
#[derive(Clone, Debug)]
pub struct Word {
    /// In small letters.
    pub raw: String,
    /// As it is compared.
    pub stem: String,
    /// The sentence it is in.
    pub sentence: usize,
    /// Where it begins and ends in the sentence's text, in characters.
    pub at: (usize, usize),
    /// When it is said, in seconds.
    pub time: Option<f64>,
    /// What stands before it.
    pub before: Break,
    /// Which stretch between silences it belongs to.
    pub passage: usize,
    /// Whether a question mark ends its sentence.
    pub asked: bool,
}

/// The words of a file, and its sentences as they are written.
#[derive(Clone, Debug, Default)]
pub struct Stream {
    /// In order.
    pub words: Vec<Word>,
    /// The sentences' texts.
    pub sentences: Vec<String>,
}

impl Stream {
    /// Takes the sentences apart.
    pub fn new(spoken: &Spoken) -> Stream {
        let mut stream = Stream::default();
        // A line that somebody timed by hand is no half of a sentence.
        let lines = spoken.format == Format::PlainTimed;
        let mut ended = true;
        let mut cue: Option<(f64, usize)> = None;
        for (n, sentence) in spoken.sentences().iter().enumerate() {
            let letters: Vec<char> = sentence.text.chars().collect();
            let time = |i: usize| sentence.time.get(i).copied();
            let asked = sentence.text.trim_end().ends_with('?');
            let mut before = if ended || sentence.opens { Break::Sentence } else { Break::None };
            let mut i = 0;
            while i < letters.len() {
                let c = letters[i];
                if !c.is_alphanumeric() && c != '\'' {
                    let stop = match c {
                        ',' | '(' | ')' => Break::Comma,
                        ':' | ';' | '–' | '—' => Break::Colon,
                        '-' if i > 0 && letters[i - 1] == ' ' => Break::Colon,
                        '.' | '!' | '?' | '…' => Break::Sentence,
                        _ => Break::None,
                    };
                    before = before.max(stop);
                    i += 1;
                    continue;
                }
                let from = i;
                while i < letters.len() && (letters[i].is_alphanumeric() || matches!(letters[i], '\'' | '’')) {
                    i += 1;
                }
                let raw: String = letters[from..i].iter().collect::<String>().to_lowercase().replace('’', "'");
                let time = time(from);
                // A cue is said at its beginning; what is left of its time is silence.
                match (time, cue) {
                    (Some(now), Some((began, said))) if now > began + 0.01 => {
                        let silence = now - (began + said as f64 / SPOKEN_PER_SECOND);
                        if silence >= PAUSE_S {
                            before = Break::Pause;
                        } else if silence >= REST_S && (lines || stream.words.last().is_some_and(|w| w.sentence != n)) {
                            before = before.max(Break::Sentence);
                        }
                        cue = Some((now, i - from));
                    }
                    (Some(_), Some((began, said))) => cue = Some((began, said + i - from + 1)),
                    (Some(now), None) => cue = Some((now, i - from)),
                    (None, _) => {}
                }
                let passage = stream.words.last().map_or(0, |w| w.passage + usize::from(before == Break::Pause));
                let stem = stem(&raw);
                stream.words.push(Word { raw, stem, sentence: n, at: (from, i), time, before, passage, asked });
                before = Break::None;
            }
            ended = letters
                .iter()
                .rev()
                .find(|c| !c.is_whitespace() && !matches!(c, '"' | '”' | ')'))
                .is_some_and(|c| matches!(c, '.' | '!' | '?' | '…'));
            stream.sentences.push(sentence.text.clone());
        }
        stream
    }

    /// The words as they were said, from the first to the last of these.
    pub fn said(&self, from: usize, to: usize) -> String {
        let (Some(a), Some(b)) = (self.words.get(from), self.words.get(to)) else { return String::new() };
        let mut out = String::new();
        for n in a.sentence..=b.sentence {
            let begin = if n == a.sentence { a.at.0 } else { 0 };
            let letters = self.sentences[n].chars();
            let end = if n == b.sentence { b.at.1 } else { usize::MAX };
            if !out.is_empty() {
                out.push(' ');
            }
            out.extend(letters.skip(begin).take(end.saturating_sub(begin)));
        }
        out
    }
}
