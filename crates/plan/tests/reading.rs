//! Requests and routines as read from files: the examples, what is refused, and random text.
// The examples are read as files, so that a new one can't be forgotten.
#![allow(clippy::disallowed_methods)]

#[path = "common/book.rs"]
mod book;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use book::Book;
use plan::atlas::{Atlas, ToolIx};
use plan::check::check;
use plan::reading::{RoutineFile, infer_movements, write_routine};
use plan::request::{Order, Request, SideMode};
use plan::routine::What;
use plan::screening::{Answers, Clearance};
use proptest::prelude::*;
use vocab::{Date, Finding, Movement, Side};

fn atlas() -> &'static Atlas {
    static ATLAS: OnceLock<Atlas> = OnceLock::new();
    ATLAS.get_or_init(Atlas::built_in)
}

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

/// Every file of a folder whose name begins like this, with its text.
fn files(folder: &Path, begins: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder).expect("the folder of examples") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().and_then(|n| n.to_str()).unwrap_or_default().to_owned();
        if name.starts_with(begins) && name.ends_with(".toml") {
            found.insert(name, std::fs::read_to_string(&path).expect("a readable example"));
        }
    }
    assert!(!found.is_empty(), "no {begins}*.toml");
    found
}

fn request(text: &str) -> Result<Request, Vec<Finding>> {
    Request::parse("r.toml", text, atlas())
}

/// The findings of a request that is refused, as lines of text.
fn refused(text: &str) -> Vec<String> {
    request(text).expect_err("refused").iter().map(ToString::to_string).collect()
}

#[test]
fn every_example_reads_and_names_answers_that_read() {
    for (name, text) in files(&folder(""), "request") {
        let request = Request::parse(&name, &text, atlas()).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        assert!(request.answers.is_some() != request.audience, "{name} is for a person or for an audience");
        if let Some(file) = request.answers {
            let text = std::fs::read_to_string(folder(&file)).unwrap_or_else(|e| panic!("{name}: {file}: {e}"));
            Answers::parse(&file, &text, atlas()).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        }
    }
}

#[test]
fn the_routine_of_the_examples_passes_with_its_answers() {
    for (name, text) in files(&folder(""), "routine") {
        let routine = RoutineFile::parse(&name, &text, atlas()).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        // A routine for whoever listens names nobody's answers.
        let clearance = if routine.audience {
            assert_eq!(routine.answers, None, "{name}");
            Clearance::audience(atlas())
        } else {
            let file = routine.answers.clone().unwrap_or_else(|| panic!("{name} names its answers"));
            let text = std::fs::read_to_string(folder(&file)).unwrap_or_else(|e| panic!("{name}: {file}: {e}"));
            let answers = Answers::parse(&file, &text, atlas()).unwrap_or_else(|f| panic!("{name}: {f:?}"));
            Clearance::new(atlas(), &answers, Date::new(2026, 3, 2).expect("a day"))
        };
        assert_eq!(check(atlas(), &routine, &clearance), [], "{name}");
    }
}

#[test]
fn what_is_refused_says_line_and_reason() {
    let refused = folder("refused");
    let requests = files(&refused, "request").into_iter().map(|(name, text)| {
        let findings = Request::parse(&name, &text, atlas()).map(|_| ()).expect_err(&name);
        (name, text, findings)
    });
    let routines = files(&refused, "routine").into_iter().map(|(name, text)| {
        let findings = RoutineFile::parse(&name, &text, atlas()).map(|_| ()).expect_err(&name);
        (name, text, findings)
    });
    for (name, text, findings) in requests.chain(routines) {
        let expected = text.lines().find_map(|l| l.strip_prefix("# expected: "));
        let expected = format!("{name}:{}", expected.unwrap_or_else(|| panic!("{name} says what it expects")));
        let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
        assert!(said.iter().any(|s| s.starts_with(&expected)), "{name}: expected `{expected}`, got {said:#?}");
    }
}

#[test]
fn a_full_request_reads_as_written() {
    let text = std::fs::read_to_string(folder("request_by_hand.toml")).expect("the example");
    let read = request(&text).expect("it reads");
    let id = |ix: plan::atlas::TargetIx| atlas().target(ix).id.as_str();
    assert_eq!(read.minutes, 12);
    assert_eq!(read.concerns.iter().map(|c| c.priority).collect::<Vec<_>>(), [5, 2]);
    assert_eq!(read.tools.iter().map(|t| atlas().tool(*t).id.as_str()).collect::<Vec<_>>(), ["hands", "edge_stone"]);
    assert_eq!(read.wanted.iter().map(|w| id(w.target)).collect::<Vec<_>>(), ["temple"]);
    assert_eq!(read.unwanted.iter().map(|w| id(w.target)).collect::<Vec<_>>(), ["ST7"]);
    assert_eq!(read.free.iter().map(|t| id(*t)).collect::<Vec<_>>(), ["jaw_muscle"]);
    assert_eq!(read.weights.iter().map(|(t, w)| (id(*t), *w)).collect::<Vec<_>>(), [("ST6", 60), ("chin", 0)]);
    assert_eq!(read.tender.iter().map(|t| id(*t)).collect::<Vec<_>>(), ["temple"]);
    assert_eq!(read.softer.iter().map(|t| id(*t)).collect::<Vec<_>>(), ["jaw_edge"]);
    assert_eq!((read.locked[0].side, read.locked[0].seconds), (Some(Side::Left), Some(15)));
    assert_eq!(read.locked[1].seconds, Some(10), "two laps of five seconds");
    assert_eq!((read.side_mode, read.order), (SideMode::TargetByTarget, Order::Outward));
}

