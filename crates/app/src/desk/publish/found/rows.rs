//! The rules that ship, row by row, as they are shown: in our own words, with source and mark.

use std::sync::OnceLock;

/// A rule.
pub struct Row {
    /// Its id.
    pub id: String,
    /// Where it holds: `US`, `EU`, `UK`.
    pub country: String,
    /// What it says, in our own words.
    pub meaning: String,
    /// Where it stands.
    pub source: String,
    /// `found`, `secondary` or `memory`.
    pub mark: String,
}

const RULES: &str = include_str!("../../../../../../data/words/claims/rules.csv");

/// All of them, in the order of the file.
pub fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let mut table = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(RULES.as_bytes());
        let field = |r: &csv::StringRecord, n: usize| r.get(n).unwrap_or_default().to_owned();
        let row = |r: csv::StringRecord| Row {
            id: field(&r, 0),
            country: field(&r, 1),
            meaning: field(&r, 3),
            source: field(&r, 5),
            mark: field(&r, 6),
        };
        table.records().filter_map(Result::ok).map(row).collect()
    })
}

/// The rule of this id; none: it is no rule that ships.
pub fn row(id: &str) -> Option<&'static Row> {
    rows().iter().find(|r| r.id == id)
}
