//! The whole routine on one sheet.

use std::fmt::Write;

use face::{Drawing, Spot};

use crate::chart::{Upon, halos};
use crate::figure::Cut;
use crate::ground::Part;
use crate::layout::{Placed, layers, place, small};
use crate::numerals::numerals;
use crate::svg::{UNITS, escape, num};
use crate::thread::threads;
use crate::{MarkedStep, Options, Person, figure, pen};

/// The type of the project, for standalone files; a page's style sheet overrules it.
pub(crate) const FAMILY: &str = "Atkinson Hyperlegible Next, Atkinson Hyperlegible, Verdana, sans-serif";

/// A window on a frame: left, bottom, right, top in centimetres.
#[derive(Clone, Copy, Debug)]
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

    /// The window around a person's own figure, with the same margins as around the drawn one.
    pub(crate) fn around(self, person: &Person<'_>, cut: Cut) -> Window {
        if person.drawn {
            return self;
        }
        let (drawn, own) = (figure::bounds(&Person::drawn(), cut), figure::bounds(person, cut));
        let moved = |i: usize| own[i] - drawn[i];
        Window {
            left: self.left + moved(0),
            bottom: self.bottom + moved(1),
            right: self.right + moved(2),
            top: self.top + moved(3),
        }
    }

    pub(crate) fn view_box(self) -> String {
        let width = (self.right - self.left) * UNITS;
        let height = (self.top - self.bottom) * UNITS;
        format!("{} {} {} {}", num(self.left * UNITS), num(-self.top * UNITS), num(width), num(height))
    }

    /// Whether a place lies within.
    pub(crate) fn has(self, at: Spot) -> bool {
        at.x >= self.left && at.x <= self.right && at.y >= self.bottom && at.y <= self.top
    }

    /// Whether a mark at a place lies within.
    pub(crate) fn holds(self, at: Spot) -> bool {
        at.x > self.left + 0.6 && at.x < self.right - 0.6 && at.y > self.bottom + 0.6 && at.y < self.top - 0.6
    }
}

/// The back figure stands beside the front's foot at this scale.
const BACK_SCALE: f64 = 0.6;

/// A whole routine: figure, marks and the thread from mark to mark; the back only if a step lies there.
pub fn sheet(drawing: &Drawing, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    sheet_for(drawing, &Person::drawn(), steps, options)
}

/// [`sheet`] on one person's own face.
pub fn sheet_for(drawing: &Drawing, person: &Person<'_>, steps: &[MarkedStep<'_>], options: &Options<'_>) -> String {
    sheet_with(drawing, person, steps, options, 1.0)
}

