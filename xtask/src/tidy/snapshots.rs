//! Snapshots: each one is named by a test, and none is waiting to be looked at.

use super::config::Config;
use super::tree::Tree;
use super::{Finding, Report};

/// Looks at every `.snap` file and every file in a folder named `snapshots`.
pub fn check(tree: &Tree, _: &Config, report: &mut Report) {
    for file in &tree.files {
        let pending = file.path.ends_with(".new");
        if !file.path.ends_with(".snap") && !file.path.contains("/snapshots/") {
            continue;
        }
        if pending {
            report.findings.push(Finding::new(&file.path, 0, "waits to be looked at: accept it or mend the code"));
            continue;
        }
        let name = file.path.rsplit('/').next().unwrap_or(&file.path);
        let stem = name.split('.').next().unwrap_or(name);
        let last = stem.rsplit("__").next().unwrap_or(stem);
        // A second snapshot of one test is numbered.
        let base = last.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('-');
        let named = |text: &str| [name, last, base].iter().any(|n| !n.is_empty() && names(text, n));
        let tests = tree.files.iter().filter(|f| [".rs", ".mjs", ".py"].iter().any(|e| f.path.ends_with(e)));
        if !tests.into_iter().any(|f| named(&f.text)) {
            report.findings.push(Finding::new(&file.path, 0, "no test names this snapshot: take it out"));
        }
    }
}

fn names(text: &str, name: &str) -> bool {
    text.contains(&format!("fn {name}(")) || text.contains(&format!("\"{name}\""))
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn orphans_and_pending_ones_are_found() {
        let files = [
            ("xtask/tidy.toml", ""),
            ("crates/a/tests/pages.rs", "fn start() {}\nsnapshot(\"routine.html\");"),
            ("crates/a/tests/snapshots/pages__start.snap", ""),
            ("crates/a/tests/snapshots/pages__start-2.snap", ""),
            ("crates/a/tests/snapshots/routine.html", ""),
            ("crates/a/tests/snapshots/pages__gone.snap", ""),
            ("crates/a/tests/snapshots/pages__start.snap.new", ""),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "crates/a/tests/snapshots/pages__gone.snap: no test names this snapshot: take it out",
                "crates/a/tests/snapshots/pages__start.snap.new: waits to be looked at: accept it or mend the code",
            ]
        );
    }
}
