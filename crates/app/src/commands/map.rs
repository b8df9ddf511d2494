//! `map PHOTO`: where each point lies on the face in a photograph.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::ArgMatches;
use face::{Hands, Pixel};
use plan::check;
use plan::reading::RoutineFile;
use sketch::{Ground, Scale};
use vision::Care;
use vocab::Finding;
use vocab::read::Document;

use super::{atlas, clearance, day, json, path};
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::map::Map;
use crate::outcome::{Code, Outcome};
use crate::own::{self, Reading, Refused, Seen, draw};
use crate::tell;

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let (atlas, file) = (atlas(args)?, path(args, "photo")?);
    let places = own::places();
    let reading = reading(args)?;
    let photo = own::photograph(&files::bytes(file)?).map_err(|e| refused(file, &e))?;
    let seen = own::read(&atlas, places, photo, &reading).map_err(|e| refused(file, &e))?;
    let routine = match args.get_one::<PathBuf>("routine") {
        None => None,
        Some(named) => {
            let routine = RoutineFile::parse(&named.display().to_string(), &files::read(named)?, &atlas)?;
            let clearance = clearance(&atlas, named, routine.audience, routine.answers.as_deref(), day(args)?)?;
            let breaches = check::check(&atlas, &routine, &clearance);
            Some((routine, breaches))
        }
    };
    let upon = match &routine {
        Some((routine, breaches)) => draw::Upon::Routine(&routine.steps, breaches),
        None => draw::Upon::Map(None),
    };
    let mut said = String::new();
    if let Some((_, breaches)) = &routine
        && !breaches.is_empty()
    {
        let _ = writeln!(said, "{}", fill("map.routine_breaches", &[("n", &breaches.len())]));
    }
    if let Some(out) = args.get_one::<PathBuf>("svg") {
        files::write(out, &draw::sheet(&atlas, &seen.map, &upon, Ground::Linen, "tragion"), file)?;
    }
    if let Some(out) = args.get_one::<PathBuf>("print") {
        let scale = if args.get_flag("fit") { Scale::Fit } else { Scale::True };
        files::write(out, &draw::print(&atlas, &seen.map, &upon, scale, "tragion").svg, file)?;
    }
    if let Some(out) = args.get_one::<PathBuf>("overlay") {
        let drawn =
            draw::overlay(&atlas, &seen, &upon, None, &[], Ground::Linen, "tragion").map_err(|e| refused(file, &e))?;
        files::write(out, &drawn.svg, file)?;
        if let (Some((routine, _)), false) = (&routine, drawn.left_out.is_empty()) {
            let steps: Vec<String> =
                drawn.left_out.iter().filter(|i| **i < routine.steps.len()).map(|i| (i + 1).to_string()).collect();
            let _ = writeln!(said, "{}", fill("map.not_on_photo", &[("steps", &steps.join(", "))]));
        }
    }
    if args.get_flag("json") {
        let mut outcome = json(&Map::new(&atlas, &seen, reading.mirrored), Code::Done);
        outcome.err = said;
        return Ok(outcome);
    }
    Ok(Outcome { out: plain(&atlas, &seen), err: said, code: Code::Done })
}

fn refused(file: &Path, why: &Refused) -> Vec<Finding> {
    vec![Finding::new(file.display().to_string(), 0, why.0.clone())]
}

/// How the photograph is to be read.
fn reading(args: &ArgMatches) -> Result<Reading, Vec<Finding>> {
    let mut reading = Reading { mirrored: args.get_flag("mirrored"), ..Reading::default() };
    if let Some(passes) = args.get_one::<u8>("passes") {
        reading.care = Care { passes: usize::from(*passes), mirrored: false };
    }
    if let Some(first) = args.get_one::<PathBuf>("first") {
        reading.first = Some(own::signature(&files::bytes(first)?).map_err(|e| refused(first, &e))?);
    }
    if let Some(hands) = args.get_one::<PathBuf>("hands") {
        reading.hands = read_hands(&hands.display().to_string(), &files::read(hands)?)?;
    }
    Ok(reading)
}

/// Corrections by hand: `[[landmark]]` with `number`, `x`, `y`, and `[[hairline]]` with `x`, `y` from temple to temple, in
/// pixels of the upright picture.
pub fn read_hands(file: &str, written: &str) -> Result<Hands, Vec<Finding>> {
    let document = Document::parse(file, written)?;
    let root = document.root();
    let mut hands = Hands::default();
    let reach = -100_000.0..=100_000.0;
    let at = |table: &vocab::read::Table<'_, '_>| {
        let (x, y) = (table.number("x", reach.clone()), table.number("y", reach.clone()));
        if x.is_none() || y.is_none() {
            table.note(text("map.hands_place"));
        }
        Some(Pixel::new(x?, y?))
    };
    for table in root.tables("landmark") {
        let number = table.need_int("number", 0..=477);
        hands.landmarks.extend(at(&table).map(|p| (number as usize, p)));
        table.finish();
    }
    for table in root.tables("hairline") {
        hands.hairline.extend(at(&table));
        table.finish();
    }
    if (1..3).contains(&hands.hairline.len()) {
        root.note(text("map.hands_hairline"));
    }
    root.finish();
    let findings = document.into_findings();
    if findings.is_empty() { Ok(hands) } else { Err(findings) }
}

/// The map in words.
fn plain(atlas: &plan::atlas::Atlas, seen: &Seen) -> String {
    let map = &seen.map;
    let pose = map.pose();
    let mut out = String::new();
    let values: [(&str, &dyn std::fmt::Display); 5] = [
        ("mm", &format!("{:.4}", map.scale.mm_per_px)),
        ("percent", &format!("{:.0}", 100.0 * map.scale.u95 / map.scale.mm_per_px)),
        ("yaw", &format!("{:+.0}", pose.yaw)),
        ("pitch", &format!("{:+.0}", pose.pitch)),
        ("roll", &format!("{:+.0}", pose.roll)),
    ];
    let _ = writeln!(out, "{}\n", fill("map.summary", &values));
    for point in &map.points {
        let name = atlas.targets.iter().find(|t| t.id == point.code).map_or("", |t| t.name.as_str());
        let _ = writeln!(
            out,
            "{:<8} {:<10} x {:7.1}  y {:7.1}  ± {:4.1} mm  {name}",
            point.code,
            tell::side(point.side),
            point.at.x,
            point.at.y,
            point.uncertainty_mm
        );
    }
    for warning in &seen.warnings {
        let _ = write!(out, "\n{warning}");
    }
    let _ = writeln!(out, "\n{}", text("map.estimate"));
    out
}
