//! A pasted list taken apart: into entries, each of the lines that may belong together, each with what stands in its brackets.

use super::fold::{NOTES, words};
use super::share;

/// Stands for a bracket in the text around it.
const BRACKET: char = '\u{0}';
/// Stands for "may contain".
const MAY: char = '\u{1}';
/// How deep brackets within brackets are read; deeper ones only part names.
const DEEPEST: usize = 4;
/// How a list says that what follows may be in it.
const MAY_BE: [&str; 7] =
    ["+/-", "+/−", "may contain", "kann enthalten", "peut contenir", "puede contener", "può contenere"];
/// What stands before a list.
const HEADINGS: [&str; 18] = [
    "ingredients",
    "ingredient",
    "ingr",
    "inci",
    "zutaten",
    "inhaltsstoffe",
    "bestandteile",
    "ingredienti",
    "ingredientes",
    "composition",
    "zusammensetzung",
    "contains",
    "contient",
    "contiene",
    "enthalt",
    "allergens",
    "fulllist",
    "inciingredients",
];
/// Words of a footnote.
const FOOTNOTES: [&str; 20] = [
    "organic",
    "natural",
    "naturally",
    "origin",
    "farming",
    "agriculture",
    "certified",
    "cultivation",
    "biologique",
    "anbau",
    "biologischer",
    "naturlich",
    "naturliche",
    "bio",
    "fair",
    "fairtrade",
    "component",
    "components",
    "constituent",
    "constituents",
];
/// Words that part two names, where the whole is none.
const AND: [&str; 7] = [" and ", " und ", " et ", " y ", " e ", " & ", " + "];

/// A name, or the part of one that stands on a line.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// As it was written.
    pub written: String,
    /// What stands outside brackets, with [`BRACKET`] for each.
    outside: String,
    /// What stands in its brackets, in order.
    brackets: Vec<String>,
    depth: usize,
    /// Whether it only may be in the product.
    pub may: bool,
    /// Whether a colon follows.
    heading: bool,
}

/// What a bracket holds.
pub struct Inner {
    /// Whether it is a list of its own.
    pub is_list: bool,
    /// Its entries.
    pub entries: Vec<Vec<Part>>,
}

impl Part {
    /// Lines as one.
    pub fn joined(parts: &[Part]) -> Part {
        let mut whole = parts.first().cloned().unwrap_or_default();
        for part in parts.iter().skip(1) {
            for (to, from) in [(&mut whole.written, &part.written), (&mut whole.outside, &part.outside)] {
                to.push(' ');
                to.push_str(from);
            }
            whole.brackets.extend(part.brackets.iter().cloned());
            whole.heading = part.heading;
        }
        whole
    }

    /// Whether there is a letter in it: a bare number or sign is no name.
    pub fn has_name(&self) -> bool {
        self.written.chars().any(char::is_alphabetic)
    }

    /// Whether anything but brackets is in it.
    pub fn has_outside(&self) -> bool {
        self.name().chars().any(char::is_alphabetic)
    }

    /// What stands outside brackets, without a share.
    fn name(&self) -> String {
        share::taken(&self.outside).0
    }

    /// The share written beside it: outside brackets, else in a bracket that holds nothing else.
    pub fn share(&self) -> Option<u32> {
        let bare = |text: &String| {
            let (rest, share) = share::taken(text);
            share.filter(|_| !rest.chars().any(char::is_alphabetic))
        };
        share::taken(&self.outside).1.or_else(|| self.brackets.iter().filter_map(bare).max())
    }

