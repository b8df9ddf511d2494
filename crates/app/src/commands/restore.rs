//! `restore BACKUP`: a backup becomes the cabinet of a folder; what was there is kept aside.

use cabinet::{BackupInfo, Cabinet};
use clap::ArgMatches;
use serde_json::json;
use vocab::Finding;

use super::path;
use super::store::{folder, now, passphrase, told};
use crate::catalogue::{fill, text};
use crate::outcome::{Code, Outcome};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (backup, folder) = (path(args, "backup")?, folder(args)?);
    // Before anybody types a passphrase in vain.
    let info = BackupInfo::of(backup).map_err(told(backup))?;
    let passphrase = passphrase()?;
    let restored = Cabinet::restore(backup, &folder, &passphrase, now()).map_err(told(backup))?;
    let aside = restored.kept_aside();
    drop(restored);
    // The test of a restore: opened anew from the disk, every page looked at, somebody counted.
    let opened = Cabinet::open(&folder, &passphrase, now()).map_err(told(&folder))?;
    opened.check().map_err(told(&folder))?;
    let clients = opened.read(|r| r.client_count()).map_err(told(&folder))?;
    if args.get_flag("json") {
        let value = json!({
            "cabinet": folder.display().to_string(),
            "backup": backup.display().to_string(),
            "made": info.made.to_string(),
            "clients": clients,
            "checked": true,
            "kept_aside": aside.iter().map(|p| p.display().to_string()).collect::<Vec<_>>(),
        });
        return Ok(super::json(&value, Code::Done));
    }
    let (made, at) = (info.made.to_string(), folder.display().to_string());
    let mut said = fill("store.restored", &[("made", &made), ("folder", &at), ("clients", &clients)]);
    if let Some(last) = aside.last() {
        said.push_str(&format!("\n{}", fill("store.kept_aside", &[("folder", &last.display())])));
    }
    said.push_str(&format!("\n{}", text("store.old_passphrase")));
    Ok(Outcome::done(format!("{said}\n")))
}
