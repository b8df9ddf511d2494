//! Courses: everybody stays in, leaving out needs words, notes and photographs come in by the folder.

mod house;

use std::path::Path;

use cabinet::*;
use house::{Answer, Desk, Folder, PASSPHRASE, unique};
use vocab::Date;

const PLAN: &str = r#"{"times":"","days_a_week":7,"plan":{"value":"dE00","others":[],"size":2.0,"baseline":5,"every":3,"photographs":2,"looks":1,"side":null,"measure_later":false}}"#;

fn day(number: i64) -> Date {
    Date::parse("2026-02-02").and_then(|first| first.plus(number - 1)).expect("a day")
}

fn noon(number: i64) -> Time {
    Time::parse(&format!("{}T12:00:00Z", day(number))).expect("a moment")
}

/// A practice in whose course of four weeks, which ended on the desk's day, are twelve people: ten measured to the end, one who stopped
/// on day 7, one with two baseline visits. Their take-homes' codes are `codeNNxxxx`; `forallxxxx` was given to whoever takes it.
fn filled() -> Folder {
    let folder = Folder::new(&unique("course"));
    let words = Passphrase::new(PASSPHRASE);
    let at = Path::new(&folder.file("cabinet")).to_owned();
    let cabinet = Cabinet::create(&at, &words, Cost::FOR_TESTS, noon(-20)).expect("made");
    cabinet
        .write(noon(-20), |w| {
            let course = w.add_course("Winding down", day(1), 28, &Json::new(PLAN)?)?;
            let routine = w.add_routine(None, "Jaw")?;
            let version = w.add_version(routine, &Toml::new("minutes = 5")?)?;
            w.add_takehome(None, version, "forallxxxx", day(-20), "en")?;
            for n in 0..12_i64 {
                let client = w.add_client(&Details { name: format!("Person {n}"), ..Details::default() })?;
                w.record_consent(client, ConsentKind::Care, true, w.now(), "1")?;
                w.record_consent(client, ConsentKind::Photographs, n != 3, w.now(), "1")?;
                w.add_takehome(Some(client), version, &format!("code{n:02}xxxx"), day(-20), "en")?;
                w.join_course(course, client)?;
                let wobble = |d: i64| 0.25 * ((d * 7 + n * 3).rem_euclid(5) - 2) as f64;
                for d in [-14, -11, -8, -5, -2, 1, 4, 7, 10, 13, 16, 19, 22, 25, 28] {
                    if (n == 10 && d > 7) || (n == 11 && d < -5) {
                        continue;
                    }
                    let visit = w.add_visit(client, noon(d), &Json::new("{}")?)?;
                    let mean = 8.0 + wobble(d) - if d >= 1 { 3.0 + 0.2 * (n - 5) as f64 } else { 0.0 };
                    let new = NewReading { name: "dE00", side: ReadingSide::Face, mean, count: 2, ss: 0.02 };
                    w.set_readings(visit, &[new])?;
                }
                for d in [-3, -2, -1, 0, 5, 6, 24, 25, 26] {
                    if n == 10 && d > 7 {
                        continue;
                    }
                    let relaxed = if d >= 1 { 7 } else { 4 } + n % 2;
                    let body = format!("{{\"done\":{},\"minutes\":5,\"levels\":[{relaxed},5,5,5]}}", d >= 1);
                    w.add_home_note(client, None, day(d), &Json::new(body)?)?;
                }
            }
            Ok(())
        })
        .expect("filled");
    folder
}

fn shows(answer: &Answer, words: &[&str]) {
    assert_eq!(answer.status, 200, "{}", answer.body);
    for word in words {
        assert!(answer.body.contains(word), "no “{word}” in {}", answer.body);
    }
}

fn count(page: &str, what: &str) -> String {
    let after = page.split(&format!("<dt>{what}</dt><dd>")).nth(1).and_then(|r| r.split('<').next());
    after.unwrap_or_else(|| panic!("no count of {what} in {page}")).to_owned()
}

