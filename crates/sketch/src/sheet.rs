//! The whole routine on one sheet.

use std::fmt::Write;

use face::{Drawing, Spot};
use vocab::{Class, Movement, Pressure, Side};

use crate::ground::Part;
use crate::layout::{Placed, place};
use crate::svg::{UNITS, escape, num};
use crate::thread::threads;
use crate::{Ground, Mark, MarkedStep, Options, figure};

/// A window on a frame: left, bottom, right, top in centimetres.
#[derive(Clone, Copy)]
pub(crate) struct Window {
    pub left: f64,
    pub bottom: f64,
    pub right: f64,
    pub top: f64,
}

impl Window {
    pub(crate) const FRONT: Window = Window { left: -15.0, bottom: -26.4, right: 15.0, top: 15.3 };
    pub(crate) const BACK: Window = Window { left: -15.0, bottom: -26.0, right: 15.0, top: 15.0 };
    pub(crate) const HEAD: Window = Window { left: -10.6, bottom: -11.4, right: 10.6, top: 15.0 };
    pub(crate) const CHEST: Window = Window { left: -15.0, bottom: -26.4, right: 15.0, top: -4.0 };

    pub(crate) fn view_box(self) -> String {
        let width = (self.right - self.left) * UNITS;
        let height = (self.top - self.bottom) * UNITS;
        format!("{} {} {} {}", num(self.left * UNITS), num(-self.top * UNITS), num(width), num(height))
    }

    pub(crate) fn holds(self, at: Spot) -> bool {
        at.x > self.left + 0.6 && at.x < self.right - 0.6 && at.y > self.bottom + 0.6 && at.y < self.top - 0.6
    }
}

/// The back figure stands beside the front's foot at this scale.
const BACK_SCALE: f64 = 0.62;

/// A whole routine: figure, marks and the thread from mark to mark; the back only if a step lies there.
pub fn sheet(drawing: &Drawing, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    let placed = place(drawing, steps);
    draw(&placed, steps, options, true)
}

/// Targets on the figure without a routine: a map. Marks are holds with nothing filled; classes as given.
pub fn map(drawing: &Drawing, targets: &[(&str, Class, &str)], options: &Options<'_>) -> String {
    let steps: Vec<MarkedStep<'_>> = targets
        .iter()
        .enumerate()
        .map(|(i, (target, class, title))| MarkedStep {
            number: i + 1,
            target,
            side: Side::Left,
            mark: Mark::Hold,
            pressure: Pressure::Featherlight,
            seconds: 0,
            full_s: 1,
            movement: Movement::Work,
            class: *class,
            title,
        })
        .collect();
    let placed = place(drawing, &steps);
    draw(&placed, &steps, options, false)
}

fn draw(placed: &[Placed], steps: &[MarkedStep<'_>], options: &Options<'_>, thread: bool) -> String {
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let front = Window::FRONT;
    let back_height = (Window::BACK.top - Window::BACK.bottom) * BACK_SCALE;
    let window = if behind { Window { bottom: front.bottom - back_height - 1.5, ..front } } else { front };
    let mut out = open(window, options, "sk sk-sheet");
    let words = &options.words;
    let _ = write!(out, "<g {}>{}</g>", options.ground.part(Part::Figure), ink(&figure::front()));
    if thread {
        let _ = write!(out, "<g {}>{}</g>", options.ground.part(Part::Thread), threads(placed, steps, true));
    }
    let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
    for p in placed.iter().filter(|p| p.seen.view.front()) {
        out.push_str(&group(p, steps, options));
    }
    out.push_str("</g>");
    let _ = write!(out, "<g {}>", options.ground.part(Part::Words));
    out.push_str(&word(Spot::new(-14.6, 13.6), "start", words.your_right));
    out.push_str(&word(Spot::new(14.6, 13.6), "end", words.your_left));
    out.push_str("</g>");
    if behind {
        let shift = -(front.bottom - 1.0) * UNITS + Window::BACK.top * UNITS * BACK_SCALE;
        let _ = write!(out, "<g class=\"sk-back\" transform=\"translate(0 {}) scale({BACK_SCALE})\">", num(shift));
        let _ = write!(out, "<g {}>{}</g>", options.ground.part(Part::Figure), ink(&figure::back()));
        if thread {
            let _ = write!(out, "<g {}>{}</g>", options.ground.part(Part::Thread), threads(placed, steps, false));
        }
        let _ = write!(out, "<g {}>", options.ground.part(Part::Marks));
        for p in placed.iter().filter(|p| !p.seen.view.front()) {
            out.push_str(&group(p, steps, options));
        }
        out.push_str("</g>");
        let _ = write!(out, "<g {}>", options.ground.part(Part::Words));
        out.push_str(&word(Spot::new(-14.6, 11.0), "start", words.from_behind));
        out.push_str("</g></g>");
    }
    out.push_str("</svg>");
    out
}

/// The opening tag with title and description, and the ground of a standalone file.
pub(crate) fn open(window: Window, options: &Options<'_>, class: &str) -> String {
    let (id, view_box) = (escape(options.id), window.view_box());
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"{class}\" viewBox=\"{view_box}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\"><title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
        escape(options.words.title),
        escape(options.words.desc),
    );
    if let Some(colour) = options.ground.behind() {
        let mut sides = view_box.split(' ');
        let mut side = || sides.next().unwrap_or_default();
        let (x, y, width, height) = (side(), side(), side(), side());
        let _ = write!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{colour}\"/>");
    }
    out
}

pub(crate) fn ink(d: &str) -> String {
    format!("<path d=\"{d}\" fill=\"currentColor\"/>")
}

pub(crate) fn word(at: Spot, anchor: &str, text: &str) -> String {
    format!(
        "<text class=\"sk-word\" x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"17\" fill=\"currentColor\">{}</text>",
        num(at.x * UNITS),
        num(-at.y * UNITS),
        escape(text)
    )
}

/// A mark with the steps it stands for, its tooltip and, if wished, its numerals.
fn group(p: &Placed, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    let numbers: Vec<String> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.number.to_string()).collect();
    let titles: Vec<&str> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.title).collect();
    let mut out = format!(
        "<g class=\"sk-step\" data-step=\"{}\" data-side=\"{}\"><title>{}</title>{}",
        numbers.join(" "),
        p.side.word(),
        escape(&titles.join("\n")),
        p.art(),
    );
    if options.numerals {
        let out_x = if p.side == Side::Right { -1.0 } else { 1.0 };
        let at = p.at + Spot::new(out_x * (p.radius() + 0.35), p.radius() * 0.4);
        let _ = write!(
            out,
            "<text class=\"sk-numeral\" x=\"{}\" y=\"{}\" text-anchor=\"{}\" font-size=\"11\" fill=\"currentColor\" \
             fill-opacity=\"0.75\">{}</text>",
            num(at.x * UNITS),
            num(-at.y * UNITS),
            if out_x < 0.0 { "end" } else { "start" },
            numbers.join("\u{b7}")
        );
    }
    out.push_str("</g>");
    out
}

/// Whether a drawing of this ground is a file of its own.
#[allow(dead_code)]
pub(crate) fn standalone(ground: Ground) -> bool {
    ground.behind().is_some()
}
