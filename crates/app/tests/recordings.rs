//! Journeys of an old recording: read, corrected, gone on with in the editor and kept; at the command line as JSON and as a routine file.

mod house;

use house::{Desk, Folder, run, unique};

const CAPTIONS: &str = "WEBVTT\n\n\
00:00:01.000 --> 00:00:05.000\nGood evening. If you have a fever, skip this today.\n\n\
00:00:10.000 --> 00:00:15.000\nLay your right hand in the soft hollow above the left collarbone, for fifteen seconds.\n\n\
00:00:40.000 --> 00:00:42.000\nAnd now the other side.\n\n\
00:01:10.000 --> 00:01:16.000\nSmall circles on the chewing muscle at the angle of the jaw, both sides. Twenty seconds. This melts wrinkles away.\n\n\
00:01:50.000 --> 00:01:55.000\nPress your thumb into the web of the hand for a moment.\n\n\
00:02:10.000 --> 00:02:15.000\nOne fingertip on Yingxiang, and hold for ten seconds. Never press on the throat.\n";

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn value(body: &str, id: &str) -> String {
    let tag = body.split(&format!("id=\"{id}\"")).nth(1).and_then(|t| t.split("</select>").next()).unwrap_or_default();
    if tag.contains("<option") {
        let chosen = tag.split("<option").find(|o| o.split('>').next().is_some_and(|t| t.contains(" selected")));
        return chosen
            .and_then(|o| o.split("value=\"").nth(1))
            .and_then(|v| v.split('"').next())
            .unwrap_or_default()
            .to_owned();
    }
    String::new()
}

/// Every field of the page's form, in the order in which a browser sends them.
fn form_of(body: &str, action: &str, change: &[(&str, &str)]) -> String {
    fields_of("recording", body, action, change)
}

fn fields_of(form: &str, body: &str, action: &str, change: &[(&str, &str)]) -> String {
    let form =
        body.split(&format!("<form id=\"{form}\"")).nth(1).and_then(|f| f.split("</form>").next()).expect("the form");
    let mut out = form_urlencoded::Serializer::new(String::new());
    let plain = |v: &str| v.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let attribute =
        |tag: &str, name: &str| tag.split(&format!(" {name}=\"")).nth(1).and_then(|r| r.split('"').next()).map(plain);
    let mut rest = form;
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        let end = rest.find('>').expect("a tag ends");
        let tag = &rest[..end];
        let id = attribute(tag, "id").unwrap_or_default();
        let put = change.iter().find(|(field, _)| *field == id).map(|(_, value)| (*value).to_owned());
        if tag.starts_with("<input") {
            let name = attribute(tag, "name").filter(|n| n != "token");
            let checked = !tag.contains("type=\"checkbox\"") || tag.contains(" checked") || put.is_some();
            if let (Some(name), true) = (name, checked) {
                out.append_pair(&name, &put.unwrap_or_else(|| attribute(tag, "value").unwrap_or_default()));
            }
        } else if tag.starts_with("<textarea") {
            let text = rest[end + 1..].split("</textarea>").next().unwrap_or_default();
            let text = put.unwrap_or_else(|| plain(text).trim_start_matches('\n').to_owned());
            out.append_pair(&attribute(tag, "name").expect("a name"), &text);
        } else if tag.starts_with("<select") {
            out.append_pair(&attribute(tag, "name").expect("a name"), &put.unwrap_or_else(|| value(form, &id)));
        }
        rest = &rest[end..];
    }
    out.append_pair("do", action);
    out.finish()
}

fn read(desk: &Desk, words: &str) -> house::Answer {
    let mut form = form_urlencoded::Serializer::new(String::new());
    form.append_pair("words", words).append_pair("do", "read");
    desk.post("/publish/recordings", &form.finish())
}

