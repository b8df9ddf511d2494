//! The words of data/words/recordings: parts, landmarks, wordings of places, ways, manners of saying.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use vocab::Finding;
use vocab::read::{Document, Table};

const FILES: &[(&str, &str)] = &[
    ("words/recordings/landmarks.toml", include_str!("../../../../data/words/recordings/landmarks.toml")),
    ("words/recordings/places.toml", include_str!("../../../../data/words/recordings/places.toml")),
    ("words/recordings/ways.toml", include_str!("../../../../data/words/recordings/ways.toml")),
    ("words/recordings/manner.toml", include_str!("../../../../data/words/recordings/manner.toml")),
];

/// Words that say nothing about where a place lies.
const SMALL: &[&str] = &[
    "the",
    "a",
    "an",
    "your",
    "my",
    "our",
    "his",
    "her",
    "their",
    "this",
    "that",
    "these",
    "those",
    "of",
    "in",
    "at",
    "on",
    "just",
    "really",
    "very",
    "little",
    "small",
    "soft",
    "tiny",
    "slight",
    "slightly",
    "natural",
    "bony",
    "fleshy",
    "exactly",
    "directly",
    "you",
    "we",
    "i",
    "it",
    "can",
    "will",
    "is",
    "are",
    "feel",
    "find",
    "where",
    "both",
    "each",
    "either",
    "left",
    "right",
    "other",
    "with",
    "for",
    "which",
    "own",
    "where's",
    "that's",
    "bit",
    "only",
    "actual",
    "whole",
    "entire",
    "nice",
    "lovely",
    "beautiful",
    "again",
    "maybe",
    "about",
    "roughly",
    "first",
    "lower-lying",
    "called",
    "them",
    "they",
    "spot",
    "place",
    "area",
    "point",
    "part",
    "spots",
    "points",
    "so",
    "called",
    "sort",
    "kind",
    "me",
    "us",
    "'em",
    "breadth",
    "breadths",
];

/// A wording: its words and whose it is.
#[derive(Clone, Debug)]
pub struct Wording {
    /// The words, as [`stem`] leaves them.
    pub words: Vec<String>,
    /// What it stands for.
    pub is: String,
}

/// Wordings by their first word, longest first.
#[derive(Clone, Debug, Default)]
pub struct Wordings(BTreeMap<String, Vec<Wording>>);

impl Wordings {
    fn add(&mut self, words: Vec<String>, is: &str) {
        if let Some(first) = words.first().cloned() {
            self.0.entry(first).or_default().push(Wording { words, is: is.to_owned() });
        }
    }

    fn sort(&mut self) {
        for all in self.0.values_mut() {
            all.sort_by_key(|w| std::cmp::Reverse(w.words.len()));
        }
    }

    /// How many stand for this.
    pub fn count(&self, is: &str) -> usize {
        self.0.values().flatten().filter(|w| w.is == is).count()
    }

    /// Those that begin with this word.
    pub fn beginning(&self, word: &str) -> &[Wording] {
        self.0.get(word).map_or(&[], Vec::as_slice)
    }
}

/// A line by its ends.
#[derive(Clone, Debug)]
pub struct Way {
    /// The target's id.
    pub target: String,
    /// Landmarks at its beginning.
    pub from: Vec<String>,
    /// Landmarks at its end.
    pub to: Vec<String>,
    /// Wordings of which one must be on the way; empty: any way.
    pub by: Vec<Vec<String>>,
}

/// A zone that is stroked in a direction: the line that runs so.
#[derive(Clone, Debug)]
pub struct Run {
    /// The zone's id.
    pub zone: String,
    /// The line's id.
    pub target: String,
    /// Words of which one tells the direction.
    pub said: Vec<String>,
}

/// A manner of saying something: `kind` as in `action`, `is` as in `circle`.
#[derive(Clone, Debug)]
pub struct Manner {
    /// `action`, `tool`, `pressure`, `side` or `cue`.
    pub kind: &'static str,
    /// Which.
    pub is: String,
    /// The words, in small letters.
    pub words: Vec<String>,
}

