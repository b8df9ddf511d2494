//! What cannot be measured: words that are wrong, files that are wrong, and photographs that are refused with advice.

use serde_json::Value;

use crate::house::{Folder, run};
use crate::{drawn, usual};

#[test]
fn words_that_are_wrong_end_with_2_and_say_what_to_do() {
    let folder = Folder::new("words");
    let photo = folder.write("photo.jpg", &usual().bytes);
    std::fs::create_dir_all(folder.file("empty")).expect("a folder");
    let (empty, nowhere) = (folder.file("empty"), folder.file("nowhere.jpg"));
    let hands = folder.write("hands.toml", "[[landmark]]\nnumber = 999\nx = 1.0\ny = 2.0\n");
    let words = folder.write("words.jpg", b"words");
    let cases: Vec<(Vec<&str>, &str)> = vec![
        (vec![], "PHOTO"),
        (vec![&empty], "no photograph in this folder"),
        (vec![&nowhere], "can't be read"),
        (vec![&photo, "--tone", "pale"], "very_light"),
        (vec![&photo, "--card", "atuo"], "atuo"),
        (vec![&photo, "--card", "1,2,3"], "eight numbers"),
        (vec![&photo, "--card", "1,1,9,1,9,9,1,x1"], "x1"),
        (vec![&photo, "--card", "0,0,99,99,99,0,0,99"], "order around it"),
        (vec![&photo, "--card", "0,0,5000,0,5000,99,0,99"], "5000, 0 lies beyond the picture of 1200 by 1500"),
        (vec![&photo, "--card", "-4,0,50,0,50,99,0,99"], "-4, 0 lies beyond"),
        (vec![&photo, "--target", "white"], "24-before"),
        (vec![&photo, "--target", "24-after"], "four taps"),
        (vec![&photo, "--first", &words], "JPEG, PNG, WebP or HEIC"),
        (vec![&photo, "--hands", &hands], "999"),
        (vec![&photo, &photo, "--card", "none", "--overlay", "x.svg"], "one photograph"),
        (vec![&photo, "--past-gates", "--overlay", "x.svg"], "--overlay"),
    ];
    for (args, expected) in cases {
        let said = run(&[&["measure"], args.as_slice()].concat());
        assert_eq!(said.code, 2, "{args:?}: {}", said.out);
        assert!(said.err.contains(expected), "{args:?}: {}", said.err);
    }
    let wrong: [(&[&str], &str); 4] = [
        (&["--tone", "pale"], "very_light"),
        (&["--light", "moon"], "gradient"),
        (&["--severity", "5"], "0 to 4"),
        (&["--severity", "NaN"], "0 to 4"),
    ];
    for (args, expected) in wrong {
        let said = run(&[&["phantom", &folder.file("x.jpg"), "--seed", "1"], args].concat());
        assert!(said.code == 2 && said.err.contains(expected), "{args:?}: {}", said.err);
    }
}

#[test]
fn no_photograph_and_no_face_are_named_and_answered() {
    let folder = Folder::new("nothing");
    let words = folder.write("words.jpg", b"words");
    let said = run(&["measure", &words, "--json"]);
    assert_eq!(said.code, 2);
    let one = said.json()["photos"][0].clone();
    assert!(one["error"].as_str().is_some_and(|e| e.contains("JPEG")) && one["usable"] == false, "{one}");
    assert!(said.json()["visit"].is_null());
    // A wall has no face.
    let wall: Vec<u8> = (0..200 * 200).flat_map(|i| [180, 170, 160 + (i % 7) as u8]).collect();
    let view = vision::View::new(200, 200, &wall).expect("a picture");
    let wall = folder.write("wall.png", vision::png(&view).expect("a PNG"));
    let said = run(&["measure", &wall]);
    assert!(said.code == 2 && said.err.contains("No face was found"), "{}", said.err);
}

/// A photograph that is refused: exit code 0, no sides, the gate, its advice, in JSON and in words.
fn refused(name: &str, bytes: &[u8], gate: &str) {
    let folder = Folder::new(&format!("gate-{name}"));
    let photo = folder.write("photo.jpg", bytes);
    let said = run(&["measure", &photo, "--json", "--tone", "light"]);
    assert_eq!(said.code, 0, "{name}: {}", said.err);
    let one = said.json()["photos"][0].clone();
    assert_eq!((&one["usable"], &one["sides"]), (&false.into(), &Value::Null), "{name}");
    let gates = one["gates"].as_array().expect("gates");
    let failed = gates.iter().find(|g| g["name"] == gate && g["passed"] == false);
    let advice =
        failed.unwrap_or_else(|| panic!("{name}: {gate} is passed: {gates:?}"))["advice"].as_str().expect("words");
    assert!(one["warnings"].to_string().contains("Nothing is measured"), "{name}: {}", one["warnings"]);
    assert!(said.json()["visit"].is_null());
    assert!(run(&["measure", &photo]).out.contains(advice), "{name}");
}

