//! First and latest, and the report: what stands in it, and who may have it.

#[path = "report/filled.rs"]
mod filled;
mod house;
#[path = "weeks/filled.rs"]
mod weeks;

use std::io::{Read, Write};
use std::net::TcpStream;

use filled::Shot;
use house::{DAY, Desk, Folder, PASSPHRASE, run, unique};
use vocab::Date;

/// A photograph of an invented face, and what was measured on it.
fn shot(folder: &Folder, name: &str, more: &[&str]) -> Shot {
    let path = folder.file(name);
    let drawn = run(&[&["phantom", &path, "--seed", "8", "--card"], more].concat());
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    let measured = run(&["measure", &path, "--json"]).json();
    assert_eq!(measured["photos"][0]["usable"], true, "{measured}");
    Shot { bytes: std::fs::read(&path).expect("a photograph"), measured: measured["photos"][0].clone() }
}

/// A desk on a practice in which weeks have run; the addresses of everybody's weeks.
fn desk() -> (Desk, Vec<String>) {
    let folder = Folder::new(&unique("report"));
    let shots = [
        shot(&folder, "first.jpg", &["--plain", "--severity", "3"]),
        shot(
            &folder,
            "latest.jpg",
            &["--light", "led", "--yaw", "3", "--pitch", "0", "--roll", "6", "--severity", "1"],
        ),
    ];
    let today = Date::parse(DAY).expect("a day");
    let place = folder.file("cabinet");
    let clients = filled::practice(std::path::Path::new(&place), PASSPHRASE, today, &shots).expect("a practice");
    let desk = Desk::inside_of(folder);
    let weeks = clients.iter().enumerate().map(|(at, id)| format!("/clients/{id}/weeks/{}", at + 1)).collect();
    (desk, weeks)
}

/// The bytes of an answer, with its head.
fn bytes(desk: &Desk, path: &str) -> (u16, String, Vec<u8>) {
    let mut stream = TcpStream::connect(("127.0.0.1", desk.port)).expect("the desk listens");
    stream.set_read_timeout(Some(std::time::Duration::from_secs(60))).expect("a timeout");
    let asked = format!(
        "GET {path} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncookie: {}\r\nconnection: close\r\n\r\n",
        desk.port, desk.cookie
    );
    stream.write_all(asked.as_bytes()).expect("a request is taken");
    let mut all = Vec::new();
    stream.read_to_end(&mut all).expect("an answer");
    let end = all.windows(4).position(|w| w == b"\r\n\r\n").expect("a head");
    let head = String::from_utf8_lossy(&all[..end]).to_lowercase();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
    (status, head, all[end + 4..].to_vec())
}

fn holds(bytes: &[u8], word: &[u8]) -> usize {
    bytes.windows(word.len()).filter(|w| *w == word).count()
}

#[test]
fn first_and_latest_stand_on_the_page_with_their_verdict() {
    let (desk, weeks) = desk();
    let page = desk.get(&format!("{}/follow", weeks[0]));
    assert_eq!(page.status, 200, "{}", page.body);
    for word in [
        "first.jpg",
        "latest.jpg",
        "First: day \u{2212}14",
        "Light: Window; Where in the room: At the desk; Time of day: 08:15",
        "Chosen by rule, not by looks",
        "Make the report",
    ] {
        assert!(page.body.contains(word), "no “{word}”");
    }
    assert!(!page.body.contains("secret"), "free notes of the visit stay with the visit");
    let verdict = "The skin under the eyes came closer to the colour of the cheek by";
    assert!(page.body.matches(verdict).count() >= 2, "it stands under the pictures too");

    // Pictures without metadata, that no cache keeps, with the eyes on the same places.
    let mut eyes = Vec::new();
    for name in ["first.jpg", "latest.jpg"] {
        let (status, head, jpeg) = bytes(&desk, &format!("{}/{name}", weeks[0]));
        assert_eq!(status, 200, "{head}");
        assert!(head.contains("image/jpeg") && head.contains("no-store"), "{head}");
        assert!(jpeg.starts_with(&[0xff, 0xd8]));
        for word in [&b"Exif"[..], b"http://ns.adobe.com", b"Photoshop"] {
            assert_eq!(holds(&jpeg, word), 0, "{name} holds {}", String::from_utf8_lossy(word));
        }
        let folder = Folder::new(&unique("eyes"));
        let found = run(&["map", &folder.write(name, &jpeg), "--json"]).json();
        let landmark = |n: usize, k: usize| found["landmarks"][n][k].as_f64().expect("a landmark");
        let middle = |a, b| [0, 1].map(|k| (landmark(a, k) + landmark(b, k)) / 2.0);
        eyes.push([middle(33, 133), middle(263, 362)]);
    }
    for (first, latest) in eyes[0].iter().zip(&eyes[1]) {
        let apart = (first[0] - latest[0]).hypot(first[1] - latest[1]);
        assert!(apart < 7.2, "the eyes lie {apart} of 720 pixels apart: {eyes:?}");
    }
    let level = eyes[1][1][1] - eyes[1][0][1];
    assert!(level.abs() < 7.2, "the turned head stands upright: {level}");
}

