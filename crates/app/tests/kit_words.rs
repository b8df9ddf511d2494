//! What a kit says in public passes our own check of claims: nothing is flagged but cautions that the check takes for something else, each
//! named here by the words around it.

mod house;

use std::fs;

use house::{Folder, example, run};
use publish::claims::{Rules, Verdict, check};
use publish::timed;

/// Cautions, instructions and headings that the check takes for statements, and why they are none. A sentence counts when it holds one of them.
const CAUTIONS: &[(&str, &str)] = &[
    ("if you have", "who leaves it out"),
    ("if you are over", "who leaves it out"),
    ("if you take blood thinners", "who leaves it out"),
    ("if an artery in your neck", "who leaves it out"),
    ("if the skin here", "who leaves it out"),
    ("ask a clinician", "who asks first"),
    ("leave that place out today", "what to do where it hurts"),
    ("or soreness means a pause", "aftercare"),
    ("with slow wounds", "who leaves it out, by the name of a condition"),
    ("Opening stroke", "the name of a technique"),
    ("With the mouth closed slide", "how a place is found"),
    ("What is known", "a heading"),
    ("emergency number", "signs for a clinician"),
    ("See a doctor today", "signs for a clinician"),
    ("Have your doctor look at it", "signs for a clinician"),
    ("face that droops", "a sign for a clinician"),
    ("change of sight", "a sign for a clinician"),
    ("double sight", "a sign for a clinician"),
    ("fixed or growing", "a sign for a clinician"),
    ("nausea", "a sign for a clinician"),
    ("a spot that bleeds", "a sign for a clinician"),
    ("Leave out every place", "who leaves it out, by the names of conditions"),
    ("Leave all of it out", "who leaves it out, by the names of conditions"),
    ("Only lay the hand on", "who does it lightly"),
];

#[test]
fn what_a_kit_says_in_public_claims_nothing() {
    let rules = Rules::shipped();
    let countries: Vec<String> = rules.countries().into_iter().map(|(code, _)| code).collect();
    assert!(countries.len() >= 3, "{countries:?}");
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
            let spoken = timed::read(file, &text).unwrap_or_else(|e| panic!("{file}: {e:?}"));
            let sentences = spoken.sentences();
            read += sentences.len();
            for claim in check(&rules, &spoken, &countries).iter().filter(|c| c.verdict != Verdict::Ok) {
                let whole = sentences.iter().find(|s| s.at[0] <= claim.start && claim.start < s.at[s.at.len() - 1]);
                let whole = whole.map_or(claim.text.as_str(), |s| s.text.as_str());
                if !CAUTIONS.iter().any(|(words, _)| whole.contains(words)) {
                    wrong.push(format!(
                        "{file}: {} {}/{} [{}] in: {whole}",
                        claim.country, claim.kind, claim.topic, claim.text
                    ));
                }
            }
        }
    }
    assert!(read > 600, "only {read} sentences were read");
    assert!(wrong.is_empty(), "{} statements in our own kits:\n{}", wrong.len(), wrong.join("\n"));
}
