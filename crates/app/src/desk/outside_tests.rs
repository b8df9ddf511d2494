//! Any bytes through the desk's readers of what comes from outside. They live in the program, where no fuzzer reaches: proptest stands in for it,
//! with bytes at random and with pieces of what the readers look for. `PROPTEST_CASES` says how many; 64 each if it says nothing.

use std::sync::LazyLock;

use axum::http::{Method, Request};
use plan::atlas::Atlas;
use plan::screening::Clearance;
use proptest::prelude::*;
use vocab::Date;

use super::form::Ask;
use super::looking::Looking;
use super::{fields, guard, map_routes};

/// Read once: that is most of the time.
static ATLAS: LazyLock<Atlas> = LazyLock::new(Atlas::built_in);

/// Bytes as they come, or words of forms put together at random.
fn bytes() -> impl Strategy<Value = Vec<u8>> {
    let words = [
        "concern=tight_jaw",
        "minutes=",
        "8",
        "-1",
        "99999999999999999999",
        "group.today=",
        "yes",
        "no",
        "&",
        "=",
        "%",
        "%ff",
        "%00",
        "+",
        "full=yes",
        "own.filler=yes",
        "own.filler.side=",
        "left",
        "own.filler.since=2026-02-30",
        "own.filler.place=",
        "sign.stroke=yes",
        "hands=one",
        "tool=edge_stone",
        "x=1e308",
        "routine=",
        "kind=points",
        "place=ST6",
        "side=left",
        "find=",
        "after=",
        "token=",
        ".",
        ";",
    ];
    let woven = proptest::collection::vec(proptest::sample::select(words.to_vec()), 0..40)
        .prop_map(|w| w.concat().into_bytes());
    prop_oneof![proptest::collection::vec(any::<u8>(), 0..400), woven]
}

fn cases() -> ProptestConfig {
    let said = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok());
    ProptestConfig { cases: said.unwrap_or(64), failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(cases())]

    /// A form of the first minute or of an intake: read, answered, cleared, and never a way round what was not answered.
    #[test]
    fn any_form_is_read(form in bytes()) {
        let (atlas, day) = (&*ATLAS, Date::new(2026, 3, 1).expect("a day"));
        let ask = Ask::read(atlas, &form);
        let answers = ask.answers(atlas, day);
        let clearance = Clearance::new(atlas, &answers, day);
        // Every group asked for and open leaves something unanswered.
        if ask.open_groups().len() == atlas.groups.len() && !ask.full {
            prop_assert!(!clearance.unanswered.is_empty());
        }
        let again = plan::screening::Answers::parse("again", &answers.to_toml(atlas), atlas);
        prop_assert!(again.is_ok_and(|again| again == answers));
    }

    /// Addresses and small forms.
    #[test]
    fn any_address_is_read(query in bytes(), name in "[a-z]{1,8}") {
        let text = String::from_utf8_lossy(&query).into_owned();
        let looking = Looking::read(&text);
        prop_assert!(looking.query().is_ascii());
        let _ = map_routes::value(&query, &name);
        let page = fields::done(&text).into_string();
        prop_assert!(!page.contains("<script"));
    }

    /// A request from no page of ours may not change anything, whatever its headers say.
    #[test]
    fn no_headers_let_a_stranger_in(host in "[ -~]{0,40}", origin in "[ -~]{0,60}", site in "[a-z-]{0,14}") {
        let request = Request::builder().method(Method::POST).uri("/clients/new")
            .header("host", &host).header("origin", &origin).header("sec-fetch-site", &site).body(()).expect("a request");
        let ours = |host: &str| matches!(host, "127.0.0.1:8080" | "localhost:8080" | "[::1]:8080");
        let own = ours(&host) && (origin.strip_prefix("http://").is_some_and(ours) || origin == "null" && site == "same-origin");
        prop_assert_eq!(guard::allows(&request, 8080), own);
    }
}
