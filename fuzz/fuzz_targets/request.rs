//! Any text as a request: read, and its problem built for somebody whom nothing concerns.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use plan::atlas::Atlas;
use plan::request::Request;
use plan::screening::{Answers, Clearance};
use vocab::Date;

static ATLAS: LazyLock<Atlas> = LazyLock::new(Atlas::built_in);

fuzz_target!(|text: &str| {
    let Some(day) = Date::new(2026, 3, 1) else { return };
    match Request::parse("request", text, &ATLAS) {
        Ok(request) => {
            let clearance = Clearance::new(&ATLAS, &Answers::all_no(&ATLAS), day);
            let _ = plan::solve::instance(&ATLAS, &request, &clearance);
        }
        Err(findings) => assert!(!findings.is_empty(), "refused without a reason"),
    }
});
