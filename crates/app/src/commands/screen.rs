//! `screen ANSWERS`: what may be done for this person on this day.

use std::fmt::Write;

use clap::ArgMatches;
use plan::atlas::{Atlas, Shown, Target, TargetIx};
use plan::screening::{Answers, Clearance, Report};
use vocab::{Class, Finding, Side};

use super::{atlas, day, json, path};
use crate::catalogue::{Catalogue, fill, text};
use crate::files;
use crate::json::screen::Screen;
use crate::outcome::{Code, Outcome};
use crate::tell;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, today, file) = (atlas(args)?, day(args)?, path(args, "answers")?);
    let answers = Answers::parse(&file.display().to_string(), &files::read(file)?, &atlas)?;
    let clearance = Clearance::new(&atlas, &answers, today);
    let report = Report::new(&atlas, &clearance);
    if args.get_flag("json") {
        return Ok(json(&Screen::new(&atlas, &clearance, &report, today), Code::Done));
    }
    Ok(Outcome::done(plain(&atlas, &clearance, &report)))
}

/// The clearance in words, by place, the strictest first.
fn plain(atlas: &Atlas, clearance: &Clearance, report: &Report) -> String {
    let mut out = format!("{}\n", text("page.not_reviewed"));
    for sign in &report.warning_signs {
        let _ =
            writeln!(out, "\n{}: {}\n{} {}", text("screen.sign"), sign.sign, tell::urgency(sign.urgency), sign.action);
    }
    for class in Class::ALL.iter().rev() {
        let places = places(atlas, report, *class);
        if !places.is_empty() {
            let _ =
                writeln!(out, "\n{}", fill("screen.class", &[("class", &tell::class(*class)), ("n", &places.len())]));
            for (place, whole) in places {
                let note = if whole { "" } else { text("screen.in_part") };
                let _ = writeln!(out, "  {place}{note}");
            }
        }
    }
    let never: Vec<(&str, &str)> = atlas.targets.iter().filter_map(never).collect();
    if !never.is_empty() {
        let _ = writeln!(out, "\n{}", fill("screen.never", &[("n", &never.len())]));
        for (name, because) in never {
            let _ = writeln!(out, "  {name}: {because}");
        }
    }
    let mut rules: Vec<&String> = report.clearance.iter().flat_map(|r| &r.rules).chain(&report.stop).collect();
    rules.sort_unstable();
    rules.dedup();
    rules.retain(|r| !r.starts_with("unanswered."));
    if !rules.is_empty() {
        let _ = writeln!(out, "\n{}", text("screen.why"));
        for rule in rules {
            let _ = writeln!(out, "  {rule}: {}", clearance.reason(&Catalogue, atlas, rule));
        }
    }
    if !report.unanswered.is_empty() {
        let _ = writeln!(out, "\n{}", text("screen.unanswered"));
        for id in &report.unanswered {
            let _ = writeln!(out, "  {id}: {}", tell::question(atlas, id));
        }
    }
    out
}

/// A place that is in the atlas for knowledge and not for the hand, with the reason; it has no row in the report.
fn never(target: &Target) -> Option<(&str, &str)> {
    match &target.shown {
        Shown::Never(because) => Some((&target.name, because)),
        _ => None,
    }
}

/// The places whose mildest candidate has this class, and whether all their candidates do; left and right joined
/// where they are alike.
fn places(atlas: &Atlas, report: &Report, class: Class) -> Vec<(String, bool)> {
    let mut found: Vec<(TargetIx, Side, bool)> = Vec::new();
    for these in report.clearance.chunk_by(|a, b| a.target == b.target && a.side == b.side) {
        let Some(target) = these.first().and_then(|r| atlas.target_named(&r.target)) else { continue };
        if these.iter().map(|r| r.class).min() != Some(class) {
            continue;
        }
        let whole = these.iter().all(|r| r.class == class);
        match found.last_mut() {
            Some((same, side, alike)) if *same == target && *alike == whole => *side = Side::Both,
            _ => found.push((target, these[0].side, whole)),
        }
    }
    found.into_iter().map(|(target, side, whole)| (tell::place_left_out(atlas, target, side), whole)).collect()
}
