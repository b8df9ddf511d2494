//! What the desk draws of a face: points, zones and lines as chosen, a routine, handles; and its corrections by hand.

use face::{HANDLES, Hands, OwnMap, Pixel, Spot};
use plan::atlas::{Atlas, Kind, Shown};
use plan::draft::Draft;
use plan::routine::Step;
use sketch::{Ground, Handle, MapPlace, MapView, Notation, Options, Overlay, Person, Picture, Scale};
use vision::{Note, Profile};
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
    let warp = own_map.onto_sheet();
    let carry = |s: Spot| warp.carry(s);
    let own = |code: &str, side: Side| {
        let point = own_map.points.iter().find(|p| p.code == code && p.side == side)?;
        Some(Spot::new(point.place[0] / 10.0, point.place[1] / 10.0))
    };
    let halo = |code: &str, side: Side| halo(own_map, code, side);
    let person = Person::new(&carry).with_places(&own).with_halo_cm(&halo);
    noted(atlas, map, upon, ground, id, |notation, options| draw(&person, notation, options))
}

/// The radius of the 95 % uncertainty of a point, in centimetres of this face.
fn halo(map: &OwnMap, code: &str, side: Side) -> Option<f64> {
    map.points.iter().find(|p| p.code == code && p.side == side).map(|p| p.uncertainty_mm / 10.0)
}

/// The photograph with the drawing faint over it, and what it carries. `href` is the picture's address.
pub fn photograph(atlas: &Atlas, seen: &Seen, upon: Upon<'_>, href: &str, handles: &[Handle<'_>], id: &str) -> Overlay {
    let map = &seen.map;
    let k = 10.0 / map.scale.mm_per_px;
    let warp = map.onto_picture();
    let carry = |s: Spot| warp.carry(s) * (1.0 / k);
    let own = |code: &str, side: Side| {
        let point = map.points.iter().find(|p| p.code == code && p.side == side)?;
        Some(Spot::new(point.at.x / k, -point.at.y / k))
    };
    let halo = |code: &str, side: Side| halo(map, code, side);
    let person = Person::new(&carry).with_places(&own).with_halo_cm(&halo);
    // What no photograph can show stays off it, chosen or not: it is on the drawing.
    let upon = match upon {
        Upon::Map(kinds, chosen) => Upon::Map(kinds, chosen.filter(|(code, _)| !by_touch(atlas, code))),
        routine => routine,
    };
    let picture = Picture {
        href,
        width_px: f64::from(seen.photo.width),
        height_px: f64::from(seen.photo.height),
        px_per_cm: k,
        crop: crop(seen),
        drawing: true,
        handles,
    };
    noted(atlas, Some(map), upon, Ground::Page, id, |notation, options| match notation {
        Notation::Map(view) => {
            let view = MapView { sketched: false, ..*view };
            sketch::overlay(drawing::places(), &person, &picture, Notation::Map(&view), options)
        }
        other => sketch::overlay(drawing::places(), &person, &picture, other, options),
    })
}

/// Whether a place is a point that no photograph can show.
pub fn by_touch(atlas: &Atlas, code: &str) -> bool {
    atlas.targets.iter().any(|t| t.id == code && t.kind == Kind::Point && t.shown == Shown::Sketch)
}

/// The part of the picture around the face as it was found, and some air; corrections do not move it under the hand.
fn crop(seen: &Seen) -> Option<[f64; 4]> {
    let all = seen.found.landmarks.all();
    let bound = |axis: usize, pick: fn(f64, f64) -> f64, from: f64| all.iter().map(|p| p[axis]).fold(from, pick);
    let (left, right) = (bound(0, f64::min, f64::MAX), bound(0, f64::max, f64::MIN));
    let (top, bottom) = (bound(1, f64::min, f64::MAX), bound(1, f64::max, f64::MIN));
    // The landmarks end below the hairline: two fifths of the face's height hold it.
    let (air, above) = (0.22 * (right - left), 0.42 * (bottom - top));
    Some([left - air, top - above, right - left + 2.0 * air, bottom - top + above + air])
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
    warnings.extend(seen.photo.notes.iter().filter_map(super::note));
    if seen.photo.profile == Profile::Unreadable && !seen.photo.notes.contains(&Note::IccUnreadable) {
        warnings.extend(super::note(&Note::IccUnreadable));
    }
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