#[test]
fn a_tool_that_no_technique_takes_is_refused() {
    let mut atlas = atlas().clone();
    let mut spoon = atlas.tools[0].clone();
    spoon.id = "spoon".into();
    atlas.tools.push(spoon);
    let text = "minutes = 8\nconcerns = [\"tight_jaw\"]\ntools = [\"spoon\"]\n";
    let findings = Request::parse("r.toml", text, &atlas).expect_err("refused");
    assert_eq!(findings[0].line, 3);
    assert!(findings[0].message.contains("no technique takes this tool"), "{findings:?}");
}

#[test]
fn every_mistake_of_a_file_is_said_at_once() {
    let said = refused(
        "minutes = 1\nconcerns = [\"tight_jaw\", \"tight_jaw\"]\nsides = \"both\"\nfree = [\"chin\"]\n\
         wanted = [\"ST6\", \"ST6\"]\n[weights]\nST6 = 101\nST99 = 3\n[[lock]]\ntarget = \"ST7\"\nlaps = 2\n\
         [[unwant]]\ntarget = \"ST7\"\nside = \"both\"\n",
    );
    for part in [
        "r.toml:1: `minutes` is 1, but must be from 2 to 60",
        "r.toml:2: the concern `tight_jaw` is named twice",
        "r.toml:3: `sides` names `both`",
        "r.toml:4: `free` names `chin`, which exists once",
        "r.toml:5: `ST6` is named twice under `wanted`",
        "r.toml:7: weights: `ST6` is 101, but must be from 0 to 100",
        "r.toml:8: weights: `weights` names `ST99`",
        "r.toml:11: `ST7` is not a line and has no laps",
        "r.toml:14: `side` is one side",
    ] {
        assert!(said.iter().any(|s| s.starts_with(part)), "`{part}` is not in {said:#?}");
    }
    let said = refused("minutes = 8\nconcerns = []\n");
    assert!(said[0].starts_with("r.toml:2: no concern is asked"), "{said:?}");
    let said = refused("minutes = 8\nconcerns = [\"tight_jaws\"]\n");
    assert_eq!(said.len(), 1, "a slip in a concern is not the lack of one: {said:?}");
    let said = refused("minutes = 8\nunwanted = [\"ST6\"]\n[[lock]]\ntarget = \"ST6\"\nside = \"left\"\n");
    assert!(said[0].contains("both locked and unwanted"), "{said:?}");
}

#[test]
fn a_written_routine_reads_back_the_same() {
    for (name, text) in files(&folder(""), "routine") {
        let read = RoutineFile::parse(&name, &text, atlas()).expect("it reads");
        let written = write_routine(atlas(), read.minutes, false, Some("an \"odd\"\\\n name.toml"), &read.steps);
        let again = RoutineFile::parse("again.toml", &written, atlas()).expect("it reads again");
        assert_eq!(again.steps, read.steps);
        assert_eq!(again.answers.as_deref(), Some("an \"odd\"\\\n name.toml"));
        assert_eq!((again.minutes, again.audience), (read.minutes, false));
        let written = write_routine(atlas(), read.minutes, true, Some("answers.toml"), &read.steps);
        let again = RoutineFile::parse("again.toml", &written, atlas()).expect("it reads again");
        assert_eq!((again.audience, again.answers, again.steps), (true, None, read.steps));
    }
}

#[test]
fn movements_go_without_saying() {
    let text = std::fs::read_to_string(folder("routine.toml")).expect("the example");
    let read = RoutineFile::parse("routine.toml", &text, atlas()).expect("it reads");
    let count = |movement| read.steps.iter().filter(|s| s.movement == movement).count();
    assert_eq!(Movement::ALL.map_count(count), [8, 1, 6, 8]);
    // One opening and the same stroke again, with nothing between: opened and closed.
    let mut steps = vec![read.steps[0].clone(), read.steps[0].clone()];
    infer_movements(atlas(), &mut steps, &[false, false]);
    assert_eq!(steps.iter().map(|s| s.movement).collect::<Vec<_>>(), [Movement::Open, Movement::Close]);
    // What is said stays.
    infer_movements(atlas(), &mut steps, &[true, true]);
    assert_eq!(steps[1].movement, Movement::Close);
    assert!(read.steps.iter().any(|s| s.what == What::Oil && s.movement == Movement::Prepare));
}

/// Counts by movement, in their order.
trait MapCount {
    fn map_count(self, count: impl Fn(Movement) -> usize) -> Vec<usize>;
}

impl MapCount for &[Movement] {
    fn map_count(self, count: impl Fn(Movement) -> usize) -> Vec<usize> {
        self.iter().map(|m| count(*m)).collect()
    }
}

