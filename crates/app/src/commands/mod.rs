//! The commands: each reads what it is given, asks the pure crates, and says what came out.

mod backup;
mod captions;
pub mod card;
mod check;
mod draft;
mod erase;
mod export;
mod film;
pub mod follow;
mod map;
mod measure;
mod note;
mod phantom;
mod product;
mod recorded;
mod restore;
mod screen;
mod store;
mod takehome;
pub mod words;

use std::path::{Path, PathBuf};

use cabinet::Passphrase;
use clap::ArgMatches;
use plan::atlas::Atlas;
use plan::screening::{Answers, Clearance};
use vocab::{Date, Finding};

use crate::catalogue::text;
use crate::desk::Start;
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
        Some(("follow", args)) => follow::run(args),
        Some(("words", args)) => words::run(args),
        Some(("product", args)) => product::run(args),
        Some(("note", args)) => note::run(args),
        Some(("card", args)) => card::run(args),
        Some(("takehome", args)) => takehome::run(args),
        Some(("captions", args)) => captions::run(args),
        Some(("phantom", args)) => phantom::run(args),
        Some(("backup", args)) => backup::run(args),
        Some(("restore", args)) => restore::run(args),
        Some(("export", args)) => export::run(args),
        Some(("erase", args)) => erase::run(args),
        Some(("completions", args)) => Ok(completions(args)),
        Some((_, args)) => run_desk(args),
        None => passphrase_from_file().map(|passphrase| {
            let start =
                Start { port: 0, day: None, open: true, cabinet: None, demo: false, passphrase, own: Vec::new() };
            desk::serve(Atlas::built_in(), start)
        }),
    };
    answered.unwrap_or_else(|findings| Outcome::unusable(&findings))
}

fn run_desk(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let own = own(args)?;
    let atlas = files::atlas(&own)?;
    let start = Start {
        port: args.get_one::<u16>("port").copied().unwrap_or(0),
        day: args.get_one::<Date>("today").copied(),
        open: !args.get_flag("no-open"),
        cabinet: args.get_one::<PathBuf>("cabinet").cloned(),
        demo: args.get_flag("demo"),
        passphrase: passphrase_from_file()?,
        own,
    };
    Ok(desk::serve(atlas, start))
}

/// The variable that names a file with the passphrase, where nobody is there to type it.
pub const PASSPHRASE_FILE: &str = "TRAGION_PASSPHRASE_FILE";

/// The passphrase in the file that the environment names: its first line; `None` where it names none.
pub fn passphrase_from_file() -> Result<Option<Passphrase>, Vec<Finding>> {
    let Some(path) = std::env::var_os(PASSPHRASE_FILE).filter(|p| !p.is_empty()).map(PathBuf::from) else {
        return Ok(None);
    };
    let text = files::read(&path)?;
    match text.lines().next().filter(|line| !line.is_empty()) {
        Some(line) => Ok(Some(Passphrase::new(line))),
        None => Err(vec![Finding::new(path.display().to_string(), 1, crate::catalogue::text("cli.no_passphrase"))]),
    }
}

fn completions(args: &ArgMatches) -> Outcome {
    let mut script = Vec::new();
    if let Some(shell) = args.get_one::<clap_complete::Shell>("shell") {
        clap_complete::generate(*shell, &mut cli::command(), "tragion", &mut script);
    }
    Outcome::done(String::from_utf8_lossy(&script).into_owned())
}

/// Name and text of the files that `--atlas` names.
fn own(args: &ArgMatches) -> Result<Vec<(String, String)>, Vec<Finding>> {
    files::texts(args.get_many::<PathBuf>("atlas").into_iter().flatten())
}

/// The atlas, with the files that `--atlas` names merged over it.
fn atlas(args: &ArgMatches) -> Result<Atlas, Vec<Finding>> {
    files::atlas(&own(args)?)
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
