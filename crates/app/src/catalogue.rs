//! The catalogue: every text that a person reads, in one place, by key; in English, and what a client gets in German too.
//!
//! Templates hold places in braces (`{name}`). A test proves that every key the code uses exists, and that no
//! key of the catalogue is unused; another checks the words of every text.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use plan::atlas::{Atlas, Wording};
use vocab::Phrases;
use vocab::read::{Document, Table};

use crate::language;
pub use crate::language::{Language, in_language};

/// The files of the catalogue: one for what everybody reads, one for each larger part of the desk.
const ENGLISH: &[(&str, &str)] = &[
    ("text/en.toml", include_str!("../text/en.toml")),
    ("text/en-cabinet.toml", include_str!("../text/en-cabinet.toml")),
    ("text/en-visit.toml", include_str!("../text/en-visit.toml")),
    ("text/en-live.toml", include_str!("../text/en-live.toml")),
    ("text/en-editor.toml", include_str!("../text/en-editor.toml")),
    ("text/en-practice.toml", include_str!("../text/en-practice.toml")),
    ("text/en-product.toml", include_str!("../text/en-product.toml")),
    ("text/en-play.toml", include_str!("../text/en-play.toml")),
    ("text/en-session.toml", include_str!("../text/en-session.toml")),
    ("text/en-demo.toml", include_str!("../text/en-demo.toml")),
    ("text/en-takehome.toml", include_str!("../text/en-takehome.toml")),
    ("text/en-guide.toml", include_str!("../text/en-guide.toml")),
    ("text/en-follow.toml", include_str!("../text/en-follow.toml")),
    ("text/en-weeks.toml", include_str!("../text/en-weeks.toml")),
    ("text/en-report.toml", include_str!("../text/en-report.toml")),
    ("text/en-courses.toml", include_str!("../text/en-courses.toml")),
    ("text/en-publish.toml", include_str!("../text/en-publish.toml")),
    ("text/en-words.toml", include_str!("../text/en-words.toml")),
    ("text/en-captions.toml", include_str!("../text/en-captions.toml")),
    ("text/en-recordings.toml", include_str!("../text/en-recordings.toml")),
];

/// The same keys in German, as far as anything that a client gets uses them.
const GERMAN: &[(&str, &str)] = &[
    ("text/de.toml", include_str!("../text/de.toml")),
    ("text/de-play.toml", include_str!("../text/de-play.toml")),
    ("text/de-takehome.toml", include_str!("../text/de-takehome.toml")),
    ("text/de-guide.toml", include_str!("../text/de-guide.toml")),
    ("text/de-follow.toml", include_str!("../text/de-follow.toml")),
    ("text/de-report.toml", include_str!("../text/de-report.toml")),
    ("text/de-captions.toml", include_str!("../text/de-captions.toml")),
];

static CATALOGUES: [OnceLock<BTreeMap<String, String>>; Language::ALL.len()] = [const { OnceLock::new() }; 2];

/// Every key with its text in English, sections joined with a dot.
pub fn all() -> &'static BTreeMap<String, String> {
    all_in(Language::English)
}

/// As [`all`], in this language.
pub fn all_in(language: Language) -> &'static BTreeMap<String, String> {
    let files = match language {
        Language::English => ENGLISH,
        Language::German => GERMAN,
    };
    CATALOGUES[language as usize].get_or_init(|| {
        let mut texts = BTreeMap::new();
        for (name, file) in files {
            if let Ok(document) = Document::parse(name, file) {
                collect(&document.root(), "", &mut texts);
            }
        }
        texts
    })
}

fn collect(table: &Table<'_, '_>, above: &str, texts: &mut BTreeMap<String, String>) {
    for key in table.keys() {
        let full = if above.is_empty() { key.text.clone() } else { format!("{above}.{}", key.text) };
        if table.is_table(&key.text) {
            if let Some(inner) = table.table(&key.text) {
                collect(&inner, &full, texts);
            }
        } else if let Some(text) = table.text(&key.text) {
            texts.insert(full, text.text);
        }
    }
}

/// The text of a key in the language of now. What a language lacks shows in English and is noted; a key that the catalogue
/// lacks shows as itself, so that a page still stands.
pub fn text(key: &'static str) -> &'static str {
    look_up(key).unwrap_or(key)
}

fn look_up(key: &str) -> Option<&'static str> {
    let language = language::now();
    let found = all_in(language).get(key).or_else(|| {
        let english = all().get(key);
        if english.is_some() {
            missing::note(language, key);
        }
        english
    });
    found.map(String::as_str)
}

/// What a language lacked when it was asked.
mod missing {
    use std::collections::BTreeSet;
    use std::sync::Mutex;

    use super::Language;

    static NOTED: Mutex<BTreeSet<(Language, String)>> = Mutex::new(BTreeSet::new());

    /// Says it once, on standard error. The tests of the texts prove that no client's paper comes to this.
    pub fn note(language: Language, key: &str) {
        #[cfg(test)]
        super::tests::ASKED_IN_VAIN.with_borrow_mut(|keys| keys.insert(key.to_owned()));
        if NOTED.lock().is_ok_and(|mut noted| noted.insert((language, key.to_owned()))) {
            eprintln!("tragion: no text in the language `{language}` for `{key}`; the English one stands");
        }
    }
}

/// The catalogue as what the pure crates ask for words.
pub struct Catalogue;

impl Phrases for Catalogue {
    fn say<'a>(&'a self, key: &'a str) -> &'a str {
        look_up(key).unwrap_or(key)
    }
}

/// The text of a key with its places filled.
pub fn fill(key: &'static str, values: &[(&str, &dyn std::fmt::Display)]) -> String {
    Catalogue.fill(key, values)
}

/// A list in words: "a", "a and b", "a, b and c".
pub fn listed<S: AsRef<str>>(items: &[S]) -> String {
    Catalogue.list(&items.iter().map(|i| i.as_ref().to_owned()).collect::<Vec<_>>())
}

/// An atlas in the words of a language. A practitioner's own rows, and rows that they changed, keep their own words.
pub fn atlas_in(language: Language, atlas: &Atlas) -> Cow<'_, Atlas> {
    match language {
        Language::English => Cow::Borrowed(atlas),
        Language::German => Cow::Owned(Wording::german().put_on(atlas)),
    }
}

/// Seconds as people say them: "45 seconds", "7 min 45 s", "8 minutes".
pub fn seconds(s: u32) -> String {
    match (s / 60, s % 60) {
        (0, 1) => text("time.one_second").to_owned(),
        (0, s) => fill("time.seconds", &[("s", &s)]),
        (1, 0) => text("time.one_minute").to_owned(),
        (m, 0) => fill("time.minutes", &[("m", &m)]),
        (m, s) => fill("time.minutes_seconds", &[("m", &m), ("s", &s)]),
    }
}

/// Seconds as on a clock: `7:45`.
pub fn clock(s: u32) -> String {
    format!("{}:{:02}", s / 60, s % 60)
}

/// The first letter made large, for a sentence that begins with a name of the atlas.
pub fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The first letter made small, for a name of the atlas within a sentence; not in German, where a noun keeps its capital.
pub fn lower_first(words: &str) -> String {
    if language::now() == Language::German {
        return words.to_owned();
    }
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// With a full stop at its end.
pub fn full_stop(words: &str) -> String {
    let words = words.trim_end();
    if words.ends_with(['.', '?']) { words.to_owned() } else { format!("{words}.") }
}

#[cfg(test)]
#[path = "catalogue_tests.rs"]
pub(crate) mod tests;

#[cfg(test)]
#[path = "german_tests.rs"]
pub(crate) mod german_tests;
