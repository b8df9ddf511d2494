//! `erase`: one client whole, or the whole cabinet. Only with `--yes`; says what backups still hold.

use cabinet::{Cabinet, ClientId};
use clap::ArgMatches;
use serde_json::json;
use vocab::Finding;

use super::store::{folder, now, open, told};
use crate::catalogue::{fill, text};
use crate::outcome::{Code, Outcome};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let folder = folder(args)?;
    if !args.get_flag("yes") {
        let what = if args.get_flag("all") { "store.would_erase_all" } else { "store.would_erase_one" };
        return Err(vec![Finding::new(folder.display().to_string(), 0, text(what))]);
    }
    let cabinet = open(&folder)?;
    let (holds, said) = match args.get_one::<i64>("client") {
        Some(id) => {
            let id = ClientId::from_number(*id);
            cabinet.erase_client(id, now()).map_err(told(&folder))?;
            (still_holding(&cabinet), fill("store.erased_one", &[("id", &id)]))
        }
        None => {
            cabinet.erase_all().map_err(told(&folder))?;
            (Vec::new(), fill("store.erased_all", &[("folder", &folder.display())]))
        }
    };
    if args.get_flag("json") {
        let value = json!({
            "erased": args.get_one::<i64>("client").map_or("all".to_owned(), |id| format!("client {id}")),
            "still_held_in": holds,
        });
        return Ok(super::json(&value, Code::Done));
    }
    let mut lines = vec![said];
    if !holds.is_empty() {
        lines.push(text("store.still_held").to_owned());
        lines.extend(holds.iter().map(|path| format!("  {path}")));
    }
    lines.push(text("store.held_elsewhere").to_owned());
    Ok(Outcome::done(lines.join("\n") + "\n"))
}

/// What in the folder was written before, and so still holds who was erased.
fn still_holding(cabinet: &Cabinet) -> Vec<String> {
    let backups = cabinet.backups().into_iter().map(|b| b.path);
    backups.chain(cabinet.kept_aside()).map(|p| p.display().to_string()).collect()
}
