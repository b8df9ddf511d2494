//! Any bytes as captions or a text: what is read keeps its places, and what is refused has a reason.
#![no_main]

use libfuzzer_sys::fuzz_target;
use publish::timed::{decode, read};

fuzz_target!(|bytes: &[u8]| {
    let text = match decode("x", bytes) {
        Ok(text) => text,
        Err(wrong) => return assert!(!wrong.is_empty(), "refused without a reason"),
    };
    let spoken = match read("x", &text) {
        Ok(spoken) => spoken,
        Err(wrong) => return assert!(!wrong.is_empty(), "refused without a reason"),
    };
    let chars = text.chars().count();
    let held = |words: &str, at: &[usize]| {
        assert!(!words.is_empty() && at.len() == words.chars().count() + 1, "a place for each character");
        assert!(at.windows(2).all(|w| w[0] < w[1]) && at.last().is_some_and(|end| *end <= chars), "rising, and inside");
    };
    spoken.pieces.iter().for_each(|p| held(&p.text, &p.at));
    spoken.sentences().iter().for_each(|s| held(&s.text, &s.at));
});