#[test]
fn the_page_of_a_course_counts_everybody_and_tells_the_change_with_what_it_does_not_say() {
    let desk = Desk::inside_of(filled());
    shows(&desk.get("/courses"), &["Winding down", "12 people", "Day 28 of 28"]);
    let page = desk.get("/courses/1");
    shows(
        &page,
        &[
            "How they felt",
            "how relaxed it felt",
            "4.5",
            "7.5",
            "12 people joined",
            "Over 10 people the mean change is −2.9",
            "where the measured change of one more person would lie",
            "There was no control group",
            "regression to the mean",
            "<title id=\"course-wide-title\">",
            "<desc id=\"course-wide-says\">A line for each of 10 people",
            "Nobody is left out.",
            "Dropped out; last heard of on day 7",
            "There at the end, too few days",
        ],
    );
    for (what, n) in [
        ("With a change that can be told", "10"),
        ("Dropped out", "1"),
        ("There at the end, with too few days", "1"),
        ("Left out of the numbers", "0"),
    ] {
        assert_eq!(count(&page.body, what), n, "{what}");
    }
    // How they felt comes before the change.
    let at = |word: &str| page.body.find(word).unwrap_or_else(|| panic!("{word}"));
    assert!(at("id=\"felt\"") < at("id=\"who\"") && at("id=\"who\"") < at("id=\"change\""));
    shows(&desk.get("/courses/1?only=dropped"), &["1 people, page 1 of 1.", "Person 10"]);
    shows(&desk.get("/courses/1?find=person+7"), &["Person 7"]);
    shows(&desk.get("/courses/1?find=nobody&page=9"), &["Nobody is like that."]);
    assert_eq!(desk.get("/courses/99").status, 404);
}

// Schema and store have their own part of it in crates/cabinet; this is the whole way from the page to the numbers.
// proves: none_left_out_in_silence
#[test]
fn nobody_is_left_out_without_a_reason_that_stands_on_the_page() {
    let desk = Desk::inside_of(filled());
    let numbers = |page: &Answer| {
        (count(&page.body, "With a change that can be told"), count(&page.body, "Left out of the numbers"))
    };
    assert_eq!(numbers(&desk.get("/courses/1")), ("10".to_owned(), "0".to_owned()));
    // Without words nothing happens, and the page says so.
    for form in ["client=1", "client=1&reason=", "client=1&reason=+%0A%09+"] {
        let refused = desk.post("/courses/1/leave-out", form);
        assert_eq!(refused.status, 422, "{form}");
        assert!(refused.body.contains("Nobody is left out, or taken back, without a written reason."), "{form}");
    }
    assert_eq!(desk.post("/courses/1/leave-out", "client=99&reason=why").status, 404);
    assert_eq!(numbers(&desk.get("/courses/1")), ("10".to_owned(), "0".to_owned()));
    // With words: out of the numbers, counted as left out, and the words stand there.
    assert_eq!(desk.post("/courses/1/leave-out", "client=1&reason=A+new+filler+on+day+9").status, 303);
    let page = desk.get("/courses/1");
    assert_eq!(numbers(&page), ("9".to_owned(), "1".to_owned()));
    shows(
        &page,
        &["12 people joined", "A new filler on day 9", "Person 0 was left out on", "Left out: A new filler on day 9"],
    );
    // Taking back needs words as well; both stay.
    assert_eq!(desk.post("/courses/1/leave-out", "client=1&reason=").status, 422);
    shows(
        &desk.get("/courses/1/leave-out?client=1"),
        &["Take Person 0 back into the numbers", "A new filler on day 9"],
    );
    assert_eq!(desk.post("/courses/1/leave-out", "client=1&reason=It+was+somebody+else").status, 303);
    let page = desk.get("/courses/1");
    assert_eq!(numbers(&page), ("10".to_owned(), "0".to_owned()));
    shows(&page, &["A new filler on day 9", "It was somebody else", "Person 0 was taken back in on"]);
    // The one way out of the list is the erasure of the whole record, and the course counts it.
    let erased = desk.post("/clients/1/erase", "name=Person+0");
    assert!([200, 303].contains(&erased.status), "{} {}", erased.status, erased.body);
    let page = desk.get("/courses/1");
    shows(&page, &["12 people joined"]);
    assert_eq!(count(&page.body, "Whole record erased"), "1");
}

