//! `takehome ROUTINE --out DIR`: a page that runs the routine, a printed guide, a calendar.

use std::fmt::Write as _;
use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::ArgMatches;
use jiff::tz::TimeZone;
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::screening::{Answers, Clearance};
use press::Paper;
use serde::Serialize;
use vocab::{Date, Finding};

use super::{atlas, beside, day, json, path};
use crate::catalogue::{Catalogue, Language, atlas_in, fill, listed, sentence_case, text};
use crate::desk::editor::runnable::{Refused, Runnable};
use crate::desk::keep::date_in_words;
use crate::files;
use crate::outcome::{Code, Outcome};
use crate::own::{self, Reading};
use crate::takehome::calendar::{self, At, When};
use crate::takehome::{self, Given};

/// The most letters of a routine's name.
const MOST_NAME: usize = 120;

/// What was written, for `--json`.
#[derive(Serialize)]
struct Written {
    name: String,
    code: String,
    language: &'static str,
    made: String,
    until: Option<String>,
    steps: usize,
    seconds: u32,
    left_out: Vec<String>,
    files: Vec<File>,
    sessions: Option<Sessions>,
    warnings: Vec<String>,
}

#[derive(Serialize)]
struct File {
    file: String,
    bytes: usize,
}

#[derive(Serialize)]
struct Sessions {
    count: usize,
    first: String,
    last: String,
    not_in_it: usize,
}

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (english, today, file) = (atlas(args)?, day(args)?, path(args, "routine")?);
    let language = args.get_one::<Language>("language").copied().unwrap_or_default();
    let atlas = &english;
    let mut routine = RoutineFile::parse(&file.display().to_string(), &files::read(file)?, atlas)?;
    let name = name(args, file)?;
    let when = when(args)?;
    let answers = answers(args, atlas, file, &routine)?;
    let clearance = match &answers {
        Some(answers) => Clearance::new(atlas, answers, today),
        None => Clearance::audience(atlas),
    };
    // Whoever's answers are given is one of many no longer.
    routine.audience &= answers.is_none();
    let runnable = match Runnable::from_file(atlas, &routine, &clearance) {
        Ok(runnable) => runnable,
        Err(why) => return refused(file, atlas, &clearance, why),
    };
    let mut warnings = Vec::new();
    let seen = match args.get_one::<PathBuf>("photo") {
        None => None,
        Some(photo) => Some(seen(atlas, photo, &mut warnings)?),
    };
    let code = takehome::code_of(atlas, &name, &routine);
    let each_time = takehome::each_time(atlas, answers.as_ref(), today);
    let worded = atlas_in(language, atlas);
    let given = Given {
        atlas: &worded,
        name: &name,
        file: &routine,
        runnable: &runnable,
        clearance: &clearance,
        until: answers.as_ref().and_then(|a| takehome::until(atlas, &routine, &runnable, a, &each_time, today)),
        each_time: &each_time,
        face: seen.as_ref().map(|seen| &seen.map),
        language,
        code: &code,
        day: today,
    };
    // Everything is made before anything is written.
    let wrong = |why: String| vec![Finding::new(file.display().to_string(), 0, why)];
    eprintln!("{}", text("homecmd.page_making"));
    let paper = args.get_one::<Paper>("paper").copied().unwrap_or(Paper::A4);
    let guide = takehome::guide::guide(&given, paper)
        .map_err(|why| wrong(fill("homecmd.unwritable_page", &[("why", &why)])))?;
    if !guide.missing.is_empty() {
        let letters: String = guide.missing.iter().collect();
        warnings.push(fill("homecmd.missing", &[("letters", &letters)]));
    }
    // Nobody is named by the command; who gave a photograph is helped with the next.
    let more = takehome::page::More { photographs: seen.is_some(), ..takehome::page::More::default() };
    let page = takehome::page::page(&given, &more).into_bytes();
    let mut made: Vec<(&str, Vec<u8>)> = vec![("routine.html", page), ("guide.pdf", guide.pdf)];
    let sessions = match &when {
        None => None,
        Some(when) => {
            let calendar = calendar::calendar(&given, when, moment(args, today)).map_err(wrong)?;
            warnings.extend(calendar.clocks.iter().cloned());
            if let Some((n, day)) = calendar.cut {
                warnings.push(fill("homecmd.cut", &[("n", &n), ("day", &date_in_words(day))]));
            }
            made.push(("sessions.ics", calendar.file.into_bytes()));
            Some(Sessions {
                count: calendar.sessions,
                first: when.start.to_string(),
                last: calendar.last.to_string(),
                not_in_it: calendar.cut.map_or(0, |(n, _)| n),
            })
        }
    };
    if let Some(out) = args.get_one::<PathBuf>("drawing") {
        files::write(out, &takehome::guide::drawing(&given), file)?;
    }
    let written = write_all(args, file, &made)?;
    let told = Written {
        name: name.clone(),
        code: code.clone(),
        language: language.tag(),
        made: today.to_string(),
        until: given.until.map(|day| day.to_string()),
        steps: runnable.steps().len(),
        seconds: given.draft().total_s,
        // What is said here is said in the program's own language.
        left_out: Given { atlas, ..given }.left_out(),
        files: written,
        sessions,
        warnings,
    };
    Ok(said(args, &told, given.until))
}

