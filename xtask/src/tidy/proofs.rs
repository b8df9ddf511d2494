//! Each safety rule has exactly one canonical test that names it with a `proves:` mark.
//!
//! The rules are those of the checker (`RULES` in `crates/plan/src/check/`) and those of screening and planning, which
//! no routine alone can break (`[[safety_rule]]` in the lists). Each rule of a condition and each warning sign has its
//! own `proof` in the data, which one test runs over all of them.

use std::collections::BTreeMap;

use toml::de::{DeTable, DeValue};

use super::config::{Config, FILE, rows, text};
use super::tree::Tree;
use super::{Finding, Report};

const CHECKER: &str = "crates/plan/src/check";
const LIST: &str = "RULES";
const CONDITIONS: &str = "data/screening/conditions.toml";
const SIGNS: &str = "data/screening/warning_signs.toml";
const MARK: &str = "// proves:";

/// Holds the rules against the marks, both ways.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    let mut rules: BTreeMap<String, (String, usize)> = BTreeMap::new();
    let checked: Vec<_> = tree.under(CHECKER, ".rs").flat_map(|f| names_in(LIST, &f.path, &f.text)).collect();
    if checked.is_empty() {
        report.findings.push(Finding::new(CHECKER, 0, format!("names no safety rule in a list `{LIST}`")));
    }
    if config.safety_rules.is_empty() {
        report.findings.push(Finding::new(FILE, 0, "names no safety rule of screening and planning"));
    }
    let listed = config.safety_rules.iter().map(|(rule, line)| (rule.clone(), FILE.to_owned(), *line));
    for (rule, file, line) in checked.into_iter().chain(listed) {
        if rules.insert(rule.clone(), (file.clone(), line)).is_some() {
            report.findings.push(Finding::new(file, line, format!("rule `{rule}` is named twice")));
        }
    }
    let mut proofs: BTreeMap<String, Vec<(String, usize)>> = BTreeMap::new();
    for file in tree.under("crates/", ".rs") {
        for (number, line) in file.text.lines().enumerate() {
            let Some(rule) = line.trim().strip_prefix(MARK) else { continue };
            let at = (file.path.clone(), number + 1);
            if !before_a_test(&file.text, number) {
                report.findings.push(Finding::new(&at.0, at.1, "no test follows this mark"));
            }
            proofs.entry(rule.trim().to_owned()).or_default().push(at);
        }
    }
    for (rule, (file, line)) in &rules {
        if !proofs.contains_key(rule) {
            let message = format!("no test is marked `{MARK} {rule}`");
            report.findings.push(Finding::new(file, *line, message));
        }
    }
    for (rule, places) in &proofs {
        for (file, line) in places.iter().skip(1) {
            let message = format!("`{rule}` is proven twice; one test is canonical (see {})", places[0].0);
            report.findings.push(Finding::new(file, *line, message));
        }
        if !rules.contains_key(rule) {
            let (file, line) = &places[0];
            report.findings.push(Finding::new(file, *line, format!("`{rule}` is no safety rule")));
        }
    }
    let (mut count, mut proven) = (0, 0);
    for (file, table, inner) in [(CONDITIONS, "condition", Some("rule")), (SIGNS, "warning_sign", None)] {
        let (all, with) = proofs_in_data(tree, file, table, inner, report);
        count += all;
        proven += with;
    }
    let named = rules.keys().filter(|r| proofs.contains_key(*r)).count();
    report.facts.push(format!(
        "{named} of {} safety rules with a canonical test, {proven} of {count} rules of the screening data with a proof",
        rules.len()
    ));
}

/// Whether a test function begins within the lines that follow the mark.
fn before_a_test(source: &str, mark: usize) -> bool {
    let mut attribute = false;
    for line in source.lines().skip(mark + 1).map(str::trim) {
        if line.starts_with("#[test]") {
            attribute = true;
        } else if line.starts_with("fn ") {
            return attribute;
        } else if !line.starts_with("//") && !line.starts_with("#[") && !line.is_empty() {
            return false;
        }
    }
    false
}

