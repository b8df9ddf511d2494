//! Sentences from pieces: by full stops where they are set, else by pauses, lines and words that open a clause.

use super::{Format, Sentence, Spoken};

/// Longer words are cut: nobody says them.
const LONGEST_WORD: usize = 100;
/// A silence that ends a sentence, whatever stands around it, in seconds.
const LONG_SILENCE: f64 = 10.0;
/// One that ends a sentence where nothing speaks against it.
const SILENCE: f64 = 2.5;
/// A pause that ends one where nobody set full stops, in seconds.
const PAUSE: f64 = 1.0;
/// Words a second that are spoken slowly: how long a cue is really spoken.
const SLOW: f64 = 1.7;
/// Fewer full stops than one in so many words: nobody set them.
const SPARSE: usize = 40;
/// Words of a sentence at most, with full stops and without.
const MOST: [usize; 2] = [60, 20];
/// Words of a sentence at least, where it is cut without a full stop.
const LEAST: usize = 8;
/// Words near which it is cut.
const BEST: f64 = 16.0;

/// Pieces read as one: in a text each by itself, else all of them.
struct Flow {
    chars: Vec<char>,
    /// Where each stands in the file, and where it ends.
    at: Vec<(usize, usize)>,
    time: Vec<f64>,
    words: Vec<Word>,
}

/// A word with its punctuation.
#[derive(Clone, Copy)]
struct Word {
    from: usize,
    to: usize,
    /// The silence after it in seconds, where its piece ends with it.
    pause: Option<f64>,
    /// It is the first of its piece.
    first: bool,
}

/// The sentences of a file.
pub fn of(spoken: &Spoken) -> Vec<Sentence> {
    let step = if spoken.format == Format::Text { 1 } else { spoken.pieces.len().max(1) };
    spoken.pieces.chunks(step).flat_map(|pieces| Flow::of(pieces).sentences()).collect()
}

impl Flow {
    fn of(pieces: &[super::Piece]) -> Flow {
        let mut flow = Flow { chars: Vec::new(), at: Vec::new(), time: Vec::new(), words: Vec::new() };
        for (n, piece) in pieces.iter().enumerate() {
            if let Some((_, end)) = flow.at.last().copied() {
                flow.chars.push(' ');
                flow.at.push((end, end + 1));
                flow.time.extend(flow.time.last().copied());
            }
            let from = flow.chars.len();
            flow.chars.extend(piece.text.chars());
            flow.at.extend(piece.at.windows(2).map(|w| (w[0], w[1])));
            if let Some(time) = piece.from {
                flow.time.resize(flow.chars.len(), time);
            }
            let before = flow.words.len();
            flow.cut(from);
            let spoken = (flow.words.len() - before) as f64 / SLOW + 0.4;
            if let Some(word) = flow.words.get_mut(before) {
                word.first = true;
            }
            if let (Some(last), Some(next)) = (flow.words.last_mut(), pieces.get(n + 1)) {
                last.pause = piece.from.zip(next.from).map(|(from, next)| {
                    // Machines let a cue stand until the next one: what counts is how long its words take.
                    let until = piece.to.map_or(from + spoken, |to| to.min(from + spoken));
                    next - until
                });
            }
        }
        flow
    }

    /// Cuts what stands from here on into words.
    fn cut(&mut self, mut from: usize) {
        let end = self.chars.len();
        while from < end {
            if self.chars[from] == ' ' {
                from += 1;
                continue;
            }
            let mut to = from + 1;
            while to < end && to - from < LONGEST_WORD && self.chars[to] != ' ' && !self.glued(from, to) {
                to += 1;
            }
            self.words.push(Word { from, to, pause: None, first: false });
            from = to;
        }
    }

    /// `wrinkles.It`: a full stop without a blank after it. A name (`tragion.Example`) has small letters or is no sentence.
    fn glued(&self, from: usize, to: usize) -> bool {
        let c = &self.chars;
        to >= from + 3
            && matches!(c[to - 1], '.' | '!' | '?')
            && c[to].is_uppercase()
            && c[to - 2].is_lowercase()
            && c[to - 3].is_lowercase()
            && c.get(to + 1).is_none_or(|n| n.is_lowercase() || *n == ' ' || *n == '\'' || *n == '\u{2019}')
    }

    fn sentences(&self) -> Vec<Sentence> {
        let n = self.words.len();
        let mut begun = 0;
        let ends: Vec<bool> = (0..n)
            .map(|i| {
                let ends = self.stops(i, begun);
                if ends {
                    begun = i + 1;
                }
                ends
            })
            .collect();
        let sparse = n > 30 && ends.iter().filter(|e| **e).count() * SPARSE < n;
        let lines = sparse && self.lines_begin_large();
        let mut sentences = Vec::new();
        let mut from = 0;
        for (i, stop) in ends.iter().enumerate() {
            let parted = self.words[i].pause.is_some_and(|pause| self.parts(i, pause, sparse));
            let line = lines && self.words.get(i + 1).is_some_and(|w| w.first && self.large(w)) && !self.dangles(i);
            if *stop || parted || line || i + 1 == n {
                self.part(from, i + 1, MOST[usize::from(sparse)], &mut sentences);
                from = i + 1;
            }
        }
        if let Some(first) = sentences.first_mut() {
            first.opens = true;
        }
        sentences
    }

