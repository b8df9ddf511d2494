use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::*;

/// Every file of this kind under a folder of the crate.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                found.push(path);
            }
        }
    }
    found
}

/// Every text in quotes of this source that is a key, or has the form of one (`section.name`) and is no name of a file.
fn quoted_keys(source: &str, sections: &BTreeSet<&str>, known: &BTreeSet<String>) -> BTreeSet<String> {
    let is_key = |word: &&str| {
        if known.contains(*word) {
            return true;
        }
        let mut parts = word.split('.');
        let section = parts.next().is_some_and(|s| sections.contains(s));
        let name = parts.next().is_some_and(|n| {
            !n.is_empty()
                && !["css", "js", "html", "toml", "pdf", "ics"].contains(&n)
                && n.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
        });
        section && name && parts.next().is_none()
    };
    source.split('"').skip(1).step_by(2).filter(is_key).map(str::to_owned).collect()
}

#[test]
fn every_key_used_exists_and_none_is_unused() {
    let known: BTreeSet<String> = all().keys().cloned().collect();
    assert!(known.len() > 150, "the catalogue did not load");
    let sections: BTreeSet<&str> = known.iter().filter_map(|k| k.split('.').next()).collect();
    let mut used = BTreeSet::new();
    let mut sources = files("src", "rs");
    sources.extend(files("../plan/src", "rs"));
    sources.extend(files("../vocab/src", "rs"));
    for path in sources.iter().filter(|p| !p.ends_with("catalogue_tests.rs")) {
        let source = fs::read_to_string(path).expect("a source file");
        used.extend(quoted_keys(&source, &sections, &known));
    }
    let missing: Vec<_> = used.difference(&known).collect();
    let unused: Vec<_> = known.difference(&used).collect();
    assert!(missing.is_empty(), "the code uses keys that the catalogue lacks: {missing:?}");
    assert!(unused.is_empty(), "the catalogue has keys that nothing uses: {unused:?}");
}

/// Beginnings of words that claim an effect on the body, or promise one.
const CLAIMS: &[&str] = &[
    "drain",
    "detox",
    "heal",
    "cure",
    "curing",
    "treat",
    "remov",
    "lifting",
    "lifts",
    "toxin",
    "stimulat",
    "guarantee",
    "clears",
    "cleans",
    "flush",
    "rejuvenat",
    "younger",
    "anti-age",
    "anti-aging",
    "boost",
    "tighten",
    "sculpt",
    "slim",
    "erase",
    "eliminat",
    "miracle",
    "instantly",
    "proven to",
    "scientifically",
    "wrinkle",
    "circulation",
    "lymph",
    "opens your",
];

/// What is meant otherwise, each with its place: names of illnesses and procedures in screening, negations, tools.
const ALLOWED: &[(&str, &str)] = &[
    ("data/screening", "heal"),
    ("data/screening", "treat"),
    ("data/screening", "flush"),
    ("data/screening", "remov"),
    ("data/screening", "lifts"),
    ("data/screening", "lymph"),
    ("data/screening", "stimulat"),
    ("data/screening", "circulation"),
    ("data/screening", "drain"),
    ("data/screening", "lifting"),
    ("data/screening", "toxin"),
];

pub(crate) fn claims_in(text: &str) -> Vec<&'static str> {
    let text = text.to_lowercase();
    // "Health" and "healthy" are no claims.
    let begins = |at: usize| {
        !text[..at].chars().next_back().is_some_and(char::is_alphanumeric) && !text[at..].starts_with("health")
    };
    CLAIMS.iter().filter(|claim| text.match_indices(**claim).any(|(at, _)| begins(at))).copied().collect()
}

#[test]
fn the_words_check_finds_claims() {
    assert_eq!(claims_in("It drains the face and will heal you."), ["drain", "heal"]);
    assert!(claims_in("Let the hand rest on the cheek; health comes first.").is_empty());
    assert!(claims_in("Rest the finger beside the nose.").is_empty());
}

#[test]
fn no_text_of_the_catalogue_claims_anything() {
    // Of what is kept about people, never of a face: these speak of the cabinet.
    let of_records = ["changes.", "client.", "device.", "leave.", "prac.", "safe.", "store."];
    for (key, text) in all() {
        let records = of_records.iter().any(|section| key.starts_with(section)) || key == "course.n_erased";
        // What a client agrees to says that it is no treatment.
        let denies = key == "consent.care_text";
        let meant = |claim: &str| (records && claim == "erase") || (denies && claim == "treat");
        let found: Vec<_> = claims_in(text).into_iter().filter(|claim| !meant(claim)).collect();
        assert_eq!(found, Vec::<&str>::new(), "{key}: {text}");
        assert!(!text.contains('!'), "{key} shouts: {text}");
    }
}

/// Texts of the data that are shown to people: every quoted value but ids, sources and the anatomical graph.
#[test]
fn no_text_of_the_data_claims_anything() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data");
    let shown = [
        "name",
        "find",
        "caution",
        "says",
        "direction",
        "support",
        "other_hand",
        "question",
        "think_of",
        "reason",
        "action",
        "spoken",
        "sign",
        "text",
        "care",
        "note",
        "known",
    ];
    let mut read = 0;
    for file in [
        "atlas/zones",
        "atlas/points",
        "atlas/lines",
        "atlas/techniques",
        "atlas/concerns",
        "screening/groups",
        "screening/conditions",
        "screening/warning_signs",
        "screening/checklists",
    ] {
        let path = data.join(format!("{file}.toml"));
        let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        for (number, line) in text.lines().enumerate() {
            let Some((key, value)) = line.split_once(" = ") else { continue };
            if !shown.contains(&key.trim()) {
                continue;
            }
            read += 1;
            let place = format!("data/{file}");
            let allowed = |claim: &&str| ALLOWED.iter().any(|(at, word)| place.starts_with(at) && word == claim);
            let found: Vec<_> = claims_in(value).into_iter().filter(|c| !allowed(c)).collect();
            assert!(found.is_empty(), "{place}.toml:{}: {found:?} in {value}", number + 1);
        }
    }
    assert!(read > 300, "only {read} texts were read");
}

#[test]
fn lists_and_times_read_well() {
    assert_eq!(listed(&["a"]), "a");
    assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
    assert_eq!(seconds(45), "45 seconds");
    assert_eq!(seconds(60), "1 minute");
    assert_eq!(seconds(120), "2 minutes");
    assert_eq!(seconds(465), "7 min 45 s");
    assert_eq!(clock(65), "1:05");
    assert_eq!(full_stop("x"), "x.");
}

thread_local! {
    /// The keys that were asked on this thread and that its language lacked.
    pub(crate) static ASKED_IN_VAIN: std::cell::RefCell<BTreeSet<String>> = const { std::cell::RefCell::new(BTreeSet::new()) };
}
