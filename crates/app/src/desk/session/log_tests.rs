use plan::atlas::{Atlas, ConcernIx};
use plan::request::{Asked, Request};
use plan::screening::Clearance;
use proptest::prelude::*;

use super::*;

fn steps(atlas: &Atlas) -> Vec<Step> {
    let hands = atlas.tool_named(plan::reading::HANDS).expect("hands");
    let request = Request::plain(8, vec![Asked { concern: ConcernIx(0), priority: 3 }], hands);
    match plan::solve::draft(atlas, &request, &Clearance::audience(atlas)) {
        plan::solve::Outcome::Draft(draft) => draft.steps.into_iter().map(|s| s.step).collect(),
        plan::solve::Outcome::None(_) => panic!("a routine"),
    }
}

fn begun() -> Log {
    let atlas = Atlas::built_in();
    let steps = steps(&atlas);
    let score = Score::new(&atlas, &steps, 8, 0);
    Log::begin(&atlas, &steps, score, &[("view", "head")])
}

/// As the page sends it: what happened, until when, how it ended.
fn sent(events: &Value, seen: u64, ended: Option<&str>) -> Value {
    json!({ "events": events, "seen": seen, "ended": ended })
}

const LONG: u64 = u64::MAX / 2;

#[test]
fn a_log_comes_back_as_it_was_kept() {
    let mut log = begun();
    log.take(&sent(&json!([{ "at": 10, "do": "start" }]), 9000, None), LONG).expect("taken");
    let kept = log.json().expect("kept");
    let again = Log::read(&kept).expect("read");
    assert_eq!(again.score(), log.score());
    assert_eq!((again.about("view"), again.seen(), again.ended(), again.begun()), ("head", 9000, None, true));
    assert_eq!(again.json().expect("kept"), kept);
    assert_eq!(again.state().json(), log.state().json());
}

#[test]
fn logs_of_another_kind_are_left_alone() {
    for other in ["[]", "1", "{\"seconds\": 470, \"ended\": \"whole\", \"steps\": []}", "{\"score\": {}}"] {
        assert!(Log::read(&Json::new(other).expect("JSON")).is_none(), "{other}");
    }
    // A number that points at no step must not be believed.
    let whole = begun().json().expect("kept");
    let bent = whole.as_str().replacen("\"closes\":[]", "\"closes\":[999]", 1);
    assert_ne!(bent, whole.as_str());
    assert!(Log::read(&Json::new(bent).expect("JSON")).is_none());
}

#[test]
fn what_can_t_have_happened_is_refused_and_changes_nothing() {
    let mut log = begun();
    let start = json!([{ "at": 0, "do": "start" }, { "at": 6000, "do": "felt", "felt": "tender" }]);
    log.take(&sent(&start, 7000, None), LONG).expect("taken");
    let kept = log.json().expect("kept");
    let with = |more: Value| {
        let mut all = start.as_array().expect("a list").clone();
        all.extend(more.as_array().expect("a list").iter().cloned());
        json!(all)
    };
    let sign = with(json!([{ "at": 9000, "do": "sign" }, { "at": 9500, "do": "next" }]));
    let tries = [
        ("no list", json!({ "seen": 1 }), "needed"),
        ("no time", json!({ "events": start }), "needed"),
        ("an unknown word", sent(&with(json!([{ "at": 8000, "do": "hurry" }])), 9000, None), "event 3"),
        (
            "an unknown feeling",
            sent(&with(json!([{ "at": 8000, "do": "felt", "felt": "fine" }])), 9000, None),
            "event 3",
        ),
        (
            "a feeling without felt",
            sent(&with(json!([{ "at": 8000, "do": "next", "felt": "red" }])), 9000, None),
            "event 3",
        ),
        ("half a millisecond", sent(&with(json!([{ "at": 8000.5, "do": "next" }])), 9000, None), "event 3"),
        ("before the beginning", sent(&with(json!([{ "at": -1, "do": "next" }])), 9000, None), "event 3"),
        ("backward", sent(&with(json!([{ "at": 100, "do": "next" }])), 9000, None), "event 3"),
        ("seen before its last", sent(&with(json!([{ "at": 8000, "do": "next" }])), 7500, None), "last event"),
        ("seen less than kept", sent(&start, 3000, None), "last event"),
        ("after the end", sent(&sign, 9600, Some("sign")), "event 4"),
        ("another end", sent(&with(json!([{ "at": 9000, "do": "sign" }])), 9600, Some("whole")), "did not end"),
        ("an end that was none", sent(&start, 9600, Some("early")), "did not end"),
    ];
    for (what, body, part) in tries {
        let Err(Refused::Impossible(why)) = log.take(&body, LONG) else { panic!("{what} was not refused") };
        assert!(why.contains(part), "{what}: {why}");
        assert_eq!(log.json().expect("kept"), kept, "{what}");
    }
    let Err(Refused::Impossible(why)) = log.take(&sent(&start, 90_000, None), 60_000) else { panic!("the future") };
    assert!(why.contains("longer than the time"), "{why}");
    let mut fresh = begun();
    let Err(Refused::Impossible(why)) = fresh.take(&sent(&json!([{ "at": 5, "do": "next" }]), 10, None), LONG) else {
        panic!("no start")
    };
    assert!(why.contains("beginning"), "{why}");
}

