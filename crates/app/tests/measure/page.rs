//! The measurement at the desk, over real HTTP.

use crate::house::{Answer, Desk};
use crate::{usual, with_card};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}");
}

fn leads_to(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}", answer.head);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

/// Sends files as a browser's form does; `more`: names and values beside them.
fn send(desk: &Desk, files: &[&[u8]], more: &[(&str, &str)]) -> Answer {
    let files: Vec<_> = files.iter().map(|bytes| ("photo", "a.jpg", "image/jpeg", *bytes)).collect();
    desk.post_parts("/measure", more, &files)
}

#[test]
fn photographs_of_a_visit_are_measured_read_anew_and_forgotten() {
    let desk = Desk::start();
    has(&desk.get("/measure").body, "Photographs of one visit");
    let address = leads_to(&send(&desk, &[&usual().bytes, &usual().bytes], &[("tone", "light")]));
    let page = desk.get(&address);
    assert!(page.head.contains("cache-control: no-store"));
    for part in [
        "From 2 of 2 photographs",
        "Own left",
        "±",
        "What leads",
        "Stretch the skin gently",
        "Tilt a lamp",
        "conditions are met",
        "Without a card",
        "/photo.jpg",
        "?correct=1",
        "value=\"light\" checked",
        "<desc",
    ] {
        has(&page.body, part);
    }
    assert!(!page.body.contains("style=") && !page.body.contains("<style") && !page.body.contains("onclick"));
    assert!(!page.body.contains("NaN"));

    assert_eq!(leads_to(&desk.post(&format!("{address}/tone"), "tone=dark")), address);
    let darker = desk.get(&address);
    has(&darker.body, "value=\"dark\" checked");
    let value = |body: &str| {
        let (_, row) = body.split_once("Darker or lighter").expect("the row");
        row.split_once("<dd>").expect("a value").1.split('<').next().unwrap_or_default().to_owned()
    };
    assert_ne!(value(&page.body), value(&darker.body), "another class, another nominal cheek");

    // A landmark set right on the map moves the value; undone, it is as it was.
    let (before_link, _) = page.body.split_once("?correct=1").expect("a link to the map");
    let face = before_link.rsplit('/').next().expect("a number").to_owned();
    let before = value(&darker.body);
    let drag = desk.post(&format!("/map/{face}/hands?correct=1"), "outer_corner_left=700,700&lower_lid_left=690,760");
    assert_eq!(drag.status, 200);
    assert_ne!(value(&desk.get(&address).body), before, "the correction is not followed");
    leads_to(&desk.post(&format!("/map/{face}/undo"), ""));
    assert_eq!(value(&desk.get(&address).body), before);

    assert_eq!(leads_to(&desk.post(&format!("{address}/forget"), "")), "/measure?forgotten=1");
    assert_eq!(leads_to(&desk.get(&address)), "/measure?gone=1");
    assert_eq!(desk.get(&format!("/map/{face}/photo.jpg")).status, 404, "the photograph is still there");
    has(&desk.get("/measure?gone=1").body, "no longer kept");
}

#[test]
fn a_card_is_found_and_a_wrong_file_among_good_ones_is_named() {
    let desk = Desk::start();
    let page = desk.get(&leads_to(&send(&desk, &[&with_card().bytes, b"words"], &[("tone", "photo")])));
    for part in
        ["With a card", "Photograph 2: ", "JPEG, PNG, WebP or HEIC", "White of the eye, redness", "From one photograph"]
    {
        has(&page.body, part);
    }
    let four = desk.get(&leads_to(&send(&desk, &[usual().bytes.as_slice(); 4], &[])));
    has(&four.body, "the first 3 were taken");
    has(&four.body, "From 3 of 3 photographs");
}

#[test]
fn what_is_no_photograph_is_refused_in_words_on_the_same_page() {
    let desk = Desk::start();
    let refused = send(&desk, &[b"words"], &[("tone", "brown"), ("mirrored", "yes")]);
    assert_eq!(refused.status, 200);
    for part in ["role=\"alert\"", "JPEG, PNG, WebP or HEIC", "value=\"brown\" checked", "value=\"yes\" checked"] {
        has(&refused.body, part);
    }
    has(&send(&desk, &[], &[("tone", "light")]).body, "Choose a photograph first");
    has(&send(&desk, &[b""], &[]).body, "The file is empty");
    assert_eq!(desk.post("/measure", "photo=words").status, 415);
    for address in ["/measure/99", "/measure/0"] {
        assert_eq!(leads_to(&desk.get(address)), "/measure?gone=1");
    }
    assert_eq!(desk.get("/measure/x").status, 404);
    assert_eq!(desk.post("/measure/choose", "person=77").status, 404);
    let host = format!("host: 127.0.0.1:{}\r\n", desk.port);
    for address in ["/measure", "/measure/choose", "/measure/1/tone", "/measure/1/forget"] {
        assert_eq!(
            desk.post_as(address, "", &format!("{host}origin: http://evil.example\r\n")).status,
            403,
            "{address}"
        );
    }
}

#[test]
fn light_from_one_side_is_told_with_what_to_do() {
    let desk = Desk::start();
    let side = crate::drawn("page-side", &["--seed", "8", "--tone", "light", "--light", "side"]);
    let page = desk.get(&leads_to(&send(&desk, &[&side.bytes], &[])));
    for part in ["Nothing could be measured yet", "Light from one side", "both cheeks are equally bright"] {
        has(&page.body, part);
    }
    assert!(!page.body.contains("What leads"));
}

#[test]
fn somebody_invented_is_measured_and_marked_as_invented() {
    let desk = Desk::start();
    let page = desk.get(&leads_to(&desk.post("/measure/choose", "person=2")));
    has(&page.body, "nobody looks like this on purpose");
    has(&page.body, "What an invented face");
    has(&page.body, "From 2 of 2 photographs");
}
