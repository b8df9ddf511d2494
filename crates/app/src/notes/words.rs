//! What is wrong with a home note, in words: what, where, and what to do.

use super::read::{MOST_BYTES, Place, Why, Wrong};
use crate::catalogue::{fill, text};

/// The whole sentence.
pub fn wrong(wrong: &Wrong) -> String {
    let said = why(&wrong.why);
    match place(&wrong.place) {
        Some(place) => fill("homenote.wrong_at", &[("place", &place), ("what", &said)]),
        None => said,
    }
}

fn place(place: &Place) -> Option<String> {
    if place.field.is_empty() {
        return None;
    }
    Some(match (place.day, place.session) {
        (Some(day), Some(session)) => {
            fill("homenote.at_session", &[("day", &day), ("session", &session), ("field", &place.field)])
        }
        (Some(day), None) => fill("homenote.at_day", &[("day", &day), ("field", &place.field)]),
        _ => fill("homenote.at_field", &[("field", &place.field)]),
    })
}

fn why(why: &Why) -> String {
    match why {
        Why::TooLong => fill("homenote.too_long", &[("most", &(MOST_BYTES / 1024))]),
        Why::NoJson(line, column) => fill("homenote.no_json", &[("line", line), ("column", column)]),
        Why::NoNote => text("homenote.no_note").to_owned(),
        Why::Version(found) => fill("homenote.version", &[("found", found)]),
        Why::Missing => text("homenote.missing").to_owned(),
        Why::Unknown(name) => fill("homenote.unknown", &[("name", name)]),
        Why::Kind => text("homenote.kind").to_owned(),
        Why::Range(least, most) => fill("homenote.range", &[("least", least), ("most", most)]),
        Why::Word(word, known) => fill("homenote.word", &[("word", word), ("known", known)]),
        Why::NoDay => text("homenote.no_day").to_owned(),
        Why::NoTime => text("homenote.no_time").to_owned(),
        Why::TooMany(most) => fill("homenote.too_many", &[("most", most)]),
        Why::Twice(day) => fill("homenote.twice", &[("day", day)]),
        Why::Later(day) => fill("homenote.later", &[("day", day)]),
        Why::Empty => text("homenote.no_days").to_owned(),
    }
}

/// What had no room in a QR picture, by its word.
pub fn left_out_words(word: &str) -> &'static str {
    match word {
        "words" => text("homenote.left_words"),
        "felt" => text("homenote.left_felt"),
        _ => text("homenote.left_days"),
    }
}
