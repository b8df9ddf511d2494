//! The live face over real HTTP: who may send frames, what is taken, what is said, that nothing of a frame stays; and a film of an invented
//! person against its truth.

mod house;

use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};

use house::{Answer, Desk, Folder, run, unique};
use serde_json::Value;

/// A film's pictures, and its truth.
struct Reel {
    frames: Vec<Vec<u8>>,
    truth: Value,
}

fn reel(seed: u64, frames: usize) -> Reel {
    let folder = Folder::new(&unique("film"));
    let file = folder.file("film.mjpeg");
    let said = run(&["phantom", &file, "--seed", &seed.to_string(), "--film", &frames.to_string(), "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let bytes = std::fs::read(&file).expect("the film");
    let begins: Vec<usize> = (0..bytes.len() - 2).filter(|i| bytes[*i..].starts_with(&[0xff, 0xd8, 0xff])).collect();
    let ends = begins.iter().skip(1).copied().chain([bytes.len()]);
    let pictures: Vec<Vec<u8>> = begins.iter().zip(ends).map(|(from, to)| bytes[*from..to].to_vec()).collect();
    assert_eq!(pictures.len(), frames);
    Reel { frames: pictures, truth: said.json() }
}

fn send(desk: &Desk, query: &str, bytes: &[u8], token: &str, cookie: &str) -> Answer {
    // No faster than is allowed.
    std::thread::sleep(Duration::from_millis(9));
    let head = format!(
        "POST /live/frame?{query} HTTP/1.1\r\n{}cookie: {cookie}\r\nx-token: {token}\r\ncontent-type: image/jpeg\r\ncontent-length: {}\r\n\
         connection: close\r\n\r\n",
        desk.ours(),
        bytes.len()
    );
    desk.raw(&[head.as_bytes(), bytes].concat())
}

fn frame(desk: &Desk, query: &str, bytes: &[u8]) -> Value {
    let answer = send(desk, query, bytes, &desk.token, &desk.cookie);
    assert_eq!(answer.status, 200, "{query}: {} {}", answer.head, answer.body);
    serde_json::from_str(&answer.body).unwrap_or_else(|e| panic!("no JSON: {e}: {}", answer.body))
}

/// A picture without a face, as light as said.
fn bare(value: u8) -> Vec<u8> {
    let rgb = vec![value; 3 * 320 * 240];
    vision::jpeg(&vision::View::new(320, 240, &rgb).expect("whole"), 85).expect("a JPEG")
}

#[test]
fn frames_are_taken_behind_the_door_with_the_token_alone_and_bounded() {
    let desk = Desk::inside();
    let light = bare(180);
    let status = |token: &str, cookie: &str| send(&desk, "", &light, token, cookie).status;
    assert_eq!(status(&desk.token, &desk.cookie), 200);
    assert_eq!(status("wrong", &desk.cookie), 403);
    assert_eq!(status("", &desk.cookie), 403);
    // Another browser, with a cookie and token of its own, has not been let in.
    let page =
        desk.raw(format!("GET / HTTP/1.1\r\nhost: 127.0.0.1:{}\r\nconnection: close\r\n\r\n", desk.port).as_bytes());
    let cookie = page
        .head
        .lines()
        .find_map(|l| l.strip_prefix("set-cookie: "))
        .and_then(|c| c.split(';').next())
        .expect("a cookie");
    let token = page.body.split("name=\"token\" content=\"").nth(1).and_then(|r| r.split('"').next()).expect("a token");
    let stranger = send(&desk, "", &light, token, cookie);
    assert_ne!(stranger.status, 200, "a stranger's frame is looked at");
    assert!(!stranger.body.contains("\"seen\""), "{}", stranger.body);
    let check = |query: &str, bytes: &[u8], expected: u16| {
        let answer = send(&desk, query, bytes, &desk.token, &desk.cookie);
        assert_eq!(answer.status, expected, "{query}, {} bytes: {}", bytes.len(), answer.body);
        let said: Value = serde_json::from_str(&answer.body).expect("JSON");
        assert!(said["says"].as_str().is_some_and(|s| !s.is_empty()), "nothing is said: {said}");
        assert!(said["now"].is_null());
    };
    check("target=nothing", &light, 422);
    check("target=LI20&side=up", &light, 422);
    check("target=LI20&mark=%00", &light, 422);
    check("", b"no picture", 415);
    check("", b"", 415);
    check("", &light[..light.len() / 3], 415);
    let large = vec![90; 3 * 1280 * 720];
    let large = vision::jpeg(&vision::View::new(1280, 720, &large).expect("whole"), 85).expect("a JPEG");
    check("", &large, 415);
    check("", &vec![0; 300_000], 413);
    desk.post("/lock", "");
    assert_ne!(status(&desk.token, &desk.cookie), 200, "a locked practice looks at frames");
}

#[test]
fn what_is_wrong_with_a_frame_is_said_and_nothing_is_drawn() {
    let desk = Desk::inside();
    let why = |bytes: &[u8], expected: &str| {
        let said = frame(&desk, "target=LI20&side=left", bytes);
        assert_eq!(said["why"], expected, "{said}");
        assert!(
            said["now"].is_null() && said["seen"] == false && said["says"].as_str().is_some_and(|s| s.len() > 20),
            "{said}"
        );
    };
    why(&bare(180), "no_face");
    why(&bare(12), "dark");
    let folder = Folder::new(&unique("faces"));
    let picture = |name: &str, more: &[&str]| {
        let file = folder.file(name);
        let said = run(&[&["phantom", &file, "--seed", "2", "--plain"], more].concat());
        assert_eq!(said.code, 0, "{}", said.err);
        let photo =
            vision::decode(&std::fs::read(&file).expect("a file"), &vision::Limits::default()).expect("a picture");
        photo.jpeg(600, 85).expect("a JPEG")
    };
    let (straight, turned) = (picture("straight.png", &[]), picture("turned.png", &["--yaw", "58"]));
    let said = frame(&desk, "target=LI20&side=left", &turned);
    assert!(
        ["turned", "no_face"].contains(&said["why"].as_str().unwrap_or_default()) && said["now"].is_null(),
        "{said}"
    );
    // Two beside each other.
    let one = vision::decode(&straight, &vision::Limits::default()).expect("a picture");
    let (w, h, rgb) = (one.width as usize, one.height as usize, one.rgb8());
    let twice: Vec<u8> = rgb.chunks_exact(3 * w).flat_map(|row| [row, row].concat()).collect();
    let both = vision::Photograph::drawn(2 * w as u32, h as u32, twice).expect("whole").jpeg(640, 90).expect("a JPEG");
    // Another browser's start: what was followed before is forgotten.
    desk.raw(
        format!(
            "POST /live/end HTTP/1.1\r\n{}cookie: {}\r\nx-token: {}\r\ncontent-length: 0\r\nconnection: close\r\n\r\n",
            desk.ours(),
            desk.cookie,
            desk.token
        )
        .as_bytes(),
    );
    why(&both, "several");
}

#[test]
fn sides_are_the_persons_own_and_what_no_picture_carries_is_not_drawn() {
    let desk = Desk::inside();
    let reel = reel(4, 1);
    let at = |side: &str| {
        let said = frame(
            &desk,
            &format!(
                "target=LI20&side={side}&mark=hold&pressure=1&movement=work&next_target=orbit_ring&next_side=left"
            ),
            &reel.frames[0],
        );
        assert_eq!(
            (said["now"]["kind"].as_str(), said["next"]["kind"].as_str()),
            (Some("point"), Some("line")),
            "{said}"
        );
        assert_eq!(said["now"]["places"][0]["side"], side);
        assert!(said["now"]["art"].as_str().is_some_and(|a| a.starts_with("<g ") && !a.contains("style")), "{said}");
        assert!(
            said["now"]["places"][0]["uncertainty_mm"].as_f64().is_some_and(|u| (0.5..10.0).contains(&u)),
            "{said}"
        );
        said["now"]["places"][0]["at"][0].as_f64().expect("a place")
    };
    // Unmirrored, the person's own left is at the picture's right.
    assert!(at("left") > at("right") + 10.0);
    let both = frame(&desk, "target=LI20&side=both", &reel.frames[0]);
    assert_eq!(both["now"]["places"].as_array().map(Vec::len), Some(2), "{both}");
    for target in ["ear", "below_jaw", "neck_side", "neck_descent", "ear_rim", "scalp_side", "GV20", "ST6", "GB20"] {
        let said = frame(&desk, &format!("target={target}"), &reel.frames[0]);
        assert_eq!(
            (said["why"].as_str(), said["now"].is_null(), said["seen"].as_bool()),
            (Some("drawing"), true, Some(true)),
            "{target}: {said}"
        );
    }
}

#[test]
fn nothing_of_a_frame_is_kept_or_logged() {
    let desk = Desk::inside();
    let reel = reel(3, 4);
    let files = |folder: &Path| -> BTreeMap<String, Vec<u8>> {
        let list = std::fs::read_dir(folder).expect("the folder").filter_map(Result::ok).filter(|e| e.path().is_file());
        list.map(|e| (e.file_name().to_string_lossy().into_owned(), std::fs::read(e.path()).expect("a file"))).collect()
    };
    let memory = || {
        let status = std::fs::read_to_string(format!("/proc/{}/status", desk.process())).ok()?;
        let line = status.lines().find(|l| l.starts_with("VmRSS:"))?.to_owned();
        line.split_whitespace().nth(1)?.parse::<u64>().ok()
    };
    for i in 0..12 {
        frame(&desk, "target=LI20&side=left", &reel.frames[i % 4]);
    }
    let (before, held) = (files(&desk.cabinet()), memory());
    for i in 0..120 {
        frame(&desk, "target=LI20&side=left", &reel.frames[i % 4]);
    }
    assert_eq!(before, files(&desk.cabinet()), "the practice's folder has changed");
    // 120 frames of 640 by 480 would be 110 MB; the memory of a run moves by less than ten of them.
    if let (Some(before), Some(after)) = (held, memory()) {
        assert!(after < before + 9_000, "memory grew from {before} to {after} kB over 120 frames");
    }
    let (_, said) = desk.kill();
    assert_eq!(said, "", "something was logged");
}

/// How far a drawn step lies from its truth, mm: a point's place; of a line or zone the mean along it. None where the truth has none.
fn away(said: &Value, frame: &Value, scale: f64) -> Option<f64> {
    let spot = |v: &Value| Some([v[0].as_f64()?, v[1].as_f64()?]);
    let spots = |v: &Value| -> Vec<[f64; 2]> {
        let ways = v["ways"].as_array().into_iter().flatten().flat_map(|w| w.as_array().into_iter().flatten());
        ways.chain(v["outline"].as_array().into_iter().flatten()).filter_map(spot).collect()
    };
    let mut worst = 0.0_f64;
    for place in said["now"]["places"].as_array()? {
        let wanted = frame["targets"]
            .as_array()?
            .iter()
            .find(|t| t["target"] == said["now"]["target"] && t["side"] == place["side"])?;
        let (mut got, mut want) = (spots(place), spots(wanted));
        if want.is_empty() {
            (got, want) = (vec![spot(&place["at"])?], vec![spot(&wanted["at"])?]);
        }
        assert_eq!(got.len(), want.len(), "{wanted}");
        let sum: f64 = got.iter().zip(&want).map(|(a, b)| (a[0] * scale - b[0]).hypot(a[1] * scale - b[1])).sum();
        worst = worst.max(sum / want.len() as f64 * frame["mm_per_px"].as_f64()?);
    }
    Some(worst)
}

/// Every target that a picture of a face carries, on every person and in turn on their frames. `LIVE_PEOPLE` and `LIVE_FRAMES` make it longer.
#[test]
fn what_is_drawn_lies_where_the_truth_has_it() {
    let number = |name: &str, usual: usize| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual);
    let (people, frames) = (number("LIVE_PEOPLE", 3), number("LIVE_FRAMES", 14));
    let desk = Desk::inside();
    let mut misses: BTreeMap<(bool, String), Vec<f64>> = BTreeMap::new();
    let mut waited: Vec<f64> = Vec::new();
    for seed in 1..=people as u64 {
        let reel = reel(seed, frames);
        let targets: Vec<(String, String, bool)> = reel.truth["frames"][0]["targets"]
            .as_array()
            .expect("targets")
            .iter()
            .map(|t| {
                (
                    t["target"].as_str().unwrap_or_default().to_owned(),
                    t["side"].as_str().unwrap_or_default().to_owned(),
                    t["by_hairline"] == true,
                )
            })
            .collect();
        // Somebody who has just sat down is looked at for a moment first.
        for picture in reel.frames.iter().take(6) {
            frame(&desk, "target=LI20&side=left", picture);
        }
        for (i, (target, side, by_hairline)) in targets.iter().enumerate() {
            for k in 0..2 {
                let at = (i * 5 + k * 7) % frames;
                let begun = Instant::now();
                let said = frame(&desk, &format!("target={target}&side={side}"), &reel.frames[at]);
                waited.push(begun.elapsed().as_secs_f64() * 1e3);
                if said["why"] == "drawing" {
                    continue;
                }
                assert_eq!(said["seen"], true, "person {seed}, frame {at}: {said}");
                let mm =
                    away(&said, &reel.truth["frames"][at], 1.0).unwrap_or_else(|| panic!("no truth: {target} {side}"));
                misses.entry((*by_hairline, format!("{target} {side}"))).or_default().push(mm);
            }
        }
    }
    let quantile = |list: &[f64], share: f64| {
        let mut sorted = list.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted[((sorted.len() as f64 - 1.0) * share).round() as usize]
    };
    for ((by_hairline, name), list) in &misses {
        let mark = if *by_hairline { "  hangs on the hairline" } else { "" };
        println!(
            "{name:<26} middle {:5.2}  95th {:5.2}  worst {:5.2} mm{mark}",
            quantile(list, 0.5),
            quantile(list, 0.95),
            quantile(list, 1.0)
        );
    }
    let all = |hairline: bool| -> Vec<f64> {
        misses.iter().filter(|(k, _)| k.0 == hairline).flat_map(|(_, v)| v.iter().copied()).collect()
    };
    for (name, list) in [("on the face", all(false)), ("by the hairline", all(true))] {
        println!(
            "{name}: {} drawn, middle {:.2}, 95th {:.2}, worst {:.2} mm",
            list.len(),
            quantile(&list, 0.5),
            quantile(&list, 0.95),
            quantile(&list, 1.0)
        );
    }
    println!(
        "a frame takes {:.1} ms at the middle, {:.1} at the 95th",
        quantile(&waited, 0.5),
        quantile(&waited, 0.95)
    );
    let face = all(false);
    assert!(face.len() > 50 * people, "too little is drawn: {}", face.len());
    assert!(
        quantile(&face, 0.95) <= 3.0,
        "one in twenty lies further than 3 mm from its truth: {:.2} mm",
        quantile(&face, 0.95)
    );
}
