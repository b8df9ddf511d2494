use proptest::prelude::*;
use vocab::{Date, Side};

use super::read::*;
use super::*;

const LONG: &str = r#"{"tragion":"home-note","version":1,"code":"k7p2w9x4","made":"2026-03-09","language":"de","days":[
 {"day":"2026-03-02","sessions":[
  {"at":"21:30","seconds":471,"ended":"whole","felt":[["ST6","left","tender"]],"before":[5,6,5,7],"after":[7,3,null],"words":"warm"}]},
 {"day":"2026-03-03","sessions":[]}]}"#;
const SHORT: &str = r#"{"tragion":"hn","version":1,"c":"k7p2w9x4","m":"2026-03-09","l":"de","d":[
 ["2026-03-02",[["21:30",471,"w",[["ST6","l","te"]],[5,6,5,7],[7,3,null],"warm"]]],["2026-03-03",[]]]}"#;

#[test]
fn both_forms_say_the_same() {
    let note = read(LONG).expect("reads");
    assert_eq!(read(SHORT).expect("reads"), note);
    assert_eq!((note.code.as_str(), note.days.len()), ("k7p2w9x4", 2));
    let session = &note.days[0].sessions[0];
    assert_eq!((session.at, session.seconds, session.ended), ((21, 30), 471, Ended::Whole));
    assert_eq!(session.felt, [Felt { target: "ST6".into(), side: Side::Left, felt: "tender" }]);
    assert_eq!((session.before[3], session.after), (Some(7), [Some(7), Some(3), None]));
    assert_eq!(read(&note.json().to_string()).expect("what is written is read"), note);
    let body = note.days[0].body();
    assert_eq!((&body["done"], &body["minutes"]), (&json!(true), &json!(8)));
    assert_eq!(body["felt"]["places"][0], json!({ "target": "ST6", "side": "left", "felt": "tender" }));
    assert_eq!(body["felt"]["words"], "warm");
    assert_eq!(note.days[1].body()["done"], false);
    // What is not said may be left away, at the end and in between.
    let bare = read(
        r#"{"tragion":"hn","version":1,"c":"a","m":"2026-03-09","l":"en","d":[["2026-03-02",[["07:00",1,"e"],["08:00",2,"s",0,0,[1,2,3]]]]],"o":["w","d"]}"#,
    );
    let bare = bare.expect("reads");
    assert_eq!(bare.days[0].sessions[1].after, [Some(1), Some(2), Some(3)]);
    assert_eq!(bare.left_out, ["words", "days"]);
}

#[test]
fn what_is_wrong_is_said_with_its_place() {
    let check = |from: &str, to: &str, field: &str, day: Option<usize>, session: Option<usize>, why: Why| {
        let text = LONG.replace(from, to);
        assert_ne!(text, LONG, "{from} is not there");
        let wrong = read(&text).expect_err(to);
        assert_eq!((wrong.place.field, wrong.place.day, wrong.place.session, wrong.why), (field, day, session, why));
    };
    let (one, first) = (Some(1), Some(1));
    check("\"version\":1", "\"version\":2", "version", None, None, Why::Version("2".into()));
    check("\"version\":1,", "", "version", None, None, Why::Missing);
    check("home-note", "note", "", None, None, Why::NoNote);
    check("k7p2w9x4", "", "code", None, None, Why::TooMany(MOST_ID));
    check("k7p2w9x4", "../../x", "code", None, None, Why::Kind);
    check("\"2026-03-09\"", "\"2026-02-30\"", "made", None, None, Why::NoDay);
    check("\"2026-03-09\"", "20260309", "made", None, None, Why::Kind);
    check("2026-03-09", "2026-03-01", "day", Some(2), None, Why::Later(Date::new(2026, 3, 3).expect("a day")));
    check("2026-03-03", "2026-03-02", "day", Some(2), None, Why::Twice(Date::new(2026, 3, 2).expect("a day")));
    check("2026-03-03", "1970-01-01", "day", Some(2), None, Why::NoDay);
    check("21:30", "24:00", "at", one, first, Why::NoTime);
    check("21:30", "9:30", "at", one, first, Why::NoTime);
    check("471", "7201", "seconds", one, first, Why::Range(0, 7200));
    check("471", "-1", "seconds", one, first, Why::Range(0, 7200));
    check("471", "4.5", "seconds", one, first, Why::Kind);
    check("471", "1e400", "", None, None, Why::NoJson(3, 31));
    check("whole", "best", "ended", one, first, Why::Word("best".into(), "whole, early, sign, dizzy, numb"));
    check("\"left\"", "\"up\"", "felt", one, first, Why::Word("up".into(), "left, right, midline, both"));
    check("[5,6,5,7]", "[5,6,5,11]", "before", one, first, Why::Range(0, 10));
    check("[5,6,5,7]", "[5,6,5]", "before", one, first, Why::Kind);
    check("\"words\":\"warm\"", "\"words\":7", "words", one, first, Why::Kind);
    check("\"words\":\"warm\"", "\"mood\":7", "session", one, first, Why::Unknown("mood".into()));
    check("\"sessions\":[]", "\"sessions\":{}", "sessions", Some(2), None, Why::Kind);
    check("\"seconds\":471", "\"seconds\":471,\"seconds\":9", "", None, None, Why::NoJson(3, 41));
    let many = format!("\"words\":\"{}\"", "a".repeat(MOST_WORDS + 1));
    check("\"words\":\"warm\"", &many, "words", one, first, Why::TooMany(MOST_WORDS));
    let no_days = r#"{"tragion":"home-note","version":1,"code":"a","made":"2026-03-09","language":"de","days":[]}"#;
    assert_eq!(read(no_days).expect_err("empty").why, Why::Empty);
    assert_eq!(read(&" ".repeat(MOST_BYTES + 1)).expect_err("long").why, Why::TooLong);
    for other in ["", "[]", "null", "7", "\"x\"", "{}", "{\"tragion\":1}", &"[".repeat(10_000)] {
        assert!(matches!(read(other).expect_err(other).why, Why::NoNote | Why::NoJson(..)), "{other:.20}");
    }
    // In words, each with its place.
    let said = from_text(&LONG.replace("471", "7201")).expect_err("too many");
    assert_eq!(said, "day 1, session 1, seconds: a whole number from 0 to 7200 was expected.");
}

