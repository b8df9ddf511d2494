//! One step over a moving picture of a face: only what changes with each frame, without picture, words and figure.

use std::fmt::Write;

use face::{Drawing, Spot, View};

use crate::chart::{Upon, halos, outlined, part};
use crate::ground::Part;
use crate::layout::{enlarge, layers};
use crate::svg::UNITS;
use crate::{MarkedStep, Options, Person, casing};

/// The marks of one step, large, with the halo of their uncertainty, as a group whose user unit is a pixel of the picture. The person's
/// sheet is the picture's, see [`crate::Picture`]; `px_per_cm` as there. Empty where nothing of it lies on the face.
pub fn live(
    drawing: &Drawing,
    person: &Person<'_>,
    step: &MarkedStep<'_>,
    px_per_cm: f64,
    options: &Options<'_>,
) -> String {
    let k = if px_per_cm.is_finite() && px_per_cm > 0.0 { px_per_cm } else { 1.0 };
    let mut placed = enlarge(drawing, person, step);
    placed.retain(|p| p.seen.view == View::Face && finite(p.stand) && finite(p.there.at));
    if placed.is_empty() {
        return String::new();
    }
    let mut out = format!("<g transform=\"scale({:.5})\">", k / UNITS);
    out.push_str(&halos(&placed, person, options, Upon::Picture));
    let _ = write!(out, "<g {}>", part(Upon::Picture, Part::Marks));
    for p in layers(&placed, true) {
        // A zone is bounded, so that it is seen how far the hand goes; a mark stands in it.
        let edge = if p.seen.outline.is_empty() { String::new() } else { outlined(&p.there.outline) };
        let mark = p.art(None, &[]);
        out.push_str(&casing::under(&edge));
        out.push_str(&edge);
        out.push_str(&casing::under(&mark));
        out.push_str(&mark);
    }
    out.push_str("</g></g>");
    out
}

fn finite(spot: Spot) -> bool {
    spot.x.is_finite() && spot.y.is_finite()
}
