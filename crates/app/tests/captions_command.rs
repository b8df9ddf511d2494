//! Journeys of `tragion captions`: what is written, what is refused, and timings taken anew.

mod house;

use std::fs;

use house::{Folder, Said, example, run};
use serde_json::Value;

const NAMES: [&str; 9] = [
    "captions.srt",
    "captions.vtt",
    "chapters.txt",
    "cues.wav",
    "description.txt",
    "script.md",
    "shots.csv",
    "shots.txt",
    "times.csv",
];

fn captions(routine: &str, out: &str, more: &[&str]) -> Said {
    run(&[&["captions", routine, "--out", out], more].concat())
}

fn names(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder");
    let mut all: Vec<String> =
        entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    all.sort();
    all
}

fn read(folder: &str, name: &str) -> String {
    fs::read_to_string(format!("{folder}/{name}")).expect("a text")
}

fn starts(said: &Value) -> Vec<f64> {
    let steps = said["steps"].as_array().expect("steps");
    steps.iter().map(|s| s["starts"].as_f64().expect("a number")).collect()
}

#[test]
fn a_routine_for_an_audience_becomes_nine_files_and_the_same_ones_again() {
    let folder = Folder::new("captions-nine");
    let (out, again) = (folder.file("new/folder"), folder.file("again"));
    let said = captions(&example("routine_audience.toml"), &out, &[]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(names(&out), NAMES);
    for name in NAMES {
        assert!(said.out.contains(name), "{name} is not said to be written: {}", said.out);
    }
    assert!(said.out.contains("The routine takes 8 minutes; with all that is said, the video takes"), "{}", said.out);
    // What did not fit is told, in the words that it is about.
    assert!(said.err.contains("begin later") && said.err.contains("so this is not said: “"), "{}", said.err);
    assert_eq!(captions(&example("routine_audience.toml"), &again, &[]).code, 0);
    for name in NAMES {
        let bytes = |folder: &str| fs::read(format!("{folder}/{name}")).expect("a file");
        assert!(bytes(&out) == bytes(&again), "{name}: the same routine, other bytes");
    }
    let script = read(&out, "script.md");
    assert!(script.starts_with("# Routine audience\n"), "{script}");
    for words in [
        "## Before you begin",
        "### 1. hollow above the collarbone, your left",
        "This is not medical advice.",
        "Do not join in today if",
    ] {
        assert!(script.contains(words), "{words}");
    }
    assert!(read(&out, "captions.vtt").starts_with("WEBVTT\n\n1\n00:00:00.600 --> "));
    assert!(read(&out, "chapters.txt").starts_with("0:00 Before you begin\n"));
    assert!(read(&out, "description.txt").starts_with("Routine audience: facial self-massage, 16 minutes\n"));
    let told = folder.file("told");
    let more = ["--own", "my stone, https://example.org/stone", "--paid", "Stone & Co", "--concern", "tired_eyes"];
    assert_eq!(captions(&example("routine_audience.toml"), &told, &more).code, 0);
    let text = read(&told, "description.txt");
    let front = "\n\nAdvertisement: this video was paid for by Stone & Co.\nMy own product, which I sell: my stone, https://example.org/stone\n\n";
    assert!(text.contains(front) && text.contains("No trial of massage or acupressure alone"), "{text}");
}

#[test]
fn in_german_all_that_is_said_is_german_and_what_is_told_is_not() {
    let folder = Folder::new("captions-german");
    let out = folder.file("out");
    let said = captions(&example("routine_audience.toml"), &out, &["--language", "de", "--name", "Abends", "--count"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("steps begin later") && !said.err.contains("no text in the language"), "{}", said.err);
    assert!(read(&out, "captions.vtt").contains("federleicht") && read(&out, "captions.srt").contains("Fünf. Vier."));
    assert!(read(&out, "chapters.txt").starts_with("0:00 Bevor Sie beginnen\n"));
    assert!(read(&out, "shots.txt").contains("links im Bild"));
}

#[test]
fn sides_are_said_as_the_screen_shows_them() {
    let folder = Folder::new("captions-sides");
    // Own left of a face that looks into the camera lies on the right of a picture that is not mirrored.
    for (on, here, said_side) in [
        ("mirror", "left of the picture (else: on the right", "your left"),
        ("own", "right of the picture (else: on the left", "your left"),
        ("model", "right of the picture (else: on the left", "their left"),
        ("model-mirrored", "left of the picture (else: on the right", "their left"),
    ] {
        let out = folder.file(on);
        let said = captions(&example("routine_audience_jaw.toml"), &out, &["--on", on]);
        assert_eq!(said.code, 0, "{}", said.err);
        let shots = read(&out, "shots.txt");
        let shot = shots
            .split("\n\n")
            .find(|s| s.contains(said_side) && !s.contains("; 2 "))
            .unwrap_or_else(|| panic!("{on}: {shots}"));
        assert!(shot.contains(&format!("Side: on the {here}")), "{on}: {shot}");
        assert!(read(&out, "script.md").contains(said_side), "{on}");
    }
}

#[test]
fn times_are_edited_and_all_is_made_anew_for_them() {
    let folder = Folder::new("captions-times");
    let (first, second) = (folder.file("first"), folder.file("second"));
    let routine = example("routine_audience.toml");
    let planned = captions(&routine, &first, &["--json"]).json();
    let before = starts(&planned);
    // Seven seconds later from the third step on; most of the rest was not tapped.
    let mut list = String::from("step;starts\n");
    for (i, start) in before.iter().enumerate() {
        if i < 3 || i % 4 == 0 || i + 1 == before.len() {
            let later = start + if i >= 2 { 7.0 } else { 0.0 };
            list.push_str(&format!("{};{}:{:04.1}\n", i + 1, later as u64 / 60, later % 60.0));
        }
    }
    let times = folder.write("taps.csv", &list);
    let said = captions(&routine, &second, &["--times", &times, "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let after = starts(&said.json());
    assert_eq!(after.len(), before.len());
    for (i, (a, b)) in after.iter().zip(&before).enumerate() {
        let later = if i >= 2 { 7.0 } else { 0.0 };
        assert!((a - b - later).abs() < 0.06, "step {}: {b} became {a}", i + 1);
    }
    assert!(!said.err.contains("run over"), "{}", said.err);
    // The list that is written is read again and leads to the same.
    let third = folder.file("third");
    let again = captions(&routine, &third, &["--times", &format!("{second}/times.csv"), "--json"]);
    assert_eq!(starts(&again.json()), after, "{}", again.err);
    assert_eq!(read(&second, "captions.vtt"), read(&third, "captions.vtt"));
    // In the same folder, only when told so; the list itself is never in the way.
    let there = format!("{second}/times.csv");
    let refused = captions(&routine, &second, &["--times", &there]);
    assert!(
        refused.code == 2 && refused.err.contains("--force") && !refused.err.contains("times.csv"),
        "{}",
        refused.err
    );
    assert_eq!(captions(&routine, &second, &["--times", &there, "--force"]).code, 0);
}

#[test]
fn a_hurried_video_keeps_its_bounds_and_tells_which_words_do_not_fit() {
    let folder = Folder::new("captions-hurried");
    let (first, out) = (folder.file("first"), folder.file("out"));
    let routine = example("routine_audience_jaw.toml");
    let before = starts(&captions(&routine, &first, &["--json"]).json());
    let mut list = String::from("step,starts,name\n");
    for (i, start) in before.iter().enumerate() {
        list.push_str(&format!("{},{:.3},x\n", i + 1, start / 2.0));
    }
    let times = folder.write("taps.csv", &list);
    let said = captions(&routine, &out, &["--times", &times, "--length", "8:00", "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("they run over by") && said.err.contains("Shorten them"), "{}", said.err);
    let mut end = 0.0;
    for cue in said.json()["captions"].as_array().expect("captions") {
        let (from, to) = (cue["from"].as_f64().expect("from"), cue["to"].as_f64().expect("to"));
        let lines: Vec<&str> = cue["lines"].as_array().expect("lines").iter().filter_map(Value::as_str).collect();
        let letters = lines.join(" ").chars().count() as f64;
        assert!(
            from >= end && to - from >= 1.0 - 1e-9 && to - from <= 7.0 + 1e-9 && letters / (to - from) <= 17.001,
            "{cue}"
        );
        end = to;
    }
}

#[test]
fn every_wrong_input_is_an_error_that_says_what_to_do() {
    let folder = Folder::new("captions-wrong");
    let (file, routine) = (folder.write("a file", "x"), example("routine_audience.toml"));
    let list = |name: &str, text: &str| folder.write(name, text);
    let (head, order, double, none, word, step, twice, room) = (
        list("head.csv", "when,what\n1,2\n"),
        list("order.csv", "step,starts\n1,20\n2,10\n"),
        list("double.csv", "step,starts\n1,20\n2,20.3\n"),
        list("none.csv", "step,starts\n"),
        list("word.csv", "step,starts\n1,soon\n"),
        list("step.csv", "step,starts\n31,900\n"),
        list("twice.csv", "step,starts\n1,20\n1,30\n"),
        list("room.csv", "step,starts\n5,0:00\n"),
    );
    let long = "n".repeat(121);
    let cases: Vec<(Vec<&str>, &str)> = vec![
        (vec!["--times", &head], "step,starts,name"),
        (vec!["--times", &order], "before step 1 at 0:20"),
        (vec!["--times", &double], "a tap too many"),
        (vec!["--times", &none], "give at least one"),
        (vec!["--times", &word], "line 2: `soon` is no time"),
        (vec!["--times", &step], "steps 1 to 30"),
        (vec!["--times", &twice], "step 1 is there twice"),
        (vec!["--times", &room], "leaves the 4 steps before it"),
        (vec!["--paid", " "], "--paid: nothing is said with it"),
        (vec!["--own", "the course", "--own", ""], "--own: nothing is said with it"),
        (vec!["--times", "nowhere.csv"], "nowhere.csv"),
        (vec!["--length", "8:00"], "--times"),
        (vec!["--times", &order, "--length", "8:70"], "8:70"),
        (vec!["--language", "tlh"], "tlh"),
        (vec!["--on", "face"], "mirror"),
        (vec!["--pace", "3"], "from 12.5 to 17"),
        (vec!["--pace", "fast"], "such as 14"),
        (vec!["--concern", "tight_yaw"], "`tight_jaw`"),
        (vec!["--unpaid", "--gifted", "the oil"], "beside a payment"),
        (vec!["--name", " \t "], "--name"),
        (vec!["--name", &long], "120 letters"),
    ];
    for (more, part) in cases {
        let out = folder.file("out");
        let said = captions(&routine, &out, &more);
        assert_eq!(said.code, 2, "{more:?}: {}", said.err);
        assert!(said.err.contains(part), "{more:?} does not say {part:?}: {}", said.err);
        assert!(!fs::exists(&out).expect("a look"), "{more:?} left something behind");
    }
    let said = captions(&routine, &file, &[]);
    assert!(said.code == 2 && said.err.contains("not a folder"), "{}", said.err);
    let said = run(&["captions", &routine]);
    assert!(said.code == 2 && said.err.contains("--out"), "{}", said.err);
    let said = captions(&example("refused/routine_typo.toml"), &folder.file("out"), &[]);
    assert_eq!(said.code, 2, "{}", said.err);
}

#[test]
fn a_name_that_claims_is_told() {
    let folder = Folder::new("captions-named");
    let name =
        |name: &str, out: &str| captions(&example("routine_audience_jaw.toml"), &folder.file(out), &["--name", name]);
    let said = name("Erase wrinkles and cure migraine", "claims");
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("wrinkles") && said.err.contains("Give it another name with --name."), "{}", said.err);
    let said = name("A quiet jaw, in the evening", "quiet");
    assert!(said.code == 0 && !said.err.contains("another name"), "{}", said.err);
}

#[test]
fn what_is_for_one_person_is_refused_and_a_file_of_somebody_else_is_not_replaced() {
    let folder = Folder::new("captions-theirs");
    let out = folder.file("out");
    let said = captions(&example("routine.toml"), &out, &[]);
    assert!(said.code == 2 && said.err.contains("audience = true"), "{}", said.err);
    assert!(!fs::exists(&out).expect("a look"));
    fs::create_dir_all(&out).expect("a folder");
    fs::write(format!("{out}/cues.wav"), "theirs").expect("a file");
    let said = captions(&example("routine_audience.toml"), &out, &[]);
    assert!(said.code == 2 && said.err.contains("cues.wav") && said.err.contains("--force"), "{}", said.err);
    assert_eq!(names(&out), ["cues.wav"]);
    assert_eq!(captions(&example("routine_audience.toml"), &out, &["--force"]).code, 0);
    assert_eq!(names(&out), NAMES);
}

/// A routine for an audience with a step that only a full intake opens, and one of nothing else.
#[test]
fn what_not_everybody_may_do_is_left_out_and_named_and_nothing_at_all_ends_with_one() {
    let folder = Folder::new("captions-left-out");
    let text = fs::read_to_string(example("routine_audience.toml")).expect("the example");
    let closed = "movement = \"work\"\ntarget = \"jaw_muscle\"\nside = \"left\"\ntechnique = \"hold\"\ntool = \"hands\"\npressure = \
                  \"firm\"\nseconds = 10\n";
    let at = text.find("[[step]]\nmovement = \"work\"").expect("work");
    let with = format!("{}[[step]]\n{closed}\n{}", &text[..at], &text[at..]);
    let out = folder.file("out");
    let said = captions(&folder.write("with.toml", &with), &out, &[]);
    assert_eq!(said.code, 1, "firm for everybody is a breach: {}", said.err);
    assert!(said.err.contains("tragion check") && said.err.contains("only featherlight"), "{}", said.err);
    let front = closed.replace("firm", "featherlight").replace("jaw_muscle", "neck_front");
    let only = format!("minutes = 8\naudience = true\n\n[[step]]\n{front}");
    let said = captions(&folder.write("only.toml", &only), &out, &[]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("nothing of this routine may be done by everybody"), "{}", said.err);
    assert!(!fs::exists(&out).expect("a look"), "what was refused left something behind");
    let with = format!("{}[[step]]\n{front}\n{}", &text[..at], &text[at..]);
    let said = captions(&folder.write("front.toml", &with), &out, &["--language", "de"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(
        said.out.contains("Left out, since not everybody may do it: Front of the neck, your left."),
        "{}",
        said.out
    );
    assert!(!read(&out, "script.md").contains("Vorderseite des Halses"));
}
