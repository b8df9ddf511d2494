//! Journeys through a guided session, over real HTTP: begun, kept event by event, killed and gone on with, closed; who can't begin; what is
//! refused.

mod house;

use std::io::{Read, Write};

use house::{Answer, Desk};
use serde_json::{Value, json};

const NO: &str = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no";

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn leads_to(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

fn client(desk: &Desk, name: &str) -> String {
    leads_to(&desk.post("/clients/new", &format!("name={name}&hands=both")))
        .split('?')
        .next()
        .expect("an address")
        .to_owned()
}

fn cared_and_screened(desk: &Desk, name: &str) -> String {
    let client = client(desk, name);
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=yes"));
    leads_to(&desk.post(&format!("{client}/intake"), NO));
    client
}

/// A routine that the planner drafted, of a client or of nobody.
fn routine(desk: &Desk, client: Option<&str>) -> String {
    let number = client.map_or(String::new(), |c| format!("client={}&", c.rsplit('/').next().expect("a number")));
    let form = format!("{number}name=Evening&minutes=8&concern=tight_jaw&do=take");
    let taken = desk.post("/routines/edit", &form);
    assert_eq!(taken.status, 200, "{}", taken.body);
    let kept = leads_to(&desk.post("/routines/edit", &format!("{}&do=save", form_of(&taken.body))));
    kept.split('?').next().expect("an address").to_owned()
}

/// Every hidden, typed, checked and chosen field of the editor's form.
fn form_of(body: &str) -> String {
    let form = body.split("<form id=\"editor\"").nth(1).and_then(|f| f.split("</form>").next()).expect("the form");
    let mut out = form_urlencoded::Serializer::new(String::new());
    let attribute = |tag: &str, name: &str| {
        tag.split(&format!(" {name}=\""))
            .nth(1)
            .and_then(|r| r.split('"').next())
            .map(|v| v.replace("&quot;", "\"").replace("&amp;", "&"))
    };
    let mut rest = form;
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        let end = rest.find('>').expect("a tag ends");
        let tag = &rest[..end];
        if tag.starts_with("<input") {
            let checked =
                !(tag.contains("type=\"checkbox\"") || tag.contains("type=\"radio\"")) || tag.contains(" checked");
            if let (Some(name), true) = (attribute(tag, "name").filter(|n| n != "token"), checked) {
                out.append_pair(&name, &attribute(tag, "value").unwrap_or_default());
            }
        } else if tag.starts_with("<select") {
            let all = rest.split("</select>").next().expect("its end");
            let chosen =
                all.split("<option").skip(1).find(|o| o.split('>').next().is_some_and(|t| t.contains(" selected")));
            let value = chosen.or(all.split("<option").nth(1)).and_then(|o| attribute(o, "value"));
            let name = attribute(tag, "name").expect("a name");
            if name != "place" {
                out.append_pair(&name, &value.unwrap_or_default());
            }
        }
        rest = &rest[end..];
    }
    out.finish()
}

const BEGIN: &str = "whom=facing&posture=lying&talk=0&relaxed=4&stress=&wellbeing=6&sleep=5&words=tired&room=quiet";

fn begin(desk: &Desk, routine: &str) -> String {
    leads_to(&desk.post(&format!("{routine}/session"), BEGIN))
}

/// What a page sends.
fn send(desk: &Desk, session: &str, events: &Value, seen: u64, ended: Option<&str>) -> Answer {
    let body = json!({ "events": events, "seen": seen, "ended": ended }).to_string();
    send_text(desk, session, &body)
}

fn send_text(desk: &Desk, session: &str, body: &str) -> Answer {
    let head = format!(
        "POST {session}/events HTTP/1.1\r\n{}cookie: {}\r\nx-token: {}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\
         connection: close\r\n\r\n{body}",
        desk.ours(),
        desk.cookie,
        desk.token,
        body.len()
    );
    desk.raw(head.as_bytes())
}

