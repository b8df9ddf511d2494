//! What a kit says in public passes our own check of claims: nothing is flagged but cautions that the check takes for something else, each
//! named by the words that were found and the whole sentence around them.

mod house;

use std::fs;

use house::{Folder, example, run};
use publish::claims::{Rules, Verdict, check};
use publish::timed::{self, Spoken};

/// Findings that are the check's error and not the text's: kind and topic, the words, the sentence, with tabs between. Each was read by
/// a person. Whoever mends the check takes rows out; a text that truly claims is changed and never put there.
const ERRORS: &str = include_str!("../../../tests/words/kit-words-errors.tsv");

/// What is found in a text and is not among the errors, each as it would stand there.
fn found(rules: &Rules, spoken: &Spoken) -> Vec<String> {
    let countries: Vec<String> = rules.countries().into_iter().map(|(code, _)| code).collect();
    assert!(countries.len() >= 3, "{countries:?}");
    let sentences = spoken.sentences();
    let mut found: Vec<String> = Vec::new();
    for claim in check(rules, spoken, &countries).iter().filter(|c| c.verdict != Verdict::Ok) {
        let whole = sentences.iter().find(|s| s.at[0] <= claim.start && claim.start < s.at[s.at.len() - 1]);
        let whole = whole.map_or("", |s| s.text.as_str());
        let row = format!("{}/{}\t{}\t{whole}", claim.kind, claim.topic, claim.text);
        if !ERRORS.lines().any(|error| error == row) && !found.contains(&row) {
            found.push(row);
        }
    }
    found
}

#[test]
fn a_claim_is_found_beside_the_words_of_a_caution_too() {
    let rules = Rules::shipped();
    for text in [
        "This melts wrinkles away, if you have a few minutes.",
        "Ask a clinician, who knows that this cures migraine.",
        "This massage erases wrinkles and cures migraine.",
    ] {
        let spoken = timed::read("here.txt", text).expect("a text");
        assert!(!found(&rules, &spoken).is_empty(), "nothing in: {text}");
    }
    let spoken = timed::read("here.txt", "Rest your hand on the cheek and breathe out.").expect("a text");
    assert_eq!(found(&rules, &spoken), Vec::<String>::new());
}

#[test]
fn what_a_kit_says_in_public_claims_nothing() {
    let rules = Rules::shipped();
    let folder = Folder::new("kit-words");
    let (mut read, mut wrong) = (0, Vec::new());
    for (routine, name, concern) in [
        ("routine_audience.toml", "Winding down", "before_sleep"),
        ("routine_audience_jaw.toml", "A tight jaw, in the evening", "tight_jaw"),
    ] {
        let out = folder.file(routine);
        let said = run(&["captions", &example(routine), "--out", &out, "--name", name, "--concern", concern]);
        assert_eq!(said.code, 0, "{}", said.err);
        for file in ["description.txt", "captions.vtt", "captions.srt", "script.md", "chapters.txt"] {
            let text = fs::read_to_string(format!("{out}/{file}")).expect("a text");
            // The times of a script are no words.
            let bare = |line: &str| match line.strip_prefix("**").and_then(|l| l.split_once("** ")) {
                Some((_, words)) => words.to_owned(),
                None => line.to_owned(),
            };
            let text = text.lines().map(bare).collect::<Vec<_>>().join("\n");
            let spoken = timed::read(file, &text).unwrap_or_else(|e| panic!("{file}: {e:?}"));
            read += spoken.sentences().len();
            wrong.extend(found(&rules, &spoken).into_iter().map(|row| format!("{file}\n{row}")));
        }
    }
    assert!(read > 600, "only {read} sentences were read");
    assert!(wrong.is_empty(), "{} statements in our own kits:\n{}", wrong.len(), wrong.join("\n"));
}
