//! The atlas's ingredients as they can be written, and which of them a written name is.
//!
//! A name is an ingredient when all of it is: no part of a word, no part of a name. Three ways are tried: the whole name or
//! another name of it; the same without the part of the plant, where what is made of it is said (`... Flower Oil`); and a
//! name that begins with the plant's own, for what is to be noticed in whatever shape it comes.

use std::collections::{BTreeMap, BTreeSet};

use super::fold::words;
use crate::atlas::Ingredient;

/// What is made of a plant; a name has to end so before the part of the plant may be missing.
const MADE: [&str; 4] = ["oil", "extract", "butter", "absolute"];
/// Parts of a plant.
const PARTS: [&str; 27] = [
    "flower",
    "flowers",
    "leaf",
    "leaves",
    "stem",
    "peel",
    "rind",
    "bark",
    "seed",
    "kernel",
    "nut",
    "root",
    "fruit",
    "herb",
    "twig",
    "wood",
    "bud",
    "germ",
    "branch",
    "rhizome",
    "needle",
    "resin",
    "gum",
    "plant",
    "top",
    "shoot",
    "flowering",
];
/// What is said of how it was grown or made, before a name or after it.
const PRAISE: [&str; 15] = [
    "organic",
    "bio",
    "pure",
    "natural",
    "virgin",
    "extra",
    "refined",
    "unrefined",
    "raw",
    "certified",
    "cold",
    "pressed",
    "coldpressed",
    "essential",
    "deterpenated",
];
/// What leads to a name within brackets or a sentence.
const LEADS: [&str; 16] = [
    "from",
    "aus",
    "contains",
    "contain",
    "containing",
    "enthalt",
    "enthalten",
    "incl",
    "including",
    "with",
    "mit",
    "and",
    "und",
    "contient",
    "contiene",
    "naturally",
];
/// At most so many spellings of one name are tried.
const MOST_SPELLINGS: usize = 64;

/// The known names.
pub struct Names {
    whole: BTreeMap<String, BTreeSet<usize>>,
    bare: BTreeMap<String, BTreeSet<usize>>,
    plants: Vec<(Vec<String>, usize)>,
}

impl Names {
    /// Reads them from the atlas.
    pub fn of(ingredients: &[Ingredient]) -> Names {
        let mut names = Names { whole: BTreeMap::new(), bare: BTreeMap::new(), plants: Vec::new() };
        for (ix, ingredient) in ingredients.iter().enumerate() {
            for name in std::iter::once(&ingredient.name).chain(&ingredient.also) {
                for spelling in spellings(name) {
                    let words = words(&spelling);
                    names.whole.entry(words.concat()).or_default().insert(ix);
                    if let Some(bare) = without_part(&words) {
                        names.bare.entry(bare).or_default().insert(ix);
                    }
                }
            }
            names.plants.extend(ingredient.plants.iter().map(|plant| (words(plant), ix)));
        }
        names
    }

    /// Which ingredients a name is, whatever spelling of it; brackets are not looked into.
    pub fn matching(&self, name: &str) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        for spelling in spellings(name) {
            let all = words(&spelling);
            // "Virgin" may belong to a name, so the name as it stands comes first.
            for words in [&all[..], trimmed(&all)] {
                if let Some(known) = self.whole.get(&words.concat()) {
                    found.extend(known);
                } else if let Some(known) = without_part(words).and_then(|bare| self.bare.get(&bare)) {
                    found.extend(known);
                }
                found.extend(self.plants.iter().filter(|(plant, _)| words.starts_with(plant)).map(|(_, ix)| *ix));
            }
        }
        found
    }
}

/// A name under which an ingredient is found: folded, without blanks. Two ingredients may not share one.
pub fn keys(name: &str) -> BTreeSet<String> {
    spellings(name).iter().map(|spelling| words(spelling).concat()).collect()
}

fn without_part(words: &[String]) -> Option<String> {
    let made = words.last().is_some_and(|w| MADE.contains(&w.as_str()));
    // A plant has two names or more; one word and "oil" is nobody's Latin.
    let bare: Vec<&str> = words.iter().map(String::as_str).filter(|w| !PARTS.contains(w)).collect();
    (made && bare.len() >= 3).then(|| bare.concat())
}

fn trimmed(words: &[String]) -> &[String] {
    let said = |w: &String| PRAISE.contains(&w.as_str()) || LEADS.contains(&w.as_str());
    let from = words.iter().position(|w| !said(w)).unwrap_or(words.len());
    let praise = |w: &String| PRAISE.contains(&w.as_str());
    let to = words.iter().rposition(|w| !praise(w)).map_or(from, |at| at + 1);
    words.get(from..to).unwrap_or_default()
}

/// A name with each slash between two words read as one, as the other and as both: `Flower/Leaf Oil`.
fn spellings(name: &str) -> Vec<String> {
    let mut all = vec![String::new()];
    for word in name.split_whitespace() {
        let choices: Vec<&str> = word.split('/').filter(|c| !c.is_empty()).collect();
        let mut next = Vec::new();
        for before in &all {
            let mut push = |choice: &str| next.push(format!("{before} {choice}"));
            push(word);
            if choices.len() > 1 && all.len() * (choices.len() + 1) <= MOST_SPELLINGS {
                choices.iter().for_each(|choice| push(choice));
            }
        }
        all = next;
    }
    all
}
