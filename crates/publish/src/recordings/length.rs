//! How long: seconds as they are said.

use super::stream::{Break, Word};

/// A slow breath, in seconds (common practice).
const BREATH_S: f64 = 5.0;
/// A small circle.
const CIRCLE_S: f64 = 2.0;
/// A stroke or a press with its release.
const STROKE_S: f64 = 4.0;
/// No step is longer.
const MOST_S: f64 = 180.0;

/// A length that was said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    /// In seconds.
    pub seconds: f64,
    /// How sure, 0 to 1.
    pub sure: f64,
    /// How often, where laps were counted and not seconds.
    pub times: Option<u32>,
}

const UNITS: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// A number at the beginning of these words, and how many of them it takes.
pub fn number(words: &[&str]) -> Option<(f64, usize)> {
    let first = *words.first()?;
    if let Ok(n) = first.parse::<u32>() {
        return (n < 1000).then_some((f64::from(n), 1));
    }
    if let Some(tens) = TENS.iter().position(|t| !t.is_empty() && *t == first) {
        let unit = words.get(1).and_then(|w| UNITS[1..10].iter().position(|u| u == w));
        return Some(match unit {
            Some(u) => ((tens * 10 + u + 1) as f64, 2),
            None => ((tens * 10) as f64, 1),
        });
    }
    if let Some(n) = UNITS.iter().position(|u| *u == first) {
        return Some((n as f64, 1));
    }
    match first {
        "once" => Some((1.0, 1)),
        "twice" => Some((2.0, 1)),
        _ => None,
    }
}

/// The first length that these words tell.
pub fn length(words: &[Word]) -> Option<Length> {
    let raw: Vec<&str> = words.iter().map(|w| w.raw.as_str()).collect();
    let whole = |i: usize| words.get(i).is_none_or(|w| w.before > Break::None);
    for i in 0..raw.len() {
        let rest = &raw[i..];
        let sure = |seconds: f64, sure: f64| Some(Length { seconds, sure, times: None });
        match rest {
            ["half", "a", "minute", ..] | ["half", "minute", ..] => return sure(30.0, 0.95),
            ["a", "minute", "and", "a", "half", ..] | ["one", "minute", "and", "a", "half", ..] => {
                return sure(90.0, 0.95);
            }
            ["quarter", "of", "a", "minute", ..] => return sure(15.0, 0.95),
            ["a", "full", "minute", ..] | ["a", "whole", "minute", ..] => return sure(60.0, 0.95),
            ["a", "minute", next, ..] if matches!(*next, "ago" | "or" | "of" | "to") => {}
            ["in", "a", "minute", ..] => return None,
            ["for", "a", "minute", ..] | ["a", "minute", "here" | "there", ..] => return sure(60.0, 0.9),
            ["count", "of" | "to" | "up", more @ ..] | ["counting", "to", more @ ..] | ["counts", "of", more @ ..] => {
                let more = if more.first() == Some(&"to") { &more[1..] } else { more };
                if let Some((n, _)) = number(more)
                    && n >= 3.0
                {
                    return sure(n, 0.85);
                }
            }
            ["a", "couple", "of", "breaths", ..] => return sure(2.0 * BREATH_S, 0.5),
            ["a", "few", "breaths", ..] | ["a", "few", "slow", "breaths", ..] => return sure(3.0 * BREATH_S, 0.5),
            _ => {}
        }
        let Some((n, used)) = number(rest) else { continue };
        // "ten to fifteen seconds": the longer.
        let (mut n, mut used) = (n, used);
        if matches!(rest.get(used), Some(&"to" | &"or"))
            && let Some((most, more)) = number(&rest[used + 1..])
            && most > n
        {
            n = most;
            used += 1 + more;
        }
        let mut k = used;
        while rest.get(k).is_some_and(|w| {
            matches!(
                *w,
                "slow"
                    | "long"
                    | "deep"
                    | "small"
                    | "little"
                    | "more"
                    | "full"
                    | "gentle"
                    | "tiny"
                    | "calm"
                    | "quiet"
                    | "light"
                    | "good"
                    | "easy"
                    | "soft"
                    | "big"
                    | "lazy"
                    | "whole"
                    | "short"
                    | "of"
                    | "your"
            )
        }) {
            k += 1;
        }
        let Some(unit) = rest.get(k) else {
            // "Hold. Ten."
            if words.len() == 1 && (5.0..=60.0).contains(&n) {
                return sure(n, 0.65);
            }
            if bare(&raw, i, n) {
                return sure(n, 0.75);
            }
            continue;
        };
        if matches!(rest.get(k + 1), Some(&"left" | &"ago" | &"later")) {
            continue;
        }
        let found = match *unit {
            "second" if n >= 2.0 => sure(n, 0.95),
            "seconds" | "sec" | "secs" | "s" => sure(n, 0.95),
            "minute" | "minutes" if n <= 3.0 => sure(n * 60.0, 0.9),
            "breath" | "breaths" if n >= 1.0 => sure(n * BREATH_S, 0.6),
            "counts" | "beats" | "count" => sure(n, 0.8),
            "circle" | "circles" | "rounds" | "rotations" | "spirals" | "turns" | "loops" => {
                Some(Length { seconds: n * CIRCLE_S, sure: 0.5, times: None })
            }
            "times" | "strokes" | "sweeps" | "presses" | "laps" | "passes" | "pumps" | "glides" | "pinches"
            | "stroke" | "reps" | "goes" | "slides" | "swipes" => {
                Some(Length { seconds: n * STROKE_S, sure: 0.45, times: Some(n as u32) })
            }
            "those" | "them" | "these" if raw.get(i + k - 1) == Some(&"of") => {
                Some(Length { seconds: n * STROKE_S, sure: 0.4, times: Some(n as u32) })
            }
            _ if rest[0] == "once" || rest[0] == "twice" => {
                Some(Length { seconds: n * STROKE_S, sure: 0.3, times: Some(n as u32) })
            }
            _ if (whole(i + used) || matches!(*unit, "and" | "please" | "here" | "there" | "then" | "on" | "each"))
                && bare(&raw, i, n) =>
            {
                sure(n, 0.7)
            }
            _ => None,
        };
        if found.is_some_and(|l| l.seconds >= 1.0 && l.seconds <= MOST_S) {
            return found;
        }
    }
    None
}

/// A number without a unit means seconds: "hold for fifteen", "same fifteen", "another ten".
fn bare(raw: &[&str], i: usize, n: f64) -> bool {
    n >= 5.0 && i > 0 && matches!(raw[i - 1], "for" | "same" | "another" | "hold" | "about" | "full")
}