#[test]
fn a_course_is_set_up_and_filled_by_list_by_name_and_with_everybody() {
    let desk = Desk::inside();
    for name in ["Ana", "Bo", "Cy", "bo"] {
        assert_eq!(desk.post("/clients/new", &format!("name={name}")).status, 303);
    }
    for id in 1..=3 {
        assert_eq!(desk.post(&format!("/clients/{id}/consent"), "kind=care&given=yes").status, 303);
    }
    shows(&desk.get("/courses"), &["There is no course yet."]);
    let form =
        "name=Evenings&first=2026-03-16&days=28&days_a_week=5&value=sleep&size=2&baseline=5&every=1&photographs=2";
    for (change, said) in [
        ("name=&x=", "Give the course a name."),
        ("days=6", "“6” can&#39;t be used"),
        ("size=no", "“no” can&#39;t be the size"),
        ("first=soon", "“soon” is no day"),
    ] {
        let key = change.split('=').next().unwrap_or_default();
        let kept: Vec<&str> = form.split('&').filter(|p| p.split('=').next() != Some(key)).collect();
        let refused = desk.post("/courses/new", &format!("{}&{change}", kept.join("&")));
        assert_eq!(refused.status, 422, "{change}");
        assert!(
            refused.body.contains(said) || refused.body.contains(&said.replace("&#39;", "'")),
            "{change}: {}",
            refused.body
        );
        assert!(refused.body.contains("value=\"5\""), "what was typed stands there");
    }
    assert_eq!(desk.post("/courses/new", form).status, 303);
    let members = "/courses/1/members";
    shows(&desk.get(members), &["0 people", "Ana", "All 4 clients"]);
    let told = desk.post(members, "list=ANA%0A%0ABo%0ANobody");
    assert_eq!(told.status, 422);
    for part in ["Added: 1.", "No client has this name", "<li>Nobody</li>", "More than one client", "<li>Bo</li>"] {
        assert!(told.body.contains(part), "{part}: {}", told.body);
    }
    assert_eq!(desk.post(members, "find=x").status, 422);
    shows(&desk.post(members, "client=2&client=1"), &["Added: 1. In it already: 1."]);
    // Without a consent to care nobody joins, and they are told by name.
    let without = ["Added: 1. In it already: 2.", "These were not added", "<a href=\"/clients/4\">bo</a>"];
    shows(&desk.post(members, "all=yes"), &without);
    shows(&desk.get(members), &["3 people"]);
    assert_eq!(desk.post("/clients/4/consent", "kind=care&given=yes").status, 303);
    shows(&desk.post(members, "all=yes"), &["Added: 1. In it already: 3."]);
    shows(
        &desk.get("/courses/1"),
        &["4 people", "Nobody has said yet how they were", "Until then no change is told", "12 April 2026"],
    );
}

#[test]
fn whoever_took_their_consent_back_stays_counted_and_nothing_of_them_is_read() {
    let desk = Desk::inside_of(filled());
    assert_eq!(desk.post("/clients/1/consent", "kind=care&given=no").status, 303);
    let page = desk.get("/courses/1");
    shows(&page, &["12 people joined", "Over 9 people", "Whoever took back their consent to care stays counted here."]);
    for (what, n) in [
        ("With a change that can be told", "9"),
        ("Consent withdrawn", "1"),
        ("There at the end, with too few days", "1"),
        ("Left out of the numbers", "0"),
    ] {
        assert_eq!(count(&page.body, what), n, "{what}");
    }
    shows(&desk.get("/courses/1?only=withdrawn"), &["1 people, page 1 of 1.", "Person 0"]);
    assert!(!desk.get("/courses/1?only=unmeasured").body.contains("Person 0<"));
}

#[test]
fn what_was_written_down_or_joined_late_is_told_beside_the_mean_and_has_no_verdict() {
    let desk = Desk::inside_of(filled());
    let on_time = desk.get("/courses/1").body;
    assert!(on_time.contains("beyond the noise of the group") && !on_time.contains("after the first day"), "{on_time}");
    let form = |days: u8| {
        format!(
            "name=Late&first=2026-02-02&days={days}&days_a_week=7&value=dE00&size=2&baseline=5&every=3&photographs=2"
        )
    };
    assert_eq!(desk.post("/courses/new", &form(28)).status, 303);
    shows(&desk.post("/courses/2/members", "all=yes"), &["Added: 12."]);
    let late = desk.get("/courses/2");
    shows(
        &late,
        &[
            "12 people joined after the first day",
            "Over 10 people the mean change is −2.9",
            "The plan was written down on day 28, so what decides may have been chosen with the numbers in sight.",
            "Of those in this mean 10 people joined after the first day",
        ],
    );
    assert!(!late.body.contains("beyond the noise of the group"), "{}", late.body);
    // Before its look a course tells the baselines of how they felt, and when the rest is told.
    assert_eq!(desk.post("/courses/new", &form(35)).status, 303);
    shows(&desk.post("/courses/3/members", "all=yes"), &["Added: 12."]);
    let running = desk.get("/courses/3");
    shows(&running, &["Before the first session", "4.5", "is told on 8 March 2026"]);
    assert!(!running.body.contains("Last seven days") && !running.body.contains("7.5"), "{}", running.body);
}

