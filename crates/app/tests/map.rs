//! The map at the desk, over real HTTP: choosing a face, correcting, forgetting, and what is refused.

mod house;

use house::{Answer, Desk};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}");
}

/// The address that an answer leads to.
fn leads_to(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}", answer.head);
    let line = answer.head.lines().find_map(|l| l.strip_prefix("location: "));
    line.expect("an address").trim().to_owned()
}

/// Sends one file as a browser's form does; `more`: names and values beside it.
fn send_file(desk: &Desk, bytes: &[u8], more: &[(&str, &str)]) -> Answer {
    desk.post_parts("/map", more, &[("photo", "a.jpg", "image/jpeg", bytes)])
}

#[test]
fn somebody_invented_has_a_map_that_follows_the_hand_and_is_forgotten() {
    let desk = Desk::start();
    has(&desk.get("/map").body, "Whose face?");
    let address = leads_to(&desk.post("/map/choose", "person=2"));
    let page = desk.get(&address);
    for part in
        ["The map of an invented face", "data-pick=\"LI20\"", "within ", "The hairline is an estimate", "sk-over"]
    {
        has(&page.body, part);
    }
    assert!(!page.body.contains("style=") && !page.body.contains("<style") && !page.body.contains("onclick"));
    let photo = desk.get(&format!("{address}/photo.jpg"));
    assert!(photo.status == 200 && photo.head.contains("cache-control: no-store"), "{}", photo.head);

    let mm = |body: &str| {
        let (_, row) = body.split_once("id=\"p-LI20\"").expect("the point's row");
        let (_, said) = row.split_once("class=\"mm\" data-side=\"left\">").expect("its millimetres");
        said.split('<').next().unwrap_or_default().to_owned()
    };
    let chosen = format!("{address}?point=LI20&side=left");
    let before = mm(&desk.get(&chosen).body);
    let moved = desk.post(&format!("{address}/hands?point=LI20&side=left"), "wing_left=460.0,520.0&hairline_2=360,120");
    assert_eq!(moved.status, 200);
    has(&moved.body, "The hairline is where you set it");
    assert_ne!(mm(&moved.body), before);
    for nonsense in ["wing_left=NaN,3", "wing_left=1e9,1", "nobody=1,1", "hairline_9=1,1", "wing_left=4", "%00=%00"] {
        let answer = desk.post(&format!("{address}/hands?point=LI20&side=left"), nonsense);
        has(&answer.body, "nothing was changed");
        assert_eq!(mm(&answer.body), mm(&moved.body), "{nonsense}");
    }
    leads_to(&desk.post(&format!("{address}/undo"), ""));
    assert_eq!(mm(&desk.get(&chosen).body), before, "undone, it is as it was");

    assert_eq!(leads_to(&desk.post(&format!("{address}/forget"), "")), "/map?forgotten=1");
    assert_eq!(leads_to(&desk.get(&address)), "/map?gone=1");
    assert_eq!(desk.get(&format!("{address}/photo.jpg")).status, 404);
}

#[test]
fn what_is_no_photograph_is_refused_in_words_on_the_same_page() {
    let desk = Desk::start();
    let refused = send_file(&desk, b"words", &[("mirrored", "yes")]);
    assert_eq!(refused.status, 200);
    for part in ["role=\"alert\"", "JPEG, PNG, WebP or HEIC", "value=\"yes\" checked"] {
        has(&refused.body, part);
    }
    has(&send_file(&desk, b"", &[]).body, "The file is empty");
    let cut = desk.raw(
        format!(
            "POST /map HTTP/1.1\r\n{}cookie: {}\r\nx-token: {}\r\ncontent-type: multipart/form-data; \
             boundary=edge\r\ncontent-length: 6\r\nconnection: close\r\n\r\n--edge",
            desk.ours(),
            desk.cookie,
            desk.token
        )
        .as_bytes(),
    );
    assert_eq!(cut.status, 400);
    assert_eq!(desk.post("/map", "photo=words").status, 415);
}

#[test]
fn a_file_beyond_the_limit_is_read_to_its_end_and_refused_in_words() {
    let desk = Desk::start();
    let large = vec![0u8; vision::Limits::default().most_bytes + 1];
    let refused = send_file(&desk, &large, &[]);
    assert_eq!(refused.status, 200);
    has(&refused.body, "larger than 100 MB");
}

#[test]
fn at_most_eight_faces_are_kept_and_the_oldest_goes() {
    let desk = Desk::start();
    let folder = house::Folder::new("map");
    let file = folder.file("nobody.jpg");
    house::run(&["phantom", &file, "--seed", "3"]);
    let bytes = std::fs::read(&file).expect("the picture");
    let addresses: Vec<String> = (0..9).map(|_| leads_to(&send_file(&desk, &bytes, &[]))).collect();
    assert_eq!(leads_to(&desk.get(&addresses[0])), "/map?gone=1");
    for address in &addresses[1..] {
        assert_eq!(desk.get(address).status, 200, "{address}");
    }
}

#[test]
fn only_the_desks_own_pages_bring_and_forget() {
    let desk = Desk::start();
    let host = format!("host: 127.0.0.1:{}\r\n", desk.port);
    for path in ["/map", "/map/choose", "/map/routine", "/map/1/hands", "/map/1/undo", "/map/1/forget"] {
        let stranger = format!("{host}origin: http://elsewhere.example\r\n");
        assert_eq!(desk.post_as(path, "person=1", &stranger).status, 403, "{path}");
    }
    for lost in ["/people/6.jpg", "/people/x.jpg", "/people/0.png", "/map/1/photo.jpg"] {
        assert_eq!(desk.get(lost).status, 404, "{lost}");
    }
    assert_eq!(desk.post("/map/choose", "person=6").status, 404);
    assert_eq!(leads_to(&desk.get("/map/%2e%2e")), "/map?gone=1");
    assert_eq!(desk.post("/map/drawn/hands", "chin=1,1").status, 303);
}

#[test]
fn a_routine_is_seen_on_a_face_and_keeps_no_answer() {
    let desk = Desk::start();
    let no = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no";
    let waiting = leads_to(&desk.post("/map/routine", &format!("concern=tight_jaw&minutes=8&hands=one&{no}")));
    has(&desk.get(&waiting).body, "Tight jaw, 8 minutes");
    let routine = waiting.split_once('=').map(|w| w.1).expect("its number");
    let drawn = desk.get(&format!("/map/drawn?routine={routine}"));
    for part in ["Tight jaw, 8 minutes", "data-steps=\"1\"", "sk-sheet", "On the drawn face"] {
        has(&drawn.body, part);
    }
    has(&desk.get(&format!("/map/drawn/print?routine={routine}")).body, "sk-true");
    has(&desk.get("/map/drawn?routine=999").body, "no longer kept");
    has(&desk.post("/map/routine", "concern=tight_jaw").body, "role=\"alert\"");
}
