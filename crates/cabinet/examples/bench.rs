//! How fast a large practice is: `bench FOLDER [CLIENTS] [VISITS]` fills a new cabinet with invented people (10 000 clients and
//! 100 000 visits if nothing is said) and prints how long things take, in milliseconds; with `fill` after the numbers it only fills. The folder must not
//! exist.

use std::path::Path;
use std::time::Instant;

use cabinet::*;
use vocab::Date;

const GIVEN: [&str; 24] = [
    "Ana",
    "Zoë",
    "Bert",
    "Çelik",
    "Dag",
    "Éloïse",
    "Femke",
    "Giulia",
    "Håkon",
    "Ilse",
    "Jürgen",
    "Katarzyna",
    "Lê",
    "María",
    "Nadia",
    "Ólafur",
    "Priya",
    "Quentin",
    "Rosa",
    "Søren",
    "Tatiana",
    "Ursula",
    "Vesna",
    "Wanda",
];
const SYLLABLES: [&str; 20] = [
    "an", "ber", "cor", "dal", "er", "fin", "gos", "hal", "ing", "jor", "kel", "lin", "mar", "nov", "ost", "per", "ri",
    "sen", "tal", "wer",
];

struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n as u64) as usize
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let folder = args.first().ok_or("usage: bench FOLDER [CLIENTS] [VISITS]")?;
    let number = |n: usize, default: usize| args.get(n).map_or(Ok(default), |a| a.parse());
    let (clients, visits) = (number(1, 10_000)?, number(2, 100_000)?);
    let (folder, words, now) =
        (Path::new(folder), Passphrase::new("horse lamp river seven"), Time::from_unix(1_700_000_000));

    let begun = Instant::now();
    let cabinet = Cabinet::create(folder, &words, Cost::FOR_TESTS, now)?;
    let ids = fill(&cabinet, clients, visits, now)?;
    cabinet.lock();
    let size = std::fs::metadata(folder.join("store-1.db"))?.len();
    println!(
        "{clients} clients, {visits} visits, {:.1} MB, filled in {:.1} s",
        size as f64 / 1e6,
        begun.elapsed().as_secs_f64()
    );
    if args.get(3).is_some_and(|a| a == "fill") {
        return Ok(());
    }
    println!("{:<44} {:>7} {:>19} {:>19}", "milliseconds", "", "by the clock", "on the processor");
    println!("{:<44} {:>7} {:>9} {:>9} {:>9} {:>9}\n", "", "times", "p50", "p99", "p50", "p99");

    let mut at = now;
    report("open, key derivation at its least", 30, |_| {
        at = at.plus(1000);
        cabinet.lock();
        cabinet.unlock(&words, at)
    })?;
    println!("checked when opened: {:?}", cabinet.checked());
    let mut chance = Chance(7);
    report("first page of clients (50)", 300, |_| cabinet.read(|r| r.clients(None, 50)).map(drop))?;
    let mut after: Option<Place> = None;
    report("each next page of clients (50)", 300, |_| {
        let page = cabinet.read(|r| r.clients(after.as_ref(), 50))?;
        after = page.last().map(|l| l.place.clone());
        Ok(())
    })?;
    report("one client whole", 1000, |_| {
        let id = ids[chance.below(ids.len())];
        cabinet.read(|r| whole(r, id))
    })?;
    let mut typed = Vec::new();
    for name in GIVEN.iter().chain(&SYLLABLES) {
        for length in 1..=name.chars().count() {
            typed.push(name.chars().take(length).collect::<String>());
        }
        typed.push(format!("{name} {}", SYLLABLES[chance.below(20)]));
        typed.push(format!("{name}zzz"));
    }
    report("search as typed (20 lines)", typed.len() * 5, |n| {
        cabinet.read(|r| r.search(&typed[n % typed.len()], 20)).map(drop)
    })?;
    let rule = DueRule { today: Date::parse("2023-11-14").ok_or("a day")?, visit_before: now.plus(-42 * 86_400) };
    report("who is due (100 lines)", 100, |_| cabinet.read(|r| r.due(&rule, 100)).map(drop))?;
    let few = DueRule { today: Date::parse("2000-01-01").ok_or("a day")?, visit_before: Time::from_unix(0) };
    report("who is due, when few are", 100, |_| cabinet.read(|r| r.due(&few, 100)).map(drop))?;
    report("a note written", 300, |n| {
        let id = ids[n % ids.len()];
        cabinet.write(now, |w| w.add_note(id, None, NoteKind::Note, "a note of a line or two").map(drop))
    })?;
    report("seals of all pages, through a new opening", 3, |_| cabinet.check_seals())?;
    report("whole check", 3, |_| cabinet.check())?;
    report("backup, checked", 3, |n| cabinet.backup(2, now.plus(n as i64)).map(drop))?;
    report("one client erased, store written anew", 3, |n| cabinet.erase_client(ids[n], now).map(drop))?;
    let out = folder.with_extension("out");
    report("export whole", 1, |_| cabinet.export(&out).map(drop))?;
    std::fs::remove_dir_all(&out)?;
    cabinet.lock();
    let standard = folder.with_extension("standard");
    report("create at the standard cost", 3, |n| {
        Cabinet::create(&standard.join(n.to_string()), &words, Cost::STANDARD, now).map(drop)
    })?;
    std::fs::remove_dir_all(&standard)?;
    Ok(())
}