/// What the page would go on with.
fn restored(desk: &Desk, session: &str) -> Value {
    let page = desk.get(session);
    assert_eq!(page.status, 200, "{}", page.head);
    let at = page.body.split("data-restore=\"").nth(1).and_then(|r| r.split('"').next()).expect("what to go on with");
    serde_json::from_str(&at.replace("&quot;", "\"")).expect("JSON")
}

#[test]
fn a_session_is_kept_from_its_first_moment_through_a_kill_to_what_was_felt() {
    let desk = Desk::inside();
    let ana = cared_and_screened(&desk, "Ana");
    let routine = routine(&desk, Some(&ana));
    has(&desk.get(&ana).body, &format!("{routine}/session"));
    has(
        &desk.get(&format!("{routine}/ready")).body,
        &format!("class=\"button go\" href=\"{routine}/session?version=1\""),
    );
    let start = desk.get(&format!("{routine}/session?version=1"));
    has(&start.body, "For Ana.");
    has(&start.body, "Wash your hands");
    let session = begin(&desk, &routine);
    let page = desk.get(&session).body;
    for part in ["data-play=\"root\"", "data-view=\"facing\"", "/assets/engine.js", "/assets/player.js", "their left"] {
        has(&page, part);
    }
    assert!(!page.contains("style=") && !page.contains("onclick") && !page.contains("class=\"rail\""));
    assert_eq!(restored(&desk, &session), json!({ "events": [], "seen": 0 }));
    let mut events = json!([{ "at": 20, "do": "start" }]);
    assert_eq!(send(&desk, &session, &events, 30, None).status, 200);
    events.as_array_mut().expect("a list").push(json!({ "at": 6000, "do": "felt", "felt": "tender" }));
    let taken = send(&desk, &session, &events, 9000, None);
    assert_eq!((taken.status, taken.body.as_str()), (200, "{\"ended\":null,\"seen\":9000}"));
    has(&desk.get(&ana).body, "not ended: it stands at 0:09");
    // The desk dies; what was confirmed is there, to the millisecond.
    let (folder, said) = desk.kill();
    assert!(!said.contains("panicked"), "{said}");
    let desk = Desk::inside_of(folder);
    assert_eq!(restored(&desk, &session), json!({ "events": events, "seen": 9000 }));
    for more in [
        json!({ "at": 9000, "do": "pause" }),
        json!({ "at": 12_000, "do": "resume" }),
        json!({ "at": 13_000, "do": "felt", "felt": "dizzy" }),
    ] {
        events.as_array_mut().expect("a list").push(more);
    }
    let over = send(&desk, &session, &events, 13_000, Some("dizzy"));
    assert_eq!((over.status, over.body.as_str()), (200, "{\"ended\":\"dizzy\",\"seen\":13000}"), "{}", over.body);
    assert_eq!(leads_to(&desk.get(&session)), format!("{session}/after"));
    let after = desk.get(&format!("{session}/after")).body;
    for part in
        ["Lie down with the legs up, or sit", "Ask a clinician before the next time", "Warning signs", "incident"]
    {
        has(&after, part);
    }
    let wrong = desk.post(&format!("{session}/after"), "relaxed=eleven&words=Better+%3Cnow%3E");
    assert_eq!(wrong.status, 422);
    has(&wrong.body, "Better &lt;now&gt;");
    has(&wrong.body, "value=\"eleven\"");
    let saved = desk.post(&format!("{session}/after"), "relaxed=7&stress=2&wellbeing=&words=Better+%3Cnow%3E");
    assert_eq!(leads_to(&saved), format!("{ana}?done=saved#sessions"));
    let page = desk.get(&ana).body;
    for part in ["tender", "dizzy", "Better &lt;now&gt;", "Ended because of dizziness.", "Relaxed 4 to 7"] {
        has(&page, part);
    }
    has(&desk.get("/due").body, "Due");
}

