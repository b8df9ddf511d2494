//! Quiet step numerals beside the marks, set where they cover neither a mark nor each other.

use std::fmt::Write;

use face::Spot;
use vocab::Side;

use crate::layout::{EYE, Placed};
use crate::sheet::{FAMILY, Window};
use crate::svg::{UNITS, escape, num};
use crate::{Mark, MarkedStep, Person, pen};

/// The type's height in centimetres of the drawing, and about how wide one figure is.
const HEIGHT: f64 = 0.55;
const FIGURE: f64 = 0.31;

/// A numeral as a box around its middle.
struct Label {
    at: Spot,
    half: Spot,
}

/// The numerals of one frame.
pub(crate) fn numerals(
    placed: &[Placed],
    person: &Person<'_>,
    steps: &[MarkedStep<'_>],
    front: bool,
    scale: f64,
) -> String {
    let here: Vec<&Placed> = placed.iter().filter(|p| p.seen.view.front() == front).collect();
    let eyes = eyes(person).into_iter().filter(|_| front);
    let taken: Vec<(Spot, f64)> = here.iter().flat_map(|p| room(p)).chain(eyes).collect();
    let mut set: Vec<Label> = Vec::new();
    let mut out = String::new();
    for p in &here {
        let numbers: Vec<String> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.number.to_string()).collect();
        let text = numbers.join("\u{b7}");
        let half = Spot::new(FIGURE * text.chars().count() as f64 / 2.0, HEIGHT / 2.0) * scale;
        let Some(label) = best(p, half, &taken, &set) else { continue };
        let _ = write!(
            out,
            "<text class=\"sk-numeral\" data-step=\"{}\" x=\"{}\" y=\"{}\" text-anchor=\"middle\" font-size=\"{}\" \
             font-family=\"{FAMILY}\" fill=\"currentColor\">{text}</text>",
            numbers.join(" "),
            num(label.at.x * UNITS),
            num(-(label.at.y - HEIGHT * scale * 0.34) * UNITS),
            num(HEIGHT * scale * UNITS),
        );
        set.push(label);
    }
    out
}

/// The discs that keep the person's eyes clear.
pub(crate) fn eyes(person: &Person<'_>) -> Vec<(Spot, f64)> {
    let both = [EYE, EYE.mirrored()].into_iter();
    both.flat_map(|eye| [-0.7, 0.7].map(|x| (person.carry(eye + Spot::new(x, 0.0)), 1.0))).collect()
}

/// The discs a mark covers.
fn room(p: &Placed) -> Vec<(Spot, f64)> {
    if !p.spread() {
        let wide = if p.look.class == vocab::Class::Go { 1.0 } else { 1.42 };
        return vec![(p.stand, p.radius() * wide)];
    }
    if p.look.mark == Mark::Palm {
        return p.there.outline.iter().map(|at| (*at, 0.3)).chain([(p.stand, 0.9)]).collect();
    }
    p.there.ways.iter().flat_map(|way| pen::through(way, 0.3)).map(|at| (at, 0.22)).collect()
}

/// The place beside the mark, outward first, that covers least.
fn best(p: &Placed, half: Spot, taken: &[(Spot, f64)], set: &[Label]) -> Option<Label> {
    let from = match p.there.ways.first() {
        Some(way) if p.spread() && p.look.mark != Mark::Palm => *way.first()?,
        _ => p.stand,
    };
    let reach = match (p.spread(), p.look.mark) {
        (true, Mark::Palm) => 1.1,
        (true, _) => 0.3,
        (false, _) => p.radius() + 0.1,
    };
    beside(from, reach, p.side, half, taken, set, None)
}

/// The place beside `from`, at least `reach` away and outward first, that covers least.
fn beside(
    from: Spot,
    reach: f64,
    side: Side,
    half: Spot,
    taken: &[(Spot, f64)],
    set: &[Label],
    room: Option<Window>,
) -> Option<Label> {
    let out = if side == Side::Right { -1.0 } else { 1.0 };
    let rings = [0.0, 0.35, 0.75];
    let angles = [0.0f64, 35.0, -35.0, 70.0, -70.0, 110.0, -110.0, 145.0, -145.0, 180.0];
    let candidates = rings.iter().flat_map(|ring| angles.iter().map(move |a| (*ring, a.to_radians())));
    let label = |(ring, angle): (f64, f64)| {
        let dir = Spot::new(out * angle.cos(), angle.sin());
        // As far out as the box needs in this direction.
        let far = reach + ring + half.x * dir.x.abs() + half.y * dir.y.abs();
        Label { at: from + dir * far, half }
    };
    let cost = |l: &Label| {
        let discs = taken.iter().filter(|(at, r)| covers(l, *at, *r)).count();
        let labels = set.iter().filter(|o| meet(l, o)).count();
        let inside = room.is_none_or(|w| w.has(l.at - l.half) && w.has(l.at + l.half));
        discs + 3 * labels + if inside { 0 } else { 100 }
    };
    candidates.map(label).enumerate().min_by_key(|(i, l)| (cost(l), *i)).map(|(_, l)| l)
}

/// Small labels beside places: `(text, place, reach, side)`, set within `room` around the discs in `taken`; `height` in
/// centimetres.
pub(crate) fn labels(
    items: &[(&str, Spot, f64, Side)],
    taken: &[(Spot, f64)],
    height: f64,
    room: Window,
    more: &str,
) -> String {
    let mut set: Vec<Label> = Vec::new();
    let mut out = String::new();
    for (text, from, reach, side) in items.iter().filter(|i| !i.0.is_empty()) {
        // Letters are a little wider than figures.
        let half = Spot::new(FIGURE * 1.12 * text.chars().count() as f64 / 2.0, HEIGHT / 2.0) * (height / HEIGHT);
        let Some(label) = beside(*from, *reach, *side, half, taken, &set, Some(room)) else { continue };
        let _ = write!(
            out,
            "<text class=\"sk-label\" x=\"{}\" y=\"{}\" text-anchor=\"middle\" font-size=\"{}\" font-family=\"{FAMILY}\" \
             fill=\"currentColor\"{more}>{}</text>",
            num(label.at.x * UNITS),
            num(-(label.at.y - height * 0.34) * UNITS),
            num(height * UNITS),
            escape(text),
        );
        set.push(label);
    }
    out
}

fn covers(label: &Label, at: Spot, r: f64) -> bool {
    let beyond = |d: f64, half: f64| (d.abs() - half).max(0.0);
    let way = Spot::new(beyond(at.x - label.at.x, label.half.x), beyond(at.y - label.at.y, label.half.y));
    way.length() < r
}

fn meet(a: &Label, b: &Label) -> bool {
    (a.at.x - b.at.x).abs() < a.half.x + b.half.x + 0.1 && (a.at.y - b.at.y).abs() < a.half.y + b.half.y
}
