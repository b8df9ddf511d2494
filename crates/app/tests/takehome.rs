//! Journeys of what goes home and what comes back, over real HTTP and on the command line.

mod house;

use cabinet::{Cabinet, ClientId, ConsentKind, Cost, Details, Document, Passphrase, RoutineId, Time, Toml};
use house::{Answer, Desk, Folder, PASSPHRASE, example, run, run_with, unique};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn lacks(body: &str, part: &str) {
    assert!(!body.contains(part), "the page has {part:?}:\n{body}");
}

fn toml(name: &str) -> Toml {
    Toml::new(std::fs::read_to_string(example(name)).expect("an example")).expect("TOML")
}

/// Half past eight in the morning of the tests' day.
fn now() -> Time {
    Time::parse("2026-03-01T08:30:00Z").expect("a time")
}

struct Practice {
    desk: Desk,
    ana: ClientId,
    bo: ClientId,
    hers: RoutineId,
    for_all: RoutineId,
}

/// A practice with two clients, a routine of Ana's and one for all.
fn practice(answers: &str) -> Practice {
    let folder = Folder::new(&unique("takehome"));
    let place = folder.file("cabinet");
    let words = Passphrase::new(PASSPHRASE);
    let drafted = folder.file("audience.toml");
    assert_eq!(run(&["draft", &example("request_audience.toml"), "--toml", &drafted, "--today", house::DAY]).code, 0);
    let audience = Toml::new(std::fs::read_to_string(&drafted).expect("drafted")).expect("TOML");
    let cabinet = Cabinet::create(std::path::Path::new(&place), &words, Cost::FOR_TESTS, now()).expect("a cabinet");
    let (ana, bo, hers, for_all) = cabinet
        .write(now(), |w| {
            let named = |name: &str| Details { name: name.into(), language: "de".into(), ..Details::default() };
            let (ana, bo) = (w.add_client(&named("Ana Example"))?, w.add_client(&named("Bo Example"))?);
            for client in [ana, bo] {
                w.record_consent(client, ConsentKind::Care, true, now(), "care 1")?;
                w.add_intake(client, &Document::Toml(toml(answers)), None)?;
            }
            let hers = w.add_routine(Some(ana), "Jaw and sleep")?;
            w.add_version(hers, &toml("routine.toml"))?;
            let for_all = w.add_routine(None, "For the course")?;
            w.add_version(for_all, &audience)?;
            Ok((ana, bo, hers, for_all))
        })
        .expect("written");
    drop(cabinet);
    Practice { desk: Desk::inside_of(folder), ana, bo, hers, for_all }
}

fn code_on(form: &str) -> String {
    form.split("name=\"code\" value=\"").nth(1).and_then(|r| r.split('"').next()).expect("a code").to_owned()
}

/// The page of Ana's take-home, and its code.
fn given(p: &Practice) -> (Answer, String) {
    let form = p.desk.get(&format!("/routines/{}/takehome", p.hers));
    assert_eq!(form.status, 200, "{}", form.body);
    has(&form.body, "value=\"Ana\"");
    let code = code_on(&form.body);
    let sent = format!("version=1&code={code}&client={}&name=Ana&language=en&do=page", p.ana);
    let page = p.desk.post(&format!("/routines/{}/takehome", p.hers), &sent);
    assert_eq!(page.status, 200, "{}", page.body);
    (page, code)
}

fn note(code: &str, day: &str, words: &str) -> String {
    format!(
        r#"{{"tragion":"home-note","version":1,"code":"{code}","made":"2026-03-09","language":"de","days":[
        {{"day":"{day}","sessions":[{{"at":"21:30","seconds":471,"ended":"whole","felt":[["ST6","left","tender"]],
        "before":[5,6,5,7],"after":[7,3,6],"words":"{words}"}}]}}]}}"#
    )
}

/// What the page that shows a note would send on.
fn kept_form(body: &str) -> String {
    let mut out = form_urlencoded::Serializer::new(String::new());
    for note in body.split("name=\"note\" value=\"").skip(1) {
        let note = note
            .split('"')
            .next()
            .expect("a value")
            .replace("&quot;", "\"")
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&amp;", "&");
        out.append_pair("note", &note);
    }
    out.finish()
}

