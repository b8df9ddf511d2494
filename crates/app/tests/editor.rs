//! Journeys through the routine editor, over real HTTP: written by hand, mended, kept in versions, bound to a client.

mod house;

use house::Desk;

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn leads_to(answer: &house::Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

const NO: &str = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no";

/// What the form on a page would send: every hidden, typed, checked and chosen field.
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
            let name = attribute(tag, "name");
            let checked = !tag.contains("type=\"checkbox\"") || tag.contains(" checked");
            if let (Some(name), true) = (name.filter(|n| n != "token"), checked) {
                out.append_pair(&name, &attribute(tag, "value").unwrap_or_default());
            }
        } else if tag.starts_with("<select") {
            let all = rest.split("</select>").next().expect("its end");
            let chosen =
                all.split("<option").skip(1).find(|o| o.split('>').next().is_some_and(|t| t.contains(" selected")));
            let value = chosen.or(all.split("<option").nth(1)).and_then(|o| attribute(o, "value"));
            let name = attribute(tag, "name").expect("a name");
            // What is to be added is said by the test.
            if name != "place" {
                out.append_pair(&name, &value.unwrap_or_default());
            }
        }
        rest = &rest[end..];
    }
    out.finish()
}

fn act(desk: &Desk, page: &str, action: &str, more: &str) -> house::Answer {
    desk.post("/routines/edit", &format!("{}&do={action}{more}", form_of(page)))
}

/// Repairs until nothing is left to mend.
fn mend(desk: &Desk, mut page: String) -> String {
    for _ in 0..60 {
        if page.contains("Nothing to mend.") {
            return page;
        }
        page = act(desk, &page, "repair.0", "").body;
    }
    panic!("sixty repairs are not enough:\n{page}");
}

