//! The rules that ship and what each kind of statement means by them, row by row, as they are shown: in our own words, with source and mark.

use std::sync::OnceLock;

use csv::StringRecord;

/// A rule.
pub struct Row {
    /// Its id.
    pub id: String,
    /// The code of the country in which it holds: `us`, `eu`, `uk`.
    pub country: String,
    /// What it says, in our own words.
    pub meaning: String,
    /// What it makes of such a text: `ok`, `drug`, `needs RCT`; `rule` and `criterion` where the meaning says all.
    pub verdict: String,
    /// Where it stands.
    pub source: String,
    /// `found`, `secondary` or `memory`.
    pub mark: String,
}

/// A kind of statement.
pub struct Statement {
    /// Its type: `body`, `story`.
    pub kind: String,
    /// About what: `collagen`.
    pub topic: String,
    /// What is to be done in each country that ships, in the order of [`COUNTRIES`]: a word of the data (`avoid` ... `ok`, or `none`).
    pub verdicts: [String; COUNTRIES.len()],
}

/// The countries that ship, by code.
pub const COUNTRIES: [&str; 3] = ["us", "eu", "uk"];

const RULES: &str = include_str!("../../../../../data/words/claims/rules.csv");
const VERDICTS: &str = include_str!("../../../../../data/words/claims/verdicts.csv");

fn table<T>(csv: &str, row: impl Fn(&StringRecord) -> T) -> Vec<T> {
    let mut table = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(csv.as_bytes());
    table.records().filter_map(Result::ok).map(|r| row(&r)).collect()
}

fn field(row: &StringRecord, n: usize) -> String {
    row.get(n).unwrap_or_default().to_owned()
}

/// All rules, in the order of the file.
pub fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        table(RULES, |r| Row {
            id: field(r, 0),
            country: field(r, 1).to_lowercase(),
            meaning: field(r, 3),
            verdict: field(r, 4),
            source: field(r, 5),
            mark: field(r, 6),
        })
    })
}

/// The rule of this id; none: it is no rule that ships.
pub fn row(id: &str) -> Option<&'static Row> {
    rows().iter().find(|r| r.id == id)
}

/// All kinds of statements, in the order of the file.
pub fn statements() -> &'static [Statement] {
    static ALL: OnceLock<Vec<Statement>> = OnceLock::new();
    ALL.get_or_init(|| {
        table(VERDICTS, |r| Statement {
            kind: field(r, 0),
            topic: field(r, 1),
            verdicts: [field(r, 2), field(r, 4), field(r, 6)],
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_whole_and_every_verdict_a_known_word() {
        assert!(rows().len() > 40 && statements().len() > 30, "{} {}", rows().len(), statements().len());
        for row in rows() {
            assert!(["found", "secondary", "memory"].contains(&row.mark.as_str()), "{}: {}", row.id, row.mark);
            assert!(COUNTRIES.contains(&row.country.as_str()), "{}: {}", row.id, row.country);
            assert!(!row.meaning.is_empty() && !row.source.is_empty(), "{}", row.id);
        }
        for s in statements() {
            for word in &s.verdicts {
                let known = ["avoid", "needs_trial", "needs_disclosure", "ok", "none"];
                assert!(known.contains(&word.as_str()), "{} {}: {word}", s.kind, s.topic);
            }
        }
    }
}
