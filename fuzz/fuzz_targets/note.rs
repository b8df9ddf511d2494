//! Any bytes as a home note: what is read keeps its bounds.
#![no_main]

use libfuzzer_sys::fuzz_target;
use vision_fuzz::home::read::{MOST_DAYS, MOST_FELT, MOST_SECONDS, MOST_SESSIONS, MOST_WORDS, read};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(note) = read(text) else { return };
    assert!((1..=MOST_DAYS).contains(&note.days.len()), "days");
    for day in &note.days {
        assert!(day.sessions.len() <= MOST_SESSIONS, "sessions");
        for session in &day.sessions {
            assert!(session.seconds <= MOST_SECONDS && session.at.0 < 24 && session.at.1 < 60, "time");
            assert!(session.felt.len() <= MOST_FELT && session.words.chars().count() <= MOST_WORDS, "length");
            assert!(session.before.iter().chain(&session.after).flatten().all(|level| *level <= 10), "levels");
        }
    }
});
