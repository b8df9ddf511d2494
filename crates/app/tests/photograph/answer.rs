//! The answer: every key that `docs/json.md` promises, in its range.

use serde_json::Value;

use crate::house::{Folder, run};
use crate::pictures::{eyes, usual, usual_map};

fn number(of: &Value, key: &str) -> f64 {
    of[key].as_f64().unwrap_or_else(|| panic!("{key} is no number: {of}"))
}

fn point(p: &Value, width: f64, height: f64, of_map: bool) {
    let code = p["code"].as_str().expect("a code");
    assert!(p["name"].as_str().is_some_and(|n| n.len() > 3), "{code}");
    assert!(matches!(p["side"].as_str(), Some("left" | "right" | "midline")), "{code}: {}", p["side"]);
    let placed = p["x_px"].is_number() && p["y_px"].is_number();
    match p["shown"].as_str() {
        Some("photo") => assert!(placed, "{code}"),
        Some("sketch" | "never") => assert!(!placed && p["uncertainty_mm"].is_null(), "{code}"),
        other => panic!("{code}: {other:?}"),
    }
    assert_eq!(p["shown"] == "never", p["never_because"].is_string(), "{code}");
    assert!(p["caution"].is_null() || p["caution"].is_string(), "{code}");
    if placed {
        let (x, y) = (number(p, "x_px"), number(p, "y_px"));
        let inside = (0.0..=width).contains(&x) && (0.0..=height).contains(&y);
        assert!(inside || p["seen"] == false, "{code}: seen outside the picture");
        assert_eq!(p["uncertainty_mm"].is_number(), of_map, "{code}");
        if of_map {
            assert!((0.3..25.0).contains(&number(p, "uncertainty_mm")), "{code}: {}", p["uncertainty_mm"]);
        }
    }
}

#[test]
fn a_map_keeps_its_promises() {
    let map = usual_map();
    let (width, height) = (usual().width as f64, usual().height as f64);
    assert_eq!(map["picture"], serde_json::json!([usual().width, usual().height]));
    assert_eq!((&map["faces"], &map["mirrored"]), (&Value::from(1), &Value::from(false)));
    assert!((0.5..=1.0).contains(&number(map, "presence")));
    let scale = &map["scale"];
    assert!(matches!(scale["source"].as_str(), Some("iris" | "iris_points" | "interpupillary" | "hand")));
    let (mm, u95) = (number(scale, "mm_per_px"), number(scale, "u95"));
    assert!(u95 > 0.0 && u95 < 0.15 * mm, "{scale}");
    // Outer eye corners of adults lie 75 to 105 mm apart.
    assert!((75.0..105.0).contains(&(mm * eyes(map))), "{} mm", mm * eyes(map));
    for key in ["yaw", "pitch", "roll"] {
        assert!(number(&map["pose_deg"], key).abs() <= 90.0);
    }
    assert_eq!(map["hairline"]["estimated"], true);
    assert!(matches!(map["hairline"]["source"].as_str(), Some("seen" | "proportion" | "hand")));
    assert!(map["hairline"]["px"].as_array().is_some_and(|line| line.len() > 2));
    assert!(number(&map["hairline"], "u_mm") > 0.0);
    let landmarks = map["landmarks"].as_array().expect("landmarks");
    assert_eq!(landmarks.len(), 478);
    for l in landmarks {
        let [x, y, z] = [0, 1, 2].map(|k| l[k].as_f64().expect("a number"));
        assert!((0.0..=width).contains(&x) && (0.0..=height).contains(&y) && z.abs() < width, "{l}");
    }
    let points = map["points"].as_array().expect("points");
    assert!(points.len() > 40, "{}", points.len());
    points.iter().for_each(|p| point(p, width, height, true));
    let mut keys: Vec<String> = points.iter().map(|p| format!("{} {}", p["code"], p["side"])).collect();
    keys.sort();
    keys.dedup();
    assert_eq!(keys.len(), points.len(), "each point once on each side");
    // Own left is at larger x in an unmirrored picture.
    for p in points.iter().filter(|p| p["side"] == "left" && p["x_px"].is_number()) {
        let right = points.iter().find(|q| q["code"] == p["code"] && q["side"] == "right").expect("its other side");
        assert!(number(p, "x_px") > number(right, "x_px"), "{}", p["code"]);
    }
}

#[test]
fn an_invented_face_comes_with_its_truth() {
    let folder = Folder::new("truth");
    let file = folder.file("nobody.png");
    let truth = run(&["phantom", &file, "--seed", "11", "--plain", "--yaw", "5", "--json"]).json();
    assert_eq!((&truth["invented"], &truth["seed"]), (&Value::from(true), &Value::from(11)));
    let [width, height] = [0, 1].map(|k| truth["picture"][k].as_f64().expect("pixels"));
    assert!((9.0..15.0).contains(&number(&truth, "iris_mm")));
    assert!((number(&truth["pose_deg"], "yaw") - 5.0).abs() < 3.0, "{}", truth["pose_deg"]);
    truth["points"].as_array().expect("points").iter().for_each(|p| point(p, width, height, false));
    let map = run(&["map", &file, "--json"]).json();
    let ratio = number(&map["scale"], "mm_per_px") / number(&truth["scale"], "mm_per_px");
    // The iris is taken for 11.7 +- 0.42 mm; this one is of another size.
    assert!((ratio - 1.0).abs() < 0.12, "scale {ratio}");
    assert_eq!(map["picture"], truth["picture"]);
    let mm = number(&truth["scale"], "mm_per_px");
    let (mut inside, mut all) = (0, 0);
    for (p, t) in map["points"].as_array().expect("points").iter().zip(truth["points"].as_array().expect("points")) {
        assert_eq!((&p["code"], &p["side"]), (&t["code"], &t["side"]));
        if p["x_px"].is_number() {
            let far = (number(p, "x_px") - number(t, "x_px")).hypot(number(p, "y_px") - number(t, "y_px")) * mm;
            all += 1;
            inside += usize::from(far <= number(p, "uncertainty_mm"));
        }
    }
    assert!(inside * 100 >= all * 80, "{inside} of {all} points within their circle on one face");
    assert_eq!(run(&["phantom", &folder.file("nobody.gif"), "--seed", "1"]).code, 2);
}
