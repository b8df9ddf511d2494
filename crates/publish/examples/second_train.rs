//! Makes the second reader's weights (data/words/claims/second.txt) of the labelled sentences to build on, and judges it by families that it
//! has not seen: `second_train [--write | --only-write] [WRITER...]`. Same sentences, same weights: nothing in it is random.

use std::collections::{BTreeMap, BTreeSet};
use std::process::ExitCode;
use std::time::Instant;

use publish::claims::second::{Model, Row, learn, read_alone};
use publish::claims::{Rules, Verdict, check_sentences};
use publish::timed::Sentence;

const SETS: [&str; 3] = ["build.csv", "more.csv", "further.csv"];
const WORDS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/words/");
/// Sentences of the project's own texts that state nothing, one a line.
const PLAIN: &str = include_str!("../../../tests/words/plain.txt");
const OUT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/words/claims/second.txt");
const COUNTRIES: [&str; 3] = ["us", "eu", "uk"];
/// From which likelihoods on the reader that ships speaks: see the table that this prints.
const THRESHOLDS: (f64, f64) = (0.6, 0.8);
/// What is tried.
const TRIED: [(f64, f64); 12] = [
    (0.9, 2.0),
    (0.9, 0.95),
    (0.8, 0.8),
    (0.8, 0.9),
    (0.75, 0.9),
    (0.7, 0.9),
    (0.7, 0.8),
    (0.65, 0.8),
    (0.6, 0.8),
    (0.6, 0.7),
    (0.5, 0.7),
    (0.4, 0.6),
];
/// Whose sentences the rules were built on: they say little of the rules.
const BUILT_ON: [&str; 5] = ["build", "m1", "m2", "m3", "m4"];

type Labelled = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Labelled> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let head = reader.headers().cloned().unwrap_or_default();
    let row = |r: csv::StringRecord| head.iter().map(str::to_owned).zip(r.iter().map(str::to_owned)).collect();
    reader.records().filter_map(Result::ok).map(row).collect()
}

fn taught(rows: &[Labelled]) -> Vec<Row<'_>> {
    rows.iter().map(taught_of).chain(Row::plain(PLAIN)).collect()
}

fn taught_of(row: &Labelled) -> Row<'_> {
    Row::of(&row["type"], &row["topic"], &row["before"], &row["text"])
}

/// Who wrote it: what stands before the number.
fn writer(row: &Labelled) -> String {
    row["id"].split_once('-').map_or("build", |(w, _)| w).to_owned()
}

#[derive(Clone, Copy, Default)]
struct Count(usize, usize, usize);

impl Count {
    fn add(&mut self, expected: bool, found: bool) {
        self.0 += usize::from(expected && found);
        self.1 += usize::from(expected && !found);
        self.2 += usize::from(!expected && found);
    }

    fn told(self) -> String {
        let share = |of: usize| self.0 as f64 / (self.0 + of).max(1) as f64;
        format!("{:.3} / {:.3}", share(self.1), share(self.2))
    }
}

/// What was read of some sentences.
#[derive(Clone, Copy, Default)]
struct Seen {
    avoid: Count,
    flagged: Count,
    innocents: usize,
    cautions: usize,
}

impl Seen {
    fn add(&mut self, row: &Labelled, said: [&str; 3]) {
        let passes = |v: &str| matches!(v, "ok" | "none");
        for (country, said) in COUNTRIES.iter().zip(said) {
            self.avoid.add(row[*country] == "avoid", said == "avoid");
            self.flagged.add(!passes(&row[*country]), !passes(said));
        }
        let wrong = row["type"] == "innocent" && said.iter().any(|s| !passes(s));
        self.innocents += usize::from(wrong);
        self.cautions += usize::from(wrong && row["topic"] == "caution");
    }

    fn merge(&mut self, other: Seen) {
        for (mine, its) in [(&mut self.avoid, other.avoid), (&mut self.flagged, other.flagged)] {
            *mine = Count(mine.0 + its.0, mine.1 + its.1, mine.2 + its.2);
        }
        self.innocents += other.innocents;
        self.cautions += other.cautions;
    }

    fn told(self) -> String {
        format!("{}  {}     {}, {}", self.avoid.told(), self.flagged.told(), self.innocents, self.cautions)
    }
}

fn named(from: f64, strict: f64) -> String {
    format!("and second from {from}, {strict}")
}

