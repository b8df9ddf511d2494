//! What the desk draws of a face: points, zones and lines as chosen, a routine, handles; and its corrections by hand.

use face::{HANDLES, Hands, OwnMap, Pixel};
use plan::atlas::{Atlas, Kind, Shown};
use plan::draft::Draft;
use plan::routine::Step;
use sketch::{Ground, Handle, MapPlace, MapView, Notation, Options, Overlay, Person, Scale};
use vocab::Side;

use super::{Reading, Refused, Seen, draw, sides};
use crate::catalogue::{fill, text};
use crate::drawing;
use crate::tell;

/// Which sorts of places a map shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kinds {
    /// Points.
    pub points: bool,
    /// Zones.
    pub zones: bool,
    /// Lines.
    pub lines: bool,
}

/// What is drawn upon a face.
#[derive(Clone, Copy)]
pub enum Upon<'a> {
    /// Places, and the chosen one.
    Map(Kinds, Option<(&'a str, Side)>),
    /// A routine.
    Routine(&'a Draft),
}

/// The drawing: on this person's face, or the drawn one where there is none.
pub fn sheet(atlas: &Atlas, map: Option<&OwnMap>, upon: Upon<'_>, id: &str) -> String {
    on_sheet(atlas, map, upon, Ground::Page, id, |person, notation, options| match notation {
        Notation::Routine(steps) => sketch::sheet_for(drawing::places(), person, steps, options),
        Notation::Map(view) => sketch::map(drawing::places(), person, view, options),
        Notation::Bare => sketch::sheet_for(drawing::places(), person, &[], options),
    })
}

/// A page to print in black ink.
pub fn print(atlas: &Atlas, map: Option<&OwnMap>, upon: Upon<'_>, scale: Scale, id: &str) -> Overlay {
    on_sheet(atlas, map, upon, Ground::Print, id, |person, notation, options| {
        sketch::print(drawing::places(), person, notation, scale, text("map.bar"), options)
    })
}

fn on_sheet<T>(
    atlas: &Atlas,
    map: Option<&OwnMap>,
    upon: Upon<'_>,
    ground: Ground,
    id: &str,
    draw: impl FnOnce(&Person<'_>, Notation<'_>, &Options<'_>) -> T,
) -> T {
    let Some(own_map) = map else {
        return noted(atlas, map, upon, ground, id, |notation, options| draw(&Person::drawn(), notation, options));
    };
    draw::on_sheet(own_map, |person| {
        noted(atlas, map, upon, ground, id, |notation, options| draw(person, notation, options))
    })
}

/// The photograph with the drawing faint over it, and what it carries. `href` is the picture's address.
pub fn photograph(atlas: &Atlas, seen: &Seen, upon: Upon<'_>, href: &str, handles: &[Handle<'_>], id: &str) -> Overlay {
    // What no photograph can show stays off it, chosen or not: it is on the drawing.
    let upon = match upon {
        Upon::Map(kinds, chosen) => Upon::Map(kinds, chosen.filter(|(code, _)| !by_touch(atlas, code))),
        routine => routine,
    };
    draw::on_picture(&seen.map, |person, k| {
        let picture = draw::picture(seen, href, k, handles);
        noted(atlas, Some(&seen.map), upon, Ground::Page, id, |notation, options| match notation {
            Notation::Map(view) => {
                let view = MapView { sketched: false, ..*view };
                sketch::overlay(drawing::places(), person, &picture, Notation::Map(&view), options)
            }
            other => sketch::overlay(drawing::places(), person, &picture, other, options),
        })
    })
}

/// Whether a place is a point that no photograph can show.
pub fn by_touch(atlas: &Atlas, code: &str) -> bool {
    atlas.targets.iter().any(|t| t.id == code && t.kind == Kind::Point && t.shown == Shown::Sketch)
}

fn noted<T>(
    atlas: &Atlas,
    map: Option<&OwnMap>,
    upon: Upon<'_>,
    ground: Ground,
    id: &str,
    draw: impl FnOnce(Notation<'_>, &Options<'_>) -> T,
) -> T {
    match upon {
        Upon::Map(kinds, chosen) => {
            let words = drawing::words(text("map.title"), text("map.desc"));
            let options = Options { ground, id, words, numerals: false };
            let titles = titles(atlas, map);
            let places: Vec<MapPlace<'_>> = titles
                .iter()
                .map(|(target, side, title, shown)| MapPlace { target, side: *side, title, label: "", shown: *shown })
                .collect();
            let Kinds { points, zones, lines } = kinds;
            let view = MapView { places: &places, points, zones, lines, sketched: true, chosen };
            draw(Notation::Map(&view), &options)
        }
        Upon::Routine(draft) => {
            let words = drawing::words(text("drawing.title"), text("drawing.desc"));
            let options = Options { ground, id, words, numerals: true };
            let steps: Vec<Step> = draft.steps.iter().map(|s| s.step.clone()).collect();
            let titles = drawing::step_titles(atlas, &steps);
            let class = |i: usize| draft.steps.get(i).map_or(vocab::Class::Go, drawing::class_of);
            let marked = drawing::marked_steps(atlas, &steps, &titles, &class);
            draw(Notation::Routine(&marked), &options)
        }
    }
}

/// Every place of the atlas that is for the hand, on its sides, with its line of words.
fn titles<'a>(atlas: &'a Atlas, map: Option<&OwnMap>) -> Vec<(&'a str, Side, String, sketch::Shown)> {
    let mut list = Vec::new();
    for target in &atlas.targets {
        let shown = match (&target.shown, target.kind) {
            (Shown::Never(_), _) => continue,
            (Shown::Sketch, Kind::Point) => sketch::Shown::Sketch,
            _ => sketch::Shown::Photo,
        };
        for side in sides(target.sides) {
            let title = match (map, target.kind) {
                (Some(map), Kind::Point) => draw::title(atlas, map, &target.id, *side),
                _ => fill("place.with_side", &[("place", &target.name), ("side", &tell::side(*side))]),
            };
            list.push((target.id.as_str(), *side, title, shown));
        }
    }
    list
}

/// Makes the map of a photograph anew with these corrections; where that gives none, everything stays as it was.
pub fn correct(atlas: &Atlas, seen: &mut Seen, hands: &Hands) -> Result<(), Refused> {
    let reading = Reading { hands: hands.clone(), ..Reading::default() };
    let (map, mut warnings) = super::map(atlas, super::places(), &seen.photo, &seen.found, &reading)?;
    warnings.extend(super::notes(&seen.photo));
    seen.map = map;
    seen.warnings = warnings;
    Ok(())
}

/// The places of the hairline that have a handle.
pub const HAIRLINE: usize = 5;

/// Where the handles of the hairline stand, in pixels, from the person's right temple to their left.
pub fn hairline(seen: &Seen, hands: &Hands) -> [Pixel; HAIRLINE] {
    if let Ok(set) = <[Pixel; HAIRLINE]>::try_from(hands.hairline.as_slice()) {
        return set;
    }
    let (head, frame) = (&seen.map.head, &seen.map.frame);
    let (from, to) = (head.corner(Side::Right)[0], head.corner(Side::Left)[0]);
    std::array::from_fn(|i| {
        let x = from + (to - from) * i as f64 / (HAIRLINE - 1) as f64;
        frame.to_picture(head.surface(x, head.hairline.height(x)).0)
    })
}

/// Takes one handle to a place of the picture: `hairline_0` to `hairline_4`, or the key of a landmark. False where there is
/// no such handle.
pub fn drag(seen: &Seen, hands: &mut Hands, handle: &str, to: Pixel) -> bool {
    if let Some(i) = handle.strip_prefix("hairline_").and_then(|n| n.parse::<usize>().ok()) {
        let mut line = hairline(seen, hands);
        let Some(place) = line.get_mut(i) else { return false };
        *place = to;
        hands.hairline = line.to_vec();
        return true;
    }
    let Some((number, _)) = HANDLES.iter().find(|(_, key)| *key == handle) else { return false };
    match hands.landmarks.iter_mut().find(|(n, _)| n == number) {
        Some((_, place)) => *place = to,
        None => hands.landmarks.push((*number, to)),
    }
    true
}
