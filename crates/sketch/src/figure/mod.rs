//! The figure: one ink line of varying weight, from the canonical surface where it is a face, and of our own hand
//! where it is ear, hair, neck, torso and back.

mod back;
mod front;

use std::sync::OnceLock;

use face::{Spot, vertex};

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

/// Path data of every stroke of the figure from in front.
pub(crate) fn front(cut: Cut) -> &'static str {
    static DRAWN: [OnceLock<String>; 2] = [OnceLock::new(), OnceLock::new()];
    DRAWN[cut as usize].get_or_init(|| draw_front(cut))
}

fn draw_front(cut: Cut) -> String {
    let rest = if cut == Cut::Bust { front::BUST } else { front::PORTRAIT };
    let mut d = draw(front::LINES.iter().chain(rest));
    for (touches, width) in front::brows() {
        d.push_str(&stroke(&mirrored(&touches), width));
        d.push_str(&stroke(&touches, width));
    }
    for (touches, width) in front::strands() {
        d.push_str(&stroke(&touches, width));
    }
    d
}

/// Path data of every stroke of the figure from behind.
pub(crate) fn back(cut: Cut) -> &'static str {
    static DRAWN: [OnceLock<String>; 2] = [OnceLock::new(), OnceLock::new()];
    DRAWN[cut as usize]
        .get_or_init(|| draw(back::LINES.iter().chain(if cut == Cut::Bust { back::BUST } else { back::PORTRAIT })))
}

fn draw<'a>(lines: impl Iterator<Item = &'a Line>) -> String {
    let mut d = String::new();
    for line in lines {
        let mut touches: Vec<Touch> = line.knots.iter().filter_map(|k| touch(*k)).collect();
        match line.over {
            Over::Alone => {}
            Over::Twin => d.push_str(&stroke(&mirrored(&touches), line.width)),
            Over::Arch => {
                let far: Vec<Touch> = mirrored(&touches).into_iter().rev().filter(|t| t.at.x < -1e-9).collect();
                touches.extend(far);
            }
        }
        d.push_str(&stroke(&touches, line.width));
    }
    d
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
fn stroke(touches: &[Touch], width: f64) -> String {
    let lit = |t: &Touch| Touch { at: t.at, press: t.press * (1.0 + 0.26 * (t.at.x / 8.0).clamp(-1.0, 1.0)) };
    pen::ink(&touches.iter().map(lit).collect::<Vec<_>>(), width)
}