    /// The names that it may be read as: without its brackets, with them, and with each bracket in place of what stands before
    /// it, as in `Prunus Amygdalus Dulcis (Sweet Almond) Oil`.
    pub fn readings(&self) -> Vec<String> {
        let name = self.name();
        let mut all = vec![name.replace(BRACKET, " ")];
        if self.brackets.is_empty() {
            return all;
        }
        let texts: Vec<String> = self.brackets.iter().map(|b| share::taken(b).0).collect();
        let pieces: Vec<&str> = name.split(BRACKET).collect();
        let mut with = String::new();
        for (n, piece) in pieces.iter().enumerate() {
            with.push_str(piece);
            if let Some(text) = texts.get(n) {
                with = format!("{with} {text} ");
                let after = pieces.get(n + 1..).unwrap_or_default().join(" ");
                // A bracket at the end is a name of its own, if it is one.
                if after.chars().any(char::is_alphabetic) {
                    all.push(format!("{text} {after}"));
                }
            }
        }
        all.push(with);
        all
    }

    /// What its brackets hold.
    pub fn inner(&self) -> Vec<Inner> {
        let read = |text: &String| {
            let entries = split(text, self.depth + 1, self.may);
            Inner { is_list: entries.len() > 1, entries }
        };
        self.brackets.iter().map(read).collect()
    }

    /// The names that a slash or an *and* parts, for a whole that is none. A polymer's name is one however many slashes it has.
    pub fn pieces(&self) -> Vec<Part> {
        let polymer = words(&self.outside).last().is_some_and(|w| w.ends_with("polymer"));
        if polymer || !self.brackets.is_empty() {
            return Vec::new();
        }
        let mut text = self.written.clone();
        for and in AND {
            text = text.replace(and, "/");
        }
        let pieces: Vec<&str> = text.split('/').map(str::trim).filter(|p| !p.is_empty()).collect();
        if pieces.len() < 2 {
            return Vec::new();
        }
        let part = |p: &&str| Part {
            written: (*p).to_owned(),
            outside: (*p).to_owned(),
            brackets: Vec::new(),
            ..self.clone()
        };
        pieces.iter().map(part).collect()
    }

    /// Whether it is a heading or a footnote rather than a name. Only asked where it is no known name.
    pub fn is_remark(&self) -> bool {
        let words = words(&self.written);
        let marked = self.written.chars().next().is_some_and(|c| NOTES.contains(c));
        self.heading
            || HEADINGS.contains(&words.concat().as_str())
            || marked && words.len() > 1 && words.iter().any(|w| FOOTNOTES.contains(&w.as_str()))
    }
}

/// The entries of a text.
pub fn entries(text: &str) -> Vec<Vec<Part>> {
    let clean: String = text
        .chars()
        .map(|c| match c {
            '\n' | '\u{2028}' | '\u{2029}' => '\n',
            c if c.is_control() => ' ',
            '±' => MAY,
            '（' => '(',
            '）' => ')',
            c => c,
        })
        .collect();
    split(&marked(&clean), 0, false)
}

/// With [`MAY`] in place of the words for it.
fn marked(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let same = |c: char, small: char| c == small || c.to_lowercase().eq(std::iter::once(small));
    let starts =
        |at: usize, word: &str| word.chars().enumerate().all(|(n, w)| chars.get(at + n).is_some_and(|c| same(*c, w)));
    let mut out = String::new();
    let mut at = 0;
    while at < chars.len() {
        match MAY_BE.iter().find(|word| starts(at, word)) {
            Some(word) => {
                out.push(MAY);
                at += word.chars().count();
            }
            None => {
                out.push(chars[at]);
                at += 1;
            }
        }
    }
    out
}

/// Where each opened bracket closes, and which signs belong to no pair.
fn pairs(chars: &[char], depth: usize) -> Vec<Option<usize>> {
    let mut closes = vec![None; chars.len()];
    let mut open = Vec::new();
    if depth >= DEEPEST {
        return closes;
    }
    for (at, c) in chars.iter().enumerate() {
        match c {
            '(' | '[' | '{' => open.push(at),
            ')' | ']' | '}' => {
                if let Some(from) = open.pop() {
                    closes[from] = Some(at);
                }
            }
            _ => {}
        }
    }
    closes
}

