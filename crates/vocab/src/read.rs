//! Reads TOML so that every mistake names its line, its key and the nearest right key.
//!
//! Getters never fail: a mistake is noted as a [`Finding`] in the document and the getter answers with
//! `None` or an empty list, so that one reading reports every mistake of a file.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::{Date, Finding, nearest};

/// The largest file that is read, in bytes: far above any honest one.
pub const MAX_BYTES: usize = 4 * 1024 * 1024;

/// A parsed TOML file with the findings made while it is read.
pub struct Document<'t> {
    file: String,
    text: &'t str,
    line_starts: Vec<usize>,
    root: DeTable<'t>,
    findings: RefCell<Vec<Finding>>,
}

impl<'t> Document<'t> {
    /// Parses `text`; `file` is the name used in findings.
    ///
    /// # Errors
    /// The syntax errors of the file, each with its line.
    pub fn parse(file: &str, text: &'t str) -> Result<Document<'t>, Vec<Finding>> {
        if text.len() > MAX_BYTES {
            let message = format!("the file has {} bytes; at most {MAX_BYTES} are read", text.len());
            return Err(vec![Finding::new(file, 0, message)]);
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut line_starts = vec![0];
        line_starts.extend(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1));
        let (root, errors) = DeTable::parse_recoverable(text);
        let root = root.into_inner();
        let document = Document { file: file.to_owned(), text, line_starts, root, findings: RefCell::default() };
        if errors.is_empty() {
            return Ok(document);
        }
        let findings = errors.iter().map(|e| {
            let line = e.span().map_or(0, |span| document.line_at(span.start));
            let message = e.message().lines().map(str::trim).collect::<Vec<_>>().join("; ");
            Finding::new(file, line, format!("this is not valid TOML: {message}"))
        });
        Err(findings.collect())
    }

    fn line_at(&self, offset: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= offset)
    }

    /// The top-level table.
    pub fn root(&self) -> Table<'_, 't> {
        Table { document: self, table: &self.root, line: 1, used: RefCell::default(), what: String::new() }
    }

    /// Notes a mistake at a line (0: the whole file).
    pub fn note(&self, line: usize, message: impl Into<String>) {
        self.findings.borrow_mut().push(Finding::new(&self.file, line, message));
    }

    /// The file's name as given.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The text that was parsed.
    pub fn text(&self) -> &str {
        self.text
    }

    /// Everything noted so far, in the order of the lines.
    pub fn into_findings(self) -> Vec<Finding> {
        let mut findings = self.findings.into_inner();
        findings.sort_by_key(|f| f.line);
        findings
    }
}

/// One table of a document. Keys that no getter asked for are mistakes, found by [`Table::finish`].
pub struct Table<'d, 't> {
    document: &'d Document<'t>,
    table: &'d DeTable<'t>,
    line: usize,
    used: RefCell<BTreeSet<String>>,
    what: String,
}

/// A text with the line on which it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// The text.
    pub text: String,
    /// Its 1-based line.
    pub line: usize,
}

impl<'d, 't> Table<'d, 't> {
    /// The document it belongs to.
    pub fn document(&self) -> &'d Document<'t> {
        self.document
    }

    /// The line on which the table begins.
    pub fn line(&self) -> usize {
        self.line
    }

    /// Notes a mistake at this table's own line.
    pub fn note(&self, message: impl Into<String>) {
        self.document.note(self.line, message);
    }

    /// The line of a key, or of the table when the key is absent.
    pub fn line_of(&self, key: &str) -> usize {
        self.raw(key).map_or(self.line, |v| self.document.line_at(v.span().start))
    }

    /// Whether the key is present.
    pub fn has(&self, key: &str) -> bool {
        self.raw(key).is_some()
    }

    /// The keys of this table with their lines, marked as used: for tables whose keys are data.
    pub fn keys(&self) -> Vec<Word> {
        let mut words: Vec<Word> = self
            .table
            .iter()
            .map(|(key, _)| {
                let text = key.get_ref().to_string();
                self.used.borrow_mut().insert(text.clone());
                Word { text, line: self.document.line_at(key.span().start) }
            })
            .collect();
        words.sort_by_key(|w| w.line);
        words
    }

    fn raw(&self, key: &str) -> Option<&'d Spanned<DeValue<'t>>> {
        self.used.borrow_mut().insert(key.to_owned());
        self.table.get(key)
    }

    fn wrong(&self, key: &str, value: &Spanned<DeValue<'t>>, wanted: &str) {
        let line = self.document.line_at(value.span().start);
        let got = value.get_ref().type_str();
        self.document.note(line, format!("{}`{key}` must be {wanted}, but here it is of type {got}", self.what));
    }

    fn missing(&self, key: &str) {
        let near = self.table.keys().map(|k| k.get_ref().to_string()).find(|k| nearest(k, [key]).is_some());
        let hint = near.map(|k| format!(" (is `{k}` meant to be `{key}`?)")).unwrap_or_default();
        self.note(format!("{}`{key}` is missing{hint}", self.what));
    }

