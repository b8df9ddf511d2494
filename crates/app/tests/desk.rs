//! Journeys at the desk, over real HTTP on a port of its own.

mod house;

use house::Desk;

const NO: &str = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no";

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}");
}

#[test]
fn the_first_minute() {
    let desk = Desk::start();
    let start = desk.get("/");
    assert_eq!(start.status, 200);
    for part in ["<h1>", "id=\"main\"", "name=\"concern\"", "group.today", "No clinician has reviewed", "class=\"sk"] {
        has(&start.body, part);
    }
    assert!(!start.body.contains("style=") && !start.body.contains("<style") && !start.body.contains("onclick"));
    let made = desk.post("/routine", &format!("concern=tight_jaw&minutes=8&hands=one&{NO}"));
    assert_eq!(made.status, 200);
    for part in [
        "Tight jaw, 8 minutes",
        "From the collarbone outward",
        "Back to the collarbone",
        "sk-sheet",
        "curve-says",
        "Left out, and why",
        "id=\"run\"",
        "featherlight",
        "When a warning sign shows",
        "Before you begin",
        "Afterwards",
    ] {
        has(&made.body, part);
    }
    assert!(
        !made.body.contains("style=") && !made.body.contains("<style"),
        "inline style would be refused by the policy"
    );
}

#[test]
fn what_is_missing_is_asked_and_what_was_said_is_kept() {
    let desk = Desk::start();
    let again = desk.post("/routine", "concern=before_sleep&minutes=12&group.eyes=no");
    assert_eq!(again.status, 200);
    has(&again.body, "role=\"alert\"");
    has(&again.body, "href=\"#group-today\"");
    assert!(!again.body.contains("href=\"#group-eyes\""));
    has(&again.body, "value=\"before_sleep\" checked");
    has(&again.body, "value=\"12\" checked");
    let opened = desk.post("/routine", &format!("concern=tight_jaw&{}", NO.replace("eyes=no", "eyes=yes")));
    has(&opened.body, "href=\"#own-glaucoma\"");
}

#[test]
fn an_own_answer_changes_the_routine_where_it_says() {
    let desk = Desk::start();
    let no = NO.replace("skin_and_face=no", "skin_and_face=yes");
    let form = |own: &str| format!("concern=tight_jaw&minutes=8&{no}&rest.skin_and_face=no&{own}");
    let without = desk.post("/routine", &form(""));
    let with = desk.post("/routine", &form("own.acne=yes&where.acne=jaw_muscle&side.acne=left"));
    has(
        &without.body,
        "data-target=\"jaw_muscle\" data-say=\"Small circles. Chewing muscle at the angle of the jaw, your left",
    );
    has(
        &with.body,
        "data-target=\"jaw_muscle\" data-say=\"Small circles. Chewing muscle at the angle of the jaw, your right",
    );
    assert!(!with.body.contains("data-say=\"Small circles. Chewing muscle at the angle of the jaw, your left"));
    has(&with.body, "acne");
}

#[test]
fn a_warning_sign_stops() {
    let desk = Desk::start();
    let halted = desk.post("/routine", &format!("concern=tight_jaw&minutes=8&{NO}&sign.stroke=yes"));
    assert_eq!(halted.status, 200);
    has(&halted.body, "This comes first");
    has(&halted.body, "emergency number");
    assert!(!halted.body.contains("run-steps"), "there is a routine all the same");
}

#[test]
fn what_has_to_be_asked_first_is_one_question_on_each_line() {
    let desk = Desk::start();
    let today = NO.replace("today=no", "today=yes");
    let own = "own.acute_infection=unknown&own.gca=unknown&own.oedema_unknown=no&own.dental=no";
    let asked = desk.post("/routine", &format!("concern=tight_jaw&minutes=8&{today}&{own}"));
    assert_eq!(asked.status, 200);
    has(&asked.body, "Something has to be asked first");
    let (_, after) = asked.body.split_once("Answer these:<ul>").expect("the list of questions");
    let (questions, _) = after.split_once("</ul>").expect("its end");
    let each: Vec<&str> = questions.split("<li>").skip(1).collect();
    assert_eq!(each.len(), 2, "{questions}");
    assert!(each.iter().all(|q| q.ends_with("?</li>") && q.matches('?').count() == 1), "{questions}");
}

