//! What we say ourselves passes our own check: no text for people is found to be one that must not be said, needs a trial or a disclosure.

mod house;

use std::fmt::Write;
use std::path::Path;

use house::{Folder, run};
use publish::claims::{Rules, Verdict, check};
use publish::timed;
use vocab::read::{Document, Table};

/// Findings that are the check's error and not the text's: kind and topic, the words, the sentence, with tabs between. Each was read by
/// a person. Whoever mends the check takes rows out; a text that truly claims is changed and never put there.
const ERRORS: &str = include_str!("../../../tests/words/own-words-errors.tsv");

/// The keys of data that are for people to read; the others are ids, sources and numbers.
const SHOWN: &[&str] = &[
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

/// A text with the place where it stands.
struct Own {
    place: String,
    text: String,
}

fn root() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn text_of(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Every text of a TOML file, those of lists too; only these keys where some are named.
fn values(path: &str, keys: Option<&[&str]>) -> Vec<Own> {
    let text = text_of(path);
    let document = Document::parse(path, &text).unwrap_or_else(|e| panic!("{path}: {e:?}"));
    let mut found = Vec::new();
    within(&document.root(), path, keys, &mut found);
    found
}

fn within(table: &Table<'_, '_>, path: &str, keys: Option<&[&str]>, found: &mut Vec<Own>) {
    for key in table.keys() {
        let name = key.text.as_str();
        if table.is_table(name) {
            table.table(name).iter().for_each(|inner| within(inner, path, keys, found));
            continue;
        }
        if keys.is_none_or(|keys| keys.contains(&name)) {
            // A list is no text, and a number neither: then there is nothing here to read.
            let texts = table.text(name).map_or_else(|| table.words(name), |text| vec![text]);
            found.extend(texts.into_iter().map(|t| Own { place: format!("{path}:{} {name}", t.line), text: t.text }));
        }
        table.tables(name).iter().for_each(|inner| within(inner, path, keys, found));
    }
}

/// A document without its code: commands, names and formats are no sentences.
fn prose(path: &str) -> Own {
    let (mut text, mut code) = (String::new(), false);
    for line in text_of(path).lines() {
        if line.starts_with("```") {
            code = !code;
        } else if !code {
            let words: String = line.split('`').step_by(2).collect::<Vec<_>>().join("it");
            // A table's cells stand by themselves.
            let _ = writeln!(text, "{}", words.replace("| ", "\n\n").replace(" |", ""));
        }
    }
    Own { place: path.to_owned(), text }
}

/// A finding that must be mended: where, in which countries, and as it would stand among the errors.
struct Told {
    place: String,
    row: String,
}

/// What is found in them that must be mended, each statement once.
fn found(texts: &[Own]) -> Vec<Told> {
    let rules = Rules::shipped();
    let countries: Vec<String> = rules.countries().into_iter().map(|(code, _)| code).collect();
    assert!(countries.len() >= 3, "{countries:?}");
    let mut found: Vec<Told> = Vec::new();
    for own in texts {
        let Ok(spoken) = timed::read(&own.place, &own.text) else { continue };
        let sentences = spoken.sentences();
        for claim in check(&rules, &spoken, &countries).iter().filter(|c| c.verdict != Verdict::Ok) {
            let whole = sentences.iter().find(|s| s.at[0] <= claim.start && claim.start < s.at[s.at.len() - 1]);
            let whole = whole.map_or("", |s| s.text.as_str());
            let row = format!("{}/{}\t{}\t{whole}", claim.kind, claim.topic, claim.text);
            if !found.iter().any(|told| told.row == row) {
                found.push(Told { place: own.place.clone(), row });
            }
        }
    }
    found
}

fn hold(texts: &[Own], least: usize) {
    assert!(texts.len() >= least, "only {} texts were read", texts.len());
    let unknown: Vec<Told> =
        found(texts).into_iter().filter(|told| !ERRORS.lines().any(|row| row == told.row)).collect();
    let told: Vec<String> = unknown.iter().map(|t| format!("{}\n{}", t.place, t.row)).collect();
    assert!(told.is_empty(), "{} of our own words claim (or the check errs):\n{}", told.len(), told.join("\n"));
}

fn files(folder: &str, begins: &str) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(root().join(folder))
        .unwrap_or_else(|e| panic!("{folder}: {e}"))
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.starts_with(begins) && name.ends_with(".toml"))
        .map(|name| format!("{folder}/{name}"))
        .collect();
    names.sort();
    names
}