#[test]
fn what_can_t_be_is_refused_with_a_reason_and_nothing_is_lost() {
    let desk = Desk::inside();
    let ana = cared_and_screened(&desk, "Ana");
    let routine = routine(&desk, Some(&ana));
    let session = begin(&desk, &routine);
    let events = json!([{ "at": 20, "do": "start" }, { "at": 6000, "do": "longer" }]);
    assert_eq!(send(&desk, &session, &events, 8000, None).status, 200);
    let more = |event: Value| {
        let mut all = events.as_array().expect("a list").clone();
        all.push(event);
        json!(all)
    };
    let tries = [
        (422, send(&desk, &session, &more(json!({ "at": 3, "do": "next" })), 9000, None)),
        (422, send(&desk, &session, &more(json!({ "at": 8500, "do": "hurry" })), 9000, None)),
        (422, send(&desk, &session, &more(json!({ "at": 8500, "do": "sign" })), 9000, Some("whole"))),
        (422, send(&desk, &session, &events, 3_600_000, None)),
        (422, send_text(&desk, &session, "{\"events\"")),
        (422, send_text(&desk, &session, "[]")),
        (409, send(&desk, &session, &json!([{ "at": 20, "do": "start" }, { "at": 6100, "do": "skip" }]), 9000, None)),
        (404, send(&desk, &format!("{routine}/session/99"), &events, 8000, None)),
    ];
    for (n, (status, answer)) in tries.iter().enumerate() {
        assert_eq!(answer.status, *status, "{n}: {}", answer.body);
        if *status != 404 {
            let said: Value =
                serde_json::from_str(&answer.body).unwrap_or_else(|e| panic!("{n}: {e}: {}", answer.body));
            assert!(said["error"].as_str().is_some_and(|e| e.len() > 20), "{n}: {said}");
        }
    }
    assert_eq!(restored(&desk, &session), json!({ "events": events, "seen": 8000 }));
    // Without the token nothing is taken.
    let bare = format!(
        "POST {session}/events HTTP/1.1\r\n{}cookie: {}\r\ncontent-length: 2\r\nconnection: close\r\n\r\n{{}}",
        desk.ours(),
        desk.cookie
    );
    assert_eq!(desk.raw(bare.as_bytes()).status, 403);
    // Closed it stays as it is; a page that is still open is told so.
    leads_to(&desk.post(&format!("{session}/close"), ""));
    let late = send(&desk, &session, &more(json!({ "at": 8500, "do": "next" })), 9000, None);
    assert_eq!(late.status, 409);
    has(&late.body, "closed already");
    has(&desk.get(&ana).body, "Ended early.");
}

#[test]
fn who_may_not_be_worked_with_can_t_begin() {
    let desk = Desk::inside();
    let ana = cared_and_screened(&desk, "Ana");
    let bo = cared_and_screened(&desk, "Bo");
    let theirs = routine(&desk, Some(&ana));
    let number = |address: &str| address.rsplit('/').next().expect("a number").to_owned();
    // Another client's routine.
    let foreign = desk.post(&format!("{theirs}/session"), &format!("{BEGIN}&client={}", number(&bo)));
    assert_eq!(foreign.status, 409, "{}", foreign.body);
    // A session under another routine's address.
    let of_bo = routine(&desk, Some(&bo));
    let session = begin(&desk, &theirs);
    let elsewhere = format!("{of_bo}/session/{}", number(&session));
    assert_eq!(desk.get(&elsewhere).status, 404);
    assert_eq!(send(&desk, &elsewhere, &json!([]), 0, None).status, 404);
    assert_eq!(desk.post(&format!("{elsewhere}/close"), "").status, 404);
    // A client's routine is for no second screen.
    assert_eq!(desk.get(&format!("{theirs}/session/screen?version=1&of=1")).status, 409);
    // A warning sign today stops, what is under way too; it is told what to do, and can be closed.
    let begun = json!([{ "at": 0, "do": "start" }]);
    assert_eq!(send(&desk, &session, &begun, 2000, None).status, 200);
    leads_to(&desk.post(&format!("{ana}/intake"), &format!("{NO}&sign.stroke=yes")));
    let stopped = desk.get(&format!("{theirs}/session"));
    assert!(!stopped.body.contains("To the session"), "{}", stopped.body);
    has(&stopped.body, "Call the emergency number now");
    let refused = desk.post(&format!("{theirs}/session"), BEGIN);
    assert_eq!(refused.status, 422);
    has(&refused.body, "Call the emergency number now");
    let page = desk.get(&session).body;
    has(&page, "can&#39;t be gone on with".replace("&#39;", "'").as_str());
    assert!(!page.contains("data-play=\"root\""), "a session that is no longer cleared is played");
    leads_to(&desk.post(&format!("{session}/close"), ""));
    // Consent withdrawn.
    leads_to(&desk.post(&format!("{bo}/consent"), "kind=care&given=no"));
    for answer in [desk.get(&format!("{of_bo}/session")), desk.post(&format!("{of_bo}/session"), BEGIN)] {
        assert_eq!(answer.status, 409, "{}", answer.body);
        has(&answer.body, "consent");
    }
    assert!(!desk.get(&bo).body.contains("under-way"));
}

