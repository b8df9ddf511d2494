//! Corrections by hand.

use crate::house::{Folder, run};
use crate::pictures::{eyes, landmarks, mapped, points, usual, usual_map};

fn with_hands(name: &str, hands: &str) -> crate::house::Said {
    let folder = Folder::new(&format!("hands-{name}"));
    let (photo, hands) = (folder.write("photo.png", usual().png()), folder.write("hands.toml", hands));
    run(&["map", &photo, "--json", "--hands", &hands])
}

#[test]
fn a_landmark_that_is_moved_takes_its_points_along() {
    // 358: beside the wing of the nose, own left; LI20's rule is 0.85 of it.
    let [x, y, _] = landmarks(usual_map())[358];
    let by = 0.1 * eyes(usual_map());
    let moved = with_hands("wing", &format!("[[landmark]]\nnumber = 358\nx = {}\ny = {}\n", x + by, y - by)).json();
    let at = landmarks(&moved)[358];
    assert!((at[0] - x - by).abs() < 0.02 && (at[1] - y + by).abs() < 0.02, "{at:?}");
    for ((code, side, before), (_, _, after)) in points(usual_map()).into_iter().zip(points(&moved)) {
        let (across, up) = (after[0] - before[0], before[1] - after[1]);
        match (code.as_str(), side.as_str()) {
            ("LI20", "left") => assert!(across > 0.6 * by && up > 0.7 * by, "{code} {side}: {across} {up} of {by}"),
            ("GV24" | "EX-HN3", _) => {
                assert!(across.hypot(up) < 0.2 * by, "{code} {side} moved by {across:.2}, {up:.2}");
            }
            // The nose between them follows, and what is measured from it.
            (_, "right") => assert!(across.hypot(up) < 0.45 * by, "{code} {side} moved by {across:.2}, {up:.2}"),
            _ => {}
        }
    }
}

#[test]
fn a_hairline_that_is_drawn_is_no_estimate() {
    let all = landmarks(usual_map());
    let (eyes, top) = (eyes(usual_map()), all[10]);
    let rows: String = [-0.6, -0.3, 0.0, 0.3, 0.6]
        .iter()
        .map(|x| {
            let (x, y) = (top[0] + x * eyes, top[1] - 0.25 * eyes + 0.2 * eyes * x * x);
            format!("[[hairline]]\nx = {x}\ny = {y}\n")
        })
        .collect();
    let map = with_hands("hairline", &rows).json();
    assert_eq!((&map["hairline"]["estimated"], &map["hairline"]["source"]), (&false.into(), &"hand".into()));
    assert!(map["hairline"]["u_mm"].as_f64() < usual_map()["hairline"]["u_mm"].as_f64());
}

#[test]
fn corrections_that_are_none_are_refused_with_their_line() {
    for (row, hands, line, says) in [
        ("number", "[[landmark]]\nnumber = 478\nx = 1.0\ny = 1.0\n", 2, "number"),
        ("words", "[[landmark]]\nnumber = 1\nx = \"left\"\ny = 1.0\n", 3, "x"),
        ("far", "[[landmark]]\nnumber = 1\nx = 1.0\ny = 1e9\n", 4, "y"),
        ("nan", "[[landmark]]\nnumber = 1\nx = nan\ny = 1.0\n", 3, "x"),
        ("none", "[[landmark]]\nnumber = 1\n", 1, "write x and y"),
        ("unknown", "[[landmark]]\nnumber = 1\nx = 1.0\ny = 1.0\nz = 1.0\n", 5, "z"),
        ("two", "[[hairline]]\nx = 1.0\ny = 1.0\n[[hairline]]\nx = 9.0\ny = 1.0\n", 0, "three places"),
        ("table", "[[mark]]\nx = 1.0\n", 1, "mark"),
        ("syntax", "[[landmark]\n", 1, ""),
    ] {
        let said = with_hands(row, hands);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{row}: {}", said.err);
        let placed = line == 0 || said.err.contains(&format!("hands.toml:{line}: "));
        assert!(placed && said.err.contains(says), "{row}, line {line}: {}", said.err);
    }
    let said = mapped("no-hands", &usual().png(), "png", &["--hands", "nowhere.toml"]);
    assert!(said.code == 2 && said.err.contains("nowhere.toml"), "{}", said.err);
}

#[test]
fn corrections_without_sense_do_no_harm() {
    let pile: String = (0..478).map(|n| format!("[[landmark]]\nnumber = {n}\nx = 50.0\ny = 50.0\n")).collect();
    let line = "[[hairline]]\nx = 5.0\ny = 5.0\n".repeat(40);
    for (row, hands) in
        [("pile", pile), ("line", line), ("far", "[[landmark]]\nnumber = 1\nx = -90000\ny = 90000\n".to_owned())]
    {
        let said = with_hands(row, &hands);
        assert!(said.code == 0 || (said.code == 2 && !said.err.is_empty()), "{row}: {}", said.err);
        if said.code == 0 {
            assert_eq!(landmarks(&said.json()).len(), 478, "{row}: every landmark is a number");
        }
    }
}
