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
    Words(Vec<(u32, bool)>),
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
    by_exact: HashMap<u32, Vec<usize>>,
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
        let Some(first) = elems.iter().find(|e| !matches!(e, Elem::Begin)) else {
            return Err(format!("`{text}` has no word"));
        };
        let at = self.all.len();
        match first {
            Elem::Words(words) => {
                for (id, exact) in words {
                    let index = if *exact { &mut self.by_exact } else { &mut self.by_stem };
                    index.entry(*id).or_default().push(at);
                }
            }
            Elem::Class(classes) => {
                for class in classes {
                    self.by_class.entry(*class).or_default().push(at);
                }
            }
            Elem::Number => self.by_number.push(at),
            _ => return Err(format!("`{text}` must begin with a word, a class or a number")),
        }
        self.all.push(Pattern { elems, of });
        Ok(())
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.all.len()
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
            }
            if token.exact != 0 {
                try_all(self.by_exact.get(&token.exact));
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
                    Some(word) => (known.exact(word), true),
                    None => (known.stem(word), false),
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
                        _ => elems.push(Elem::Words(vec![(known.stem(&token.word), false)])),
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
        Elem::Perhaps(inner) => {
            if let Some(next) = one(inner, tokens, marks, at).into_iter().find_map(|n| matches(rest, tokens, marks, n))
            {
                return Some(next);
            }
            matches(rest, tokens, marks, at)
        }
        elem => one(elem, tokens, marks, at).into_iter().find_map(|n| matches(rest, tokens, marks, n)),
    }
}

/// Where one element can end if it begins at `at`.
fn one(elem: &Elem, tokens: &[Token], marks: &Marks, at: usize) -> Vec<usize> {
    let Some(token) = tokens.get(at) else { return Vec::new() };
    match elem {
        Elem::Words(words) => {
            let hit = words.iter().any(|(id, exact)| if *exact { token.exact == *id } else { token.stem == *id });
            if hit { vec![at + 1] } else { Vec::new() }
        }
        Elem::Class(classes) => marks.from(at).filter(|m| classes.contains(&m.class)).map(|m| m.hi).collect(),
        Elem::Sign(sign) => {
            if token.kind == Kind::Mark(*sign) {
                vec![at + 1]
            } else {
                Vec::new()
            }
        }
        Elem::Number => {
            let mut end = at;
            while end < tokens.len() && end < at + 4 && number(&tokens[end]) {
                end += 1;
            }
            if end > at { vec![end] } else { Vec::new() }
        }
        _ => Vec::new(),
    }
}

/// The marked words of a sentence.
#[derive(Clone, Debug, Default)]
pub(super) struct Marks {
    /// In the order of their first token.
    pub all: Vec<Mark>,
    first: Vec<usize>,
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
        Marks { all, first }
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
        self.all.iter().filter(move |m| m.class == class)
    }

    /// Is there a word of this class from `lo` to before `hi`?
    pub fn within(&self, class: Class, lo: usize, hi: usize) -> bool {
        self.of(class).any(|m| m.lo >= lo && m.hi <= hi)
    }

    /// Does a mark of this class cover the token?
    pub fn covers(&self, class: Class, at: usize) -> bool {
        self.of(class).any(|m| m.lo <= at && at < m.hi)
    }
}