#[test]
fn light_from_one_side_a_turned_head_and_closed_eyes_are_refused_with_advice() {
    refused("side", &drawn("side", &["--seed", "8", "--tone", "light", "--light", "side"]).bytes, "evenness");
    refused("turned", &drawn("turned", &["--seed", "8", "--tone", "light", "--yaw", "22"]).bytes, "yaw");
    refused("closed", &drawn("closed", &["--seed", "8", "--tone", "light", "--eyes-closed"]).bytes, "eyes_open");
}

#[test]
fn values_past_the_gates_are_not_usable_and_change_nothing_else() {
    let folder = Folder::new("past-gates");
    let turned = drawn("past", &["--seed", "8", "--tone", "light", "--yaw", "16"]).bytes;
    let (turned, good) = (folder.write("turned.jpg", turned), folder.write("good.jpg", &usual().bytes));
    let asked = ["measure", &turned, &good, "--json", "--tone", "light"];
    let (plain, past) = (run(&asked).json(), run(&[asked.as_slice(), &["--past-gates"]].concat()).json());
    let (refused, told) = (&plain["photos"][0], &past["photos"][0]);
    assert!(refused["sides"].is_null() && refused["usable"] == false, "{refused}");
    assert!(told["usable"] == false && told["gates"] == refused["gates"], "{told}");
    assert!(told["sides"]["left"]["shadow"]["dE00"].as_f64().is_some_and(f64::is_finite), "{told}");
    assert!(told["warnings"].to_string().contains("None of them is fit for use"), "{}", told["warnings"]);
    // The photograph that passes, and the visit of which the other is no part, are as they were.
    assert!(plain["photos"][1] == past["photos"][1] && plain["visit"] == past["visit"]);
    assert_eq!((&plain["photos"][1]["usable"], &past["visit"]["photographs"]), (&true.into(), &1.into()));
}

#[test]
fn black_and_white_is_not_measured() {
    let shown = vision::decode(&usual().bytes, &vision::Limits::default()).expect("the photograph");
    let rgb = shown.rgb8();
    let grey: Vec<u8> = rgb
        .chunks_exact(3)
        .flat_map(|p| [((u32::from(p[0]) + 2 * u32::from(p[1]) + u32::from(p[2])) / 4) as u8; 3])
        .collect();
    let view = vision::View::new(shown.width as usize, shown.height as usize, &grey).expect("a picture");
    refused("grey", &vision::jpeg(&view, 92).expect("a JPEG"), "skin");
}

#[test]
fn a_mirrored_picture_is_measured_on_the_persons_own_sides() {
    let folder = Folder::new("mirror");
    let shown = vision::decode(&usual().bytes, &vision::Limits::default()).expect("the photograph");
    let (w, h) = (shown.width as usize, shown.height as usize);
    let rgb = shown.rgb8();
    let turned: Vec<u8> =
        (0..h).flat_map(|y| (0..w).rev().map(move |x| 3 * (y * w + x))).flat_map(|i| rgb[i..i + 3].to_vec()).collect();
    let png = |rgb: &[u8]| vision::png(&vision::View::new(w, h, rgb).expect("a picture")).expect("a PNG");
    let (straight, over) = (folder.write("a.png", png(&rgb)), folder.write("b.png", png(&turned)));
    let one = run(&["measure", &straight, "--json", "--tone", "light"]).json()["photos"][0].clone();
    let two = run(&["measure", &over, "--json", "--tone", "light", "--mirrored"]).json()["photos"][0].clone();
    assert_eq!(one["sides"]["left"]["shadow"], two["sides"]["left"]["shadow"]);
    assert_eq!(two["mirrored"], true);
    // Places are answered in the picture as it was sent.
    let x = |v: &Value| v["sides"]["left"]["outlines_px"]["cheek"][0][0].as_f64().expect("a place");
    assert!((x(&one) - (w as f64 - x(&two))).abs() < 0.02, "{} {}", x(&one), x(&two));
}
