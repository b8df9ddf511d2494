//! Journeys through the door of the practice, over real HTTP: made, locked, unlocked; a client with consent, questions, a word, a note.

mod house;

use house::{Desk, PASSPHRASE};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn leads_to(answer: &house::Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

const NO: &str = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no";

fn add_client(desk: &Desk, name: &str) -> String {
    leads_to(&desk.post("/clients/new", &format!("name={name}&hands=both")))
}

#[test]
fn the_first_time_a_practice_is_made_and_its_passphrase_opens_it() {
    let desk = Desk::start();
    assert_eq!(leads_to(&desk.get("/clients")), "/begin");
    has(&desk.get("/begin").body, "no way around a forgotten passphrase");
    let words = PASSPHRASE.replace(' ', "+");
    let apart = desk.post("/begin", &format!("which=own&passphrase={words}&again=other"));
    assert_eq!(apart.status, 422);
    has(&apart.body, "not the same");
    let short = desk.post("/begin", "which=own&passphrase=short&again=short");
    assert_eq!(short.status, 422);
    has(&short.body, "at least 8 characters");
    let made = desk.post("/begin", &format!("which=own&passphrase={words}&again={words}"));
    assert_eq!(leads_to(&made), "/clients");
    has(&desk.get("/clients").body, "nobody yet");
    assert_eq!(leads_to(&desk.post("/lock", "")), "/unlock");
    assert_eq!(leads_to(&desk.get("/clients?find=a")), "/unlock?to=%2fclients%3ffind%3da");
    let wrong = desk.post("/unlock", "passphrase=not+this+one+at+all&to=/clients");
    assert_eq!(wrong.status, 403);
    has(&wrong.body, "This is not the passphrase");
    assert_eq!(leads_to(&desk.post("/unlock", &format!("passphrase={words}&to=/clients"))), "/clients");
    assert_eq!(desk.get("/clients").status, 200);
    // Elsewhere is not a place to go on.
    assert_eq!(leads_to(&desk.post("/unlock", &format!("passphrase={words}&to=//elsewhere.example/"))), "/due");
}

#[test]
fn only_the_browser_that_gave_the_passphrase_is_inside() {
    let desk = Desk::inside();
    assert_eq!(desk.get("/due").status, 200);
    let host = format!("host: 127.0.0.1:{}\r\n", desk.port);
    let stranger = |path: &str| desk.raw(format!("GET {path} HTTP/1.1\r\n{host}connection: close\r\n\r\n").as_bytes());
    assert!(leads_to(&stranger("/due")).starts_with("/unlock"), "a browser without the cookie is inside");
    assert_eq!(leads_to(&stranger("/open/00000000000000000000000000000000")), "/");
    desk.post("/lock", "");
    // The printed address lets in only until the practice is locked.
    let path = desk.printed.trim_start_matches(&format!("http://127.0.0.1:{}", desk.port)).to_owned();
    assert_eq!(leads_to(&desk.get(&path)), "/");
    assert!(leads_to(&desk.get("/due")).starts_with("/unlock"));
}

#[test]
fn a_change_without_its_token_is_refused() {
    let desk = Desk::inside();
    let cookie = format!("{}cookie: {}\r\n", desk.ours(), desk.cookie);
    for form in ["name=A", "token=0123&name=A", &format!("name=A&token={}", desk.token)] {
        assert_eq!(desk.post_bare("/clients/new", form, &cookie).status, 403, "{form}");
    }
    let other = desk.raw(format!("GET / HTTP/1.1\r\n{}connection: close\r\n\r\n", desk.ours()).as_bytes());
    let token =
        other.body.split("name=\"token\" content=\"").nth(1).and_then(|r| r.split('"').next()).expect("a token");
    assert_eq!(
        desk.post_bare("/clients/new", &format!("token={token}&name=A"), &cookie).status,
        403,
        "another's token"
    );
    has(&desk.get("/clients").body, "nobody yet");
}

#[test]
fn what_comes_after_the_lock_is_handed_back() {
    let desk = Desk::inside();
    let client = add_client(&desk, "Ana+Example");
    desk.post("/lock", "");
    let late = desk.post(&format!("{client}/notes"), "kind=note&text=a+long+%22note%22");
    assert_eq!(late.status, 403);
    has(&late.body, "not lost");
    has(&late.body, "name=\"text\" value=\"a long &quot;note&quot;\"");
}

#[test]
fn a_client_from_name_to_clearance() {
    let desk = Desk::inside();
    let empty = desk.post("/clients/new", "name=+&born=1984");
    assert_eq!(empty.status, 422);
    has(&empty.body, "value=\"1984\"");
    let born = desk.post("/clients/new", "name=Ana&born=last+spring");
    assert_eq!(born.status, 422);
    has(&born.body, "value=\"last spring\"");
    let client = add_client(&desk, "Zo%C3%AB+Example");
    let page = desk.get(&client).body;
    has(&page, "Zoë Example");
    has(&page, "Consent to care comes first");
    // Before consent nothing can be asked or noted.
    assert_eq!(desk.get(&format!("{client}/intake")).status, 409);
    assert_eq!(desk.post(&format!("{client}/intake"), NO).status, 409);
    assert_eq!(desk.post(&format!("{client}/notes"), "kind=note&text=x").status, 409);
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=yes"));
    has(&desk.get(&client).body, "Given on 1 March 2026.");
    // Open questions are asked again, with what was said.
    let open = desk.post(&format!("{client}/intake"), "group.eyes=no");
    assert_eq!(open.status, 422);
    has(&open.body, "This is still open");
    leads_to(&desk.post(&format!("{client}/intake"), NO));
    has(&desk.get(&client).body, "Nothing was said that changes");
    // A condition that asks first, and the word of a clinician that opens it gently.
    let yes = format!("{}&rest.eyes=no&own.eye_surgery=yes", NO.replace("eyes=no", "eyes=yes"));
    leads_to(&desk.post(&format!("{client}/intake"), &yes));
    let page = desk.get(&client).body;
    has(&page, "class=\"dashed\"");
    has(&page, "Write down a clinician");
    let bad =
        desk.post(&format!("{client}/word"), "condition=eye_surgery&who=Dr+Example&said=2026-02-30&until=2026-08-01");
    assert_eq!(bad.status, 422);
    let word = "condition=eye_surgery&who=Dr+Example&said=2026-02-20&until=2026-08-01";
    leads_to(&desk.post(&format!("{client}/word"), word));
    has(&desk.get(&client).body, "Dr Example has said it may be done, gently, until 1 August 2026.");
    leads_to(&desk.post(&format!("{client}/word/1/withdraw"), ""));
    let page = desk.get(&client).body;
    has(&page, "Taken back.");
    assert!(!page.contains("may be done, gently"));
    // Notes and incidents; the answers stand in the form again.
    leads_to(&desk.post(&format!("{client}/notes"), "kind=incident&text=%3Cb%3Ered%3C/b%3E"));
    has(&desk.get(&client).body, "&lt;b&gt;red&lt;/b&gt;");
    has(
        &desk.get(&format!("{client}/intake")).body,
        "id=\"own.eye_surgery.yes\" class=\"yes\" type=\"radio\" name=\"own.eye_surgery\" value=\"yes\" checked",
    );
    // Consent that is taken back closes what needs it.
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=no"));
    assert_eq!(desk.get(&format!("{client}/intake")).status, 409);
    has(&desk.get("/due").body, "Consent to care is missing");
    assert_eq!(desk.get("/clients/77").status, 404);
}

#[test]
fn names_are_found_as_one_types() {
    let desk = Desk::inside();
    for name in ["Ana+Example", "Bo+Anders", "Chandra+Zimmer"] {
        add_client(&desk, name);
    }
    let part = desk.get_as("/clients?find=an", &format!("host: 127.0.0.1:{}\r\nx-part: 1\r\n", desk.port)).body;
    assert!(!part.contains("<html"));
    let at = |name: &str| part.find(name).unwrap_or_else(|| panic!("{name} is not found"));
    assert!(at("Ana Example") < at("Bo Anders") && at("Bo Anders") < at("Chandra"), "{part}");
    has(&desk.get("/clients?find=%3Cscript%3E").body, "value=\"&lt;script&gt;\"");
    has(&desk.get("/clients?after=1").body, "Bo Anders");
    assert_eq!(desk.get("/clients?after=99").status, 404);
}

#[test]
fn a_practice_outlives_the_program_and_a_wrong_passphrase_in_the_file_says_so() {
    let desk = Desk::inside();
    add_client(&desk, "Ana+Example");
    let (folder, said) = desk.kill();
    assert_eq!(said, "", "the desk says something");
    let again = Desk::inside_of(folder);
    has(&again.get("/clients").body, "Ana Example");
    let (folder, _) = again.kill();
    let file = folder.write("wrong.txt", "something else entirely\n");
    let refused = house::program()
        .env("TRAGION_PASSPHRASE_FILE", &file)
        .args(["desk", "--no-open", "--cabinet", &folder.file("cabinet")])
        .output()
        .expect("it runs");
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("does not open this cabinet"));
}
