//! Makes the second reader's weights (data/words/claims/second.txt) of the labelled sentences to build on, and judges it by families that it
//! has not seen: `second_train [--write]`. Same sentences, same weights: nothing in it is random.

use std::collections::{BTreeMap, BTreeSet};
use std::process::ExitCode;
use std::time::Instant;

use publish::claims::second::{Model, Row, learn, read_alone};
use publish::claims::{Rules, Verdict, check_sentences};
use publish::timed::Sentence;

const SETS: [&str; 2] = [include_str!("../../../tests/words/build.csv"), include_str!("../../../tests/words/more.csv")];
/// Sentences of the project's own texts that state nothing, one a line.
const PLAIN: &str = include_str!("../../../tests/words/plain.txt");
const VERDICTS: &str = include_str!("../../../data/words/claims/verdicts.csv");
const OUT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/words/claims/second.txt");
const COUNTRIES: [&str; 3] = ["us", "eu", "uk"];
const FOLDS: usize = 5;
/// From which likelihood on the reader that ships speaks: see the table that this prints.
const THRESHOLD: f64 = 0.9;

type Labelled = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Labelled> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let head = reader.headers().cloned().unwrap_or_default();
    let row = |r: csv::StringRecord| head.iter().map(str::to_owned).zip(r.iter().map(str::to_owned)).collect();
    reader.records().filter_map(Result::ok).map(row).collect()
}

fn taught(rows: &[Labelled]) -> Vec<Row<'_>> {
    let labelled = rows.iter().filter_map(|r| Row::of(&r["type"], &r["topic"], &r["before"], &r["text"]));
    labelled.chain(Row::plain(PLAIN)).collect()
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
    let sets: Vec<Vec<Labelled>> = SETS.iter().map(|s| rows(s)).collect();
    let all: Vec<Labelled> = sets.iter().flatten().cloned().collect();
    let meant: BTreeMap<(String, String), [String; 3]> = rows(VERDICTS)
        .into_iter()
        .map(|r| ((r["type"].clone(), r["topic"].clone()), COUNTRIES.map(|c| r[c].clone())))
        .collect();
    let rules = Rules::shipped().alone();
    let begun = Instant::now();
    let model = learn(&rules, &taught(&all), THRESHOLD);
    let took = begun.elapsed().as_secs_f64();
    let text = model.written();
    println!(
        "{} sentences, {} of them taught, learnt in {took:.1} s, {} kB",
        all.len(),
        taught(&all).len(),
        text.len() / 1000
    );
    if Model::read(&text).as_ref() != Some(&model) {
        eprintln!("what was written is not what is read again");
        return ExitCode::from(1);
    }
    if std::env::args().any(|a| a == "--write")
        && let Err(error) = std::fs::write(OUT, &text)
    {
        eprintln!("{OUT}: {error}");
        return ExitCode::from(1);
    }
    let families: Vec<&str> = all.iter().map(|r| r["family"].as_str()).collect::<BTreeSet<_>>().into_iter().collect();
    let fold = |row: &Labelled| families.binary_search(&row["family"].as_str()).unwrap_or(0) % FOLDS;
    let thresholds = [0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.925, 0.95, 0.97];
    // Where: all, build.csv, more.csv. What: rules alone, then second alone and both, by threshold.
    let places = ["both files", "build.csv", "more.csv"];
    let mut counts = vec![vec![(Count::default(), Count::default(), 0usize); 1 + 2 * thresholds.len()]; places.len()];
    let (mut kinds, mut types, mut told) = (0usize, 0usize, 0usize);
    for at in 0..FOLDS {
        let rest: Vec<Labelled> = all.iter().filter(|r| fold(r) != at).cloned().collect();
        let model = learn(&rules, &taught(&rest), 0.5);
        let both: Vec<Rules> = thresholds.iter().map(|t| rules.clone().reading(model.clone().from(*t))).collect();
        for (i, row) in all.iter().enumerate().filter(|(_, r)| fold(r) == at) {
            let (likely, kind, topic) = read_alone(&rules, &model, &row["text"]);
            let mut said = vec![checked(&rules, row).map(|v| v.map_or("none", Verdict::name))];
            if meant.contains_key(&(row["type"].clone(), row["topic"].clone()))
                && row["type"] != "wellbeing"
                && row["type"] != "appearance"
            {
                told += 1;
                types += usize::from(kind == row["type"]);
                kinds += usize::from(kind == row["type"] && topic == row["topic"]);
            }
            let verdicts = meant.get(&(kind, topic));
            for (t, both) in thresholds.iter().zip(&both) {
                let alone = verdicts.filter(|_| likely >= *t);
                said.push([0, 1, 2].map(|c| alone.map_or("none", |v| v[c].as_str())));
                said.push(checked(both, row).map(|v| v.map_or("none", Verdict::name)));
            }
            let here = if i < sets[0].len() { 1 } else { 2 };
            for place in [0, here] {
                for (count, said) in counts[place].iter_mut().zip(&said) {
                    for (country, said) in COUNTRIES.iter().zip(said) {
                        count.0.add(row[*country] == "avoid", *said == "avoid");
                        count.1.add(!matches!(row[*country].as_str(), "ok" | "none"), !matches!(*said, "ok" | "none"));
                    }
                    count.2 +=
                        usize::from(row["type"] == "innocent" && said.iter().any(|s| !matches!(*s, "ok" | "none")));
                }
            }
        }
    }
    println!("types right {types}, types and topics right {kinds} of {told} statements");
    println!("{FOLDS} folds by family, {} families; recall / precision", families.len());
    for (place, counts) in places.iter().zip(&counts) {
        println!("{place:12} {:34} to avoid       anything flagged  innocents flagged", "");
        let line = |name: String, c: &(Count, Count, usize)| {
            println!("{:12} {name:34} {}  {}     {}", "", c.0.told(), c.1.told(), c.2)
        };
        line("rules alone".into(), &counts[0]);
        for (i, t) in thresholds.iter().enumerate() {
            line(format!("second alone from {t}"), &counts[1 + 2 * i]);
        }
        for (i, t) in thresholds.iter().enumerate() {
            line(format!("rules, and second from {t}"), &counts[2 + 2 * i]);
        }
    }
    ExitCode::SUCCESS
}
