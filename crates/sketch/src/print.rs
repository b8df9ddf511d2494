//! A page to print: the face at true scale, or as large as the page allows.

use std::fmt::Write;

use face::{Drawing, Spot, vertex};

use crate::chart::{Upon, chart, pins};
use crate::figure::{self, Cut};
use crate::ground::Part;
use crate::layout::{EYE, Placed, place};
use crate::sheet::{Window, ink, opened, score, side_words, word};
use crate::svg::{UNITS, len, num, polyline};
use crate::{Notation, Options, Overlay, Person};

/// How large a page is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// A centimetre of the person is a centimetre on paper.
    True,
    /// As large as the page lets it be.
    Fit,
}

/// What fits on A4 (210 by 297 mm) and on US Letter (215.9 by 279.4 mm) with margins of 10 mm and more, in centimetres.
const PAPER: (f64, f64) = (19.0, 25.5);
/// The strip for the bar and its words, in centimetres.
const STRIP: f64 = 1.9;
/// The bar's length in centimetres.
const BAR: f64 = 10.0;
/// What is kept below the chin, in centimetres.
const BELOW: f64 = 0.7;

/// The head from in front with a map or a routine, and a bar of 10 cm with `bar` written at it, such as "measure this bar: it is
/// 10 cm long when printed at true scale". At true scale the drawing is 190 mm by 255 mm, which A4 and US Letter hold; of a
/// head higher than that the crown is cut off, never the chin. What lies behind or outside is not on
/// it, and [`Overlay::left_out`] names it.
pub fn print(
    drawing: &Drawing,
    person: &Person<'_>,
    notation: Notation<'_>,
    scale: Scale,
    bar: &str,
    options: &Options<'_>,
) -> Overlay {
    let window = window(person);
    let mut left_out: Vec<usize> = Vec::new();
    let art = match notation {
        Notation::Bare => String::new(),
        Notation::Map(view) => {
            let all = pins(drawing, person, view).into_iter();
            let (kept, out): (Vec<_>, Vec<_>) =
                all.partition(|p| p.seen.view.front() && p.spots().all(|s| window.holds(s)));
            left_out.extend(out.iter().map(|p| p.index));
            chart(&kept, person, options, Upon::Ground(options.ground), true, window)
        }
        Notation::Routine(steps) => {
            let all = place(drawing, person, steps).into_iter();
            let (kept, out): (Vec<Placed>, Vec<Placed>) = all.partition(|p| within(&window, p));
            left_out.extend(out.iter().flat_map(|p| p.steps.iter().copied()));
            score(&kept, person, steps, options, true, 1.0)
        }
    };
    let (width, height) = (num(PAPER.0 * UNITS), num(PAPER.1 * UNITS));
    let size = match scale {
        Scale::True => format!(" width=\"{}mm\" height=\"{}mm\"", num(PAPER.0 * 10.0), num(PAPER.1 * 10.0)),
        Scale::Fit => String::new(),
    };
    let class = if scale == Scale::True { "sk sk-print sk-true" } else { "sk sk-print" };
    let mut out = opened(&format!("0 0 {width} {height}"), &size, options, class, "img");
    let (figure, words) = (options.ground.part(Part::Figure), options.ground.part(Part::Words));
    // The head in a window of its own, at the same scale, so that nothing of it reaches into the strip.
    let corners = Window { left: window.left + 0.2, right: window.right - 0.2, top: window.top - 0.6, ..window };
    let mirrored = person.carry(EYE).x < person.carry(EYE.mirrored()).x;
    let _ = write!(
        out,
        "<svg x=\"0\" y=\"0\" width=\"{width}\" height=\"{}\" viewBox=\"{}\"><g {figure}>{}</g>{art}<g {words}>{}</g></svg>",
        num((PAPER.1 - STRIP) * UNITS),
        window.view_box(),
        ink(&figure::front(person, Cut::Portrait)),
        side_words(options, corners, mirrored, 0.55),
    );
    let _ = write!(out, "<g {words}>{}</g></svg>", measure(bar));
    left_out.sort_unstable();
    left_out.dedup();
    Overlay { svg: out, left_out }
}

/// What of the head is on the page: around the middle of the eyes, from a little below the chin upward.
fn window(person: &Person<'_>) -> Window {
    let [left, _, right, _] = figure::bounds(person, Cut::Portrait);
    let middle = person.carry(Spot::new(0.0, EYE.y)).x.clamp(left, right);
    // Landmark 152 is the lowest of the chin.
    let bottom = person.carry(vertex(152).unwrap_or_default()).y - BELOW;
    Window { left: middle - PAPER.0 / 2.0, right: middle + PAPER.0 / 2.0, bottom, top: bottom + PAPER.1 - STRIP }
}

fn within(window: &Window, p: &Placed) -> bool {
    let ways = || p.there.ways.iter().flatten().chain(&p.there.outline);
    p.seen.view.front() && window.holds(p.stand) && ways().all(|s| window.holds(*s))
}

/// The bar with a tick at each centimetre, longer at 0, 5 and 10.
fn measure(text: &str) -> String {
    let left = (PAPER.0 - BAR) / 2.0;
    let foot = -(PAPER.1 - 1.0);
    let mut d = polyline(&[Spot::new(left, foot), Spot::new(left + BAR, foot)], false);
    for cm in 0..=BAR as u32 {
        let x = left + f64::from(cm);
        let high = if cm % 5 == 0 { 0.36 } else { 0.2 };
        d.push_str(&polyline(&[Spot::new(x, foot), Spot::new(x, foot + high)], false));
    }
    let figures: String = [(0.0, "0"), (5.0, "5"), (10.0, "10 cm")]
        .map(|(cm, figure)| word(Spot::new(left + cm, foot + 0.48), "middle", figure, 0.45))
        .concat();
    format!(
        "<path class=\"sk-bar\" d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\"/>{figures}{}",
        len(0.04),
        word(Spot::new(PAPER.0 / 2.0, foot - 0.62), "middle", text, 0.5)
    )
}
