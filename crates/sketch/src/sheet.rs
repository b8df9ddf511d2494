//! The whole routine on one sheet.

use std::fmt::Write;

use face::{Drawing, Spot};
use vocab::{Class, Movement, Pressure, Side};

use crate::figure::Cut;
use crate::ground::Part;
use crate::layout::{Placed, layers, pin, place, small};
use crate::numerals::numerals;
use crate::svg::{UNITS, escape, num};
use crate::thread::threads;
use crate::{Mark, MarkedStep, Options, figure, pen};

/// The type of the project, for standalone files; a page's style sheet overrules it.
pub(crate) const FAMILY: &str = "Atkinson Hyperlegible Next, Atkinson Hyperlegible, Verdana, sans-serif";

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
    pub(crate) const PORTRAIT: Window = Window { left: -12.9, bottom: -19.0, right: 12.9, top: 15.0 };
    pub(crate) const BACK: Window = Window { left: -15.0, bottom: -26.0, right: 15.0, top: 15.8 };
    pub(crate) const BACK_PORTRAIT: Window = Window { left: -12.9, bottom: -15.4, right: 12.9, top: 15.8 };
    pub(crate) const HEAD: Window = Window { left: -10.6, bottom: -11.4, right: 10.6, top: 15.0 };

    /// The window of a whole frame.
    pub(crate) fn of(cut: Cut, front: bool) -> Window {
        match (cut, front) {
            (Cut::Bust, true) => Window::FRONT,
            (Cut::Portrait, true) => Window::PORTRAIT,
            (Cut::Bust, false) => Window::BACK,
            (Cut::Portrait, false) => Window::BACK_PORTRAIT,
        }
    }

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
const BACK_SCALE: f64 = 0.6;

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
    draw(&pin(drawing, &steps), &steps, options, false)
}

fn draw(placed: &[Placed], steps: &[MarkedStep<'_>], options: &Options<'_>, thread: bool) -> String {
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let (front_cut, back_cut) = (cut(placed, true), cut(placed, false));
    let (front, back) = (Window::of(front_cut, true), Window::of(back_cut, false));
    let back_height = (back.top - back.bottom) * BACK_SCALE;
    let window = if behind { Window { bottom: front.bottom - back_height - 1.2, ..front } } else { front };
    let mut out = open(window, options, "sk sk-sheet");
    let edge = front.right - 0.4;
    let words = &options.words;
    let layer = |part: Part, art: &str| format!("<g {}>{art}</g>", options.ground.part(part));
    let frame = |is_front: bool, figure: &str, around: &str| {
        let near = small(placed, is_front);
        let marks: String = layers(placed, is_front).into_iter().map(|p| group(p, steps, options, &near)).collect();
        let thread = if thread { threads(placed, steps, is_front) } else { String::new() };
        let numerals = if options.numerals {
            numerals(placed, steps, is_front, if is_front { 1.0 } else { 1.0 / BACK_SCALE })
        } else {
            String::new()
        };
        layer(Part::Figure, &ink(figure))
            + &layer(Part::Thread, &thread)
            + &layer(Part::Marks, &marks)
            + &layer(Part::Words, &(around.to_owned() + &numerals))
    };
    out.push_str(&frame(true, figure::front(front_cut), &side_words(options, edge, 13.8, false, 1.0)));
    if behind {
        let shift = -(front.bottom - 1.0) * UNITS + back.top * UNITS * BACK_SCALE;
        let around = word(Spot::new(0.0, 15.6), "middle", words.from_behind, 1.0 / BACK_SCALE)
            + &side_words(options, edge / BACK_SCALE, 12.2, true, 1.0 / BACK_SCALE);
        let art = frame(false, figure::back(back_cut), &around);
        let _ =
            write!(out, "<g class=\"sk-back\" transform=\"translate(0 {}) scale({BACK_SCALE})\">{art}</g>", num(shift));
    }
    out.push_str("</svg>");
    out
}

/// As much of the body as the marks need.
pub(crate) fn cut(placed: &[Placed], front: bool) -> Cut {
    let spots =
        |p: &Placed| p.seen.ways.iter().flatten().chain(&p.seen.outline).copied().chain([p.at]).collect::<Vec<_>>();
    let window = Window::of(Cut::Portrait, front);
    let inside = placed.iter().filter(|p| p.seen.view.front() == front).flat_map(spots).all(|s| window.holds(s));
    if inside { Cut::Portrait } else { Cut::Bust }
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

pub(crate) fn word(at: Spot, anchor: &str, text: &str, scale: f64) -> String {
    format!(
        "<text class=\"sk-word\" x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"{}\" font-family=\"{FAMILY}\" fill=\"currentColor\">{}</text>",
        num(at.x * UNITS),
        num(-at.y * UNITS),
        num(17.0 * scale),
        escape(text)
    )
}

/// Which side is whose, written at both edges with the side's own hatching; from behind, the person's left is on the
/// viewer's left.
pub(crate) fn side_words(options: &Options<'_>, x: f64, y: f64, behind: bool, scale: f64) -> String {
    let words = &options.words;
    let (at_left, at_right) =
        if behind { (words.your_left, words.your_right) } else { (words.your_right, words.your_left) };
    let swatch = |from: f64, lean: f64| -> String {
        (0..5)
            .map(|i| {
                let foot = Spot::new(from + 0.3 * scale * f64::from(i), y - 1.05 * scale);
                let tip = Spot::new(0.16 * lean, 0.28) * scale;
                ink(&pen::ink(&pen::even(&[foot - tip, foot + tip], 1.0), 0.06))
            })
            .collect()
    };
    let lean = if behind { -1.0 } else { 1.0 };
    format!(
        "{}{}{}{}",
        word(Spot::new(-x, y), "start", at_left, scale),
        swatch(-x + 0.2 * scale, -lean),
        word(Spot::new(x, y), "end", at_right, scale),
        swatch(x - 1.4 * scale, lean),
    )
}

/// A mark with the steps it stands for, its tooltip and, if wished, its numerals.
fn group(p: &Placed, steps: &[MarkedStep<'_>], options: &Options<'_>, near: &[(Spot, f64)]) -> String {
    let numbers: Vec<String> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.number.to_string()).collect();
    let titles: Vec<&str> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.title).collect();
    let mut out = format!(
        "<g class=\"sk-step\" data-step=\"{}\" data-side=\"{}\"><title>{}</title>{}",
        numbers.join(" "),
        p.side.word(),
        escape(&titles.join("\n")),
        p.art(options.ground, near),
    );
    out.push_str("</g>");
    out
}
