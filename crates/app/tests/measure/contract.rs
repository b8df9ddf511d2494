//! The answer: every key that is promised, in its range; and that it agrees with the truth about as well as it says.

use serde_json::Value;

use crate::house::{Folder, run};
use crate::{number, usual};

const FIVE: [&str; 5] = ["dL", "da", "db", "dE00", "dITA"];
const HEIGHTS: [&str; 4] = ["brow", "lid_opening", "mouth_corner", "jaw"];

fn has(of: &Value, keys: &[&str]) {
    let map = of.as_object().unwrap_or_else(|| panic!("no object: {of}"));
    for key in keys {
        assert!(map.contains_key(*key), "`{key}` is missing in {of}");
    }
}

fn value(of: &Value) {
    assert!(of["value"].is_number() && of["u95"].as_f64().is_some_and(|u| u > 0.0), "{of}");
}

fn side(s: &Value, tells_brown: bool) {
    for five in [&s["shadow"], &s["u95"], &s["as_photographed"], &s["as_photographed"]["u95"]] {
        has(five, &FIVE);
        FIVE.iter().for_each(|k| assert!(five[k].is_number(), "{k} in {five}"));
    }
    assert!(FIVE.iter().all(|k| number(s, &format!("u95.{k}")) > 0.0), "{s}");
    assert_eq!(s["brown"].is_object(), tells_brown, "{s}");
    value(&s["blue_red"]);
    value(&s["relief"]);
    let leads = ["brown", "blue_red", "relief", "mixed", "cannot_tell"];
    assert!(leads.contains(&s["leading"].as_str().expect("a word")), "{}", s["leading"]);
    for height in HEIGHTS {
        value(&s["heights_mm"][height]);
    }
}

#[test]
fn every_key_of_the_contract_is_there_without_a_card() {
    let folder = Folder::new("contract");
    let photo = folder.write("a.jpg", &usual().bytes);
    let said = run(&["measure", &photo, "--json", "--tone", "light"]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let answer = said.json();
    let one = &answer["photos"][0];
    has(
        one,
        &["photo", "mode", "gates", "usable", "sides", "profile", "warnings", "tone", "scale", "pose_deg", "error"],
    );
    assert_eq!((&one["photo"], &one["mode"], &one["usable"]), (&photo.into(), &"relative".into(), &true.into()));
    assert!(one["error"].is_null() && one["profile"] == "sRGB" && one["profile_assumed"] == true);
    let gates = one["gates"].as_array().expect("gates");
    assert!(gates.len() >= 12);
    for gate in gates {
        has(gate, &["name", "value", "limit", "passed", "advice"]);
        assert!(gate["passed"] == true && gate["value"].is_number(), "{gate}");
        assert!(gate["advice"].as_str().is_some_and(|a| a.len() > 30 && a.ends_with('.')), "{gate}");
    }
    for own in ["left", "right"] {
        side(&one["sides"][own], true);
        has(
            &one["sides"][own],
            &["thirds", "cheek", "band", "shading", "residual", "left_out", "outlines_px", "sclera"],
        );
        assert!(one["sides"][own]["sclera"].is_null(), "a colour without a card");
    }
    // Null, with the reason beside it.
    assert!(one["warnings"].to_string().contains("white of the eyes"), "{}", one["warnings"]);
    value(&one["sclera_difference"]["redness"]);

    let visit = &answer["visit"];
    assert_eq!((&visit["photographs"], &visit["mode"]), (&1.into(), &"relative".into()));
    for own in ["left", "right"] {
        side(&visit["sides"][own], true);
        assert!(visit["sides"][own]["spread"].is_null(), "one photograph has no spread");
        // One photograph's visit is that photograph.
        for key in FIVE {
            assert!(
                (number(&visit["sides"][own]["shadow"], key) - number(&one["sides"][own]["shadow"], key)).abs() < 2e-3
            );
        }
    }
    for key in FIVE.iter().chain(&["brown", "blue_red", "relief"]).chain(&HEIGHTS) {
        value(&visit["difference"][key]);
    }
    let apart = number(&visit["sides"]["left"]["shadow"], "dE00") - number(&visit["sides"]["right"]["shadow"], "dE00");
    assert!((apart - number(&visit["difference"]["dE00"], "value")).abs() < 2e-3);
}

#[test]
fn an_invented_face_prints_its_truth_with_the_same_keys() {
    let truth = &usual().truth;
    assert_eq!((&truth["tone"], &truth["light"], &truth["card"]), (&"light".into(), &"d65".into(), &Value::Null));
    for own in ["left", "right"] {
        let s = &truth["sides"][own];
        FIVE.iter().for_each(|k| assert!(s["shadow"][k].is_number(), "{k}"));
        for key in ["brown.value", "blue_red.value", "relief.value", "sclera.redness.value", "heights_mm.brow.value"] {
            number(s, key);
        }
        assert!(s["leading"].is_string());
        // Marked enough to be a shadow at all.
        assert!(number(&s["shadow"], "dE00") > 1.0 && number(&s["shadow"], "dL") < 0.0, "{s}");
    }
    // Whatever is left unsaid is drawn too, with its truth; the same seed gives the same.
    let (one, two) = (crate::drawn("plain-one", &["--seed", "4"]), crate::drawn("plain-two", &["--seed", "4"]));
    assert!(one.truth["sides"]["left"].is_object() && one.bytes == two.bytes && one.truth == two.truth);
    let more = |severity: &str| {
        let shown = crate::drawn("severity", &["--seed", "2", "--severity", severity]);
        number(&shown.truth, "sides.left.shadow.dE00")
    };
    assert!(more("4") > more("1") + 1.0);
}

/// One pair of numbers is no proof of an uncertainty; that three times it is missed would be one of its falsehood.
#[test]
fn the_values_lie_near_the_truth() {
    let folder = Folder::new("near");
    for (name, shown, mode) in [("a.jpg", usual(), "relative"), ("b.jpg", crate::with_card(), "referenced")] {
        let photo = folder.write(name, &shown.bytes);
        let answer = run(&["measure", &photo, "--json", "--tone", "light"]).json();
        let one = &answer["photos"][0];
        assert_eq!(one["mode"], mode, "{}", one["warnings"]);
        for own in ["left", "right"] {
            let (s, t) = (&one["sides"][own], &shown.truth["sides"][own]);
            for key in ["dL", "dE00"] {
                let off = number(&s["shadow"], key) - number(&t["shadow"], key);
                let u95 = number(&s["u95"], key);
                assert!(off.abs() <= (3.0 * u95).min(4.0), "{mode} {own} {key}: off by {off}, stated {u95}");
            }
        }
    }
}
