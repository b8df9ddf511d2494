//! The claims check held to labelled sentences: the part to build on, and what regulators published.

use std::collections::{BTreeMap, BTreeSet};

use publish::claims::{Claim, Rules, Verdict, check_sentences};
use publish::timed::Sentence;

const BUILD: &str = include_str!("../../../tests/words/build.csv");
const REGULATORS: &str = include_str!("../../../tests/words/regulators.csv");
const RULES: &str = include_str!("../../../data/words/claims/rules.csv");
const COUNTRIES: [&str; 3] = ["us", "eu", "uk"];

fn rows(text: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let row = |r: csv::StringRecord| head.iter().map(str::to_owned).zip(r.iter().map(str::to_owned)).collect();
    reader.records().map(|r| row(r.expect("a row"))).collect()
}

fn sentence(text: &str, from: usize) -> Sentence {
    let n = text.chars().count();
    Sentence { text: text.to_owned(), at: (from..=from + n).collect(), time: Vec::new(), opens: from == 0 }
}

/// The claims of a sentence after the one before it.
fn claims(rules: &Rules, before: &str, text: &str, countries: &[&str]) -> Vec<Claim> {
    let countries: Vec<String> = countries.iter().map(|c| (*c).to_owned()).collect();
    let from = if before.is_empty() { 0 } else { before.chars().count() + 1 };
    let mut spoken = vec![sentence(text, from)];
    if from > 0 {
        spoken.insert(0, sentence(before, 0));
    }
    check_sentences(rules, &spoken, &countries).into_iter().filter(|c| c.start >= from).collect()
}

#[test]
fn the_part_to_build_on_is_judged_within_its_bars() {
    let rules = Rules::shipped();
    let (mut right, mut missed, mut wrong) = (0usize, 0usize, 0usize);
    let mut innocent_wrong = Vec::new();
    let rows = rows(BUILD);
    assert!(rows.len() >= 400, "{} sentences", rows.len());
    for row in &rows {
        let found = claims(&rules, &row["before"], &row["text"], &COUNTRIES);
        for country in COUNTRIES {
            let avoids = found.iter().any(|c| c.country == country && c.verdict == Verdict::Avoid);
            match (row[country] == "avoid", avoids) {
                (true, true) => right += 1,
                (true, false) => missed += 1,
                (false, true) => {
                    wrong += 1;
                    if row["type"] == "innocent" {
                        innocent_wrong.push(row["text"].clone());
                    }
                }
                (false, false) => {}
            }
        }
    }
    let (recall, precision) = (right as f64 / (right + missed) as f64, right as f64 / (right + wrong) as f64);
    assert!(recall >= 0.98, "recall {recall:.3}: {missed} missed of {}", right + missed);
    assert!(precision >= 0.97, "precision {precision:.3}: {wrong} wrongly, of innocents {innocent_wrong:?}");
}

#[test]
fn what_regulators_published_is_caught_with_its_rule() {
    let rules = Rules::shipped();
    let mut wrong = Vec::new();
    let rows = rows(REGULATORS);
    assert!(rows.len() >= 80, "{} rows", rows.len());
    for row in &rows {
        let found = claims(&rules, "", &row["text"], &COUNTRIES);
        let country = row["country"].as_str();
        let here: Vec<&Claim> = found.iter().filter(|c| c.country == country).collect();
        let caught = here.iter().any(|c| c.rules.contains(&row["rule"]));
        let worst = here.iter().map(|c| c.verdict).min();
        let verdict = worst.map_or("none", Verdict::name);
        let expected = row[country].as_str();
        // What may be said is not flagged; of it a rule need not be told.
        let ok = matches!(expected, "ok" | "none");
        let said = matches!(verdict, "ok" | "none");
        if (!ok && (!caught || said)) || (ok && !said) {
            let told: Vec<String> = here.iter().map(|c| format!("{}/{} {:?}", c.kind, c.topic, c.rules)).collect();
            let wanted = format!("{} {}: {} ({expected}) in {country}", row["id"], row["source"], row["rule"]);
            wrong.push(format!("{wanted}: {}\n    {}", row["text"], told.join("; ")));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), rows.len(), wrong.join("\n"));
}

#[test]
fn every_rule_has_sentences_on_both_sides() {
    let rules = Rules::shipped();
    let (mut claimed, mut innocent) = (BTreeSet::new(), BTreeSet::new());
    for row in rows(BUILD).into_iter().chain(rows(REGULATORS)) {
        let before = row.get("before").map_or("", String::as_str);
        let found = claims(&rules, before, &row["text"], &COUNTRIES);
        let flagged = found.iter().any(|c| c.verdict != Verdict::Ok);
        if row["type"] == "innocent" {
            if !flagged {
                innocent.insert(row["rule"].clone());
            }
        } else if flagged || found.iter().any(|c| c.rules.contains(&row["rule"])) {
            claimed.insert(row["rule"].clone());
        }
    }
    let all: BTreeSet<String> = rows(RULES).into_iter().map(|r| r["id"].clone()).collect();
    let lacking: Vec<_> = all.iter().filter(|r| !claimed.contains(*r)).collect();
    let alone: Vec<_> = all.iter().filter(|r| !innocent.contains(*r)).collect();
    assert!(lacking.is_empty(), "no statement that was found stands for {lacking:?}");
    assert!(alone.is_empty(), "no innocent neighbour that was let be stands for {alone:?}");
}

