//! The run-through: one figure, and each step drawn large.
//!
//! The script shows step N by giving its groups the class `sk-now` (and the following step's `sk-next`), sets the root's
//! `data-shows` to the group's `data-frame` and, if it wishes, the root's `viewBox` to the group's `data-box`.

use std::fmt::Write;

use face::Drawing;

use crate::ground::Part;
use crate::layout::{Placed, enlarge, layers, place};
use crate::sheet::{Window, cut, ink, open, side_words};
use crate::{MarkedStep, Options, figure};

/// Every step of a routine over one figure, hidden until a script (with [`crate::CSS`]) shows them.
pub fn stage(drawing: &Drawing, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    let placed = place(drawing, steps);
    let whole = Window::of(cut(&placed, true), true);
    let mut out = open(whole, options, "sk sk-stage").replacen("<svg ", "<svg data-shows=\"front\" ", 1);
    let part = options.ground.part(Part::Figure);
    let _ = write!(
        out,
        "<g class=\"sk-front\"><g {part}>{}</g>{}</g>",
        ink(figure::front(cut(&placed, true))),
        sides(options, false)
    );
    if steps.iter().any(|s| drawing.see(s.target, s.side).is_some_and(|seen| !seen.view.front())) {
        let _ = write!(
            out,
            "<g class=\"sk-back\"><g {part}>{}</g>{}</g>",
            ink(figure::back(cut(&placed, false))),
            sides(options, true)
        );
    }
    let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
    for step in steps {
        out.push_str(&single(drawing, step, options, "visibility=\"hidden\""));
    }
    out.push_str("</g></svg>");
    out
}

/// One step large, and the next one faint if it lies in the same frame.
pub fn step_view(
    drawing: &Drawing,
    present: &MarkedStep<'_>,
    next: Option<&MarkedStep<'_>>,
    options: &Options<'_>,
) -> String {
    let placed = place(drawing, std::slice::from_ref(present));
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let mut out = open(window(&placed), options, "sk sk-view");
    let figure = if behind { figure::back(cut(&placed, false)) } else { figure::front(cut(&placed, true)) };
    let _ = write!(out, "<g {}>{}</g>{}", options.ground.part(Part::Figure), ink(figure), sides(options, behind));
    let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
    if let Some(next) = next {
        let there = place(drawing, std::slice::from_ref(next));
        if there.iter().all(|p| p.seen.view.front() != behind) {
            out.push_str(&single(drawing, next, options, "opacity=\"0.3\""));
        }
    }
    out.push_str(&single(drawing, present, options, ""));
    out.push_str("</g></svg>");
    out
}

fn sides(options: &Options<'_>, behind: bool) -> String {
    format!("<g {}>{}</g>", options.ground.part(Part::Words), side_words(options, 10.2, 13.8, behind, 1.0))
}

/// The window that holds a step: the head close by, or the whole frame.
fn window(placed: &[Placed]) -> Window {
    let front = placed.iter().all(|p| p.seen.view.front());
    let mut spots =
        placed.iter().flat_map(|p| p.seen.ways.iter().flatten().chain(&p.seen.outline).copied().chain([p.at]));
    if front && spots.all(|s| Window::HEAD.holds(s)) { Window::HEAD } else { Window::of(cut(placed, front), front) }
}

fn single(drawing: &Drawing, step: &MarkedStep<'_>, options: &Options<'_>, attributes: &str) -> String {
    let placed = enlarge(drawing, step);
    let frame = if placed.iter().any(|p| !p.seen.view.front()) { "back" } else { "front" };
    let art: String = layers(&placed, frame == "front").into_iter().map(|p| p.art(options.ground, &[])).collect();
    format!(
        "<g class=\"sk-step\" data-step=\"{}\" data-frame=\"{frame}\" data-box=\"{}\" {attributes}>{art}</g>",
        step.number,
        window(&placed).view_box(),
    )
}
