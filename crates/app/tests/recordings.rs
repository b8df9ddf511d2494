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
    let form = body.split("<form id=\"recording\"").nth(1).and_then(|f| f.split("</form>").next()).expect("the form");
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
            out.append_pair(&attribute(tag, "name").expect("a name"), plain(text).trim_start_matches('\n'));
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
    // Other files are refused, with what to do.
    let text = folder.write("poem.txt", "Roses are red.\n");
    let none = run(&["captions", "--from", &text]);
    assert_eq!(none.code, 3, "{}", none.err);
    assert!(none.err.contains("no step"), "{}", none.err);
    assert_eq!(run(&["captions", "--from", &folder.file("nowhere.vtt")]).code, 2);
    assert_eq!(run(&["captions", "--from", &file, "--out", &file]).code, 2);
}
