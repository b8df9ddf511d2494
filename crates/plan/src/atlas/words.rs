//! The texts of the atlas in another language: read from files of their own, checked against the atlas that ships, and put on any atlas.
//!
//! A row names a row of the atlas by its id and gives every text that this has, neither more nor fewer; a checklist's sentence, which has
//! no id, and the ground on which a link rests are named by their English. Nothing but texts is in these files.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use vocab::Finding;
use vocab::read::{Document, Table, Word};

use super::{Atlas, Kind, Shown};

macro_rules! word_files {
    ($language:literal: $($name:literal),+ $(,)?) => {
        &[$((
            concat!("words/", $language, "/", $name),
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/words/", $language, "/", $name)),
        )),+]
    };
}

const GERMAN: &[(&str, &str)] = word_files![
    "de": "techniques.toml", "zones.toml", "points.toml", "lines.toml", "concerns.toml", "grounds.toml", "groups.toml",
    "conditions.toml", "warning_signs.toml", "checklists.toml",
];

/// The tables that hold texts, and whether a row is named by its English text instead of an id.
const TABLES: &[(&str, bool)] = &[
    ("zone", false),
    ("zone_set", false),
    ("point", false),
    ("line", false),
    ("technique", false),
    ("tool", false),
    ("concern", false),
    ("ground", true),
    ("group", false),
    ("condition", false),
    ("warning_sign", false),
    ("check", true),
];

/// Keys that hold a list of texts.
const LISTS: &[&str] = &["dwell", "never"];

/// Where a text of an atlas stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TextPlace {
    /// The table, as in `point`.
    pub table: &'static str,
    /// The row: its id, or its English text where it has none.
    pub row: String,
    /// The key, as in `caution`.
    pub key: &'static str,
    /// Which of a list, counted from 0; 0 for a single text.
    pub number: usize,
}

/// The texts of the shipped atlas in one other language.
#[derive(Clone, Debug)]
pub struct Wording {
    texts: BTreeMap<TextPlace, Pair>,
}

#[derive(Clone, Debug)]
struct Pair {
    english: String,
    words: String,
}

impl Wording {
    /// German.
    ///
    /// # Panics
    /// Only if the shipped texts are broken, which the tests of this crate rule out.
    pub fn german() -> &'static Wording {
        static WORDING: OnceLock<Wording> = OnceLock::new();
        WORDING.get_or_init(|| match Wording::load(GERMAN, &Atlas::built_in()) {
            Ok(wording) => wording,
            Err(findings) => {
                let lines: Vec<String> = findings.iter().map(ToString::to_string).collect();
                panic!("the German texts of the atlas are broken:\n{}", lines.join("\n"))
            }
        })
    }

    /// Name and text of the German files.
    pub fn german_files() -> &'static [(&'static str, &'static str)] {
        GERMAN
    }

    /// Reads files given as (name, text) for the atlas that they translate.
    ///
    /// # Errors
    /// Everything that is wrong, with file and line: a row or text that the atlas does not have, one that it has and the files lack,
    /// one given twice, an empty one.
    pub fn load(files: &[(&str, &str)], english: &Atlas) -> Result<Wording, Vec<Finding>> {
        let mut documents = Vec::new();
        let mut findings = Vec::new();
        for (name, text) in files {
            match Document::parse(name, text) {
                Ok(document) => documents.push(document),
                Err(unreadable) => findings.extend(unreadable),
            }
        }
        if !findings.is_empty() {
            return Err(findings);
        }
        let mut wanted = wanted(english);
        let mut texts = BTreeMap::new();
        let mut homes: BTreeMap<&str, usize> = BTreeMap::new();
        for (number, document) in documents.iter().enumerate() {
            let root = document.root();
            for (table, by_english) in TABLES {
                for row in root.tables(table) {
                    homes.entry(table).or_insert(number);
                    read_row(row, table, *by_english, &mut wanted, &mut texts);
                }
            }
            root.need_text("source");
            root.finish();
        }
        for ((table, row), wanted) in &wanted {
            if let (false, Some(document)) = (wanted.read, documents.get(homes.get(table).copied().unwrap_or(0))) {
                let shown: String = row.chars().take(60).collect();
                document.note(0, format!("{table} `{shown}` has no texts here; add its [[{table}]]"));
            }
        }
        findings.extend(documents.into_iter().flat_map(Document::into_findings));
        if findings.is_empty() { Ok(Wording { texts }) } else { Err(findings) }
    }

    /// An atlas with these texts. A text that is not the shipped one, because a practitioner wrote or changed it, stays as it is;
    /// everything that is no text stays in any case.
    pub fn put_on(&self, atlas: &Atlas) -> Atlas {
        let mut atlas = atlas.clone();
        each(&mut atlas, &mut |place, text| {
            if let Some(pair) = self.texts.get(&place)
                && pair.english == *text
            {
                text.clone_from(&pair.words);
            }
        });
        atlas
    }

    /// The texts of an atlas that [`Wording::put_on`] leaves as they are.
    pub fn left_as_they_are(&self, atlas: &Atlas) -> Vec<(TextPlace, String)> {
        let mut left = Vec::new();
        each(&mut atlas.clone(), &mut |place, text| {
            if self.texts.get(&place).is_none_or(|pair| pair.english != *text) {
                left.push((place, text.clone()));
            }
        });
        left
    }

    /// Every text: where it stands, in English, in this language.
    pub fn pairs(&self) -> impl Iterator<Item = (&TextPlace, &str, &str)> {
        self.texts.iter().map(|(place, pair)| (place, pair.english.as_str(), pair.words.as_str()))
    }
}

