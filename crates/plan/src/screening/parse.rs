//! Reads an answers file (`examples/answers.toml` explains it); every mistake is a finding with its line.

use vocab::read::{Document, Table, Word};
use vocab::{Date, Finding, Side};

use super::answers::{Answer, Answers, Cleared, Own, SignToday};
use crate::atlas::{Atlas, Condition, ConditionIx, GroupIx, RuleZones, ZoneIx};

/// The sides a client can name.
const SIDES: &[(&str, Side)] = &[("left", Side::Left), ("right", Side::Right), ("both", Side::Both)];

impl Answers {
    /// Reads an answers file; `file` is the name used in findings.
    ///
    /// # Errors
    /// Everything that is wrong in the file, in the order of its lines.
    pub fn parse(file: &str, text: &str, atlas: &Atlas) -> Result<Answers, Vec<Finding>> {
        let document = Document::parse(file, text)?;
        let root = document.root();
        let mut answers = Answers::unknown(atlas);
        answers.asked = root.date("asked");
        if let Some(table) = root.table("groups") {
            for key in table.keys() {
                let answer = table.choice(&key.text, Answer::WORDS);
                match atlas.group_named(&key.text) {
                    Some(GroupIx(ix)) => answers.groups[ix] = answer,
                    None => table.unknown_word("groups", &key, atlas.groups.iter().map(|g| g.id.as_str())),
                }
            }
        }
        if let Some(table) = root.table("conditions") {
            for key in table.keys() {
                match atlas.condition_named(&key.text) {
                    Some(ConditionIx(ix)) => {
                        answers.conditions[ix] = own(&table, &key, &atlas.conditions[ix], atlas);
                    }
                    None => table.unknown_word("conditions", &key, atlas.conditions.iter().map(|c| c.id.as_str())),
                }
            }
        }
        answers.signs = signs(&root, atlas);
        root.finish();
        let findings = document.into_findings();
        if findings.is_empty() { Ok(answers) } else { Err(findings) }
    }
}

/// The answer under a condition's id: a word, or a table with where, side, since and so on.
fn own(table: &Table, key: &Word, condition: &Condition, atlas: &Atlas) -> Option<Own> {
    if !table.is_table(&key.text) {
        return table.choice(&key.text, Answer::WORDS).map(Own::new);
    }
    let row = table.table(&key.text)?.named(&format!("condition `{}`", key.text));
    let asks_where = !condition.places.is_empty();
    for (name, asked) in [("where", asks_where), ("side", condition.asks_side), ("since", condition.asks_since)] {
        if row.has(name) && !asked {
            let message = format!("`{}` is not asked `{name}`: it would change nothing; leave it out", key.text);
            row.document().note(row.line_of(name), message);
        }
    }
    let own = Own {
        answer: row.need_choice("answer", Answer::WORDS).unwrap_or(Answer::Unknown),
        places: places(&row, &condition.places, atlas),
        side: row.choice("side", SIDES),
        since: row.date("since"),
        until: row.date("until"),
        asked: row.date("asked"),
        cleared: cleared(&row),
    };
    if own.answer != Answer::Yes {
        for name in ["where", "side", "since", "cleared"].into_iter().filter(|name| row.has(name)) {
            let message = format!("`{}` says `{name}`, but its answer is not \"yes\"", key.text);
            row.document().note(row.line_of(name), message);
        }
    }
    row.finish();
    Some(own)
}

/// The zones under `where`, each among those that are offered. Zone sets may be named.
fn places(row: &Table, offered: &[ZoneIx], atlas: &Atlas) -> Vec<ZoneIx> {
    let mut found = Vec::new();
    if offered.is_empty() {
        return found;
    }
    for word in row.words("where") {
        let zones = match (atlas.zone_named(&word.text), atlas.zone_set(&word.text)) {
            (Some(zone), _) => vec![zone],
            (None, Some(set)) => set.zones.clone(),
            (None, None) => {
                row.unknown_word("where", &word, offered.iter().map(|z| atlas.zone(*z).id.as_str()));
                continue;
            }
        };
        let outside: Vec<ZoneIx> = zones.iter().copied().filter(|z| !offered.contains(z)).collect();
        if let Some(zone) = outside.first() {
            let known: Vec<&str> = offered.iter().map(|z| atlas.zone(*z).id.as_str()).collect();
            let zone = &atlas.zone(*zone).id;
            let message =
                format!("`where` names `{zone}`, which is not offered here; offered are: {}", known.join(", "));
            row.document().note(word.line, message);
        }
        found.extend(zones);
    }
    if row.has("where") && found.is_empty() {
        row.document().note(row.line_of("where"), "`where` names no place; leave it out if it is not known");
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// A clinician's word: by whom, on which day, until which day.
fn cleared(row: &Table) -> Option<Cleared> {
    let table = row.table("cleared")?.named("cleared");
    let by = table.need_text("by").text;
    let day = |key: &str| -> Option<Date> {
        if !table.has(key) {
            table.note(format!(
                "`cleared` needs `{key}`, a date: a clinician's word counts with who, when and until when"
            ));
        }
        table.date(key)
    };
    let (on, until) = (day("on"), day("until"));
    table.finish();
    let (on, until) = (on?, until?);
    if until < on {
        row.document().note(row.line_of("cleared"), "`cleared` ends before it begins: `until` must not be before `on`");
    }
    Some(Cleared { by, on, until })
}

/// The warning signs of today: a list of ids, or a table of ids with where and side.
fn signs(root: &Table, atlas: &Atlas) -> Vec<SignToday> {
    let ids = || atlas.warning_signs.iter().map(|s| s.id.as_str());
    let mut found = Vec::new();
    if !root.is_table("warning_signs") {
        for word in root.words("warning_signs") {
            match ids().position(|id| id == word.text) {
                Some(sign) => found.push(SignToday { sign, places: Vec::new(), side: None }),
                None => root.unknown_word("warning_signs", &word, ids()),
            }
        }
        return found;
    }
    let Some(table) = root.table("warning_signs") else { return found };
    for key in table.keys() {
        let Some(sign) = ids().position(|id| id == key.text) else {
            table.unknown_word("warning_signs", &key, ids());
            continue;
        };
        let Some(row) = table.table(&key.text) else { continue };
        let row = row.named(&format!("warning sign `{}`", key.text));
        let data = &atlas.warning_signs[sign];
        if row.has("where") && (data.places.is_empty() || data.zones != RuleZones::Where) {
            row.document().note(row.line_of("where"), format!("`{}` is not asked `where`; leave it out", key.text));
        }
        found.push(SignToday { sign, places: places(&row, &data.places, atlas), side: row.choice("side", SIDES) });
        row.finish();
    }
    found
}
