//! File sizes: over 800 lines needs a reason in the lists; the median and the ninth decile are told.

use super::config::{Config, covers};
use super::tree::Tree;
use super::{Finding, Report};

const MOST: usize = 800;

/// Looks at every Rust, script and style file.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    let mut rust = Vec::new();
    for file in &tree.files {
        let code = [".rs", ".py", ".mjs", ".js", ".css", ".sh"].iter().any(|e| file.path.ends_with(e));
        if !code && file.path != "check" {
            continue;
        }
        let lines = file.text.lines().count();
        if file.path.ends_with(".rs") {
            rust.push(lines);
        }
        if lines > MOST && !covers(&config.long, &file.path, "") {
            let message = format!("has {lines} lines; over {MOST} needs a reason under [[long]] in xtask/tidy.toml");
            report.findings.push(Finding::new(&file.path, 0, message));
        }
    }
    rust.sort_unstable();
    if let Some(longest) = rust.last() {
        let at = |share: f64| rust[((rust.len() - 1) as f64 * share).round() as usize];
        report.facts.push(format!(
            "{} Rust files, {} lines: median {}, ninth decile {}, longest {longest}",
            rust.len(),
            rust.iter().sum::<usize>(),
            at(0.5),
            at(0.9)
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::config::FILE;
    use super::super::findings_of;
    use super::*;

    #[test]
    fn a_long_file_needs_a_reason() {
        let (fits, long) = ("x\n".repeat(800), "x\n".repeat(801));
        let lists = "[[long]]\nfile = \"c.rs\"\nreason = \"a table\"\n";
        let files = [(FILE, lists), ("a.rs", &fits), ("b.rs", &long), ("c.rs", &long), ("d.md", &long)];
        let found = findings_of(check, &files);
        assert_eq!(found, ["b.rs: has 801 lines; over 800 needs a reason under [[long]] in xtask/tidy.toml"]);
    }
}
