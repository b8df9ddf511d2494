//! What must hold of the files themselves: sources, words, sizes, directions, purity, proofs, snapshots, links.

mod config;
mod data;
mod directions;
mod links;
mod proofs;
mod purity;
mod sizes;
mod snapshots;
mod strip;
mod text;
mod tree;

use std::fmt;
use std::path::Path;

use config::Config;
use tree::Tree;

/// Something wrong at a line of a file; line 0 means the file as a whole.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    file: String,
    line: usize,
    message: String,
}

impl Finding {
    fn new(file: impl Into<String>, line: usize, message: impl Into<String>) -> Finding {
        Finding { file: file.into(), line, message: message.into() }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.file, self.message),
            line => write!(f, "{}:{line}: {}", self.file, self.message),
        }
    }
}

/// What tidy says.
#[derive(Debug, Default)]
pub struct Report {
    /// What is wrong.
    pub findings: Vec<Finding>,
    /// Figures to read, as of the sizes of files.
    pub facts: Vec<String>,
    /// How many checks ran.
    pub checks: usize,
}

type Check = fn(&Tree, &Config, &mut Report);

/// Every check, in the order of the report.
const CHECKS: &[Check] = &[
    text::check,
    data::check,
    sizes::check,
    directions::check,
    purity::check,
    proofs::check,
    snapshots::check,
    links::check,
];

/// Runs every check on the tree at `root`.
pub fn run(root: &Path) -> Report {
    let mut report = Report::default();
    let tree = match Tree::read(root) {
        Ok(tree) => tree,
        Err(error) => {
            report.findings.push(Finding::new(root.display().to_string(), 0, format!("cannot be read: {error}")));
            return report;
        }
    };
    let config = Config::read(&tree, &mut report);
    for check in CHECKS {
        check(&tree, &config, &mut report);
        report.checks += 1;
    }
    config.unused(&mut report);
    report.findings.sort();
    report.findings.dedup();
    report
}

/// A check on a small tree made for a test; answers its findings as text.
#[cfg(test)]
fn findings_of(check: Check, files: &[(&str, &str)]) -> Vec<String> {
    let mut report = Report::default();
    let tree = Tree::of(files);
    let config = Config::read(&tree, &mut report);
    check(&tree, &config, &mut report);
    report.findings.sort();
    report.findings.iter().map(ToString::to_string).collect()
}