#[test]
fn a_take_home_is_made_and_is_on_record() {
    let p = practice("answers_full.toml");
    let ready = p.desk.get(&format!("/routines/{}/ready", p.hers));
    has(&ready.body, &format!("/routines/{}/takehome", p.hers));
    let (page, code) = given(&p);
    has(&page.head, "content-disposition: attachment; filename=\"routine.html\"");
    assert!(page.body.len() < 2_000_000, "{} bytes", page.body.len());
    for part in ["For Ana.", &code, "default-src 'none'", "Jaw and sleep"] {
        has(&page.body, part);
    }
    lacks(&page.body, "Example");
    has(&p.desk.get(&format!("/clients/{}", p.ana)).body, &code);
    // Nobody is named where nobody is to be; the language is the one that was chosen.
    let sent = format!("version=1&code={code}&client={}&name=&language=de&do=page", p.ana);
    let again = p.desk.post(&format!("/routines/{}/takehome", p.hers), &sent);
    assert_eq!(again.status, 200, "{}", again.body);
    lacks(&again.body, "Ana.");
    has(&again.body, "<html lang=\"de\"");
    // The same form sent twice is one take-home, all of it a zip.
    let zip = p.desk.post(&format!("/routines/{}/takehome", p.hers), &sent.replace("do=page", "do=all"));
    assert!(zip.body.starts_with("PK") && zip.head.contains("take-home.zip"), "{}", zip.head);
    lacks(&p.desk.get(&format!("/clients/{}", p.ana)).body, "There are 2 in all");
    // What was written wrong is said at the form.
    let long = format!("version=1&code={code}&client={}&name={}&language=en&do=page", p.ana, "a".repeat(41));
    let refused = p.desk.post(&format!("/routines/{}/takehome", p.hers), &long);
    assert_eq!(refused.status, 422);
    has(&refused.body, "at most 40 letters");
    let other = p.desk.post(&format!("/routines/{}/takehome", p.hers), "version=1&language=xx&do=page");
    assert_eq!(other.status, 422);
    has(&other.body, "xx");
    // Another client's routine comes out for nobody else.
    let theirs = p.desk.get(&format!("/routines/{}/takehome?client={}", p.hers, p.bo));
    assert_eq!(theirs.status, 409);
    // Without a consent to care there is none.
    p.desk.post(&format!("/clients/{}/consent", p.ana), "kind=care&given=no");
    for answer in [
        p.desk.get(&format!("/routines/{}/takehome", p.hers)),
        p.desk.post(&format!("/routines/{}/takehome", p.hers), &sent),
    ] {
        assert_eq!(answer.status, 409, "{}", answer.body);
        lacks(&answer.body, "default-src 'none'; style-src 'sha");
    }
}

// proves: take_home_from_the_gate
#[test]
fn what_is_left_out_is_in_no_take_home() {
    let p = practice("answers_stop.toml");
    let refused = p.desk.post(&format!("/routines/{}/takehome", p.hers), "version=1&language=en&do=page");
    assert_eq!(refused.status, 422);
    lacks(&refused.body, "id=\"home-data\"");
    let p = practice("answers_neck_out.toml");
    let form = p.desk.get(&format!("/routines/{}/takehome", p.hers));
    let sent = format!("version=1&code={}&client={}&language=en&do=page", "abcdefgh12", p.ana);
    let page = p.desk.post(&format!("/routines/{}/takehome", p.hers), &sent);
    if form.body.contains("name=\"code\"") {
        // The neck is named as left out, and no step is on it.
        let targets =
            page.body.split("\"targets\":").nth(1).and_then(|r| r.split("],\"until\"").next()).expect("the steps");
        lacks(targets, "neck");
        has(&page.body, "class=\"struck\"");
    } else {
        assert_eq!(page.status, 422, "refused on the form, given all the same");
    }
}

