//! `captions ROUTINE --out DIR`: a routine for an audience as script, shots, captions, chapters, description and cue track.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use clap::ArgMatches;
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::routine::Step;
use plan::screening::Clearance;
use publish::claims::{Rules, Verdict, check};
use publish::script::{Pace, Part};
use publish::{retime, timed};
use serde_json::{Value, json};
use vocab::Finding;

use super::{atlas, json, path};
use crate::catalogue::{Language, atlas_in, fill, in_language, listed, seconds, sentence_case, text};
use crate::desk::editor::runnable::Runnable;
use crate::files;
use crate::filming::stills::{self, Given, Light, Size, Unmade};
use crate::filming::{self, Disclosed, Kit, On, Options};
use crate::outcome::{Code, Outcome};

/// The most letters of a name.
const MOST_NAME: usize = 120;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    if let Some(recording) = args.get_one::<PathBuf>("from") {
        return super::recorded::run(args, recording);
    }
    let (atlas, file) = (atlas(args)?, path(args, "routine")?);
    let routine = RoutineFile::parse(&file.display().to_string(), &files::read(file)?, &atlas)?;
    let wrong = |why: String| vec![Finding::new(file.display().to_string(), 0, why)];
    if !routine.audience {
        return Err(wrong(text("kit.not_audience").to_owned()));
    }
    let runnable = match Runnable::from_file(&atlas, &routine, &Clearance::audience(&atlas)) {
        Ok(runnable) => runnable,
        Err(why) => {
            let err = format!("{}\n", Finding::new(file.display().to_string(), 0, filming::refused(&atlas, &why)));
            return Ok(Outcome { out: String::new(), err, code: Code::Breaches });
        }
    };
    let language = args.get_one::<Language>("language").copied().unwrap_or_default();
    let list = |what: &str| -> Vec<String> { args.get_many::<String>(what).into_iter().flatten().cloned().collect() };
    let options = Options {
        on: args.get_one::<On>("on").copied().unwrap_or_default(),
        pace: args.get_one::<Pace>("pace").copied().unwrap_or_default(),
        count: args.get_flag("count"),
        quiet: args.get_flag("quiet"),
        concerns: list("concern"),
        length: args.get_one::<f64>("length").copied(),
        disclosed: Disclosed {
            paid: list("paid").concat(),
            gifted: list("gifted").concat(),
            own: list("own"),
            commission: list("commission"),
            unpaid: args.get_flag("unpaid"),
        },
    };
    for what in ["paid", "gifted", "own", "commission"] {
        if args.get_many::<String>(what).is_some_and(|mut all| all.any(|word| word.trim().is_empty())) {
            return Err(vec![Finding::new(format!("--{what}"), 0, text("filmcmd.nothing_disclosed").to_owned())]);
        }
    }
    let name = name(args, file)?;
    let make =
        |times: Option<&[f64]>| Kit::new(&atlas, &name, &routine, &runnable, language, &options, times).map_err(wrong);
    let kit = match args.get_one::<PathBuf>("times") {
        None => make(None)?,
        Some(list) => {
            // What is missing in the list is filled in proportion to the script as it would be without it.
            let plain = Options { length: None, ..options.clone() };
            let planned = Kit::new(&atlas, &name, &routine, &runnable, language, &plain, None).map_err(wrong)?;
            make(Some(&times(list, &planned)?))?
        }
    };
    let mut files: Vec<(String, Vec<u8>)> = kit.files().into_iter().map(|(n, bytes)| (n.to_owned(), bytes)).collect();
    let steps = runnable.steps();
    files.extend(stills(args, &atlas, steps, language, options.on.mirrored()).map_err(|e| wrong(e.to_string()))?);
    let written = write_all(args, file, &files)?;
    Ok(said(args, &kit, &written, &claimed(&kit)))
}

/// What name and title of the film claim, each told with where it stands; the other words are ours.
fn claimed(kit: &Kit) -> Vec<String> {
    if kit.language != Language::English {
        return Vec::new();
    }
    let rules = Rules::shipped();
    let countries: Vec<String> = rules.countries().into_iter().map(|(code, _)| code).collect();
    let Ok(spoken) = timed::read("name.txt", &kit.name) else { return Vec::new() };
    let mut told: Vec<String> = Vec::new();
    for claim in check(&rules, &spoken, &countries).into_iter().filter(|c| c.verdict != Verdict::Ok) {
        let line = fill("filmcmd.claims", &[("words", &claim.text), ("why", &claim.reason)]);
        if !told.contains(&line) {
            told.push(line);
        }
    }
    told
}

/// The still pictures that are asked for.
fn stills(
    args: &ArgMatches,
    atlas: &Atlas,
    steps: &[Step],
    language: Language,
    mirrored: bool,
) -> Result<Vec<(String, Vec<u8>)>, Unmade> {
    let light = args.get_one::<String>("light").and_then(|word| Light::from_word(word)).unwrap_or(Light::Day);
    let asked: Vec<&String> = args.get_many("stills").into_iter().flatten().collect();
    let worded = atlas_in(language, atlas);
    let given = Given { atlas: &worded, steps, mirrored };
    let mut all = Vec::new();
    // Asked for twice, it is there once.
    for (size, _) in Size::ALL.into_iter().filter(|(_, word)| asked.iter().any(|a| a == word)) {
        all.extend(in_language(language, || stills::stills(given, size, light))?);
    }
    Ok(all)
}

/// The times of a list, filled.
fn times(list: &Path, planned: &Kit) -> Result<Vec<f64>, Vec<Finding>> {
    let findings = |wrong: Vec<retime::Wrong>| -> Vec<Finding> {
        wrong.iter().map(|w| Finding::new(list.display().to_string(), 0, filming::wrong(w))).collect()
    };
    let starts: Vec<f64> = planned.acts.iter().map(|a| a.from).collect();
    let taps = retime::read(&files::read(list)?, starts.len()).map_err(findings)?;
    retime::filled(&taps, &starts).map_err(findings)
}

