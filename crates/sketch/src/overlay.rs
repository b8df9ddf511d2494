//! A photograph with the drawing faint over it, and the notation of a map or a routine.

use std::fmt::Write;

use face::{Drawing, Spot, View};

use crate::chart::{Upon, chart, halos, part, pins};
use crate::ground::{OVER_CASING, OVER_INK, Part};
use crate::layout::{self, Placed, layers, place, small};
use crate::sheet::{Window, group, opened, side_words};
use crate::svg::{UNITS, escape, len, soft};
use crate::{Handle, Notation, Options, Person, casing, figure, handles, numerals, thread};

/// A photograph of one person, and how their sheet lies on it: the place `(x, y)` of the sheet is the pixel
/// `(x * px_per_cm, -y * px_per_cm)`, so that marks have the size they have on the face.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    /// The address of the picture, or its data URI.
    pub href: &'a str,
    /// Its width in pixels.
    pub width_px: f64,
    /// Its height in pixels.
    pub height_px: f64,
    /// Pixels in a centimetre of the face.
    pub px_per_cm: f64,
    /// What of it is shown: left, top, width and height in pixels; all of it if `None`. It is cut to the picture.
    pub crop: Option<[f64; 4]>,
    /// Whether the drawing lies faint over it.
    pub drawing: bool,
    /// What can be dragged on it.
    pub handles: &'a [Handle<'a>],
}

/// A photograph or a page with what could be drawn on it, and what could not.
#[derive(Clone, Debug)]
pub struct Overlay {
    /// The drawing; over a photograph its user unit is a pixel of the picture.
    pub svg: String,
    /// What is not on it, because it lies outside or behind, or over a photograph on the torso: indices into the map's places or the
    /// routine's steps. Of what lies on both sides it is enough that one is missing.
    pub left_out: Vec<usize>,
}

impl Picture<'_> {
    /// The shown part in pixels; a part that is none is the whole picture.
    fn shown(&self) -> [f64; 4] {
        let whole = [0.0, 0.0, self.width_px, self.height_px];
        let Some([x, y, w, h]) = self.crop else { return whole };
        let (left, top) = (x.max(0.0), y.max(0.0));
        let (width, height) = ((x + w).min(self.width_px) - left, (y + h).min(self.height_px) - top);
        if width > 0.0 && height > 0.0 { [left, top, width, height] } else { whole }
    }

    fn scale(&self) -> f64 {
        if self.px_per_cm.is_finite() && self.px_per_cm > 0.0 { self.px_per_cm } else { 1.0 }
    }

    /// The shown part on the sheet.
    fn window(&self) -> Window {
        let k = self.scale();
        let [left, top, width, height] = self.shown();
        Window { left: left / k, bottom: -(top + height) / k, right: (left + width) / k, top: -top / k }
    }

    /// Whether a disc of radius `r` centimetres lies within the shown part.
    fn holds(&self, at: Spot, r: f64) -> bool {
        let k = self.scale();
        let [left, top, width, height] = self.shown();
        let (x, y, r) = (at.x * k - left, -at.y * k - top, r * k);
        x >= r && y >= r && x <= width - r && y <= height - r
    }
}

/// A photograph with the drawing and the notation over it. The person's sheet must be the picture's, see [`Picture`].
/// Only what lies on the face and wholly within the shown part is drawn; [`Overlay::left_out`] names the rest.
pub fn overlay(
    drawing: &Drawing,
    person: &Person<'_>,
    picture: &Picture<'_>,
    notation: Notation<'_>,
    options: &Options<'_>,
) -> Overlay {
    let (art, left_out) = match notation {
        Notation::Bare => (String::new(), Vec::new()),
        Notation::Map(view) => {
            let all = pins(drawing, person, view);
            let (kept, out): (Vec<_>, Vec<_>) =
                all.into_iter().partition(|p| p.seen.view == View::Face && p.spots().all(|s| picture.holds(s, 0.3)));
            (
                chart(&kept, person, options, Upon::Picture, true, picture.window()),
                out.iter().map(|p| p.index).collect(),
            )
        }
        Notation::Routine(steps) => {
            let (kept, out): (Vec<Placed>, Vec<Placed>) =
                place(drawing, person, steps).into_iter().partition(|p| within(picture, p));
            let near = small(&kept, true);
            let mut art = halos(&kept, person, options, Upon::Picture);
            let thread = thread::threads(&kept, person, steps, true);
            let _ = write!(art, "<g {}>{}{thread}</g>", part(Upon::Picture, Part::Thread), casing::under(&thread));
            let _ = write!(art, "<g {}>", part(Upon::Picture, Part::Marks));
            for p in layers(&kept, true) {
                let mark = p.art(None, &near);
                art.push_str(&group(p, steps, &(casing::under(&mark) + &mark)));
            }
            art.push_str("</g>");
            if options.numerals {
                let numbers = numerals::numerals(&kept, person, steps, true, 1.0);
                let _ = write!(art, "<g {}>{}</g>", part(Upon::Picture, Part::Words), lightened(&numbers));
            }
            (art, out.iter().flat_map(|p| p.steps.iter().copied()).collect())
        }
    };
    let mut left_out: Vec<usize> = left_out;
    left_out.sort_unstable();
    left_out.dedup();
    Overlay { svg: draw(person, picture, &art, options), left_out }
}

