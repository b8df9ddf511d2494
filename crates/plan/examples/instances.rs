//! Random planning problems with the planner's own answer, for the comparison with a general solver.
//!
//! `instances --seed S --count N [--out DIR] [--candidates N]` draws people and requests from one seed, writes each
//! feasible-or-not problem as `NNNN.json` with the planner's answer under `answer`, and prints how long the planner
//! took. `--candidates 60` keeps only problems with 55 to 65 candidates; `--wide` asks every concern with every tool for
//! up to an hour; `--whole` times whole drafts too.

#[path = "../tests/common/random.rs"]
mod random;

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::Instant;

use plan::atlas::{Atlas, ConcernIx, ToolIx};
use plan::request::Asked;
use plan::screening::Clearance;
use plan::solve::instance::Instance;
use plan::solve::{Outcome, draft, json, solve, steps_of};
use random::{Rng, random_answers, random_request, today};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut seed = 1u64;
    let mut count = 100usize;
    let mut out: Option<PathBuf> = None;
    let mut candidates: Option<usize> = None;
    let mut whole = false;
    let mut wide = false;
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        if arg == "--whole" {
            whole = true;
            continue;
        }
        if arg == "--wide" {
            wide = true;
            continue;
        }
        let value = args.next().ok_or_else(|| format!("{arg} wants a value"))?;
        match arg.as_str() {
            "--seed" => seed = value.parse()?,
            "--count" => count = value.parse()?,
            "--out" => out = Some(PathBuf::from(value)),
            "--candidates" => candidates = Some(value.parse()?),
            other => return Err(format!("unknown option {other}").into()),
        }
    }
    if let Some(out) = &out {
        std::fs::create_dir_all(out)?;
    }
    let atlas = Atlas::built_in();
    let mut times = Vec::new();
    let mut wholes = Vec::new();
    let mut worst = (0u128, 0u64);
    let mut feasible = 0;
    let mut n = 0;
    let mut sub = seed.wrapping_mul(1_000_003);
    while n < count {
        sub += 1;
        let mut rng = Rng::new(sub);
        let answers = random_answers(&atlas, &mut rng);
        let mut request = random_request(&atlas, &mut rng);
        if wide {
            request.minutes = 2 + rng.below(59) as u32;
            let all = (0..atlas.concerns.len()).map(ConcernIx);
            request.concerns = all.map(|concern| Asked { concern, priority: 1 + rng.below(5) as u32 }).collect();
            request.tools = (0..atlas.tools.len()).map(ToolIx).collect();
        }
        let clearance = Clearance::new(&atlas, &answers, today());
        let Ok(instance) = plan::solve::instance(&atlas, &request, &clearance) else { continue };
        let size = candidates_of(&instance);
        if candidates.is_some_and(|c| size.abs_diff(c) > 5) {
            continue;
        }
        let start = Instant::now();
        let solution = solve(&atlas, &instance);
        let us = start.elapsed().as_micros();
        times.push(us);
        if us > worst.0 {
            worst = (us, sub);
        }
        if whole {
            let start = Instant::now();
            let outcome = draft(&atlas, &request, &clearance);
            assert_eq!(matches!(outcome, Outcome::Draft(_)), solution.is_some());
            wholes.push(start.elapsed().as_micros());
        }
        feasible += usize::from(solution.is_some());
        if let Some(out) = &out {
            let answer = solution.map_or("null".to_owned(), |s| {
                let steps = steps_of(&atlas, &instance, &s).into_iter().map(|step| {
                    format!(
                        "[\"{}\", \"{}\", \"{}\", \"{}\", \"{}\", {}]",
                        step.movement,
                        step.target_id(&atlas),
                        step.side,
                        step.technique_id(&atlas),
                        atlas.tool(step.tool).id,
                        step.seconds
                    )
                });
                let steps: Vec<String> = steps.collect();
                format!(
                    "{{\"gain\": {}, \"total_s\": {}, \"proven\": {}, \"solve_us\": {us}, \"steps\": [{}]}}",
                    s.gain,
                    s.total_s,
                    s.proven,
                    steps.join(", ")
                )
            });
            let problem = json::to_json(&atlas, &instance);
            let body = problem.trim_end().trim_end_matches('}').trim_end();
            let text = format!("{body},\n\"seed\": {sub}, \"candidates\": {size},\n\"answer\": {answer}\n}}\n");
            std::fs::write(out.join(format!("{n:04}.json")), text)?;
        }
        n += 1;
    }
    report("solve", &mut times);
    if whole {
        report("whole draft (curve, fallbacks, reasons)", &mut wholes);
    }
    println!("{count} problems, {feasible} feasible; slowest: sub-seed {}", worst.1);
    Ok(())
}

/// Candidates are counted as (target, technique, tool), a pair once.
fn candidates_of(instance: &Instance) -> usize {
    let all: BTreeSet<_> =
        instance.items.iter().flat_map(|i| i.options.iter().map(move |o| (i.target, o.technique, o.tool))).collect();
    all.len()
}

fn report(what: &str, times: &mut [u128]) {
    times.sort_unstable();
    let at = |q: f64| times[((times.len() - 1) as f64 * q).round() as usize] as f64 / 1000.0;
    println!("{what}: median {:.2} ms, p90 {:.2} ms, p99 {:.2} ms, max {:.2} ms", at(0.5), at(0.9), at(0.99), at(1.0));
}
