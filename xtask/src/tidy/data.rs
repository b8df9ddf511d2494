//! Every row of reference data names its source.

use toml::de::{DeTable, DeValue};

use super::config::{Config, covers, text};
use super::tree::Tree;
use super::{Finding, Report};

/// Rows inside a row that are covered by the source of the row they stand in.
const COVERED: &[&str] = &["condition.rule"];

/// Looks at every TOML and CSV file under `data/`.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    let mut rows = 0;
    for file in tree.under("data/", ".toml") {
        match DeTable::parse(&file.text) {
            Ok(table) => {
                let table = table.into_inner();
                let shared = !text(&table, "source").trim().is_empty() && covers(&config.one_source, &file.path, "");
                if !shared {
                    rows += table_rows(&file.path, &file.text, &table, "", report);
                }
            }
            Err(error) => {
                let line = error.span().map_or(0, |s| line_at(&file.text, s.start));
                report.findings.push(Finding::new(&file.path, line, format!("is no TOML: {}", error.message())));
            }
        }
    }
    for file in tree.under("data/", ".csv") {
        rows += csv_rows(tree, &file.path, &file.text, report);
    }
    report.facts.push(format!("{rows} rows of reference data looked at for their source"));
}

fn line_at(source: &str, offset: usize) -> usize {
    1 + source[..offset].matches('\n').count()
}

/// Rows of every array of tables, and top-level tables, which are rows of their own.
fn table_rows(file: &str, source: &str, table: &DeTable<'_>, above: &str, report: &mut Report) -> usize {
    let mut rows = 0;
    for (key, value) in table {
        let name = if above.is_empty() { key.get_ref().to_string() } else { format!("{above}.{}", key.get_ref()) };
        let mut row = |row: &DeTable<'_>, at: usize| {
            rows += 1;
            if !COVERED.contains(&name.as_str()) && text(row, "source").trim().len() < 4 {
                let id = ["id", "name", "from", "node", "text"].iter().map(|k| text(row, k)).find(|t| !t.is_empty());
                let message = format!("`{name}` {} has no source", id.unwrap_or_default());
                report.findings.push(Finding::new(file, line_at(source, at), message));
            }
            rows += table_rows(file, source, row, &name, report);
        };
        match value.get_ref() {
            DeValue::Array(items) => {
                // Inline tables in a list are values of their row, not rows.
                let header = |at: usize| source[at..].starts_with('[');
                for item in items.iter().filter(|i| header(i.span().start)) {
                    if let DeValue::Table(inner) = item.get_ref() {
                        row(inner, item.span().start);
                    }
                }
            }
            DeValue::Table(inner) if above.is_empty() => row(inner, key.span().start),
            _ => {}
        }
    }
    rows
}

/// A CSV names its source in a column `source`, or is named in a NOTICE.md beside it.
fn csv_rows(tree: &Tree, file: &str, source: &str, report: &mut Report) -> usize {
    let mut lines = source.lines().enumerate().filter(|(_, l)| !l.starts_with('#') && !l.trim().is_empty());
    let Some((_, head)) = lines.next() else {
        report.findings.push(Finding::new(file, 0, "is empty"));
        return 0;
    };
    let (folder, name) = file.rsplit_once('/').unwrap_or(("", file));
    let noticed = tree.file(&format!("{folder}/NOTICE.md")).is_some_and(|n| n.text.contains(name));
    if noticed {
        return lines.count();
    }
    let Some(column) = fields(head).iter().position(|h| h.trim() == "source") else {
        let message = "has no column `source`, and no NOTICE.md beside it names it";
        report.findings.push(Finding::new(file, 1, message));
        return 0;
    };
    let mut rows = 0;
    for (number, line) in lines {
        rows += 1;
        if fields(line).get(column).is_none_or(|f| f.trim().len() < 4) {
            report.findings.push(Finding::new(file, number + 1, "this row has no source"));
        }
    }
    rows
}

fn fields(line: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => found.push(String::new()),
            c => {
                if let Some(last) = found.last_mut() {
                    last.push(c);
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn rows_without_a_source_are_found() {
        let concerns = "[[concern]]\nid = \"a\"\nsource = \"a book\"\n[[concern.link]]\ntarget = \"t\"\n\n\
                        [[concern]]\nid = \"b\"\nsource = \" \"\nways = [{ x = 1 }]\n";
        let conditions = "[[condition]]\nid = \"c\"\nsource = \"a book\"\n[[condition.rule]]\nclass = \"stop\"\n";
        let files = [
            ("xtask/tidy.toml", "[[one_source]]\nfile = \"data/d.toml\"\nreason = \"ours\"\n"),
            ("data/a/concerns.toml", concerns),
            ("data/conditions.toml", conditions),
            ("data/settings.toml", "[settings]\nx = 1\n"),
            ("data/d.toml", "source = \"our own drawing\"\n[[dot]]\nat = 1\n"),
            ("data/e.csv", "# note\nid,source\n1,\"a, book\"\n2,\n"),
            ("data/m/f.csv", "id\n1\n"),
            ("data/m/g.csv", "id\n1\n"),
            ("data/m/NOTICE.md", "`g.csv`: from a book"),
            ("data/broken.toml", "a = \n"),
        ];
        let found = findings_of(check, &files);
        assert_eq!(found.len(), 6, "{found:#?}");
        for (got, expected) in found.iter().zip([
            "data/a/concerns.toml:4: `concern.link`  has no source",
            "data/a/concerns.toml:7: `concern` b has no source",
            "data/broken.toml:1: is no TOML",
            "data/e.csv:4: this row has no source",
            "data/m/f.csv:1: has no column `source`",
            "data/settings.toml:1: `settings`  has no source",
        ]) {
            assert!(got.starts_with(expected), "{got}, expected {expected}");
        }
    }
}
