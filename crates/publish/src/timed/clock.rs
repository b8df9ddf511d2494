//! Times as people and machines write them.

use vocab::Finding;

use super::rows::{Notes, Row};
use super::{Piece, decode};

/// The times of a cue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cue {
    /// Seconds.
    pub from: f64,
    /// Seconds.
    pub to: f64,
    /// Its seconds are parted by a comma, as in SRT.
    pub comma: bool,
}

/// A time at the beginning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Time {
    /// Seconds.
    pub seconds: f64,
    /// How many characters it has.
    pub len: usize,
    /// What parts whole seconds from the rest.
    pub point: Option<char>,
    /// Its seconds have one digit: a slip in a cue, and no time anywhere else.
    pub short: bool,
}

/// A time at the beginning: `M:SS`, `H:MM:SS`, either with a point or a comma and up to three digits. Minutes go up to 999 where no
/// hours stand before them.
pub fn time(chars: &[char]) -> Option<Time> {
    let mut groups: Vec<(u32, usize)> = Vec::new();
    let mut i = 0;
    loop {
        let digits = chars[i..].iter().take(5).take_while(|c| c.is_ascii_digit()).count();
        if digits == 0 || digits > 4 {
            return None;
        }
        let value = chars[i..i + digits].iter().fold(0, |n, c| n * 10 + c.to_digit(10).unwrap_or(0));
        groups.push((value, digits));
        i += digits;
        let more = chars.get(i) == Some(&':') && chars.get(i + 1).is_some_and(char::is_ascii_digit);
        if !more || groups.len() == 3 {
            break;
        }
        i += 1;
    }
    let (hours, minutes, seconds) = match groups[..] {
        [(m, md), (s, 1..=2)] if md <= 3 => (0, m, s),
        [(h, _), (m, 1..=2), (s, 1..=2)] if m < 60 => (h, m, s),
        _ => return None,
    };
    let more = chars.get(i) == Some(&':') && chars.get(i + 1).is_some_and(char::is_ascii_digit);
    if seconds > 59 || more {
        return None;
    }
    let mut at = Time {
        seconds: f64::from(hours * 3600 + minutes * 60 + seconds),
        len: i,
        point: None,
        short: groups.last().is_some_and(|g| g.1 < 2),
    };
    if let Some(point) = chars.get(i).filter(|c| matches!(c, '.' | ',')) {
        let digits = chars[i + 1..].iter().take(4).take_while(|c| c.is_ascii_digit()).count();
        if (1..=3).contains(&digits) {
            let part =
                chars[i + 1..=i + digits].iter().fold(0.0, |n, c| n * 10.0 + f64::from(c.to_digit(10).unwrap_or(0)));
            // Whole thousandths, so that equal times are equal numbers.
            let thousandths = part * [100.0, 10.0, 1.0][digits - 1];
            at.seconds = (at.seconds * 1000.0 + thousandths) / 1000.0;
            at.len = i + 1 + digits;
            at.point = Some(*point);
        }
    }
    Some(at)
}

/// How many blanks stand at the beginning.
pub fn blanks(chars: &[char]) -> usize {
    chars.iter().take_while(|c| c.is_whitespace() || **c == '\u{feff}').count()
}

/// The times of a line that opens a cue: `00:01.000 --> 00:04.000 align:start`.
pub fn cue(chars: &[char]) -> Option<Cue> {
    let mut i = blanks(chars);
    let from = time(&chars[i..])?;
    i += from.len;
    i += blanks(&chars[i..]);
    let arrow = chars.get(i..i + 3).filter(|a| matches!(a, ['-', '-', '>']))?;
    i += arrow.len();
    i += blanks(&chars[i..]);
    let to = time(&chars[i..])?;
    i += to.len;
    let rest: String = chars[i..].iter().collect();
    // Settings (`align:start`, `X1:10`) may follow. Words may not: then the line is one of plain timed text.
    let settings = rest.split_whitespace().all(|w| w.contains(':'));
    let blank = rest.is_empty() || rest.starts_with(char::is_whitespace);
    let exact = from.point.is_some() && to.point.is_some();
    let comma = from.point == Some(',');
    (blank && (exact || settings)).then_some(Cue { from: from.seconds, to: to.seconds, comma })
}

/// Whether a line looks as if it should open a cue and does not: an arrow between two things with digits and colons.
pub fn is_broken_cue(row: &Row<'_>) -> bool {
    let Some(arrow) = row.chars.windows(2).position(|w| w == ['-', '>']) else { return false };
    let clock = |c: &&char| matches!(c, '0'..='9' | ':' | '.' | ',' | ';' | ' ' | '\t' | '\u{feff}' | '-');
    let clocky = |c: &[char]| c.contains(&':') && c.iter().any(char::is_ascii_digit);
    let after = &row.chars[arrow + 2..];
    let right = &after[..after.iter().take_while(clock).count()];
    let left = &row.chars[..arrow];
    clocky(left) && left.iter().all(|c| clock(&c)) && clocky(right) && cue(row.chars).is_none() && !reads_as_stamp(row)
}

/// `0:15 --> 0:20 words`: plain timed text.
fn reads_as_stamp(row: &Row<'_>) -> bool {
    super::plain::stamp(row).is_some_and(|s| s.to.is_some())
}

/// What is said of a line whose times cannot be read.
pub fn broken_cue(name: &str, row: &Row<'_>) -> Finding {
    let said = decode::shown(row.chars);
    let how = "write them as 00:01:02.000 --> 00:01:05.000 (hours, minutes up to 59, seconds up to 59)";
    Finding::new(name, row.number, format!("the times of this line cannot be read: {said}; {how}"))
}

/// A text that has lines like those of captions is a broken caption file, not a text.
pub fn refuse_broken_arrows(name: &str, rows: &[Row<'_>]) -> Result<(), Vec<Finding>> {
    let wrong: Vec<_> = rows.iter().filter(|r| is_broken_cue(r)).take(20).map(|r| broken_cue(name, r)).collect();
    if wrong.is_empty() { Ok(()) } else { Err(wrong) }
}

/// Notes times that run backward, ends before beginnings, and cues that overlap. Nothing of it changes the words.
pub fn note_order(pieces: &[(usize, Piece)], notes: &mut Notes) {
    let mut before: Option<(f64, f64)> = None;
    for (line, piece) in pieces {
        let Some(from) = piece.from else { continue };
        let to = piece.to.unwrap_or(from);
        if to < from {
            notes.add(*line, "it ends before it begins: players leave such a cue out; exchange its times");
        } else if piece.to == Some(from) {
            notes.add(*line, "it ends when it begins: players do not show it; give it an end");
        }
        if let Some((last, until)) = before {
            if from < last {
                notes.add(
                    *line,
                    "its time lies before the time above it: bring the lines into the order in which they are said",
                );
            } else if from < until {
                notes.add(*line, "it begins before the one above it has ended: both are shown at once");
            }
        }
        before = Some((from, to));
    }
}
