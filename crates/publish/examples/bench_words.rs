//! An hour of captions (about 9 000 words) read and checked in three countries, beside the `aho-corasick` crate finding the same plain
//! wordings in the same text in the same run. The peer only finds letters: it knows no inflection, no effect with its matter, no negation
//! or question, no country, no safer wording. `bench_words [RUNS]`.

use std::process::ExitCode;
use std::time::Instant;

use aho_corasick::AhoCorasick;
use publish::claims::{Rules, check};
use publish::timed::read;

const WORDS: usize = 9_000;
const BAR: f64 = 100.0;
const SENTENCES: &str = include_str!("../../../tests/words/build.csv");
const LISTS: [&str; 4] = [
    include_str!("../../../data/words/claims/effects.csv"),
    include_str!("../../../data/words/claims/topics.csv"),
    include_str!("../../../data/words/claims/context.csv"),
    include_str!("../../../data/words/claims/frames.csv"),
];

fn column(text: &str, name: &str) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let at = reader.headers().ok().and_then(|h| h.iter().position(|f| f == name)).unwrap_or(0);
    reader.records().filter_map(Result::ok).map(|r| r[at].to_owned()).collect()
}

/// One hour: the labelled sentences, innocent ones nine times as often as statements.
fn hour() -> String {
    let (kinds, texts) = (column(SENTENCES, "type"), column(SENTENCES, "text"));
    let of = |claim: bool| -> Vec<&str> {
        kinds.iter().zip(&texts).filter(|(k, _)| (*k != "innocent") == claim).map(|(_, t)| t.as_str()).collect()
    };
    let (claims, innocent) = (of(true), of(false));
    let mut out = String::from("WEBVTT\n");
    let (mut words, mut i, mut clock) = (0, 0usize, 0usize);
    while words < WORDS {
        let text = if i % 10 == 9 { claims[(i / 10) % claims.len()] } else { innocent[i % innocent.len()] };
        let n = text.split_whitespace().count();
        let stamp =
            |ms: usize| format!("{:02}:{:02}:{:02}.{:03}", ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60, ms % 1000);
        let next = clock + n * 400;
        out.push_str(&format!("\n{} --> {}\n{text}\n", stamp(clock), stamp(next)));
        (words, i, clock) = (words + n, i + 1, next);
    }
    out
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn main() -> ExitCode {
    let runs: usize = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(21);
    let text = hour();
    let begun = Instant::now();
    let rules = Rules::shipped();
    let loading = begun.elapsed().as_secs_f64() * 1e3;
    let wordings: Vec<String> = LISTS
        .iter()
        .flat_map(|list| column(list, "words"))
        .flat_map(|w| w.split('|').map(str::to_owned).collect::<Vec<_>>())
        .filter(|w| w.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'')) && w.len() > 1)
        .collect();
    let begun = Instant::now();
    let Ok(peer) = AhoCorasick::builder().ascii_case_insensitive(true).build(&wordings) else {
        eprintln!("the peer took the wordings for something else");
        return ExitCode::from(1);
    };
    let building = begun.elapsed().as_secs_f64() * 1e3;
    let countries = ["us", "eu", "uk"].map(str::to_owned);
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    let (mut claims, mut found) = (0, 0);
    for _ in 0..runs {
        let begun = Instant::now();
        let Ok(spoken) = read("hour.vtt", &text) else {
            eprintln!("the hour was not read");
            return ExitCode::from(1);
        };
        claims = check(&rules, &spoken, &countries).len();
        ours.push(begun.elapsed().as_secs_f64() * 1e3);
        let begun = Instant::now();
        found = peer.find_overlapping_iter(&text).count();
        theirs.push(begun.elapsed().as_secs_f64() * 1e3);
    }
    let (ours, theirs) = (median(ours), median(theirs));
    println!(
        "{} words of captions, {} wordings, {runs} runs, medians",
        text.split_whitespace().count(),
        wordings.len()
    );
    println!(
        "read and checked in three countries: {ours:.1} ms, {claims} findings (words loaded once in {loading:.1} ms)"
    );
    println!("aho-corasick finds the plain wordings: {theirs:.2} ms, {found} places (built once in {building:.1} ms)");
    println!("ratio {:.1}", ours / theirs);
    let failed = usize::from(ours >= BAR);
    println!("under {BAR} ms: {} passed, {failed} failed", 1 - failed);
    if failed > 0 { ExitCode::from(1) } else { ExitCode::SUCCESS }
}