fn within(picture: &Picture<'_>, p: &Placed) -> bool {
    let ways = || p.there.ways.iter().flatten().chain(&p.there.outline);
    p.seen.view == View::Face && picture.holds(p.stand, p.radius()) && ways().all(|s| picture.holds(*s, 0.3))
}

fn draw(person: &Person<'_>, picture: &Picture<'_>, art: &str, options: &Options<'_>) -> String {
    let k = picture.scale();
    let [left, top, width, height] = picture.shown();
    let role = if picture.handles.is_empty() { "img" } else { "group" };
    let view_box = [left, top, width, height].map(|v| format!("{v:.1}")).join(" ");
    let more = format!(" data-px-per-cm=\"{k:.3}\"");
    // The picture covers the ground.
    let page = Options { ground: crate::Ground::Page, ..*options };
    let mut out = opened(&view_box, &more, &page, "sk sk-over", role);
    let _ = write!(
        out,
        "<image href=\"{}\" x=\"0\" y=\"0\" width=\"{:.0}\" height=\"{:.0}\" preserveAspectRatio=\"none\"/>\
         <g transform=\"scale({:.5})\">",
        escape(picture.href),
        picture.width_px,
        picture.height_px,
        k / UNITS,
    );
    if picture.drawing {
        out.push_str(&faint(person));
    }
    out.push_str(art);
    out.push_str("</g>");
    // The words stand in the corners of what is shown, three quarters as large as on a sheet of the same width: the
    // picture is the matter here.
    let unit = 0.75 * width / ((Window::PORTRAIT.right - Window::PORTRAIT.left) * UNITS);
    let cm = |px: f64| px / unit / UNITS;
    let corners =
        Window { left: cm(left) + 0.6, right: cm(left + width) - 0.6, top: -cm(top) - 1.6, bottom: -cm(top + height) };
    // In a mirrored picture the person's left is on the viewer's left.
    let mirrored = person.carry(layout::EYE).x < person.carry(layout::EYE.mirrored()).x;
    let words = side_words(options, corners, mirrored, 1.0);
    let _ =
        write!(out, "<g {} transform=\"scale({unit:.5})\">{}</g>", part(Upon::Picture, Part::Words), lightened(&words));
    out.push_str(&handles(picture.handles, k));
    out.push_str("</svg>");
    out
}

/// Words and short strokes with a light edge.
fn lightened(art: &str) -> String {
    let edge = format!(
        "stroke=\"{OVER_CASING}\" stroke-width=\"{}\" paint-order=\"stroke\" stroke-linejoin=\"round\" fill=\"currentColor\"",
        len(0.2)
    );
    art.replace("fill=\"currentColor\"", &edge)
}

/// The contours as a thin light line with a dark edge, so that they read on dark and on light skin; the hairline
/// broken, because it is estimated.
fn faint(person: &Person<'_>) -> String {
    let d: String = figure::contours(person).iter().map(|(run, closed)| soft(run, *closed)).collect();
    let hair = soft(&figure::hairline(person), false);
    let line = |d: &str, colour: &str, width: f64, opacity: f64, dashes: &str| {
        format!(
            "<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-opacity=\"{opacity}\" stroke-width=\"{}\" \
             stroke-linejoin=\"round\" stroke-linecap=\"round\"{dashes}/>",
            len(width)
        )
    };
    let dashes = " stroke-dasharray=\"5 6\"";
    format!(
        "<g class=\"sk-faint\">{}{}{}{}</g>",
        line(&d, OVER_INK, 0.1, 0.5, ""),
        line(&hair, OVER_INK, 0.1, 0.5, dashes),
        line(&d, OVER_CASING, 0.05, 0.9, ""),
        line(&hair, OVER_CASING, 0.05, 0.9, dashes),
    )
}
