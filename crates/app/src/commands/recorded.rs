//! `captions --from FILE`: the captions of an old recording as a draft routine.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use publish::timed::{MOST_BYTES, decode};
use vocab::Finding;

use super::{atlas, json};
use crate::files;
use crate::json::recordings::Recording;
use crate::outcome::{Code, Outcome};
use crate::recorded::Recorded;
use crate::tell::recorded::plain;

pub fn run(args: &ArgMatches, file: &Path) -> Result<Outcome, Vec<Finding>> {
    let (atlas, name) = (atlas(args)?, file.display().to_string());
    let text = decode(&name, &files::bytes_of(file, MOST_BYTES)?)?;
    let recorded = match Recorded::new(&atlas, &name, &text) {
        Ok(recorded) => recorded,
        Err(why) => {
            let code = if why.len() == 1 && why[0].message == crate::catalogue::text("recordings.no_step") {
                Code::NoDraft
            } else {
                Code::Unusable
            };
            return Ok(Outcome { code, ..Outcome::unusable(&why) });
        }
    };
    if let Some(out) = args.get_one::<PathBuf>("out") {
        files::write(out, &recorded.routine.to_toml(&atlas), file)?;
    }
    let code = if recorded.breaches.is_empty() { Code::Done } else { Code::Breaches };
    if args.get_flag("json") {
        return Ok(json(&Recording::new(&atlas, &recorded), code));
    }
    Ok(Outcome { out: plain(&atlas, &recorded), err: String::new(), code })
}
