//! Journeys of a visit over real HTTP: photographs brought, kept, corrected, read again after a power cut; and what is refused.

mod house;

use std::path::Path;
use std::time::{Duration, Instant};

use house::{Answer, Desk, Folder, run, unique};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn lacks(body: &str, part: &str) {
    assert!(!body.contains(part), "the page has {part:?}:\n{body}");
}

fn leads_to(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

/// The path of an address: without question and fragment.
fn path(address: &str) -> &str {
    address.split(['?', '#']).next().unwrap_or(address)
}

/// A client who agreed to these.
fn client(desk: &Desk, name: &str, consents: &[&str]) -> String {
    let at = path(&leads_to(&desk.post("/clients/new", &format!("name={name}&hands=both")))).to_owned();
    for kind in consents {
        leads_to(&desk.post(&format!("{at}/consent"), &format!("kind={kind}&given=yes")));
    }
    at
}

/// An invented face as a file.
fn phantom(folder: &Folder, name: &str, seed: &str) -> Vec<u8> {
    let file = folder.file(name);
    let said = run(&["phantom", "--seed", seed, "--plain", &file]);
    assert_eq!(said.code, 0, "{}", said.err);
    std::fs::read(file).expect("a picture")
}

/// What stands between two words of a page, each time.
fn between<'a>(body: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    body.split(from).skip(1).filter_map(|rest| rest.split(to).next()).collect()
}

/// The values of both sides as the page says them.
fn values(body: &str) -> Vec<&str> {
    between(body, "<dd>", "</dd>").into_iter().filter(|v| v.contains('±')).collect()
}

fn number_in(body: &str, from: &str) -> String {
    let rest = body.split(from).nth(1).unwrap_or_else(|| panic!("no {from}:\n{body}"));
    rest.chars().take_while(char::is_ascii_digit).collect()
}

const CARE: &str = "care";
const PHOTOGRAPHS: &str = "photographs";

#[test]
fn a_visit_is_brought_kept_corrected_and_the_same_after_a_power_cut() {
    let pictures = Folder::new(&unique("pictures"));
    let (one, two) = (phantom(&pictures, "one.jpg", "11"), phantom(&pictures, "two.jpg", "12"));
    let desk = Desk::inside();
    let at = client(&desk, "Ana", &[CARE, PHOTOGRAPHS]);
    has(&desk.get(&at).body, "A new visit");
    let new = format!("{at}/visits/new");
    has(&desk.get(&new).body, "webkitdirectory");
    let fields = [("light", "window"), ("slept", "badly, twice awake"), ("tone", "intermediate")];
    let files: [(&str, &str, &str, &[u8]); 5] = [
        ("photo", "one.jpg", "image/jpeg", &one),
        ("photo", "again.jpg", "image/jpeg", &one),
        ("photo", "notes.txt", "text/plain", b"no picture at all"),
        ("photo", "two.jpg", "image/jpeg", &two),
        ("photo", "half.jpg", "image/jpeg", &one[..one.len() / 3]),
    ];
    let visit = path(&leads_to(&desk.post_parts(&new, &fields, &files))).to_owned();
    let shown = desk.get(&visit).body;
    for part in [
        "again.jpg: Not taken: the same picture",
        "notes.txt: ",
        "half.jpg: ",
        "badly, twice awake",
        "Window",
        "Keep or retake",
    ] {
        has(&shown, part);
    }
    has(&shown, "±");
    // Nothing is kept until it is said.
    lacks(&desk.get(&visit).body, "notes.txt: ");
    assert_eq!(shown.matches(&format!("action=\"{visit}/shots/")).count(), 4, "two shots, keep and retake each");
    let shot = number_in(&shown, &format!("action=\"{visit}/shots/"));
    let picture = desk.get(&format!("{visit}/shots/{shot}/photo.jpg"));
    assert_eq!(picture.status, 200);
    assert!(leads_to(&desk.post(&format!("{visit}/shots/{shot}/keep"), "")).starts_with(&visit));
    let second = number_in(&desk.get(&visit).body, &format!("action=\"{visit}/shots/"));
    leads_to(&desk.post(&format!("{visit}/shots/{second}/retake"), ""));
    leads_to(&desk.post_parts(&format!("{visit}/photographs"), &[], &[("photo", "third.jpg", "image/jpeg", &one)]));
    has(&desk.get(&visit).body, "third.jpg: Not taken: the same picture");
    let kept = desk.get(&visit).body;
    lacks(&kept, "Keep or retake");
    let before = values(&kept).join(" | ");
    assert!(values(&kept).len() >= 8, "{before}");
    has(&desk.get(&at).body, "Shadow against the cheek: left");
    // The tone was asked once.
    lacks(&desk.get(&new).body, "tone-photo");

    // A handle of the map.
    let map = leads_to(&desk.get(&format!("{at}/map")));
    let page = desk.get(&map).body;
    has(&page, "The map of Ana");
    let corrected = desk.post(&format!("{map}/hands"), "lower_lid_left=591,508");
    assert_eq!(corrected.status, 200, "{}", corrected.body);
    lacks(&corrected.body, "role=\"alert\"");
    has(&corrected.body, "One thing is set by hand");
    let moved = desk.get(&visit).body;
    let after = values(&moved).join(" | ");
    assert_ne!(before, after, "a correction of the lid changes no value");

    // As a power cut would end it: the same values, and the correction still there.
    let (folder, _) = desk.kill();
    let desk = Desk::inside_of(folder);
    assert_eq!(values(&desk.get(&visit).body).join(" | "), after);
    has(&desk.get(&format!("{map}?correct=1")).body, "One thing is set by hand");
    assert_eq!(
        desk.get(&format!("{visit}/photographs/{}/small.jpg", map.rsplit('/').next().expect("a number"))).status,
        200
    );
    // The correction undone, and it is as it was.
    leads_to(&desk.post(&format!("{map}/undo?correct=1"), ""));
    assert_eq!(values(&desk.get(&visit).body).join(" | "), before);
    // Warm, the page is quick: it is made from what is kept.
    let best = (0..10)
        .map(|_| {
            let begun = Instant::now();
            desk.get(&visit);
            begun.elapsed()
        })
        .min();
    let best = best.unwrap_or(Duration::MAX);
    println!("the visit's page, warm: {best:?}");
    assert!(best < Duration::from_millis(50), "{best:?}");
    assert!(no_picture_in_clear(&desk.cabinet(), &one) > 0, "no file was looked at");
    // Removing asks first.
    has(&desk.get(&format!("{visit}/remove")).body, "Take out this visit?");
    leads_to(&desk.post(&format!("{visit}/remove"), ""));
    assert_eq!(desk.get(&visit).status, 404);
}

