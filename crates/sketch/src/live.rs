//! One step over a moving picture of a face: only what changes with each frame, without picture, words and figure.

use std::fmt::Write;

use face::{Drawing, Spot, View};

use crate::chart::{Upon, halos, outlined, part};
use crate::ground::{OVER_CASING, OVER_INK, Part};
use crate::layout::{Placed, enlarge, layers};
use crate::svg::{UNITS, len};
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
    out.push_str("</g>");
    out.push_str(&rims(&placed, person));
    out.push_str("</g>");
    out
}

/// The rims of the halos once more, on top: a large mark would hide a small halo beneath it.
fn rims(placed: &[Placed], person: &Person<'_>) -> String {
    let points = placed.iter().filter(|p| p.there.ways.is_empty() && p.there.outline.is_empty());
    points
        .filter_map(|p| {
            let r = person.halo(&p.target, p.side)?;
            let place = format!("cx=\"{}\" cy=\"{}\" r=\"{}\"", len(p.there.at.x), len(-p.there.at.y), len(r));
            let rim = |colour: &str, width: f64| {
                format!(
                    "<circle {place} fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-dasharray=\"3 2\"/>",
                    len(width)
                )
            };
            Some(format!("<g class=\"sk-rim\">{}{}</g>", rim(OVER_INK, 0.16), rim(OVER_CASING, 0.09)))
        })
        .collect()
}

fn finite(spot: Spot) -> bool {
    spot.x.is_finite() && spot.y.is_finite()
}