fn said(args: &ArgMatches, told: &Written, until: Option<Date>) -> Outcome {
    let err: String = told.warnings.iter().map(|warning| format!("{warning}\n")).collect();
    if args.get_flag("json") {
        return Outcome { err, ..json(told, Code::Done) };
    }
    let mut out = String::new();
    for file in &told.files {
        let _ = writeln!(out, "{}", fill("homecmd.wrote", &[("file", &file.file)]));
    }
    if !told.left_out.is_empty() {
        let _ = writeln!(out, "{}", fill("homecmd.left_out", &[("places", &listed(&told.left_out))]));
    }
    if let Some(day) = until {
        let _ = writeln!(out, "{}", fill("homecmd.holds", &[("day", &date_in_words(day))]));
    }
    Outcome { out, err, code: Code::Done }
}

/// What the routine is called: `--name`, else its file's name in words.
fn name(args: &ArgMatches, file: &Path) -> Result<String, Vec<Finding>> {
    let named = args.get_one::<String>("name").cloned().unwrap_or_else(|| {
        let stem = file.file_stem().map_or(String::new(), |s| s.to_string_lossy().into_owned());
        sentence_case(stem.replace(['_', '-'], " ").trim())
    });
    // One line, without what no reader shows.
    let name = named.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect::<Vec<_>>();
    let name = name.join(" ");
    if name.is_empty() || name.chars().count() > MOST_NAME {
        return Err(vec![Finding::new("--name", 0, fill("homecmd.bad_name", &[("most", &MOST_NAME)]))]);
    }
    Ok(name)
}

/// The answers that count: those of `--answers`, else those that the routine names; none for an audience.
fn answers(
    args: &ArgMatches,
    atlas: &Atlas,
    file: &Path,
    routine: &RoutineFile,
) -> Result<Option<Answers>, Vec<Finding>> {
    let given = args.get_one::<PathBuf>("answers").cloned();
    if given.is_none() && routine.audience {
        return Ok(None);
    }
    let Some(path) = given.or_else(|| routine.answers.as_deref().map(|name| beside(file, name))) else {
        return Ok(Some(Answers::unknown(atlas)));
    };
    Answers::parse(&path.display().to_string(), &files::read(&path)?, atlas).map(Some)
}

fn when(args: &ArgMatches) -> Result<Option<When>, Vec<Finding>> {
    let (Some(start), Some(days), Some(zone)) =
        (args.get_one::<Date>("start"), args.get_one::<u32>("days"), args.get_one::<TimeZone>("tz"))
    else {
        return Ok(None);
    };
    let mut at: Vec<At> = args.get_many::<At>("at").into_iter().flatten().copied().collect();
    at.sort_unstable();
    if at.len() > calendar::MOST_TIMES {
        let values: [(&str, &dyn std::fmt::Display); 2] = [("n", &at.len()), ("most", &calendar::MOST_TIMES)];
        return Err(vec![Finding::new("--at", 0, fill("homecmd.at_many", &values))]);
    }
    Ok(Some(When { start: *start, days: *days, at, zone: zone.clone() }))
}

/// The moment it is made: the clock's, or the beginning of the day that `--today` names.
fn moment(args: &ArgMatches, today: Date) -> jiff::Timestamp {
    let named = args.get_one::<Date>("today").and_then(|_| format!("{today}T00:00:00Z").parse().ok());
    named.unwrap_or_else(jiff::Timestamp::now)
}

