//! The notation: each mark shows what the hand does, readable without colour and at 12 mm in print.

use std::f64::consts::TAU;
use std::fmt::Write;

use face::Spot;
use vocab::{Class, Pressure, Side};

use crate::pen::{self, Touch};
use crate::svg::{self, UNITS, len, num, xy};
use crate::{Ground, Mark};

/// How one mark is drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look {
    pub mark: Mark,
    pub side: Side,
    pub pressure: Pressure,
    pub class: Class,
    /// Openings and closings: hollow.
    pub hollow: bool,
    /// The filled share of a hold, 0 to 1.
    pub filled: f64,
}

impl Look {
    /// The width of the mark's line in centimetres: featherlight, light and firm differ by about one and a half times.
    fn line(&self) -> f64 {
        match self.pressure {
            Pressure::Featherlight => 0.075,
            Pressure::Light => 0.125,
            Pressure::Firm => 0.2,
        }
    }

    /// The widest place of a stroke.
    fn broad(&self) -> f64 {
        match self.pressure {
            Pressure::Featherlight => 0.3,
            Pressure::Light => 0.42,
            Pressure::Firm => 0.6,
        }
    }
}

fn filled(d: &str) -> String {
    format!("<path d=\"{d}\" fill=\"currentColor\"/>")
}

fn lined(d: &str, width: f64) -> String {
    format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linecap=\"round\"/>",
        len(width)
    )
}

fn patterned(d: &str, width: f64, dashes: &str) -> String {
    format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linecap=\"round\" \
         stroke-dasharray=\"{dashes}\"/>",
        len(width)
    )
}

pub(crate) fn circle(at: Spot, r: f64) -> String {
    // The chord is taken from the rounded radius: an arc that does not quite meet its ends would draw an oval.
    let r = (r * UNITS * 10.0).round() / 10.0;
    let (r, across, start) = (num(r), num(r * 2.0), format!("{} {}", num(at.x * UNITS - r), num(-at.y * UNITS)));
    format!("M{start}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0-{across} 0z")
}

/// A mark that stands at one place, with radius `r` in centimetres.
pub(crate) fn at_spot(at: Spot, r: f64, look: &Look) -> String {
    let w = look.line();
    let mut art = match look.mark {
        Mark::Hold => hold(at, r, look),
        Mark::Circles => {
            // The heavier the line, the fewer turns, so that the spiral stays open.
            let turns = (r / (w * 2.05)).clamp(1.3, 2.4);
            let way: Vec<Touch> = (0..=26)
                .map(|i| {
                    let f = f64::from(i) / 26.0;
                    let angle = TAU * (0.12 - turns * (1.0 - f));
                    let lean = if look.side == Side::Right { -1.0 } else { 1.0 };
                    let out = r * (0.1 + 0.9 * f);
                    let press = if f < 0.08 { 0.5 } else { 1.0 - 0.65 * f.powi(3) };
                    Touch { at: at + Spot::new(lean * out * angle.cos(), out * angle.sin()), press }
                })
                .collect();
            filled(&pen::ink(&way, w))
        }
        Mark::Press => {
            (-1..=1).map(|i| bar(at + Spot::new(f64::from(i) * r * 0.62, 0.0), Spot::new(0.0, 1.0), r, w)).collect()
        }
        Mark::Pinch => facing(at, Spot::new(1.0, 0.0), r, w),
        Mark::ToAndFro => doubled(&[at - Spot::new(r * 1.1, 0.0), at, at + Spot::new(r * 1.1, 0.0)], r * 0.3, w),
        Mark::Stroke => {
            let lean = if look.side == Side::Right { -1.0 } else { 1.0 };
            let half = Spot::new(lean * r * 1.15, -r * 0.5);
            taper(&[at - half, at + Spot::new(0.0, r * 0.12), at + half], look)
        }
        Mark::Palm => {
            let round: Vec<Spot> = (0..18)
                .map(|i| {
                    let a = TAU * f64::from(i) / 18.0;
                    at + Spot::new(r * 1.25 * a.cos(), r * 1.05 * a.sin())
                })
                .collect();
            hatch(&round, look)
        }
        Mark::Oil => {
            let p = |x: f64, y: f64| xy(at + Spot::new(x * r, y * r));
            let d = format!(
                "M{}C{} {} {}C{} {} {}C{} {} {}C{} {} {}Z",
                p(0.0, 1.15),
                p(0.1, 0.6),
                p(0.66, 0.15),
                p(0.66, -0.35),
                p(0.66, -0.75),
                p(0.36, -1.0),
                p(0.0, -1.0),
                p(-0.36, -1.0),
                p(-0.66, -0.75),
                p(-0.66, -0.35),
                p(-0.66, 0.15),
                p(-0.1, 0.6),
                p(0.0, 1.15),
            );
            let shine = [
                at + Spot::new(-0.32 * r, -0.3 * r),
                at + Spot::new(-0.26 * r, -0.56 * r),
                at + Spot::new(-0.02 * r, -0.68 * r),
            ];
            lined(&d, w) + &filled(&pen::ink(&pen::even(&shine, 1.0), w * 0.9))
        }
    };
    art.push_str(&clearance(&circle(at, r * 1.42), at, r * 1.3, look.class));
    art
}