#[test]
fn home_notes_come_in_are_looked_at_and_kept() {
    let p = practice("answers_full.toml");
    let (_, code) = given(&p);
    let at = format!("/clients/{}/notes-home", p.ana);
    assert_eq!(p.desk.get(&at).status, 200);
    let first = note(&code, "2026-03-02", "warm and heavy");
    let seen = p.desk.post_parts(&at, &[], &[("note", "note.json", "application/json", first.as_bytes())]);
    assert_eq!(seen.status, 200, "{}", seen.body);
    has(&seen.body, "2 March 2026");
    has(&seen.body, "new");
    // Nothing is kept before it is said.
    lacks(&p.desk.get(&format!("/clients/{}", p.ana)).body, "warm and heavy");
    let kept = p.desk.post(&format!("{at}/keep"), &kept_form(&seen.body));
    assert_eq!(kept.status, 200, "{}", kept.body);
    has(&kept.body, "Ana Example: new days kept, 1.");
    let page = p.desk.get(&format!("/clients/{}", p.ana));
    for said in ["warm and heavy", "Relaxed: 5, then 7", "Last night&#39;s sleep: 7", "2 March 2026: 8 min", "tender"] {
        assert!(page.body.contains(said) || page.body.contains(&said.replace("&#39;", "'")), "{said}: {}", page.body);
    }
    // The same again, as pasted text: told, and nothing to keep.
    let same = p.desk.post_parts(&at, &[("text", &first)], &[]);
    has(&same.body, "already kept");
    has(&same.body, "All of this is kept already.");
    // The same day otherwise: only where it is ticked.
    let other = note(&code, "2026-03-02", "otherwise");
    let seen = p.desk.post_parts(&at, &[("text", &other)], &[]);
    has(&seen.body, "kept otherwise");
    let form = kept_form(&seen.body);
    has(&p.desk.post(&format!("{at}/keep"), &form).body, "Days left as they were kept: 1.");
    has(&p.desk.get(&format!("/clients/{}", p.ana)).body, "warm and heavy");
    let tick = format!("{form}&replace={}+2026-03-02", p.ana);
    has(&p.desk.post(&format!("{at}/keep"), &tick).body, "Days replaced: 1.");
    let page = p.desk.get(&format!("/clients/{}", p.ana)).body;
    has(&page, "otherwise");
    lacks(&page, "warm and heavy");
    // Another client's code is refused, wherever it is tried.
    let theirs = format!("/clients/{}/notes-home", p.bo);
    let refused = p.desk.post_parts(&theirs, &[("text", &first)], &[]);
    assert_eq!(refused.status, 422);
    has(&refused.body, "was given to another client, not to Bo Example");
    let forced = p.desk.post(&format!("{theirs}/keep"), &format!("{form}&theirs={code}"));
    assert_eq!(forced.status, 422);
    lacks(&p.desk.get(&format!("/clients/{}", p.bo)).body, "otherwise");
    // A code that names nobody asks whose it is.
    let unknown = note("abcdefgh12", "2026-03-03", "whose");
    let seen = p.desk.post_parts(&theirs, &[("text", &unknown)], &[]);
    has(&seen.body, "does not say whose this is");
    let form = kept_form(&seen.body);
    let asked = p.desk.post(&format!("{theirs}/keep"), &form);
    assert_eq!(asked.status, 422);
    has(&asked.body, "say first that the note");
    has(
        &p.desk.post(&format!("{theirs}/keep"), &format!("{form}&theirs=abcdefgh12")).body,
        "Bo Example: new days kept, 1.",
    );
}

#[test]
fn at_one_address_the_codes_find_their_clients() {
    let p = practice("answers_full.toml");
    let (_, code) = given(&p);
    let form = p.desk.get(&format!("/routines/{}/takehome", p.for_all));
    let many = code_on(&form.body);
    let made = p
        .desk
        .post(&format!("/routines/{}/takehome", p.for_all), &format!("version=1&code={many}&language=en&do=page"));
    assert_eq!(made.status, 200, "{}", made.body);
    has(&made.body, "It was made for many people");
    let (hers, nobody, lost) = (
        note(&code, "2026-03-04", "hers"),
        note(&many, "2026-03-04", "many"),
        note("zzzzzzzz99", "2026-03-04", "lost"),
    );
    let files: [(&str, &str, &str, &[u8]); 5] = [
        ("note", "hers.json", "application/json", hers.as_bytes()),
        ("note", "twice.json", "application/json", hers.as_bytes()),
        ("note", "many.json", "application/json", nobody.as_bytes()),
        ("note", "lost.json", "application/json", lost.as_bytes()),
        ("note", "broken.json", "application/json", b"{\"tragion\":\"home-note\""),
    ];
    let seen = p.desk.post_parts("/notes-home", &[], &files);
    assert_eq!(seen.status, 200, "{}", seen.body);
    for said in [
        "Ana Example",
        "The same note is there twice",
        "was given to many",
        "No take-home of this practice has the code zzzzzzzz99",
        "broken.json",
    ] {
        has(&seen.body, said);
    }
    let kept = p.desk.post("/notes-home/keep", &kept_form(&seen.body));
    has(&kept.body, "Ana Example: new days kept, 1.");
    has(&p.desk.get(&format!("/clients/{}", p.ana)).body, "hers");
    // Before the door nothing of it is there.
    let outside = p.desk.raw(
        format!("GET /notes-home HTTP/1.1\r\nhost: 127.0.0.1:{}\r\nconnection: close\r\n\r\n", p.desk.port).as_bytes(),
    );
    assert_eq!(outside.status, 303);
}

