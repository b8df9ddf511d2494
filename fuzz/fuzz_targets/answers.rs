//! Any text as a file of answers: read, cleared, written, and read again to the same answers.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use plan::atlas::Atlas;
use plan::screening::{Answers, Clearance};
use vocab::Date;

static ATLAS: LazyLock<Atlas> = LazyLock::new(Atlas::built_in);

fuzz_target!(|text: &str| {
    let Some(day) = Date::new(2026, 3, 1) else { return };
    match Answers::parse("answers", text, &ATLAS) {
        Ok(answers) => {
            let _ = Clearance::new(&ATLAS, &answers, day);
            let _ = answers.ask_again(&ATLAS);
            let again = Answers::parse("again", &answers.to_toml(&ATLAS), &ATLAS);
            assert!(again.is_ok_and(|again| again == answers), "what was written reads otherwise");
        }
        Err(findings) => assert!(!findings.is_empty(), "refused without a reason"),
    }
});
