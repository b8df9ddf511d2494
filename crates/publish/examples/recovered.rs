//! What of old recordings is recovered: `cargo run -p publish --example recovered -- FOLDER [--misses] [--look NAME]`.
//!
//! Each caption file of the folder with a `NAME.truth.csv` beside it (time,target,side,technique,seconds) is read as a draft. A step of the
//! truth is recovered by a step of the draft with its target and its side, at most 20 s from its time, in the same order. The bar is 0.90 of
//! all steps for targets with sides. `--misses` shows what was missed and what was too much; a folder with a file HELD refuses it.

#[path = "../tests/voices/mod.rs"]
mod voices;

use std::path::Path;
use std::process::ExitCode;

use plan::atlas::{Atlas, TargetIx};
use publish::recordings::{HeardStep, read};
use publish::timed;
use voices::{BAR, TOLERANCE_S, Truth, pairs, truths};

fn told(atlas: &Atlas, step: &HeardStep) -> String {
    let also: Vec<&str> = step.also.iter().map(|t: &TargetIx| atlas.target(*t).id.as_str()).collect();
    let (s, time) = (&step.step, step.time.unwrap_or(-1.0));
    format!(
        "{time:.1} {} {} {} {} ({:.2}; also {}) \"{}\"",
        s.target_id(atlas),
        s.side,
        s.technique_id(atlas),
        s.seconds,
        step.confidence,
        also.join(" "),
        step.heard
    )
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let Some(folder) = args.iter().find(|a| !a.starts_with("--")) else {
        eprintln!("recovered FOLDER [--misses]: say which folder holds the caption files");
        return ExitCode::from(2);
    };
    let misses = args.iter().any(|a| a == "--misses");
    if misses && Path::new(folder).join("HELD").exists() {
        eprintln!("{folder} is held out: its misses are not to be looked at; leave out --misses");
        return ExitCode::from(2);
    }
    let Ok(entries) = std::fs::read_dir(folder) else {
        eprintln!("{folder} is no folder that can be read");
        return ExitCode::from(2);
    };
    let mut names: Vec<String> = entries.filter_map(|e| e.ok()?.file_name().into_string().ok()).collect();
    names.sort();
    let atlas = Atlas::built_in();
    let (mut passed, mut failed) = (0, 0);
    let (mut all, mut all_found, mut all_extra, mut all_length, mut all_lengths) = (0, 0, 0, 0, 0);
    for name in names.iter().filter(|n| [".vtt", ".srt", ".txt"].iter().any(|e| n.ends_with(e))) {
        let path = Path::new(folder).join(name);
        let Some(truth) = std::fs::read_to_string(path.with_extension("truth.csv")).ok().and_then(|t| truths(&t))
        else {
            continue;
        };
        let spoken = std::fs::read_to_string(&path).map_err(|e| e.to_string()).and_then(|text| {
            timed::read(name, &text).map_err(|f| f.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
        });
        let spoken = match spoken {
            Ok(spoken) => spoken,
            Err(why) => {
                println!("FAILED  {name}: {why}");
                failed += 1;
                continue;
            }
        };
        if misses && args.iter().any(|a| a == "--look") {
            for line in publish::recordings::look(&atlas, &spoken) {
                println!("    {line}");
            }
        }
        let steps = read(&atlas, &spoken).steps;
        let near = |t: &Truth, s: &HeardStep| s.time.is_some_and(|time| (time - t.time).abs() <= TOLERANCE_S);
        let place = |t: &Truth, s: &HeardStep| s.step.target_id(&atlas) == t.target && near(t, s);
        let found = pairs(&truth, &steps, |t, s| place(t, s) && s.step.side.word() == t.side);
        let places = pairs(&truth, &steps, place).len();
        let technique =
            found.iter().filter(|(i, j)| steps[*j].step.technique_id(&atlas) == truth[*i].technique).count();
        let lengths: Vec<bool> = found
            .iter()
            .filter_map(|(i, j)| truth[*i].seconds.map(|s| (f64::from(steps[*j].step.seconds) - s).abs() < 0.5))
            .collect();
        let right = lengths.iter().filter(|l| **l).count();
        let share = found.len() as f64 / truth.len().max(1) as f64;
        let ok = share >= BAR;
        *(if ok { &mut passed } else { &mut failed }) += 1;
        (all, all_found, all_extra) =
            (all + truth.len(), all_found + found.len(), all_extra + steps.len() - found.len());
        (all_length, all_lengths) = (all_length + right, all_lengths + lengths.len());
        println!(
            "{}  {name}: {} of {} steps with target and side ({share:.2}), {places} with target, {technique} with technique, {right} of {} told seconds right, {} steps too many",
            if ok { "ok    " } else { "FAILED" },
            found.len(),
            truth.len(),
            lengths.len(),
            steps.len() - found.len()
        );
        if misses {
            for (i, t) in truth.iter().enumerate().filter(|(i, _)| !found.iter().any(|(k, _)| k == i)) {
                println!("    missed {i}: {:.1} {} {} {}", t.time, t.target, t.side, t.technique);
            }
            for (_, s) in steps.iter().enumerate().filter(|(j, _)| !found.iter().any(|(_, k)| k == j)) {
                println!("    extra: {}", told(&atlas, s));
            }
        }
    }
    let share = all_found as f64 / f64::from(all.max(1) as u32);
    println!(
        "together: {all_found} of {all} steps with target and side ({share:.3}), {all_length} of {all_lengths} told seconds right, {all_extra} steps too many"
    );
    println!("{passed} passed, {failed} failed (bar {BAR:.2})");
    if passed > 0 && failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
