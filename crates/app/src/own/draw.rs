//! A person's own map as pictures: the drawing warped to their face, their photograph with the notation over it, print.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use face::{OwnMap, OwnPoint, Spot, Warp};
use plan::atlas::{Atlas, Kind, Shown};
use plan::check::Breach;
use plan::routine::Step;
use sketch::{Ground, Handle, MapPlace, MapView, MarkedStep, Notation, Options, Overlay, Person, Picture, Scale};
use vocab::{Class, Side};

use super::{Seen, sides};
use crate::catalogue::{fill, text};
use crate::drawing;
use crate::tell;

/// What is drawn upon a face.
pub enum Upon<'a> {
    /// The map of points; perhaps with one chosen.
    Map(Option<(&'a str, Side)>),
    /// A routine, with what the check says of its steps.
    Routine(&'a [Step], &'a [Breach]),
}

/// The widest side of a photograph within an overlay, in pixels.
const EMBEDDED: u32 = 1600;

/// One line for a target of the map: its name, its side, how sure.
pub fn title(atlas: &Atlas, map: &OwnMap, code: &str, side: Side) -> String {
    let name = atlas.targets.iter().find(|t| t.id == code).map_or(code, |t| t.name.as_str());
    let side_word = tell::side(side);
    match map.points.iter().find(|p| p.code == code && p.side == side) {
        Some(point) => fill(
            "map.point_title",
            &[("name", &name), ("side", &side_word), ("mm", &format!("{:.0}", point.uncertainty_mm.ceil()))],
        ),
        None => fill("map.sketch_title", &[("name", &name), ("side", &side_word)]),
    }
}

/// The drawing as a file or in a page, on this person's own face.
pub fn sheet(atlas: &Atlas, map: &OwnMap, upon: &Upon<'_>, ground: Ground, id: &str) -> String {
    with_sheet(atlas, map, upon, ground, id, |person, notation, options| match notation {
        Notation::Routine(steps) => sketch::sheet_for(drawing::places(), person, steps, options),
        Notation::Map(view) => sketch::map(drawing::places(), person, view, options),
        Notation::Bare => sketch::sheet_for(drawing::places(), person, &[], options),
    })
}

/// A page to print.
pub fn print(atlas: &Atlas, map: &OwnMap, upon: &Upon<'_>, scale: Scale, id: &str) -> Overlay {
    with_sheet(atlas, map, upon, Ground::Print, id, |person, notation, options| {
        sketch::print(drawing::places(), person, notation, scale, text("map.bar"), options)
    })
}

fn with_sheet<T>(
    atlas: &Atlas,
    map: &OwnMap,
    upon: &Upon<'_>,
    ground: Ground,
    id: &str,
    draw: impl FnOnce(&Person<'_>, Notation<'_>, &Options<'_>) -> T,
) -> T {
    on_sheet(map, |person| {
        with_notation(atlas, map, upon, ground, id, true, |notation, options| draw(person, notation, options))
    })
}

/// This person seen straight from in front: their sheet in centimetres, their own points, and how sure each is.
pub fn on_sheet<T>(map: &OwnMap, draw: impl FnOnce(&Person<'_>) -> T) -> T {
    let warp = map.onto_sheet();
    let carry = |s: Spot| warp.carry(s);
    let own = |code: &str, side: Side| point(map, code, side).map(|p| Spot::new(p.place[0] / 10.0, p.place[1] / 10.0));
    let halo = |code: &str, side: Side| point(map, code, side).map(|p| p.uncertainty_mm / 10.0);
    draw(&Person::new(&carry).with_places(&own).with_halo_cm(&halo))
}

/// This person in their photograph, whose pixels to a centimetre are the second argument.
pub fn on_picture<T>(map: &OwnMap, draw: impl FnOnce(&Person<'_>, f64) -> T) -> T {
    on_picture_by(map, &map.onto_picture(), draw)
}

/// The same, where the map's warp onto the picture is known already.
pub fn on_picture_by<T>(map: &OwnMap, warp: &Warp, draw: impl FnOnce(&Person<'_>, f64) -> T) -> T {
    let k = 10.0 / map.scale.mm_per_px;
    let carry = |s: Spot| warp.carry(s) * (1.0 / k);
    let own = |code: &str, side: Side| point(map, code, side).map(|p| Spot::new(p.at.x / k, -p.at.y / k));
    let halo = |code: &str, side: Side| point(map, code, side).map(|p| p.uncertainty_mm / 10.0);
    draw(&Person::new(&carry).with_places(&own).with_halo_cm(&halo), k)
}

fn point<'m>(map: &'m OwnMap, code: &str, side: Side) -> Option<&'m OwnPoint> {
    map.points.iter().find(|p| p.code == code && p.side == side)
}

fn with_notation<T>(
    atlas: &Atlas,
    map: &OwnMap,
    upon: &Upon<'_>,
    ground: Ground,
    id: &str,
    sketched: bool,
    draw: impl FnOnce(Notation<'_>, &Options<'_>) -> T,
) -> T {
    let words = drawing::words(text("map.title"), text("map.desc"));
    let options = Options { ground, id, words, numerals: ground != Ground::Page };
    match upon {
        Upon::Map(chosen) => {
            let listed = listed(atlas, map);
            let places: Vec<MapPlace<'_>> = listed
                .iter()
                .map(|(code, side, title, shown)| MapPlace {
                    target: code,
                    side: *side,
                    title,
                    label: "",
                    shown: *shown,
                })
                .collect();
            let chosen = *chosen;
            let view = MapView { places: &places, points: true, zones: false, lines: false, sketched, chosen };
            draw(Notation::Map(&view), &options)
        }
        Upon::Routine(steps, breaches) => {
            let titles = drawing::step_titles(atlas, steps);
            let marked: Vec<MarkedStep<'_>> = drawing::marked_steps(atlas, steps, &titles, &|i| {
                let out = breaches.iter().any(|b| b.step == Some(i) && matches!(b.rule, "clearance" | "never"));
                if out { Class::LeaveOut } else { Class::Go }
            });
            draw(Notation::Routine(&marked), &options)
        }
    }
}

/// Every point of the atlas that is for the hand, on its sides.
fn listed(atlas: &Atlas, map: &OwnMap) -> Vec<(String, Side, String, sketch::Shown)> {
    let mut list = Vec::new();
    for target in atlas.targets.iter().filter(|t| t.kind == Kind::Point) {
        let shown = match target.shown {
            Shown::Photo => sketch::Shown::Photo,
            Shown::Sketch => sketch::Shown::Sketch,
            Shown::Never(_) => continue,
        };
        for side in sides(target.sides) {
            list.push((target.id.clone(), *side, title(atlas, map, &target.id, *side), shown));
        }
    }
    list
}

/// The photograph with a map or a routine over it. `href`: the picture's address, or none to carry it within.
pub fn overlay(
    atlas: &Atlas,
    seen: &Seen,
    upon: &Upon<'_>,
    href: Option<&str>,
    handles: &[Handle<'_>],
    ground: Ground,
    id: &str,
) -> Result<Overlay, super::Refused> {
    let within = match href {
        Some(_) => None,
        None => {
            let bytes = seen.photo.jpeg(EMBEDDED, 88).map_err(|_| super::Refused(text("photo.broken").to_owned()))?;
            Some(format!("data:image/jpeg;base64,{}", STANDARD.encode(bytes)))
        }
    };
    let href = href.or(within.as_deref()).unwrap_or_default();
    Ok(on_picture(&seen.map, |person, k| {
        let picture = picture(seen, href, k, handles);
        // What only touch can find is not drawn on a photograph: it would look as if it had been seen there.
        with_notation(atlas, &seen.map, upon, ground, id, false, |notation, options| {
            sketch::overlay(drawing::places(), person, &picture, notation, options)
        })
    }))
}

/// The photograph as the overlay needs it, cut to the face.
pub fn picture<'a>(seen: &Seen, href: &'a str, px_per_cm: f64, handles: &'a [Handle<'a>]) -> Picture<'a> {
    Picture {
        href,
        width_px: f64::from(seen.photo.width),
        height_px: f64::from(seen.photo.height),
        px_per_cm,
        crop: crop(seen),
        drawing: true,
        handles,
    }
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