fn fill(cabinet: &Cabinet, clients: usize, visits: usize, now: Time) -> Result<Vec<ClientId>, Error> {
    let mut chance = Chance(1);
    let (care, json) = ("care 1", |text: String| Json::new(text));
    let answers = Document::Toml(Toml::new(include_str!("../../../examples/answers_full.toml"))?);
    let ids = cabinet.write(now.plus(-700 * 86_400), |w| {
        let mut ids = Vec::new();
        for _ in 0..clients {
            let family: String = (0..2 + chance.below(2)).map(|_| SYLLABLES[chance.below(20)]).collect();
            let name = format!("{} {}{}", GIVEN[chance.below(24)], family[..1].to_uppercase(), &family[1..]);
            let details = Details {
                birth: Birth::parse(&format!("{}", 1940 + chance.below(65))),
                email: format!("{family}@example.org"),
                phone: format!("+00 {:07}", chance.below(10_000_000)),
                notes: "prefers the evening; quiet ".repeat(chance.below(12)),
                name,
                ..Details::default()
            };
            let id = w.add_client(&details)?;
            for kind in ConsentKind::EACH {
                w.record_consent(id, kind, chance.below(20) > 0, w.now(), care)?;
            }
            let until = (chance.below(3) > 0).then(|| now.plus((chance.below(400) as i64 - 100) * 86_400).date());
            w.add_intake(id, &answers, until)?;
            ids.push(id);
        }
        Ok(ids)
    })?;
    let version = cabinet.write(now, |w| {
        let routine = w.add_routine(None, "Jaw, evening")?;
        w.add_version(routine, &Toml::new("minutes = 8")?)
    })?;
    let log = json("[{\"step\":1,\"seconds\":20},{\"step\":2,\"seconds\":30},{\"step\":3,\"seconds\":15}]".into())?;
    let felt = json("{\"jaw\":\"tender\"}".into())?;
    for part in 0..visits.div_ceil(5000) {
        cabinet.write(now, |w| {
            for n in part * 5000..visits.min((part + 1) * 5000) {
                let id = ids[chance.below(ids.len())];
                let at = now.plus(-(chance.below(600) as i64) * 86_400);
                let visit = w.add_visit(id, at, &json(format!("{{\"light\":\"window\",\"slept\":{}}}", n % 9))?)?;
                let shadow = format!(
                    "{{\"left\":{{\"value\":-{}.2,\"u95\":1.4}},\"right\":{{\"value\":-3.1,\"u95\":1.5}}}}",
                    n % 7
                );
                w.add_measurement(visit, None, &json(shadow)?)?;
                w.add_session(Some(id), version, at, &log, &felt)?;
                if n % 5 == 0 {
                    w.add_home_note(id, None, at.date(), &felt)?;
                }
                if n % 20 == 0 {
                    w.add_weeks(id, Some(version), at.date(), 14, &log)?;
                }
            }
            Ok(())
        })?;
    }
    Ok(ids)
}

/// Everything that the page of one client shows.
fn whole(r: &Reader<'_>, id: ClientId) -> Result<(), Error> {
    r.client(id)?;
    r.consents(id)?;
    r.intake(id)?;
    r.clinician_words(id)?;
    for visit in r.visits(id)? {
        r.photographs(visit.id)?;
        r.measurements(visit.id)?;
    }
    r.routines(Some(id))?;
    r.sessions(Some(id))?;
    r.notes(id)?;
    r.weeks(id)?;
    r.home_notes(id).map(drop)
}

fn report(what: &str, times: usize, mut run: impl FnMut(usize) -> Result<(), Error>) -> Result<(), Error> {
    let (mut taken, mut worked) = (Vec::with_capacity(times), Vec::with_capacity(times));
    for n in 0..times {
        let (begun, before) = (Instant::now(), on_processor());
        run(n)?;
        taken.push(begun.elapsed().as_secs_f64() * 1000.0);
        worked.extend(before.zip(on_processor()).map(|(before, after)| after - before));
    }
    let share = |values: &mut Vec<f64>, s: f64| {
        values.sort_by(f64::total_cmp);
        values.get(((values.len().max(1) - 1) as f64 * s).round() as usize).copied().unwrap_or(f64::NAN)
    };
    let [p50, p99] = [0.5, 0.99].map(|s| share(&mut taken, s));
    let [own50, own99] = [0.5, 0.99].map(|s| share(&mut worked, s));
    println!("{what:<44} {times:>7} {p50:>9.2} {p99:>9.2} {own50:>9.2} {own99:>9.2}");
    Ok(())
}

/// Milliseconds that this thread has had a processor, where the system tells (Linux): what a busy machine does not lengthen.
fn on_processor() -> Option<f64> {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(told.split_whitespace().next()?.parse::<f64>().ok()? / 1e6)
}
