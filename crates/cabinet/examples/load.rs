//! A load of writes for the tests that kill it or let the disk run full: `load FOLDER first|more|fill|all`.
//!
//! `first` makes the cabinet. `more` adds numbered clients, each with its visit and photograph in one change, and prints the
//! number once the change is confirmed, until it is killed. `fill` does so until there is an error, which it prints. `all`
//! writes a mark into every kind of thing, makes a backup, prints `ready` and waits to be killed.

use std::io::Write;
use std::path::Path;

use cabinet::*;
use vocab::Date;

/// The words that must not be found anywhere.
const MARK: &str = "Quagga-Zephyrine";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [folder, what] = args.as_slice() else { return Err("usage: load FOLDER first|more|fill|all".into()) };
    let folder = Path::new(folder);
    let words = Passphrase::new("horse lamp river seven");
    let now = Time::from_unix(1_700_000_000);
    let cabinet = if Cabinet::is_in(folder) {
        Cabinet::open(folder, &words, now)?
    } else {
        Cabinet::create(folder, &words, Cost::FOR_TESTS, now)?
    };
    match what.as_str() {
        "first" => return Ok(()),
        "all" => everything(&cabinet, now)?,
        _ => {
            let from = cabinet.read(|r| r.client_count())?;
            for number in from + 1.. {
                if let Err(error) = cabinet.write(now, |w| one(w, number)) {
                    if what == "fill" {
                        say(&format!("error {}\n", error.key()));
                        return Ok(());
                    }
                    return Err(error.into());
                }
                say(&format!("{number}\n"));
            }
        }
    }
    Ok(())
}

/// Whoever reads may have gone.
fn say(line: &str) {
    let mut out = std::io::stdout();
    let _ = out.write_all(line.as_bytes()).and_then(|()| out.flush());
}

fn one(w: &Writer<'_>, number: u64) -> Result<(), Error> {
    let client = w.add_client(&Details { name: format!("Client {number}"), ..Details::default() })?;
    w.record_consent(client, ConsentKind::Photographs, true, w.now(), "v1")?;
    let visit = w.add_visit(client, w.now(), &Json::new(number.to_string())?)?;
    let bytes = vec![number as u8; 1 + (number as usize * 7919) % 40_000];
    w.add_photograph(visit, &NewPhotograph { shot: "front", media: "image/jpeg", width: 1, height: 1, bytes: &bytes })?;
    w.add_note(client, Some(visit), NoteKind::Note, &format!("note {number}")).map(drop)
}

fn everything(cabinet: &Cabinet, now: Time) -> Result<(), Error> {
    let mut pixels = Vec::new();
    for n in 0..20_000u32 {
        pixels.extend_from_slice(&n.wrapping_mul(2_654_435_761).to_le_bytes());
    }
    pixels.extend_from_slice(MARK.as_bytes());
    for round in 0..30 {
        cabinet.write(now, |w| marked(w, round, &pixels))?;
        // Sorting and searching go over everything as well.
        cabinet.read(|r| Ok((r.search(MARK, 50)?, r.clients(None, 500)?)))?;
        if round == 10 {
            cabinet.backup(2, now)?;
        }
    }
    let first = cabinet.read(|r| r.clients(None, 1))?[0].id;
    cabinet.erase_client(first, now)?;
    cabinet.write(now, |w| marked(w, 99, &pixels))?;
    say("ready\n");
    std::thread::sleep(std::time::Duration::from_secs(60));
    Ok(())
}

fn marked(w: &Writer<'_>, round: u32, pixels: &[u8]) -> Result<(), Error> {
    let (m, now) = (MARK, w.now());
    let day = Date::new(2023, 11, 14).unwrap_or_else(|| unreachable!("a day"));
    let json = || Json::new(format!("{{\"mark\": \"{m}\"}}"));
    let toml = || Toml::new(format!("mark = \"{m}\""));
    let text = || m.to_owned();
    let details = Details {
        name: format!("{m} {round}"),
        email: text(),
        phone: text(),
        address: text(),
        notes: m.repeat(500),
        ..Details::default()
    };
    let client = w.add_client(&details)?;
    for kind in ConsentKind::EACH {
        w.record_consent(client, kind, true, now, m)?;
    }
    w.fix_tone(client, m, None)?;
    w.add_intake(client, &Document::Json(json()?), None)?;
    w.add_clinician_word(client, &NewWord { condition: m, place: m, who: m, said: day, until: day })?;
    let visit = w.add_visit(client, now, &json()?)?;
    let photo = w.add_photograph(visit, &NewPhotograph { shot: m, media: m, width: 1, height: 1, bytes: pixels })?;
    w.add_measurement(visit, Some(photo), &json()?)?;
    w.add_correction(photo, &json()?)?;
    w.save_atlas(m, &toml()?)?;
    let routine = w.add_routine(Some(client), m)?;
    let version = w.add_version(routine, &toml()?)?;
    w.add_session(Some(client), version, now, &json()?, &json()?)?;
    w.add_note(client, Some(visit), NoteKind::Note, m)?;
    let weeks = w.add_weeks(client, Some(version), day, 7, &json()?)?;
    w.add_home_note(client, Some(weeks), day, &json()?)?;
    let countries = [text()];
    let new = NewText { title: m, kind: m, file: m, body: m, countries: &countries, rules: m, findings: &json()? };
    let kept = w.add_text(&new)?;
    w.recheck_text(kept, m, &Json::new(format!("[\"{m}\"]"))?)?;
    let for_all = w.add_version(w.add_routine(None, m)?, &toml()?)?;
    w.add_film(&NewFilm { version: for_all, name: m, language: m, body: &json()? })?;
    w.add_own_rules(m, &toml()?)?;
    w.set(m, Some(m))
}
