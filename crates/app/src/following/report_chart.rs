//! The chart of a report: a series as it is laid out for the page, as a drawing in black ink alone.

use std::fmt::Write;

use super::chart::{Chart, Phase, Sign, lay_out};
use super::one::{Followed, Series};
use crate::language::{self, Language};

/// How wide it is laid out: with it a letter of 13 is about 8.6 points high on paper.
const WIDTH: f64 = 800.0;
const LETTERS: f64 = 13.0;
/// Ink, and ink let down with water, as they print in black alone.
const INK: &str = "#1f2a33";
const WATER: &str = "#5c666e";
const LINE: &str = "#9aa3a8";
const BAND: &str = "#dde2e4";

/// A series as SVG that `press` can draw; none without a visit.
pub fn svg(f: &Followed, series: &Series, up: &str) -> Option<String> {
    Some(drawn(&lay_out(f, series, WIDTH)?, up))
}

fn drawn(c: &Chart, up: &str) -> String {
    let mut out =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.1} {:.1}\">", c.width, c.height + 4.0);
    let [left, top, right, bottom] = c.plot;
    if let Some([a, b]) = c.band {
        let (high, low) = (a.min(b).max(top), a.max(b).min(bottom));
        rect(&mut out, [left, high, right - left, low - high], BAND);
        for y in [high, low] {
            line(&mut out, &[[left, y], [right, y]], (WATER, 0.9, "5 3"));
        }
    }
    for (y, said) in &c.values {
        line(&mut out, &[[left, *y], [right, *y]], (LINE, 0.5, ""));
        word(&mut out, [left - 6.0, y + 4.5], "end", &decimal(said));
    }
    for (x, said) in &c.days {
        line(&mut out, &[[*x, bottom], [*x, bottom + 4.0]], (INK, 0.9, ""));
        word(&mut out, [*x, bottom + 18.0], "middle", &said.replace('-', "\u{2212}"));
    }
    // What is compared stands out as bars along the upper edge, the days before the first session hollow.
    for (phase, [from, to]) in &c.phases {
        let (from, to) = (from.max(left), to.min(right));
        match phase {
            Phase::Baseline => {
                line(&mut out, &[[from, top - 4.0], [to, top - 4.0]], (INK, 1.2, ""));
                line(&mut out, &[[from, top - 8.0], [to, top - 8.0]], (INK, 1.2, ""));
                line(&mut out, &[[from, top - 8.0], [from, top - 4.0]], (INK, 1.2, ""));
                line(&mut out, &[[to, top - 8.0], [to, top - 4.0]], (INK, 1.2, ""));
            }
            Phase::LastWeek => rect(&mut out, [from, top - 8.6, to - from, 5.2], INK),
        }
    }
    line(&mut out, &[[c.first, top - 10.0], [c.first, bottom]], (INK, 1.0, "2 3"));
    line(&mut out, &[[left, bottom], [right, bottom]], (INK, 0.9, ""));
    for ends in &c.lines {
        line(&mut out, ends, (INK, 2.2, ""));
    }
    for dot in &c.dots {
        let [x, y] = dot.at;
        line(&mut out, &[[x, dot.ends[0]], [x, dot.ends[1]]], (INK, 0.9, ""));
        let _ = write!(out, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.6\" fill=\"{INK}\"/>");
        if dot.odd {
            let _ = write!(
                out,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"7\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.1\"/>"
            );
        }
    }
    word(&mut out, [left, 10.0], "start", up);
    for row in &c.rows {
        word(&mut out, [left - 8.0, row.y + 4.5], "end", row.words);
        for x in &row.at {
            sign(&mut out, row.sign, [*x, row.y]);
        }
    }
    out.push_str("</svg>");
    out
}

fn sign(out: &mut String, sign: Sign, [x, y]: [f64; 2]) {
    match sign {
        Sign::Session => rect(out, [x - 2.6, y - 6.0, 5.2, 12.0], INK),
        Sign::Incident => {
            let _ = write!(
                out,
                "<path d=\"M{x:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.5\"/>",
                y - 6.0,
                x + 6.0,
                y + 5.0,
                x - 6.0,
                y + 5.0
            );
        }
        Sign::Note => {
            let _ = write!(
                out,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.3\"/>"
            );
        }
        Sign::Context => {
            line(out, &[[x - 4.0, y - 4.0], [x + 4.0, y + 4.0]], (INK, 1.3, ""));
            line(out, &[[x - 4.0, y + 4.0], [x + 4.0, y - 4.0]], (INK, 1.3, ""));
        }
    }
}

fn rect(out: &mut String, [x, y, w, h]: [f64; 4], fill: &str) {
    let _ = write!(
        out,
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"{fill}\"/>",
        w.max(0.1),
        h.max(0.1)
    );
}

fn line(out: &mut String, places: &[[f64; 2]], (colour, width, dashes): (&str, f64, &str)) {
    let path: Vec<String> = places
        .iter()
        .enumerate()
        .map(|(i, [x, y])| format!("{}{x:.1} {y:.1}", if i == 0 { "M" } else { "L" }))
        .collect();
    let dashes = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") };
    let _ = write!(
        out,
        "<path d=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"{dashes}/>",
        path.concat()
    );
}

fn word(out: &mut String, [x, y]: [f64; 2], anchor: &str, said: &str) {
    let said = said.replace('&', "&amp;").replace('<', "&lt;");
    let _ = write!(
        out,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" font-size=\"{LETTERS}\" fill=\"{INK}\">{said}</text>"
    );
}

/// With the decimal mark of the language.
fn decimal(said: &str) -> String {
    if language::now() == Language::German { said.replace('.', ",") } else { said.to_owned() }
}
