//! Wordings as data: a small language of patterns over words.
//!
//! `word` any form of it · `=word` as written · `a/b` one of these · `@class` words that were marked with a class or a group ·
//! `#` a number · `?word` perhaps · `*3` up to three words between (no mark but a comma) · `:` `,` that mark · `^` a clause begins · `$` it ends.

use std::collections::HashMap;

use super::token::{Kind, Known, Token, tokens};

/// A class of words by its number.
pub(super) type Class = u16;

/// Words of a sentence that were marked with a class.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    /// Which class.
    pub class: Class,
    /// First token.
    pub lo: usize,
    /// One past the last.
    pub hi: usize,
}

/// One element of a pattern.
#[derive(Clone, Debug)]
enum Elem {
    /// Stem, and the word as written where only that is meant (else 0).
    Words(Vec<(u32, u32)>),
    Class(Vec<Class>),
    Number,
    Gap(usize),
    Begin,
    End,
    Perhaps(Box<Elem>),
    Sign(char),
}

/// A pattern with what it stands for: an index into a table of its owner.
#[derive(Clone, Debug)]
struct Pattern {
    elems: Vec<Elem>,
    of: usize,
}

/// Many patterns, found by their first word.
#[derive(Clone, Debug, Default)]
pub(super) struct Patterns {
    all: Vec<Pattern>,
    by_stem: HashMap<u32, Vec<usize>>,
    by_two: HashMap<(u32, u32), Vec<usize>>,
    by_class: HashMap<Class, Vec<usize>>,
    by_number: Vec<usize>,
}

/// A place where a pattern holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Held {
    /// What it stands for.
    pub of: usize,
    /// First token.
    pub lo: usize,
    /// One past the last.
    pub hi: usize,
}

/// Numbers in words.
const NUMBERS: &[&str] = &[
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "fifteen",
    "twenty",
    "thirty",
    "forty",
    "fifty",
    "sixty",
    "seventy",
    "eighty",
    "ninety",
    "hundred",
    "hundreds",
    "thousand",
    "thousands",
    "million",
    "millions",
    "dozen",
    "dozens",
    "half",
    "thirteen",
    "fourteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "zillion",
];

/// Is it a number, in digits or in words?
pub(super) fn number(token: &Token) -> bool {
    token.kind == Kind::Number || NUMBERS.contains(&token.word.as_str())
}

impl Patterns {
    /// Adds a pattern.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn add(
        &mut self,
        known: &mut Known,
        classes: &dyn Fn(&str) -> Vec<Class>,
        text: &str,
        of: usize,
    ) -> Result<(), String> {
        let mut elems = Vec::new();
        for part in text.split_whitespace() {
            element(known, classes, part, &mut elems)?;
        }
        let Some(begin) = elems.iter().position(|e| !matches!(e, Elem::Begin)) else {
            return Err(format!("`{text}` has no word"));
        };
        let at = self.all.len();
        match (&elems[begin], elems.get(begin + 1)) {
            (Elem::Words(words), Some(Elem::Words(next))) => {
                for (a, _) in words {
                    for (b, _) in next {
                        put(self.by_two.entry((*a, *b)).or_default(), at);
                    }
                }
            }
            (Elem::Words(words), _) => {
                for (a, _) in words {
                    put(self.by_stem.entry(*a).or_default(), at);
                }
            }
            (Elem::Class(classes), _) => {
                for class in classes {
                    put(self.by_class.entry(*class).or_default(), at);
                }
            }
            (Elem::Number, _) => self.by_number.push(at),
            _ => return Err(format!("`{text}` must begin with a word, a class or a number")),
        }
        self.all.push(Pattern { elems, of });
        Ok(())
    }

    /// All places where a pattern holds.
    pub fn held(&self, tokens: &[Token], marks: &Marks) -> Vec<Held> {
        let mut found = Vec::new();
        for (lo, token) in tokens.iter().enumerate() {
            let mut try_all = |list: Option<&Vec<usize>>| {
                for at in list.into_iter().flatten() {
                    let pattern = &self.all[*at];
                    if let Some(hi) = matches(&pattern.elems, tokens, marks, lo) {
                        found.push(Held { of: pattern.of, lo, hi });
                    }
                }
            };
            if token.stem != 0 {
                try_all(self.by_stem.get(&token.stem));
                if let Some(next) = tokens.get(lo + 1).filter(|t| t.stem != 0) {
                    try_all(self.by_two.get(&(token.stem, next.stem)));
                }
            }
            if number(token) {
                try_all(Some(&self.by_number));
            }
            if !self.by_class.is_empty() {
                for mark in marks.from(lo) {
                    try_all(self.by_class.get(&mark.class));
                }
            }
        }
        found
    }
}

fn put(list: &mut Vec<usize>, at: usize) {
    if list.last() != Some(&at) {
        list.push(at);
    }
}

