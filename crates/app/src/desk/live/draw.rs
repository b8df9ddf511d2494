//! What of a step is drawn on a frame: places in the frame's pixels, and the marks as everywhere.

use face::{OwnMap, Spot, Warp};
use plan::atlas::{Atlas, Kind, Shown};
use serde::Serialize;
use sketch::{Ground, MarkedStep, Options, Person};
use vocab::{Class, Side};

use super::ask::Asked;
use crate::drawing;
use crate::own::draw::on_picture_by;

/// Zones that the picture of a face does not carry: the ear, the hair, and what lies below the edge of the jaw. Points and lines say it
/// themselves in the atlas.
const NOT_ON_A_FACE: [&str; 6] = ["ear", "behind_ear", "scalp_front", "scalp_side", "below_jaw", "below_chin"];
/// Skin that faces the camera less than this is edge on or hidden.
const HIDDEN: f64 = 0.12;

/// One side of a target in the frame.
#[derive(Serialize)]
pub struct Place {
    side: &'static str,
    /// Where its mark stands, px.
    at: [f64; 2],
    /// The radius that holds a point in 95 of 100 faces, px and mm; none of lines and zones.
    halo_px: Option<f64>,
    uncertainty_mm: Option<f64>,
    /// The ways of the hand with their direction, px.
    ways: Vec<Vec<[f64; 2]>>,
    /// The edge of a zone, px.
    outline: Vec<[f64; 2]>,
    /// Whether it is turned away from the camera.
    hidden: bool,
}

/// A step in the frame.
#[derive(Serialize)]
pub struct Drawn {
    target: String,
    kind: &'static str,
    places: Vec<Place>,
    /// The marks as SVG, whose user unit is a pixel of the frame.
    art: String,
}

impl Drawn {
    /// Whether anything of it lies in the frame.
    pub fn drawn(&self) -> bool {
        !self.art.is_empty()
    }

    /// Whether all of it is turned away from the camera.
    pub fn hidden(&self) -> bool {
        !self.places.is_empty() && self.places.iter().all(|p| p.hidden)
    }
}

/// Whether a picture of a face can carry this target at all.
pub fn carried(atlas: &Atlas, asked: &Asked<'_>) -> bool {
    let target = asked.target;
    let there = drawing::places().see(&target.id, asked.side);
    if there.is_none_or(|seen| seen.view != face::View::Face) {
        return false;
    }
    match target.kind {
        Kind::Point | Kind::Line => target.shown == Shown::Photo,
        Kind::Zone => !NOT_ON_A_FACE.contains(&atlas.zone(target.zone).id.as_str()),
    }
}

/// The sides to be drawn.
pub fn sides(asked: &Asked<'_>) -> &'static [Side] {
    match asked.side {
        Side::Both => &[Side::Left, Side::Right],
        Side::Left => &[Side::Left],
        Side::Right => &[Side::Right],
        Side::Midline => &[Side::Midline],
    }
}

/// The step on this face. `id` is the prefix of ids in the art.
pub fn on(asked: &Asked<'_>, map: &OwnMap, id: &str) -> Drawn {
    let target = asked.target;
    let point = target.kind == Kind::Point;
    let step = MarkedStep {
        number: 1,
        target: &target.id,
        side: asked.side,
        mark: asked.mark,
        pressure: asked.pressure,
        seconds: 2,
        full_s: 3,
        movement: asked.movement,
        class: Class::Go,
        title: "",
    };
    let options = Options { ground: Ground::Page, id, words: drawing::words("", ""), numerals: false };
    let art = |person: &Person<'_>, k: f64| sketch::live(drawing::places(), person, &step, k, &options);
    let (art, places) = if point {
        let places = sides(asked).iter().filter_map(|side| point_at(map, &target.id, *side)).collect();
        (on_frame(map, art), places)
    } else {
        let warp = map.onto_picture();
        let places = sides(asked).iter().filter_map(|side| spread(map, &warp, &target.id, *side)).collect();
        (on_picture_by(map, &warp, art), places)
    };
    let kind = match target.kind {
        Kind::Point => "point",
        Kind::Line => "line",
        Kind::Zone => "zone",
    };
    Drawn { target: target.id.clone(), kind, places, art }
}

/// A point needs no warp of the whole drawing: its own place is known, and its mark keeps its shape.
fn on_frame<T>(map: &OwnMap, draw: impl FnOnce(&Person<'_>, f64) -> T) -> T {
    let k = 10.0 / map.scale.mm_per_px;
    let own = |code: &str, side: Side| {
        let point = map.points.iter().find(|p| p.code == code && p.side == side)?;
        Some((Spot::new(point.at.x / k, -point.at.y / k), point.uncertainty_mm / 10.0))
    };
    let carry = |s: Spot| {
        let at = map.frame.to_picture([10.0 * s.x, 10.0 * s.y, 40.0]);
        Spot::new(at.x / k, -at.y / k)
    };
    let places = |code: &str, side: Side| own(code, side).map(|p| p.0);
    let halo = |code: &str, side: Side| own(code, side).map(|p| p.1);
    draw(&Person::new(&carry).with_places(&places).with_halo_cm(&halo), k)
}

fn point_at(map: &OwnMap, code: &str, side: Side) -> Option<Place> {
    let point = map.points.iter().find(|p| p.code == code && p.side == side)?;
    Some(Place {
        side: side.word(),
        at: rounded([point.at.x, point.at.y]),
        halo_px: Some(tenth(point.uncertainty_mm / map.scale.mm_per_px)),
        uncertainty_mm: Some(tenth(point.uncertainty_mm)),
        ways: Vec::new(),
        outline: Vec::new(),
        hidden: point.facing < HIDDEN,
    })
}

/// A line or a zone, carried as the drawing is.
fn spread(map: &OwnMap, warp: &Warp, id: &str, side: Side) -> Option<Place> {
    let seen = drawing::places().see(id, side)?;
    let carry = |s: &Spot| {
        let at = warp.carry(*s);
        rounded([at.x, -at.y])
    };
    let pose = map.pose();
    // The far cheek of a turned head: its middle lies beyond where the head turns away.
    let turned = if seen.at.x > 3.0 {
        -pose.yaw
    } else if seen.at.x < -3.0 {
        pose.yaw
    } else {
        0.0
    };
    Some(Place {
        side: side.word(),
        at: carry(&seen.at),
        halo_px: None,
        uncertainty_mm: None,
        ways: seen.ways.iter().map(|way| way.iter().map(carry).collect()).collect(),
        outline: seen.outline.iter().map(carry).collect(),
        hidden: turned < -30.0,
    })
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn rounded(at: [f64; 2]) -> [f64; 2] {
    at.map(|v| (v * 100.0).round() / 100.0)
}
