//! A practice's own country and words (TOML).

use std::collections::BTreeSet;

use vocab::Finding;
use vocab::read::{Document, Table};

use super::lexicon::Meaning;
use super::rules::{Country, Meant, verdict};
use super::{Rules, summed};

/// How sure a practice's own wording is: as sure as a plain one of ours.
const SURE: f64 = 0.9;
/// Letters of the longest own wording.
const LONGEST: usize = 120;

/// Adds what the file holds.
///
/// # Errors
/// Everything wrong in it, each with its line and what to do.
pub(super) fn with(mut rules: Rules, name: &str, toml: &str) -> Result<Rules, Vec<Finding>> {
    let document = Document::parse(name, toml)?;
    let root = document.root();
    let country = root.table("country");
    let (verdicts, words) = (root.tables("verdict"), root.tables("words"));
    if country.is_none() && words.is_empty() {
        document.note(0, "there is neither a [country] nor [[words]] in it: add one of them");
    }
    if country.is_none() && !verdicts.is_empty() {
        document.note(verdicts[0].line(), "a [[verdict]] belongs to a country: add [country] with code and name");
    }
    let known: BTreeSet<(String, String)> = rules.countries.iter().flat_map(|(_, c)| c.meant.keys().cloned()).collect();
    if let Some(table) = country {
        let (code, country) = own_country(&rules, &document, &table, &verdicts, &known);
        rules.countries.push((code, country));
        table.finish();
    }
    for table in verdicts {
        table.finish();
    }
    for table in words {
        let table = table.named("words");
        if let Some((kind, topic)) = statement(&table, &known, true) {
            own_words(&mut rules, &document, &table, &kind, &topic);
        }
        table.need_text("source");
        table.finish();
    }
    root.finish();
    let findings = document.into_findings();
    if !findings.is_empty() {
        return Err(findings);
    }
    rules.sum = summed(summed(rules.sum, name), toml);
    Ok(rules)
}

fn own_country(
    rules: &Rules,
    document: &Document<'_>,
    table: &Table<'_, '_>,
    verdicts: &[Table<'_, '_>],
    known: &BTreeSet<(String, String)>,
) -> (String, Country) {
    let code = table.need_text("code");
    let good = (2..=12).contains(&code.text.len())
        && code.text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if !code.text.is_empty() && !good {
        document.note(
            code.line,
            format!("`code` is `{}`: write 2 to 12 small letters, digits or hyphens, as `ch`", shown(&code.text)),
        );
    }
    if let Some((_, taken)) = rules.countries.iter().find(|(c, _)| *c == code.text) {
        document.note(
            code.line,
            format!("`code` is `{}`, which is {} already: choose another", shown(&code.text), taken.name),
        );
    }
    let title = table.need_text("name");
    let mut country = Country { name: title.text.trim().to_owned(), ..Country::default() };
    let bases: Vec<(&str, Option<usize>)> = rules
        .countries
        .iter()
        .enumerate()
        .map(|(at, (code, _))| (code.as_str(), Some(at)))
        .chain([("none", None)])
        .collect();
    if let Some(Some(base)) = table.need_choice("based_on", &bases) {
        country.meant = rules.countries[base].1.meant.clone();
    }
    let mut seen = BTreeSet::new();
    for row in verdicts {
        let Some((kind, topic)) = statement(row, known, false) else { continue };
        let named = [("avoid", 0), ("needs_trial", 0), ("needs_disclosure", 0), ("ok", 0), ("none", 0)];
        row.need_choice("verdict", &named);
        let said = row.text("verdict").map(|w| w.text).unwrap_or_default();
        let (reason, source) = (row.need_text("reason"), row.need_text("source"));
        if !seen.insert((kind.clone(), topic.clone())) {
            row.note(format!("{kind} with topic {} stands here twice: keep one", topic.as_deref().unwrap_or("(all)")));
        }
        let rule = format!("{}_{kind}{}", code.text, topic.as_ref().map(|t| format!("_{t}")).unwrap_or_default());
        for key in known.iter().filter(|(k, t)| *k == kind && topic.as_ref().is_none_or(|topic| topic == t)) {
            // A row for one topic holds before one for all.
            if topic.is_none() && seen.contains(&(kind.clone(), Some(key.1.clone()))) {
                continue;
            }
            let meant = Meant {
                verdict: verdict(&said),
                rule: rule.clone(),
                reason: Some(reason.text.trim().to_owned()),
                source: Some(source.text.trim().to_owned()),
            };
            country.meant.insert(key.clone(), meant);
        }
    }
    (code.text, country)
}

/// Type and topic of a row; what is unknown is noted with the nearest.
fn statement(row: &Table<'_, '_>, known: &BTreeSet<(String, String)>, whole: bool) -> Option<(String, Option<String>)> {
    let kind = row.need_text("type");
    let kinds: BTreeSet<&str> = known.iter().map(|(k, _)| k.as_str()).collect();
    if !kinds.contains(kind.text.as_str()) {
        if !kind.text.is_empty() {
            row.unknown_word("type", &kind, kinds);
        }
        row.text("topic");
        return None;
    }
    if whole && !row.has("topic") {
        row.need_text("topic");
        return None;
    }
    let topic = row.text("topic");
    if let Some(topic) = &topic {
        let topics: Vec<&str> = known.iter().filter(|(k, _)| *k == kind.text).map(|(_, t)| t.as_str()).collect();
        if !topics.contains(&topic.text.as_str()) {
            row.unknown_word("topic", topic, topics);
            return None;
        }
    }
    Some((kind.text, topic.map(|t| t.text)))
}

fn own_words(rules: &mut Rules, document: &Document<'_>, row: &Table<'_, '_>, kind: &str, topic: &Option<String>) {
    let list = row.words("words");
    if list.is_empty() {
        row.note("`words` is missing: a list of wordings in quotes, as words = [\"moon glow\"]");
    }
    for word in list {
        let text = word.text.trim();
        if text.chars().count() > LONGEST {
            document.note(
                word.line,
                format!("`{}` is longer than {LONGEST} letters: give the words that make the statement", shown(text)),
            );
        } else if text.chars().any(|c| !(c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'' | '’'))) {
            document.note(
                word.line,
                format!("`{}`: a wording holds letters, digits, blanks, hyphens and apostrophes", shown(text)),
            );
        } else if text.chars().filter(|c| c.is_alphanumeric()).count() < 2 {
            document.note(word.line, "a wording needs two letters at least");
        } else {
            let meaning = Meaning {
                kind: kind.to_owned(),
                topic: topic.clone().unwrap_or_default(),
                sure: SURE,
                fixed: false,
                own: true,
            };
            if let Err(error) = rules.lexicon.add_frame(text, meaning) {
                document.note(word.line, error);
            }
        }
    }
}

fn shown(text: &str) -> String {
    text.chars().take(60).collect()
}