fn element(
    known: &mut Known,
    classes: &dyn Fn(&str) -> Vec<Class>,
    part: &str,
    elems: &mut Vec<Elem>,
) -> Result<(), String> {
    match part {
        "^" => elems.push(Elem::Begin),
        "$" => elems.push(Elem::End),
        "#" => elems.push(Elem::Number),
        "*" => elems.push(Elem::Gap(4)),
        ":" | "," => elems.extend(part.chars().map(Elem::Sign)),
        _ => {
            if let Some(n) = part.strip_prefix('*') {
                elems.push(Elem::Gap(
                    n.parse().map_err(|_| format!("`{part}`: after * stands how many words at most"))?,
                ));
            } else if let Some(rest) = part.strip_prefix('?') {
                let mut inner = Vec::new();
                element(known, classes, rest, &mut inner)?;
                elems.extend(inner.into_iter().map(|e| Elem::Perhaps(Box::new(e))));
            } else if let Some(name) = part.strip_prefix('@') {
                let mut all = Vec::new();
                for name in name.split('/') {
                    let found = classes(name.trim_start_matches('@'));
                    if found.is_empty() {
                        return Err(format!("there is no class `{name}`"));
                    }
                    all.extend(found);
                }
                elems.push(Elem::Class(all));
            } else if part.contains('/') || part.starts_with('=') {
                let words = part.split('/').filter(|w| !w.is_empty()).map(|word| match word.strip_prefix('=') {
                    Some(word) => (known.stem(word), known.exact(word)),
                    None => (known.stem(word), 0),
                });
                elems.push(Elem::Words(words.collect()));
            } else {
                let parts = tokens(&Known::default(), part);
                if parts.is_empty() {
                    return Err(format!("`{part}` is no word"));
                }
                for token in parts {
                    match token.kind {
                        Kind::Mark(_) => return Err(format!("`{part}`: marks stand in no pattern")),
                        _ => elems.push(Elem::Words(vec![(known.stem(&token.word), 0)])),
                    }
                }
            }
        }
    }
    Ok(())
}

/// Where the pattern ends if it holds from `at` on.
fn matches(elems: &[Elem], tokens: &[Token], marks: &Marks, at: usize) -> Option<usize> {
    let Some((first, rest)) = elems.split_first() else { return Some(at) };
    match first {
        Elem::Begin => {
            let begins = at == 0 || matches!(tokens[at - 1].kind, Kind::Mark(_));
            if begins { matches(rest, tokens, marks, at) } else { None }
        }
        Elem::End => {
            let ends = at == tokens.len() || matches!(tokens[at].kind, Kind::Mark(_));
            if ends { matches(rest, tokens, marks, at) } else { None }
        }
        Elem::Gap(most) => {
            for skip in 0..=*most {
                if skip > 0 && (at + skip > tokens.len() || tokens[at + skip - 1].hard()) {
                    return None;
                }
                if let Some(end) = matches(rest, tokens, marks, at + skip) {
                    return Some(end);
                }
            }
            None
        }
        Elem::Perhaps(inner) => within(inner, rest, tokens, marks, at).or_else(|| matches(rest, tokens, marks, at)),
        elem => within(elem, rest, tokens, marks, at),
    }
}

/// Where the pattern ends if one element of it begins at `at` and the rest follows.
fn within(elem: &Elem, rest: &[Elem], tokens: &[Token], marks: &Marks, at: usize) -> Option<usize> {
    let token = tokens.get(at)?;
    match elem {
        Elem::Words(words) => {
            let hit = words.iter().any(|(stem, exact)| token.stem == *stem && (*exact == 0 || token.exact == *exact));
            if hit { matches(rest, tokens, marks, at + 1) } else { None }
        }
        Elem::Class(classes) => {
            marks.from(at).filter(|m| classes.contains(&m.class)).find_map(|m| matches(rest, tokens, marks, m.hi))
        }
        Elem::Sign(sign) => {
            if token.kind == Kind::Mark(*sign) {
                matches(rest, tokens, marks, at + 1)
            } else {
                None
            }
        }
        Elem::Number => {
            let end = (at..tokens.len().min(at + 4)).find(|i| !number(&tokens[*i])).unwrap_or(tokens.len().min(at + 4));
            if end > at { matches(rest, tokens, marks, end) } else { None }
        }
        _ => None,
    }
}

/// The marked words of a sentence.
#[derive(Clone, Debug, Default)]
pub(super) struct Marks {
    /// In the order of their first token.
    pub all: Vec<Mark>,
    first: Vec<usize>,
    /// For each token the classes below 128 that cover it, as bits; one more for all tokens together.
    cover: Vec<u128>,
}

impl Marks {
    /// Of a sentence of so many tokens.
    pub fn new(mut all: Vec<Mark>, tokens: usize) -> Marks {
        all.sort_by_key(|m| (m.lo, std::cmp::Reverse(m.hi), m.class));
        all.dedup_by_key(|m| (m.lo, m.hi, m.class));
        let mut first = vec![0; tokens + 2];
        for mark in &all {
            first[mark.lo + 1] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        let mut cover = vec![0u128; tokens + 1];
        for mark in all.iter().filter(|m| m.class < 128) {
            let bit = 1 << mark.class;
            cover[mark.lo..mark.hi].iter_mut().for_each(|c| *c |= bit);
            cover[tokens] |= bit;
        }
        Marks { all, first, cover }
    }

    /// Those that begin at a token.
    pub fn from(&self, at: usize) -> impl Iterator<Item = &Mark> {
        let (a, b) = match (self.first.get(at), self.first.get(at + 1)) {
            (Some(a), Some(b)) => (*a, *b),
            _ => (0, 0),
        };
        self.all[a..b].iter()
    }

    /// Those of a class.
    pub fn of(&self, class: Class) -> impl Iterator<Item = &Mark> {
        let any = self.covers(class, self.cover.len().saturating_sub(1));
        self.all.iter().filter(move |m| any && m.class == class)
    }

    /// Is there a word of this class from `lo` to before `hi`?
    pub fn within(&self, class: Class, lo: usize, hi: usize) -> bool {
        self.of(class).any(|m| m.lo >= lo && m.hi <= hi)
    }

    /// Does a mark of this class cover the token?
    pub fn covers(&self, class: Class, at: usize) -> bool {
        class < 128 && self.cover.get(at).is_some_and(|c| c & (1 << class) != 0)
    }
}