/// No file of the practice holds a stretch of the picture; how many files were looked at.
fn no_picture_in_clear(folder: &Path, picture: &[u8]) -> usize {
    let part = &picture[picture.len() / 2..picture.len() / 2 + 64];
    let mut looked = 0;
    for entry in std::fs::read_dir(folder).expect("the practice").flatten() {
        if entry.path().is_dir() {
            looked += no_picture_in_clear(&entry.path(), picture);
        } else if let Ok(bytes) = std::fs::read(entry.path()) {
            looked += 1;
            assert!(!bytes.windows(part.len()).any(|w| w == part), "{} holds the picture", entry.path().display());
        }
    }
    looked
}

#[test]
fn without_consent_no_photograph_is_taken_and_the_visit_is_noted_all_the_same() {
    let pictures = Folder::new(&unique("pictures"));
    let one = phantom(&pictures, "one.jpg", "11");
    let desk = Desk::inside();
    let stranger = client(&desk, "Bo", &[]);
    assert_eq!(desk.get(&format!("{stranger}/visits/new")).status, 409);
    assert_eq!(desk.get(&format!("{stranger}/map/drawn")).status, 409);
    let at = client(&desk, "Cy", &[CARE]);
    let new = format!("{at}/visits/new");
    has(&desk.get(&new).body, "not agreed to photographs");
    lacks(&desk.get(&new).body, "type=\"file\"");
    let refused = desk.post_parts(&new, &[("slept", "well")], &[("photo", "one.jpg", "image/jpeg", &one)]);
    assert_eq!(refused.status, 409);
    has(&refused.body, "value=\"well\"");
    let visit = leads_to(&desk.post_parts(&new, &[("slept", "well")], &[]));
    has(&desk.get(path(&visit)).body, "well");
    let more =
        desk.post_parts(&format!("{}/photographs", path(&visit)), &[], &[("photo", "one.jpg", "image/jpeg", &one)]);
    assert_eq!(more.status, 409);
    let frame = frame(&desk, &at, &one);
    assert_eq!(frame.status, 409);
    // The map is there without a photograph, and says so.
    let map = leads_to(&desk.get(&format!("{at}/map")));
    assert!(map.ends_with("/map/drawn"), "{map}");
    has(&desk.get(&map).body, "no photograph of them");
}

fn frame(desk: &Desk, at: &str, bytes: &[u8]) -> Answer {
    let head = format!(
        "POST {at}/visits/frame?scale=2 HTTP/1.1\r\n{}cookie: {}\r\nx-token: {}\r\ncontent-type: image/jpeg\r\ncontent-length: {}\r\nconnection: close\r\n\r\n",
        desk.ours(),
        desk.cookie,
        desk.token,
        bytes.len()
    );
    desk.raw(&[head.into_bytes(), bytes.to_vec()].concat())
}

