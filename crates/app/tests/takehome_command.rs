//! Journeys of `tragion takehome`: what is written, what is refused, what never gets onto paper.

mod house;

use std::collections::BTreeSet;
use std::fs;

use house::{DAY, Folder, example, run};

fn takehome(routine: &str, out: &str, more: &[&str]) -> house::Said {
    run(&[&["takehome", routine, "--out", out, "--today", DAY], more].concat())
}

const DAYS: [&str; 8] = ["--start", "2026-03-28", "--days", "3", "--at", "21:30", "--tz", "Europe/Berlin"];

/// Every file of a folder with what it holds.
fn held(folder: &str) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<(String, Vec<u8>)> = fs::read_dir(folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").path())
        .map(|path| {
            (path.file_name().expect("a name").to_string_lossy().into_owned(), fs::read(&path).expect("a file"))
        })
        .collect();
    all.sort();
    all
}

fn routine_with(folder: &Folder, name: &str, answers: &str) -> String {
    let text = fs::read_to_string(example("routine.toml")).expect("the example");
    let there = example(answers).replace('\\', "/");
    folder.write(name, text.replace("answers = \"answers_full.toml\"", &format!("answers = \"{there}\"")))
}

#[test]
fn the_same_day_gives_the_same_files_and_ours_are_replaced() {
    let folder = Folder::new("takehome-same");
    let out = folder.file("new/folder");
    let said = takehome(&example("routine.toml"), &out, &DAYS);
    assert_eq!(said.code, 0, "{}", said.err);
    let first = held(&out);
    let names: Vec<&str> = first.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["guide.pdf", "routine.html", "sessions.ics"]);
    for name in names {
        assert!(said.out.contains(name), "{name} is not said to be written: {}", said.out);
    }
    let again = takehome(&example("routine.toml"), &out, &DAYS);
    assert_eq!(again.code, 0, "ours are replaced without being asked: {}", again.err);
    assert!(first == held(&out), "the same day, other bytes");
    let later = run(&["takehome", &example("routine.toml"), "--out", &out, "--today", "2026-03-02"]);
    assert_eq!(later.code, 0, "{}", later.err);
    assert!(first != held(&out), "another day, the same bytes");
}

#[test]
fn a_file_of_somebody_else_is_not_replaced_and_nothing_is_written() {
    let folder = Folder::new("takehome-theirs");
    for name in ["guide.pdf", "sessions.ics", "routine.html"] {
        let out = folder.file(name.split('.').next().expect("a stem"));
        fs::create_dir_all(&out).expect("a folder");
        fs::write(format!("{out}/{name}"), "theirs").expect("a file");
        let said = takehome(&example("routine.toml"), &out, &DAYS);
        assert_eq!(said.code, 2, "{name}");
        assert!(said.err.contains(name) && said.err.contains("--force"), "{}", said.err);
        assert_eq!(held(&out), [(name.to_owned(), b"theirs".to_vec())], "{name}");
        let forced = takehome(&example("routine.toml"), &out, &[&DAYS[..], &["--force"]].concat());
        assert_eq!((forced.code, held(&out).len()), (0, 3), "{}", forced.err);
    }
}