/// The worst verdict of a sentence in each country, by rules and second reader together.
fn checked(rules: &Rules, row: &Labelled) -> [Option<Verdict>; 3] {
    let sentence = |text: &str, from: usize| {
        let n = text.chars().count();
        Sentence { text: text.to_owned(), at: (from..=from + n).collect(), time: Vec::new(), opens: from == 0 }
    };
    let from = if row["before"].is_empty() { 0 } else { row["before"].chars().count() + 1 };
    let mut spoken = vec![sentence(&row["text"], from)];
    if from > 0 {
        spoken.insert(0, sentence(&row["before"], 0));
    }
    let found = check_sentences(rules, &spoken, &COUNTRIES.map(str::to_owned));
    COUNTRIES.map(|c| found.iter().filter(|f| f.start >= from && f.country == c).map(|f| f.verdict).min())
}

fn main() -> ExitCode {
    let mut all: Vec<Labelled> = Vec::new();
    for set in SETS {
        match std::fs::read_to_string(format!("{WORDS}{set}")) {
            Ok(text) => all.extend(rows(&text)),
            Err(error) => {
                eprintln!("{WORDS}{set}: {error}");
                return ExitCode::from(2);
            }
        }
    }
    let rules = Rules::shipped().alone();
    let begun = Instant::now();
    let model = learn(&rules, &taught(&all), THRESHOLDS);
    let took = begun.elapsed().as_secs_f64();
    let text = model.written();
    println!(
        "{} sentences and {} plain ones, learnt in {took:.1} s, {} kB",
        all.len(),
        Row::plain(PLAIN).count(),
        text.len() / 1000
    );
    if Model::read(&text).as_ref() != Some(&model) {
        eprintln!("what was written is not what is read again");
        return ExitCode::from(1);
    }
    let asked: Vec<String> = std::env::args().skip(1).collect();
    if asked.iter().any(|a| a.ends_with("write"))
        && let Err(error) = std::fs::write(OUT, &text)
    {
        eprintln!("{OUT}: {error}");
        return ExitCode::from(1);
    }
    let mut writers: BTreeSet<String> = all.iter().map(writer).collect();
    if asked.iter().any(|a| a == "--only-write") {
        return ExitCode::SUCCESS;
    }
    if asked.iter().any(|a| !a.starts_with("--")) {
        writers.retain(|w| asked.contains(w));
    }
    println!("each writer's sentences read by what the others' taught; recall / precision");
    println!("{:12} {:34} to avoid       anything flagged  innocents flagged, cautions", "", "");
    let mut in_all = [Seen::default(); TRIED.len() + 1];
    for writer_of in &writers {
        let rest: Vec<Labelled> = all.iter().filter(|r| writer(r) != *writer_of).cloned().collect();
        let here: Vec<&Labelled> = all.iter().filter(|r| writer(r) == *writer_of).collect();
        let model = learn(&rules, &taught(&rest), THRESHOLDS);
        let (mut kinds, mut told) = (0usize, 0usize);
        for row in here.iter().map(|r| taught_of(r)) {
            if let Some((kind, topic)) = row.states {
                let (_, k, t) = read_alone(&rules, &model, &row);
                told += 1;
                kinds += usize::from(k == kind && t == topic);
            }
        }
        println!("{writer_of}: {} sentences; of {told} statements type and topic are right in {kinds}", here.len());
        let mut line = |at: usize, name: String, rules: &Rules| {
            let mut seen = Seen::default();
            for row in &here {
                seen.add(row, checked(rules, row).map(|v| v.map_or("none", Verdict::name)));
            }
            println!("{:12} {name:34} {}", "", seen.told());
            if !BUILT_ON.contains(&writer_of.as_str()) {
                in_all[at].merge(seen);
            }
        };
        line(0, "rules alone".into(), &rules);
        for (at, (from, strict)) in TRIED.into_iter().enumerate() {
            line(at + 1, named(from, strict), &rules.clone().reading(model.clone().from(from, strict)));
        }
    }
    println!("all of these that the rules were not built on");
    for (at, seen) in in_all.iter().enumerate() {
        let name = at.checked_sub(1).map_or("rules alone".to_owned(), |at| named(TRIED[at].0, TRIED[at].1));
        println!("{:12} {name:34} {}", "", seen.told());
    }
    ExitCode::SUCCESS
}
