//! The thread that runs from mark to mark in the order of the routine.
//!
//! Left and right each have their own thread, through the marks of that side and of the midline, so that a routine for
//! both sides reads as one symmetrical score: two threads rise from the two collarbones, pass over the face, and end
//! where the work ends. The close goes back along the way of the opening; where it does, the thread is already there.

use face::Spot;
use std::collections::BTreeSet;
use std::f64::consts::{PI, TAU};
use vocab::{Movement, Side};

use crate::layout::{EYE, EYE_HALF, Placed, eye};
use crate::pen::{self, even};
use crate::svg::{self, len, xy};
use crate::{MarkedStep, Person};

/// The thread's width, in centimetres.
const WIDTH: f64 = 0.06;

/// A mark on the thread's way.
#[derive(Clone, Copy, PartialEq)]
struct Stop {
    placed: usize,
    movement: Movement,
}

/// The threads as SVG on the person's sheet, of the front or the back frame.
pub(crate) fn threads(placed: &[Placed], person: &Person<'_>, steps: &[MarkedStep<'_>], front: bool) -> String {
    let mut art = String::new();
    for side in [Side::Left, Side::Right] {
        if side == Side::Right && !placed.iter().any(|p| p.side == side) {
            continue;
        }
        let near: Vec<&Placed> = placed
            .iter()
            .filter(|p| p.seen.view.front() == front && (p.side == side || p.side == Side::Midline))
            .collect();
        let begun = art.len();
        for run in runs(placed, steps, side, front) {
            if art.len() == begun {
                let start = knots(&placed[run[0].placed], side)[0];
                let start = if front { person.carry(start) } else { start };
                art.push_str(&format!(
                    "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"currentColor\"/>",
                    len(start.x),
                    len(-start.y),
                    len(0.15)
                ));
            }
            art.push_str(&draw(placed, person, &run, side, &near));
        }
    }
    art
}

/// The marks of one side in the order of the steps, cut where the thread would only repeat itself.
fn runs(placed: &[Placed], steps: &[MarkedStep<'_>], side: Side, front: bool) -> Vec<Vec<Stop>> {
    let stops = steps.iter().enumerate().filter(|(_, step)| step.class.allows()).filter_map(|(index, step)| {
        let at = placed.iter().position(|p| p.steps.contains(&index) && (p.side == side || p.side == Side::Midline))?;
        Some(Stop { placed: at, movement: step.movement })
    });
    let mut runs: Vec<Vec<Stop>> = Vec::new();
    let mut drawn: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut last: Option<Stop> = None;
    for stop in stops {
        let Some(from) = last.replace(stop) else {
            runs.push(vec![stop]);
            continue;
        };
        if from.placed == stop.placed {
            continue;
        }
        let known = !drawn.insert((from.placed.min(stop.placed), from.placed.max(stop.placed)));
        // From the last work back to the first closing the hand is lifted.
        let lifted = from.movement != Movement::Close && stop.movement == Movement::Close;
        let same_frame = placed[from.placed].seen.view.front() == placed[stop.placed].seen.view.front();
        match runs.last_mut() {
            Some(run) if !known && !lifted && same_frame && !over_neck(&placed[from.placed], &placed[stop.placed]) => {
                run.push(stop)
            }
            _ => runs.push(vec![stop]),
        }
    }
    runs.retain(|run| run.len() > 1 && run.iter().all(|s| placed[s.placed].seen.view.front() == front));
    runs
}

/// Whether the way between two marks passes over the whole neck without a stop there: the hand is lifted, and no line
/// is drawn over a neck that is not worked.
fn over_neck(a: &Placed, b: &Placed) -> bool {
    let (high, low) = (a.at.y.max(b.at.y), a.at.y.min(b.at.y));
    a.seen.view.front() && high > -9.0 && low < -14.4
}

/// Where the thread passes a mark: along the way of a stroke, else through its place.
fn knots(placed: &Placed, side: Side) -> Vec<Spot> {
    let flip = side == Side::Right && placed.seen.midline && !placed.seen.line;
    match (placed.seen.ways.first(), placed.seen.ways.last()) {
        (Some(first), Some(last)) if placed.spread() && !placed.look.hollow && placed.seen.line => {
            if placed.seen.ways.len() == 1 { first.clone() } else { [first.as_slice(), last].concat() }
        }
        (Some(way), _) if placed.spread() && !placed.look.hollow => {
            way.iter().map(|s| if flip { s.mirrored() } else { *s }).collect()
        }
        _ => vec![placed.at],
    }
}

fn draw(placed: &[Placed], person: &Person<'_>, run: &[Stop], side: Side, near: &[&Placed]) -> String {
    let spots: Vec<Spot> = run.iter().flat_map(|stop| knots(&placed[stop.placed], side)).collect();
    // Each side's thread keeps to its half: where it turns at the midline it does not swing over.
    let half = |s: Spot| if side == Side::Right { s.x <= 0.01 } else { s.x >= -0.01 };
    let front = placed[run[0].placed].seen.view.front();
    let keep = spots.iter().all(|s| half(*s)) && front;
    let lean = if side == Side::Right { -1.0 } else { 1.0 };
    let line = pen::through(&spots, 0.08);
    let line = line.into_iter().map(|s| if keep && !half(s) { Spot::new(0.06 * lean, s.y) } else { s });
    let mut line: Vec<Spot> = line.collect();
    if front {
        round_the_eyes(&mut line);
    }
    // Each place on the drawing and where it lies on the sheet.
    let mut pieces: Vec<Vec<(Spot, Spot)>> = vec![Vec::new()];
    for spot in line {
        let there = if front { person.carry(spot) } else { spot };
        let covered = near.iter().any(|p| covers(p, there));
        match pieces.last_mut() {
            Some(piece) if !covered => piece.push((spot, there)),
            Some(piece) if !piece.is_empty() => pieces.push(Vec::new()),
            _ => {}
        }
    }
    let long = |piece: &[(Spot, Spot)]| piece.windows(2).map(|w| w[0].1.to(w[1].1)).sum::<f64>();
    pieces.retain(|piece| long(piece) > 0.5);
    let mut d = String::new();
    for piece in &pieces {
        let run: Vec<Spot> = piece.iter().map(|(_, there)| *there).collect();
        let thin: Vec<Spot> = run.iter().step_by(4).copied().chain(run.last().copied()).collect();
        d.push_str(&svg::soft(&thin, false));
        // Where both threads run along the midline, one head is enough.
        let shared = side == Side::Right && piece[piece.len() / 2].0.x.abs() < 0.3;
        if !shared && long(piece) > 1.4 {
            d.push_str(&head(&run));
        }
    }
    format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
        len(WIDTH)
    )
}