#[test]
fn a_form_that_is_wrong_or_late_comes_back_with_everything_in_it() {
    let desk = Desk::inside();
    let routine = routine(&desk, None);
    let session = format!("{routine}/session");
    let wrong = desk.post(&session, "whom=class&posture=lying&talk=ninety&relaxed=-1&words=so+%26+so&room=hall");
    assert_eq!(wrong.status, 422);
    for part in [
        "whole number from 0 to 60",
        "whole numbers from 0 to 10",
        "value=\"ninety\"",
        "value=\"-1\"",
        "so &amp; so",
        "value=\"hall\"",
    ] {
        has(&wrong.body, part);
    }
    assert_eq!(desk.post(&session, "whom=client&posture=lying").status, 422);
    let class = leads_to(&desk.post(&session, "whom=class&posture=sitting&talk=12&version=1"));
    // Not ended, it stands before the next one.
    has(&desk.get(&session).body, &format!("href=\"{class}\""));
    let page = desk.get(&class).body;
    has(&page, "\"talk\":12");
    has(&page, "/session/screen?version=1&amp;of=");
    // What some must leave out is spoken at its step.
    assert!(page.matches("\"spoken\":\"").count() > page.matches("\"spoken\":\"\"").count(), "no exclusion is spoken");
    let screen = desk.get(&format!("{session}/screen?version=1&of=1"));
    assert_eq!(screen.status, 200);
    assert!(
        !screen.body.contains("<button") && !screen.body.contains("<form"),
        "the second screen has something to press"
    );
    // Locked meanwhile: the form is handed back, and the player is not shown.
    desk.post("/lock", "");
    let late = desk.post(&session, "whom=class&posture=sitting&talk=12&words=kept");
    assert_eq!(late.status, 403);
    has(&late.body, "value=\"kept\"");
    assert!(leads_to(&desk.get(&class)).starts_with("/unlock"));
    assert_eq!(send(&desk, &class, &json!([]), 0, None).status, 403);
}

#[test]
fn a_hundred_beats_are_one_line_of_the_change_log() {
    let desk = Desk::inside();
    let ana = cared_and_screened(&desk, "Ana");
    let routine = routine(&desk, Some(&ana));
    let session = begin(&desk, &routine);
    let events = json!([{ "at": 0, "do": "start" }]);
    for beat in 1..=100 {
        assert_eq!(send(&desk, &session, &events, 100 * beat, None).status, 200);
    }
    let log = desk.get("/practice/changes").body;
    assert_eq!(log.matches("session").count(), log.matches("session").count().min(6), "{log}");
    // A message that is cut off in the middle is none.
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", desk.port)).expect("the desk listens");
    let head = format!(
        "POST {session}/events HTTP/1.1\r\n{}cookie: {}\r\nx-token: {}\r\ncontent-length: 500\r\n\r\n{{\"events\":[",
        desk.ours(),
        desk.cookie,
        desk.token
    );
    stream.write_all(head.as_bytes()).expect("sent");
    stream.shutdown(std::net::Shutdown::Write).expect("cut off");
    let _ = stream.read_to_end(&mut Vec::new());
    assert_eq!(restored(&desk, &session), json!({ "events": events, "seen": 10_000 }));
}
