//! What trials say of massage of the face: `data/words/evidence.toml`, a source on every row, and the same in German.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use vocab::Finding;
use vocab::read::Document;

use crate::language::{self, Language};

const ENGLISH: (&str, &str) = ("words/evidence.toml", include_str!("../../../../data/words/evidence.toml"));
const GERMAN: (&str, &str) = ("words/de/evidence.toml", include_str!("../../../../data/words/de/evidence.toml"));

/// What a fact is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Massage of the face as such.
    Face,
    /// The colour under the eyes.
    UnderEyes,
    /// How somebody felt.
    Levels,
}

/// How far it can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// Next to nothing is known.
    VeryLow,
    /// Small, or nobody to compare with.
    Low,
    /// A rule, no trial.
    Code,
}

/// A fact with its source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// Its name.
    pub id: String,
    /// What it is about.
    pub about: About,
    /// What it says, in English.
    english: String,
    /// And in German.
    german: String,
    /// How far it can be trusted.
    pub grade: Grade,
    /// Where it comes from.
    pub source: String,
}

impl Fact {
    /// What it says, in the language of now.
    pub fn says(&self) -> &str {
        match language::now() {
            Language::English => &self.english,
            Language::German => &self.german,
        }
    }
}

/// All of them, in the order of the file.
///
/// # Panics
/// Only if the shipped file is broken, which a test rules out.
pub fn facts() -> &'static [Fact] {
    static FACTS: OnceLock<Vec<Fact>> = OnceLock::new();
    FACTS.get_or_init(|| {
        load(ENGLISH, GERMAN).unwrap_or_else(|findings| {
            let lines: Vec<String> = findings.iter().map(ToString::to_string).collect();
            panic!("the facts of trials are broken:\n{}", lines.join("\n"))
        })
    })
}

const ABOUT: &[(&str, About)] = &[("face", About::Face), ("under_eyes", About::UnderEyes), ("levels", About::Levels)];
const GRADES: &[(&str, Grade)] = &[("very_low", Grade::VeryLow), ("low", Grade::Low), ("code", Grade::Code)];

/// Reads the two files. Each fact has a text in both, and none is there twice.
///
/// # Errors
/// Everything that is wrong, with file and line.
fn load(english: (&str, &str), german: (&str, &str)) -> Result<Vec<Fact>, Vec<Finding>> {
    let (document, other) = (Document::parse(english.0, english.1)?, Document::parse(german.0, german.1)?);
    let mut words = BTreeMap::new();
    let (here, there) = (document.root(), other.root());
    there.need_text("source");
    for row in there.tables("fact") {
        let (id, says) = (row.need_text("id").text, row.need_text("says").text);
        if words.insert(id, says).is_some() {
            row.note("this fact is there twice; keep one of them");
        }
        row.finish();
    }
    let mut facts: Vec<Fact> = Vec::new();
    for row in here.tables("fact") {
        let (id, english) = (row.need_text("id").text, row.need_text("says").text);
        let (about, grade) = (row.need_choice("of", ABOUT), row.need_choice("grade", GRADES));
        let source = row.need_text("source").text;
        if facts.iter().any(|f| f.id == id) {
            row.note("this fact is there twice; keep one of them");
        } else if let (Some(about), Some(grade)) = (about, grade) {
            match words.remove(&id) {
                Some(german) => facts.push(Fact { id, about, english, german, grade, source }),
                None => row.note(format!("`{id}` has no German; add it to {}", german.0)),
            }
        }
        row.finish();
    }
    if let Some(id) = words.keys().next() {
        there.note(format!("`{id}` is no fact of {}", english.0));
    }
    there.finish();
    here.finish();
    let mut findings = document.into_findings();
    findings.extend(other.into_findings());
    if findings.is_empty() { Ok(facts) } else { Err(findings) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::german_tests::german_claims_in;
    use crate::catalogue::tests::claims_in;
    use crate::language::in_language;

    #[test]
    fn every_fact_has_both_languages_a_source_and_claims_nothing() {
        assert!(facts().len() >= 5);
        for fact in facts() {
            assert!(fact.source.len() > 10, "{}", fact.id);
            for language in Language::ALL {
                let says = in_language(language, || fact.says().to_owned());
                assert!(says.ends_with('.') && claims_in(&says).is_empty(), "{}: {says}", fact.id);
                assert!(language == Language::English || german_claims_in(&says).is_empty(), "{}: {says}", fact.id);
            }
            assert_ne!(fact.english, fact.german);
        }
        for about in [About::Face, About::UnderEyes, About::Levels] {
            assert!(facts().iter().any(|f| f.about == about));
        }
    }

    #[test]
    fn what_is_wrong_in_the_files_is_named() {
        let row = |id: &str, more: &str| format!("[[fact]]\nid = \"{id}\"\nsays = \"Something.\"\n{more}");
        let whole = "of = \"face\"\ngrade = \"low\"\nsource = \"a journal\"\n";
        let read = |english: &str, german: &str| load(("a.toml", english), ("b.toml", german));
        let source = "source = \"us\"\n";
        assert_eq!(read(&row("x", whole), &format!("{source}{}", row("x", ""))).map(|f| f.len()), Ok(1));
        let told = |english: &str, german: &str| {
            let wrong = read(english, &format!("{source}{german}")).expect_err("it is wrong");
            wrong.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
        };
        assert!(told(&row("x", "of = \"face\"\ngrade = \"low\"\n"), &row("x", "")).contains("source"));
        assert!(told(&row("x", whole), "").contains("`x` has no German"));
        assert!(told(&row("x", whole), &(row("x", "") + &row("y", ""))).contains("`y` is no fact"));
        assert!(told(&(row("x", whole) + &row("x", whole)), &row("x", "")).contains("twice"));
        assert!(told(&row("x", &whole.replace("low", "high")), &row("x", "")).contains("high"));
        assert!(told(&row("x", whole), &row("x", "more = 1\n")).contains("more"));
    }
}
