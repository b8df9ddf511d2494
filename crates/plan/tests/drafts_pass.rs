//! What the planner drafts, the check of hand-written routines passes: two readings of one model.
// The examples are read as files, so that a new one can't be forgotten.
#![allow(clippy::disallowed_methods)]

use std::collections::BTreeSet;
use std::path::Path;

use plan::atlas::Atlas;
use plan::check::check;
use plan::draft::{LeftOut, NoReason, OutReason, Release};
use plan::reading::{RoutineFile, write_routine};
use plan::request::Request;
use plan::screening::{Answers, Clearance};
use plan::solve::{Outcome, draft};
use vocab::{Date, Side};

#[test]
fn every_example_request_has_a_proven_draft_that_passes_the_check() {
    let atlas = Atlas::built_in();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut seen = 0;
    for entry in std::fs::read_dir(&folder).expect("the folder of examples") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().and_then(|n| n.to_str()).unwrap_or_default().to_owned();
        if !name.starts_with("request") {
            continue;
        }
        seen += 1;
        let text = std::fs::read_to_string(&path).expect("a readable example");
        let request = Request::parse(&name, &text, &atlas).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        let clearance = match &request.answers {
            None => Clearance::audience(&atlas),
            Some(file) => {
                let text = std::fs::read_to_string(folder.join(file)).expect("readable answers");
                let answers = Answers::parse(file, &text, &atlas).unwrap_or_else(|f| panic!("{file}: {f:?}"));
                Clearance::new(&atlas, &answers, Date::new(2026, 3, 2).expect("a day"))
            }
        };
        let drafted = match draft(&atlas, &request, &clearance) {
            Outcome::Draft(drafted) => drafted,
            Outcome::None(none) => panic!("{name} has no draft: {none:?}"),
        };
        assert!(drafted.proven_best, "{name}: {} of {}", drafted.gain, drafted.bound);
        let steps: Vec<_> = drafted.steps.iter().map(|s| s.step.clone()).collect();
        let routine = RoutineFile {
            minutes: request.minutes,
            tools: request.tools.clone(),
            audience: request.audience,
            answers: request.answers.clone(),
            steps,
        };
        let breaches = check(&atlas, &routine, &clearance);
        assert_eq!(breaches, [], "{name}");
        let answers = request.answers.as_deref();
        let written = write_routine(&atlas, request.minutes, request.audience, answers, &routine.steps);
        let again = RoutineFile::parse("again.toml", &written, &atlas).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        assert_eq!(again.steps, routine.steps, "{name}");
        assert_eq!((again.audience, again.answers), (routine.audience, routine.answers), "{name}");
    }
    assert!(seen >= 10, "{seen} requests");
}

fn read(example: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    std::fs::read_to_string(folder.join(example)).expect("a readable example")
}

/// What comes of a request's text with the answers of an example file.
fn outcome(atlas: &Atlas, request: &str, answers: &str) -> Outcome {
    let request = Request::parse("request.toml", request, atlas).expect("it reads");
    let answers = Answers::parse(answers, &read(answers), atlas).expect("they read");
    let clearance = Clearance::new(atlas, &answers, Date::new(2026, 3, 2).expect("a day"));
    draft(atlas, &request, &clearance)
}

/// The draft of an example request with the answers of a file, as steps.
fn steps(atlas: &Atlas, request: &str, answers: &str) -> Vec<plan::routine::Step> {
    match outcome(atlas, &read(request), answers) {
        Outcome::Draft(drafted) => drafted.steps.into_iter().map(|s| s.step).collect(),
        Outcome::None(_) => Vec::new(),
    }
}

#[test]
fn each_class_of_clearance_changes_a_draft() {
    let atlas = Atlas::built_in();
    for (class, request, answers) in [
        ("leave out", "request_neck_out.toml", "answers_neck_out.toml"),
        ("leave out on one side", "request_device_left.toml", "answers_device_left.toml"),
        ("ask first", "request_filler_left.toml", "answers_filler_left.toml"),
        ("ask first, cleared", "request_cleared.toml", "answers_cleared.toml"),
        ("gently", "request_gently.toml", "answers_gently.toml"),
        ("the door", "request_door.toml", "answers.toml"),
    ] {
        let (as_answered, as_anybody) = (steps(&atlas, request, answers), steps(&atlas, request, "answers_full.toml"));
        assert!(!as_answered.is_empty() && !as_anybody.is_empty(), "{class}: {request}");
        assert_ne!(as_answered, as_anybody, "{class}: {request} is as for anybody");
    }
    assert!(steps(&atlas, "request.toml", "answers_stop.toml").is_empty(), "a stop is a stop");
    assert!(steps(&atlas, "request.toml", "answers_ask.toml").is_empty(), "what is unknown asks");
}

#[test]
fn a_stop_is_waited_out_and_no_clinicians_word_is_asked_for() {
    let atlas = Atlas::built_in();
    let Outcome::None(none) = outcome(&atlas, &read("request.toml"), "answers_stop.toml") else {
        panic!("a stop is a stop")
    };
    let NoReason::Stop { rules } = &none.reason else { panic!("{none:?}") };
    assert_eq!(rules, &["acute_infection.1"]);
    assert_eq!(none.release, [Release::Wait(rules.clone())]);
}

#[test]
fn left_and_right_that_are_out_for_one_reason_are_one_row() {
    let atlas = Atlas::built_in();
    let drafted = |free: &str, minutes: u32| {
        let request = format!("minutes = {minutes}\nconcerns = [\"tight_jaw\"]\nfree = {free}\n");
        match outcome(&atlas, &request, "answers_full.toml") {
            Outcome::Draft(drafted) => drafted,
            Outcome::None(none) => panic!("{minutes} minutes: {none:?}"),
        }
    };
    let mut compared = 0;
    for minutes in 3..=8 {
        let alike = drafted("[]", minutes);
        for name in ["ST7", "temple", "jaw_edge", "cheek_back", "before_ear", "SI18"] {
            let at = format!("{name}, {minutes} minutes");
            let target = atlas.target_named(name).expect("it is in the atlas");
            let rows = |list: &[LeftOut]| list.iter().filter(|o| o.target == target).cloned().collect::<Vec<_>>();
            // Freed, its sides are two decisions.
            let freed = drafted(&format!("[{name:?}]"), minutes);
            let out = rows(&freed.left_out);
            let kinds: BTreeSet<_> = out.iter().map(|o| format!("{:?}", std::mem::discriminant(&o.reason))).collect();
            assert_eq!(kinds.len(), out.len(), "{at}: one reason, two rows: {out:?}");
            // Both out beside the same steps: then the row is that of the pair which is decided as one, seconds included.
            let same_steps = freed.steps.iter().map(|s| &s.step).eq(alike.steps.iter().map(|s| &s.step));
            if same_steps && !out.is_empty() {
                compared += 1;
                assert!(
                    matches!(out[0].reason, OutReason::Seconds { .. }) && out[0].side == Side::Both,
                    "{at}: {out:?}"
                );
                assert_eq!(rows(&alike.left_out), out, "{at}");
            }
        }
    }
    assert!(compared >= 10, "only {compared} compared");
}
