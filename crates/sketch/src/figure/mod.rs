//! The figure: one ink line of varying weight, from the canonical surface where it is a face, and of our own hand
//! where it is ear, hair, neck, torso and back.

mod back;
mod front;
mod over;

pub(crate) use over::{contours, hairline};

use std::borrow::Cow;
use std::sync::OnceLock;

use face::{Spot, vertex};

use crate::Person;
use crate::pen::{self, Touch};

/// A place the pen passes: on a landmark (perhaps a little beside it) or free, and how hard it is pressed.
#[derive(Clone, Copy)]
pub(crate) enum Knot {
    /// Landmark, moved by dx, dy; pressure.
    V(usize, f64, f64, f64),
    /// x, y; pressure.
    C(f64, f64, f64),
}

/// A landmark.
pub(crate) const fn v(number: usize, press: f64) -> Knot {
    Knot::V(number, 0.0, 0.0, press)
}

/// Beside a landmark.
pub(crate) const fn vo(number: usize, dx: f64, dy: f64, press: f64) -> Knot {
    Knot::V(number, dx, dy, press)
}

/// A free place.
pub(crate) const fn c(x: f64, y: f64, press: f64) -> Knot {
    Knot::C(x, y, press)
}

/// How a line goes over to the other side.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Over {
    /// Drawn again as its mirror image.
    Twin,
    /// Runs on over the midline as its own mirror image, in one stroke.
    Arch,
    /// Only here.
    Alone,
}

/// One stroke of the pen.
pub(crate) struct Line {
    pub over: Over,
    /// Width at full pressure, in centimetres.
    pub width: f64,
    pub knots: &'static [Knot],
}

/// How much of the body the front figure shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Cut {
    /// Head, neck and collarbones; the shoulders fade out.
    Portrait,
    /// Shoulders and chest too.
    Bust,
}

/// Path data of every stroke of the figure from in front, on the person's sheet.
pub(crate) fn front(person: &Person<'_>, cut: Cut) -> Cow<'static, str> {
    static DRAWN: [OnceLock<String>; 2] = [OnceLock::new(), OnceLock::new()];
    if person.drawn {
        Cow::Borrowed(DRAWN[cut as usize].get_or_init(|| ink(strokes(cut), person)))
    } else {
        Cow::Owned(ink(strokes(cut), person))
    }
}

/// Left, bottom, right, top of the figure from in front, on the person's sheet.
pub(crate) fn bounds(person: &Person<'_>, cut: Cut) -> [f64; 4] {
    let start = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    strokes(cut)
        .into_iter()
        .flat_map(|(touches, _)| touches)
        .map(|t| person.carry(t.at))
        .fold(start, |b, s| [b[0].min(s.x), b[1].min(s.y), b[2].max(s.x), b[3].max(s.y)])
}

/// Every stroke of the figure from in front: its touches on the drawing and its width.
fn strokes(cut: Cut) -> Vec<(Vec<Touch>, f64)> {
    let rest = if cut == Cut::Bust { front::BUST } else { front::PORTRAIT };
    let mut all = both_sides(front::LINES.iter().chain(rest));
    for (touches, width) in front::brows() {
        all.push((mirrored(&touches), width));
        all.push((touches, width));
    }
    all.extend(front::strands());
    all
}

/// Path data of every stroke of the figure from behind.
pub(crate) fn back(cut: Cut) -> &'static str {
    static DRAWN: [OnceLock<String>; 2] = [OnceLock::new(), OnceLock::new()];
    let rest = if cut == Cut::Bust { back::BUST } else { back::PORTRAIT };
    DRAWN[cut as usize].get_or_init(|| ink(both_sides(back::LINES.iter().chain(rest)), &Person::drawn()))
}

fn both_sides<'a>(lines: impl Iterator<Item = &'a Line>) -> Vec<(Vec<Touch>, f64)> {
    let mut all = Vec::new();
    for line in lines {
        let mut touches: Vec<Touch> = line.knots.iter().filter_map(|k| touch(*k)).collect();
        match line.over {
            Over::Alone => {}
            Over::Twin => all.push((mirrored(&touches), line.width)),
            Over::Arch => {
                let far: Vec<Touch> = mirrored(&touches).into_iter().rev().filter(|t| t.at.x < -1e-9).collect();
                touches.extend(far);
            }
        }
        all.push((touches, line.width));
    }
    all
}

fn touch(knot: Knot) -> Option<Touch> {
    match knot {
        Knot::V(number, dx, dy, press) => Some(Touch { at: vertex(number)? + Spot::new(dx, dy), press }),
        Knot::C(x, y, press) => Some(Touch { at: Spot::new(x, y), press }),
    }
}

fn mirrored(touches: &[Touch]) -> Vec<Touch> {
    touches.iter().map(|t| Touch { at: t.at.mirrored(), press: t.press }).collect()
}

/// The lamp stands at the viewer's left: lines on the far side are heavier, and that is what makes a flat sheet round.
/// The knots are carried, and only then drawn through, so that a line keeps its width on every face.
fn ink(strokes: Vec<(Vec<Touch>, f64)>, person: &Person<'_>) -> String {
    let touch =
        |t: &Touch| Touch { at: person.carry(t.at), press: t.press * (1.0 + 0.26 * (t.at.x / 8.0).clamp(-1.0, 1.0)) };
    strokes.iter().map(|(run, width)| pen::ink(&run.iter().map(touch).collect::<Vec<_>>(), *width)).collect()
}
