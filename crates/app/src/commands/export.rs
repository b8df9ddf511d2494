//! `export --out DIR`: everything, or everything of one client, as plain files.

use cabinet::ClientId;
use clap::ArgMatches;
use serde_json::json;
use vocab::Finding;

use super::path;
use super::store::{folder, open, told};
use crate::catalogue::{fill, text};
use crate::outcome::{Code, Outcome};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (folder, out) = (folder(args)?, path(args, "out")?);
    let cabinet = open(&folder)?;
    let exported = match args.get_one::<i64>("client") {
        Some(id) => cabinet.export_client(out, ClientId::from_number(*id)),
        None => cabinet.export(out),
    };
    let exported = exported.map_err(told(&folder))?;
    let marked: Vec<i64> = exported.with_metadata.iter().map(|id| id.number()).collect();
    let mut outcome = if args.get_flag("json") {
        let value = json!({
            "folder": out.display().to_string(),
            "clients": exported.clients,
            "photographs": exported.photographs,
            "photographs_with_camera_data": marked,
        });
        super::json(&value, Code::Done)
    } else {
        let (clients, photographs) = (exported.clients, exported.photographs);
        let said = [
            ("folder", &out.display() as &dyn std::fmt::Display),
            ("clients", &clients),
            ("photographs", &photographs),
        ];
        Outcome::done(format!("{}\n", fill("store.exported", &said)))
    };
    outcome.err = format!("{}\n", text("store.in_clear"));
    if !marked.is_empty() {
        outcome.err.push_str(&format!("{}\n", fill("store.with_metadata", &[("n", &marked.len())])));
    }
    Ok(outcome)
}