/// All of it.
#[derive(Clone, Debug, Default)]
pub struct Lexicon {
    parts: Wordings,
    landmarks: Wordings,
    /// Wordings of places, `is` the target's id.
    pub places: Wordings,
    /// The order of targets in the data: earlier is meant rather.
    pub rank: BTreeMap<String, usize>,
    /// Lines by their ends, in order.
    pub ways: Vec<Way>,
    /// Zones stroked in a direction.
    pub runs: Vec<Run>,
    /// Words of a part or a landmark: no gap of a wording reaches over one.
    pub known: BTreeMap<String, ()>,
    manners: BTreeMap<String, Vec<Manner>>,
    /// The techniques of an action, in order.
    pub techniques: BTreeMap<String, Vec<String>>,
}

/// The lexicon that ships; it is read once.
pub fn shipped() -> &'static Lexicon {
    static SHIPPED: OnceLock<Lexicon> = OnceLock::new();
    SHIPPED.get_or_init(|| Lexicon::read(FILES).unwrap_or_default())
}

impl Lexicon {
    /// Reads data files.
    ///
    /// # Errors
    /// Every mistake with its line.
    pub fn read(files: &[(&str, &str)]) -> Result<Lexicon, Vec<Finding>> {
        let mut all = Lexicon::default();
        let mut wrong = Vec::new();
        for pass in ["part", "landmark", "rest"] {
            for (name, text) in files {
                let document = Document::parse(name, text)?;
                let root = document.root();
                all.take(&root, pass);
                if pass == "rest" {
                    root.finish();
                    wrong.extend(document.into_findings());
                }
            }
            all.parts.sort();
            all.landmarks.sort();
        }
        all.places.sort();
        for all in all.manners.values_mut() {
            all.sort_by_key(|m| std::cmp::Reverse(m.words.len()));
        }
        if wrong.is_empty() { Ok(all) } else { Err(wrong) }
    }

    fn take(&mut self, root: &Table, pass: &str) {
        for (key, kind) in [("part", "part"), ("landmark", "landmark")] {
            for table in root.tables(key) {
                let is = stem(&table.need_text("is").text);
                let said = table.words("said");
                table.need_text("source");
                if pass == kind {
                    for word in &said {
                        let plain = if kind == "part" { content(&word.text) } else { self.parted(&word.text) };
                        if kind == "part" { &mut self.parts } else { &mut self.landmarks }.add(plain, &is);
                    }
                    self.known.insert(is, ());
                }
                table.finish();
            }
        }
        for table in root.tables("place") {
            let target = table.need_text("target").text;
            let said = table.words("said");
            table.need_text("source");
            if pass == "rest" {
                let rank = self.rank.len();
                self.rank.entry(target.clone()).or_insert(rank);
                for word in said {
                    let words = self.normal(&word.text);
                    self.places.add(words, &target);
                }
            }
            table.finish();
        }
        for table in root.tables("way") {
            let target = table.need_text("target").text;
            let list = |key: &str| -> Vec<String> { table.words(key).iter().map(|w| stem(&w.text)).collect() };
            let (from, to) = (list("from"), list("to"));
            let by: Vec<Vec<String>> = table.words("by").iter().map(|w| self.normal(&w.text)).collect();
            table.need_text("source");
            if pass == "rest" {
                self.ways.push(Way { target, from, to, by });
            }
            table.finish();
        }
        for table in root.tables("run") {
            let (zone, target) = (table.need_text("zone").text, table.need_text("target").text);
            let said = table.words("said").into_iter().map(|w| w.text).collect();
            table.need_text("source");
            if pass == "rest" {
                self.runs.push(Run { zone, target, said });
            }
            table.finish();
        }
        for kind in ["action", "tool", "pressure", "side", "cue"] {
            for table in root.tables(kind) {
                let is = table.need_text("is").text;
                let said = table.words("said");
                let techniques: Vec<String> = table.words("techniques").into_iter().map(|w| w.text).collect();
                table.need_text("source");
                if pass == "rest" {
                    if kind == "action" {
                        self.techniques.insert(is.clone(), techniques);
                    }
                    for word in said {
                        let words: Vec<String> = word.text.split_whitespace().map(str::to_lowercase).collect();
                        if let Some(first) = words.first() {
                            let row = Manner { kind, is: is.clone(), words: words.clone() };
                            self.manners.entry(stem(first)).or_default().push(row);
                        }
                    }
                }
                table.finish();
            }
        }
    }

    /// Words with parts put in.
    fn parted(&self, text: &str) -> Vec<String> {
        let words: Vec<(String, usize, usize)> = content(text).into_iter().map(|w| (w, 0, 0)).collect();
        put(words, &self.parts).into_iter().map(|(w, _, _)| w).collect()
    }

