//! `backup`: the whole cabinet as one encrypted file.

use std::path::{Path, PathBuf};

use cabinet::BackupInfo;
use clap::ArgMatches;
use serde_json::json;
use vocab::Finding;

use super::store::{folder, now, open, told};
use crate::catalogue::{fill, text};
use crate::outcome::{Code, Outcome};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let folder = folder(args)?;
    let out = args.get_one::<PathBuf>("out");
    if let Some(out) = out {
        may_become_a_backup(out, &folder)?;
    }
    let cabinet = open(&folder)?;
    let made = match out {
        Some(out) => cabinet.backup_to(out, now()),
        None => cabinet.backup(args.get_one::<usize>("keep").copied().unwrap_or(usize::MAX), now()),
    };
    let made = made.map_err(told(&folder))?;
    if args.get_flag("json") {
        let value = json!({
            "file": made.path.display().to_string(),
            "bytes": made.size,
            "made": made.made.to_string(),
            "store_version": made.version,
            "kept": cabinet.backups().iter().map(|b| b.path.display().to_string()).collect::<Vec<_>>(),
        });
        return Ok(super::json(&value, Code::Done));
    }
    let said = fill("store.backed_up", &[("file", &made.path.display()), ("bytes", &made.size)]);
    Ok(Outcome::done(format!("{said}\n")))
}

/// Refuses to put a backup over something that is none, or among the files of the cabinet itself.
fn may_become_a_backup(out: &Path, folder: &Path) -> Result<(), Vec<Finding>> {
    let refuse = |why: &str| Err(vec![Finding::new(out.display().to_string(), 0, why)]);
    if out.is_dir() {
        return refuse(text("store.out_is_folder"));
    }
    let home = out.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let Ok(home) = home.canonicalize() else { return refuse(text("store.no_such_folder")) };
    if folder.canonicalize().is_ok_and(|folder| home == folder) {
        return refuse(text("store.out_in_cabinet"));
    }
    if out.exists() && BackupInfo::of(out).is_err() {
        return refuse(text("store.out_is_other"));
    }
    Ok(())
}