#[test]
fn the_test_itself_finds_a_claim() {
    let said = |text: &str| found(&[Own { place: String::from("here"), text: text.to_owned() }]);
    assert!(said("Rest your hand on the cheek and breathe out.").is_empty());
    assert!(!said("This massage erases wrinkles and cures migraine.").is_empty());
}

fn catalogue() -> Vec<Own> {
    files("crates/app/text", "en").iter().flat_map(|path| values(path, None)).collect()
}

fn data() -> Vec<Own> {
    let folders = [files("data/atlas", ""), files("data/screening", "")].concat();
    let mut texts: Vec<Own> = folders.iter().flat_map(|path| values(path, Some(SHOWN))).collect();
    texts.extend(values("data/words/evidence.toml", Some(SHOWN)));
    texts
}

/// Benchmarks, validation, walked and instance are proofs for whoever works on the program: figures of it, not of a massage.
fn documents() -> Vec<Own> {
    ["README.md", "docs/words.md", "docs/home-note.md", "docs/series.md"].map(prose).into_iter().collect()
}

fn examples() -> Vec<Own> {
    files("examples", "").iter().flat_map(|path| values(path, None)).collect()
}

#[test]
fn the_catalogue_claims_nothing() {
    hold(&catalogue(), 1500);
}

#[test]
fn the_data_claims_nothing() {
    hold(&data(), 600);
}

#[test]
fn the_documents_for_people_claim_nothing() {
    hold(&documents(), 4);
}

#[test]
fn the_examples_claim_nothing() {
    hold(&examples(), 50);
}

/// A row among the errors that the check no longer makes is taken out.
#[test]
fn no_error_is_excused_that_is_not_made() {
    let texts: Vec<Own> =
        [catalogue(), data(), documents(), examples(), vec![take_home()]].into_iter().flatten().collect();
    let made = found(&texts);
    let idle: Vec<&str> = ERRORS.lines().filter(|row| !made.iter().any(|told| told.row == *row)).collect();
    assert!(idle.is_empty(), "no longer made: {idle:#?}");
}

/// The page of a take-home as it is read, both of the guide and of the player.
fn take_home() -> Own {
    let folder = Folder::new(&format!("own-words-{:?}", std::thread::current().id()).replace(['(', ')'], ""));
    let said = run(&["takehome", &house::example("routine.toml"), "--out", &folder.file("out"), "--today", house::DAY]);
    assert_eq!(said.code, 0, "{}", said.err);
    let page = std::fs::read_to_string(Path::new(&folder.file("out")).join("routine.html")).expect("the page");
    let mut text = String::new();
    let mut rest = page.as_str();
    while let Some(open) = rest.find('<') {
        text.push_str(&rest[..open]);
        rest = &rest[open..];
        // What is script or style is not read by anybody.
        let end = ["script", "style"].iter().find(|tag| rest[1..].starts_with(**tag)).map(|tag| format!("</{tag}>"));
        let close = match &end {
            Some(end) => rest.find(end.as_str()).map(|at| at + end.len()),
            None => rest.find('>').map(|at| at + 1),
        };
        let inline = ["<b>", "</b>", "<em>", "</em>", "<span", "</span", "<strong", "</strong"]
            .iter()
            .any(|tag| rest.starts_with(tag));
        text.push_str(if inline { "" } else { "\n\n" });
        rest = &rest[close.unwrap_or(rest.len())..];
    }
    assert!(text.contains("collarbone"), "the page was not read: {text}");
    Own { place: String::from("routine.html"), text }
}

#[test]
fn a_take_home_claims_nothing() {
    hold(&[take_home()], 1);
}