#[test]
fn hostile_notes_are_refused_with_words_and_lose_nothing() {
    let p = practice("answers_full.toml");
    let (_, code) = given(&p);
    let at = format!("/clients/{}/notes-home", p.ana);
    let good = note(&code, "2026-03-02", "words");
    let deep = "[".repeat(200_000);
    let long = good.replace("words\":\"words", &format!("words\":\"{}", "a".repeat(300_000)));
    let cases: [(&str, &str); 8] = [
        ("{\"tragion\":", "can&#39;t be read at line 1"),
        (&deep, "can&#39;t be read at line 1"),
        ("{}", "no home note"),
        (&good.replace("471", "99999"), "from 0 to 7200"),
        (&good.replace("2026-03-02", "2026-13-02"), "written as 2026-03-02"),
        (&good.replace("tender", "<b>x</b>"), "is none of"),
        (&good.replace("\"version\":1", "\"version\":9"), "version 9"),
        (&long, "at most 256 KB"),
    ];
    for (text, why) in cases {
        let refused = p.desk.post_parts(&at, &[("text", text)], &[]);
        assert_eq!(refused.status, 422, "{why}");
        let plain = refused.body.replace("&#39;", "'");
        has(&plain, &why.replace("&#39;", "'"));
        lacks(&refused.body, "<b>x</b>");
        if text.len() < 1000 {
            // What was pasted stands there again.
            has(&plain, "<textarea");
            has(
                &refused.body,
                &text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;"),
            );
        }
    }
    let nothing = p.desk.post_parts(&at, &[("text", " ")], &[]);
    assert_eq!(nothing.status, 422);
    has(&nothing.body, "Choose a file or paste the text first.");
    for bytes in [b"\xff\xd8\xff\xe0 no picture".as_slice(), b"\x89PNG\r\n\x1a\n", &[0xff; 64]] {
        assert_eq!(p.desk.post_parts(&at, &[], &[("note", "x.png", "image/png", bytes)]).status, 422);
    }
    // Words that could be markup are shown as they were written.
    let seen = p.desk.post_parts(&at, &[("text", &note(&code, "2026-03-02", "<script>alert(1)</script>"))], &[]);
    p.desk.post(&format!("{at}/keep"), &kept_form(&seen.body));
    let page = p.desk.get(&format!("/clients/{}", p.ana)).body;
    has(&page, "&lt;script&gt;alert(1)");
    lacks(&page, "<script>alert");
}

#[test]
fn a_picture_of_the_code_is_read() {
    let picture = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/notes/home-note.png");
    let said = run(&["note", picture, "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let json = said.json();
    assert_eq!((json["tragion"].as_str(), json["code"].as_str()), (Some("home-note"), Some("k7p2w9x4ab")));
    let session = &json["days"][0]["sessions"][0];
    assert_eq!((session["seconds"].as_u64(), session["words"].as_str()), (Some(357), Some("warm ü and \"quiet\"")));
    assert_eq!(session["after"][0], 8);
    // At the desk the same picture asks whose it is: no take-home of this practice has its code.
    let p = practice("answers_full.toml");
    let bytes = std::fs::read(picture).expect("the picture");
    let seen =
        p.desk.post_parts(&format!("/clients/{}/notes-home", p.ana), &[], &[("note", "p.png", "image/png", &bytes)]);
    assert_eq!(seen.status, 200, "{}", seen.body);
    has(&seen.body, "does not say whose this is");
}

#[test]
fn the_command_reads_a_note_and_says_what_is_wrong() {
    let folder = Folder::new(&unique("note"));
    let good = folder.write("note.json", note("k7p2w9x4ab", "2026-03-02", "ok"));
    let said = run(&["note", &good]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(
        said.out,
        "Home note of the take-home k7p2w9x4ab, made on 2026-03-09, days: 1\n2026-03-02: sessions 1, 7 min 51 s\n"
    );
    assert_eq!(run(&["note", &good, "--json"]).json()["days"][0]["day"], "2026-03-02");
    assert_eq!(run_with(&["note", "-", "--json"], std::fs::read(&good).expect("there").as_slice()).code, 0);
    // Places of an own atlas are told, and the note is read all the same.
    let own = folder.write("own.json", note("k7p2w9x4ab", "2026-03-02", "ok").replace("ST6", "own-mine"));
    let said = run(&["note", &own]);
    assert_eq!(said.code, 0);
    has(&said.err, "own-mine");
    for (name, text, why) in [
        (
            "range.json",
            note("a", "2026-03-02", "x").replace("471", "7201"),
            "day 1, session 1, seconds: a whole number from 0 to 7200",
        ),
        ("empty.json", String::new(), "There is nothing in it"),
        ("other.json", "{}".to_owned(), "no home note"),
    ] {
        let said = run(&["note", &folder.write(name, text)]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{name}");
        has(&said.err, why);
        has(&said.err, name);
    }
    assert_eq!(run(&["note", &folder.file("none.json")]).code, 2);
    assert_eq!(run(&["note"]).code, 2);
}
