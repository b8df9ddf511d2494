//! From steps to marks on the sheet: same work at the same place is drawn once, and marks that would cover each other
//! are moved a little apart. All of it happens on the drawing; only then is it carried to the person.

use face::{Drawing, Seen, Spot};
use vocab::{Class, Movement, Side};

use crate::marks::{self, Look};
use crate::person::Own;
use crate::{Ground, Mark, MarkedStep, Person};

/// One mark on the sheet, and the steps it stands for.
pub(crate) struct Placed {
    /// Indices into the steps, in order.
    pub steps: Vec<usize>,
    /// The side it is drawn on; midline for what exists once.
    pub side: Side,
    /// The target on the drawing.
    pub seen: Seen,
    /// Where the mark stands on the drawing: the target's place, perhaps moved aside.
    pub at: Spot,
    /// The target on the person's sheet.
    pub there: Seen,
    /// Where the mark stands on the person's sheet.
    pub stand: Spot,
    rest: Spot,
    pub look: Look,
    /// 1, or smaller on a crowded sheet.
    pub scale: f64,
    pub target: String,
}

impl Placed {
    /// The radius of a mark that stands at one place.
    pub fn radius(&self) -> f64 {
        (if self.seen.outline.is_empty() { 0.58 } else { 0.72 }) * self.scale
    }

    /// Whether the mark is drawn along a way or over an area, and so cannot be moved.
    pub fn spread(&self) -> bool {
        let along = matches!(self.look.mark, Mark::Stroke | Mark::ToAndFro | Mark::Press);
        let zone_way = along && !self.seen.ways.is_empty();
        self.seen.line || zone_way || (self.look.mark == Mark::Palm && !self.seen.outline.is_empty())
    }

    /// The mark itself; `near` are the small marks it leaves room for.
    /// Upon a photograph there is no ground.
    pub fn art(&self, ground: Option<Ground>, near: &[(Spot, f64)]) -> String {
        if !self.spread() {
            let under = ground.map_or(String::new(), |ground| marks::halo(self.stand, self.radius() + 0.1, ground));
            under + &marks::at_spot(self.stand, self.radius(), &self.look)
        } else if self.look.mark == Mark::Palm && !self.seen.line {
            marks::over(&self.there.outline, self.there.at, &self.look)
        } else {
            self.there.ways.iter().map(|way| marks::along(way, self.radius(), &self.look, near)).collect()
        }
    }
}

/// The order in which marks are laid down: wide hatching beneath, ways upon it, small marks on top.
pub(crate) fn layers(placed: &[Placed], front: bool) -> Vec<&Placed> {
    let mut order: Vec<&Placed> = placed.iter().filter(|p| p.seen.view.front() == front).collect();
    order.sort_by_key(|p| if p.look.mark == Mark::Palm { 0 } else { 1 + u8::from(!p.spread()) });
    order
}

/// Places every step that has a place on the drawing; on a crowded sheet the marks are a little smaller.
pub(crate) fn place(drawing: &Drawing, person: &Person<'_>, steps: &[MarkedStep<'_>]) -> Vec<Placed> {
    let mut placed = gather(drawing, person, steps);
    let crowd = placed.iter().filter(|p| !p.spread()).count();
    let scale = if crowd > 24 { 0.88 } else { 1.0 };
    // The back is drawn smaller than the front; its marks are not to shrink as much.
    placed.iter_mut().for_each(|p| p.scale = if p.seen.view.front() { scale } else { scale * 1.35 });
    spread_apart(&mut placed);
    settle(&mut placed, person);
    placed
}

/// One step large, at its place.
pub(crate) fn enlarge(drawing: &Drawing, person: &Person<'_>, step: &MarkedStep<'_>) -> Vec<Placed> {
    let mut placed = gather(drawing, person, std::slice::from_ref(step));
    placed.iter_mut().for_each(|p| p.scale = 1.35);
    settle(&mut placed, person);
    placed
}

/// Marks are laid out on the drawing, where left and right mirror each other, and then carried to the person.
fn settle(placed: &mut [Placed], person: &Person<'_>) {
    for p in placed {
        p.there = person.carried(&p.seen);
        p.there.at = p.there.at + p.rest;
        p.stand = if p.seen.view.front() { person.carry(p.at) + p.rest } else { p.at };
    }
}

