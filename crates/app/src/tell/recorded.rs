//! An old recording as a draft, in words: how sure, and the whole as plain text.

use std::fmt::Write as _;

use plan::atlas::Atlas;
use publish::recordings::{HeardStep, Said, Sure};

use crate::catalogue::{clock, fill, lower_first, seconds, text};
use crate::json::check::Row;
use crate::recorded::Recorded;
use crate::tell;

/// From here on a step is sure, and from here on likely.
const SURE: f64 = 0.8;
const LIKELY: f64 = 0.62;

/// How sure, as the pattern of a line: plain, dotted, dashed.
pub fn pattern(confidence: f64) -> &'static str {
    match confidence {
        c if c >= SURE => "plain",
        c if c >= LIKELY => "dotted",
        _ => "dashed",
    }
}

/// How sure, in a word.
pub fn sure(confidence: f64) -> &'static str {
    match pattern(confidence) {
        "plain" => text("recordings.sure"),
        "dotted" => text("recordings.likely"),
        _ => text("recordings.doubtful"),
    }
}

/// What makes it less sure, each in a sentence.
pub fn unsure(sure: &Sure) -> Vec<&'static str> {
    let parts = [
        (sure.target < 0.65, "recordings.no_target"),
        (sure.side < 0.7, "recordings.no_side"),
        (sure.technique < 0.5, "recordings.no_technique"),
        (sure.seconds < 0.4, "recordings.no_seconds"),
        ((0.4..0.7).contains(&sure.seconds), "recordings.counted"),
    ];
    parts.into_iter().filter(|(is, _)| *is).map(|(_, key)| text(key)).collect()
}

/// When something is said; empty without times.
pub fn at(time: Option<f64>) -> String {
    time.map_or_else(String::new, |t| clock(t.max(0.0) as u32))
}

/// The whole as plain text.
pub fn plain(atlas: &Atlas, recorded: &Recorded) -> String {
    let mut out = format!("{}\n\n", text("page.not_reviewed"));
    let n = recorded.recording.steps.len();
    let told = match n {
        1 => fill("recordings.told_step", &[("file", &recorded.file)]),
        n => fill("recordings.told_steps", &[("file", &recorded.file), ("n", &n)]),
    };
    let _ = writeln!(out, "{told}");
    for (i, heard) in recorded.recording.steps.iter().enumerate() {
        step(atlas, &mut out, i + 1, heard);
    }
    let list = |out: &mut String, title: &'static str, all: &[Said]| {
        if !all.is_empty() {
            let _ = writeln!(out, "\n{}", text(title));
            for said in all {
                let _ = writeln!(out, "  {} \u{201c}{}\u{201d}", at(said.time), said.words);
            }
        }
    };
    list(&mut out, "recordings.cautions", &recorded.recording.cautions);
    list(&mut out, "recordings.unknown", &recorded.recording.not_understood);
    let rows = Row::all(atlas, &recorded.clearance, &recorded.routine, &recorded.breaches);
    let _ = writeln!(out, "\n{}", text(if rows.is_empty() { "check.ok" } else { "recordings.breaches" }));
    for row in rows {
        let place =
            row.step_number().map_or_else(|| text("check.whole").to_owned(), |n| fill("editor.step_n", &[("n", &n)]));
        let _ = writeln!(out, "  {place} [{}] {} {} {}", row.rule, row.message, text("check.repair"), row.repair);
    }
    out
}

fn step(atlas: &Atlas, out: &mut String, n: usize, heard: &HeardStep) {
    let said = tell::step(atlas, &heard.step);
    let mut place = lower_first(&said.place);
    if !said.side.is_empty() {
        place = fill("place.with_side", &[("place", &place), ("side", &said.side)]);
    }
    let _ = writeln!(
        out,
        "{n:>3}. {:>5}  {}, {place}, {} ({})",
        at(heard.time),
        said.does,
        seconds(heard.step.seconds),
        sure(heard.confidence)
    );
    let _ = writeln!(out, "            \u{201c}{}\u{201d}", heard.heard);
    for why in unsure(&heard.sure) {
        let _ = writeln!(out, "            {why}");
    }
}
