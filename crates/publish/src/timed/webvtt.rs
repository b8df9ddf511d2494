//! WebVTT, by the parser of the specification (W3C, section 6.1), and what people's files get wrong.

use vocab::Finding;

use super::Piece;
use super::clean::{Clean, Marks};
use super::clock::{self, Cue};
use super::rows::{Notes, Row};

/// Whether this line is the one with which such a file begins; its letters may be small.
pub fn is_header(row: &Row<'_>) -> bool {
    let row = row.trimmed();
    let word: String = row.chars.iter().take(6).collect();
    word.eq_ignore_ascii_case("WEBVTT") && row.chars.get(6).is_none_or(|c| c.is_whitespace())
}

/// A cue that was begun.
struct Open {
    cue: Cue,
    line: usize,
    clean: Clean,
}

/// The cues with the lines of their times.
pub fn pieces(rows: &[Row<'_>], notes: &mut Notes) -> Result<Vec<(usize, Piece)>, Vec<Finding>> {
    let mut reader = Reader { pieces: Vec::new(), wrong: Vec::new(), numbered: false, times: None };
    let mut i = header(rows, notes);
    while i < rows.len() {
        i = reader.block(rows, i, notes);
    }
    if reader.wrong.is_empty() { Ok(reader.pieces) } else { Err(reader.wrong) }
}

/// The first line after the header.
fn header(rows: &[Row<'_>], notes: &mut Notes) -> usize {
    let Some(first) = rows.iter().position(|r| !r.is_blank()) else { return rows.len() };
    if !is_header(&rows[first]) {
        notes.add(1, "the first line must be WEBVTT, with an empty line after it: players refuse the file without it");
        return 0;
    }
    if first > 0 || !rows[first].trimmed().begins("WEBVTT") {
        notes.add(
            rows[first].number,
            "WEBVTT must be the very first word of the file, in capital letters: players refuse it otherwise",
        );
    }
    let mut i = first + 1;
    while i < rows.len() && !rows[i].chars.is_empty() && !rows[i].has_arrow() {
        i += 1;
    }
    i
}

struct Reader {
    pieces: Vec<(usize, Piece)>,
    wrong: Vec<Finding>,
    /// Cues have numbers over them.
    numbered: bool,
    /// Of the cue before.
    times: Option<(f64, f64)>,
}

impl Reader {
    /// One block from `i` on; where the next one begins.
    fn block(&mut self, rows: &[Row<'_>], i: usize, notes: &mut Notes) -> usize {
        let row = &rows[i];
        if row.is_blank() {
            return i + 1;
        }
        if row.has_arrow() {
            return self.cue(rows, i, notes);
        }
        if rows.get(i + 1).is_some_and(Row::has_arrow) {
            self.numbered |= row.is_number();
            return self.cue(rows, i + 1, notes);
        }
        let trimmed = row.trimmed();
        let named = |word: &str| {
            trimmed.begins(word) && trimmed.after(word.len()).chars.first().is_none_or(|c| c.is_whitespace())
        };
        let hidden = named("NOTE") || named("STYLE") || named("REGION");
        let mut end = i;
        while end < rows.len() && !rows[end].chars.is_empty() && !rows[end].has_arrow() {
            end += 1;
        }
        // The line before an arrow is the name of that cue.
        let until = if rows.get(end).is_some_and(Row::has_arrow) && end > i + 1 { end - 1 } else { end };
        if !hidden {
            self.stray(&rows[i..until], notes);
        }
        until.max(i + 1)
    }

    /// Words under no time: players do not show them, but somebody wrote them.
    fn stray(&mut self, rows: &[Row<'_>], notes: &mut Notes) {
        let mut clean = Clean::default();
        rows.iter().for_each(|row| clean.row(row, Marks::WebVtt));
        let (from, to) = self.times.unwrap_or((0.0, 0.0));
        if let (Some(piece), Some(row)) = (clean.done(Some(from), Some(to.max(from))), rows.first()) {
            notes.add(
                row.number,
                "these words stand under no time, so players do not show them: take out the empty line above them",
            );
            self.pieces.push((row.number, piece));
        }
    }

    /// The cue whose times stand at `i`.
    fn cue(&mut self, rows: &[Row<'_>], i: usize, notes: &mut Notes) -> usize {
        let row = &rows[i];
        let Some(cue) = clock::cue(row.chars) else {
            if self.wrong.len() < 20 {
                self.wrong.push(clock::broken_cue(notes.name(), row));
            }
            return i + 1;
        };
        if cue.comma {
            notes.add(row.number, "the seconds have a comma: players of WebVTT want a point, as in 00:01:02.000");
        }
        let mut open = Open { cue, line: row.number, clean: Clean::default() };
        let mut end = i + 1;
        while end < rows.len() && !rows[end].chars.is_empty() && !rows[end].has_arrow() {
            // A number over the next times, without an empty line before it.
            let number = self.numbered && rows[end].is_number() && rows.get(end + 1).is_some_and(Row::has_arrow);
            if number {
                break;
            }
            open.clean.row(&rows[end], Marks::WebVtt);
            end += 1;
        }
        self.close(open, notes);
        end
    }

    fn close(&mut self, open: Open, notes: &mut Notes) {
        let Open { cue, line, clean } = open;
        self.times = Some((cue.from, cue.to));
        match clean.done(Some(cue.from), Some(cue.to)) {
            Some(piece) => self.pieces.push((line, piece)),
            None => notes.add(line, "there are no words under this time"),
        }
    }
}