/// The first text of each entry of `const LIST: ... = &[ ... ];`, with its line.
fn names_in(list: &str, file: &str, source: &str) -> Vec<(String, String, usize)> {
    let Some(at) = source.find(&format!("const {list}:")) else { return Vec::new() };
    let Some(open) = source[at..].find("= &[").or_else(|| source[at..].find("= [")) else { return Vec::new() };
    let start = at + open + source[at + open..].find('[').unwrap_or(0) + 1;
    let mut found = Vec::new();
    let mut depth = 0i32;
    let mut taken = false;
    let mut chars = source[start..].char_indices();
    while let Some((i, c)) = chars.next() {
        match c {
            '/' if source[start + i..].starts_with("//") => {
                chars.by_ref().find(|(_, c)| *c == '\n');
            }
            '"' => {
                let mut word = String::new();
                for (_, c) in chars.by_ref() {
                    if c == '"' {
                        break;
                    }
                    word.push(c);
                }
                if !taken {
                    let line = 1 + source[..start + i].matches('\n').count();
                    found.push((word, file.to_owned(), line));
                    taken = true;
                }
            }
            '(' | '{' | '[' => depth += 1,
            ']' if depth == 0 => break,
            ')' | '}' | ']' => depth -= 1,
            ',' if depth == 0 => taken = false,
            _ => {}
        }
    }
    found
}

/// Each row (or each row inside it) has a `proof`; answers how many there are and how many have one.
fn proofs_in_data(tree: &Tree, path: &str, table: &str, inner: Option<&str>, report: &mut Report) -> (usize, usize) {
    let Some(file) = tree.file(path) else {
        report.findings.push(Finding::new(path, 0, "is missing"));
        return (0, 0);
    };
    let Ok(parsed) = DeTable::parse(&file.text) else { return (0, 0) };
    let parsed = parsed.into_inner();
    let (mut count, mut with) = (0, 0);
    for (row, at) in rows(&parsed, table) {
        let ruled = match inner {
            Some(key) => rows(row, key),
            None => vec![(row, at)],
        };
        for (rule, at) in ruled {
            count += 1;
            let proven = rule.get("proof").is_some_and(|p| match p.get_ref() {
                DeValue::Table(proof) => !proof.is_empty(),
                _ => false,
            });
            with += usize::from(proven);
            if !proven {
                let line = 1 + file.text[..at].matches('\n').count();
                report.findings.push(Finding::new(
                    path,
                    line,
                    format!("a rule of `{}` has no `proof`", text(row, "id")),
                ));
            }
        }
    }
    (count, with)
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn unproven_twice_proven_and_unknown_rules_are_found() {
        let list = "/// x\npub const RULES: &[(&str, &str)] = &[\n    (\"way\", \"text, with\"),\n    // (\"old\", \"\"),\n    \
                    (\"neck\", \"x\"),\n    (\"close\", \"x\"),\n];\n";
        let tests = format!(
            "{MARK} way\n#[test]\nfn a() {{}}\n{MARK} neck\n#[test]\nfn b() {{}}\n{MARK} neck\n/// Doc.\n#[test]\nfn c() {{}}\n\
             {MARK} gone\nfn d() {{}}\n"
        );
        let conditions =
            "[[condition]]\nid = \"c\"\n[[condition.rule]]\nproof = { target = \"t\" }\n[[condition.rule]]\n";
        let files = [
            (FILE, "[[safety_rule]]\nname = \"monotone\"\nsays = \"x\"\n"),
            ("crates/plan/src/check/mod.rs", list),
            ("crates/plan/tests/rules.rs", &tests),
            (CONDITIONS, conditions),
            (
                SIGNS,
                "[[warning_sign]]\nid = \"s\"\nproof = { target = \"t\" }\n[[warning_sign]]\nid = \"u\"\nproof = {}\n",
            ),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "crates/plan/src/check/mod.rs:6: no test is marked `// proves: close`",
                "crates/plan/tests/rules.rs:7: `neck` is proven twice; one test is canonical (see crates/plan/tests/rules.rs)",
                "crates/plan/tests/rules.rs:11: `gone` is no safety rule",
                "crates/plan/tests/rules.rs:11: no test follows this mark",
                "data/screening/conditions.toml:5: a rule of `c` has no `proof`",
                "data/screening/warning_signs.toml:4: a rule of `u` has no `proof`",
                "xtask/tidy.toml:1: no test is marked `// proves: monotone`",
            ]
        );
    }

    #[test]
    fn an_empty_list_is_no_pass() {
        let found = findings_of(check, &[("xtask/tidy.toml", "")]);
        assert_eq!(found.len(), 4, "{found:?}");
    }
}
