//! What must hold of the check whatever its words are.

use super::*;

/// The claims of a plain text.
pub(super) fn found(rules: &Rules, text: &str, countries: &[&str]) -> Vec<Claim> {
    let countries: Vec<String> = countries.iter().map(|c| (*c).to_owned()).collect();
    match crate::timed::read("words.txt", text) {
        Ok(spoken) => check(rules, &spoken, &countries),
        Err(findings) => panic!("{text:?} was not read: {findings:?}"),
    }
}

#[test]
fn the_words_that_ship_are_read_whole() {
    let mut wrong = Vec::new();
    Rules::read(&mut wrong);
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn every_row_of_words_has_a_source_and_every_statement_a_reason() {
    for (name, text) in [
        ("effects", EFFECTS),
        ("topics", TOPICS),
        ("context", CONTEXT),
        ("pairs", PAIRS),
        ("frames", FRAMES),
        ("reasons", REASONS),
    ] {
        let rows = lexicon::rows(text);
        assert!(rows.len() > 15, "{name}: {} rows", rows.len());
        for row in rows {
            assert!(row.last().is_some_and(|source| source.len() > 3), "{name}: {row:?}");
        }
    }
    let rules = Rules::shipped();
    for (_, country) in &rules.countries {
        for (key, meant) in &country.meant {
            assert!(rules.reasons.contains_key(key), "{key:?} has no reason");
            assert!(
                meant.verdict.is_none() || rules.rules.contains_key(&meant.rule),
                "{key:?}: no rule {}",
                meant.rule
            );
        }
    }
}