    /// An optional text.
    pub fn text(&self, key: &str) -> Option<Word> {
        let value = self.raw(key)?;
        match value.get_ref() {
            DeValue::String(s) => Some(Word { text: s.to_string(), line: self.document.line_at(value.span().start) }),
            _ => {
                self.wrong(key, value, "a text in quotes");
                None
            }
        }
    }

    /// A text that must be there and not be blank; answers an empty word after noting a mistake.
    pub fn need_text(&self, key: &str) -> Word {
        if !self.has(key) {
            self.missing(key);
        }
        match self.text(key) {
            Some(word) if word.text.trim().is_empty() => {
                self.document.note(word.line, format!("{}`{key}` is empty", self.what));
                word
            }
            Some(word) => word,
            None => Word { text: String::new(), line: self.line },
        }
    }

    /// An optional whole number within bounds.
    pub fn int(&self, key: &str, bounds: RangeInclusive<i64>) -> Option<i64> {
        let value = self.raw(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(n) => i64::from_str_radix(&n.as_str().replace('_', ""), n.radix()).ok(),
            _ => None,
        };
        let line = self.document.line_at(value.span().start);
        let (low, high) = (*bounds.start(), *bounds.end());
        match number {
            Some(n) if bounds.contains(&n) => Some(n),
            Some(n) => {
                self.document.note(line, format!("{}`{key}` is {n}, but must be from {low} to {high}", self.what));
                None
            }
            None => {
                self.wrong(key, value, &format!("a whole number from {low} to {high}"));
                None
            }
        }
    }

    /// A whole number that must be there; answers the lower bound after noting a mistake.
    pub fn need_int(&self, key: &str, bounds: RangeInclusive<i64>) -> i64 {
        if !self.has(key) {
            self.missing(key);
        }
        let low = *bounds.start();
        self.int(key, bounds).unwrap_or(low)
    }