/// What it is called: `--name`, else its file's name in words.
fn name(args: &ArgMatches, file: &Path) -> Result<String, Vec<Finding>> {
    let named = args.get_one::<String>("name").cloned().unwrap_or_else(|| {
        let stem = file.file_stem().map_or(String::new(), |s| s.to_string_lossy().into_owned());
        sentence_case(stem.replace(['_', '-'], " ").trim())
    });
    let words: Vec<&str> =
        named.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect();
    let name = words.join(" ");
    if name.is_empty() || name.chars().count() > MOST_NAME {
        return Err(vec![Finding::new("--name", 0, fill("homecmd.bad_name", &[("most", &MOST_NAME)]))]);
    }
    Ok(name)
}

/// Writes the files, each whole or not at all, after all of them were looked at.
fn write_all(
    args: &ArgMatches,
    reads: &Path,
    made: &[(String, Vec<u8>)],
) -> Result<Vec<(String, usize)>, Vec<Finding>> {
    let out = path(args, "out")?;
    let wrong = |path: &Path, why: String| vec![Finding::new(path.display().to_string(), 0, why)];
    if out.exists() && !out.is_dir() {
        return Err(wrong(out, text("homecmd.not_folder").to_owned()));
    }
    fs::create_dir_all(out).map_err(|e| wrong(out, fill("homecmd.no_folder", &[("error", &e)])))?;
    let times = args.get_one::<PathBuf>("times");
    let read: Vec<PathBuf> = [Some(reads), times.map(PathBuf::as_path)]
        .into_iter()
        .flatten()
        .filter_map(|p| fs::canonicalize(p).ok())
        .collect();
    let mut refused = Vec::new();
    for (name, _) in made {
        let path = out.join(name);
        // The list of times that was edited stays as it is; what is made of it says the same.
        if fs::canonicalize(&path).is_ok_and(|there| read.contains(&there)) {
            if *name != "times.csv" {
                refused.extend(wrong(&path, text("homecmd.same").to_owned()));
            }
        } else if path.exists() && !args.get_flag("force") {
            refused.extend(wrong(&path, text("filmcmd.exists").to_owned()));
        }
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    let mut written = Vec::new();
    for (name, bytes) in made {
        let (path, part) = (out.join(name), out.join(format!(".{name}.part")));
        if let Err(error) = fs::write(&part, bytes).and_then(|()| fs::rename(&part, &path)) {
            // What could not be finished is not left behind.
            let _ = fs::remove_file(&part);
            return Err(wrong(&path, fill("files.unwritable", &[("error", &error)])));
        }
        written.push((path.display().to_string(), bytes.len()));
    }
    Ok(written)
}

fn said(args: &ArgMatches, kit: &Kit, written: &[(String, usize)], claimed: &[String]) -> Outcome {
    let err: String = kit.told.iter().chain(claimed).map(|told| format!("{told}\n")).collect();
    if args.get_flag("json") {
        return Outcome { err, ..json(&as_json(kit, written), Code::Done) };
    }
    let mut out = String::new();
    for (file, _) in written {
        let _ = writeln!(out, "{}", fill("filmcmd.wrote", &[("file", file)]));
    }
    if !kit.left_out.is_empty() {
        let _ = writeln!(out, "{}", fill("filmcmd.left_out", &[("places", &listed(&kit.left_out))]));
    }
    let values: [(&str, &dyn std::fmt::Display); 2] =
        [("routine", &seconds(kit.routine)), ("video", &seconds(kit.length.round() as u32))];
    let _ = writeln!(out, "{}", fill("filmcmd.length_told", &values));
    Outcome { out, err, code: Code::Done }
}

fn as_json(kit: &Kit, written: &[(String, usize)]) -> Value {
    let part = |part: Part| match part {
        Part::Opening => "opening",
        Part::Says => "says",
        Part::Minds => "minds",
        Part::Holds => "holds",
        Part::Counts => "counts",
        Part::Closing => "closing",
    };
    json!({
        "name": kit.name,
        "language": kit.language.tag(),
        "title": kit.title(),
        "routine_s": kit.routine,
        "length_s": kit.length,
        "left_out": kit.left_out,
        "told": kit.told,
        "steps": kit.acts.iter().enumerate().map(|(i, a)| json!({
            "step": i + 1, "movement": a.movement, "place": a.place, "side": a.side, "starts": a.from, "ends": a.to,
        })).collect::<Vec<_>>(),
        "script": kit.script.iter().map(|l| json!({
            "from": l.from, "to": l.to, "part": part(l.part), "step": l.act.map(|a| a + 1), "says": l.says,
        })).collect::<Vec<_>>(),
        "shots": kit.shots.iter().map(|s| json!({
            "from": s.from, "to": s.to, "steps": s.acts.iter().map(|a| a + 1).collect::<Vec<_>>(), "angle": s.angle,
            "side": s.screen, "side_mirrored": s.mirrored, "hand": s.hand, "in_the_picture": s.shows, "stills": s.stills,
        })).collect::<Vec<_>>(),
        "captions": kit.cues.iter().map(|c| json!({"from": c.from, "to": c.to, "lines": c.lines})).collect::<Vec<_>>(),
        "chapters": kit.chapters.iter().map(|c| json!({"from": c.from, "title": c.title})).collect::<Vec<_>>(),
        "description": kit.description,
        "files": written.iter().map(|(file, bytes)| json!({"file": file, "bytes": bytes})).collect::<Vec<_>>(),
    })
}