#[test]
fn every_wrong_input_is_an_error_that_says_what_to_do() {
    let folder = Folder::new("takehome-wrong");
    let file = folder.write("a file", "x");
    let no_photo = folder.write("photo.jpg", "no photograph");
    let routine = example("routine.toml");
    let long = "n".repeat(121);
    let with = |from: &str, to: &'static str| -> Vec<&'static str> {
        DAYS.iter().map(|word| if *word == from { to } else { word }).collect()
    };
    let cases: Vec<(Vec<&str>, &str)> = vec![
        (vec!["--start", "2026-03-28"], "--days"),
        (vec!["--tz", "UTC"], "--start"),
        (vec!["--days", "3"], "--start"),
        (vec!["--at", "21:30"], "--start"),
        (with("2026-03-28", "28.3.2026"), "28.3.2026"),
        (with("2026-03-28", "2026-02-30"), "2026-02-30"),
        (with("2026-03-28", "9999-12-31"), "9999"),
        (with("3", "0"), "from 1 to 366"),
        (with("3", "-3"), "from 1 to 366"),
        (with("3", "367"), "from 1 to 366"),
        (with("21:30", "24:00"), "24:00"),
        (with("21:30", "9pm"), "9pm"),
        (with("21:30", "21:3"), "21:3"),
        (with("Europe/Berlin", "Berlin"), "Europe/Berlin"),
        (with("Europe/Berlin", "+02:00"), "time zone"),
        ([&DAYS[..], &["--at", "21:30"]].concat(), "twice"),
        ([&DAYS[..], &["--at", "21:33"]].concat(), "is over"),
        ([&DAYS[..], &["--at", "1:00", "2:00", "3:00", "4:00", "5:00", "6:00"]].concat(), "at most 6"),
        (vec!["--language", "tlh"], "tlh"),
        (vec!["--paper", "a5"], "a4 or letter"),
        (vec!["--name", " \t "], "--name"),
        (vec!["--name", &long], "120 letters"),
        (vec!["--photo", &no_photo], "photo.jpg"),
        (vec!["--photo", "nowhere.jpg"], "nowhere.jpg"),
        (vec!["--answers", "nowhere.toml"], "nowhere.toml"),
    ];
    for (more, part) in cases {
        let out = folder.file("out");
        let said = takehome(&routine, &out, &more);
        assert_eq!(said.code, 2, "{more:?}: {}", said.err);
        assert!(said.err.contains(part), "{more:?} does not say {part:?}: {}", said.err);
        assert!(!fs::exists(&out).expect("a look"), "{more:?} left something behind");
    }
    let said = takehome(&routine, &file, &[]);
    assert!(said.code == 2 && said.err.contains("not a folder"), "{}", said.err);
    let said = run(&["takehome", &routine]);
    assert!(said.code == 2 && said.err.contains("--out"), "{}", said.err);
    let said = takehome(&example("refused/routine_side.toml"), &folder.file("out"), &[]);
    assert_eq!(said.code, 2, "{}", said.err);
}

