//! `note FILE`: a home note, read and told, or why it can't be.

use clap::ArgMatches;
use vocab::Finding;

use super::{atlas, json, path};
use crate::catalogue::{fill, seconds};
use crate::outcome::{Code, Outcome};
use crate::{files, notes};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, file) = (atlas(args)?, path(args, "file")?);
    let refuse = |message: String| vec![Finding::new(file.display().to_string(), 0, message)];
    let bytes = if file == std::path::Path::new("-") { files::read(file)?.into_bytes() } else { files::bytes(file)? };
    let note = notes::from_bytes(&bytes).map_err(refuse)?;
    // Places of one's own atlas may be unknown here; the rest of the note is as good.
    let unknown = note.unknown(&atlas);
    let err = if unknown.is_empty() {
        String::new()
    } else {
        format!("{}\n", fill("homenote.places", &[("places", &unknown.join(", "))]))
    };
    if args.get_flag("json") {
        return Ok(Outcome { err, ..json(&note.json(), Code::Done) });
    }
    let mut out = fill("homenote.head", &[("code", &note.code), ("made", &note.made), ("n", &note.days.len())]);
    out.push('\n');
    for day in &note.days {
        let all: u32 = day.sessions.iter().map(|s| s.seconds).sum();
        let values: [(&str, &dyn std::fmt::Display); 3] =
            [("day", &day.day), ("n", &day.sessions.len()), ("length", &seconds(all))];
        out.push_str(&fill("homenote.line", &values));
        out.push('\n');
    }
    for left_out in &note.left_out {
        out.push_str(notes::left_out_words(left_out));
        out.push('\n');
    }
    Ok(Outcome { out, err, code: Code::Done })
}
