//! A map: where targets lie, without a routine.

use std::fmt::Write;

use face::{Drawing, Seen, Spot};
use vocab::Side;

use crate::figure::Cut;
use crate::ground::{OVER_CASING, OVER_INK, OVER_LAMP, Part};
use crate::layout::Placed;
use crate::person::{Own, Person};
use crate::sheet::{Frames, Window};
use crate::svg::{self, UNITS, escape, len, num, xy};
use crate::{Ground, Options, casing, numerals, pen};

/// What carries a target to a person.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Landmarks of a photograph do.
    Photo,
    /// No photograph shows it (ear, hair, neck): it lies where the drawing has it.
    Sketch,
}

/// A target on the map.
#[derive(Clone, Copy, Debug)]
pub struct MapPlace<'a> {
    /// Its id; becomes `data-target`. What the drawing does not know is not drawn.
    pub target: &'a str,
    /// On which side; both sides are drawn twice.
    pub side: Side,
    /// One line for the tooltip, from the caller's catalogue.
    pub title: &'a str,
    /// A few letters beside the place, for print; empty for none.
    pub label: &'a str,
    /// What carries it.
    pub shown: Shown,
}

/// A map: its targets, and which of them are drawn.
#[derive(Clone, Copy, Debug)]
pub struct MapView<'a> {
    /// All targets.
    pub places: &'a [MapPlace<'a>],
    /// Whether points are drawn.
    pub points: bool,
    /// Whether zones are drawn.
    pub zones: bool,
    /// Whether lines are drawn.
    pub lines: bool,
    /// Whether targets of [`Shown::Sketch`] are drawn; an open square stands for such a point.
    pub sketched: bool,
    /// The chosen target; with [`Side::Both`] on both sides. It is drawn even if its kind is not.
    pub chosen: Option<(&'a str, Side)>,
}

/// The radius of a point's ring in centimetres: 3.4 mm across, so that a halo of 3 mm still shows around it.
const RING: f64 = 0.17;
/// Its line.
const LINE: f64 = 0.065;
/// The height of a label: 10 point in print at true scale.
const LABEL: f64 = 0.36;

/// Targets on the person's figure, each `<g class="sk-place" data-target data-side data-shown>` with a title.
pub fn map(drawing: &Drawing, person: &Person<'_>, view: &MapView<'_>, options: &Options<'_>) -> String {
    let pins = pins(drawing, person, view);
    let behind = pins.iter().any(|p| !p.seen.view.front());
    let frames = Frames::new(person, cut(&pins, true), behind.then(|| cut(&pins, false)));
    let art = |front: bool| chart(&pins, person, options, Upon::Ground(options.ground), front, frames.window(front));
    frames.draw(person, options, "sk sk-map", &art(true), &if behind { art(false) } else { String::new() })
}

/// A target of the map on one side.
pub(crate) struct Pin<'a> {
    place: &'a MapPlace<'a>,
    /// Index into the view's places.
    pub index: usize,
    side: Side,
    /// On the drawing.
    pub seen: Seen,
    /// On the person's sheet.
    pub there: Seen,
    halo: Option<f64>,
    chosen: bool,
}

impl Pin<'_> {
    fn point(&self) -> bool {
        self.seen.ways.is_empty() && self.seen.outline.is_empty()
    }

    /// Every place of it on the sheet.
    pub(crate) fn spots(&self) -> impl Iterator<Item = Spot> {
        let Seen { ways, outline, at, .. } = &self.there;
        ways.iter().flatten().chain(outline).copied().chain([*at])
    }
}

/// On what a map lies.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Upon {
    Ground(Ground),
    Picture,
}