// -- Random text.

/// Words that bring random text near to a file that reads.
const KEYS: &[&str] = &[
    "minutes",
    "concerns",
    "tools",
    "both",
    "sides",
    "order",
    "answers",
    "audience",
    "wanted",
    "unwanted",
    "free",
    "weights",
    "lock",
    "want",
    "unwant",
    "concern",
    "id",
    "priority",
    "target",
    "side",
    "technique",
    "tool",
    "seconds",
    "laps",
    "step",
    "pressure",
    "movement",
    "groups",
    "conditions",
    "asked",
    "answer",
    "where",
    "since",
    "cleared",
    "by",
    "until",
    "warning_signs",
    "sign",
    "filler",
    "ST6",
    "minuts",
    "\"\"",
];
const VALUES: &[&str] = &[
    "8",
    "0",
    "-1",
    "200",
    "99999999999999999999",
    "0x10",
    "3.5",
    "nan",
    "true",
    "\"tight_jaw\"",
    "\"ST6\"",
    "\"left\"",
    "\"both\"",
    "\"midline\"",
    "\"jaw_edge\"",
    "\"hold\"",
    "\"oil\"",
    "\"spread\"",
    "\"hands\"",
    "\"outward\"",
    "\"yes\"",
    "\"no\"",
    "[]",
    "[1]",
    "[[]]",
    "[\"ST6\", \"ST6\"]",
    "{}",
    "{ answer = \"yes\", side = \"left\" }",
    "2026-03-01",
    "\"2026-13-40\"",
    "\"\"",
    "\"\\u0000\"",
    "\"äöü🙂\"",
    "[{ target = \"ST6\", laps = 3 }]",
    "\"light\"",
    "\"work\"",
    "",
];

fn line() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (prop::sample::select(KEYS), prop::sample::select(VALUES)).prop_map(|(k, v)| format!("{k} = {v}")),
        2 => prop::sample::select(KEYS).prop_map(|k| format!("[[{k}]]")),
        1 => prop::sample::select(KEYS).prop_map(|k| format!("[{k}]")),
        1 => "\\PC{0,30}",
    ]
}

/// Reads a text as everything it could be, and checks it when it is a routine.
fn read_all(text: &str) {
    if let Err(findings) = request(text) {
        assert!(!findings.is_empty());
    }
    if let Ok(answers) = Answers::parse("a.toml", text, atlas()) {
        Clearance::new(atlas(), &answers, Date::new(2026, 3, 2).expect("a day"));
    }
    match RoutineFile::parse("p.toml", text, atlas()) {
        Err(findings) => assert!(!findings.is_empty()),
        Ok(routine) => {
            let unknown = Clearance::new(atlas(), &Answers::unknown(atlas()), Date::new(2026, 3, 2).expect("a day"));
            for breach in check(atlas(), &routine, &unknown) {
                assert!(!breach.message(Book::english(), atlas(), &unknown, &routine.steps).is_empty());
            }
            let RoutineFile { minutes, audience, answers, steps, .. } = routine;
            let written = write_routine(atlas(), minutes, audience, answers.as_deref(), &steps);
            let again = RoutineFile::parse("p.toml", &written, atlas()).expect("what is written reads");
            assert_eq!((again.steps, again.audience, again.answers), (steps, audience, answers));
        }
    }
}

fn examples() -> &'static Vec<String> {
    static TEXTS: OnceLock<Vec<String>> = OnceLock::new();
    TEXTS.get_or_init(|| {
        let here = ["request", "routine", "answers"].iter().flat_map(|b| files(&folder(""), b));
        here.map(|(_, text)| text).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// Random keys with random values: findings, never a panic.
    #[test]
    fn random_toml_never_panics(lines in prop::collection::vec(line(), 0..12)) {
        read_all(&lines.join("\n"));
    }

    /// An example with lines lost, doubled, swapped for others, and a character changed.
    #[test]
    fn mutated_examples_never_panic(
        which in any::<prop::sample::Index>(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), 0..4usize, line()), 1..4),
        (at, to) in (any::<prop::sample::Index>(), any::<char>()),
        spoil in any::<bool>(),
    ) {
        let text = which.get(examples());
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        for (at, how, other) in cuts {
            let at = at.index(lines.len());
            match how {
                0 => { lines.remove(at); }
                1 => { let line = lines[at].clone(); lines.insert(at, line); }
                2 => lines[at] = other,
                _ => lines.insert(at, other),
            }
            if lines.is_empty() { lines.push(String::new()); }
        }
        let mut text = lines.join("\n");
        if spoil && !text.is_empty() {
            let mut chars: Vec<char> = text.chars().collect();
            let at = at.index(chars.len());
            chars[at] = to;
            text = chars.into_iter().collect();
        }
        read_all(&text);
    }
}

#[test]
fn tools_at_hand_are_the_hands_at_least() {
    let read = request("minutes = 8\nconcerns = \"tight_jaw\"\n").expect("it reads");
    assert_eq!(read.tools, [ToolIx(0)]);
    assert_eq!(atlas().tool(ToolIx(0)).id, plan::reading::HANDS);
}
