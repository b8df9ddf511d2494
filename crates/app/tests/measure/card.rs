//! The card: found by itself, described in a file, tapped, and refused in words.

use serde_json::{Value, json};

use crate::house::{Folder, run};
use crate::{number, usual, with_card};

fn measured(folder: &Folder, bytes: &[u8], more: &[&str]) -> Value {
    let photo = folder.write("photo.jpg", bytes);
    let said = run(&[&["measure", photo.as_str(), "--json", "--tone", "light"], more].concat());
    assert_eq!(said.code, 0, "{}", said.err);
    said.json()["photos"][0].clone()
}

#[test]
fn the_tools_own_card_is_found_and_its_file_says_the_same() {
    let folder = Folder::new("card");
    let found = measured(&folder, &with_card().bytes, &[]);
    assert_eq!(found["mode"], "referenced", "{}", found["warnings"]);
    let gates: Vec<&str> =
        found["gates"].as_array().expect("gates").iter().filter_map(|g| g["name"].as_str()).collect();
    assert!(gates.contains(&"card_flat") && gates.contains(&"card_fit"), "{gates:?}");
    assert_eq!(found["card_px"].as_array().map(Vec::len), Some(18));
    // What `phantom` prints is a card's file.
    let file = folder.write("card.json", with_card().truth["card"].to_string());
    let described = measured(&folder, &with_card().bytes, &["--card", &file]);
    for own in ["left", "right"] {
        for key in ["dL", "da", "db", "dE00"] {
            let of = |v: &Value| number(&v["sides"][own]["shadow"], key);
            assert!((of(&found) - of(&described)).abs() < 0.1, "{own} {key}: {} {}", of(&found), of(&described));
        }
        assert!(found["sides"][own]["sclera"].is_object() || found["warnings"].to_string().contains("white of an eye"));
    }
    assert_eq!(measured(&folder, &with_card().bytes, &["--card", "none"])["mode"], "relative");
    assert_eq!(measured(&folder, &usual().bytes, &["--card", "auto"])["mode"], "relative");
}

#[test]
fn a_plain_grey_is_tapped() {
    let folder = Folder::new("grey");
    // One grey patch of the card is as good as a plain card of its lightness.
    let patches = with_card().truth["card"]["patches"].as_array().expect("patches");
    let grey = patches
        .iter()
        .filter(|p| p["grey"] == true)
        .min_by_key(|p| (10.0 * (p["lab_d65"][0].as_f64().expect("L") - 49.5).abs()) as u64)
        .expect("a grey");
    let corners: Vec<String> = grey["corners_px"]
        .as_array()
        .expect("corners")
        .iter()
        .flat_map(|c| [c[0].to_string(), c[1].to_string()])
        .collect();
    let found = measured(&folder, &with_card().bytes, &["--card", &corners.join(",")]);
    assert_eq!(found["mode"], "referenced", "{}", found["warnings"]);
    assert!(found["warnings"].to_string().contains("plain grey card"), "{}", found["warnings"]);
}

#[test]
fn a_card_whose_colours_do_not_fit_leaves_the_photograph_without_one() {
    let folder = Folder::new("unfit");
    let mut card = with_card().truth["card"].clone();
    let patches = card["patches"].as_array_mut().expect("patches");
    // Colours exchanged between patches: no camera does that.
    let labs: Vec<Value> = patches.iter().map(|p| p["lab_d65"].clone()).collect();
    let n = labs.len();
    patches.iter_mut().enumerate().for_each(|(i, p)| p["lab_d65"] = labs[(i + 7) % n].clone());
    let file = folder.write("card.json", card.to_string());
    let found = measured(&folder, &with_card().bytes, &["--card", &file]);
    assert_eq!((&found["mode"], &found["usable"]), (&"relative".into(), &true.into()));
    assert!(found["warnings"].to_string().contains("its colours cannot be used"), "{}", found["warnings"]);
}

#[test]
fn a_cards_file_that_is_wrong_is_refused_before_any_photograph() {
    let folder = Folder::new("wrong-card");
    let photo = folder.write("photo.jpg", &usual().bytes);
    let patch = |name: &str, x: f64| json!({"name": name, "corners_px": [[x, 10], [x + 20.0, 10], [x + 20.0, 30], [x, 30]], "lab_d65": [50, 0, 0], "grey": true});
    let four = || vec![patch("a", 0.0), patch("b", 30.0), patch("c", 60.0), patch("d", 90.0)];
    let changed = |change: &dyn Fn(&mut Vec<Value>)| {
        let mut patches = four();
        change(&mut patches);
        json!({ "patches": patches }).to_string()
    };
    let cases: Vec<(String, &str)> = vec![
        (String::new(), "JSON"),
        ("[]".to_owned(), "JSON"),
        ("{\"patches\": 3}".to_owned(), "JSON"),
        (json!({"patches": four(), "colour": 1}).to_string(), "colour"),
        (changed(&|p| p.truncate(3)), "3 patches"),
        (changed(&|p| p[1]["name"] = "".into()), "no name"),
        (changed(&|p| p[1]["name"] = "a".into()), "called `a`"),
        (changed(&|p| p[2]["corners_px"] = json!([[1, 1], [2, 1], [2, 2]])), "`c` has 3 corners"),
        (changed(&|p| p[2]["corners_px"] = json!([[0, 0], [9, 9], [9, 0], [0, 9]])), "corners of `c`"),
        (changed(&|p| p[2]["corners_px"] = json!([[0, 0], [77, 9], [9, 9], [0, 9]])).replace("77", "1e400"), "JSON"),
        (changed(&|p| p[2]["corners_px"] = json!([[-5, 0], [9, 0], [9, 9], [0, 9]])), "`c` at -5, 0"),
        (changed(&|p| p[3]["lab_d65"] = json!([50, 0])), "`d` has 2 numbers"),
        (changed(&|p| p[3]["lab_d65"] = json!([150, 0, 0])), "`d` has no possible colour"),
        (changed(&|p| p[3]["grey"] = "yes".into()), "JSON"),
    ];
    for (contents, expected) in cases {
        let file = folder.write("card.json", &contents);
        let said = run(&["measure", &photo, "--card", &file, "--json"]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{contents}");
        assert!(said.err.contains("card.json") && said.err.contains(expected), "{expected}: {}", said.err);
    }
    // Whether a corner lies in the picture only the picture says.
    let file =
        folder.write("card.json", changed(&|p| p[0]["corners_px"] = json!([[0, 0], [9000, 0], [9000, 9], [0, 9]])));
    let said = run(&["measure", &photo, "--card", &file, "--json"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("`a` at 9000, 0 lies beyond"), "{}", said.err);
    assert!(said.json()["photos"][0]["error"].is_string());
}
