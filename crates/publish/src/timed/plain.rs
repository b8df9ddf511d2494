//! Lines that begin with a time, as transcripts and lists of chapters do.

use super::Piece;
use super::clean::{Clean, Marks};
use super::clock::{blanks, time};
use super::rows::{Notes, Row};

/// A time at the beginning of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stamp {
    /// Seconds.
    pub from: f64,
    /// Seconds, where the line says until when.
    pub to: Option<f64>,
    /// Where its words begin in the line.
    pub words: usize,
    /// In brackets, or nothing else stands in the line: nobody writes the time of a day so.
    pub sure: bool,
}

/// `0:15 words`, `[00:15] words`, `(0:15) - words`, `0:15 - 0:20 words`, `0:00:01.500,0:00:03.000`, or a time alone.
pub fn stamp(row: &Row<'_>) -> Option<Stamp> {
    let chars = row.chars;
    let mut i = blanks(chars);
    let bracket = chars.get(i).and_then(|c| match c {
        '[' => Some(']'),
        '(' => Some(')'),
        '{' => Some('}'),
        '<' => Some('>'),
        _ => None,
    });
    i += usize::from(bracket.is_some());
    i += blanks(&chars[i..]);
    let from = time(&chars[i..]).filter(|t| !t.short)?;
    i += from.len;
    let mut to = None;
    if let Some((time, len)) = until(&chars[i..]) {
        to = Some(time);
        i += len;
    }
    if let Some(close) = bracket {
        i += blanks(&chars[i..]);
        if chars.get(i) != Some(&close) {
            return None;
        }
        i += 1;
    } else if chars.get(i).is_some_and(|c| c.is_alphanumeric() || *c == '%') || daytime(&chars[i..]) {
        return None;
    }
    let parting = |c: &&char| {
        c.is_whitespace() || matches!(c, ':' | '-' | '\u{2013}' | '\u{2014}' | '|' | '>' | '\u{2022}' | '\u{b7}')
    };
    i += chars[i..].iter().take_while(parting).count();
    Some(Stamp { from: from.seconds, to, words: i, sure: bracket.is_some() || i == chars.len() })
}

/// ` - 0:20` after a time.
fn until(chars: &[char]) -> Option<(f64, usize)> {
    let mut i = blanks(chars);
    let rest = &chars[i..];
    i += match rest {
        ['-', '-', '>', ..] => 3,
        ['-', '>', ..] => 2,
        ['-' | '\u{2013}' | '\u{2014}' | ',' | '\u{2192}', ..] => 1,
        ['t', 'o', ' ', ..] => 2,
        _ => return None,
    };
    i += blanks(&chars[i..]);
    let to = time(&chars[i..]).filter(|t| !t.short)?;
    let end = i + to.len;
    (!chars.get(end).is_some_and(|c| c.is_alphanumeric())).then_some((to.seconds, end))
}

/// `10:30 am`: the time of a day.
fn daytime(chars: &[char]) -> bool {
    let word: String = chars.iter().skip(blanks(chars)).take(4).collect::<String>().to_lowercase();
    ["am", "pm"].iter().any(|w| word.strip_prefix(w).is_some_and(|r| !r.starts_with(char::is_alphanumeric)))
        || word.starts_with("a.m.")
        || word.starts_with("p.m.")
        || word.starts_with("uhr")
}

/// Whether these rows are such a file: at least two lines begin with a time and either the first does, or half of all do.
pub fn fits(rows: &[Row<'_>]) -> bool {
    let filled: Vec<&Row<'_>> = rows.iter().filter(|r| !r.is_blank()).collect();
    let stamps: Vec<_> = filled.iter().filter_map(|r| stamp(r)).collect();
    // A line of nothing but its time has no words; one in brackets has those behind it.
    let words = filled.iter().filter(|r| stamp(r).is_none_or(|s| s.words < r.chars.len())).count();
    match filled.first().and_then(|r| stamp(r)) {
        Some(first) => words > 0 && (stamps.len() >= 2 || first.sure),
        None => stamps.len() >= 2 && stamps.len() * 2 >= filled.len(),
    }
}

/// The timed lines. Words above the first time are said at the beginning.
pub fn pieces(rows: &[Row<'_>], notes: &mut Notes) -> Vec<(usize, Piece)> {
    let mut pieces: Vec<(usize, Piece)> = Vec::new();
    let mut open = (1, 0.0, None, Clean::default());
    let mut timed = false;
    for row in rows {
        let Some(stamp) = stamp(row) else {
            open.3.row(row, Marks::None);
            continue;
        };
        let (line, from, to, clean) =
            std::mem::replace(&mut open, (row.number, stamp.from, stamp.to, Clean::default()));
        take(&mut pieces, notes, timed, (line, from, to, clean));
        timed = true;
        open.3.row(&row.after(stamp.words), Marks::None);
    }
    take(&mut pieces, notes, timed, open);
    pieces
}

fn take(
    pieces: &mut Vec<(usize, Piece)>,
    notes: &mut Notes,
    timed: bool,
    (line, from, to, clean): (usize, f64, Option<f64>, Clean),
) {
    match clean.done(Some(from), to) {
        Some(piece) => pieces.push((line, piece)),
        None if timed => notes.add(line, "there are no words after this time"),
        None => {}
    }
}