#[test]
fn a_recording_is_read_corrected_and_kept_as_a_routine() {
    let desk = Desk::inside();
    has(&desk.get("/publish/recordings").body, "Read the captions");
    let heard = read(&desk, CAPTIONS);
    assert_eq!(heard.status, 200, "{}", heard.body);
    has(&heard.body, "4 steps were heard");
    has(&heard.body, "above the left collarbone");
    assert_eq!(value(&heard.body, "target-1"), "outlet");
    assert_eq!((value(&heard.body, "side-1"), value(&heard.body, "side-2")), ("left".into(), "right".into()));
    assert_eq!(value(&heard.body, "target-4"), "LI20");
    // What else was heard, each with its time.
    has(&heard.body, "Never press on the throat");
    has(&heard.body, "web of the hand");
    has(&heard.body, "Smallest repair:");
    // Nothing is kept yet.
    has(&desk.get("/routines").body, "There is none yet");
    // Corrected: another place, the third left out.
    let change = [("target-4", "ST3"), ("out-3", "3"), ("name", "An evening from long ago")];
    let checked = desk.post("/publish/recordings", &form_of(&heard.body, "check", &change));
    assert_eq!(checked.status, 200, "{}", checked.body);
    assert_eq!(value(&checked.body, "target-4"), "ST3");
    has(&checked.body, "corrected by you");
    // Seconds that are none lose nothing.
    let wrong = desk.post("/publish/recordings", &form_of(&checked.body, "edit", &[("seconds-1", "soon")]));
    assert_eq!(wrong.status, 422);
    has(&wrong.body, "is no number of seconds");
    assert_eq!(value(&wrong.body, "target-4"), "ST3");
    let editor = desk.post("/publish/recordings", &form_of(&checked.body, "edit", &[]));
    assert_eq!(editor.status, 200, "{}", editor.body);
    has(&editor.body, "id=\"editor\"");
    has(&editor.body, "An evening from long ago");
    has(&editor.body, "value=\"ST3\"");
    assert!(!editor.body.contains("name=\"target\" value=\"jaw_muscle\""), "what was left out is not there");
    has(&desk.get("/routines").body, "There is none yet");
    // Kept as it is: it is there, for everybody, and can't be used before it is mended.
    let kept = desk.post("/routines/edit", &fields_of("editor", &editor.body, "save", &[]));
    assert_eq!(kept.status, 303, "{}", kept.body);
    let place = header(&kept, "location");
    assert!(place.starts_with("/routines/1?"), "{place}");
    let mut page = desk.get("/routines/1");
    assert_eq!(targets(&page.body), ["outlet", "outlet", "ST3"], "{}", page.body);
    has(&page.body, "For whoever listens");
    let ready = desk.get("/routines/1/ready").body;
    has(&ready, "This can't be run, printed or sent yet");
    assert!(!ready.contains("/routines/1/session"), "{ready}");
    // Mended by its buttons, one repair a time, and kept again.
    for _ in 0..40 {
        let Some(repair) = page.body.split("value=\"repair.").nth(1).and_then(|r| r.split('"').next()) else { break };
        let form = fields_of("editor", &page.body, &format!("repair.{repair}"), &[]);
        page = desk.post("/routines/edit", &form);
        assert_eq!(page.status, 200, "{}", page.body);
    }
    assert!(!page.body.contains("value=\"repair."), "what was to be mended is mended: {}", page.body);
    let mended = targets(&page.body);
    assert!(mended.contains(&"ST3".to_owned()) && mended.len() > 3, "{mended:?}");
    let kept = desk.post("/routines/edit", &fields_of("editor", &page.body, "save", &[]));
    assert_eq!(kept.status, 303, "{}", kept.body);
    assert_eq!(targets(&desk.get("/routines/1").body), mended);
    assert_eq!(targets(&desk.get("/routines/1?version=1").body), ["outlet", "outlet", "ST3"], "the first is there too");
    let ready = desk.get("/routines/1/ready").body;
    has(&ready, "An evening from long ago");
    has(&ready, "For whoever listens");
    has(&ready, "/routines/1/session");
    has(&desk.get("/routines").body, "An evening from long ago");
}

/// The head's line of this name.
fn header(answer: &house::Answer, name: &str) -> String {
    let line = answer.head.lines().find_map(|l| l.strip_prefix(&format!("{name}: ")));
    line.unwrap_or_default().to_owned()
}

/// The places of the editor's steps, in order.
fn targets(body: &str) -> Vec<String> {
    let each = body.split("name=\"target\" value=\"").skip(1);
    each.filter_map(|r| r.split('"').next()).map(str::to_owned).collect()
}

/// The corrections of the second test stand in the page.
fn corrected(answer: &house::Answer) {
    assert_eq!(answer.status, 422, "{}", answer.body);
    has(&answer.body, "An evening from long ago");
    assert_eq!(value(&answer.body, "target-4"), "ST3", "{}", answer.body);
    has(&answer.body, "name=\"out\" value=\"3\" checked");
    assert!(!answer.body.contains("name=\"out\" value=\"1\" checked"), "{}", answer.body);
}