/// A row of the atlas that texts are wanted for.
struct Wanted {
    /// Its texts: key, number, English.
    texts: Vec<(&'static str, usize, String)>,
    read: bool,
}

fn wanted(english: &Atlas) -> BTreeMap<(&'static str, String), Wanted> {
    let mut rows: BTreeMap<(&'static str, String), Wanted> = BTreeMap::new();
    each(&mut english.clone(), &mut |place, text| {
        let row = rows.entry((place.table, place.row)).or_insert(Wanted { texts: Vec::new(), read: false });
        let one = (place.key, place.number, text.clone());
        if !row.texts.contains(&one) {
            row.texts.push(one);
        }
    });
    rows
}

fn read_row(
    row: Table,
    table: &'static str,
    by_english: bool,
    wanted: &mut BTreeMap<(&'static str, String), Wanted>,
    texts: &mut BTreeMap<TextPlace, Pair>,
) {
    let id_key = if by_english { "english" } else { "id" };
    let Word { text: id, line } = row.need_text(id_key);
    if id.trim().is_empty() {
        return;
    }
    let shown: String = id.chars().take(60).collect();
    if !wanted.contains_key(&(table, id.clone())) {
        let known: Vec<String> = wanted.keys().filter(|(t, _)| *t == table).map(|(_, id)| id.clone()).collect();
        row.named(&format!("{table} ")).unknown_word(
            id_key,
            &Word { text: id, line },
            known.iter().map(String::as_str),
        );
        return;
    }
    let Some(wanted) = wanted.get_mut(&(table, id.clone())) else { return };
    let row = row.named(&format!("{table} `{shown}`"));
    if wanted.read {
        row.document().note(line, format!("{table} `{shown}` has its texts already; keep one of them"));
        return;
    }
    wanted.read = true;
    for key in row.keys() {
        if key.text != id_key && !wanted.texts.iter().any(|(known, ..)| *known == key.text) {
            let message = format!("{table} `{shown}`: the atlas has no `{}` here; leave it out", key.text);
            row.document().note(key.line, message);
        }
    }
    for (key, number, english) in &wanted.texts {
        let words = if LISTS.contains(key) {
            let list = row.words(key);
            let most = wanted.texts.iter().filter(|(k, ..)| k == key).count();
            if *number == 0 && list.len() != most {
                let message = format!("{table} `{shown}`: `{key}` holds {}, and the atlas has {most}", list.len());
                row.document().note(row.line_of(key), message);
            }
            let Some(word) = list.into_iter().nth(*number) else { continue };
            if word.text.trim().is_empty() {
                row.document().note(word.line, format!("{table} `{shown}`: a text of `{key}` is empty"));
            }
            word.text
        } else {
            row.need_text(key).text
        };
        let place = TextPlace { table, row: id.clone(), key, number: *number };
        texts.insert(place, Pair { english: english.clone(), words });
    }
}

/// Shows every text of an atlas with its place. The name of a zone comes twice: the zone is a target too.
fn each(atlas: &mut Atlas, visit: &mut dyn FnMut(TextPlace, &mut String)) {
    let mut one = |table, row: &str, key, text: &mut String| {
        visit(TextPlace { table, row: row.to_owned(), key, number: 0 }, text);
    };
    for zone in &mut atlas.zones {
        one("zone", &zone.id, "name", &mut zone.name);
    }
    for set in &mut atlas.zone_sets {
        one("zone_set", &set.id, "name", &mut set.name);
    }
    for tool in &mut atlas.tools {
        one("tool", &tool.id, "name", &mut tool.name);
        one("tool", &tool.id, "care", &mut tool.care);
    }
    for concern in &mut atlas.concerns {
        one("concern", &concern.id, "name", &mut concern.name);
        one("concern", &concern.id, "known", &mut concern.known);
        for link in &mut concern.links {
            let english = link.source.clone();
            one("ground", &english, "text", &mut link.source);
        }
    }
    for group in &mut atlas.groups {
        one("group", &group.id, "question", &mut group.question);
        one("group", &group.id, "think_of", &mut group.think_of);
    }
    for c in &mut atlas.conditions {
        one("condition", &c.id, "name", &mut c.name);
        one("condition", &c.id, "question", &mut c.question);
        one("condition", &c.id, "reason", &mut c.reason);
        one("condition", &c.id, "action", &mut c.action);
        one("condition", &c.id, "spoken", &mut c.spoken);
    }
    for sign in &mut atlas.warning_signs {
        one("warning_sign", &sign.id, "sign", &mut sign.sign);
        one("warning_sign", &sign.id, "action", &mut sign.action);
    }
    for item in &mut atlas.checklists {
        let english = item.text.clone();
        one("check", &english, "text", &mut item.text);
    }
    targets_and_techniques(atlas, visit);
}

fn targets_and_techniques(atlas: &mut Atlas, visit: &mut dyn FnMut(TextPlace, &mut String)) {
    let mut some = |table, row: &str, key, number, text: Option<&mut String>| {
        if let Some(text) = text {
            visit(TextPlace { table, row: row.to_owned(), key, number }, text);
        }
    };
    for t in &mut atlas.targets {
        let table = match t.kind {
            Kind::Zone => "zone",
            Kind::Point => "point",
            Kind::Line => "line",
        };
        let because = match &mut t.shown {
            Shown::Never(because) => Some(because),
            _ => None,
        };
        some(table, &t.id, "name", 0, Some(&mut t.name));
        some(table, &t.id, "find", 0, Some(&mut t.find));
        some(table, &t.id, "caution", 0, t.caution.as_mut());
        some(table, &t.id, "rule", 0, t.rule.as_mut());
        some(table, &t.id, "direction", 0, t.direction.as_mut());
        some(table, &t.id, "never_because", 0, because);
        for (number, text) in t.dwell.iter_mut().enumerate() {
            some(table, &t.id, "dwell", number, Some(text));
        }
    }
    for t in &mut atlas.techniques {
        some("technique", &t.id, "name", 0, Some(&mut t.name));
        some("technique", &t.id, "says", 0, Some(&mut t.says));
        some("technique", &t.id, "direction", 0, Some(&mut t.direction));
        some("technique", &t.id, "support", 0, t.support.as_mut());
        some("technique", &t.id, "other_hand", 0, t.other_hand.as_mut());
        for (number, text) in t.never.iter_mut().enumerate() {
            some("technique", &t.id, "never", number, Some(text));
        }
    }
}