    /// A wording as it is compared.
    pub fn normal(&self, text: &str) -> Vec<String> {
        let words: Vec<(String, usize, usize)> = content(text).into_iter().map(|w| (w, 0, 0)).collect();
        put(put(words, &self.parts), &self.landmarks).into_iter().map(|(w, _, _)| w).collect()
    }

    /// Words, each with the first and the last token that it comes from, as they are compared.
    pub fn compared(&self, words: Vec<(String, usize, usize)>) -> Vec<(String, usize, usize)> {
        put(put(words, &self.parts), &self.landmarks)
    }

    /// What begins with a word of this stem, longest first.
    pub fn manners(&self, stem: &str) -> &[Manner] {
        self.manners.get(stem).map_or(&[], Vec::as_slice)
    }
}

/// Puts the longest wordings in place of their words.
fn put(words: Vec<(String, usize, usize)>, by: &Wordings) -> Vec<(String, usize, usize)> {
    let mut out = Vec::with_capacity(words.len());
    let mut i = 0;
    while i < words.len() {
        let fits =
            |w: &&Wording| w.words.len() <= words.len() - i && w.words.iter().zip(&words[i..]).all(|(a, b)| *a == b.0);
        match by.beginning(&words[i].0).iter().find(fits) {
            Some(found) => {
                let n = found.words.len();
                out.push((found.is.clone(), words[i].1, words[i + n - 1].2));
                i += n;
            }
            None => {
                out.push(words[i].clone());
                i += 1;
            }
        }
    }
    out
}

/// Whether a word says nothing about where a place lies; `next`: the word after it.
pub fn small(word: &str, next: Option<&str>) -> bool {
    match word {
        "two" | "one" => !next.is_some_and(|n| n.starts_with("third")),
        _ => SMALL.contains(&word),
    }
}

/// The words of a text that count, as they are compared.
fn content(text: &str) -> Vec<String> {
    let plain = text.to_lowercase().replace("'s", "").replace('\'', "");
    let words: Vec<&str> = plain.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let keep = |i: &usize| !small(words[*i], words.get(i + 1).copied());
    (0..words.len()).filter(keep).map(|i| stem(words[i])).collect()
}

/// A word without its ending: presses, pressing, pressed are one. Only good for comparing.
pub fn stem(word: &str) -> String {
    // "we'll" is no well.
    let word = word.strip_suffix("'ll").unwrap_or(word);
    let mut w = word.to_lowercase().replace("'s", "").replace(['\'', '’', '_'], "");
    if w == "teeth" || w == "feet" || w.starts_with("earring") {
        return w;
    }
    if w.len() > 4 && w.ends_with("ies") {
        w.truncate(w.len() - 3);
        w.push('y');
    } else if w.len() > 3 && w.ends_with('s') && !w.ends_with("ss") && !w.ends_with("us") && !w.ends_with("is") {
        w.pop();
    }
    for ending in ["ing", "ed"] {
        if w.len() >= ending.len() + 3 && w.ends_with(ending) {
            w.truncate(w.len() - ending.len());
            break;
        }
    }
    if w.len() > 3 && w.ends_with('e') {
        w.pop();
    }
    let mut last: Vec<char> = w.chars().collect();
    if last.len() > 3
        && last[last.len() - 1] == last[last.len() - 2]
        && !matches!(last[last.len() - 1], 'a' | 'e' | 'i' | 'o' | 'u')
    {
        last.pop();
    }
    last.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_data_reads() {
        let read = Lexicon::read(FILES);
        assert!(read.is_ok(), "{:?}", read.err());
    }

    #[test]
    fn endings_are_passed_over() {
        let same = |a: &str, b: &str| assert_eq!(stem(a), stem(b), "{a} {b}");
        for (a, b) in [
            ("presses", "pressing"),
            ("circles", "circling"),
            ("temples", "temple"),
            ("eyes", "eye"),
            ("wings", "wing"),
        ] {
            same(a, b);
        }
        assert_ne!(stem("lip"), stem("lid"));
    }

    #[test]
    fn a_wording_is_compared_by_its_landmarks() {
        let all = shipped();
        let check = |a: &str, b: &str| assert_eq!(all.normal(a), all.normal(b), "{a} / {b}");
        check("just beneath your cheek bones", "under the cheekbone");
        check("right next to the wing of the nose", "beside the nostril");
        check("where the eyebrow begins", "the inner end of your brow");
        check("the corners of the mouth", "mouth corner");
    }
}
