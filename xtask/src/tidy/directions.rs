//! Which of our crates may use which: the table `uses` of the lists, held against every manifest.

use std::collections::{BTreeMap, BTreeSet};

use toml::de::{DeTable, DeValue};

use super::config::{Config, FILE, text};
use super::tree::Tree;
use super::{Finding, Report};

/// Holds the manifests against the table. Dependencies of tests alone are free: they ship nothing.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    let names: BTreeSet<&str> =
        tree.manifests().map(|(folder, _)| folder.rsplit('/').next().unwrap_or(folder)).collect();
    for (folder, manifest) in tree.manifests() {
        let name = folder.rsplit('/').next().unwrap_or(folder);
        let table = match DeTable::parse(&manifest.text) {
            Ok(table) => table.into_inner(),
            Err(error) => {
                report.findings.push(Finding::new(&manifest.path, 0, error.message().to_owned()));
                continue;
            }
        };
        let Some((_, may)) = config.directions.iter().find(|(n, _)| n == name) else {
            let message = format!("crate `{name}` has no row in the table `uses` of {FILE}");
            report.findings.push(Finding::new(&manifest.path, 0, message));
            continue;
        };
        for (used, line) in uses(&table, &manifest.text) {
            if names.contains(used.as_str()) && !may.contains(&used) {
                let message = format!("`{name}` must not use `{used}` (table `uses` of {FILE})");
                report.findings.push(Finding::new(&manifest.path, line, message));
            }
        }
    }
    // The table itself: what is reached over others must be allowed too, and no row may lead back to itself.
    let rows: BTreeMap<&str, &Vec<String>> = config.directions.iter().map(|(n, m)| (n.as_str(), m)).collect();
    for (name, may) in &rows {
        for used in may.iter() {
            for beyond in rows.get(used.as_str()).into_iter().flat_map(|v| v.iter()) {
                if beyond == name || !may.contains(beyond) {
                    let message = format!("`{name}` may use `{used}`, which may use `{beyond}`: say so, or forbid it");
                    report.findings.push(Finding::new(FILE, 0, message));
                }
            }
        }
    }
}

/// The crates that ship with a manifest's crate, with the line that names them.
fn uses(table: &DeTable<'_>, source: &str) -> Vec<(String, usize)> {
    let mut found = Vec::new();
    let mut collect = |table: &DeTable<'_>| {
        for key in ["dependencies", "build-dependencies"] {
            let Some(DeValue::Table(rows)) = table.get(key).map(|v| v.get_ref()) else { continue };
            for (alias, value) in rows {
                let renamed = value.get_ref().as_table().map(|t| text(t, "package")).unwrap_or_default();
                let name = if renamed.is_empty() { alias.get_ref().to_string() } else { renamed };
                found.push((name, 1 + source[..alias.span().start].matches('\n').count()));
            }
        }
    };
    collect(table);
    if let Some(DeValue::Table(targets)) = table.get("target").map(|v| v.get_ref()) {
        targets.values().filter_map(|t| t.get_ref().as_table()).for_each(&mut collect);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn a_wrong_direction_is_found() {
        let files = [
            (FILE, "[uses]\nlow = []\nmid = [\"low\"]\nhigh = [\"low\", \"mid\"]\n"),
            (
                "crates/low/Cargo.toml",
                "[dependencies]\nserde = \"1\"\n[target.'cfg(unix)'.dependencies]\nx = { package = \"mid\" }\n",
            ),
            (
                "crates/mid/Cargo.toml",
                "[dependencies]\nlow.workspace = true\n[dev-dependencies]\nhigh.workspace = true\n",
            ),
            ("crates/high/Cargo.toml", "[build-dependencies]\nmid = { path = \"../mid\" }\n"),
            ("crates/new/Cargo.toml", ""),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "crates/low/Cargo.toml:4: `low` must not use `mid` (table `uses` of xtask/tidy.toml)",
                "crates/new/Cargo.toml: crate `new` has no row in the table `uses` of xtask/tidy.toml",
            ]
        );
    }

    #[test]
    fn the_table_must_be_closed_and_free_of_cycles() {
        let found = findings_of(check, &[(FILE, "[uses]\na = [\"b\"]\nb = [\"c\"]\nc = [\"b\"]\n")]);
        assert_eq!(found.len(), 3, "{found:?}");
        assert!(found[0].contains("`a` may use `b`, which may use `c`"));
    }
}