#[test]
fn corrections_stay_when_the_captions_can_not_be_read_again() {
    let desk = Desk::inside();
    let heard = read(&desk, CAPTIONS);
    has(&heard.body, "melts wrinkles");
    let claims = heard.body.split("id=\"claims-title\"").nth(1).expect("what it claims");
    has(claims, "<q>melts wrinkles</q>");
    let change = [("target-4", "ST3"), ("out-3", "3"), ("name", "An evening from long ago")];
    let checked = desk.post("/publish/recordings", &form_of(&heard.body, "check", &change));
    assert_eq!(checked.status, 200);
    let long = "0:01 It rains, and rains. ".repeat(17_000);
    let cases = [
        ("", "There is nothing to read yet"),
        ("0:01 Good morning.\n0:09 It rains.", "No step of a massage was understood"),
        (long.as_str(), "at most 400,000 are read"),
    ];
    for (words, why) in cases {
        for action in ["check", "read"] {
            let form = fields_in_parts(&checked.body, action, &[("words", words)]);
            let fields: Vec<(&str, &str)> = form.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
            let answer = desk.post_parts("/publish/recordings", &fields, &[]);
            has(&answer.body, why);
            has(&answer.body, "What you corrected and the name are still here");
            corrected(&answer);
            // The page that came back is a form again: its steps are gone on with, with no captions at all.
            let editor = desk.post("/publish/recordings", &form_of(&answer.body, "edit", &[("words", "")]));
            assert_eq!(editor.status, 200, "{}", editor.body);
            assert_eq!(targets(&editor.body), ["outlet", "outlet", "ST3"]);
            has(&editor.body, "An evening from long ago");
        }
    }
    // Captions that can be read again are read anew when that is asked for.
    let anew = desk.post("/publish/recordings", &form_of(&checked.body, "read", &[]));
    assert_eq!((anew.status, value(&anew.body, "target-4")), (200, "LI20".to_owned()));
}

/// The same fields one by one.
fn fields_in_parts(body: &str, action: &str, change: &[(&str, &str)]) -> Vec<(String, String)> {
    let form = form_of(body, action, change);
    form_urlencoded::parse(form.as_bytes()).map(|(n, v)| (n.into_owned(), v.into_owned())).collect()
}

#[test]
fn each_row_that_is_left_out_is_told() {
    let desk = Desk::inside();
    let heard = read(&desk, CAPTIONS);
    let out: Vec<(String, String)> = (1..=4).map(|n| (format!("out-{n}"), n.to_string())).collect();
    let out: Vec<(&str, &str)> = out.iter().map(|(id, n)| (id.as_str(), n.as_str())).collect();
    let none = desk.post("/publish/recordings", &form_of(&heard.body, "edit", &out));
    assert_eq!(none.status, 422, "{}", none.body);
    has(&none.body, "Every step is left out, so there is nothing to go on with");
    for n in 1..=4 {
        has(&none.body, &format!("name=\"out\" value=\"{n}\" checked"));
    }
    // A place that the atlas has no more.
    let gone = form_of(&heard.body, "edit", &[("target-4", "a_place_of_before")]);
    let told = desk.post("/publish/recordings", &gone);
    assert_eq!(told.status, 422, "{}", told.body);
    has(&told.body, "Step 4, “One fingertip on Yingxiang");
    has(&told.body, "the atlas no longer has the place that stood there");
    has(&told.body, "3 steps were heard");
}

#[test]
fn files_that_are_no_captions_are_refused_with_what_to_do() {
    let desk = Desk::inside();
    let bring = |name: &str, bytes: &[u8]| {
        desk.post_parts("/publish/recordings", &[("do", "read")], &[("file", name, "text/vtt", bytes)])
    };
    let latin = bring("abend.srt", b"1\n00:00:01,000 --> 00:00:05,000\nPress the temples, Ren\xe9.\n");
    assert_eq!(latin.status, 422, "{}", latin.body);
    has(&latin.body, "3: This line is not encoded as UTF-8");
    let large = bring("long.vtt", &b"WEBVTT\n\n".repeat(600_000));
    assert_eq!(large.status, 422, "{}", large.body);
    has(&large.body, "This file is larger than 4 MB");
}

