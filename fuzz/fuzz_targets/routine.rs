//! Any text as a routine: read, checked, its first repairs made, written, and read again to the same steps.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use plan::atlas::Atlas;
use plan::check::check;
use plan::reading::{RoutineFile, write_routine};
use plan::screening::{Answers, Clearance};
use vocab::Date;

static ATLAS: LazyLock<Atlas> = LazyLock::new(Atlas::built_in);

fuzz_target!(|text: &str| {
    let Some(day) = Date::new(2026, 3, 1) else { return };
    match RoutineFile::parse("routine", text, &ATLAS) {
        Ok(routine) => {
            let clearance = Clearance::new(&ATLAS, &Answers::all_no(&ATLAS), day);
            let _ = check(&ATLAS, &routine, &clearance);
            let written = write_routine(&ATLAS, routine.minutes, routine.audience, routine.answers.as_deref(), &routine.steps);
            let again = RoutineFile::parse("again", &written, &ATLAS);
            assert!(again.is_ok_and(|again| again.steps == routine.steps), "what was written reads otherwise");
        }
        Err(findings) => assert!(!findings.is_empty(), "refused without a reason"),
    }
});
