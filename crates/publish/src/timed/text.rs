//! Text without times: paragraphs, headings and list items.

use super::Piece;
use super::clean::{Clean, Marks};
use super::rows::Row;

/// A line of at least so many characters may have been broken where the window ended; a shorter one was ended by its writer.
const WRAPPED: usize = 50;

/// Each paragraph, heading and list item, with the line that it begins in.
pub fn pieces(rows: &[Row<'_>]) -> Vec<(usize, Piece)> {
    let mut pieces = Vec::new();
    let mut open: Option<(usize, Clean)> = None;
    let mut before: Option<Row<'_>> = None;
    for row in rows {
        let line = row.trimmed();
        if line.chars.is_empty() || is_rule(&line) {
            take(&mut open, &mut pieces);
            before = None;
            continue;
        }
        let mark = mark(&line);
        if mark > 0 || !before.is_some_and(|above| runs_on(&above, &line)) {
            take(&mut open, &mut pieces);
        }
        let words = line.after(mark);
        open.get_or_insert_with(|| (row.number, Clean::default())).1.row(&words, Marks::None);
        // A heading ends with its line.
        before = (!line.begins("#")).then_some(line);
    }
    take(&mut open, &mut pieces);
    pieces
}

fn take(open: &mut Option<(usize, Clean)>, pieces: &mut Vec<(usize, Piece)>) {
    if let Some((line, clean)) = open.take() {
        pieces.extend(clean.done(None, None).map(|piece| (line, piece)));
    }
}

/// `---`, `===`: a line that is drawn.
fn is_rule(row: &Row<'_>) -> bool {
    row.chars.len() >= 3
        && row
            .chars
            .iter()
            .all(|c| matches!(c, '-' | '=' | '*' | '_' | '~' | '\u{2013}' | '\u{2014}' | '\u{2500}' | ' '))
}

/// How many characters of the line are the mark of a heading, a list item or a quotation.
fn mark(row: &Row<'_>) -> usize {
    let chars = row.chars;
    let blank = |n: usize| chars.get(n).is_some_and(|c| c.is_whitespace());
    let skip = |n: usize| n + chars[n..].iter().take_while(|c| c.is_whitespace()).count();
    let hashes = chars.iter().take_while(|c| **c == '#').count();
    if (1..=6).contains(&hashes) && blank(hashes) {
        return skip(hashes);
    }
    let digits = chars.iter().take(3).take_while(|c| c.is_ascii_digit()).count();
    if digits > 0 && chars.get(digits).is_some_and(|c| matches!(c, '.' | ')')) && blank(digits + 1) {
        return skip(digits + 1);
    }
    let bullet = |c: &char| {
        matches!(
            c,
            '-' | '*'
                | '+'
                | '>'
                | '\u{2022}'
                | '\u{b7}'
                | '\u{2013}'
                | '\u{2014}'
                | '\u{25aa}'
                | '\u{25cf}'
                | '\u{25e6}'
        ) || matches!(c, '\u{2190}'..='\u{21ff}' | '\u{2600}'..='\u{27bf}' | '\u{1f300}'..='\u{1faff}' | '\u{fe0f}')
    };
    let bullets = chars.iter().take_while(|c| bullet(c)).count();
    if bullets > 0 && blank(bullets) { skip(bullets) } else { 0 }
}

/// Whether a line goes on in the next one: broken by a window, or by hand in the middle of a sentence.
fn runs_on(above: &Row<'_>, line: &Row<'_>) -> bool {
    let ended = above.chars.iter().rev().find(|c| !matches!(c, '"' | '\'' | ')' | '\u{201d}' | '\u{2019}' | '*' | '_'));
    let small = line.chars.first().is_some_and(|c| c.is_lowercase());
    small || matches!(ended, Some(',' | ';' | '\u{2013}' | '-')) || above.chars.len() >= WRAPPED
}