/// A mark drawn along a way: a stroke through a zone, or any technique along a line.
pub(crate) fn along(way: &[Spot], r: f64, look: &Look, near: &[(Spot, f64)]) -> String {
    let w = look.line();
    let run = pen::through(way, 0.06);
    let total = run.windows(2).map(|p| p[0].to(p[1])).sum::<f64>();
    let (middle, _) = walk(&run, total * 0.5);
    let beads = |gap: f64| {
        let count = (total / gap).round().max(1.0) as usize;
        let free = |at: Spot| near.iter().all(|(spot, room)| at.to(*spot) > room + r * 0.75);
        let places = (0..count).map(|i| walk(&run, total * (i as f64 + 0.5) / count as f64));
        places.filter(|(at, _)| free(*at)).collect::<Vec<_>>()
    };
    let mut art = match look.mark {
        Mark::Stroke => taper(way, look),
        Mark::ToAndFro => doubled(way, r * 0.24, w),
        Mark::Press => beads(r * 0.95).into_iter().map(|(at, dir)| bar(at, dir.normal(), r * 0.8, w)).collect(),
        Mark::Pinch => beads(r * 2.3).into_iter().map(|(at, dir)| facing(at, dir, r * 0.72, w)).collect(),
        Mark::Hold => beads(r * 1.9).into_iter().map(|(at, _)| hold(at, r * 0.5, look)).collect(),
        Mark::Circles => {
            let count = (total / (r * 0.85)).round().max(2.0);
            let coil: Vec<Touch> = (0..=(count as usize) * 14)
                .map(|i| {
                    let f = i as f64 / (count * 14.0);
                    let (at, dir) = walk(&run, total * f);
                    let a = TAU * count * f;
                    let swing = dir.normal() * (r * 0.55 * a.sin()) + dir.unit() * (r * 0.42 * (a.cos() - 1.0));
                    Touch { at: at + swing, press: 1.0 - 0.55 * f }
                })
                .collect();
            filled(&pen::ink(&coil, w))
        }
        Mark::Palm => {
            let half = r * 1.1;
            let mut band: Vec<Spot> = run
                .iter()
                .step_by(8)
                .zip(run.iter().skip(1).step_by(8))
                .map(|(a, b)| *a + (*b - *a).normal() * half)
                .collect();
            band.extend(
                run.iter()
                    .step_by(8)
                    .zip(run.iter().skip(1).step_by(8))
                    .map(|(a, b)| *a - (*b - *a).normal() * half)
                    .rev(),
            );
            hatch(&band, look)
        }
        Mark::Oil => at_spot(middle, r, look),
    };
    let edge = pen::outline(&pen::even(way, 1.0), look.broad() + 0.55);
    art.push_str(&clearance(&svg::soft(&edge, true), middle, r * 1.5, look.class));
    art
}

/// A disc of the ground beneath a small mark, so that it stays clear of what runs below it.
pub(crate) fn halo(at: Spot, r: f64, ground: Ground) -> String {
    let colour = ground.behind().unwrap_or("Canvas");
    format!("<path class=\"sk-ground\" d=\"{}\" fill=\"{colour}\"/>", circle(at, r))
}

/// A palm over a zone.
pub(crate) fn over(outline: &[Spot], at: Spot, look: &Look) -> String {
    let run = pen::through(&[outline, &outline[..1.min(outline.len())]].concat(), 0.3);
    hatch(&run, look) + &clearance(&svg::soft(&run, true), at, 1.2, look.class)
}

