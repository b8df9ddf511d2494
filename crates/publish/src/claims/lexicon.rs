//! The words of the check as they lie in data/words/claims, read once.

use std::collections::HashMap;

use super::pattern::{Class, Mark, Marks, Patterns};
use super::token::{Known, Token};

/// A statement that a wording or a pair of effect and matter makes.
#[derive(Clone, Debug)]
pub(super) struct Meaning {
    /// As in verdicts.csv.
    pub kind: String,
    /// As in verdicts.csv.
    pub topic: String,
    /// How sure at best.
    pub sure: f64,
    /// Negation and questions are part of the wording.
    pub fixed: bool,
    /// A practice's own.
    pub own: bool,
}

/// Everything that is looked up.
#[derive(Clone, Debug, Default)]
pub(super) struct Lexicon {
    pub known: Known,
    names: Vec<String>,
    by_name: HashMap<String, Class>,
    words: Patterns,
    frames: Patterns,
    /// What the frames mean.
    pub meanings: Vec<Meaning>,
    /// Effect class and topic class: which meaning.
    pairs: HashMap<(Class, Class), usize>,
    effects: Vec<bool>,
    topics: Vec<bool>,
    harmless: Class,
}

/// Groups of classes that frames may name.
const GROUPS: &[(&str, &[&str])] = &[
    ("cond", &["condition", "skin_condition", "pain"]),
    (
        "bad",
        &[
            "condition",
            "skin_condition",
            "pain",
            "inflammation",
            "pigment",
            "dark_circles",
            "wrinkles",
            "sagging",
            "toxins",
        ],
    ),
];

/// Rows of a CSV that ships: fields by column, comments left out.
pub(super) fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).has_headers(true).from_reader(text.as_bytes());
    // Files that are read one after another each have their headings.
    let records = reader.records().filter_map(Result::ok).filter(|r| r.get(0) != Some("class"));
    records.map(|r| r.iter().map(str::to_owned).collect()).collect()
}

impl Lexicon {
    /// Reads the words that ship. What is wrong with them is told by the tests: each text is reported to `wrong`.
    pub fn read(
        effects: &str,
        topics: &str,
        context: &str,
        pairs: &str,
        frames: &str,
        wrong: &mut Vec<String>,
    ) -> Lexicon {
        let mut lexicon = Lexicon::default();
        for (text, kind) in [(effects, 0), (topics, 1), (context, 2)] {
            for row in rows(text) {
                let [class, words, _source] = row.as_slice() else { continue };
                let class = lexicon.class_made(class, kind);
                for words in words.split('|') {
                    let none = |_: &str| Vec::new();
                    // A noun stands as it is or in the plural: `healing` is no `heals`.
                    let noun = format!("={words}");
                    let words = if lexicon.name(class).ends_with("_n") && words.bytes().all(|b| b.is_ascii_alphabetic())
                    {
                        &noun
                    } else {
                        words
                    };
                    if let Err(error) = lexicon.words.add(&mut lexicon.known, &none, words, class as usize) {
                        wrong.push(error);
                    }
                }
            }
        }
        lexicon.harmless = lexicon.class("harmless");
        for row in rows(pairs) {
            let [effects, topics, kind, topic, sure, _source] = row.as_slice() else { continue };
            let meaning = lexicon.meanings.len();
            lexicon.meanings.push(Meaning {
                kind: kind.clone(),
                topic: topic.clone(),
                sure: sure.parse().unwrap_or(0.5),
                fixed: false,
                own: false,
            });
            for effect in effects.split('|') {
                for topic in topics.split('|') {
                    match (lexicon.by_name.get(effect), lexicon.by_name.get(topic)) {
                        (Some(effect), Some(topic)) => {
                            lexicon.topics[usize::from(*topic)] = true;
                            lexicon.pairs.insert((*effect, *topic), meaning);
                        }
                        _ => wrong.push(format!("there is no effect `{effect}` or matter `{topic}`")),
                    }
                }
            }
        }
        for row in rows(frames) {
            let [kind, topic, sure, scope, words, _source] = row.as_slice() else { continue };
            let meaning = Meaning {
                kind: kind.clone(),
                topic: topic.clone(),
                sure: sure.parse().unwrap_or(0.5),
                fixed: scope == "fixed",
                own: false,
            };
            for words in words.split('|') {
                if let Err(error) = lexicon.add_frame(words, meaning.clone()) {
                    wrong.push(error);
                }
            }
        }
        lexicon
    }