/// Never across an eye: where the thread would, it goes round on the bone, the shorter way.
fn round_the_eyes(line: &mut [Spot]) {
    let mut i = 0;
    while i < line.len() {
        if eye(line[i]) >= 1.0 {
            i += 1;
            continue;
        }
        let begun = i;
        while i < line.len() && eye(line[i]) < 1.0 {
            i += 1;
        }
        let middle = if line[begun].x < 0.0 { EYE.mirrored() } else { EYE };
        let angle = |s: Spot| ((s.y - middle.y) / EYE_HALF.y).atan2((s.x - middle.x) / EYE_HALF.x);
        let from = angle(line[begun.saturating_sub(1)]);
        let turn = (angle(line[i.min(line.len() - 1)]) - from + PI).rem_euclid(TAU) - PI;
        let count = (i - begun + 1) as f64;
        for (k, spot) in line[begun..i].iter_mut().enumerate() {
            let a = from + turn * (k as f64 + 1.0) / count;
            *spot = middle + Spot::new(EYE_HALF.x * a.cos(), EYE_HALF.y * a.sin());
        }
    }
}

/// A small open head in the middle of a piece: which way the order runs.
fn head(piece: &[Spot]) -> String {
    let i = piece.len() / 2;
    let (Some(at), Some(next)) = (piece.get(i), piece.get(i + 1)) else { return String::new() };
    let dir = (*next - *at).unit();
    let wing = |s: f64| *at + dir * -0.2 + dir.normal() * (0.17 * s);
    format!("M{}L{}L{}", xy(wing(1.0)), xy(*at + dir * 0.12), xy(wing(-1.0)))
}

/// Whether a mark would cover the thread there.
fn covers(placed: &Placed, spot: Spot) -> bool {
    if !placed.spread() {
        let room = if placed.look.class == vocab::Class::Go { 0.17 } else { 0.4 };
        return placed.stand.to(spot) < placed.radius() + room;
    }
    // Hatching and the hollow ways of opening and closing let the thread through.
    placed.look.mark != crate::Mark::Palm
        && !placed.look.hollow
        && placed.there.ways.iter().any(|way| pen::curve(&even(way, 1.0), 0.2).iter().any(|t| t.at.to(spot) < 0.34))
}