/// The targets that are drawn.
pub(crate) fn pins<'a>(drawing: &Drawing, person: &Person<'_>, view: &MapView<'a>) -> Vec<Pin<'a>> {
    let mut pins: Vec<Pin<'a>> = Vec::new();
    for (index, place) in view.places.iter().enumerate() {
        let sides: &[Side] = if place.side == Side::Both { &[Side::Left, Side::Right] } else { &[place.side] };
        for side in sides {
            let Some(Own { seen, side, rest }) = person.see(drawing, place.target, *side) else { continue };
            let mut there = person.carried(&seen);
            there.at = there.at + rest;
            let is = |s: Side| s == side || s == Side::Both || side == Side::Midline;
            let chosen = view.chosen.is_some_and(|(target, s)| target == place.target && is(s));
            // Bands of many lines and edges would cover the face: they are drawn for the chosen one.
            let point = seen.ways.is_empty() && seen.outline.is_empty();
            let halo = person.halo(place.target, side).filter(|_| seen.view.front() && (point || chosen));
            let pin = Pin { place, index, side, seen, there, halo, chosen };
            let kind = match (pin.point(), pin.seen.line) {
                (true, _) => view.points,
                (false, true) => view.lines,
                (false, false) => view.zones,
            };
            let twice = pins.iter().any(|p| p.place.target == place.target && p.side == side);
            if !twice && (chosen || kind && (place.shown == Shown::Photo || view.sketched)) {
                pins.push(pin);
            }
        }
    }
    pins
}

