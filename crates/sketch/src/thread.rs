//! The thread that runs from mark to mark in the order of the routine.
//!
//! Left and right each have their own thread, through the marks of that side and of the midline, so that a routine for
//! both sides reads as one symmetrical score: two threads rise from the two collarbones and come back to them.

use std::fmt::Write;

use face::Spot;
use vocab::Side;

use crate::layout::Placed;
use crate::svg::{len, xy};
use crate::{MarkedStep, pen, svg};

/// One run of the thread: the places it passes, and the room each mark needs around it.
struct Run {
    knots: Vec<(Spot, f64)>,
    front: bool,
}

/// The threads as SVG; `front` or back frame.
pub(crate) fn threads(placed: &[Placed], steps: &[MarkedStep<'_>], front: bool) -> String {
    let mut art = String::new();
    for side in [Side::Left, Side::Right] {
        let own = placed.iter().any(|p| p.side == side);
        if !own && side == Side::Right {
            continue;
        }
        for run in runs(placed, steps, side).iter().filter(|r| r.front == front) {
            art.push_str(&draw(run));
        }
    }
    art
}

fn runs(placed: &[Placed], steps: &[MarkedStep<'_>], side: Side) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for index in 0..steps.len() {
        let here = placed.iter().find(|p| p.steps.contains(&index) && (p.side == side || p.side == Side::Midline));
        let Some(p) = here else { continue };
        if !steps[index].class.allows() {
            continue;
        }
        let front = p.seen.view.front();
        let knot = (p.at, if p.spread() { 0.0 } else { p.radius() + 0.16 });
        match runs.last_mut() {
            Some(run) if run.front == front => {
                if run.knots.last().is_none_or(|k| k.0.to(knot.0) > 1e-6) {
                    run.knots.push(knot);
                }
            }
            _ => runs.push(Run { knots: vec![knot], front }),
        }
    }
    runs
}

fn draw(run: &Run) -> String {
    let spots: Vec<Spot> = run.knots.iter().map(|k| k.0).collect();
    if spots.len() < 2 {
        return String::new();
    }
    let line = pen::through(&spots, 0.12);
    let mut pieces: Vec<Vec<Spot>> = vec![Vec::new()];
    for spot in line {
        let covered = run.knots.iter().any(|(at, room)| at.to(spot) < *room);
        match pieces.last_mut() {
            Some(piece) if !covered => piece.push(spot),
            Some(piece) if !piece.is_empty() => pieces.push(Vec::new()),
            _ => {}
        }
    }
    let mut d = String::new();
    for piece in pieces.iter().filter(|p| p.len() > 1) {
        let thin: Vec<Spot> = piece.iter().step_by(3).copied().chain(piece.last().copied()).collect();
        d.push_str(&svg::soft(&thin, false));
    }
    let mut art = format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linecap=\"round\"/>",
        len(0.055)
    );
    if let (Some(first), Some(last)) = (spots.first(), spots.last()) {
        let _ = (first, last, write!(art, ""), xy(*first));
    }
    art
}
