//! Words that must not stand in the project: paths of one machine, registry hosts, words about how it was made.

use super::config::{Config, FILE, covers};
use super::tree::Tree;
use super::{Finding, Report};

/// Looks for every banned word in every text.
pub fn check(tree: &Tree, config: &Config, report: &mut Report) {
    if config.banned.is_empty() {
        report.findings.push(Finding::new(FILE, 0, "bans no word"));
    }
    // The lists themselves name what they ban; Cargo.lock names its index, which no one can change.
    for file in tree.files.iter().filter(|f| f.path != FILE && f.path != "Cargo.lock") {
        let texts =
            std::iter::once((0, file.path.as_str())).chain(file.text.lines().enumerate().map(|(n, l)| (n + 1, l)));
        for (number, line) in texts {
            let lower = line.to_lowercase();
            for banned in &config.banned {
                if stands(&lower, &banned.word, &banned.unless) && !covers(&config.allowed, &file.path, &banned.word) {
                    let message = format!("`{}` must not stand here: {}", banned.word, banned.why);
                    report.findings.push(Finding::new(&file.path, number, message));
                }
            }
        }
    }
}

/// Whether `word` stands in `line` as a word of its own, outside the phrases in `unless`.
fn stands(line: &str, word: &str, unless: &[String]) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        let joined_before = word.starts_with(|c: char| part(c) || c == '/') && before.is_some_and(part);
        let joined_after = word.ends_with(part) && after.is_some_and(part);
        let excused = unless.iter().any(|phrase| {
            line.match_indices(phrase.as_str()).any(|(p, _)| p <= at && at + word.len() <= p + phrase.len())
        });
        !joined_before && !joined_after && !excused
    })
}

#[cfg(test)]
mod tests {
    use super::super::findings_of;
    use super::*;

    const LISTS: &str = r#"
        [[banned]]
        word = "gizmo"
        unless = ["user gizmo"]
        why = "it says how, not what"
        [[banned]]
        word = "/den/"
        why = "a path of one machine"
        [[allow]]
        file = "docs/b.md"
        text = "gizmo"
        reason = "quoted"
    "#;

    #[test]
    fn banned_words_are_found_with_their_line() {
        let files = [
            (FILE, LISTS),
            ("a.rs", "fine\na Gizmo here\ngizmos and user gizmo are fine\n"),
            ("docs/b.md", "gizmo\nsee /den/x and http://h/den/x\n"),
            ("c/gizmo.txt", "x"),
        ];
        let found = findings_of(check, &files);
        assert_eq!(
            found,
            [
                "a.rs:2: `gizmo` must not stand here: it says how, not what",
                "c/gizmo.txt: `gizmo` must not stand here: it says how, not what",
                "docs/b.md:2: `/den/` must not stand here: a path of one machine",
            ]
        );
    }

    #[test]
    fn a_phrase_excuses_only_itself() {
        let unless = vec!["user gizmo".to_owned()];
        assert!(!stands("a user gizmo", "gizmo", &unless));
        assert!(stands("a user gizmo and a gizmo", "gizmo", &unless));
        assert!(!stands("see https://h/den/1 there", "/den/", &[]) && stands("in /den/main", "/den/", &[]));
        assert!(stands("/den/", "/den/", &[]) && stands("(\"/den/x\")", "/den/", &[]));
    }

    #[test]
    fn lists_without_words_are_a_finding() {
        assert_eq!(findings_of(check, &[(FILE, "")]), ["xtask/tidy.toml: bans no word"]);
    }
}