/// The place after `cm` of a run, and the direction there.
fn walk(run: &[Spot], cm: f64) -> (Spot, Spot) {
    let mut left = cm;
    for pair in run.windows(2) {
        let piece = pair[0].to(pair[1]);
        if left <= piece {
            return (pair[0] + (pair[1] - pair[0]).unit() * left, pair[1] - pair[0]);
        }
        left -= piece;
    }
    match run {
        [.., a, b] => (*b, *b - *a),
        [a] => (*a, Spot::new(1.0, 0.0)),
        [] => Default::default(),
    }
}

/// A ring that fills like a dial as the seconds pass. The sector is the dash of a thick circle, so that a script can
/// fill it by setting one attribute: `stroke-dasharray = share * data-round`.
fn hold(at: Spot, r: f64, look: &Look) -> String {
    let w = look.line();
    let inner = (r - w * 0.5 - 0.06).max(r * 0.4);
    let round = TAU * inner * 0.5 * UNITS;
    let mut art = lined(&circle(at, r), w);
    let _ = write!(
        art,
        "<circle class=\"sk-fill\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{width}\" \
         stroke-dasharray=\"{dash} {round}\" data-round=\"{round}\" transform=\"rotate(-90 {x} {y})\"/>",
        x = len(at.x),
        y = len(-at.y),
        r = num(inner * 0.5 * UNITS),
        width = len(inner),
        dash = num(round * look.filled.clamp(0.0, 1.0)),
        round = num(round),
    );
    art
}

fn bar(at: Spot, up: Spot, r: f64, w: f64) -> String {
    let half = up.unit() * (r * 0.72);
    let touches = [(at - half, 0.85), (at, 1.0), (at + half, 0.85)].map(|(at, press)| Touch { at, press });
    filled(&pen::ink(&touches, w * 1.25))
}

/// Two small arcs that face each other across `dir`.
fn facing(at: Spot, dir: Spot, r: f64, w: f64) -> String {
    let w = w * (r / 0.58).min(1.0);
    let (out, up) = (dir.unit(), dir.normal());
    let arc = |s: f64| {
        let touches = [(0.42, 0.85, 0.15), (0.8, 0.45, 0.9), (0.9, 0.0, 1.1), (0.8, -0.45, 0.9), (0.42, -0.85, 0.15)]
            .map(|(x, y, press)| Touch { at: at + out * (s * x * r) + up * (y * r), press });
        filled(&pen::ink(&touches, w * 1.2))
    };
    arc(1.0) + &arc(-1.0)
}

/// Two lines side by side, one thinning forth, one thinning back.
fn doubled(way: &[Spot], gap: f64, w: f64) -> String {
    let run = pen::through(way, 0.2);
    let n = run.len();
    let shifted = |side: f64| -> Vec<Touch> {
        (0..n)
            .map(|i| {
                let dir = run[(i + 1).min(n - 1)] - run[i.saturating_sub(1)];
                let f = i as f64 / (n.max(2) - 1) as f64;
                let press = if side > 0.0 { 1.25 - 0.95 * f } else { 0.3 + 0.95 * f };
                Touch { at: run[i] + dir.normal() * (gap * side), press }
            })
            .collect()
    };
    filled(&pen::ink(&shifted(1.0), w * 1.1)) + &filled(&pen::ink(&shifted(-1.0), w * 1.1))
}

/// A line that swells at once and tapers in its direction.
fn taper(way: &[Spot], look: &Look) -> String {
    let run = pen::through(way, 0.25);
    let n = run.len().max(2) - 1;
    let touches: Vec<Touch> = run
        .iter()
        .enumerate()
        .map(|(i, at)| {
            let f = i as f64 / n as f64;
            let press = if f < 0.14 { 0.55 + 0.45 * (f / 0.14) } else { (1.0 - (f - 0.14) / 0.86).powf(0.85) };
            Touch { at: *at, press }
        })
        .collect();
    let d = pen::ink(&touches, look.broad());
    if look.hollow { lined(&d, 0.06) } else { filled(&d) }
}