    /// Adds a wording that is a statement by itself.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn add_frame(&mut self, words: &str, meaning: Meaning) -> Result<(), String> {
        let of = self.meanings.len();
        let by_name = &self.by_name;
        let classes = |name: &str| -> Vec<Class> {
            match GROUPS.iter().find(|(group, _)| *group == name) {
                Some((_, members)) => members.iter().filter_map(|m| by_name.get(*m).copied()).collect(),
                None => by_name.get(name).copied().into_iter().collect(),
            }
        };
        self.frames.add(&mut self.known, &classes, words, of)?;
        self.meanings.push(meaning);
        Ok(())
    }

    fn class_made(&mut self, name: &str, kind: u8) -> Class {
        if let Some(class) = self.by_name.get(name) {
            return *class;
        }
        let class = self.names.len() as Class;
        self.names.push(name.to_owned());
        self.by_name.insert(name.to_owned(), class);
        self.effects.push(kind == 0);
        self.topics.push(kind == 1);
        class
    }

    /// The class of this name; one that stands for nothing if there is none.
    pub fn class(&self, name: &str) -> Class {
        self.by_name.get(name).copied().unwrap_or(Class::MAX)
    }

    /// The name of a class.
    pub fn name(&self, class: Class) -> &str {
        self.names.get(usize::from(class)).map_or("", String::as_str)
    }

    /// Is it an effect?
    pub fn effect(&self, class: Class) -> bool {
        self.effects.get(usize::from(class)).copied().unwrap_or(false)
    }

    /// Is it a matter?
    pub fn topic(&self, class: Class) -> bool {
        self.topics.get(usize::from(class)).copied().unwrap_or(false)
    }

    /// Is it a matter that people want to be rid of?
    pub fn unwanted(&self, class: Class) -> bool {
        GROUPS.iter().any(|(group, members)| *group == "bad" && members.contains(&self.name(class)))
    }

    /// What this effect on this matter means.
    pub fn pair(&self, effect: Class, topic: Class) -> Option<&Meaning> {
        self.pairs.get(&(effect, topic)).map(|m| &self.meanings[*m])
    }

    /// The marked words of a sentence. What is harmless swallows what lies within it; a longer matter swallows a shorter.
    pub fn marks(&self, tokens: &[Token]) -> Marks {
        let held = self.words.held(tokens, &Marks::default());
        let mut all: Vec<Mark> = held.into_iter().map(|h| Mark { class: h.of as Class, lo: h.lo, hi: h.hi }).collect();
        let harmless: Vec<(usize, usize)> =
            all.iter().filter(|m| m.class == self.harmless).map(|m| (m.lo, m.hi)).collect();
        if !harmless.is_empty() {
            let ends: Vec<(usize, usize)> = all.iter().filter(|m| self.topic(m.class)).map(|m| (m.lo, m.hi)).collect();
            // "Relax the jaw" is harmless, "relax the jaw muscle" is not.
            let harmless: Vec<(usize, usize)> =
                harmless.into_iter().filter(|(lo, hi)| !ends.iter().any(|(a, b)| a < hi && b > hi && a > lo)).collect();
            all.retain(|m| {
                let meant = self.effect(m.class) || self.topic(m.class);
                !meant || !harmless.iter().any(|(lo, hi)| *lo <= m.lo && m.hi <= *hi)
            });
        }
        let topics: Vec<(usize, usize)> = all.iter().filter(|m| self.topic(m.class)).map(|m| (m.lo, m.hi)).collect();
        all.retain(|m| {
            !self.topic(m.class) || !topics.iter().any(|(lo, hi)| *lo <= m.lo && m.hi <= *hi && hi - lo > m.hi - m.lo)
        });
        Marks::new(all, tokens.len())
    }

    /// The wordings of a sentence that are statements by themselves.
    pub fn framed(&self, tokens: &[Token], marks: &Marks) -> Vec<(usize, usize, usize)> {
        let harmless: Vec<(usize, usize)> = marks.of(self.harmless).map(|m| (m.lo, m.hi)).collect();
        let held = self.frames.held(tokens, marks).into_iter();
        held.filter(|h| !harmless.iter().any(|(lo, hi)| *lo <= h.lo && h.hi <= *hi))
            .map(|h| (h.of, h.lo, h.hi))
            .collect()
    }
}
