//! SubRip: no specification, so as players read it. What opens a cue is the line with its times; the number over it may be missing.

use vocab::Finding;

use super::Piece;
use super::clean::{Clean, Marks};
use super::clock;
use super::rows::{Notes, Row};

/// The cues with the lines of their times.
pub fn pieces(rows: &[Row<'_>], notes: &mut Notes) -> Result<Vec<(usize, Piece)>, Vec<Finding>> {
    let broken: Vec<_> =
        rows.iter().filter(|r| clock::is_broken_cue(r)).take(20).map(|r| clock::broken_cue(notes.name(), r)).collect();
    if !broken.is_empty() {
        return Err(broken);
    }
    let opens: Vec<_> = rows.iter().enumerate().filter_map(|(i, row)| Some((i, clock::cue(row.chars)?))).collect();
    let Some(first) = opens.first().map(|(i, _)| *i) else { return Ok(Vec::new()) };
    let numbered = first > 0 && rows[first - 1].is_number();
    let mut pieces = Vec::new();
    before(&rows[..first - usize::from(numbered)], opens[0].1.from, notes, &mut pieces);
    for (n, (i, cue)) in opens.iter().enumerate() {
        let last = n + 1 == opens.len();
        let mut end = opens.get(n + 1).map_or(rows.len(), |(next, _)| *next);
        // The number over the next cue's times.
        if !last && end > i + 1 && rows[end - 1].is_number() && (numbered || end < i + 3 || rows[end - 2].is_blank()) {
            end -= 1;
        }
        let mut clean = Clean::default();
        rows[i + 1..end].iter().for_each(|row| clean.row(row, Marks::Srt));
        match clean.done(Some(cue.from), Some(cue.to)) {
            Some(piece) => pieces.push((rows[*i].number, piece)),
            None => notes.add(rows[*i].number, "there are no words under this time"),
        }
        if !cue.comma && opens[0].1.comma {
            notes.add(rows[*i].number, "its seconds have a point, the others a comma: players of SRT want a comma");
        }
    }
    Ok(pieces)
}

/// Words above the first cue.
fn before(rows: &[Row<'_>], from: f64, notes: &mut Notes, pieces: &mut Vec<(usize, Piece)>) {
    let mut clean = Clean::default();
    rows.iter().for_each(|row| clean.row(row, Marks::Srt));
    let line = rows.iter().find(|r| !r.is_blank()).map_or(1, |r| r.number);
    if let Some(piece) = clean.done(Some(from.min(0.0)), Some(from)) {
        notes.add(line, "these words stand above the first time, so players do not show them");
        pieces.push((line, piece));
    }
}
