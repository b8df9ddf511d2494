//! Pure crates touch no file, clock, environment or output; only the crates named so print and exit.
//!
//! Each pure crate's clippy.toml bans the same by type and method; this also sees macros and names in a `use`.

use super::config::{Config, FILE};
use super::strip::shipped;
use super::tree::Tree;
use super::{Finding, Report};

const IMPURE: &[&str] = &[
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "std::io::stdin",
    "std::io::stdout",
    "std::io::stderr",
    "SystemTime",
    "Instant",
    "thread::sleep",
];
const OUTPUT: &[&str] = &["println!", "print!", "eprintln!", "eprint!", "dbg!", "process::exit"];

/// Looks at everything that is shipped: `src` of each crate, without its tests.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    if config.pure.is_empty() || config.printers.is_empty() {
        report.findings.push(Finding::new(FILE, 0, "names no pure crate or no printer"));
    }
    for (folder, _) in tree.manifests() {
        let name = folder.rsplit('/').next().unwrap_or(folder);
        let pure = config.pure.iter().any(|p| p == name);
        let printer = config.printers.iter().any(|p| p == name);
        if pure && tree.file(&format!("{folder}/clippy.toml")).is_none() {
            report.findings.push(Finding::new(format!("{folder}/clippy.toml"), 0, "is missing: a pure crate has one"));
        }
        let sources = format!("{folder}/src/");
        for file in tree.under(&sources, ".rs") {
            // A file that only tests have, named so by `#[cfg(test)] mod tests;`.
            if file.path.ends_with("/tests.rs") || file.path.contains("/tests/") {
                continue;
            }
            for (number, line) in shipped(&file.text).lines().enumerate() {
                let mut found: Vec<&str> = Vec::new();
                if pure {
                    found.extend(IMPURE.iter().filter(|w| word_in(line, w)));
                }
                if !printer {
                    found.extend(OUTPUT.iter().filter(|w| word_in(line, w)));
                }
                for word in found {
                    let kind = if pure { "is pure" } else { "neither prints nor exits" };
                    let message = format!("`{word}` in `{name}`, which {kind}: let the edge do it");
                    report.findings.push(Finding::new(&file.path, number + 1, message));
                }
            }
        }
    }
}

fn word_in(line: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back().is_some_and(part);
        let after = word.ends_with(part) && line[at + word.len()..].chars().next().is_some_and(part);
        !before && !after
    })
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn impure_calls_are_found_where_they_ship() {
        let pure = "use std::fs;\nfn f() { println!(\"x\"); }\n// std::env\n#[cfg(test)]\nmod t { use std::env; }\n";
        let files = [
            (FILE, "pure = [\"calm\"]\nprinters = [\"loud\"]\n"),
            ("crates/calm/Cargo.toml", ""),
            ("crates/calm/src/lib.rs", pure),
            ("crates/calm/src/time.rs", "/// Not an InstantX.\nlet now = std::time::Instant::now();\n"),
            ("crates/calm/examples/e.rs", "use std::fs;"),
            ("crates/loud/Cargo.toml", ""),
            ("crates/loud/src/main.rs", "println!(\"x\"); std::process::exit(1)"),
            ("crates/mid/Cargo.toml", ""),
            ("crates/mid/src/lib.rs", "use std::fs;\neprintln!(\"x\")"),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "crates/calm/clippy.toml: is missing: a pure crate has one",
                "crates/calm/src/lib.rs:1: `std::fs` in `calm`, which is pure: let the edge do it",
                "crates/calm/src/lib.rs:2: `println!` in `calm`, which is pure: let the edge do it",
                "crates/calm/src/time.rs:2: `Instant` in `calm`, which is pure: let the edge do it",
                "crates/mid/src/lib.rs:2: `eprintln!` in `mid`, which neither prints nor exits: let the edge do it",
            ]
        );
    }
}