#[test]
fn the_part_that_the_slider_draws_is_no_whole_page() {
    let desk = Desk::start();
    let headers = format!("host: 127.0.0.1:{0}\r\norigin: http://127.0.0.1:{0}\r\nx-part: 1\r\n", desk.port);
    let part = desk.post_as("/routine", &format!("concern=tight_jaw&minutes=5&{NO}"), &headers);
    assert_eq!(part.status, 200);
    has(&part.body, "Tight jaw, 5 minutes");
    assert!(!part.body.contains("<!DOCTYPE") && !part.body.contains("id=\"minutes\""));
}

#[test]
fn wishes_may_stand_in_an_address_and_answers_may_not() {
    let desk = Desk::start();
    let page = desk.get("/?concern=tight_jaw&minutes=12&tool=roller&group.eyes=yes&own.glaucoma=yes&sign.stroke=yes");
    has(&page.body, "value=\"tight_jaw\" checked");
    has(&page.body, "value=\"roller\" checked");
    assert!(!page.body.contains("class=\"yes\" type=\"radio\" name=\"group.eyes\" value=\"yes\" checked"));
    assert!(!page.body.contains("value=\"yes\" checked"), "an answer was taken from the address");
}

#[test]
fn strangers_are_refused() {
    let desk = Desk::start();
    let port = desk.port;
    let host = format!("host: 127.0.0.1:{port}\r\n");
    let form = format!("concern=tight_jaw&minutes=8&{NO}");
    assert_eq!(desk.get_as("/", "host: elsewhere.example\r\n").status, 403);
    assert_eq!(desk.get_as("/", &format!("host: elsewhere.example:{port}\r\n")).status, 403);
    assert_eq!(desk.post_as("/routine", &form, &host).status, 403, "no word of where it came from");
    assert_eq!(desk.post_as("/routine", &form, &format!("{host}origin: http://elsewhere.example\r\n")).status, 403);
    assert_eq!(
        desk.post_as("/routine", &form, &format!("{host}origin: null\r\nsec-fetch-site: cross-site\r\n")).status,
        403
    );
    assert_eq!(
        desk.post_as("/routine", &form, &format!("{host}origin: null\r\nsec-fetch-site: same-origin\r\n")).status,
        200
    );
}

#[test]
fn every_answer_carries_the_headers() {
    let desk = Desk::start();
    let pages = ["/", "/nowhere", "/assets/tragion.css", "/assets/none.css", "/routine", "/%2e%2e/%2e%2e/etc/passwd"];
    for path in pages {
        let answer = desk.get(path);
        for header in [
            "content-security-policy: default-src 'none'; style-src 'self'; script-src 'self';",
            "frame-ancestors 'none'",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
            "cache-control:",
        ] {
            assert!(answer.head.contains(header), "{path} lacks {header}:\n{}", answer.head);
        }
        assert!(!answer.head.contains("set-cookie") && !answer.head.contains("access-control-allow"), "{path}");
    }
    assert!(desk.get_as("/", "host: elsewhere\r\n").head.contains("content-security-policy"));
    assert_eq!(desk.get("/nowhere").status, 404);
    assert_eq!(desk.get("/assets/..%2f..%2fCargo.toml").status, 404);
    assert_eq!(desk.get("/routine").status, 303, "an address without its form leads to Start");
    for asset in ["tragion.css", "sketch.css", "tragion.js", "mark.svg", "next-latin.woff2", "next-latin-ext.woff2"] {
        let answer = desk.get(&format!("/assets/{asset}"));
        assert!(answer.status == 200 && !answer.body.is_empty(), "{asset}");
    }
}

#[test]
fn what_is_too_long_or_no_form_is_refused() {
    let desk = Desk::start();
    let long = format!("concern={}", "a".repeat(200 * 1024));
    assert_eq!(desk.post("/routine", &long).status, 413);
    let head = format!("host: 127.0.0.1:{0}\r\norigin: http://127.0.0.1:{0}\r\n", desk.port);
    let (cookie, token) = (format!("cookie: {}\r\n", desk.cookie), &desk.token);
    let json = format!(
        "POST /routine HTTP/1.1\r\n{head}{cookie}x-token: {token}\r\ncontent-type: application/json\r\ncontent-length: 2\r\nconnection: close\r\n\r\n{{}}"
    );
    assert_eq!(desk.raw(json.as_bytes()).status, 415);
    assert_eq!(
        desk.raw(
            format!("DELETE / HTTP/1.1\r\n{head}{cookie}x-token: {token}\r\nconnection: close\r\n\r\n").as_bytes()
        )
        .status,
        405
    );
}
