//! Captions: lines broken at sense, timed so that they can be read, and written as WebVTT and SRT.
//!
//! The bounds are those of broadcasters' house rules, from memory: at most two lines of 42 characters, 17 characters a second, a second at
//! least and seven at most for a cue, two frames (0.08 s) between cues or none. A test holds them for any text.

mod parts;
pub mod tongue;

pub use parts::{MOST_LETTERS, MOST_LINES};
pub use tongue::Tongue;

use crate::script::Line;

/// The most characters a second.
pub const MOST_RATE: f64 = 17.0;
/// The least milliseconds of a cue.
pub const LEAST_MS: u64 = 1000;
/// The most milliseconds of a cue.
pub const MOST_MS: u64 = 7000;
/// The least milliseconds between two cues, where there are any.
pub const GAP_MS: u64 = 80;

/// A caption.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    /// When it comes, in seconds of the video, whole milliseconds.
    pub from: f64,
    /// When it goes.
    pub to: f64,
    /// One or two lines.
    pub lines: Vec<String>,
    /// Which line of the script it says.
    pub line: usize,
}

/// For so many milliseconds the captions of a text have to stand, at so many characters a second at most.
pub fn least_ms(text: &str, rate: f64, tongue: &Tongue) -> u64 {
    parts::parts(text, tongue).iter().map(|lines| least(lines, rate)).sum()
}

fn least(lines: &[String], rate: f64) -> u64 {
    let rate = rate.clamp(1.0, MOST_RATE);
    let ms = (parts::letters(lines) as f64 * 1000.0 / rate).ceil() as u64;
    ms.clamp(LEAST_MS, MOST_MS)
}

/// The captions of a script. A line whose words can't be read in its time stands longer than it says, and what follows comes later: the
/// places of these lines are the second part.
pub fn cues(script: &[Line], tongue: &Tongue) -> (Vec<Cue>, Vec<usize>) {
    let (mut all, mut late): (Vec<Cue>, Vec<usize>) = (Vec::new(), Vec::new());
    let mut free = 0_u64;
    for (at, line) in script.iter().enumerate() {
        let parts = parts::parts(&line.says, tongue);
        let from = ms(line.from);
        // A gap of less than two frames is none.
        let mut now = if from < free + GAP_MS && !all.is_empty() { free } else { from.max(free) };
        let until = ms(line.to).max(now);
        let needs: Vec<u64> = parts.iter().map(|lines| least(lines, MOST_RATE)).collect();
        let needed: u64 = needs.iter().sum();
        if now + needed > until {
            late.push(at);
        }
        let spare = (until - now).saturating_sub(needed);
        let letters: u64 = parts.iter().map(|lines| parts::letters(lines) as u64).sum();
        for (lines, need) in parts.into_iter().zip(needs) {
            let share = spare * parts::letters(&lines) as u64 / letters.max(1);
            let to = now + (need + share).min(MOST_MS);
            all.push(Cue { from: seconds(now), to: seconds(to), lines, line: at });
            now = to;
        }
        free = free.max(now);
    }
    (all, late)
}

fn ms(seconds: f64) -> u64 {
    (seconds.max(0.0) * 1000.0).round() as u64
}

fn seconds(ms: u64) -> f64 {
    ms as f64 / 1000.0
}

/// The captions as a WebVTT file (W3C): each cue with its number as its name, the words escaped.
pub fn webvtt(cues: &[Cue]) -> String {
    let mut out = String::from("WEBVTT\n");
    for (i, cue) in cues.iter().enumerate() {
        let words = cue.lines.join("\n").replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        out.push_str(&format!("\n{}\n{} --> {}\n{words}\n", i + 1, stamp(cue.from, '.'), stamp(cue.to, '.')));
    }
    out
}

/// The captions as an SRT file. It knows no escapes: angle brackets, which players take for tags, become ‹ and ›.
pub fn srt(cues: &[Cue]) -> String {
    let one = |(i, cue): (usize, &Cue)| {
        let words = cue.lines.join("\n").replace('<', "‹").replace('>', "›");
        format!("{}\n{} --> {}\n{words}\n", i + 1, stamp(cue.from, ','), stamp(cue.to, ','))
    };
    cues.iter().enumerate().map(one).collect::<Vec<_>>().join("\n")
}

fn stamp(seconds: f64, point: char) -> String {
    let ms = ms(seconds);
    let (s, ms) = (ms / 1000, ms % 1000);
    format!("{:02}:{:02}:{:02}{point}{ms:03}", s / 3600, s / 60 % 60, s % 60)
}

#[cfg(test)]
pub(crate) mod tests;