#[test]
fn what_is_left_out_gets_into_no_file_and_stop_makes_none() {
    let folder = Folder::new("takehome-out");
    let full = fs::read_to_string(example("answers_full.toml")).expect("the example");
    let filler = "filler = { answer = \"yes\", where = [\"jaw_muscle\"], side = \"left\" }";
    let answers = folder.write("filler.toml", full.replace("filler = \"no\"", filler));
    let out = folder.file("out");
    let said = takehome(&example("routine.toml"), &out, &["--answers", &answers, "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let told = said.json();
    let left: Vec<&str> = told["left_out"].as_array().expect("a list").iter().filter_map(|p| p.as_str()).collect();
    assert!(left.iter().any(|place| place.contains("Chewing muscle") && place.contains("left")), "{left:?}");
    let whole = fs::read_to_string(example("routine.toml")).expect("the example").matches("[[step]]").count();
    assert!(told["steps"].as_u64().expect("a number") < whole as u64);
    // Stopped by what the answers say.
    let stopped = takehome(&routine_with(&folder, "stop.toml", "answers_stop.toml"), &folder.file("none"), &[]);
    assert_eq!(stopped.code, 1, "{}", stopped.err);
    assert!(stopped.err.contains("stop") && !fs::exists(folder.file("none")).expect("a look"), "{}", stopped.err);
    // Nothing known: nothing may be done.
    let text = fs::read_to_string(example("routine.toml")).expect("the example");
    let unknown = folder.write("unknown.toml", text.replace("answers = \"answers_full.toml\"", ""));
    let said = takehome(&unknown, &folder.file("none"), &[]);
    assert!(said.code == 1 && said.err.contains("unanswered"), "{}", said.err);
    let answered = takehome(&unknown, &folder.file("some"), &["--answers", &example("answers_full.toml")]);
    assert_eq!(answered.code, 0, "{}", answered.err);
    // What is left breaks a rule.
    let broken = folder.write("broken.toml", text.replace("minutes = 6", "minutes = 2"));
    let said = takehome(&broken, &folder.file("none"), &["--answers", &example("answers_full.toml")]);
    assert!(said.code == 1 && said.err.contains("tragion check"), "{}", said.err);
}

/// A line of a calendar, unfolded.
fn values(file: &str, name: &str) -> Vec<String> {
    let text = fs::read_to_string(file).expect("the calendar").replace("\r\n ", "");
    let found = text
        .split("\r\n")
        .filter_map(|line| line.split_once(':').filter(|(head, _)| head.split(';').next() == Some(name)));
    found.map(|(_, value)| value.to_owned()).collect()
}

#[test]
fn another_hour_keeps_the_days_and_their_uids() {
    let folder = Folder::new("takehome-uid");
    let out = folder.file("out");
    let file = format!("{out}/sessions.ics");
    let plan = |at: &[&str], days: &str, today: &str| {
        let more = [&["--start", "2026-03-28", "--days", days, "--tz", "Europe/Berlin", "--at"], at].concat();
        let said = run(&[&["takehome", &example("routine.toml"), "--out", &out, "--today", today], &more[..]].concat());
        assert_eq!(said.code, 0, "{}", said.err);
        (values(&file, "UID"), values(&file, "SEQUENCE"), values(&file, "DTSTART"))
    };
    let (uids, sequence, starts) = plan(&["21:30"], "3", "2026-03-01");
    assert_eq!(uids.iter().collect::<BTreeSet<_>>().len(), 3);
    let (same, later, moved) = plan(&["22:00"], "3", "2026-03-02");
    assert_eq!(uids, same, "another hour, other sessions");
    assert!(sequence[0].parse::<u32>().expect("a number") < later[0].parse::<u32>().expect("a number"));
    assert_ne!(starts, moved);
    let (twice, ..) = plan(&["22:00", "7:00"], "4", "2026-03-02");
    assert_eq!(twice.iter().collect::<BTreeSet<_>>().len(), 8);
    assert!(uids.iter().all(|uid| twice.contains(uid)), "more hours and days, and sessions were lost");
}

#[test]
fn sessions_end_where_the_answers_do() {
    let folder = Folder::new("takehome-until");
    let text = fs::read_to_string(example("answers_full.toml")).expect("the example");
    let answers =
        folder.write("answers.toml", text.replacen("[conditions]", &format!("asked = {DAY}\n\n[conditions]"), 1));
    let (out, more) = (
        folder.file("out"),
        ["--answers", &answers, "--json", "--start", DAY, "--days", "366", "--at", "21:30", "--tz", "UTC"],
    );
    let said = takehome(&example("routine.toml"), &out, &more);
    assert_eq!(said.code, 0, "{}", said.err);
    let told = said.json();
    let until = told["until"].as_str().expect("an end").to_owned();
    assert_eq!(told["sessions"]["last"], until.as_str());
    let (count, cut) = (told["sessions"]["count"].as_u64(), told["sessions"]["not_in_it"].as_u64());
    assert_eq!(count.zip(cut).map(|(a, b)| a + b), Some(366));
    assert!(said.err.contains("Ask again"), "{}", said.err);
    let after = ["--answers", &answers, "--start", "2027-06-01", "--days", "3", "--at", "21:30", "--tz", "UTC"];
    let said = takehome(&example("routine.toml"), &folder.file("none"), &after);
    assert!(said.code == 2 && said.err.contains("ask again"), "{}", said.err);
}

#[test]
fn clocks_that_go_forward_and_back_are_told() {
    let folder = Folder::new("takehome-clocks");
    let (out, routine) = (folder.file("out"), example("routine.toml"));
    let forward =
        takehome(&routine, &out, &["--start", "2026-03-28", "--days", "3", "--at", "2:30", "--tz", "Europe/Berlin"]);
    assert!(
        forward.code == 0 && forward.err.contains("go forward") && forward.err.contains("03:30"),
        "{}",
        forward.err
    );
    assert_eq!(values(&format!("{out}/sessions.ics"), "DTSTART").len(), 4 + 1, "three sessions, two rules of the zone");
    let back =
        takehome(&routine, &out, &["--start", "2026-10-24", "--days", "3", "--at", "2:30", "--tz", "Europe/Berlin"]);
    assert!(back.code == 0 && back.err.contains("go back"), "{}", back.err);
    let none =
        takehome(&routine, &out, &["--start", "2026-03-28", "--days", "3", "--at", "2:30", "--tz", "Asia/Kathmandu"]);
    assert!(none.code == 0 && !none.err.contains("clocks"), "{}", none.err);
}

#[test]
fn names_of_any_letters_are_taken() {
    let folder = Folder::new("takehome-names");
    for (i, name) in
        ["Jaw, neck; and more", "a\\b\"c'<d>&e", "Müde Augen 😴", "顎をゆるめる", "x\ny\tz", &"W".repeat(120)]
            .iter()
            .enumerate()
    {
        let out = folder.file(&format!("out{i}"));
        let said = takehome(&example("routine.toml"), &out, &[&DAYS[..], &["--name", name, "--json"]].concat());
        assert_eq!(said.code, 0, "{name}: {}", said.err);
        let plain = name.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(said.json()["name"], plain.as_str());
        let titles = values(&format!("{out}/sessions.ics"), "SUMMARY");
        let back = titles[0].replace("\\,", ",").replace("\\;", ";").replace("\\\\", "\\");
        assert_eq!(back, plain);
        assert_eq!(said.err.contains("question mark"), name.contains(['😴', '顎']), "{}", said.err);
    }
}
