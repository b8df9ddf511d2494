//! Every link of a Markdown file to a file of the project leads somewhere, heading included, and no figure waits.

use super::config::Config;
use super::tree::Tree;
use super::{Finding, Report};

/// Follows every link.
pub fn check(tree: &Tree, _: &Config, report: &mut Report) {
    for file in tree.under("", ".md") {
        let mut fenced = false;
        for (number, line) in file.text.lines().enumerate() {
            fenced ^= line.trim_start().starts_with("```");
            if fenced {
                continue;
            }
            if line.contains("{{") {
                report.findings.push(Finding::new(&file.path, number + 1, "a figure waits to be filled in"));
            }
            for target in targets(line) {
                if let Some(message) = broken(tree, &file.path, target) {
                    report.findings.push(Finding::new(&file.path, number + 1, message));
                }
            }
        }
    }
}

fn targets(line: &str) -> Vec<&str> {
    line.match_indices("](")
        .filter_map(|(at, _)| {
            let rest = &line[at + 2..];
            Some(rest[..rest.find(')')?].trim())
        })
        .collect()
}

fn broken(tree: &Tree, from: &str, target: &str) -> Option<String> {
    if target.contains("://") || target.starts_with("mailto:") {
        return None;
    }
    let (path, heading) = target.split_once('#').map_or((target, None), |(p, h)| (p, Some(h)));
    let path = if path.is_empty() { from.to_owned() } else { resolve(from, path)? };
    let folder = format!("{}/", path.trim_end_matches('/'));
    if tree.files.iter().any(|f| f.path.starts_with(&folder)) {
        return None;
    }
    let Some(file) = tree.file(&path) else { return Some(format!("the link `{target}` leads to no file")) };
    match heading {
        Some(heading) if path.ends_with(".md") && !headings(&file.text).any(|h| h == heading) => {
            Some(format!("the link `{target}` leads to no heading of {path}"))
        }
        _ => None,
    }
}

fn resolve(from: &str, path: &str) -> Option<String> {
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in path.split('/') {
        match part {
            "." | "" => {}
            ".." => {
                parts.pop();
            }
            other => parts.push(other),
        }
    }
    Some(parts.join("/"))
}

fn headings(text: &str) -> impl Iterator<Item = String> {
    text.lines().filter(|l| l.starts_with('#')).map(|line| {
        let title = line.trim_start_matches('#').trim().to_lowercase();
        title
            .chars()
            .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'))
            .collect::<String>()
            .replace(' ', "-")
    })
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    #[test]
    fn broken_links_are_found() {
        let files = [
            ("xtask/tidy.toml", ""),
            (
                "a.md",
                "# One Two: three\n[x](docs/b.md) [y](#one-two-three) [z](https://h/x) [d](docs)\n[n](no.md)\n{{n}} ms\n",
            ),
            ("docs/b.md", "[up](../a.md#one-two-three)\n[bad](../a.md#four) ![i](../c.svg)\n```\n[c](no)\n```\n"),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "a.md:3: the link `no.md` leads to no file",
                "a.md:4: a figure waits to be filled in",
                "docs/b.md:2: the link `../a.md#four` leads to no heading of a.md",
                "docs/b.md:2: the link `../c.svg` leads to no file",
            ]
        );
    }
}
