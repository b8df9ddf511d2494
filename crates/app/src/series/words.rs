//! What is wrong with a series, and what is to be said of it: what, where, and what to do.

use vocab::{Finding, Side};

use super::read::{COLUMNS, MOST_DAYS, MOST_LABEL, MOST_ROWS, Why};
use super::visits::{MOST_VISITS, NoSeries, Note};
use crate::catalogue::{fill, listed, text};
use crate::following::words::size;

/// What is wrong on a line.
pub fn wrong(why: &Why, value: &follow::Value) -> String {
    match why {
        Why::NoHeadings => fill("series.no_headings", &[("columns", &COLUMNS.join(","))]),
        Why::Missing(name, None) => fill("series.missing", &[("name", name), ("columns", &COLUMNS.join(","))]),
        Why::Missing(name, Some(near)) => fill("series.missing_near", &[("name", name), ("near", near)]),
        Why::HeadingTwice(name) => fill("series.heading_twice", &[("name", name)]),
        Why::NoRows => text("series.no_rows").to_owned(),
        Why::TooMany => fill("series.too_many", &[("most", &MOST_ROWS)]),
        Why::Fields(got, wanted) => fill("series.fields", &[("got", got), ("wanted", wanted)]),
        Why::NoRow => text("series.no_row").to_owned(),
        Why::Date(word) => fill("series.date", &[("word", word)]),
        Why::Side(word) => fill("series.side", &[("word", word)]),
        Why::Number(word) => fill("series.number", &[("word", word)]),
        Why::Range(word) => {
            let [low, high] = value.range.map(|n| size(n, value));
            fill("series.range", &[("word", word), ("value", &value.name), ("low", &low), ("high", &high)])
        }
        Why::Worked(word) => fill("series.worked", &[("word", word)]),
        Why::Label(name) => fill("series.label", &[("name", name), ("most", &MOST_LABEL)]),
        Why::PhotoTwice(line) => fill("series.photo_twice", &[("line", line)]),
        Why::FaceAndSide(line) => fill("series.face_and_side", &[("line", line)]),
        Why::WorkedOtherwise(line) => fill("series.worked_otherwise", &[("line", line)]),
        Why::VisitOnTwoDays(line) => fill("series.visit_on_two_days", &[("line", line)]),
        Why::TooLong(line) => fill("series.too_long", &[("line", line), ("most", &MOST_DAYS)]),
        Why::NoValue => text("series.no_value").to_owned(),
    }
}

/// Why rows make no series, at its line.
pub fn no_series(name: &str, why: &NoSeries) -> Finding {
    let (line, message) = match why {
        NoSeries::NoWorkedDay => (0, text("series.no_worked_day").to_owned()),
        NoSeries::WorkedBefore(line) => (*line, text("series.worked_before").to_owned()),
        NoSeries::WorkedOtherSide(line, worked) => {
            (*line, fill("series.worked_other_side", &[("side", &side(*worked))]))
        }
        NoSeries::NoPairs => (0, text("series.no_pairs").to_owned()),
        NoSeries::NoSide(worked) => (0, fill("series.no_side", &[("side", &side(*worked))])),
        NoSeries::TooMany(n) => (0, fill("series.too_many_visits", &[("n", n), ("most", &MOST_VISITS)])),
    };
    Finding::new(name, line, message)
}

/// A note, as a sentence.
pub fn note(note: &Note) -> String {
    match note {
        Note::Unknown(names) => {
            let names: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
            fill("series.note_unknown", &[("names", &listed(&names))])
        }
        Note::OneSided(1, line) => fill("series.note_one_sided", &[("line", line)]),
        Note::OneSided(n, line) => fill("series.note_some_sided", &[("n", n), ("line", line)]),
        Note::OnlySide(only) => fill("series.note_only_side", &[("side", &side(*only))]),
        Note::WorkedSide(worked) => fill("series.note_worked_side", &[("side", &side(*worked))]),
        Note::AfterEnd(1) => text("series.note_one_after").to_owned(),
        Note::AfterEnd(n) => fill("series.note_after", &[("n", n)]),
    }
}

fn side(side: Side) -> &'static str {
    if side == Side::Left { text("series.left") } else { text("series.right") }
}
