//! The run-through: one figure, and each step drawn large.
//!
//! The script shows step N by giving its groups the class `sk-now` (and the following step's `sk-next`), sets the root's
//! `data-shows` to the group's `data-frame` and, if it wishes, the root's `viewBox` to the group's `data-box`.

use std::fmt::Write;

use face::Drawing;

use crate::figure::Cut;
use crate::ground::Part;
use crate::layout::{Placed, enlarge, layers, place};
use crate::sheet::{Window, cut, ink, open, side_words};
use crate::{MarkedStep, Options, Person, figure};

/// Every step of a routine over one figure, hidden until a script (with [`crate::CSS`]) shows them.
pub fn stage(drawing: &Drawing, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    stage_for(drawing, &Person::drawn(), steps, options)
}

/// [`stage`] on one person's own face.
pub fn stage_for(drawing: &Drawing, person: &Person<'_>, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    let placed = place(drawing, person, steps);
    let front = cut(&placed, true);
    let whole = Window::of(front, true).around(person, front);
    let mut out = open(whole, options, "sk sk-stage", "img").replacen("<svg ", "<svg data-shows=\"front\" ", 1);
    let part = options.ground.part(Part::Figure);
    let _ = write!(
        out,
        "<g class=\"sk-front\"><g {part}>{}</g>{}</g>",
        ink(&figure::front(person, front)),
        sides(options, person, false)
    );
    if steps.iter().any(|s| drawing.see(s.target, s.side).is_some_and(|seen| !seen.view.front())) {
        let _ = write!(
            out,
            "<g class=\"sk-back\"><g {part}>{}</g>{}</g>",
            ink(figure::back(cut(&placed, false))),
            sides(options, person, true)
        );
    }
    let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
    for step in steps {
        out.push_str(&single(drawing, person, step, options, "visibility=\"hidden\""));
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
    step_view_for(drawing, &Person::drawn(), present, next, options)
}

/// [`step_view`] on one person's own face.
pub fn step_view_for(
    drawing: &Drawing,
    person: &Person<'_>,
    present: &MarkedStep<'_>,
    next: Option<&MarkedStep<'_>>,
    options: &Options<'_>,
) -> String {
    let placed = place(drawing, person, std::slice::from_ref(present));
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let mut out = open(window(person, &placed), options, "sk sk-view", "img");
    let figure =
        if behind { figure::back(cut(&placed, false)).into() } else { figure::front(person, cut(&placed, true)) };
    let part = options.ground.part(Part::Figure);
    let _ = write!(out, "<g {part}>{}</g>{}", ink(&figure), sides(options, person, behind));
    let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
    if let Some(next) = next {
        let there = place(drawing, person, std::slice::from_ref(next));
        if there.iter().all(|p| p.seen.view.front() != behind) {
            out.push_str(&single(drawing, person, next, options, "opacity=\"0.3\""));
        }
    }
    out.push_str(&single(drawing, person, present, options, ""));
    out.push_str("</g></svg>");
    out
}

fn sides(options: &Options<'_>, person: &Person<'_>, behind: bool) -> String {
    let head = Window { left: -10.2, right: 10.2, top: 13.8, ..Window::HEAD };
    let at = if behind { head } else { head.around(person, Cut::Portrait) };
    format!("<g {}>{}</g>", options.ground.part(Part::Words), side_words(options, at, behind, 1.0))
}

/// The window that holds a step: the head close by, or the whole frame.
pub(crate) fn window(person: &Person<'_>, placed: &[Placed]) -> Window {
    let front = placed.iter().all(|p| p.seen.view.front());
    let mut spots =
        placed.iter().flat_map(|p| p.seen.ways.iter().flatten().chain(&p.seen.outline).copied().chain([p.at]));
    let close = front && spots.all(|s| Window::HEAD.holds(s));
    let cut = cut(placed, front);
    let window = if close { Window::HEAD } else { Window::of(cut, front) };
    if front { window.around(person, cut) } else { window }
}

pub(crate) fn single(
    drawing: &Drawing,
    person: &Person<'_>,
    step: &MarkedStep<'_>,
    options: &Options<'_>,
    attributes: &str,
) -> String {
    let placed = enlarge(drawing, person, step);
    let frame = if placed.iter().any(|p| !p.seen.view.front()) { "back" } else { "front" };
    let ground = Some(options.ground);
    let art: String = layers(&placed, frame == "front").into_iter().map(|p| p.art(ground, &[])).collect();
    format!(
        "<g class=\"sk-step\" data-step=\"{}\" data-frame=\"{frame}\" data-box=\"{}\" {attributes}>{art}</g>",
        step.number,
        window(person, &placed).view_box(),
    )
}
