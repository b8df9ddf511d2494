//! `phantom OUT --seed N`: an invented face with the truth beside it.

use std::path::PathBuf;

use clap::ArgMatches;
use phantom::{Person, Shot};
use vocab::Finding;

use super::{json, path};
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::map::Invented;
use crate::outcome::{Code, Outcome};
use crate::own::{self, invented};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let out = path(args, "out")?;
    let seed = args.get_one::<u64>("seed").copied().unwrap_or(1);
    let person = Person::invented(seed);
    let mut shot = if args.get_flag("plain") { Shot::plain() } else { Shot::random(seed) };
    for (name, degrees) in [("yaw", &mut shot.yaw), ("pitch", &mut shot.pitch), ("roll", &mut shot.roll)] {
        if let Some(said) = args.get_one::<f64>(name) {
            *degrees = *said;
        }
    }
    shot.eyes_closed = args.get_flag("eyes-closed");
    let wrong = |why: String| vec![Finding::new(out.display().to_string(), 0, why)];
    let (photo, truth) = invented::picture(&person, &shot);
    let photo = photo.ok_or_else(|| wrong(text("photo.broken").to_owned()))?;
    let rgb = photo.rgb8();
    let view =
        vision::View::new(shot.width, shot.height, &rgb).ok_or_else(|| wrong(text("photo.broken").to_owned()))?;
    let ending = out.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    let file = match ending.as_str() {
        "png" => vision::png(&view),
        "jpg" | "jpeg" => vision::jpeg(&view, 92),
        _ => return Err(wrong(text("phantom.ending").to_owned())),
    };
    files::write_bytes(out, &file.map_err(|e| wrong(e.to_string()))?)?;
    let atlas = plan::atlas::Atlas::built_in();
    if args.get_flag("json") {
        return Ok(json(&Invented::new(&atlas, own::places(), seed, &person, &shot, &truth), Code::Done));
    }
    let name = PathBuf::from(out).display().to_string();
    Ok(Outcome::done(format!("{}\n", fill("phantom.done", &[("file", &name), ("seed", &seed)]))))
}
