//! Old recordings as drafts: the voices to build on, and what a step is and is not.

mod voices;

use plan::atlas::Atlas;
use plan::reading::MOST_STEPS;
use publish::recordings::{HeardStep, Recording, read};
use publish::timed;
use voices::{BAR, TOLERANCE_S, pairs, truths};

fn heard(text: &str) -> Recording {
    let spoken = timed::read("captions.txt", text).unwrap_or_else(|why| panic!("{why:?}\n{text}"));
    read(&Atlas::built_in(), &spoken)
}

/// The steps as `target side technique seconds`.
fn told(text: &str) -> Vec<String> {
    let atlas = Atlas::built_in();
    let row = |s: &HeardStep| {
        format!("{} {} {} {}", s.step.target_id(&atlas), s.step.side, s.step.technique_id(&atlas), s.step.seconds)
    };
    heard(text).steps.iter().map(row).collect()
}

#[test]
fn every_voice_to_build_on_is_recovered() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/words/voices/build");
    let atlas = Atlas::built_in();
    let mut looked_at = 0;
    let mut names: Vec<_> =
        std::fs::read_dir(folder).expect("the voices").filter_map(|e| Some(e.ok()?.path())).collect();
    names.sort();
    for path in names.iter().filter(|p| p.extension().is_some_and(|e| e != "csv")) {
        let text = std::fs::read_to_string(path).expect("a file");
        let truth = std::fs::read_to_string(path.with_extension("truth.csv")).ok().and_then(|t| truths(&t));
        let truth = truth.unwrap_or_else(|| panic!("{} has no truth", path.display()));
        let spoken = timed::read(&path.display().to_string(), &text).expect("captions");
        let steps = read(&atlas, &spoken).steps;
        let found = pairs(&truth, &steps, |t, s| {
            s.step.target_id(&atlas) == t.target
                && s.step.side.word() == t.side
                && s.time.is_some_and(|time| (time - t.time).abs() <= TOLERANCE_S)
        });
        let share = found.len() as f64 / truth.len() as f64;
        assert!(share >= BAR, "{}: {} of {}", path.display(), found.len(), truth.len());
        looked_at += 1;
    }
    assert!(looked_at >= 3, "{looked_at} voices");
}

#[test]
fn what_is_no_step_is_not_taken() {
    let check = |line: &str, expected: &[&str]| {
        let text = format!("0:01 Hello.\n0:10 {line}\n0:40 Bye for now.\n");
        assert_eq!(told(&text), expected, "{line}");
    };
    check("The chewing muscle is one of the strongest muscles we have.", &[]);
    check("We will come to the jaw later.", &[]);
    check("Never press on the throat.", &[]);
    check("So far we have done the temples, the cheeks and the jaw.", &[]);
    check("Let your jaw hang and your shoulders drop.", &[]);
    check("In this video we look at the temples, the cheeks and the jaw.", &[]);
    check("If you have fillers in your cheeks, skip this.", &[]);
    check("Circle the temples instead of the forehead, for ten seconds.", &["temple both small_circles 10"]);
}

#[test]
fn places_sides_and_seconds_are_understood() {
    let check = |line: &str, expected: &[&str]| {
        let text = format!("0:01 Hello.\n0:10 {line}\n0:40 Bye for now.\n");
        assert_eq!(told(&text), expected, "{line}");
    };
    check(
        "Circle the temples and the forehead, fifteen seconds.",
        &["temple both small_circles 15", "forehead both palm_rest 15"],
    );
    check("From the chin along the jaw to the ear, on the left, stroke three times.", &["jaw_edge left glide 15"]);
    check("With your right hand, hold the hollow beside the left nostril and count to ten.", &["LI20 left hold 10"]);
    check("Find the little dip under the cheekbone. Press and hold there for half a minute.", &["SI18 both hold 30"]);
    check("One finger on LI 20, both sides, hold for a count of twelve.", &["LI20 both hold 12"]);
    check("Press Yin Tang with one fingertip and hold, five slow breaths.", &["EX-HN3 midline hold 25"]);
    check("Hold large intestine twenty on the right for ten seconds.", &["LI20 right hold 10"]);
    check("Small circles on the temple at the right of your screen, ten seconds.", &["temple left small_circles 10"]);
}

