//! The demo practice over real HTTP: how long it takes to be there, who is in it, the way in from the first run and out again.

mod visitor;

use std::time::{Duration, Instant};

use visitor::{Folder, Visitor};

const DAY: &str = "2026-03-01";

#[test]
fn the_demo_is_there_within_ten_seconds_and_draws_its_photographs_meanwhile() {
    let home = Folder::new("demo-start");
    let desk = Visitor::start(&home.0, &["--demo", "--today", DAY]);
    // The bar is of a release build on two cores; the debug build of this test keeps it as well.
    assert!(desk.took < Duration::from_secs(10), "{:?}", desk.took);
    let clients = desk.get("/clients");
    assert_eq!(clients.status, 200);
    let page = clients.text();
    for part in
        ["12 people", "everybody in it is invented", "are being drawn: 0 of 5", "Ilse Varnholt", "Leilani Kapuwai"]
    {
        assert!(page.contains(part), "the clients lack {part:?}");
    }
    // Every page says it, those before the door as well.
    for path in ["/", "/due", "/map", "/measure", "/begin", "/nowhere"] {
        assert!(desk.get(path).text().contains("everybody in it is invented"), "{path}");
    }
    let started = Instant::now();
    while desk.get("/due").text().contains("are being drawn: 0 of") {
        assert!(started.elapsed() < Duration::from_secs(60), "no photograph in a minute");
        std::thread::sleep(Duration::from_millis(200));
    }
    // Cut off in the middle and begun again: what is there is not drawn twice.
    desk.end();
    let desk = Visitor::start(&home.0, &["--demo", "--today", DAY]);
    let due = desk.get("/due").text();
    assert!(due.contains("are being drawn: ") && !due.contains("are being drawn: 0 of"), "it begins anew");
    assert!(desk.get("/clients").text().contains("12 people"));
}

#[test]
fn from_the_first_run_into_the_demo_and_out_to_a_practice_of_ones_own() {
    let home = Folder::new("demo-begin");
    let desk = Visitor::start(&home.0, &["--today", DAY]);
    let begin = desk.get("/begin").text();
    assert!(begin.contains("Open the demo") && !begin.contains("everybody in it is invented"));
    let opened = desk.post("/begin", &[("which", "demo")]);
    assert_eq!((opened.status, opened.location()), (303, Some("/due")));
    assert!(desk.get("/clients").text().contains("12 people"));
    let leave = desk.get("/begin").text();
    assert!(leave.contains("Leave the demo and begin your own"));
    let left = desk.post("/begin", &[("which", "leave")]);
    assert_eq!((left.status, left.location()), (303, Some("/begin")));
    let words = visitor::PASSPHRASE;
    let made = desk.post("/begin", &[("which", "own"), ("passphrase", words), ("again", words)]);
    assert_eq!((made.status, made.location()), (303, Some("/clients")));
    let mine = desk.get("/clients").text();
    assert!(mine.contains("0 people") && !mine.contains("Varnholt") && !mine.contains("everybody in it is invented"));
    // A real practice is not put aside for the demo.
    assert_eq!(desk.post("/begin", &[("which", "demo")]).location(), Some("/due"));
    assert!(!desk.get("/due").text().contains("everybody in it is invented"));
    let there = |name: &str| home.0.join("data/tragion").join(name).join("cabinet.toml").is_file();
    assert!(there("demo") && there("practice"));
}