#[test]
fn a_report_needs_its_verdict_and_its_consents() {
    let (desk, weeks) = desk();
    let report = |at: usize, asked: &str| bytes(&desk, &format!("{}/report.pdf{asked}", weeks[at]));
    let pictures = |pdf: &[u8]| holds(pdf, b"/Subtype/Image") + holds(pdf, b"/Subtype /Image");

    // With a verdict and every consent.
    let page = desk.get(&format!("{}/report", weeks[0]));
    assert_eq!(page.status, 200, "{}", page.body);
    for word in ["Save the report as PDF", "With first and latest", "what trials say", "came closer"] {
        assert!(page.body.contains(word), "no “{word}”: {}", page.body);
    }
    let (status, head, pdf) = report(0, "");
    assert_eq!(status, 200, "{head}");
    assert!(pdf.starts_with(b"%PDF") && head.contains("no-store") && head.contains("attachment"), "{head}");
    assert_eq!(pictures(&pdf), 2);
    let (status, _, pdf) = report(0, "?photographs=no&language=de&paper=letter");
    assert_eq!((status, pictures(&pdf)), (200, 0));

    // Without consent to publication: none with photographs, and one without them.
    let (status, _, said) = report(1, "?photographs=yes");
    assert_eq!(status, 409);
    assert!(holds(&said, b"consent to photographs and to publication") > 0);
    let (status, _, pdf) = report(1, "");
    assert_eq!((status, pictures(&pdf)), (200, 0));

    // Without a verdict: the reason, and what to do.
    for (at, why) in [(2, "The plan looks at the result on day 28"), (4, "three at least are needed")] {
        let page = desk.get(&format!("{}/report", weeks[at]));
        assert_eq!(page.status, 200);
        assert!(page.body.contains(why) && !page.body.contains("Save the report"), "{}", page.body);
        let (status, _, said) = report(at, "");
        assert_eq!(status, 409);
        assert!(holds(&said, why.as_bytes()) > 0);
    }

    // A name that is too long is said, and stands there again.
    let long = "N".repeat(121);
    let again = desk.post(&format!("{}/report.pdf", weeks[0]), &format!("by={long}&language=de&paper=letter&chosen=1"));
    assert_eq!(again.status, 422);
    assert!(again.body.contains(&long) && again.body.contains("120 letters"), "{}", again.body);
    assert!(again.body.contains("value=\"letter\" checked"), "{}", again.body);
    // Without the token nothing is made.
    let form = "language=en&paper=a4";
    let bare = desk.post_bare(
        &format!("{}/report.pdf", weeks[0]),
        form,
        &format!("{}cookie: {}\r\n", desk.ours(), desk.cookie),
    );
    assert_eq!(bare.status, 403);

    // Withdrawn: what it allowed is gone at once.
    let client = |at: usize| weeks[at].split("/weeks").next().expect("a client").to_owned();
    let consent = |at: usize, kind: &str, given: &str| {
        let told = desk.post(&format!("{}/consent", client(at)), &format!("kind={kind}&given={given}"));
        assert_eq!(told.status, 303, "{}", told.body);
    };
    consent(0, "publication", "no");
    assert_eq!(report(0, "?photographs=yes").0, 409);
    assert_eq!(bytes(&desk, &format!("{}/first.jpg", weeks[0])).0, 200, "on their page they stay");
    consent(0, "photographs", "no");
    assert_eq!(bytes(&desk, &format!("{}/first.jpg", weeks[0])).0, 409);
    let page = desk.get(&format!("{}/follow", weeks[0]));
    assert!(!page.body.contains("first.jpg") && page.body.contains("only with consent to photographs"));
    assert_eq!(report(0, "").0, 200, "care is enough without photographs");
    consent(0, "care", "no");
    assert_eq!(report(0, "").0, 409);

    // Another client's weeks are not these.
    let wrong = format!("{}/weeks/1", client(1));
    for path in ["report", "report.pdf", "first.jpg"] {
        assert_eq!(bytes(&desk, &format!("{wrong}/{path}")).0, 404, "{path}");
    }

    // Erased: nothing of it is left.
    let erased = desk.post(&format!("{}/erase", client(1)), "name=Ben+Sommer");
    assert_eq!(erased.status, 303, "{}", erased.body);
    for path in ["report", "report.pdf", "first.jpg", "latest.jpg"] {
        assert_eq!(bytes(&desk, &format!("{}/{path}", weeks[1])).0, 404, "{path}");
    }
}