#[test]
fn what_can_not_be_read_is_said_and_comes_back_whole() {
    let desk = Desk::inside();
    let nothing = read(&desk, "  \n ");
    assert_eq!(nothing.status, 422);
    has(&nothing.body, "There is nothing to read yet");
    let words = "0:01 Good morning. <b>Tea</b> first & then toast.\n0:09 It rains.";
    let none = read(&desk, words);
    assert_eq!(none.status, 422, "{}", none.body);
    has(&none.body, "No step of a massage was understood");
    has(&none.body, "&lt;b&gt;Tea&lt;/b&gt; first &amp; then toast.");
    let long = read(&desk, &"0:01 Press the temples.\n".repeat(3));
    assert_eq!(long.status, 200);
}

#[test]
fn the_command_tells_the_draft_as_json_and_writes_a_routine() {
    let folder = Folder::new(&unique("recordings"));
    let file = folder.write("evening.vtt", CAPTIONS);
    let out = folder.file("evening.toml");
    let said = run(&["captions", "--from", &file, "--json", "--out", &out]);
    assert_eq!(said.code, 1, "{}", said.err);
    let json = said.json();
    let steps = json["steps"].as_array().expect("steps");
    let of = |n: usize, key: &str| steps[n][key].clone();
    assert_eq!(steps.len(), 4);
    assert_eq!((of(0, "target"), of(0, "side"), of(0, "seconds")), ("outlet".into(), "left".into(), 15.into()));
    assert_eq!((of(1, "target"), of(1, "side")), ("outlet".into(), "right".into()));
    assert_eq!(
        (of(2, "target"), of(2, "side"), of(2, "technique")),
        ("jaw_muscle".into(), "both".into(), "small_circles".into())
    );
    assert_eq!((of(3, "target"), of(3, "technique"), of(3, "seconds")), ("LI20".into(), "hold".into(), 10.into()));
    for step in steps {
        let confidence = step["confidence"].as_f64().expect("a number");
        assert!((0.0..=1.0).contains(&confidence), "{step}");
        assert!(step["time"].is_number() && step["heard"].is_string() && step["start_s"].is_u64(), "{step}");
    }
    assert!(of(1, "confidence").as_f64() < of(0, "confidence").as_f64(), "what was only repeated is less sure");
    let all =
        |key: &str| json[key].as_array().expect("a list").iter().map(|s| s["words"].to_string()).collect::<String>();
    assert!(all("cautions").contains("throat") && all("cautions").contains("fever"), "{json}");
    assert!(all("not_understood").contains("web of the hand"), "{json}");
    assert!(
        json["breaches"].as_array().is_some_and(|b| b.iter().all(|b| b["repair"].is_string()) && !b.is_empty()),
        "{json}"
    );
    // The routine that was written is the same, and the checker says the same of it.
    let checked = run(&["check", &out, "--json"]).json();
    assert_eq!(checked["breaches"], json["breaches"]);
    // What is there already stays, but for whoever says so; and the captions that are read stay in any case.
    let precious = folder.write("precious.toml", "precious");
    let refused = run(&["captions", "--from", &file, "--out", &precious]);
    assert_eq!(refused.code, 2, "{}", refused.err);
    assert!(
        refused.err.contains("a file of this name is there already") && refused.err.contains("--force"),
        "{}",
        refused.err
    );
    assert_eq!(std::fs::read_to_string(&precious).expect("it is there"), "precious");
    let forced = run(&["captions", "--from", &file, "--out", &precious, "--force"]);
    assert_eq!(forced.code, 1, "{}", forced.err);
    let written = std::fs::read_to_string(&precious).expect("it is there");
    assert_eq!(written, std::fs::read_to_string(&out).expect("the routine"));
    assert!(!std::path::Path::new(&folder.file("precious.toml.part")).exists());
    assert_eq!(run(&["captions", "--from", &file, "--out", &file, "--force"]).code, 2);
    assert_eq!(std::fs::read_to_string(&file).expect("the captions"), CAPTIONS);
    // Other files are refused, with what to do.
    let text = folder.write("poem.txt", "Roses are red.\n");
    let none = run(&["captions", "--from", &text]);
    assert_eq!(none.code, 3, "{}", none.err);
    assert!(none.err.contains("no step"), "{}", none.err);
    assert_eq!(run(&["captions", "--from", &folder.file("nowhere.vtt")]).code, 2);
    assert_eq!(run(&["captions", "--from", &file, "--out", &file]).code, 2);
}