/// Soft hatching over an area: left leans `/`, right leans `\`, the midline stands level.
fn hatch(area: &[Spot], look: &Look) -> String {
    let lean: f64 = match look.side {
        Side::Left | Side::Both => 52f64.to_radians(),
        Side::Right => 128f64.to_radians(),
        Side::Midline => 0.0,
    };
    let dir = Spot::new(lean.cos(), lean.sin());
    let across = dir.normal();
    let dot = |a: Spot, b: Spot| a.x * b.x + a.y * b.y;
    let heights: Vec<f64> = area.iter().map(|s| dot(*s, across)).collect();
    let (low, high) =
        (heights.iter().copied().fold(f64::MAX, f64::min), heights.iter().copied().fold(f64::MIN, f64::max));
    let gap = 0.4;
    let rows = ((high - low) / gap).floor().max(1.0);
    let start = low + ((high - low) - (rows - 1.0) * gap) / 2.0;
    let mut d = String::new();
    for row in 0..rows as usize {
        let h = start + gap * row as f64;
        let mut cuts: Vec<f64> = Vec::new();
        for i in 0..area.len() {
            let (a, b) = (area[i], area[(i + 1) % area.len()]);
            let (ha, hb) = (dot(a, across), dot(b, across));
            if (ha <= h) != (hb <= h) {
                cuts.push(dot(a + (b - a) * ((h - ha) / (hb - ha)), dir));
            }
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.chunks_exact(2) {
            // Uneven ends: a hand, not a ruler; a fixed pattern, not chance.
            let ragged = |k: usize| ((row * 5 + k) % 7) as f64 / 7.0 * 0.14;
            let (from, to) = (pair[0] + ragged(0), pair[1] - ragged(3));
            if to - from < 0.2 {
                continue;
            }
            let at = |t: f64| dir * t + across * (h + 0.03 * (t * 1.7).sin());
            let touches = [(from, 0.1), (from + (to - from) * 0.3, 0.9), (from + (to - from) * 0.7, 0.9), (to, 0.1)]
                .map(|(t, press)| Touch { at: at(t), press });
            d.push_str(&pen::ink(&touches, look.line() * 0.75));
        }
    }
    filled(&d)
}

/// The line pattern of a clearance around a mark: none, dotted, dashed, or struck through.
fn clearance(around: &str, at: Spot, r: f64, class: Class) -> String {
    match class {
        Class::Go => String::new(),
        Class::Gently => patterned(around, 0.09, "0.1 5"),
        Class::AskFirst => patterned(around, 0.075, "7 5"),
        Class::LeaveOut | Class::Stop => {
            let strike = |dy: f64| {
                let touches = [(at + Spot::new(-r, -r * 0.75 + dy), 0.8), (at + Spot::new(r, r * 0.75 + dy), 0.8)]
                    .map(|(at, press)| Touch { at, press });
                filled(&pen::ink(&touches, 0.13))
            };
            strike(0.14) + &strike(-0.14)
        }
    }
}

/// A single mark for a list or a legend, `size` pixels high and wide, with `title` as its accessible name (empty:
/// decorative, hidden from readers).
pub fn mark_svg(mark: Mark, side: Side, pressure: Pressure, class: Class, size: u32, title: &str) -> String {
    let look = Look { mark, side, pressure, class, hollow: false, filled: 0.66 };
    icon(&at_spot(Spot::default(), 0.82, &look), size, title)
}

/// The hollow stroke of an opening or closing, for a legend.
pub fn opening_svg(size: u32, title: &str) -> String {
    let (mark, pressure) = (Mark::Stroke, Pressure::Featherlight);
    let look = Look { mark, side: Side::Left, pressure, class: Class::Go, hollow: true, filled: 0.0 };
    icon(&at_spot(Spot::default(), 0.82, &look), size, title)
}

/// A swatch of a clearance's line pattern around a small hold.
pub fn class_svg(class: Class, size: u32, title: &str) -> String {
    let look =
        Look { mark: Mark::Hold, side: Side::Left, pressure: Pressure::Light, class, hollow: false, filled: 0.66 };
    icon(&at_spot(Spot::default(), 0.72, &look), size, title)
}

fn icon(art: &str, size: u32, title: &str) -> String {
    let name = if title.is_empty() {
        "aria-hidden=\"true\"".to_owned()
    } else {
        format!("role=\"img\" aria-label=\"{}\"", svg::escape(title))
    };
    let part = Ground::Page.part(crate::ground::Part::Marks).replace("sk-marks", "sk-mark");
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {part} width=\"{size}\" height=\"{size}\" viewBox=\"-24 -24 48 48\" {name} \
         focusable=\"false\">{art}</svg>"
    )
}