/// [`sheet_for`] with numerals so many times as large: for paper, where the sheet is small and can't be drawn nearer.
pub fn sheet_with(
    drawing: &Drawing,
    person: &Person<'_>,
    steps: &[MarkedStep<'_>],
    options: &Options<'_>,
    numerals: f64,
) -> String {
    let placed = place(drawing, person, steps);
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let (front_cut, back_cut) = (cut(&placed, true), cut(&placed, false));
    let frames = Frames::new(person, front_cut, behind.then_some(back_cut));
    let art = |is_front: bool| score(&placed, person, steps, options, is_front, numerals);
    frames.draw(person, options, "sk sk-sheet", &art(true), &if behind { art(false) } else { String::new() })
}

/// Thread, marks and numerals of one frame.
pub(crate) fn score(
    placed: &[Placed],
    person: &Person<'_>,
    steps: &[MarkedStep<'_>],
    options: &Options<'_>,
    is_front: bool,
    large: f64,
) -> String {
    let near = small(placed, is_front);
    let ground = Some(options.ground);
    let marks: String = layers(placed, is_front).into_iter().map(|p| group(p, steps, &p.art(ground, &near))).collect();
    let scale = large * if is_front { 1.0 } else { 1.0 / BACK_SCALE };
    let numbers = if options.numerals { numerals(placed, person, steps, is_front, scale) } else { String::new() };
    let layer = |part: Part, art: &str| format!("<g {}>{art}</g>", options.ground.part(part));
    let halos = if is_front { halos(placed, person, options, Upon::Ground(options.ground)) } else { String::new() };
    halos
        + &layer(Part::Thread, &threads(placed, person, steps, is_front))
        + &layer(Part::Marks, &marks)
        + &layer(Part::Words, &numbers)
}

/// The figure from in front and, below it, perhaps from behind.
pub(crate) struct Frames {
    front: (Cut, Window),
    back: Option<(Cut, Window)>,
}

impl Frames {
    pub(crate) fn new(person: &Person<'_>, front: Cut, back: Option<Cut>) -> Frames {
        let window = Window::of(front, true).around(person, front);
        Frames { front: (front, window), back: back.map(|cut| (cut, Window::of(cut, false))) }
    }

    /// What of one frame is shown.
    pub(crate) fn window(&self, front: bool) -> Window {
        match self.back {
            Some((_, back)) if !front => back,
            _ => self.front.1,
        }
    }

    /// The whole drawing; `art` and `art_behind` lie over the figures.
    pub(crate) fn draw(
        &self,
        person: &Person<'_>,
        options: &Options<'_>,
        class: &str,
        art: &str,
        art_behind: &str,
    ) -> String {
        let (cut, front) = self.front;
        let below = self.back.map_or(0.0, |(_, back)| (back.top - back.bottom) * BACK_SCALE + 1.2);
        let mut out = open(Window { bottom: front.bottom - below, ..front }, options, class, "img");
        let (figure, words) = (options.ground.part(Part::Figure), options.ground.part(Part::Words));
        let corners = Window { left: front.left + 0.4, right: front.right - 0.4, ..front };
        // The words stand as high as on the drawn face, whose top lies a little otherwise in each cut.
        let corners = Window { top: front.top - Window::of(cut, true).top + 13.8, ..corners };
        let _ = write!(
            out,
            "<g {figure}>{}</g>{art}<g {words}>{}</g>",
            ink(&figure::front(person, cut)),
            side_words(options, corners, false, 1.0)
        );
        if let Some((cut, back)) = self.back {
            let shift = -(front.bottom - 1.0) * UNITS + back.top * UNITS * BACK_SCALE;
            let middle = (front.left + front.right) / 2.0;
            let edge = |x: f64| (x - middle) / BACK_SCALE;
            let corners = Window { left: edge(front.left + 0.4), right: edge(front.right - 0.4), top: 12.2, ..back };
            let _ = write!(
                out,
                "<g class=\"sk-back\" transform=\"translate({} {}) scale({BACK_SCALE})\"><g {figure}>{}</g>{art_behind}\
                 <g {words}>{}{}</g></g>",
                num(middle * UNITS),
                num(shift),
                ink(figure::back(cut)),
                word(Spot::new(0.0, 15.6), "middle", options.words.from_behind, 1.0 / BACK_SCALE),
                side_words(options, corners, true, 1.0 / BACK_SCALE)
            );
        }
        out.push_str("</svg>");
        out
    }
}

/// As much of the body as the marks need.
pub(crate) fn cut(placed: &[Placed], front: bool) -> Cut {
    let spots =
        |p: &Placed| p.seen.ways.iter().flatten().chain(&p.seen.outline).copied().chain([p.at]).collect::<Vec<_>>();
    let window = Window::of(Cut::Portrait, front);
    let inside = placed.iter().filter(|p| p.seen.view.front() == front).flat_map(spots).all(|s| window.holds(s));
    if inside { Cut::Portrait } else { Cut::Bust }
}

/// The opening tag with title and description, and the ground of a standalone file; `role` is `img`, or
/// `group` where something in it can be reached.
pub(crate) fn open(window: Window, options: &Options<'_>, class: &str, role: &str) -> String {
    opened(&window.view_box(), "", options, class, role)
}

/// [`open`] with a view box of its own and further attributes.
pub(crate) fn opened(view_box: &str, more: &str, options: &Options<'_>, class: &str, role: &str) -> String {
    let id = escape(options.id);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"{class}\"{more} viewBox=\"{view_box}\" role=\"{role}\" \
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
pub(crate) fn side_words(options: &Options<'_>, corners: Window, behind: bool, scale: f64) -> String {
    let Window { left, right, top: y, .. } = corners;
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
        word(Spot::new(left, y), "start", at_left, scale),
        swatch(left + 0.2 * scale, -lean),
        word(Spot::new(right, y), "end", at_right, scale),
        swatch(right - 1.4 * scale, lean),
    )
}

/// A mark with the steps it stands for and its tooltip.
pub(crate) fn group(p: &Placed, steps: &[MarkedStep<'_>], art: &str) -> String {
    let numbers: Vec<String> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.number.to_string()).collect();
    let titles: Vec<&str> = p.steps.iter().filter_map(|i| steps.get(*i)).map(|s| s.title).collect();
    format!(
        "<g class=\"sk-step\" data-step=\"{}\" data-side=\"{}\"><title>{}</title>{art}</g>",
        numbers.join(" "),
        p.side.word(),
        escape(&titles.join("\n")),
    )
}
