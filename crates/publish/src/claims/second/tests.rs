//! What must hold of the second reader.

use std::sync::LazyLock;

use super::super::lexicon::rows;
use super::super::tests::found;
use super::super::{Claim, check_sentences};
use super::*;

const BUILD: &str = include_str!("../../../../../tests/words/build.csv");
const MORE: &str = include_str!("../../../../../tests/words/more.csv");
const FURTHER: &str = include_str!("../../../../../tests/words/further.csv");
const PLAIN: &str = include_str!("../../../../../tests/words/plain.txt");
const COUNTRIES: [&str; 3] = ["us", "eu", "uk"];
static RULES: LazyLock<Rules> = LazyLock::new(Rules::shipped);
/// id, family, type, topic, rule, us, eu, uk, before, text.
static ALL: LazyLock<Vec<Vec<String>>> = LazyLock::new(|| [rows(BUILD), rows(MORE), rows(FURTHER)].concat());

fn taught(rows: &[Vec<String>]) -> Vec<Row<'_>> {
    rows.iter().map(|r| Row::of(&r[2], &r[3], &r[8], &r[9])).chain(Row::plain(PLAIN)).collect()
}

fn shipped() -> &'static Model {
    match &RULES.second {
        Some(model) => model,
        None => panic!("the weights that ship are not read"),
    }
}

fn suspects(claim: &Claim) -> bool {
    claim.reason.starts_with(FOUND_NOTHING) || claim.reason.starts_with(FOUND_LIGHTER)
}

fn of_row(rules: &Rules, row: &[String]) -> Vec<Claim> {
    let sentence = |text: &str| {
        let n = text.chars().count();
        Sentence { text: text.to_owned(), at: (0..=n).collect(), time: Vec::new(), opens: true }
    };
    let spoken: Vec<Sentence> = row[8..10].iter().filter(|t| !t.is_empty()).map(|t| sentence(t)).collect();
    check_sentences(rules, &spoken, &COUNTRIES.map(str::to_owned))
}

#[test]
fn the_weights_are_what_the_sentences_teach() {
    let taught = taught(&ALL);
    assert_eq!(
        shipped().made_of,
        sum(&taught),
        "run `cargo run --release -p publish --example second_train -- --write`"
    );
    // Words added to the lexicon since shift a few sentences; more than that needs the weights made again.
    let again = learn(&RULES, &taught, (shipped().threshold, shipped().strict));
    let speaks = |model: &Model, row: &Row| read_alone(&RULES, model, row).0 >= model.threshold;
    let apart = taught.iter().filter(|r| speaks(shipped(), r) != speaks(&again, r)).count();
    assert!(apart * 100 <= taught.len(), "{apart} of {} are read differently", taught.len());
}

#[test]
fn what_is_written_is_read_again_and_nothing_else() {
    let text = shipped().written();
    assert_eq!(text, SHIPPED);
    assert_eq!(Model::read(&text).as_ref(), Some(shipped()));
    assert!(text.len() < 900_000);
    for wrong in ["", "threshold,0.5\n", &text[..text.len() / 2], &text.replacen("threshold,0", "threshold,x", 1)] {
        assert!(Model::read(wrong).is_none());
    }
}

#[test]
fn it_adds_what_it_says_it_adds_and_lets_go_only_what_it_does_not_believe() {
    let alone = RULES.clone().alone();
    let (mut suspected, mut weightier, mut let_go) = (0, 0, 0);
    for row in ALL.iter().filter(|r| r[8].is_empty()) {
        let (mine, others): (Vec<Claim>, Vec<Claim>) = of_row(&RULES, row).into_iter().partition(suspects);
        let by_rules = of_row(&alone, row);
        if others != by_rules {
            let row = Row::of(&row[2], &row[3], &row[8], &row[9]);
            let_go += 1;
            assert!(others.iter().all(|c| c.verdict == Verdict::Ok && by_rules.contains(c)), "{}", row.text);
            let likely = read_alone(&RULES, shipped(), &row).0;
            let cautions = shipped().cautions(&shipped().met(&learn::seen(&RULES, &row)));
            assert!(likely < LET_GO || cautions >= CAUTION && likely < shipped().threshold, "{}", row.text);
        }
        for claim in mine {
            assert!((SURE.0..=SURE.1).contains(&claim.confidence) && claim.verdict != Verdict::Ok, "{claim:?}");
            assert!(claim.reason.contains("weigh"), "{claim:?}");
            suspected += 1;
            if claim.reason.starts_with(FOUND_LIGHTER) {
                weightier += 1;
                assert_eq!(claim.verdict, Verdict::Avoid);
                assert!(!others.iter().any(|c| c.country == claim.country && c.verdict == Verdict::Avoid), "{claim:?}");
            }
        }
    }
    assert!(suspected > 1000 && weightier > 50 && let_go > 50, "{suspected} {weightier} {let_go}");
}

#[test]
fn a_practices_own_words_are_never_let_go() {
    let text = "Rest your hands on the table and breathe out slowly.";
    let toml = "[[words]]\ntype = \"promise\"\ntopic = \"result\"\nwords = [\"breathe out\"]\nsource = \"ours\"\n";
    let own = match RULES.clone().with("own.toml", toml) {
        Ok(own) => own,
        Err(wrong) => panic!("{wrong:?}"),
    };
    let row = Row::of("innocent", "instruction", "", text);
    assert!(read_alone(&RULES, shipped(), &row).0 < LET_GO, "the second reader sees nothing in it");
    assert!(found(&RULES, text, &COUNTRIES).is_empty());
    assert!(found(&own, text, &COUNTRIES).iter().any(|c| c.kind == "promise"));
}

/// Of sentences that it never saw: it learns build.csv and further.csv and reads more.csv.
#[test]
fn cautions_and_orders_to_the_hand_are_let_be() {
    let model = learn(&RULES, &taught(&[rows(BUILD), rows(FURTHER)].concat()), (shipped().threshold, shipped().strict));
    let rules = RULES.clone().reading(model);
    let (mut read, mut wrong) = (0, Vec::new());
    for row in rows(MORE).iter().filter(|r| matches!(r[3].as_str(), "caution" | "instruction")) {
        read += 1;
        if of_row(&rules, row).iter().any(suspects) {
            wrong.push(row[9].clone());
        }
    }
    assert!(read > 120, "{read}");
    // Three in a hundred. With a threshold of 0.9 it was one in a hundred, and far less of what is to be found was found.
    assert!(wrong.len() * 33 <= read, "{} of {read}: {wrong:#?}", wrong.len());
}

#[test]
fn it_says_nothing_of_few_words_of_questions_and_of_what_the_rules_dismissed() {
    for text in [
        "Melts away!",
        "0.126 dE00 a day (Theil-Sen slope, 95 % interval",
        "Wrinkles erased",
        "Do the pipes under your jaw run free again?",
        "It does not remove wrinkles.",
        "Press below the cheekbone for ten seconds.",
        "If you have rosacea, ask your doctor first.",
        "I have no proof that it gets the pipes under your jaw running.",
        "This is an ad for my own oil: get yours before Sunday.",
    ] {
        let claims = found(&RULES, text, &COUNTRIES);
        assert!(!claims.iter().any(suspects), "{text}: {claims:?}");
    }
    let with = RULES.clone().reading(shipped().clone().from(0.0, 0.0));
    let words = "Faces turn towards windows";
    assert!(
        found(&with, words, &COUNTRIES).iter().any(suspects),
        "at no threshold everything but a caution is suspect"
    );
    assert!(found(&with, "Faces turn", &COUNTRIES).is_empty());
}
