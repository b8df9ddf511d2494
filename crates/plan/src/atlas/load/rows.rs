//! Rows of all files, merged by id, and the getters that every sort of row needs.

use std::collections::BTreeMap;

use vocab::Pressure;
use vocab::read::{Table, Word};

use crate::atlas::{TechniqueIx, ToolIx};

/// A row that stands after merging.
pub(in crate::atlas) struct Row<'d, 't> {
    /// Its id.
    pub id: String,
    /// Its keys, with the lines on which they stand.
    pub table: Table<'d, 't>,
}

/// The most techniques of a target and tools of a technique: as many as the model has fits for.
pub(super) const MOST_PREFERRED: usize = 3;

/// The rows under `[[key]]` of all files by their `id`: later files replace, new ids come behind.
pub(in crate::atlas) fn merged<'d, 't>(roots: &[Table<'d, 't>], key: &str) -> Vec<Row<'d, 't>> {
    merged_by(roots, key, |table| {
        let word = table.need_text("id");
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        let code = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        let well_formed = if key == "point" { word.text.chars().all(code) } else { word.text.chars().all(plain) };
        if word.text.trim().is_empty() {
            return None;
        }
        if !well_formed {
            let allowed = if key == "point" { "letters, digits, - and _" } else { "small letters, digits and _" };
            let shown: String = word.text.chars().take(60).collect();
            table.document().note(word.line, format!("the id `{shown}` may hold only {allowed}"));
            return None;
        }
        Some(word)
    })
}

/// As [`merged`], for rows that are told apart by something other than `id`.
pub(in crate::atlas) fn merged_by<'d, 't>(
    roots: &[Table<'d, 't>],
    key: &str,
    id_of: impl Fn(&Table<'d, 't>) -> Option<Word>,
) -> Vec<Row<'d, 't>> {
    let mut rows: Vec<Row> = Vec::new();
    for root in roots {
        let mut lines: BTreeMap<String, usize> = BTreeMap::new();
        for table in root.tables(key) {
            let Some(Word { text: id, line }) = id_of(&table) else { continue };
            if let Some(first) = lines.get(&id) {
                let message = format!("{key} `{id}` stands already on line {first} of this file; keep one of them");
                table.document().note(line, message);
                continue;
            }
            lines.insert(id.clone(), line);
            let table = table.named(&format!("{key} `{id}`"));
            match rows.iter_mut().find(|row| row.id == id) {
                Some(row) => row.table = table,
                None => rows.push(Row { id, table }),
            }
        }
    }
    rows
}

/// The place of `word` among the known ids; an unknown one is noted with the nearest.
pub(in crate::atlas) fn look_up<'k>(
    table: &Table,
    key: &str,
    word: &Word,
    known: impl Iterator<Item = &'k str> + Clone,
) -> Option<usize> {
    let found = known.clone().position(|id| id == word.text);
    if found.is_none() {
        table.unknown_word(key, word, known);
    }
    found
}

/// Ids in order of preference under `key`: known, at most three, none twice.
pub(super) fn preferred<'k>(
    table: &Table,
    key: &str,
    known: impl Iterator<Item = &'k str> + Clone,
) -> Vec<(usize, Word)> {
    let words = table.words(key);
    if let Some(word) = words.get(MOST_PREFERRED) {
        let message = format!("`{key}` holds {}; at most {MOST_PREFERRED} are weighed", words.len());
        table.document().note(word.line, message);
    }
    let mut found: Vec<(usize, Word)> = Vec::new();
    for word in words {
        let Some(ix) = look_up(table, key, &word, known.clone()) else { continue };
        if found.iter().any(|(other, _)| *other == ix) {
            table.document().note(word.line, format!("`{key}` names `{}` twice", word.text));
            continue;
        }
        found.push((ix, word));
    }
    found
}

/// The technique places of [`preferred`].
pub(super) fn technique_places(found: &[(usize, Word)]) -> Vec<TechniqueIx> {
    found.iter().map(|(ix, _)| TechniqueIx(*ix)).collect()
}

/// The tool places of [`preferred`].
pub(super) fn tool_places(found: &[(usize, Word)]) -> Vec<ToolIx> {
    found.iter().map(|(ix, _)| ToolIx(*ix)).collect()
}

/// The pressure under `pressure`; the gentlest after noting a mistake.
pub(super) fn need_pressure(table: &Table) -> Pressure {
    let known = Pressure::ALL.iter().map(|p| (p.word(), *p)).collect::<Vec<_>>();
    table.need_choice("pressure", &known).unwrap_or(Pressure::Featherlight)
}

/// A number of seconds or laps that must be there, from `low` to `high`.
pub(super) fn need_u32(table: &Table, key: &str, low: u32, high: u32) -> u32 {
    u32::try_from(table.need_int(key, i64::from(low)..=i64::from(high))).unwrap_or(low)
}

/// An optional text that must not be blank when it is there.
pub(super) fn optional_text(table: &Table, key: &str) -> Option<String> {
    table.has(key).then(|| table.need_text(key).text)
}
