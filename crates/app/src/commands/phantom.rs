//! `phantom OUT --seed N`: an invented face with the truth beside it.

use std::path::PathBuf;

use clap::ArgMatches;
use colour::Tone;
use phantom::{Person, Setting, Shot, Space, UnderEye};
use vocab::Finding;

use super::{film, json, path};
use crate::catalogue::{fill, text};
use crate::files;
use crate::json::map::Invented;
use crate::outcome::{Code, Outcome};
use crate::own::{self, invented};

pub fn run(args: &ArgMatches) -> Result<Outcome, Vec<Finding>> {
    let out = path(args, "out")?;
    let seed = args.get_one::<u64>("seed").copied().unwrap_or(1);
    if let Some(frames) = args.get_one::<usize>("film") {
        return film::run(out, seed, *frames, args.get_flag("json"));
    }
    let (person, shot) = asked(args, seed);
    let wrong = |why: String| vec![Finding::new(out.display().to_string(), 0, why)];
    let ending = out.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    if !["png", "jpg", "jpeg"].contains(&ending.as_str()) {
        return Err(wrong(text("phantom.ending").to_owned()));
    }
    let (photo, truth) = invented::picture(&person, &shot);
    let photo = photo.ok_or_else(|| wrong(text("photo.broken").to_owned()))?;
    let rgb = photo.rgb8();
    let view =
        vision::View::new(shot.width, shot.height, &rgb).ok_or_else(|| wrong(text("photo.broken").to_owned()))?;
    let file = if ending == "png" { vision::png(&view) } else { vision::jpeg(&view, 92) };
    files::write_bytes(out, &file.map_err(|e| wrong(e.to_string()))?)?;
    let atlas = plan::atlas::Atlas::built_in();
    if args.get_flag("json") {
        return Ok(json(&Invented::new(&atlas, own::places(), seed, &person, &shot, &truth), Code::Done));
    }
    let name = PathBuf::from(out).display().to_string();
    Ok(Outcome::done(format!("{}\n", fill("phantom.done", &[("file", &name), ("seed", &seed)]))))
}

/// The lights that are drawn from the seed where none is said: those that a good photograph can have.
const GOOD: [Setting; 5] = [Setting::D65, Setting::A, Setting::Led, Setting::Window, Setting::Gradient];

/// Who is photographed, and how. What is not said is drawn from the seed. Where anything is said of skin, light or card, the
/// photograph is one as a visit asks for; else it is any photograph.
fn asked(args: &ArgMatches, seed: u64) -> (Person, Shot) {
    let (tone, light) = (args.get_one::<Tone>("tone"), args.get_one::<Setting>("light"));
    let (severity, card) = (args.get_one::<f64>("severity").copied(), args.get_flag("card"));
    let person = Person::invented(tone.map_or(seed, |t| of_class(seed, *t)));
    let visit = tone.is_some() || light.is_some() || severity.is_some() || card;
    let plain = args.get_flag("plain");
    let setting = light.copied().unwrap_or(if plain || visit { Setting::D65 } else { GOOD[(seed % 5) as usize] });
    let mut shot = match (plain, visit) {
        (true, _) => Shot { setting: Some(setting), seed, ..Shot::plain() },
        (false, true) => Shot::measured(seed, setting),
        (false, false) => Shot { setting: Some(setting), ..Shot::random(seed) },
    };
    // Files without a profile are sRGB.
    shot.jpeg_space = Space::Srgb;
    shot.card = card;
    if card {
        // The card's code needs pixels, as it would of a real camera, and below the chin the picture must reach further down.
        (shot.width, shot.height) = (shot.width * 5 / 4, shot.height * 3 / 2);
        shot.fill *= 5.0 / 6.0;
    }
    shot.under_eye = UnderEye::of_severity(&person, severity.unwrap_or(USUAL_SEVERITY), seed);
    for (name, degrees) in [("yaw", &mut shot.yaw), ("pitch", &mut shot.pitch), ("roll", &mut shot.roll)] {
        if let Some(said) = args.get_one::<f64>(name) {
            *degrees = *said;
        }
    }
    shot.eyes_closed = args.get_flag("eyes-closed");
    (person, shot)
}

/// A shadow as many people have one.
const USUAL_SEVERITY: f64 = 1.0;

/// The seed nearest below whose person is of a class: classes take turns.
fn of_class(seed: u64, tone: Tone) -> u64 {
    let classes = Tone::ALL.len() as u64;
    let at = Tone::ALL.iter().position(|t| *t == tone).unwrap_or(0) as u64;
    seed - seed % classes + at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_class_that_is_asked_for_is_drawn() {
        for tone in Tone::ALL {
            for seed in [0, 1, 7, 1_000_003, u64::MAX - 12] {
                assert_eq!(Person::invented(of_class(seed, tone)).tone.name(), tone.name(), "{seed}");
            }
        }
    }
}
