//! Several photographs and folders.

use crate::house::{Folder, run};
use crate::{number, usual, with_card};

#[test]
fn three_photographs_of_a_visit_are_combined_and_their_spread_told() {
    let folder = Folder::new("visit");
    let photos: Vec<String> = (0..3)
        .map(|k| {
            let seed = (8 + 6 * k).to_string();
            // Other seeds of the class are other people; a visit of them has a spread, which is what is looked at here.
            let shown = crate::drawn("visit-shot", &["--seed", &seed, "--tone", "light", "--severity", "2"]);
            folder.write(&format!("{k}.jpg"), &shown.bytes)
        })
        .collect();
    let names: Vec<&str> = photos.iter().map(String::as_str).collect();
    let answer = run(&[&["measure", "--json", "--tone", "light"], names.as_slice()].concat()).json();
    let visit = &answer["visit"];
    assert_eq!(visit["photographs"], 3);
    for own in ["left", "right"] {
        let each: Vec<f64> = answer["photos"]
            .as_array()
            .expect("photos")
            .iter()
            .map(|p| number(&p["sides"][own]["shadow"], "dL"))
            .collect();
        let mean = each.iter().sum::<f64>() / 3.0;
        assert!((number(&visit["sides"][own]["shadow"], "dL") - mean).abs() < 2e-3);
        assert!(number(&visit["sides"][own], "spread") > 0.0 && number(&visit["spread"], own) > 0.0);
    }
    let said = run(&[&["measure", "--tone", "light"], names.as_slice()].concat());
    for part in ["The visit, from 3 photographs", "Own left", "±", "Standard deviation between the photographs"] {
        assert!(said.out.contains(part), "{part}: {}", said.out);
    }
    assert_eq!(said.err, "", "three photographs are no long work");
}

#[test]
fn a_folder_gives_all_its_photographs_by_name_and_a_broken_one_is_named() {
    let folder = Folder::new("folder");
    for name in ["b.jpg", "a.JPG", "d.jpeg"] {
        folder.write(name, &usual().bytes);
    }
    folder.write("c.png", b"\x89PNG\r\n\x1a\nno picture");
    folder.write("notes.txt", b"words");
    std::fs::create_dir_all(folder.file("inner")).expect("a folder");
    folder.write("inner/z.jpg", &usual().bytes);
    let said = run(&["measure", &folder.file(""), "--json", "--tone", "light"]);
    assert_eq!(said.code, 2, "a file that is no photograph");
    for part in ["notes.txt: this is no photograph", "inner: this is no photograph", "c.png: ", "4 of 4"] {
        assert!(said.err.contains(part), "{part}: {}", said.err);
    }
    let answer = said.json();
    let photos = answer["photos"].as_array().expect("photos");
    let ends: Vec<&str> = photos.iter().filter_map(|p| p["photo"].as_str()?.rsplit(['/', '\\']).next()).collect();
    assert_eq!(ends, ["a.JPG", "b.jpg", "c.png", "d.jpeg"], "in order, the inner folder unopened");
    assert!(photos[2]["error"].is_string() && photos[2]["sides"].is_null() && photos[2]["usable"] == false);
    assert_eq!(photos[0]["sides"], photos[3]["sides"], "the same bytes measure the same on every worker");
    let alone = run(&["measure", &folder.file("b.jpg"), "--json", "--tone", "light"]).json();
    assert_eq!(photos[1]["sides"], alone["photos"][0]["sides"], "and alone, where the networks have all cores");
    assert_eq!(answer["visit"]["photographs"], 3);
    assert!(answer["visit"]["warnings"].to_string().contains("could not be used"));
}

#[test]
fn with_and_without_a_card_are_not_mixed() {
    let folder = Folder::new("mixed");
    let (one, two) = (folder.write("1.jpg", &usual().bytes), folder.write("2.jpg", &with_card().bytes));
    let answer = run(&["measure", &one, &two, "--json", "--tone", "light"]).json();
    let visit = &answer["visit"];
    assert_eq!((&visit["photographs"], &visit["mode"]), (&1.into(), &"referenced".into()));
    assert!(visit["warnings"].to_string().contains("are not mixed"), "{}", visit["warnings"]);
}

#[test]
fn an_overlay_shows_areas_card_and_values() {
    let folder = Folder::new("overlay");
    let (photo, out) = (folder.write("photo.jpg", &with_card().bytes), folder.file("out.svg"));
    assert_eq!(run(&["measure", &photo, "--overlay", &out, "--tone", "light"]).code, 0);
    let svg = std::fs::read_to_string(&out).expect("the drawing");
    for part in ["<title", "<desc", "data:image/jpeg;base64,", "Own left", "Own right", "dE00 ", " ± "] {
        assert!(svg.contains(part), "{part}");
    }
    // Twice each: 18 patches, and on each side a band, three thirds and a cheek.
    assert_eq!(svg.matches("<polygon").count(), 2 * (18 + 2 * 5));
    // The photograph's own letters may spell anything.
    let (before, rest) = svg.split_once("base64,").expect("the photograph");
    let drawn = [before, rest.split_once('"').expect("its end").1].concat();
    assert!(!drawn.contains("NaN") && !drawn.contains("style="));
    let same = run(&["measure", &photo, "--overlay", &photo]);
    assert!(same.code == 2 && same.err.contains("another one to write to"), "{}", same.err);
    assert_eq!(std::fs::read(&photo).expect("the photograph"), with_card().bytes, "the photograph is untouched");
    let two = run(&["measure", &photo, &photo, "--overlay", &out]);
    assert!(two.code == 2 && two.err.contains("--overlay is for one photograph"), "{}", two.err);
}
