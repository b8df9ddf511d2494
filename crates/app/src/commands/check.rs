//! `check ROUTINE`: what a hand-written routine does that it must not, each with its smallest repair.

use std::fmt::Write;

use clap::ArgMatches;
use plan::check;
use plan::reading::RoutineFile;
use plan::routine::total_s;
use vocab::Finding;

use super::{atlas, clearance, day, json, path};
use crate::catalogue::{fill, lower_first, seconds, text};
use crate::files;
use crate::json::check::Check;
use crate::outcome::{Code, Outcome};
use crate::tell;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, today, file) = (atlas(args)?, day(args)?, path(args, "routine")?);
    let routine = RoutineFile::parse(&file.display().to_string(), &files::read(file)?, &atlas)?;
    let clearance = clearance(&atlas, file, routine.audience, routine.answers.as_deref(), today)?;
    let breaches = check::check(&atlas, &routine, &clearance);
    let code = if breaches.is_empty() { Code::Done } else { Code::Breaches };
    let report = Check::new(&atlas, &clearance, &routine, &breaches);
    if args.get_flag("json") {
        return Ok(json(&report, code));
    }
    let mut out = format!("{}\n\n", text("page.not_reviewed"));
    let total = total_s(&atlas, &routine.steps);
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("steps", &routine.steps.len()), ("length", &seconds(total)), ("minutes", &routine.minutes)];
    let _ = writeln!(out, "{}", fill("check.summary", &values));
    if breaches.is_empty() {
        let _ = writeln!(out, "{}", text("check.ok"));
    }
    for (breach, told) in breaches.iter().zip(&report.breaches) {
        let place = match breach.step.and_then(|ix| routine.steps.get(ix).map(|step| (ix, step))) {
            Some((ix, step)) => {
                let said = tell::step(&atlas, step);
                let key = if said.side.is_empty() { "check.step" } else { "check.step_side" };
                let place = lower_first(&said.place);
                fill(key, &[("n", &(ix + 1)), ("does", &said.does), ("place", &place), ("side", &said.side)])
            }
            None => text("check.whole").to_owned(),
        };
        let _ =
            writeln!(out, "\n{place} [{}]\n  {}\n  {} {}", told.rule, told.message, text("check.repair"), told.repair);
    }
    Ok(Outcome { out, err: String::new(), code })
}
