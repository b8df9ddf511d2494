//! Judges the claims check on a labelled set: `judged FILE.csv [--misses] [--bar RECALL PRECISION] [--most SHARE]`.
//! Columns: id, family, type, topic, rule, us, eu, uk, before, text. Sentence by country; a held-out set shows no misses.

use std::collections::BTreeMap;
use std::process::ExitCode;

use publish::claims::{Claim, Rules, Verdict, check_sentences};
use publish::timed::Sentence;

/// Right, missed, and wrongly found.
#[derive(Clone, Copy, Default)]
struct Count {
    right: usize,
    missed: usize,
    wrong: usize,
}

impl Count {
    fn recall(self) -> f64 {
        self.right as f64 / (self.right + self.missed).max(1) as f64
    }

    fn precision(self) -> f64 {
        self.right as f64 / (self.right + self.wrong).max(1) as f64
    }

    fn add(&mut self, expected: bool, found: bool) {
        match (expected, found) {
            (true, true) => self.right += 1,
            (true, false) => self.missed += 1,
            (false, true) => self.wrong += 1,
            (false, false) => {}
        }
    }
}

fn sentence(text: &str, from: usize) -> Sentence {
    let n = text.chars().count();
    Sentence { text: text.to_owned(), at: (from..=from + n).collect(), time: Vec::new(), opens: from == 0 }
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some(file) = arguments.first().filter(|a| !a.starts_with("--")) else {
        eprintln!("usage: judged FILE.csv [--misses] [--bar RECALL PRECISION] [--most SHARE OF INNOCENTS FLAGGED]");
        return ExitCode::from(2);
    };
    let text = match std::fs::read_to_string(file) {
        Ok(text) => text,
        Err(error) => {
            eprintln!("{file}: {error}");
            return ExitCode::from(2);
        }
    };
    let misses = arguments.iter().any(|a| a == "--misses");
    if misses && text.starts_with("# held out") {
        eprintln!("{file} is held out: its sentences are not shown, only counted");
        return ExitCode::from(2);
    }
    let bar: Vec<f64> = match arguments.iter().position(|a| a == "--bar") {
        Some(at) => arguments[at + 1..].iter().take(2).filter_map(|a| a.parse().ok()).collect(),
        None => Vec::new(),
    };
    let most: Option<f64> =
        arguments.iter().position(|a| a == "--most").and_then(|at| arguments.get(at + 1)?.parse().ok());
    let rules = Rules::shipped();
    let countries = ["us", "eu", "uk"].map(str::to_owned);
    let (mut avoid, mut flagged, mut typed) = (Count::default(), Count::default(), Count::default());
    let mut by_type: BTreeMap<String, Count> = BTreeMap::new();
    let mut innocents: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    let mut sentences = 0;
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    for row in reader.records() {
        let row = match row {
            Ok(row) if row.len() == 10 => row,
            Ok(row) => {
                eprintln!("{file}: a row has {} fields, 10 are needed: {row:?}", row.len());
                return ExitCode::from(2);
            }
            Err(error) => {
                eprintln!("{file}: {error}");
                return ExitCode::from(2);
            }
        };
        sentences += 1;
        let (kind, topic, before, text) = (&row[2], &row[3], &row[8], &row[9]);
        let mut spoken = Vec::new();
        let mut from = 0;
        if !before.is_empty() {
            spoken.push(sentence(before, 0));
            from = before.chars().count() + 1;
        }
        spoken.push(sentence(text, from));
        let claims: Vec<Claim> =
            check_sentences(&rules, &spoken, &countries).into_iter().filter(|c| c.start >= from).collect();
        let mut notes = Vec::new();
        for (at, country) in countries.iter().enumerate() {
            let expected = &row[5 + at];
            let here: Vec<&Claim> = claims.iter().filter(|c| c.country == *country).collect();
            let avoids = here.iter().any(|c| c.verdict == Verdict::Avoid);
            let flags = here.iter().any(|c| c.verdict != Verdict::Ok);
            avoid.add(expected == "avoid", avoids);
            flagged.add(!matches!(expected, "ok" | "none"), flags);
            by_type.entry(kind.to_owned()).or_default().add(expected == "avoid", avoids);
            if (expected == "avoid") != avoids {
                notes.push(format!("{country} {}", if avoids { "wrongly avoid" } else { "avoid missed" }));
            } else if !matches!(expected, "ok" | "none") != flags {
                notes.push(format!("{country} {}", if flags { "wrongly flagged" } else { "not flagged" }));
            }
        }
        let any = claims.iter().any(|c| c.verdict != Verdict::Ok);
        if kind == "innocent" {
            let count = innocents.entry(topic.to_owned()).or_default();
            count.0 += 1;
            count.1 += usize::from(any);
        } else {
            typed.add(true, claims.iter().any(|c| c.kind == kind));
        }
        if misses && !notes.is_empty() {
            let found: Vec<String> = claims
                .iter()
                .map(|c| format!("{}/{} \"{}\" {:.2}", c.kind, c.topic, c.text, c.confidence))
                .collect::<std::collections::BTreeSet<_>>()
                .into_iter()
                .collect();
            println!(
                "{} {kind}/{topic} [{before}] {text}\n    {} | found: {}",
                &row[0],
                notes.join(", "),
                found.join("; ")
            );
        } else if misses && kind != "innocent" && !claims.iter().any(|c| c.kind == kind) {
            println!(
                "{} {kind}/{topic} [{before}] {text}\n    type not found | {}",
                &row[0],
                claims.iter().map(|c| format!("{}/{}", c.kind, c.topic)).collect::<Vec<_>>().join("; ")
            );
        }
    }
    println!("{sentences} sentences, {} countries", countries.len());
    println!(
        "to avoid:         recall {:.3}, precision {:.3} ({} right, {} missed, {} wrongly)",
        avoid.recall(),
        avoid.precision(),
        avoid.right,
        avoid.missed,
        avoid.wrong
    );
    println!(
        "anything flagged: recall {:.3}, precision {:.3} ({} right, {} missed, {} wrongly)",
        flagged.recall(),
        flagged.precision(),
        flagged.right,
        flagged.missed,
        flagged.wrong
    );
    println!("type found: {} of {} statements", typed.right, typed.right + typed.missed);
    for (kind, count) in &by_type {
        println!("  avoid, {kind}: {} right, {} missed, {} wrongly", count.right, count.missed, count.wrong);
    }
    for (topic, (all, wrongly)) in &innocents {
        println!("  innocent, {topic}: {wrongly} of {all} flagged");
    }
    let (mut failed, mut asked) = (0, 0);
    if let [recall, precision] = bar.as_slice() {
        asked += 2;
        failed += usize::from(avoid.recall() < *recall) + usize::from(avoid.precision() < *precision);
    }
    if let Some(most) = most {
        let (all, wrongly) = innocents.values().fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1));
        asked += 1;
        failed += usize::from(all == 0 || wrongly as f64 > most * all as f64);
        println!("{wrongly} of {all} innocents flagged, at most {:.0} % wanted", most * 100.0);
    }
    if asked > 0 {
        println!("{} passed, {failed} failed", asked - failed);
    }
    if failed > 0 { ExitCode::from(1) } else { ExitCode::SUCCESS }
}
