//! The commands: each reads what it is given, asks the pure crates, and says what came out.

pub mod card;
mod check;
mod draft;
mod map;
mod measure;
mod phantom;
mod screen;

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use plan::atlas::Atlas;
use plan::screening::{Answers, Clearance};
use vocab::{Date, Finding};

use crate::catalogue::text;
use crate::outcome::{Code, Outcome};
use crate::{cli, desk, files, today};

/// Runs what was typed; without a command, the desk.
pub fn run(matches: &ArgMatches) -> Outcome {
    let answered = match matches.subcommand() {
        Some(("screen", args)) => screen::run(args),
        Some(("draft", args)) => draft::run(args),
        Some(("check", args)) => check::run(args),
        Some(("map", args)) => map::run(args),
        Some(("measure", args)) => measure::run(args),
        Some(("card", args)) => card::run(args),
        Some(("phantom", args)) => phantom::run(args),
        Some(("completions", args)) => Ok(completions(args)),
        Some((_, args)) => run_desk(args.get_one::<u16>("port").copied().unwrap_or(0), !args.get_flag("no-open"), args),
        None => Ok(desk::serve(Atlas::built_in(), 0, None, true)),
    };
    answered.unwrap_or_else(|findings| Outcome::unusable(&findings))
}

fn run_desk(port: u16, open: bool, args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    Ok(desk::serve(atlas(args)?, port, args.get_one::<Date>("today").copied(), open))
}

fn completions(args: &ArgMatches) -> Outcome {
    let mut script = Vec::new();
    if let Some(shell) = args.get_one::<clap_complete::Shell>("shell") {
        clap_complete::generate(*shell, &mut cli::command(), "tragion", &mut script);
    }
    Outcome::done(String::from_utf8_lossy(&script).into_owned())
}

/// The atlas, with the files that `--atlas` names merged over it.
fn atlas(args: &ArgMatches) -> Result<Atlas, Vec<Finding>> {
    files::atlas(args.get_many::<PathBuf>("atlas").into_iter().flatten())
}

/// The day that `--today` names, else the clock's.
fn day(args: &ArgMatches) -> Result<Date, Vec<Finding>> {
    let said = args.get_one::<Date>("today").copied().or_else(today::today);
    said.ok_or_else(|| vec![Finding::new("tragion", 0, text("cli.no_clock"))])
}

/// The path of an argument that must be there.
fn path<'a>(args: &'a ArgMatches, name: &str) -> Result<&'a Path, Vec<Finding>> {
    let missing = || vec![Finding::new("tragion", 0, name.to_owned())];
    args.get_one::<PathBuf>(name).map(PathBuf::as_path).ok_or_else(missing)
}

/// The clearance that a request or routine rests on: nobody's, for an audience; else the answers file it names,
/// relative to itself; else nothing is known.
fn clearance(
    atlas: &Atlas,
    file: &Path,
    audience: bool,
    answers: Option<&str>,
    today: Date,
) -> Result<Clearance, Vec<Finding>> {
    if audience {
        return Ok(Clearance::audience(atlas));
    }
    let answers = match answers {
        None => Answers::unknown(atlas),
        Some(name) => {
            let path = beside(file, name);
            Answers::parse(&path.display().to_string(), &files::read(&path)?, atlas)?
        }
    };
    Ok(Clearance::new(atlas, &answers, today))
}

/// A path named in a file, relative to that file.
fn beside(file: &Path, name: &str) -> PathBuf {
    file.parent().unwrap_or(Path::new("")).join(name)
}

/// An answer as JSON on standard output.
fn json(value: &impl serde::Serialize, code: Code) -> Outcome {
    let mut out = serde_json::to_string_pretty(value).unwrap_or_default();
    out.push('\n');
    Outcome { out, err: String::new(), code }
}