#[test]
fn a_routine_by_hand_is_mended_kept_and_kept_again() {
    let desk = Desk::inside();
    has(&desk.get("/routines").body, "There is none yet");
    let page = desk.get("/routines/new").body;
    let added = act(&desk, &page, "add", "&place=jaw_muscle.left");
    assert_eq!(added.status, 200);
    has(&added.body, "things to mend");
    has(&added.body, "value=\"repair.0.");
    let nothing = act(&desk, &added.body, "add", "&place=");
    assert_eq!(nothing.status, 422);
    has(&nothing.body, "Choose a place first");
    has(&nothing.body, "value=\"jaw_muscle\"");
    let fine = mend(&desk, added.body);
    let unnamed = act(&desk, &fine, "save", "");
    assert_eq!(unnamed.status, 422);
    has(&unnamed.body, "Give it a name first");
    has(&unnamed.body, "value=\"jaw_muscle\"");
    let named = form_of(&unnamed.body).replace("name=&", "name=Evening+%3Cjaw%3E&");
    let kept = leads_to(&desk.post("/routines/edit", &format!("{named}&do=save")));
    assert_eq!(kept, "/routines/1?done=saved");
    has(&desk.get("/routines").body, "Evening &lt;jaw&gt;");
    // What was kept is what was written.
    let again = desk.get("/routines/1").body;
    let sent = |form: &str| {
        form.split('&')
            .filter(|f| {
                f.split('=').next().is_some_and(|n| {
                    ["target", "side", "technique", "with", "pressure", "seconds", "movement"].contains(&n)
                })
            })
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(sent(&form_of(&again)), sent(&named));
    // The other side, both kept as a second version; what changed is told in words.
    let step =
        again.split("<li class=\"ed-step").skip(1).position(|r| r.contains("value=\"jaw_muscle\"")).expect("the step");
    let both = mend(&desk, act(&desk, &again, &format!("other.{step}"), "").body);
    leads_to(&desk.post("/routines/edit", &format!("{}&do=save", form_of(&both))));
    let versions = desk.get("/routines/1/versions").body;
    has(&versions, "Version 2, 1 March 2026");
    has(&versions, "New: Chewing muscle at the angle of the jaw, your right");
    has(&desk.get("/routines/1?version=1").body, "This is version 1, not the latest");
    assert_eq!(desk.get("/routines/1?version=9").status, 404);
    let ready = desk.get("/routines/1/ready").body;
    has(&ready, "href=\"/routines/1/session?version=2\"");
    has(&ready, "Small circles");
    assert!(!ready.contains("style=") && !ready.contains("onclick"));
}

#[test]
fn what_has_things_to_mend_can_be_kept_but_not_run() {
    let desk = Desk::inside();
    let page = act(&desk, &desk.get("/routines/new").body, "add", "&place=jaw_muscle.left").body;
    let named = form_of(&page).replace("name=&", "name=Half&");
    leads_to(&desk.post("/routines/edit", &format!("{named}&do=save")));
    has(&desk.get("/routines").body, "not ready");
    let ready = desk.get("/routines/1/ready").body;
    has(&ready, "This can&#39;t be run, printed or sent yet".replace("&#39;", "'").as_str());
    assert!(!ready.contains("/session"));
}

#[test]
fn a_draft_waits_to_be_taken_over() {
    let desk = Desk::inside();
    let page = act(&desk, &desk.get("/routines/new").body, "add", "&place=jaw_muscle.left").body;
    let none = act(&desk, &page, "draft", "");
    assert_eq!(none.status, 422);
    has(&none.body, "Say what it is for");
    let drafted = act(&desk, &page, "draft", "&concern=tight_jaw").body;
    has(&drafted, "A draft: ");
    has(&drafted, "class=\"curve\"");
    assert_eq!(drafted.matches("<li class=\"ed-step").count(), 1, "the steps by hand are gone");
    let taken = act(&desk, &drafted, "take", "").body;
    assert!(taken.matches("<li class=\"ed-step").count() > 4);
    has(&taken, "Nothing to mend.");
}

#[test]
fn what_a_clearance_leaves_out_is_struck_and_never_run() {
    let desk = Desk::inside();
    let client = leads_to(&desk.post("/clients/new", "name=Ana+Example"));
    assert_eq!(desk.get("/routines/new?client=1").status, 409, "there is no consent yet");
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=yes"));
    has(&desk.get("/routines/new?client=1").body, "Still to be answered");
    leads_to(&desk.post(&format!("{client}/intake"), NO));
    let page = desk.get("/routines/new?client=1").body;
    let page = act(&desk, &page, "draft", "&concern=tight_jaw").body;
    let page = act(&desk, &page, "take", "").body;
    has(&page, "value=\"jaw_muscle\"");
    let named = form_of(&page).replace("name=&", "name=Jaw&");
    leads_to(&desk.post("/routines/edit", &format!("{named}&do=save")));
    has(&desk.get(&client).body, "href=\"/routines/1\"");
    assert!(!desk.get(&client).body.contains("not ready"));
    has(&desk.get("/routines/1/ready").body, "data-target=\"jaw_muscle\"");
    assert!(!desk.get("/routines").body.contains("/routines/1"), "a client's routine stands among those for all");
    // An answer of today strikes the muscle on the left: in the editor with its reason, in what is run not at all.
    let acne = format!(
        "{}&rest.skin_and_face=no&own.acne=yes&where.acne=jaw_muscle&side.acne=left",
        NO.replace("skin_and_face=no", "skin_and_face=yes")
    );
    leads_to(&desk.post(&format!("{client}/intake"), &acne));
    let editor = desk.get("/routines/1").body;
    let row = editor
        .split("<li class=\"ed-step")
        .find(|r| r.contains("value=\"jaw_muscle\"") && r.contains("value=\"left\" selected"))
        .expect("its row");
    assert!(row.starts_with(" struck"), "{row}");
    has(row, "Left out today.");
    has(row, "acne");
    let ready = desk.get("/routines/1/ready").body;
    has(&ready, "Left out today for what was told: Chewing muscle at the angle of the jaw, your left");
    let rows: Vec<&str> = ready.split("data-target=\"jaw_muscle\"").skip(1).collect();
    assert_eq!(rows.len(), 1, "the other side is run");
    assert!(rows[0].split("</li>").next().is_some_and(|row| row.contains("your right") && !row.contains("your left")));
    // A warning sign stops all of it.
    leads_to(&desk.post(&format!("{client}/intake"), &format!("{NO}&sign.stroke=yes")));
    has(&desk.get(&client).body, "not ready");
    let stopped = desk.get("/routines/1/ready").body;
    has(&stopped, "nothing for the hand today");
    assert!(!stopped.contains("/session"));
    // Another's routine can't be passed off as this one's.
    leads_to(&desk.post("/clients/new", "name=Bo+Example"));
    leads_to(&desk.post("/clients/2/consent", "kind=care&given=yes"));
    let forged = form_of(&editor).replace("client=1", "client=2");
    assert_eq!(desk.post("/routines/edit", &format!("{forged}&do=save")).status, 409);
    let unbound = form_of(&editor).replace("client=1&", "");
    assert_eq!(desk.post("/routines/edit", &format!("{unbound}&do=save")).status, 409);
    // Consent taken back closes it.
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=no"));
    assert_eq!(desk.get("/routines/1/ready").status, 409);
}

#[test]
fn who_works_with_one_hand_is_run_no_step_of_two() {
    let desk = Desk::inside();
    let client = leads_to(&desk.post("/clients/new", "name=Ana+Example"));
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=yes"));
    leads_to(&desk.post(&format!("{client}/intake"), NO));
    let page = desk.get("/routines/new?client=1").body;
    let page = act(&desk, &page, "add", "&place=jaw_muscle.both").body;
    let page = mend(&desk, act(&desk, &page, "add", "&place=chin.midline").body);
    let named = form_of(&page).replace("name=&", "name=Jaw&");
    leads_to(&desk.post("/routines/edit", &format!("{named}&do=save")));
    let print = desk.get("/routines/1/print");
    assert_eq!(print.status, 200, "{}", print.body);
    has(&print.body, "data-target=\"jaw_muscle\"");
    // They hurt a hand: what asks for two is struck with its reason, comes out nowhere, and can be done one after the other.
    leads_to(&desk.post(&format!("{client}/details"), "name=Ana+Example&hands=left"));
    let editor = desk.get("/routines/1").body;
    has(&editor, "It takes both hands at once.");
    assert!(!editor.contains("Nothing to mend."));
    assert!(!desk.get("/routines/1/print").body.contains("data-target=\"jaw_muscle\""));
    let step =
        editor.split("<li class=\"ed-step").skip(1).position(|r| r.contains("value=\"jaw_muscle\"")).expect("the step");
    let split = act(&desk, &editor, &format!("split.{step}"), "").body;
    assert_eq!(split.matches("name=\"target\" value=\"jaw_muscle\"").count(), 2);
    leads_to(&desk.post("/routines/edit", &format!("{}&do=save", form_of(&mend(&desk, split)))));
    has(&desk.get("/routines/1/print").body, "data-target=\"jaw_muscle\"");
    assert!(desk.get("/routines/1/print?version=1").body.matches("data-target=\"jaw_muscle\"").count() == 0);
}

#[test]
fn a_repair_of_another_rule_than_the_page_showed_is_not_done() {
    let desk = Desk::inside();
    let page = act(&desk, &desk.get("/routines/new").body, "add", "&place=jaw_muscle.left").body;
    let count = |body: &str| body.matches("<li class=\"ed-step").count();
    assert_eq!(count(&act(&desk, &page, "repair.0.no_such_rule", "").body), 1);
    let shown = page.split("value=\"repair.0.").nth(1).and_then(|r| r.split('"').next()).expect("a repair");
    assert_ne!(act(&desk, &page, &format!("repair.0.{shown}"), "").body, page);
}

#[test]
fn nonsense_in_a_form_changes_nothing_and_breaks_nothing() {
    let desk = Desk::inside();
    for form in [
        "do=up.99999999999999999999&minutes=abc",
        "target=jaw_muscle&side=up&technique=x&with=x&pressure=x&seconds=x&movement=x&do=check",
        "target=nobody&side=left&technique=x&with=x&pressure=light&seconds=9&movement=work&do=drop.0",
        "do=repair.5&minutes=-4",
        "do=move.1.2.3.4",
        "do=add&place=jaw_muscle.up",
        "do=add&place=%00.%00",
        "target=jaw_muscle&do=other.0",
    ] {
        let answer = desk.post("/routines/edit", form);
        assert!(matches!(answer.status, 200 | 422), "{form}: {}", answer.status);
        assert!(!answer.body.contains("class=\"ed-step"), "{form}");
    }
    assert_eq!(desk.post("/routines/edit", "routine=7&do=save").status, 404);
    assert_eq!(desk.get("/routines/7").status, 404);
}

#[test]
fn a_routine_of_the_first_minute_can_be_kept() {
    let desk = Desk::inside();
    let form = format!("concern=tight_jaw&minutes=8&hands=one&{NO}");
    has(&desk.post("/routine", &form).body, "formaction=\"/routines/keep\"");
    let page = desk.post("/routines/keep", &form).body;
    has(&page, "value=\"Tight jaw, 8 minutes\"");
    has(&page, "Nothing to mend.");
    leads_to(&desk.post("/routines/edit", &format!("{}&do=save", form_of(&page))));
    has(&desk.get("/routines/1/ready").body, "href=\"/routines/1/session?version=1\"");
    let open = desk.post("/routines/keep", "concern=tight_jaw&minutes=8");
    has(&open.body, "This is still to be said");
    let outside = Desk::start();
    assert!(!outside.post("/routine", &form).body.contains("/routines/keep"), "offered where nothing is kept");
}
