//! A course of invented people: `course FOLDER [CLIENTS] [NOTES_FOLDER]` fills a new cabinet with a course of four weeks that began on
//! 2026-01-26, its members' readings (five baseline visits, ten visits), their home notes of 28 days and of five baseline days, and
//! writes, where a second folder is named, the notes of 28 more days as files, as take-homes hand them back. The folders must not exist.
//! Everything follows from the numbers: the same command makes the same course.

use std::path::Path;

use cabinet::*;
use vocab::Date;

/// SplitMix64 (Steele, Lea, Flood 2014; from memory).
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Box and Muller 1958.
    fn normal(&mut self) -> f64 {
        let (u, v) = (self.unit().max(1e-300), self.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    fn level(&mut self, middle: f64) -> u8 {
        (middle + 1.5 * self.normal()).round().clamp(0.0, 10.0) as u8
    }
}

fn code(n: usize) -> String {
    format!("c{n:05}x7k9p")
}

/// A day's sessions in the long form of a home note.
fn sessions(c: &mut Chance, shift: f64) -> String {
    let [a, b, d, s] = [4.0 + shift, 6.0 - shift, 5.0 + shift, 5.0 + shift].map(|m| c.level(m));
    let [x, y, z] = [6.5, 4.0, 6.0].map(|m| c.level(m));
    let seconds = 400 + (200.0 * c.unit()) as u32;
    format!(
        "[{{\"at\":\"21:30\",\"seconds\":{seconds},\"ended\":\"whole\",\"felt\":[[\"ST6\",\"left\",\"tender\"]],\"before\":[{a},{b},{d},{s}],\"after\":[{x},{y},{z}],\"words\":\"\"}}]"
    )
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let folder = args.first().ok_or("usage: course FOLDER [CLIENTS] [NOTES_FOLDER]")?;
    let clients: usize = args.get(1).map_or(Ok(5000), |a| a.parse())?;
    let first = Date::new(2026, 1, 26).ok_or("a day")?;
    let on = |day: i64| first.plus(day - 1).ok_or("a day");
    let at = |day: i64| Time::parse(&format!("{}T12:00:00Z", on(day)?)).ok_or("a moment");
    let words = Passphrase::new("horse lamp river seven");
    let now = at(-20)?;
    let cabinet = Cabinet::create(Path::new(folder), &words, Cost::FOR_TESTS, now)?;
    let plan = r#"{"times":"21:30","days_a_week":7,"plan":{"value":"dE00","others":[],"size":2.0,"baseline":5,"every":3,"photographs":2,"looks":1,"side":null,"measure_later":false}}"#;
    let (course, version) = cabinet.write(now, |w| {
        let routine = w.add_routine(None, "Winding down")?;
        let version = w.add_version(routine, &Toml::new("minutes = 8")?)?;
        Ok((w.add_course("Winding down, by letter", first, 28, &Json::new(plan)?)?, version))
    })?;
    if let Some(notes) = args.get(2) {
        std::fs::create_dir(notes)?;
    }
    for some in (0..clients).collect::<Vec<_>>().chunks(50) {
        cabinet.write(now, |w| {
            for &n in some {
                one(w, course, version, n, &on, &at).map_err(|_| ErrorOf::store(w))?;
            }
            Ok(())
        })?;
    }
    if let Some(folder) = args.get(2) {
        for n in 0..clients {
            let mut c = Chance(1_000_000 + n as u64);
            let days: Result<Vec<String>, &str> = (29..57)
                .map(|d| Ok(format!("{{\"day\":\"{}\",\"sessions\":{}}}", on(d)?, sessions(&mut c, 1.0))))
                .collect();
            let note = format!(
                "{{\"tragion\":\"home-note\",\"version\":1,\"code\":\"{}\",\"made\":\"{}\",\"language\":\"en\",\"days\":[{}]}}",
                code(n),
                on(57)?,
                days?.join(",")
            );
            std::fs::write(Path::new(folder).join(format!("home-note-{n:05}.json")), note)?;
        }
    }
    println!("{clients} people in the course");
    Ok(())
}

/// An error of the store for what is none: the closure of a transaction knows no other.
struct ErrorOf;

impl ErrorOf {
    fn store(r: &Reader<'_>) -> Error {
        r.client(ClientId::from_number(-1)).err().unwrap_or_else(|| unreachable!("no client has this number"))
    }
}

/// A client with everything: one in ten stops half way, one in twenty has one baseline visit; the change is 1.0 dE00 down, 0.8 between people.
fn one(
    w: &Writer<'_>,
    course: CourseId,
    version: VersionId,
    n: usize,
    on: &dyn Fn(i64) -> Result<Date, &'static str>,
    at: &dyn Fn(i64) -> Result<Time, &'static str>,
) -> Result<(), Box<dyn std::error::Error>> {
    let mut c = Chance(n as u64);
    let client = w.add_client(&Details { name: format!("Person {n:05}"), ..Details::default() })?;
    for kind in [ConsentKind::Care, ConsentKind::Photographs] {
        w.record_consent(client, kind, true, w.now(), "1")?;
    }
    w.add_takehome(Some(client), version, &code(n), on(-20)?, "en")?;
    w.join_course(course, client)?;
    let stops = if c.unit() < 0.1 { 3 + (20.0 * c.unit()) as i64 } else { 99 };
    let baseline = if c.unit() < 0.05 { 1 } else { 5 };
    let (level, change) = (8.0 + 2.0 * c.normal(), -1.0 + 0.8 * c.normal());
    let days = (1..=baseline).map(|k| 1 - 3 * k).chain((1..=28).step_by(3).filter(|d| *d < stops));
    for day in days {
        let visit = w.add_visit(client, at(day)?, &Json::new("{}")?)?;
        let shift = if day >= 1 { change * (day as f64 / 25.0).min(1.0) } else { 0.0 };
        let mean = level + shift + 0.6 * c.normal();
        let new = |name, side, mean| NewReading { name, side, mean, count: 2, ss: 0.06 };
        let all = ["dE00", "dL", "brown", "blue_red", "relief"].iter().flat_map(|name| {
            [ReadingSide::Left, ReadingSide::Right, ReadingSide::Face].map(|side| new(*name, side, mean))
        });
        w.set_readings(visit, &all.collect::<Vec<_>>())?;
    }
    for day in (-4..=0).chain((1..=28).filter(|d| *d < stops)) {
        if day >= 1 && c.unit() < 0.15 {
            continue;
        }
        let body = if day <= 0 {
            let [a, b, d, s] = [4.0, 6.0, 5.0, 5.0].map(|m| c.level(m));
            format!("{{\"done\":false,\"minutes\":0,\"levels\":[{a},{b},{d},{s}],\"sessions\":[]}}")
        } else {
            let sessions = sessions(&mut c, 0.03 * day as f64);
            format!("{{\"done\":true,\"minutes\":8,\"felt\":{{\"words\":\"\",\"places\":[]}},\"sessions\":{sessions}}}")
        };
        w.add_home_note(client, None, on(day)?, &Json::new(body)?)?;
    }
    Ok(())
}