    /// A list of whole numbers within bounds; absent is empty, and what is out of bounds is noted and left out.
    pub fn ints(&self, key: &str, bounds: RangeInclusive<i64>) -> Vec<i64> {
        let Some(value) = self.raw(key) else { return Vec::new() };
        let wanted = format!("a list of whole numbers from {} to {}", bounds.start(), bounds.end());
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong(key, value, &wanted);
            return Vec::new();
        };
        let number = |item: &Spanned<DeValue<'t>>| {
            let found = match item.get_ref() {
                DeValue::Integer(n) => i64::from_str_radix(&n.as_str().replace('_', ""), n.radix()).ok(),
                _ => None,
            };
            let found = found.filter(|n| bounds.contains(n));
            if found.is_none() {
                let line = self.document.line_at(item.span().start);
                self.document.note(line, format!("{}`{key}` must be {wanted}", self.what));
            }
            found
        };
        items.iter().filter_map(number).collect()
    }

    /// An optional number (whole or decimal) within bounds.
    pub fn number(&self, key: &str, bounds: RangeInclusive<f64>) -> Option<f64> {
        let value = self.raw(key)?;
        let number: Option<f64> = match value.get_ref() {
            DeValue::Integer(n) => n.as_str().replace('_', "").parse().ok(),
            DeValue::Float(n) => n.as_str().replace('_', "").parse().ok(),
            _ => None,
        };
        match number {
            Some(n) if bounds.contains(&n) => Some(n),
            _ => {
                self.wrong(key, value, &format!("a number from {} to {}", bounds.start(), bounds.end()));
                None
            }
        }
    }

    /// An optional true or false.
    pub fn flag(&self, key: &str) -> Option<bool> {
        let value = self.raw(key)?;
        match value.get_ref() {
            DeValue::Boolean(b) => Some(*b),
            _ => {
                self.wrong(key, value, "true or false");
                None
            }
        }
    }

    /// An optional date, written bare (`2026-03-01`) or in quotes.
    pub fn date(&self, key: &str) -> Option<Date> {
        let value = self.raw(key)?;
        let date = match value.get_ref() {
            DeValue::Datetime(d) => d.date.and_then(|d| Date::new(i32::from(d.year), d.month, d.day)),
            DeValue::String(s) => Date::parse(s),
            _ => None,
        };
        if date.is_none() {
            self.wrong(key, value, "a date such as 2026-03-01");
        }
        date
    }

    /// A list of texts; absent is empty. A single text counts as a list of one.
    pub fn words(&self, key: &str) -> Vec<Word> {
        let Some(value) = self.raw(key) else { return Vec::new() };
        let line = self.document.line_at(value.span().start);
        match value.get_ref() {
            DeValue::String(s) => vec![Word { text: s.to_string(), line }],
            DeValue::Array(items) => items
                .iter()
                .filter_map(|item| match item.get_ref() {
                    DeValue::String(s) => {
                        Some(Word { text: s.to_string(), line: self.document.line_at(item.span().start) })
                    }
                    _ => {
                        self.wrong(key, item, "a list of texts in quotes");
                        None
                    }
                })
                .collect(),
            _ => {
                self.wrong(key, value, "a list of texts in quotes");
                Vec::new()
            }
        }
    }

    /// One word of a closed set; a wrong word is noted with the nearest right one.
    pub fn choice<T: Copy>(&self, key: &str, known: &[(&str, T)]) -> Option<T> {
        let word = self.text(key)?;
        let found = known.iter().find(|(name, _)| *name == word.text).map(|(_, value)| *value);
        if found.is_none() {
            self.unknown_word(key, &word, known.iter().map(|(name, _)| *name));
        }
        found
    }

    /// As [`Table::choice`], but the key must be there.
    pub fn need_choice<T: Copy>(&self, key: &str, known: &[(&str, T)]) -> Option<T> {
        if !self.has(key) {
            self.missing(key);
        }
        self.choice(key, known)
    }

    /// Notes that `word` under `key` is none of the known ones, with the nearest or the whole list.
    pub fn unknown_word<'k>(&self, key: &str, word: &Word, known: impl IntoIterator<Item = &'k str>) {
        let known: Vec<&str> = known.into_iter().collect();
        let shown: String = word.text.chars().take(60).collect();
        let hint = match nearest(&word.text, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.len() <= 24 => format!("known are: {}", known.join(", ")),
            None => "see the data folder for what is known".to_owned(),
        };
        self.document.note(word.line, format!("{}`{key}` names `{shown}`, which is not known; {hint}", self.what));
    }

    /// The tables of an array of tables (`[[key]]` or a list of inline tables); absent is empty.
    pub fn tables(&self, key: &str) -> Vec<Table<'d, 't>> {
        let Some(value) = self.raw(key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong(key, value, &format!("a list of tables, each under [[{key}]]"));
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| match item.get_ref() {
                DeValue::Table(table) => {
                    let line = self.document.line_at(item.span().start);
                    Some(Table { document: self.document, table, line, used: RefCell::default(), what: String::new() })
                }
                _ => {
                    self.wrong(key, item, "a table");
                    None
                }
            })
            .collect()
    }

    /// A nested table, if present.
    pub fn table(&self, key: &str) -> Option<Table<'d, 't>> {
        let value = self.raw(key)?;
        match value.get_ref() {
            DeValue::Table(table) => {
                let line = self.document.line_at(value.span().start);
                Some(Table { document: self.document, table, line, used: RefCell::default(), what: String::new() })
            }
            _ => {
                self.wrong(key, value, "a table");
                None
            }
        }
    }

    /// Whether the value under `key` is a table (rather than a text or a list).
    pub fn is_table(&self, key: &str) -> bool {
        self.table.get(key).is_some_and(|v| matches!(v.get_ref(), DeValue::Table(_)))
    }

    /// Puts a name before every further message of this table, as in "point `ST6`: ...".
    pub fn named(mut self, what: &str) -> Self {
        self.what = format!("{what}: ");
        self
    }

    /// Notes every key that no getter asked for, with the nearest key that one did ask for.
    pub fn finish(self) {
        let used = self.used.borrow();
        for (key, _) in self.table.iter() {
            let name = key.get_ref().to_string();
            if used.contains(&name) {
                continue;
            }
            let hint = match nearest(&name, used.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here: {}", used.iter().cloned().collect::<Vec<_>>().join(", ")),
            };
            let line = self.document.line_at(key.span().start);
            self.document.note(line, format!("{}unknown key `{name}`; {hint}", self.what));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typo_names_line_key_and_nearest() {
        let document = Document::parse("r.toml", "a = 1\nminuts = 8\n").expect("valid TOML");
        let root = document.root();
        assert_eq!(root.int("a", 0..=5), Some(1));
        assert_eq!(root.need_int("minutes", 2..=60), 2);
        root.finish();
        let found = document.into_findings();
        let text: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert!(text[0].contains("`minutes` is missing (is `minuts` meant"), "{text:?}");
        assert!(text[1].starts_with("r.toml:2: unknown key `minuts`; did you mean `minutes`?"), "{text:?}");
    }

    #[test]
    fn bounds_types_and_syntax_are_findings() {
        let document = Document::parse("r.toml", "n = 99\nt = 4\nl = [\"a\", 2]\nd = \"2023-02-30\"\n").expect("valid");
        let root = document.root();
        assert_eq!(root.int("n", 1..=9), None);
        assert_eq!(root.text("t"), None);
        assert_eq!(root.words("l").len(), 1);
        assert_eq!(root.date("d"), None);
        root.finish();
        assert_eq!(document.into_findings().iter().map(|f| f.line).collect::<Vec<_>>(), [1, 2, 3, 4]);
        let bad = Document::parse("r.toml", "a = 1\nb = = 2\n").err().expect("a syntax error");
        assert_eq!(bad[0].line, 2);
        let twice = Document::parse("r.toml", "a = 1\na = 2\n").err().expect("a duplicate key");
        assert_eq!(twice[0].line, 2);
    }

    #[test]
    fn tables_know_their_lines() {
        let document = Document::parse("r.toml", "\n[[step]]\nx = 1\n\n[[step]]\nx = 2\n").expect("valid TOML");
        let root = document.root();
        let lines: Vec<usize> = root.tables("step").iter().map(Table::line).collect();
        assert_eq!(lines, [2, 5]);
    }
}