fn cut(pins: &[Pin<'_>], front: bool) -> Cut {
    let window = Window::of(Cut::Portrait, front);
    let here = pins.iter().filter(|p| p.seen.view.front() == front);
    let mut spots = here.flat_map(|p| p.seen.ways.iter().flatten().chain(&p.seen.outline).copied().chain([p.seen.at]));
    if spots.all(|s| window.holds(s)) { Cut::Portrait } else { Cut::Bust }
}

/// The map of one frame: zones beneath, lines, halos, points, the chosen one on top, and labels within `room`.
pub(crate) fn chart(
    pins: &[Pin<'_>],
    person: &Person<'_>,
    options: &Options<'_>,
    upon: Upon,
    front: bool,
    room: Window,
) -> String {
    let here: Vec<&Pin<'_>> = pins.iter().filter(|p| p.seen.view.front() == front).collect();
    let mut order = here.clone();
    order.sort_by_key(|p| (p.chosen, p.point(), p.seen.line));
    let mut out = format!("<g {}>", part(upon, Part::Marks));
    out.push_str(&halo_paint(options, upon, here.iter().any(|p| p.halo.is_some())));
    for pin in &order {
        if let Some(r) = pin.halo {
            out.push_str(&uncertainty(&pin.there, r, options, upon));
        }
    }
    order.iter().for_each(|p| out.push_str(&pinned(p, upon)));
    out.push_str("</g>");
    let eyes = numerals::eyes(person).into_iter().filter(|_| front);
    let taken: Vec<(Spot, f64)> =
        here.iter().filter(|p| p.point()).map(|p| (p.there.at, RING + 0.05)).chain(eyes).collect();
    let items: Vec<(&str, Spot, f64, Side)> =
        here.iter().map(|p| (p.place.label, p.there.at, RING + 0.08, p.side)).collect();
    let edge = match upon {
        Upon::Ground(ground) => ground.behind().unwrap_or("none"),
        Upon::Picture => OVER_CASING,
    };
    let more =
        format!(" stroke=\"{edge}\" stroke-width=\"{}\" paint-order=\"stroke\" stroke-linejoin=\"round\"", len(0.14));
    let labels = numerals::labels(&items, &taken, LABEL, room, &more);
    let _ = write!(out, "<g {}>{labels}</g>", part(upon, Part::Words));
    out
}

/// Class and colour of a part; upon a photograph the colours always stand in the drawing.
pub(crate) fn part(upon: Upon, part: Part) -> String {
    match upon {
        Upon::Ground(ground) => ground.part(part),
        Upon::Picture => part.over(),
    }
}

/// The paint of halos: the density of a spread whose 95 % lie within the radius r, exp(-3 (d/r)^2), because for a
/// normal spread in the plane 95 % lie within r = sqrt(-2 ln 0.05) = 2.45 standard deviations.
fn halo_paint(options: &Options<'_>, upon: Upon, any: bool) -> String {
    if !any {
        return String::new();
    }
    let (colour, dense) = if upon == Upon::Picture { (OVER_CASING, 0.75) } else { ("currentColor", 0.3) };
    let stops: String = [0.0f64, 0.25, 0.5, 0.75, 1.0]
        .iter()
        .map(|t| {
            let opacity = dense * (-3.0 * t * t).exp();
            format!("<stop offset=\"{t}\" stop-color=\"{colour}\" stop-opacity=\"{opacity:.3}\"/>")
        })
        .collect();
    format!("<defs><radialGradient id=\"{}-soft\">{stops}</radialGradient></defs>", escape(options.id))
}

/// A halo of its true size around a point, a band behind a line or along the edge of a zone.
fn uncertainty(there: &Seen, r: f64, options: &Options<'_>, upon: Upon) -> String {
    if there.ways.is_empty() && there.outline.is_empty() {
        let place = format!("cx=\"{}\" cy=\"{}\" r=\"{}\"", len(there.at.x), len(-there.at.y), len(r));
        let rim = |colour: &str, width: f64, opacity: f64| {
            format!(
                "<circle {place} fill=\"none\" stroke=\"{colour}\" stroke-opacity=\"{opacity}\" stroke-width=\"{}\"/>",
                len(width)
            )
        };
        let light = if upon == Upon::Picture { rim(OVER_CASING, 0.04, 0.9) } else { String::new() };
        return format!(
            "<g class=\"sk-halo\"><circle {place} fill=\"url(#{}-soft)\"/>{}{light}</g>",
            escape(options.id),
            if upon == Upon::Picture { rim(OVER_INK, 0.09, 0.4) } else { rim("currentColor", 0.025, 0.5) },
        );
    }
    let runs = if there.line { there.ways.clone() } else { vec![round(&there.outline)] };
    let d: String = runs.iter().map(|run| smooth(run, !there.line)).collect();
    let (colour, opacity) = if upon == Upon::Picture { (OVER_CASING, 0.45) } else { ("currentColor", 0.1) };
    format!(
        "<path class=\"sk-halo\" d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-opacity=\"{opacity}\" stroke-width=\"{}\" \
         stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
        len(2.0 * r)
    )
}

fn round(outline: &[Spot]) -> Vec<Spot> {
    [outline, &outline[..1.min(outline.len())]].concat()
}

/// The edge of a zone.
pub(crate) fn outlined(outline: &[Spot]) -> String {
    lined(&smooth(&round(outline), true), 0.1, "")
}

fn smooth(run: &[Spot], closed: bool) -> String {
    svg::soft(&pen::through(run, 0.3), closed)
}

fn lined(d: &str, width: f64, more: &str) -> String {
    format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\" stroke-linecap=\"round\" \
         stroke-linejoin=\"round\"{more}/>",
        len(width)
    )
}

/// One target with its attributes and title.
fn pinned(pin: &Pin<'_>, upon: Upon) -> String {
    let kind = match (pin.point(), pin.seen.line) {
        (true, _) => "sk-point",
        (false, true) => "sk-line",
        (false, false) => "sk-zone",
    };
    let chosen = if pin.chosen { " sk-chosen" } else { "" };
    let colour = match (pin.chosen, upon) {
        (true, Upon::Ground(ground)) => ground.colour(Part::Thread),
        (true, Upon::Picture) => Some(OVER_LAMP),
        _ => None,
    };
    let colour = colour.map_or(String::new(), |c| format!(" color=\"{c}\""));
    let shown = if pin.place.shown == Shown::Photo { "photo" } else { "sketch" };
    let (reach, art) = if pin.point() { point(pin, upon) } else { extended(pin) };
    let under = if upon == Upon::Picture { casing::under(&art) } else { String::new() };
    format!(
        "<g class=\"sk-place {kind}{chosen}\" data-target=\"{}\" data-side=\"{}\" data-shown=\"{shown}\"{colour}><title>{}</title>\
         {reach}{under}<g class=\"sk-ring\">{art}</g></g>",
        escape(pin.place.target),
        pin.side.word(),
        escape(pin.place.title),
    )
}

/// The reach of the pointer, and a ring or, where no photograph carries the point, a square; filled within a second
/// ring when chosen.
fn point(pin: &Pin<'_>, upon: Upon) -> (String, String) {
    let at = pin.there.at;
    let disc = |r: f64| format!("cx=\"{}\" cy=\"{}\" r=\"{}\"", len(at.x), len(-at.y), len(r));
    let mut reach = format!("<circle class=\"sk-reach\" {} fill=\"currentColor\" fill-opacity=\"0\"/>", disc(0.5));
    if let Upon::Ground(ground) = upon {
        let colour = ground.behind().unwrap_or("Canvas");
        let _ = write!(reach, "<circle class=\"sk-ground\" {} fill=\"{colour}\" fill-opacity=\"0.72\"/>", disc(RING));
    }
    let shape = |r: f64| {
        if pin.place.shown == Shown::Photo {
            crate::marks::circle(at, r)
        } else {
            let corner = |x: f64, y: f64| xy(at + Spot::new(x, y) * (r * 0.92));
            format!("M{}L{}L{}L{}Z", corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0))
        }
    };
    let art = if pin.chosen {
        format!("<path d=\"{}\" fill=\"currentColor\"/>{}", shape(RING * 1.1), lined(&shape(RING * 2.2), LINE, ""))
    } else {
        lined(&shape(RING), LINE, "")
    };
    (reach, art)
}