fn session() -> impl Strategy<Value = Session> {
    let level = || prop::option::of(0_u8..=10);
    let felt = (
        "[A-Z]{2}[0-9]{1,2}|own-[a-z]{3}",
        prop::sample::select(vec![Side::Left, Side::Right, Side::Midline, Side::Both]),
        0..FELT.len(),
    );
    let felt = felt.prop_map(|(target, side, f)| Felt { target, side, felt: FELT[f].0 });
    (
        (0_u8..24, 0_u8..60),
        0..=MOST_SECONDS,
        0..Ended::EACH.len(),
        prop::collection::vec(felt, 0..4),
        prop::array::uniform4(level()),
        prop::array::uniform3(level()),
        "\\PC{0,40}",
    )
        .prop_map(|(at, seconds, e, felt, before, after, words)| Session {
            at,
            seconds,
            ended: Ended::EACH[e].0,
            felt,
            before,
            after,
            words,
        })
}

fn note() -> impl Strategy<Value = HomeNote> {
    let days = prop::collection::btree_map(0_i64..60, prop::collection::vec(session(), 0..3), 1..6);
    ("[a-z0-9]{8}", days, prop::sample::select(vec!["en", "de", "pt-BR"])).prop_map(|(code, days, language)| {
        let made = Date::new(2026, 3, 9).expect("a day");
        let days = days.into_iter().filter_map(|(ago, sessions)| Some(Day { day: made.plus(-ago)?, sessions }));
        HomeNote { code, made, language: language.into(), days: days.collect(), left_out: Vec::new() }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read(note in note()) {
        prop_assert_eq!(read(&note.json().to_string()), Ok(note));
    }

    /// Damage anywhere: it is read or refused, and what is read holds its bounds and is written again to the same.
    #[test]
    fn damaged_notes_are_refused_or_sound(note in note(), at in 0.0_f64..1.0, with in prop::sample::select(b"0919\"[]{},:-x\\ \xc3".to_vec()), take in 0_usize..3) {
        let mut bytes = note.json().to_string().into_bytes();
        let place = (at * bytes.len() as f64) as usize;
        let end = (place + take).min(bytes.len());
        bytes.splice(place..end, [with]);
        if let Ok(again) = read(&String::from_utf8_lossy(&bytes)) {
            for session in again.days.iter().flat_map(|d| &d.sessions) {
                prop_assert!(session.seconds <= MOST_SECONDS && session.at.0 < 24 && session.at.1 < 60);
                prop_assert!(session.before.iter().chain(&session.after).flatten().all(|l| *l <= 10));
            }
            prop_assert_eq!(read(&again.json().to_string()), Ok(again));
        }
    }

    #[test]
    fn anything_else_is_refused(text in "\\PC{0,200}") {
        prop_assert!(read(&text).is_err());
    }
}