#[test]
fn levels_said_at_the_desk_count_as_on_their_own_page() {
    let folder = filled();
    let said = |answer: Answer| answer.body.matches("<td>12 people</td>").count();
    assert_eq!(said(Desk::inside_of(filled()).get("/courses/1")), 0);
    let cabinet = Cabinet::at(Path::new(&folder.file("cabinet")));
    cabinet.unlock(&Passphrase::new(PASSPHRASE), noon(-20)).expect("it opens");
    cabinet
        .write(noon(-20), |w| {
            let course = w.courses()?.remove(0).id;
            let client = w.add_client(&Details { name: "At the desk".to_owned(), ..Details::default() })?;
            w.record_consent(client, ConsentKind::Care, true, w.now(), "1")?;
            w.join_course(course, client)?;
            let routine = w.add_routine(None, "At the desk")?;
            let version = w.add_version(routine, &Toml::new("minutes = 5")?)?;
            for d in [-2, -1, 0, 26] {
                let (log, felt) = (Json::new(r#"{"seconds":300}"#)?, Json::new(r#"{"before":{"relaxed":6}}"#)?);
                w.add_session(Some(client), version, noon(d), &log, &felt)?;
            }
            Ok(())
        })
        .expect("written");
    drop(cabinet);
    assert_eq!(said(Desk::inside_of(folder).get("/courses/1")), 1);
}

fn note(code: &str, made: &str, days: &[(&str, u32)]) -> String {
    let days: Vec<String> = days
        .iter()
        .map(|(day, seconds)| {
            format!(r#"{{"day":"{day}","sessions":[{{"at":"21:30","seconds":{seconds},"ended":"whole","before":[5,6,5,7]}}]}}"#)
        })
        .collect();
    let days = days.join(",");
    format!(r#"{{"tragion":"home-note","version":1,"code":"{code}","made":"{made}","language":"en","days":[{days}]}}"#)
}

fn send(desk: &Desk, fields: &[(&str, &str)], notes: &[(&str, &str)]) -> Answer {
    let files: Vec<(&str, &str, &str, &[u8])> =
        notes.iter().map(|(name, text)| ("note", *name, "application/json", text.as_bytes())).collect();
    let sent = desk.post_parts("/courses/1/in", fields, &files);
    assert!([200, 303].contains(&sent.status), "{} {}", sent.status, sent.body);
    desk.get("/courses/1/in")
}

#[test]
fn notes_come_in_by_the_folder_and_what_is_wrong_is_told_one_by_one() {
    let desk = Desk::inside_of(filled());
    let good = note("code00xxxx", "2026-03-01", &[("2026-02-20", 300), ("2026-02-21", 301)]);
    let lines = format!("{}\n\n{{\n", note("code01xxxx", "2026-03-01", &[("2026-02-20", 300)]));
    let page = send(
        &desk,
        &[],
        &[
            ("folder/a.json", &good),
            ("folder/.DS_Store", "x"),
            ("folder/broken.json", "{"),
            ("folder/letter.txt", "Dear you"),
            ("folder/b.json", &note("forallxxxx", "2026-03-01", &[("2026-02-21", 300)])),
            ("folder/c.json", &note("nobodyxxxx", "2026-03-01", &[("2026-02-20", 300)])),
            ("many.jsonl", &lines),
        ],
    );
    shows(
        &page,
        &[
            "Files: 7. Notes read: 4. Not usable: 3.",
            "Days that are new: 3",
            "folder/broken.json",
            "folder/letter.txt",
            "many.jsonl, 3",
            "Whose are these?",
            "folder/b.json",
            "folder/c.json",
        ],
    );
    assert!(!page.body.contains(".DS_Store"));
    // The same again changes nothing.
    shows(&send(&desk, &[], &[("a.json", &good)]), &["Days that were there as they are: 2"]);
    // Other words for a day are told and left, and taken only where it is ticked; a note that holds more loses nothing.
    let other = note("code00xxxx", "2026-03-01", &[("2026-02-20", 99)]);
    shows(
        &send(&desk, &[], &[("other.json", &other)]),
        &["Kept with other words", "other.json: Person 0, 20 February 2026"],
    );
    let newest = [("newest", "yes")];
    shows(&send(&desk, &newest, &[("other.json", &other)]), &["Days completed or replaced: 1"]);
    // One that was made earlier is not the newest, whatever comes last.
    let earlier = note("code00xxxx", "2026-02-21", &[("2026-02-20", 77)]);
    shows(&send(&desk, &newest, &[("earlier.json", &earlier)]), &["earlier.json: Person 0", "left so: 2"]);
    // A hand says whose a note is.
    assert!(!desk.get("/clients/6").body.contains("21 February 2026"));
    let asked = "at=0&code=forallxxxx&file=folder%2Fb.json&client=";
    assert_eq!(desk.post("/courses/1/in/whose", &format!("{asked}Somebody")).status, 422);
    assert_eq!(desk.post("/courses/1/in/whose", &format!("{asked}person+5")).status, 303);
    let page = desk.get("/courses/1/in");
    assert!(!page.body.contains("value=\"folder/b.json\"") && page.body.contains("value=\"folder/c.json\""));
    shows(&desk.get("/clients/6"), &["21 February 2026"]);
    assert_eq!(desk.post_parts("/courses/1/in", &[], &[]).status, 422);
    assert_eq!(desk.post_parts("/courses/99/in", &[], &[("note", "a.json", "x", good.as_bytes())]).status, 404);
}

#[test]
fn what_was_taken_in_survives_a_kill_and_nothing_lies_in_clear() {
    let desk = Desk::inside_of(filled());
    let all: Vec<(String, String)> = (0..12)
        .map(|n| {
            (
                format!("n{n}.json"),
                note(&format!("code{n:02}xxxx"), "2026-03-01", &[("2026-02-20", 300), ("2026-02-22", 500)]),
            )
        })
        .collect();
    let sent: Vec<(&str, &str)> = all.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    shows(&send(&desk, &[], &sent), &["Days that are new: 24"]);
    let (folder, said) = desk.kill();
    assert!(!said.contains("Person"), "{said}");
    for path in walk(Path::new(&folder.file("cabinet"))) {
        let bytes = std::fs::read(&path).expect("a file");
        assert!(!bytes.windows(9).any(|w| w == b"home-note"), "{}", path.display());
    }
    let desk = Desk::inside_of(folder);
    shows(&send(&desk, &[], &sent), &["Days that were there as they are: 24"]);
}

/// A folder of 300 notes is on its way; when the program is cut off, 200 are kept, because their step was done.
#[test]
fn a_folder_that_is_cut_off_in_the_middle_keeps_what_had_come_in() {
    let desk = Desk::inside_of(filled());
    let date = |k: i64| Date::parse("2025-06-01").and_then(|d| d.plus(k)).expect("a day").to_string();
    let files: Vec<(String, String)> = (0..300_i64)
        .map(|n| (format!("n{n}.json"), note(&format!("code{:02}xxxx", n % 12), "2026-03-01", &[(&date(n / 12), 300)])))
        .collect();
    let sent: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let part = |name: &str, text: &str| {
        let head = format!("content-disposition: form-data; name=\"note\"; filename=\"{name}\"");
        format!("--edge\r\n{head}\r\ncontent-type: application/json\r\n\r\n{text}\r\n")
    };
    let token = format!("--edge\r\ncontent-disposition: form-data; name=\"token\"\r\n\r\n{}\r\n", desk.token);
    let first: String = sent[..250].iter().map(|(name, text)| part(name, text)).collect();
    let head = format!(
        "POST /courses/1/in HTTP/1.1\r\n{}cookie: {}\r\ncontent-type: multipart/form-data; boundary=edge\r\n\
         content-length: 10000000\r\n\r\n",
        desk.ours(),
        desk.cookie
    );
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", desk.port)).expect("the desk listens");
    std::io::Write::write_all(&mut stream, format!("{head}{token}{first}").as_bytes()).expect("it is taken");
    let begun = std::time::Instant::now();
    while !desk.get("/courses/1/in").body.contains("Days that are new: 200") {
        assert!(begun.elapsed().as_secs() < 60, "the first step was not kept");
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    let (folder, _) = desk.kill();
    drop(stream);
    let desk = Desk::inside_of(folder);
    shows(&send(&desk, &[], &sent), &["Days that are new: 100", "Days that were there as they are: 200"]);
}

/// Outside of courses the same page takes in for everybody.
#[test]
fn notes_and_photographs_of_everybody_come_in_beside_the_weeks() {
    let folder = filled();
    let picture = folder.file("face.jpg");
    let made = house::run(&["phantom", &picture, "--seed", "5", "--light", "d65"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let face = std::fs::read(&picture).expect("a face");
    let desk = Desk::inside_of(folder);
    assert!(desk.get("/weeks").body.contains("href=\"/weeks/in\""));
    let good = note("code00xxxx", "2026-03-01", &[("2026-02-20", 300)]);
    let for_all = note("forallxxxx", "2026-03-01", &[("2026-02-21", 300)]);
    let files: [(&str, &str, &str, &[u8]); 2] = [
        ("note", "a.json", "application/json", good.as_bytes()),
        ("note", "b.json", "application/json", for_all.as_bytes()),
    ];
    assert_eq!(desk.post_parts("/weeks/in", &[], &files).status, 303);
    let page = desk.get("/weeks/in");
    shows(&page, &["Days that are new: 1", "Whose are these?"]);
    assert!(!page.body.contains("not in this course"), "nobody is outside of what is no course");
    let asked = "at=0&code=forallxxxx&file=b.json&client=";
    assert_eq!(desk.post("/weeks/in/whose", &format!("{asked}Nobody")).status, 422);
    assert_eq!(desk.post("/weeks/in/whose", &format!("{asked}person+5")).status, 303);
    shows(&desk.get("/clients/6"), &["21 February 2026"]);
    let photo: [(&str, &str, &str, &[u8]); 1] = [("photo", "face-2026-02-21-code01xxxx.jpg", "image/jpeg", &face)];
    assert_eq!(desk.post_parts("/weeks/in/photographs", &[], &photo).status, 303);
    shows(&desk.get("/weeks/in"), &["Photographs taken in: 1. There already: 0."]);
    shows(&desk.get("/clients/2"), &["21 February 2026"]);
    assert_eq!(desk.post_parts("/weeks/in", &[], &[]).status, 422);
}

fn walk(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() { found.extend(walk(&path)) } else { found.push(path) }
    }
    found
}

#[test]
fn photographs_find_their_person_and_day_and_are_measured_beside_the_work() {
    let folder = filled();
    let picture = folder.file("face.jpg");
    let made = house::run(&["phantom", &picture, "--seed", "5", "--light", "d65"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let face = std::fs::read(&picture).expect("a face");
    let desk = Desk::inside_of(folder);
    let files: [(&str, &str, &str, &[u8]); 7] = [
        ("photo", "course/code00xxxx/face-2026-02-21.jpg", "image/jpeg", &face),
        ("photo", "face-2026-02-21-code00xxxx.jpg", "image/jpeg", &face),
        ("photo", "code03xxxx/2026-02-20.jpg", "image/jpeg", &face),
        ("photo", "nobody/2026-02-20.jpg", "image/jpeg", &face),
        ("photo", "code01xxxx/face.png", "image/png", &face),
        ("photo", "code01xxxx/2026-02-20.jpg", "image/jpeg", b"not a picture"),
        ("photo", "code01xxxx/2027-02-20.jpg", "image/jpeg", &face),
    ];
    assert_eq!(desk.post_parts("/courses/1/in/photographs", &[], &files).status, 303);
    let page = desk.get("/courses/1/in");
    shows(
        &page,
        &[
            "Photographs taken in: 1. There already: 1.",
            "Person 3 has not consented",
            "No take-home's code is in its name",
            "Neither its name nor the camera says its day",
            "code01xxxx/2026-02-20.jpg",
            "It says 20 February 2027, which has not come yet.",
        ],
    );
    let begun = std::time::Instant::now();
    loop {
        let page = desk.get("/courses/1/in").body;
        assert!(!page.contains("Could not be measured"), "{page}");
        if page.contains("Measured: 1. Still to be measured: 0.") {
            break;
        }
        assert!(begun.elapsed().as_secs() < 240, "{page}");
        std::thread::sleep(std::time::Duration::from_millis(500));
    }
    shows(&desk.get("/clients/1"), &["21 February 2026"]);
}
