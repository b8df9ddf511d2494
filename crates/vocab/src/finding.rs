//! What is wrong with an input: where, what, and what to do about it.

use std::fmt;

/// One thing wrong in a file that a person wrote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The file's name as the person gave it.
    pub file: String,
    /// 1-based line; 0 when the file as a whole is meant.
    pub line: usize,
    /// What is wrong, and what to do.
    pub message: String,
}

impl Finding {
    /// A finding at a line of a file.
    pub fn new(file: impl Into<String>, line: usize, message: impl Into<String>) -> Self {
        Finding { file: file.into(), line, message: message.into() }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line == 0 {
            write!(f, "{}: {}", self.file, self.message)
        } else {
            write!(f, "{}:{}: {}", self.file, self.line, self.message)
        }
    }
}

/// The word of `known` that is nearest to `word`, if one is near enough to be a likely slip
/// (edit distance with transpositions at most a third of the longer word, and at most 3).
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = word.to_lowercase().replace([' ', '-'], "_").chars().take(64).collect();
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let other: Vec<char> = candidate.to_lowercase().chars().collect();
        let distance = edit_distance(&word, &other);
        let longest = word.len().max(other.len());
        if distance <= (longest / 3).clamp(1, 3) && best.is_none_or(|(d, _)| distance < d) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Optimal string alignment distance: insertions, deletions, substitutions, neighbour swaps.
fn edit_distance(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut rows = vec![0usize; (a.len() + 1) * width];
    for (j, cell) in rows.iter_mut().enumerate().take(width) {
        *cell = j;
    }
    for i in 1..=a.len() {
        rows[i * width] = i;
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut d = (rows[(i - 1) * width + j] + 1)
                .min(rows[i * width + j - 1] + 1)
                .min(rows[(i - 1) * width + j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                d = d.min(rows[(i - 2) * width + j - 2] + 1);
            }
            rows[i * width + j] = d;
        }
    }
    rows[a.len() * width + b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_finds_slips_and_refuses_strangers() {
        let known = ["minutes", "concerns", "tools", "both"];
        let check = |word: &str, expected: Option<&str>| {
            assert_eq!(nearest(word, known), expected, "nearest to {word}");
        };
        check("minuts", Some("minutes"));
        check("mintues", Some("minutes"));
        check("concern", Some("concerns"));
        check("Tools", Some("tools"));
        check("weather", None);
        check("", None);
    }
}