#[test]
fn every_safer_wording_passes_the_check_and_keeps_the_voice() {
    let rules = Rules::shipped();
    let (mut given, mut none) = (0, BTreeSet::new());
    for row in rows(BUILD) {
        let found = claims(&rules, &row["before"], &row["text"], &COUNTRIES);
        for claim in found.iter().filter(|c| c.verdict != Verdict::Ok) {
            let Some(instead) = &claim.instead else {
                assert!(claim.reason.contains("No safer wording"), "{}: {}", row["id"], claim.reason);
                none.insert(format!("{}/{}", claim.kind, claim.topic));
                continue;
            };
            given += 1;
            let again = claims(&rules, "", instead, &COUNTRIES);
            let flagged: Vec<_> = again.iter().filter(|c| c.verdict != Verdict::Ok).map(|c| &c.text).collect();
            assert!(flagged.is_empty(), "{}: {instead:?} says {flagged:?}", row["id"]);
            assert!(!instead.contains(['{', '}']) && !instead.contains("  "), "{}: {instead:?}", row["id"]);
            assert_ne!(instead, &row["text"], "{}", row["id"]);
            // Small letters stay small, but for I.
            let small = |text: &str| text.chars().next().is_some_and(char::is_lowercase);
            let proper = instead.starts_with("I ") || instead.starts_with("I'") || claim.kind == "selling";
            assert!(!small(&row["text"]) || proper || small(instead), "{}: {instead:?}", row["id"]);
        }
    }
    assert!(given > 800, "{given} wordings given");
    none.remove("approval/legal_minimum");
    none.remove("story/actor");
    assert!(none.is_empty(), "no safer wording for {none:?}");
}

/// Kinds and topics that are more than may be said.
fn flagged(claims: &[Claim]) -> BTreeSet<(String, String)> {
    claims.iter().filter(|c| c.verdict != Verdict::Ok).map(|c| (c.kind.clone(), c.topic.clone())).collect()
}

#[test]
fn a_hedge_never_makes_surer_and_a_denial_never_adds() {
    let rules = Rules::shipped();
    let mut hedged = 0;
    for row in rows(BUILD).iter().filter(|r| r["before"].is_empty() && r["type"] != "innocent") {
        let text = &row["text"];
        let plain = claims(&rules, "", text, &["us"]);
        let Some((first, rest)) = text.split_once(' ') else { continue };
        for hedge in ["perhaps", "possibly", "maybe"] {
            let told = claims(&rules, "", &format!("{first} {hedge} {rest}"), &["us"]);
            for claim in &told {
                let same = |c: &&Claim| (&c.kind, &c.topic) == (&claim.kind, &claim.topic);
                if let Some(before) = plain.iter().find(same) {
                    let (now, then) = (claim.confidence, before.confidence);
                    assert!(now <= then, "{hedge} in {text:?}: {now} above {then}");
                    hedged += usize::from(now < then);
                }
            }
        }
        let denied = claims(&rules, "", &format!("I can't say that {text}"), &["us"]);
        let more: Vec<_> = flagged(&denied).difference(&flagged(&plain)).cloned().collect();
        assert!(more.is_empty(), "{text:?} denied adds {more:?}");
    }
    assert!(hedged > 150, "{hedged} statements became less sure");
}

#[test]
fn the_order_of_countries_changes_nothing_but_order() {
    let rules = Rules::shipped();
    let sorted = |mut claims: Vec<Claim>| {
        let key = |c: &Claim| (c.country.clone(), c.start, c.kind.clone(), c.topic.clone());
        claims.sort_by_key(key);
        claims
    };
    for row in rows(BUILD) {
        let one = claims(&rules, &row["before"], &row["text"], &["us", "eu", "uk"]);
        let other = claims(&rules, &row["before"], &row["text"], &["uk", "us", "eu"]);
        assert_eq!(sorted(one), sorted(other), "{}", row["text"]);
    }
    assert!(claims(&rules, "", "This cures migraine.", &["xx"]).is_empty(), "a country that is not known has no rules");
}

#[test]
fn a_disclaimer_and_a_tool_bring_their_rules_along() {
    let rules = Rules::shipped();
    let told = claims(&rules, "", "This is not medical advice, but this routine cures facial palsy.", &["uk"]);
    let rescued = |c: &Claim| c.verdict == Verdict::Avoid && c.rules.contains(&"uk_disclaimer".to_owned());
    assert!(told.iter().any(rescued), "{told:?}");
    let told = claims(&rules, "", "The roller activates lymph flow around the jaw.", &["us"]);
    assert_eq!(told[0].rules, ["us_lymph_circ", "us_device"]);
}