    /// Whether a pause after word `i` ends the sentence. Whoever works while speaking pauses in the middle of one as well: a word that wants
    /// another after it, or full stops that are set elsewhere and a small letter that follows, speak against it.
    fn parts(&self, i: usize, pause: f64, sparse: bool) -> bool {
        let next = self.words.get(i + 1).and_then(|w| self.chars[w.from..w.to].iter().find(|c| c.is_alphanumeric()));
        let goes_on = self.dangles(i) || (!sparse && next.is_some_and(|c| c.is_lowercase()));
        pause >= LONG_SILENCE || !goes_on && (pause >= SILENCE || sparse && pause >= PAUSE)
    }

    /// Words `from..to`, cut where they are too many for one sentence.
    fn part(&self, mut from: usize, to: usize, most: usize, sentences: &mut Vec<Sentence>) {
        while to - from > most {
            let last = (from + most).min(to - 3);
            let score = |i: usize| self.score(i) - (BEST - (i + 1 - from) as f64).abs() * 0.15;
            // The first of the best.
            let best = (from + LEAST - 1..last).reduce(|a, b| if score(b) > score(a) { b } else { a });
            let cut = best.unwrap_or(last - 1) + 1;
            sentences.push(self.sentence(from, cut));
            from = cut;
        }
        if from < to {
            sentences.push(self.sentence(from, to));
        }
    }

    fn sentence(&self, from: usize, to: usize) -> Sentence {
        let (from, to) = (self.words[from].from, self.words[to - 1].to);
        let at = self.at[from..to].iter().map(|(at, _)| *at).chain([self.at[to - 1].1]).collect();
        let time = self.time.get(from..to).map(<[f64]>::to_vec).unwrap_or_default();
        Sentence { text: self.chars[from..to].iter().collect(), at, time, opens: false }
    }

    /// How good a place it is to end after word `i`.
    fn score(&self, i: usize) -> f64 {
        let Some(next) = self.words.get(i + 1) else { return 0.0 };
        let mut score = 0.0;
        if self.dangles(i) {
            score -= 20.0;
        } else if OPENERS.contains(&self.bare(&self.words[i]).as_str()) {
            score -= 4.0;
        }
        let word = self.bare(next);
        if OPENERS.contains(&word.as_str()) {
            score += 3.0;
        } else if SOME_OPENERS.contains(&word.as_str()) {
            score += 1.5;
        }
        if NEVER_FIRST.contains(&word.as_str()) {
            score -= 5.0;
        }
        if next.first {
            score += 1.0;
        }
        if self.words[i].pause.is_some_and(|p| p >= PAUSE / 2.0) {
            score += 2.0;
        }
        if matches!(self.chars[self.words[i].to - 1], ',' | ';' | ':' | '\u{2013}' | '\u{2014}') {
            score += 2.5;
        }
        score
    }

    /// A word after which no sentence ends: what it belongs to comes next.
    fn dangles(&self, i: usize) -> bool {
        let word = self.bare(&self.words[i]);
        DANGLING.contains(&word.as_str()) || word.ends_with("n't") || word.ends_with("n\u{2019}t")
    }

    /// In small letters, without punctuation at either end.
    fn bare(&self, word: &Word) -> String {
        let chars = &self.chars[word.from..word.to];
        let word: String = chars.iter().flat_map(|c| c.to_lowercase()).collect();
        word.trim_matches(|c: char| !c.is_alphanumeric()).replace('\u{2019}', "'")
    }

    fn large(&self, word: &Word) -> bool {
        self.chars[word.from].is_uppercase() && self.bare(word) != "i" && !self.bare(word).starts_with("i'")
    }

    /// Whether lines begin with capital letters and other words do not: then such a line opens a sentence.
    fn lines_begin_large(&self) -> bool {
        let count = |first: bool| {
            let words = self.words.iter().filter(|w| w.first == first && self.chars[w.from].is_alphabetic());
            words.fold((0, 0), |(all, large), w| (all + 1, large + usize::from(self.chars[w.from].is_uppercase())))
        };
        let ((lines, large), (others, shout)) = (count(true), count(false));
        lines >= 3 && large * 10 >= lines * 3 && shout * 4 < others
    }