/// This person's face. What is to be minded of the photograph is added to the warnings.
fn seen(atlas: &Atlas, photo: &Path, warnings: &mut Vec<String>) -> Result<own::Seen, Vec<Finding>> {
    let refuse = |why: own::Refused| vec![Finding::new(photo.display().to_string(), 0, why.0)];
    let bytes = files::bytes(photo)?;
    eprintln!("{}", text("homecmd.photo_reading"));
    let picture = own::photograph(&bytes).map_err(refuse)?;
    let seen = own::read(atlas, own::places(), picture, &Reading::default()).map_err(refuse)?;
    warnings.extend(seen.warnings.iter().map(|w| fill("homecmd.warning", &[("warning", w)])));
    Ok(seen)
}

/// Why there is no take-home.
fn refused(file: &Path, atlas: &Atlas, clearance: &Clearance, why: Refused) -> Result<Outcome, Vec<Finding>> {
    let mut said = match &why {
        Refused::Stop(rules) => {
            let reasons: Vec<String> =
                rules.iter().map(|rule| clearance.reason(&Catalogue, atlas, &rule.id(atlas))).collect();
            fill("homecmd.stop", &[("reasons", &reasons.join(" "))])
        }
        Refused::Nothing => fill("homecmd.nothing", &[("n", &clearance.unanswered.len())]),
        Refused::Breaches(..) => text("homecmd.breaches").to_owned(),
        // Of kept versions alone.
        Refused::NotTheirs | Refused::Unreadable => text("editor.unreadable").to_owned(),
    };
    if let Refused::Breaches(breaches, steps) = &why {
        for breach in breaches {
            let _ = write!(said, "\n  {}", breach.message(&Catalogue, atlas, clearance, steps));
        }
    }
    let err = format!("{}\n", Finding::new(file.display().to_string(), 0, said));
    Ok(Outcome { out: String::new(), err, code: Code::Breaches })
}

/// Writes the files, each whole or not at all, after all of them were looked at.
fn write_all(args: &ArgMatches, reads: &Path, made: &[(&str, Vec<u8>)]) -> Result<Vec<File>, Vec<Finding>> {
    let out = path(args, "out")?;
    let wrong = |path: &Path, why: String| vec![Finding::new(path.display().to_string(), 0, why)];
    if out.exists() && !out.is_dir() {
        return Err(wrong(out, text("homecmd.not_folder").to_owned()));
    }
    fs::create_dir_all(out).map_err(|e| wrong(out, fill("homecmd.no_folder", &[("error", &e)])))?;
    let mut refused = Vec::new();
    let read: Vec<PathBuf> = [Some(reads), args.get_one::<PathBuf>("photo").map(PathBuf::as_path)]
        .into_iter()
        .flatten()
        .chain(args.get_one::<PathBuf>("answers").map(PathBuf::as_path))
        .filter_map(|path| fs::canonicalize(path).ok())
        .collect();
    for (name, _) in made {
        let path = out.join(name);
        if fs::canonicalize(&path).is_ok_and(|there| read.contains(&there)) {
            refused.extend(wrong(&path, text("homecmd.same").to_owned()));
        } else if path.exists() && !args.get_flag("force") && !ours(&path) {
            refused.extend(wrong(&path, text("homecmd.not_ours").to_owned()));
        }
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    let mut written = Vec::new();
    for (name, bytes) in made {
        let (path, part) = (out.join(name), out.join(format!(".{name}.part")));
        let done = fs::write(&part, bytes).and_then(|()| fs::rename(&part, &path));
        if let Err(error) = done {
            // What could not be finished is not left behind.
            let _ = fs::remove_file(&part);
            return Err(wrong(&path, fill("files.unwritable", &[("error", &error)])));
        }
        written.push(File { file: path.display().to_string(), bytes: bytes.len() });
    }
    Ok(written)
}

/// Whether a file is one that this command wrote: each kind says by whom it was made.
fn ours(path: &Path) -> bool {
    const LOOKED_AT: u64 = 4 * 1024 * 1024;
    let mut bytes = Vec::new();
    let read = fs::File::open(path).and_then(|file| file.take(LOOKED_AT).read_to_end(&mut bytes));
    let has = |mark: &str| bytes.windows(mark.len()).any(|w| w == mark.as_bytes());
    read.is_ok() && (has(press::guide::CREATOR) || has(press::calendar::PRODUCT) || has(takehome::page::CREATOR))
}
