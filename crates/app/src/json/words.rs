//! `words --json`.

use publish::claims::{Claim, Verdict};
use publish::timed::Format;
use serde::Serialize;

use crate::catalogue::text;
use crate::commands::words::Checked;

#[derive(Serialize)]
pub struct WordsOut<'c> {
    file: &'c str,
    format: &'static str,
    countries: &'c [String],
    notice: &'static str,
    /// Whether the text seems to be English: of another language nothing is found.
    english: bool,
    sentences: usize,
    notes: Vec<NoteOut<'c>>,
    claims: Vec<ClaimOut<'c>>,
}

#[derive(Serialize)]
struct NoteOut<'c> {
    line: usize,
    note: &'c str,
}

#[derive(Serialize)]
struct ClaimOut<'c> {
    start: usize,
    end: usize,
    line: usize,
    time: Option<f64>,
    text: &'c str,
    country: &'c str,
    r#type: &'c str,
    topic: &'c str,
    verdict: &'static str,
    confidence: f64,
    rule: Option<&'c str>,
    rules: &'c [String],
    reason: &'c str,
    source: &'c str,
    instead: Option<&'c str>,
}

impl<'c> WordsOut<'c> {
    pub fn new(checked: &'c Checked) -> WordsOut<'c> {
        let note = |n: &'c vocab::Finding| NoteOut { line: n.line, note: &n.message };
        let claim = |c: &'c Claim| ClaimOut {
            start: c.start,
            end: c.end,
            line: checked.line(c.start),
            time: c.time.map(|t| (t * 1e3).round() / 1e3),
            text: &c.text,
            country: &c.country,
            r#type: &c.kind,
            topic: &c.topic,
            verdict: verdict(c.verdict),
            confidence: (c.confidence * 100.0).round() / 100.0,
            rule: c.rules.first().map(String::as_str),
            rules: &c.rules,
            reason: &c.reason,
            source: &c.source,
            instead: c.instead.as_deref(),
        };
        WordsOut {
            file: &checked.file,
            format: format(checked.spoken.format),
            countries: &checked.countries,
            notice: text("found.notice"),
            english: !checked.spoken.seems_foreign(),
            sentences: checked.sentences.len(),
            notes: checked.spoken.notes.iter().map(note).collect(),
            claims: checked.claims.iter().map(claim).collect(),
        }
    }
}

/// A verdict as it is named in data and JSON.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Avoid => "avoid",
        Verdict::NeedsTrial => "needs_trial",
        Verdict::NeedsDisclosure => "needs_disclosure",
        Verdict::Ok => "ok",
    }
}

fn format(format: Format) -> &'static str {
    match format {
        Format::Text => "text",
        Format::WebVtt => "webvtt",
        Format::Srt => "srt",
        Format::PlainTimed => "plain_timed",
    }
}