#[test]
fn what_can_not_be_used_is_refused_by_name_and_nothing_typed_is_lost() {
    let desk = Desk::inside();
    let at = client(&desk, "Di", &[CARE, PHOTOGRAPHS]);
    let new = format!("{at}/visits/new");
    let text: &[u8] = b"%PDF-1.7 not a picture";
    let answer =
        desk.post_parts(&new, &[("place", "by the door")], &[("photo", "album/scan.pdf", "application/pdf", text)]);
    assert_eq!(answer.status, 422);
    has(&answer.body, "scan.pdf: ");
    has(&answer.body, "by the door");
    has(&desk.get(&at).body, "No visit yet");
    let long = "a".repeat(5000);
    assert_eq!(desk.post_parts(&new, &[("slept", long.as_str())], &[]).status, 422);
    // A picture that says it has more pixels than are read.
    let mut large = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    large.extend_from_slice(&[0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0, 8, 2, 0, 0, 0, 0, 0, 0, 0]);
    let visit = leads_to(&desk.post_parts(&new, &[], &[("photo", "large.png", "image/png", &large)]));
    has(&desk.get(path(&visit)).body, "large.png: ");
    let too_many_bytes = vec![0xff; 600 * 1024];
    assert_eq!(frame(&desk, &at, &too_many_bytes).status, 413);
    assert_eq!(frame(&desk, &at, b"no picture").status, 415);
}

#[test]
fn another_clients_visit_is_not_found_under_this_address() {
    let pictures = Folder::new(&unique("pictures"));
    let one = phantom(&pictures, "one.jpg", "11");
    let desk = Desk::inside();
    let (ana, bo) = (client(&desk, "Ana", &[CARE, PHOTOGRAPHS]), client(&desk, "Bo", &[CARE, PHOTOGRAPHS]));
    let visit =
        leads_to(&desk.post_parts(&format!("{ana}/visits/new"), &[], &[("photo", "one.jpg", "image/jpeg", &one)]));
    let visit = path(&visit).to_owned();
    let shot = number_in(&desk.get(&visit).body, &format!("action=\"{visit}/shots/"));
    let other = visit.replace(&ana, &bo);
    assert_eq!(desk.get(&other).status, 404);
    assert_eq!(desk.get(&format!("{other}/shots/{shot}/photo.jpg")).status, 404);
    assert_eq!(desk.post(&format!("{other}/shots/{shot}/keep"), "").status, 404);
    leads_to(&desk.post(&format!("{visit}/shots/{shot}/keep"), ""));
    let map = leads_to(&desk.get(&format!("{ana}/map")));
    let photo = map.rsplit('/').next().expect("a number");
    for address in ["shown.jpg", "small.jpg", "remove"] {
        assert_eq!(desk.get(&format!("{visit}/photographs/{photo}/{address}")).status, 200, "{address}");
        assert_eq!(desk.get(&format!("{other}/photographs/{photo}/{address}")).status, 404, "{address}");
    }
    assert_eq!(desk.get(&map.replace(&ana, &bo)).status, 404);
    assert_eq!(desk.get(&format!("{bo}/map/{photo}/photo.jpg")).status, 404);
    assert_eq!(desk.post(&format!("{bo}/map/{photo}/hands"), "chin=1,1").status, 404);
    assert_eq!(desk.post(&format!("{other}/remove"), "").status, 404);
    // The map strikes out what the answers leave out, in words, in the list and on paper.
    lacks(&desk.get(&map).body, "class=\"clearance struck");
    let answers = "group.today=no&group.heart_and_neck=yes&group.eyes=no&group.skin_and_face=no&group.long_term=no\
                   &rest.heart_and_neck=no&own.carotid_sinus=yes&side.carotid_sinus=both";
    leads_to(&desk.post(&format!("{ana}/intake"), answers));
    let struck = desk.get(&map).body;
    has(&struck, "class=\"clearance struck\"><strong>Left out today");
    assert!(between(&struck, "<a class=\"struck\"", "</a>").iter().any(|a| a.contains("left out today")), "{struck}");
    let paper = desk.get(&format!("{map}/print")).body;
    has(&paper, "Left out or asked first for Ana today");
    has(&paper, "Left out today: <span class=\"struck\">");
    // A frame is looked at with the measurement's gates.
    let looked = frame(&desk, &ana, &one);
    assert_eq!(looked.status, 200, "{}", looked.body);
    let said: serde_json::Value = serde_json::from_str(&looked.body).expect("JSON");
    assert_eq!(said["face"], true, "{said}");
    assert!(
        said["gates"].as_array().is_some_and(|g| g.iter().any(|g| g["name"] == "yaw" && g["passed"] == true)),
        "{said}"
    );
}