fn gather(drawing: &Drawing, person: &Person<'_>, steps: &[MarkedStep<'_>]) -> Vec<Placed> {
    let mut placed: Vec<Placed> = Vec::new();
    for (index, step) in steps.iter().enumerate() {
        let sides: &[Side] = match step.side {
            Side::Both => &[Side::Left, Side::Right],
            Side::Left => &[Side::Left],
            Side::Right => &[Side::Right],
            Side::Midline => &[Side::Midline],
        };
        for side in sides {
            let Some(Own { seen, side, rest }) = person.see(drawing, step.target, *side) else { continue };
            let hollow = matches!(step.movement, Movement::Open | Movement::Close);
            // What is left out is not filled: nothing is held there.
            let filled =
                if step.class.allows() { f64::from(step.seconds) / f64::from(step.full_s.max(1)) } else { 0.0 };
            let look = Look { mark: step.mark, side, pressure: step.pressure, class: step.class, hollow, filled };
            let same = placed.iter_mut().find(|p| {
                p.target == step.target
                    && p.side == side
                    && p.look.mark == step.mark
                    && p.look.hollow == hollow
                    && p.look.pressure == step.pressure
                    && p.look.class == step.class
            });
            match same {
                Some(p) => {
                    if p.steps.last() != Some(&index) {
                        p.steps.push(index);
                    }
                    p.look.filled = p.look.filled.max(filled);
                }
                None => placed.push(Placed {
                    steps: vec![index],
                    side,
                    at: seen.at,
                    there: seen.clone(),
                    stand: seen.at,
                    rest,
                    seen,
                    look,
                    scale: 1.0,
                    target: step.target.to_owned(),
                }),
            }
        }
    }
    placed
}

/// The small marks of a frame with their radii: beads along a line leave room for them.
pub(crate) fn small(placed: &[Placed], front: bool) -> Vec<(Spot, f64)> {
    let small = placed.iter().filter(|p| !p.spread() && p.seen.view.front() == front);
    small.map(|p| (p.stand, p.radius())).collect()
}

/// How near a place of the front frame lies to the middle of an eye's opening: below 1 it is over the eye.
pub(crate) fn eye(at: Spot) -> f64 {
    ((at.x.abs() - EYE.x) / EYE_HALF.x).hypot((at.y - EYE.y) / EYE_HALF.y)
}

/// The middle of the person's left eye: no mark, numeral or thread is moved or drawn across it, because where the
/// drawing goes the hand goes.
pub(crate) const EYE: Spot = Spot::new(3.15, 2.6);
/// Half the breadth and height of what is kept clear: the lids, out to the bone.
pub(crate) const EYE_HALF: Spot = Spot::new(2.05, 1.3);

/// Pushes marks that overlap apart, a little at a time and never further than a mark's breadth from their place.
fn spread_apart(placed: &mut [Placed]) {
    const ROUNDS: usize = 40;
    const FURTHEST: f64 = 0.9;
    for _ in 0..ROUNDS {
        let mut push = vec![Spot::default(); placed.len()];
        for i in 0..placed.len() {
            for j in 0..i {
                let (a, b) = (&placed[i], &placed[j]);
                let movable = |p: &Placed| !p.spread();
                if a.seen.view.front() != b.seen.view.front() || a.side != b.side && !(a.seen.midline || b.seen.midline)
                {
                    continue;
                }
                if !movable(a) || !movable(b) {
                    continue;
                }
                let ring = |p: &Placed| p.radius() * if p.look.class == Class::Go { 1.12 } else { 1.5 };
                let room = ring(a) + ring(b);
                let way = a.at - b.at;
                let apart = way.length();
                if apart >= room {
                    continue;
                }
                // Marks at the very same place part outward and down, alike on both sides.
                let out = if a.side == Side::Right { -1.0 } else { 1.0 };
                let dir = if apart < 1e-6 { Spot::new(out * 0.8, -0.6) } else { way.unit() };
                let step = dir * ((room - apart) * 0.3);
                push[i] = push[i] + step;
                push[j] = push[j] - step;
            }
        }
        for (p, by) in placed.iter_mut().zip(push) {
            let by = if p.seen.midline { Spot::new(0.0, by.y) } else { by };
            let moved = p.at + by - p.seen.at;
            let far = moved.length();
            let at = p.seen.at + if far > FURTHEST { moved * (FURTHEST / far) } else { moved };
            if eye(at) >= 1.0 || eye(p.seen.at) < 1.0 || !p.seen.view.front() {
                p.at = at;
            }
        }
    }
}