/// A zone's outline, or the strips of a line with their direction.
fn extended(pin: &Pin<'_>) -> (String, String) {
    if !pin.seen.line {
        let d = smooth(&round(&pin.there.outline), true);
        let reach = format!(
            "<path class=\"sk-reach\" d=\"{d}\" fill=\"currentColor\" fill-opacity=\"{}\"/>",
            if pin.chosen { "0.14" } else { "0" }
        );
        let faint = if pin.chosen { "" } else { " stroke-opacity=\"0.55\"" };
        return (reach, lined(&d, if pin.chosen { 0.1 } else { 0.04 }, faint));
    }
    let width = if pin.chosen { 0.13 } else { 0.055 };
    let d: String = pin.there.ways.iter().map(|way| smooth(way, false)).collect();
    let heads: String = pin.there.ways.iter().map(|way| head(way)).collect();
    let reach = format!(
        "<path class=\"sk-reach\" d=\"{d}\" fill=\"none\" stroke=\"currentColor\" stroke-opacity=\"0\" stroke-width=\"{}\"/>",
        num(0.6 * UNITS)
    );
    (reach, lined(&(d + &heads), width, ""))
}

/// A small open head at the end of a strip.
fn head(way: &[Spot]) -> String {
    let run = pen::through(way, 0.2);
    let [.., before, end] = run.as_slice() else { return String::new() };
    let dir = (*end - *before).unit();
    let wing = |s: f64| *end + dir * -0.26 + dir.normal() * (0.18 * s);
    format!("M{}L{}L{}", xy(wing(1.0)), xy(*end), xy(wing(-1.0)))
}

/// The halos around the points of a routine, beneath its marks.
pub(crate) fn halos(placed: &[Placed], person: &Person<'_>, options: &Options<'_>, upon: Upon) -> String {
    let mut out = String::new();
    let mut done: Vec<(&str, Side)> = Vec::new();
    for p in placed.iter().filter(|p| p.seen.view.front()) {
        let point = p.there.ways.is_empty() && p.there.outline.is_empty();
        let Some(r) = person.halo(&p.target, p.side).filter(|_| point) else { continue };
        if !done.contains(&(p.target.as_str(), p.side)) {
            done.push((&p.target, p.side));
            out.push_str(&uncertainty(&p.there, r, options, upon));
        }
    }
    if out.is_empty() {
        return out;
    }
    format!("<g {}>{}{out}</g>", part(upon, Part::Marks), halo_paint(options, upon, true))
}