#[test]
fn a_whole_side_is_done_again() {
    let text = "0:01 The left side first.\n0:05 Circle the temple, ten seconds.\n0:20 Hold the hollow beside the nostril for ten seconds.\n\
                0:40 Now repeat everything on the right side.\n1:30 Thank you.\n";
    let steps = heard(text).steps;
    assert_eq!(
        told(text),
        ["temple left small_circles 10", "LI20 left hold 10", "temple right small_circles 10", "LI20 right hold 10"]
    );
    assert!(steps[2].time == Some(40.0) && steps[3].time == Some(40.0), "{steps:?}");
    assert!(steps[3].sure.seconds < steps[1].sure.seconds, "what is only repeated is less sure");
}

#[test]
fn cautions_and_strange_places_are_told_with_their_time() {
    let all = heard(
        "0:03 If you have a fever, skip this today.\n0:20 Press your thumb into the web of the hand.\n0:40 Circle the temples.\n",
    );
    assert_eq!(all.cautions.len(), 1);
    assert_eq!(all.cautions[0].time, Some(3.0));
    assert_eq!(all.not_understood.len(), 1, "{all:?}");
    assert_eq!(all.not_understood[0].time, Some(20.0));
    assert_eq!(all.steps.len(), 1);
}

#[test]
fn every_target_has_plain_wordings_that_lead_to_it() {
    let atlas = Atlas::built_in();
    let few: Vec<&str> =
        atlas.targets.iter().map(|t| t.id.as_str()).filter(|id| publish::recordings::wordings(id) < 4).collect();
    assert!(few.is_empty(), "too few wordings: {few:?}");
}

#[test]
fn what_a_speaker_takes_back_is_not_done() {
    let check = |line: &str, expected: &[&str]| {
        let text = format!("0:01 Hello.\n0:10 {line}\n0:40 Bye for now.\n");
        assert_eq!(told(&text), expected, "{line}");
    };
    check("Circle the left temple, I mean the right one, ten seconds.", &["temple right small_circles 10"]);
    check("Lay both palms on your chest, sorry, the forehead, twenty seconds.", &["forehead both palm_rest 20"]);
    check("Circle my left, your right temple for ten seconds.", &["temple right small_circles 10"]);
    // An apology alone takes nothing back.
    check("Circle the left temple, sorry about the noise, ten seconds.", &["temple left small_circles 10"]);
}

#[test]
fn a_whole_side_is_done_again_by_few_words() {
    let text = "0:01 Left side. Circle the temple, ten seconds.\n0:20 Hold beside the nostril, ten seconds.\n0:40 Now mirror it.\n1:20 Bye.\n";
    let expected =
        ["temple left small_circles 10", "LI20 left hold 10", "temple right small_circles 10", "LI20 right hold 10"];
    assert_eq!(told(text), expected);
}

#[test]
fn more_steps_than_a_routine_has_are_told() {
    let line = |n: usize| {
        let place = if n.is_multiple_of(2) { "chin" } else { "upper lip" };
        format!("{}:{:02} Circle the {place} for ten seconds.\n", n * 20 / 60, n * 20 % 60)
    };
    let text: String = (0..MOST_STEPS + 10).map(line).collect();
    let all = heard(&text);
    assert_eq!(all.steps.len(), MOST_STEPS);
    let notes: Vec<&str> = all.not_understood.iter().map(|s| s.words.as_str()).collect();
    assert_eq!(notes, [format!("only the first {MOST_STEPS} steps were taken; what is said from here on is left out")]);
    let enough: String = (0..MOST_STEPS).map(line).collect();
    assert!(heard(&enough).not_understood.is_empty());
}

