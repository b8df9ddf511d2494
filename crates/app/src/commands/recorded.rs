//! `captions --from FILE`: the captions of an old recording as a draft routine.

use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use clap::ArgMatches;
use publish::timed::{MOST_BYTES, decode};
use vocab::Finding;

use super::{atlas, json};
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::recordings::Recording;
use crate::outcome::{Code, Outcome};
use crate::recorded::Recorded;
use crate::tell::recorded::plain;

pub fn run(args: &ArgMatches, file: &Path) -> Result<Outcome, Vec<Finding>> {
    let (atlas, name) = (atlas(args)?, file.display().to_string());
    let words = decode(&name, &files::bytes_of(file, MOST_BYTES)?)?;
    let recorded = match Recorded::new(&atlas, &name, &words) {
        Ok(recorded) => recorded,
        Err(why) => {
            let code = if why.len() == 1 && why[0].message == text("recordings.no_step") {
                Code::NoDraft
            } else {
                Code::Unusable
            };
            return Ok(Outcome { code, ..Outcome::unusable(&why) });
        }
    };
    if let Some(out) = args.get_one::<PathBuf>("out") {
        write(out, &recorded.routine.to_toml(&atlas), file, args.get_flag("force"))?;
    }
    let code = if recorded.breaches.is_empty() { Code::Done } else { Code::Breaches };
    if args.get_flag("json") {
        return Ok(json(&Recording::new(&atlas, &recorded), code));
    }
    Ok(Outcome { out: plain(&atlas, &recorded), err: String::new(), code })
}

/// Writes the routine: never over the file that was read, and over another only where that is asked for. What was there stays whole
/// until the new file is.
fn write(path: &Path, toml: &str, reads: &Path, force: bool) -> Result<(), Vec<Finding>> {
    let wrong = |why: String| vec![Finding::new(path.display().to_string(), 0, why)];
    let unwritable = |error: std::io::Error| wrong(fill("files.unwritable", &[("error", &error)]));
    let there = fs::canonicalize(path).ok();
    if there.is_some() && there == fs::canonicalize(reads).ok() {
        return Err(wrong(text("files.same").to_owned()));
    }
    if !force {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| {
            if error.kind() == ErrorKind::AlreadyExists {
                wrong(text("filmcmd.exists").to_owned())
            } else {
                unwritable(error)
            }
        })?;
        return file.write_all(toml.as_bytes()).map_err(|error| {
            // What could not be finished is not left behind.
            let _ = fs::remove_file(path);
            unwritable(error)
        });
    }
    let Some(there) = there.filter(|there| there.is_file()) else {
        return fs::write(path, toml).map_err(unwritable);
    };
    let mut part = there.clone().into_os_string();
    part.push(".part");
    fs::write(&part, toml).and_then(|()| fs::rename(&part, &there)).map_err(|error| {
        let _ = fs::remove_file(&part);
        unwritable(error)
    })
}
