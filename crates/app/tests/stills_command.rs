//! Stills from the command line: beside the kit, of the size, light and language that are asked for.

mod house;

use house::{Folder, example, run, unique};

#[test]
fn stills_are_written_beside_the_kit_where_they_are_asked_for() {
    let folder = Folder::new(&unique("stills"));
    let (routine, out) = (example("routine_audience_jaw.toml"), folder.file("kit"));
    let plain = run(&["captions", &routine, "--out", &folder.file("plain"), "--json"]);
    assert_eq!(plain.code, 0, "{}", plain.err);
    let pictures = |at: &str| -> Vec<String> {
        let all = std::fs::read_dir(at).expect("the kit");
        let mut names: Vec<String> = all.filter_map(|e| e.ok()?.file_name().into_string().ok()).collect();
        names.retain(|n| n.ends_with(".png"));
        names.sort();
        names
    };
    assert!(pictures(&folder.file("plain")).is_empty());
    let made = run(&["captions", &routine, "--out", &out, "--stills", "tall", "--light", "night"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let (names, steps) = (pictures(&out), std::fs::read_to_string(format!("{out}/times.csv")).expect("times"));
    assert_eq!(names.len(), steps.lines().count() - 1, "a still for each step");
    assert!(names.iter().all(|n| n.ends_with("-tall-night.png")), "{names:?}");
    let first = std::fs::read(format!("{out}/{}", names[0])).expect("a still");
    // Width and height stand in the first chunk of a PNG.
    assert_eq!((&first[1..4], &first[16..24]), (b"PNG".as_slice(), [0, 0, 4, 56, 0, 0, 7, 128].as_slice()));
    let wrong = run(&["captions", &routine, "--out", &out, "--stills", "square"]);
    assert_eq!(wrong.code, 2);
    assert!(wrong.err.contains("wide") && wrong.err.contains("tall"), "{}", wrong.err);
    assert_eq!(run(&["captions", &routine, "--out", &out, "--light", "night"]).code, 2);
}