#[test]
fn places_are_known_by_many_plain_names() {
    let check = |line: &str, expected: &[&str]| {
        let text = format!("0:01 Hello.\n0:10 {line}\n0:40 Bye for now.\n");
        assert_eq!(told(&text), expected, "{line}");
    };
    check(
        "Press and let go where the nose pads of your glasses go, ten seconds.",
        &["inner_corner both press_release 10"],
    );
    check(
        "Press and let go along the bottom half of the eye socket, ten seconds.",
        &["lower_lid both press_release 10"],
    );
    check("Press and let go on the top edge of the eye socket, ten seconds.", &["upper_lid both press_release 10"]);
    check("One fingertip behind the dangly bit of the ear, hold for ten.", &["TE17 both hold 10"]);
    check("Thumbs in the two dents where the head sits on the neck, hold for ten.", &["GB20 both hold 10"]);
    check("Circle the muscle that bunches up when you bite, ten seconds.", &["jaw_muscle both small_circles 10"]);
}

#[test]
fn a_speaker_in_a_mirror_means_the_persons_side() {
    let text = "0:01 Hello.\n0:10 Your right temple, which is my left: circle it for ten seconds.\n0:30 Your left temple, my right, ten seconds.\n1:00 Bye.\n";
    assert_eq!(told(text), ["temple right small_circles 10", "temple left small_circles 10"]);
}

#[test]
fn one_above_the_other_is_no_side() {
    let text = "0:01 Left collarbone, flat hand above it, ten seconds.\n0:20 And the right.\n0:40 Hold SI19 on both sides, ten seconds.\n\
                1:00 You see that the two lie one above the other.\n1:10 Hold TE17 for ten seconds.\n1:40 Bye.\n";
    assert_eq!(told(text).last().map(String::as_str), Some("TE17 both hold 10"));
}

#[test]
fn what_is_taken_back_by_other_words_is_not_done() {
    let check = |line: &str, expected: &[&str]| {
        let text = format!("0:01 Hello.\n0:10 {line}\n0:40 Bye for now.\n");
        assert_eq!(told(&text), expected, "{line}");
    };
    check(
        "little circles on the forehead what am I saying on the temples for ten seconds",
        &["temple both small_circles 10"],
    );
    check(
        "hold the dip on the upper lip no that's not it the dip under the lower lip ten seconds",
        &["CV24 midline hold 10"],
    );
}

#[test]
fn a_whole_side_is_done_again_where_nobody_punctuated() {
    let text = "0:01 hello\n0:30 hand in the hollow above the right collarbone flat twelve seconds\n\
                0:50 stroke from behind the right ear down the side of the neck\n\
                1:10 all of that on the left side now I'll leave you to it\n2:00 that's it bye\n";
    let steps: Vec<String> = told(text).iter().map(|s| s.split(' ').take(2).collect::<Vec<_>>().join(" ")).collect();
    assert_eq!(steps, ["outlet right", "neck_descent right", "outlet left", "neck_descent left"]);
}

/// Nothing that a hand was told to do is lost in silence.
#[test]
fn what_is_in_no_step_is_told_as_not_understood() {
    let text = "0:01 Before we start, a few words about safety.\n0:10 Stroke along the jaw.\n0:20 Place three fingers there and draw circles.\n\
                0:30 Rest your palms over your closed eyes without pressing.\n0:40 One side after the other, never both at once.\n";
    let recording = heard(text);
    assert_eq!(told(text).len(), 1, "{:?}", recording.steps);
    let not: Vec<(Option<f64>, &str)> = recording.not_understood.iter().map(|s| (s.time, s.words.as_str())).collect();
    assert_eq!(
        not,
        [
            (Some(20.0), "Place three fingers there and draw circles."),
            (Some(30.0), "Rest your palms over your closed eyes without pressing."),
        ]
    );
    // What a step took is not told again.
    let text = "0:01 Hello.\n0:10 Hold both temples for ten seconds.\n0:14 Press a little, and let go.\n0:50 Bye.\n";
    assert_eq!((told(text).len(), heard(text).not_understood), (1, Vec::new()));
}
