//! `xtask/tidy.toml`: the words that are banned and every exception, each with its reason.

use std::cell::Cell;

use toml::de::{DeTable, DeValue};

use super::tree::Tree;
use super::{Finding, Report};

/// The file with the lists.
pub const FILE: &str = "xtask/tidy.toml";

/// A banned word and what stands before or after it where it is meant otherwise.
pub struct Banned {
    /// The word, compared without regard to case.
    pub word: String,
    /// Phrases in which it is allowed.
    pub unless: Vec<String>,
    /// What is wrong with it.
    pub why: String,
}

/// An exception, which must be used.
pub struct Exception {
    /// The file, or the folder with a `/` at its end.
    pub file: String,
    /// The text it allows; empty: whatever the check is about.
    pub text: String,
    line: usize,
    used: Cell<bool>,
}

/// The lists of `xtask/tidy.toml`.
#[derive(Default)]
pub struct Config {
    /// Words that must not stand anywhere.
    pub banned: Vec<Banned>,
    /// Where a banned word may stand all the same.
    pub allowed: Vec<Exception>,
    /// Files that may be long.
    pub long: Vec<Exception>,
    /// Data files whose rows share one `source` at the top of the file.
    pub one_source: Vec<Exception>,
    /// Which of our crates a crate may use, by name.
    pub directions: Vec<(String, Vec<String>)>,
    /// Safety rules of screening and planning, with the line that names them.
    pub safety_rules: Vec<(String, usize)>,
    /// Crates without files, clock, environment and output.
    pub pure: Vec<String>,
    /// Crates that may print and exit.
    pub printers: Vec<String>,
}

impl Config {
    /// Reads the lists; a list that cannot be read is a finding.
    pub fn read(tree: &Tree, report: &mut Report) -> Config {
        let mut config = Config::default();
        let Some(file) = tree.file(FILE) else {
            report.findings.push(Finding::new(FILE, 0, "is missing"));
            return config;
        };
        let table = match DeTable::parse(&file.text) {
            Ok(table) => table.into_inner(),
            Err(error) => {
                report.findings.push(Finding::new(FILE, 0, error.message().to_owned()));
                return config;
            }
        };
        let line = |offset: usize| 1 + file.text[..offset].matches('\n').count();
        let mut exceptions = |key: &str| -> Vec<Exception> {
            let mut found = Vec::new();
            for (row, offset) in rows(&table, key) {
                let exception = Exception {
                    file: text(row, "file"),
                    text: text(row, "text"),
                    line: line(offset),
                    used: Cell::new(false),
                };
                if exception.file.is_empty() || text(row, "reason").trim().is_empty() {
                    report.findings.push(Finding::new(FILE, exception.line, "an exception needs `file` and `reason`"));
                }
                found.push(exception);
            }
            found
        };
        config.allowed = exceptions("allow");
        config.long = exceptions("long");
        config.one_source = exceptions("one_source");
        for (row, _) in rows(&table, "banned") {
            let banned =
                Banned { word: text(row, "word").to_lowercase(), unless: list(row, "unless"), why: text(row, "why") };
            config.banned.push(banned);
        }
        for (row, offset) in rows(&table, "safety_rule") {
            if text(row, "says").trim().is_empty() {
                report.findings.push(Finding::new(FILE, line(offset), "a safety rule needs `name` and `says`"));
            }
            config.safety_rules.push((text(row, "name"), line(offset)));
        }
        if let Some(DeValue::Table(uses)) = table.get("uses").map(|v| v.get_ref()) {
            config.directions = uses.keys().map(|k| (k.get_ref().to_string(), list(uses, k.get_ref()))).collect();
        }
        config.pure = list(&table, "pure");
        config.printers = list(&table, "printers");
        config
    }

    /// Exceptions that nothing needs any longer.
    pub fn unused(&self, report: &mut Report) {
        for exception in self.allowed.iter().chain(&self.long).chain(&self.one_source) {
            if !exception.used.get() {
                let message = format!("nothing in {} needs this exception any longer: take it out", exception.file);
                report.findings.push(Finding::new(FILE, exception.line, message));
            }
        }
    }
}

/// Whether an exception covers this text in this file; notes that it was used.
pub fn covers(exceptions: &[Exception], file: &str, what: &str) -> bool {
    let found = exceptions.iter().find(|e| {
        let there = if e.file.ends_with('/') { file.starts_with(&e.file) } else { file == e.file };
        there && (e.text.is_empty() || e.text.eq_ignore_ascii_case(what))
    });
    if let Some(exception) = found {
        exception.used.set(true);
    }
    found.is_some()
}

/// The tables of an array of tables, each with the offset at which it begins.
pub fn rows<'a, 't>(table: &'a DeTable<'t>, key: &str) -> Vec<(&'a DeTable<'t>, usize)> {
    match table.get(key).map(|v| v.get_ref()) {
        Some(DeValue::Array(rows)) => {
            rows.iter().filter_map(|r| Some((r.get_ref().as_table()?, r.span().start))).collect()
        }
        _ => Vec::new(),
    }
}

/// A text of a table; empty if there is none.
pub fn text(table: &DeTable<'_>, key: &str) -> String {
    table.get(key).and_then(|v| v.get_ref().as_str()).unwrap_or_default().to_owned()
}

fn list(table: &DeTable<'_>, key: &str) -> Vec<String> {
    match table.get(key).map(|v| v.get_ref()) {
        Some(DeValue::Array(items)) => items.iter().filter_map(|i| i.get_ref().as_str().map(str::to_owned)).collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exception_needs_a_reason_and_a_use() {
        let lists = "[[long]]\nfile = \"a.rs\"\nreason = \"one table\"\n\n[[allow]]\nfile = \"b.md\"\ntext = \"x\"\n";
        let tree = Tree::of(&[(FILE, lists)]);
        let mut report = Report::default();
        let config = Config::read(&tree, &mut report);
        assert_eq!(report.findings.len(), 1);
        assert_eq!(report.findings[0].to_string(), "xtask/tidy.toml:5: an exception needs `file` and `reason`");
        assert!(covers(&config.long, "a.rs", "anything") && !covers(&config.allowed, "b.md", "y"));
        config.unused(&mut report);
        assert_eq!(report.findings.len(), 2);
        assert!(report.findings[1].message.starts_with("nothing in b.md"));
    }
}