    /// Whether a sentence ends with word `i`, the one it is in having begun at `begun`.
    fn stops(&self, i: usize, begun: usize) -> bool {
        let word = &self.chars[self.words[i].from..self.words[i].to];
        let next = self.words.get(i + 1).map(|w| &self.chars[w.from..w.to]);
        if next.is_some_and(|n| n.starts_with(&['>', '>']) || n.first() == Some(&'\u{266a}')) || self.sound(i, next) {
            return true;
        }
        let closes = |c: &char| {
            matches!(c, '"' | '\'' | ')' | ']' | '\u{201d}' | '\u{2019}' | '\u{bb}' | '*' | '_' | '\u{201c}')
        };
        let closers = word.iter().rev().take_while(|c| closes(c)).count();
        let core = &word[..word.len() - closers];
        let begins = next.and_then(|n| n.iter().find(|c| c.is_alphanumeric()));
        let small = begins.is_some_and(|c| c.is_lowercase());
        match core.last() {
            Some('?' | '!' | '\u{3002}' | '\u{ff01}' | '\u{ff1f}') => !(closers > 0 && small),
            Some('\u{2026}') => !small,
            Some('.') if core.ends_with(&['.', '.']) => !small,
            Some('.') => !self.shortened(&core[..core.len() - 1], i == begun, closers > 0, small),
            Some(c) => pictured(*c) && core.iter().all(|c| pictured(*c)) && i > begun && !small && begins.is_some(),
            None => false,
        }
    }

    /// Whether a full stop belongs to the word (`Dr.`, `e.g.`, `J.`, `2.` at the beginning) and not to the sentence.
    fn shortened(&self, core: &[char], begins: bool, closed: bool, small: bool) -> bool {
        let word: String =
            core.iter().flat_map(|c| c.to_lowercase()).filter(|c| c.is_alphanumeric() || *c == '.').collect();
        if closed && small {
            return true;
        }
        if !word.is_empty() && word.chars().all(|c| c.is_ascii_digit()) {
            return begins;
        }
        if TITLES.contains(&word.as_str()) {
            return true;
        }
        let letters = word.split('.').all(|part| part.chars().count() == 1);
        if letters && word.contains('.') || SHORT.contains(&word.as_str()) {
            return small;
        }
        letters && core.last().is_some_and(|c| c.is_uppercase()) && word != "i" && !begins
    }

    /// `[Music]`: what is heard and not said stands by itself.
    fn sound(&self, i: usize, next: Option<&[char]>) -> bool {
        let word = &self.chars[self.words[i].from..self.words[i].to];
        let named =
            |n: &[char]| n.first() == Some(&'[') && n.last() == Some(&']') && n[1..].iter().any(|c| c.is_alphabetic());
        (named(word) || next.is_some_and(named)) && word.len() < 40
    }
}

/// An emoji or another picture.
fn pictured(c: char) -> bool {
    matches!(c, '\u{2190}'..='\u{21ff}' | '\u{2600}'..='\u{27bf}' | '\u{1f000}'..='\u{1faff}' | '\u{fe0f}' | '\u{200d}')
}

/// Always before a name.
const TITLES: &[&str] =
    &["dr", "mr", "mrs", "ms", "prof", "st", "vs", "no", "nr", "fig", "approx", "ca", "e.g", "i.e", "cf"];

/// Before a name or a number in the middle of a sentence; at its end a full stop is also the sentence's.
const SHORT: &[&str] =
    &["etc", "min", "mins", "sec", "secs", "hr", "hrs", "inc", "ltd", "co", "jr", "sr", "al", "ph.d", "oz", "cm", "mm"];

/// Words that open a clause.
const OPENERS: &[&str] = &[
    "but", "so", "because", "now", "then", "when", "while", "if", "first", "next", "finally", "okay", "ok", "alright",
    "let's", "lets", "remember", "again", "today", "after", "before", "once", "repeat", "and",
];

/// Words that often do.
const SOME_OPENERS: &[&str] = &[
    "we", "you", "i", "this", "that's", "these", "they", "there", "here", "what", "how", "why", "it's", "i'm",
    "you're", "we're", "i've", "you'll", "we'll", "make", "just", "don't", "take", "press", "place", "use", "start",
    "move",
];

/// Words that belong to what stands before them.
const NEVER_FIRST: &[&str] = &[
    "of", "to", "than", "or", "is", "are", "was", "were", "will", "can", "do", "does", "not", "at", "in", "on", "for",
    "with", "from", "by", "into", "your", "my", "the", "a", "an", "it", "them", "that", "which", "who", "away", "up",
    "down", "out", "off", "too", "very",
];

/// Words after which something has to come.
const DANGLING: &[&str] = &[
    "not", "never", "no", "without", "a", "an", "the", "my", "your", "his", "her", "its", "our", "their", "this",
    "that", "these", "those", "of", "to", "in", "on", "at", "for", "from", "with", "by", "into", "onto", "about",
    "under", "over", "below", "above", "between", "and", "or", "but", "so", "if", "because", "when", "while", "as",
    "than", "is", "are", "was", "were", "be", "been", "being", "am", "will", "would", "can", "could", "may", "might",
    "must", "should", "shall", "does", "did", "have", "has", "had", "very", "really", "just", "more", "most", "less",
    "i", "you", "we", "they", "he", "she", "it's", "i'm", "you're", "we're", "they're", "that's", "cannot", "who",
    "which", "what", "how", "why", "every", "some", "any", "all", "both", "each", "like", "gonna", "going", "want",
    "helps", "help", "let", "let's", "even", "there's", "also", "then", "too",
];
