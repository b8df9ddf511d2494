//! `words` in plain text: what has to be mended, sentence by sentence, then the counts and what the check is not.

use std::fmt::Write;

use publish::claims::Verdict;
use publish::timed::{Format, Sentence};

use crate::catalogue::{clock, fill, full_stop, listed, sentence_case, text};
use crate::commands::words::Checked;
use crate::desk::publish::found::{Group, groups, summary, words};

pub fn plain(checked: &Checked) -> String {
    let mut out = head(checked);
    out.push('\n');
    if checked.spoken.seems_foreign() {
        let _ = writeln!(out, "{}", text("wordscmd.foreign"));
    }
    let all = groups(&checked.claims);
    let (wrong, fine): (Vec<_>, Vec<_>) = all.iter().partition(|g| g.worst != Verdict::Ok);
    let numbered: Vec<(usize, &Group<'_>)> = wrong.iter().enumerate().map(|(n, group)| (n + 1, *group)).collect();
    for together in numbered.chunk_by(|a, b| same_sentence(checked, a.1, b.1)) {
        out.push('\n');
        place(&mut out, checked, together[0].1);
        for (n, group) in together {
            statement(&mut out, checked, *n, group);
        }
        instead(&mut out, together);
    }
    if !wrong.is_empty() {
        let _ = writeln!(out, "\n{}", sentence_case(&full_stop(&summary(&checked.claims))));
    }
    for line in closing(checked, wrong.len(), fine.len()) {
        let _ = writeln!(out, "{line}");
    }
    out
}

fn same_sentence(checked: &Checked, a: &Group<'_>, b: &Group<'_>) -> bool {
    let (a, b) = (sentence(checked, a.start), sentence(checked, b.start));
    a.is_some() && a == b
}

/// What was looked at, and for whom.
fn head(checked: &Checked) -> String {
    let format = text(match checked.spoken.format {
        Format::Text => "wordscmd.text",
        Format::WebVtt => "wordscmd.webvtt",
        Format::Srt => "wordscmd.srt",
        Format::PlainTimed => "wordscmd.plain_timed",
    });
    let sentences = match checked.sentences.len() {
        1 => text("wordscmd.one_sentence").to_owned(),
        n => fill("wordscmd.n_sentences", &[("n", &n)]),
    };
    let countries = names(checked, checked.countries.iter().map(String::as_str));
    let file: &dyn std::fmt::Display = if checked.file == "-" { &text("wordscmd.stdin") } else { &checked.file };
    fill("wordscmd.head", &[("file", file), ("format", &format), ("sentences", &sentences), ("countries", &countries)])
}

fn names<'c>(checked: &Checked, codes: impl Iterator<Item = &'c str>) -> String {
    listed(&codes.map(|code| checked.standing.name(code)).collect::<Vec<_>>())
}

/// The number of the sentence in which a place lies.
fn sentence(checked: &Checked, start: usize) -> Option<usize> {
    let n = checked.sentences.partition_point(|s| s.at.first().is_some_and(|at| *at <= start)).checked_sub(1)?;
    let within = |s: &Sentence| s.at.last().is_some_and(|end| start < *end);
    checked.sentences.get(n).filter(|s| within(s)).map(|_| n)
}

/// When and where, and the whole sentence.
fn place(out: &mut String, checked: &Checked, group: &Group<'_>) {
    let line = checked.line(group.start);
    let at = match group.time {
        Some(time) => fill("wordscmd.at_time", &[("time", &hours(time)), ("line", &line)]),
        None => fill("wordscmd.at_line", &[("line", &line)]),
    };
    let _ = writeln!(out, "{at}");
    if let Some(n) = sentence(checked, group.start) {
        let _ = writeln!(out, "  \u{201c}{}\u{201d}", checked.sentences[n].text);
    }
}

/// As players show it: `1:02:03`, below an hour `2:03`.
fn hours(time: f64) -> String {
    let s = time.max(0.0) as u32;
    if s < 3600 { clock(s) } else { format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60) }
}

/// One statement with what it means in each country. What all reasons begin with stands once.
fn statement(out: &mut String, checked: &Checked, n: usize, group: &Group<'_>) {
    let said: [(&str, &dyn std::fmt::Display); 3] =
        [("n", &n), ("words", &group.text), ("kind", &small(&words::kind(group.kind)))];
    let _ = writeln!(out, "  {}", fill("wordscmd.statement", &said));
    let common = shared(&group.rulings.iter().map(|r| r.reason).collect::<Vec<_>>());
    if let Some(common) = group.rulings.first().map(|r| r.reason[..common].trim()).filter(|c| !c.is_empty()) {
        let _ = writeln!(out, "     {common}");
    }
    for ruling in &group.rulings {
        let countries = names(checked, ruling.countries.iter().copied());
        let reason = ruling.reason[common..].trim();
        let said: [(&str, &dyn std::fmt::Display); 3] =
            [("countries", &countries), ("verdict", &words::short(ruling.verdict)), ("reason", &reason)];
        let mut line = fill("wordscmd.ruling", &said);
        if !ruling.source.is_empty() {
            line = format!(
                "{} {}",
                line.trim_end(),
                fill("found.source", &[("source", &ruling.source.trim_end_matches('.'))])
            );
        }
        let _ = writeln!(out, "     {}", line.trim_end());
    }
    let _ = writeln!(out, "     {}", words::sure(group.confidence));
}

/// How many bytes of whole sentences all of these begin with; of a single one nothing.
fn shared(reasons: &[&str]) -> usize {
    let [first, others @ ..] = reasons else { return 0 };
    let ends = first.match_indices(". ").map(|(at, end)| at + end.len());
    let same = |n: &usize| {
        !others.is_empty() && others.iter().all(|o| o.as_bytes().get(..*n) == Some(&first.as_bytes()[..*n]))
    };
    ends.take_while(same).last().unwrap_or(0)
}

/// Within a sentence: its first letter small.
fn small(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Safer wordings of the whole sentence, each once.
fn instead(out: &mut String, together: &[(usize, &Group<'_>)]) {
    let mut told: Vec<&str> = Vec::new();
    for words in together.iter().flat_map(|(_, group)| &group.instead) {
        if !told.contains(words) {
            told.push(words);
            let _ = writeln!(out, "  {} \u{201c}{words}\u{201d}", text("found.instead"));
        }
    }
}

/// What stands under the findings.
fn closing(checked: &Checked, wrong: usize, fine: usize) -> Vec<String> {
    let mut lines = Vec::new();
    if wrong == 0 {
        lines.push(format!("\n{} {}", text("wordscmd.none"), text("found.silence")));
    }
    match fine {
        0 => {}
        1 => lines.push(text("wordscmd.one_fine").to_owned()),
        n => lines.push(fill("wordscmd.n_fine", &[("n", &n)])),
    }
    for note in &checked.spoken.notes {
        lines.push(match note.line {
            0 => fill("wordscmd.note", &[("note", &note.message)]),
            line => fill("wordscmd.note_line", &[("line", &line), ("note", &note.message)]),
        });
    }
    lines.push(text("found.notice").to_owned());
    lines
}

#[cfg(test)]
mod tests {
    use super::shared;

    #[test]
    fn what_reasons_share_is_whole_sentences() {
        let check = |reasons: &[&str], expected: usize| assert_eq!(shared(reasons), expected, "{reasons:?}");
        check(&["It says a. The rule: b.", "It says a. The rule: c."], 11);
        check(&["It says a. The rule: b."], 0);
        check(&["It says a.", "It says b."], 0);
        check(&["\u{e4}. b", "\u{e4}. c"], 4);
        check(&[], 0);
    }
}
