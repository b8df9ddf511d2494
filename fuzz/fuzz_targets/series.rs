//! Any text as a series of values: what is read keeps its bounds, and what is refused has a reason.
#![no_main]

use libfuzzer_sys::fuzz_target;
use vision_fuzz::series::read::{MOST_LABEL, MOST_ROWS, read};

fuzz_target!(|text: &str| {
    match read(text, [0.0, 60.0]) {
        Ok(table) => {
            assert!(!table.rows.is_empty() && table.rows.len() <= MOST_ROWS);
            assert!(table.rows.iter().any(|r| r.value.is_some()), "nothing to follow");
            for row in &table.rows {
                assert!(row.value.is_none_or(|v| (0.0..=60.0).contains(&v)), "out of range");
                assert!(row.line >= 2, "in the headings");
                assert!(row.visit.chars().count() <= MOST_LABEL && row.photo.chars().count() <= MOST_LABEL);
            }
        }
        Err(wrong) => assert!(!wrong.is_empty(), "refused without a reason"),
    }
});