#[test]
fn another_window_is_told_apart_and_a_late_message_does_no_harm() {
    let mut log = begun();
    let early = json!([{ "at": 0, "do": "start" }]);
    let later = json!([{ "at": 0, "do": "start" }, { "at": 6000, "do": "longer" }]);
    log.take(&sent(&later, 8000, None), LONG).expect("taken");
    log.take(&sent(&early, 5000, None), LONG).expect("a message that was overtaken");
    assert_eq!(log.restore()["events"], later);
    let other = json!([{ "at": 0, "do": "start" }, { "at": 6100, "do": "skip" }]);
    assert!(matches!(log.take(&sent(&other, 9000, None), LONG), Err(Refused::Elsewhere(_))));
    // The page that left and the page that came both say that it stands still.
    let left = json!([{ "at": 0, "do": "start" }, { "at": 6000, "do": "longer" }, { "at": 8100, "do": "pause" }]);
    let came = json!([
        { "at": 0, "do": "start" }, { "at": 6000, "do": "longer" }, { "at": 8000, "do": "pause" }, { "at": 9000, "do": "resume" },
    ]);
    log.take(&sent(&left, 8100, None), LONG).expect("taken");
    log.take(&sent(&came, 9000, None), LONG).expect("taken");
    assert_eq!(log.restore()["events"], came);
    log.close();
    assert_eq!(log.ended(), Some("early"));
    assert!(matches!(log.take(&sent(&came, 12_000, None), LONG), Err(Refused::Elsewhere(_))));
}

#[test]
fn each_second_falls_to_its_step() {
    let mut log = begun();
    let first = log.score().steps[0].seconds;
    let lead = u64::from(log.score().lead) * 1000;
    let hold = u64::from(first) * 1000;
    // Five seconds of a pause in the first hold, then a warning sign two seconds into the second.
    let change = u64::from(log.score().change_s(Some(0), 1)) * 1000;
    let at = lead + hold + 5000 + change + 2000;
    let events = json!([
        { "at": 0, "do": "start" }, { "at": lead + 1000, "do": "pause" }, { "at": lead + 6000, "do": "resume" },
        { "at": lead + 7000, "do": "felt", "felt": "easy" }, { "at": lead + 8000, "do": "felt", "felt": "easy" }, { "at": at, "do": "sign" },
    ]);
    log.take(&sent(&events, at, Some("sign")), LONG).expect("taken");
    let whole: Value = serde_json::from_str(log.json().expect("kept").as_str()).expect("JSON");
    assert_eq!(whole["steps"].as_array().map(Vec::len), Some(1), "{}", whole["steps"]);
    assert_eq!(whole["steps"][0]["seconds"], first);
    assert_eq!(whole["steps"][0]["target"], whole["plan"][0]["target"]);
    assert_eq!(whole["seconds"], (lead + hold + change + 2000) / 1000);
    assert_eq!(log.places().len(), 1, "said twice, kept once: {:?}", log.places());
    assert!(is_urgent("sign") && is_urgent("numb") && !is_urgent("early"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// However a session goes: what is kept replays to the state that the engine came to, and no more was worked than time went by.
    #[test]
    fn what_is_taken_is_what_the_engine_says(rolls in proptest::collection::vec((0_u64..40_000, 0_usize..16), 0..60)) {
        let mut log = begun();
        let mut state = State::begin(log.score());
        let mut events = vec![json!({ "at": 0, "do": "start" })];
        let score = log.score().clone();
        state.apply(&score, &Event { at: 0, what: Do::Start });
        let mut now = 0;
        for (passed, what) in rolls {
            now += passed;
            state.until(&score, now);
            if state.phase == Phase::Over {
                break;
            }
            let word = ["longer", "next", "skip", "back", "pause", "resume", "swap", "end", "sign"];
            let felt = ["easy", "tender", "tight", "red", "painful", "dizzy", "numb"];
            let sent = word.get(what).map_or_else(
                || json!({ "at": now, "do": "felt", "felt": felt[what - word.len()] }),
                |word| json!({ "at": now, "do": word }),
            );
            state.apply(&score, &event(&sent).expect("one of ours"));
            events.push(sent);
            if state.phase == Phase::Over {
                break;
            }
        }
        let over = state.over.map(Over::word);
        log.take(&sent(&json!(events), now, over), LONG).expect("taken");
        prop_assert_eq!(log.ended(), over);
        prop_assert_eq!(log.state().status, state.status);
        let whole: Value = serde_json::from_str(log.json().expect("kept").as_str()).expect("JSON");
        let worked: u64 = whole["steps"].as_array().expect("a list").iter().map(|s| s["seconds"].as_u64().expect("seconds")).sum();
        let n = whole["steps"].as_array().expect("a list").len() as u64;
        prop_assert!(worked <= state.spent / 1000 + n + 1, "{} s worked in {} ms", worked, state.spent);
    }
}
