//! The lines of a file with their places, and what is noted of them.

use vocab::Finding;

/// Notes of one file at most; the rest is counted.
const MOST_NOTES: usize = 20;

/// One line without its end.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// From 1.
    pub number: usize,
    /// Where it begins, in code points of the file.
    pub at: usize,
    /// What stands in it.
    pub chars: &'a [char],
}

impl<'a> Row<'a> {
    /// Nothing but blanks.
    pub fn is_blank(&self) -> bool {
        self.chars.iter().all(|c| c.is_whitespace() || *c == '\u{feff}')
    }

    /// Without the blanks at both ends.
    pub fn trimmed(&self) -> Row<'a> {
        let blank = |c: &&char| c.is_whitespace() || **c == '\u{feff}';
        let from = self.chars.iter().take_while(blank).count();
        let until = self.chars.len() - self.chars[from..].iter().rev().take_while(blank).count();
        Row { at: self.at + from, chars: &self.chars[from..until], ..*self }
    }

    /// From this character on.
    pub fn after(&self, n: usize) -> Row<'a> {
        let n = n.min(self.chars.len());
        Row { at: self.at + n, chars: &self.chars[n..], ..*self }
    }

    /// Whether it begins with these letters.
    pub fn begins(&self, word: &str) -> bool {
        let mut chars = self.chars.iter();
        word.chars().all(|c| chars.next() == Some(&c))
    }

    /// Whether it holds an arrow.
    pub fn has_arrow(&self) -> bool {
        self.chars.windows(3).any(|w| w == ['-', '-', '>'])
    }

    /// Digits alone: the number of a cue.
    pub fn is_number(&self) -> bool {
        let row = self.trimmed();
        !row.chars.is_empty() && row.chars.len() < 10 && row.chars.iter().all(char::is_ascii_digit)
    }
}

/// Lines end at CR LF, LF or CR.
pub fn rows(chars: &[char]) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    let (mut from, mut at) = (0, 0);
    while at < chars.len() {
        let ends = match chars[at] {
            '\r' if chars.get(at + 1) == Some(&'\n') => 2,
            '\r' | '\n' => 1,
            _ => 0,
        };
        if ends > 0 {
            rows.push(Row { number: rows.len() + 1, at: from, chars: &chars[from..at] });
            from = at + ends;
        }
        at += ends.max(1);
    }
    if from < chars.len() {
        rows.push(Row { number: rows.len() + 1, at: from, chars: &chars[from..] });
    }
    rows
}

/// What is odd and does no harm.
pub struct Notes {
    name: String,
    found: Vec<Finding>,
    more: usize,
}

impl Notes {
    /// Nothing yet.
    pub fn new(name: &str) -> Notes {
        Notes { name: name.to_owned(), found: Vec::new(), more: 0 }
    }

    /// One more.
    pub fn add(&mut self, line: usize, message: impl Into<String>) {
        if self.found.len() < MOST_NOTES {
            self.found.push(Finding::new(self.name.clone(), line, message));
        } else {
            self.more += 1;
        }
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// All of them, by line.
    pub fn done(mut self) -> Vec<Finding> {
        self.found.sort_by_key(|f| f.line);
        if self.more > 0 {
            self.found.push(Finding::new(self.name, 0, format!("and {} more of this kind", self.more)));
        }
        self.found
    }
}
