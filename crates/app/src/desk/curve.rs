//! The curve of gain by minutes, as a small drawing that can be read aloud.

use maud::{Markup, html};
use plan::draft::CurvePoint;

use crate::catalogue::{fill, text};

/// The drawing's inner size.
const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 64.0;
/// The minutes at its left and right edge.
const EDGES: (u32, u32) = (2, 30);

/// The curve with the chosen minutes marked.
pub fn curve(points: &[CurvePoint], chosen: u32) -> Markup {
    let most = points.iter().map(|p| p.gain).max().unwrap_or(0).max(1);
    let x = |minutes: u32| f64::from(minutes.saturating_sub(EDGES.0)) / f64::from(EDGES.1 - EDGES.0) * WIDTH;
    let y = |gain: u64| HEIGHT - gain as f64 / most as f64 * HEIGHT;
    let line: String = points
        .iter()
        .enumerate()
        .map(|(i, p)| format!("{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, x(p.minutes), y(p.gain)))
        .collect();
    let here = points.iter().find(|p| p.minutes == chosen);
    html! {
        svg.curve viewBox="-8 -10 576 96" role="img" aria-labelledby="curve-title curve-says" {
            title #curve-title { (text("curve.title")) }
            desc #curve-says { (says(points, chosen)) }
            path.base d={ "M0 " (HEIGHT) "H" (WIDTH) } {}
            @for minutes in [2u32, 5, 8, 12, 20, 30] {
                path.tick d={ "M" (x(minutes)) " " (HEIGHT) "v5" } {}
                text.label.chosen[minutes == chosen] x=(x(minutes)) y=(HEIGHT + 22.0) text-anchor="middle" { (minutes) }
            }
            path.gain-line d=(line) {}
            @if let Some(p) = here {
                path.drop d={ "M" (x(p.minutes)) " " (HEIGHT) "V" (y(p.gain)) } {}
                circle.here cx=(x(p.minutes)) cy=(y(p.gain)) r="6" {}
            }
        }
    }
}

/// What one more minute would add, and from where on nothing is added.
pub fn says(points: &[CurvePoint], chosen: u32) -> String {
    let at = |minutes: u32| points.iter().find(|p| p.minutes == minutes).map(|p| p.gain);
    let most = points.iter().map(|p| p.gain).max().unwrap_or(0);
    let full = points.iter().find(|p| p.gain == most).map(|p| p.minutes);
    let Some(now) = at(chosen).filter(|g| *g > 0) else { return text("curve.none").to_owned() };
    if now == most {
        return text("curve.nothing_more").to_owned();
    }
    let next = at(chosen + 1).unwrap_or(now);
    // Rounded down: less is promised rather than more.
    let percent = next.saturating_sub(now) * 100 / now;
    let first = match percent {
        0 => text("curve.adds_little").to_owned(),
        _ => fill("curve.adds", &[("percent", &percent)]),
    };
    match full {
        Some(minutes) => format!("{first} {}", fill("curve.full_at", &[("minutes", &minutes)])),
        None => first,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_is_told_in_words() {
        let points: Vec<CurvePoint> =
            [(2, 100), (3, 150), (4, 151), (5, 151)].map(|(minutes, gain)| CurvePoint { minutes, gain }).into();
        let check = |minutes, expected: &str| {
            let said = says(&points, minutes);
            assert!(said.contains(expected), "{minutes}: {said}");
        };
        check(2, "50 %");
        check(2, "4 minutes");
        check(3, text("curve.adds_little"));
        check(4, text("curve.nothing_more"));
        check(9, text("curve.none"));
    }
}