fn split(text: &str, depth: usize, may: bool) -> Vec<Vec<Part>> {
    let chars: Vec<char> = text.chars().collect();
    let closes = pairs(&chars, depth);
    let empty = |may: bool| Part { depth, may, ..Part::default() };
    let mut entries: Vec<Vec<Part>> = Vec::new();
    let (mut entry, mut part): (Vec<Part>, Part) = (Vec::new(), empty(may));
    let mut may = may;
    // Lines part names only where nothing else does; else a name may run on.
    let parted = separators(&chars, &closes);
    let mut at = 0;
    while at < chars.len() {
        let c = chars[at];
        if let Some(close) = closes[at] {
            part.brackets.push(chars[at + 1..close].iter().collect());
            part.outside.push(BRACKET);
            part.written.extend(&chars[at..=close]);
            at = close + 1;
            continue;
        }
        // An empty line, and a footnote's mark, begin something new.
        let blank_line = || chars[at + 1..].iter().take_while(|c| c.is_whitespace()).any(|c| *c == '\n');
        let footnote = || chars[at + 1..].iter().find(|c| !c.is_whitespace()).is_some_and(|c| NOTES.contains(*c));
        let soft = c == '\n' && parted && !blank_line() && !footnote();
        if soft || c == '\n' || parts(&chars, at) {
            part.heading = c == ':';
            let done = std::mem::replace(&mut part, empty(may));
            push(&mut entry, done);
            if !soft {
                entries.push(std::mem::take(&mut entry));
                may |= c == MAY;
                part.may = may;
            }
        } else if !matches!(c, '(' | ')' | '[' | ']' | '{' | '}') {
            part.outside.push(c);
            part.written.push(c);
        } else {
            part.outside.push(' ');
            part.written.push(c);
        }
        at += 1;
    }
    push(&mut entry, part);
    entries.push(entry);
    entries.retain(|entry| !entry.is_empty());
    entries
}

/// Adds a line of an entry, tidied at its ends.
fn push(entry: &mut Vec<Part>, mut part: Part) {
    part.written = without_heading(part.written.replace(MAY, " ").trim().trim_end_matches('.')).to_owned();
    part.outside = without_heading(part.outside.trim().trim_end_matches('.')).to_owned();
    if part.has_name() {
        entry.push(part);
    }
}

/// Without "Ingredients" at its front, where no colon follows it.
fn without_heading(text: &str) -> &str {
    match text.split_once(char::is_whitespace) {
        Some((first, rest)) if words(rest).iter().any(|w| w.chars().any(char::is_alphabetic)) => {
            let heading = words(first).concat();
            if HEADINGS.contains(&heading.as_str()) { rest.trim_start() } else { text }
        }
        _ => text,
    }
}

fn separators(chars: &[char], closes: &[Option<usize>]) -> bool {
    let mut at = 0;
    let mut count = 0;
    while at < chars.len() {
        count += usize::from(chars[at] != ':' && chars[at] != '.' && chars[at] != MAY && parts(chars, at));
        at = closes[at].map_or(at + 1, |close| close + 1);
    }
    count > 0
}

/// Whether the sign at this place parts two names.
fn parts(chars: &[char], at: usize) -> bool {
    let before = at.checked_sub(1).and_then(|b| chars.get(b)).copied();
    let after = chars.get(at + 1).copied();
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    match chars[at] {
        // 1,2-Hexanediol; 0,5 %.
        ',' => !(digit(before) && digit(after)),
        ';' | '；' | '，' | '、' | '|' | '•' | '·' | '●' | '▪' | '◦' | '‣' | '∙' | '\t' | MAY => true,
        ':' => !(digit(before) && digit(after)),
        // A sentence's end; no C.I. and no 0.5.
        '.' => {
            let ends = after.is_none_or(char::is_whitespace);
            let word = chars[..at].iter().rev().take_while(|c| c.is_alphanumeric()).count();
            ends && word != 1
        }
        // A dash between blanks, or at a line's front.
        '-' | '–' | '—' => {
            let blank = |c: Option<char>| c.is_none_or(char::is_whitespace);
            let spans = chars[..at].iter().rev().find(|c| !c.is_whitespace()).is_some_and(char::is_ascii_digit);
            blank(before) && blank(after) && !spans
        }
        _ => false,
    }
}
