//! What `map --json` and `phantom --json` print.

use face::{HairlineSource, OwnMap, Places, Pose, ScaleSource};
use phantom::Truth;
use plan::atlas::{Atlas, Kind, Shown};
use serde::Serialize;
use vocab::Side;

use crate::json::measure::{SideTruth, Sides, own};
use crate::own::{Seen, invented, rounded, sides};

/// A point of the atlas on one side.
#[derive(Serialize)]
pub struct Point<'a> {
    code: &'a str,
    name: &'a str,
    side: &'static str,
    shown: &'static str,
    x_px: Option<f64>,
    y_px: Option<f64>,
    uncertainty_mm: Option<f64>,
    caution: Option<&'a str>,
    /// Whether the place lies within the picture, on skin that faces the camera.
    seen: bool,
    /// Why it is not for the hand.
    never_because: Option<&'a str>,
}

#[derive(Serialize)]
pub struct ScaleOut {
    mm_per_px: f64,
    source: &'static str,
    u95: f64,
}

#[derive(Serialize)]
pub struct PoseOut {
    yaw: f64,
    pitch: f64,
    roll: f64,
}

impl From<Pose> for PoseOut {
    fn from(pose: Pose) -> PoseOut {
        PoseOut { yaw: round(pose.yaw, 100.0), pitch: round(pose.pitch, 100.0), roll: round(pose.roll, 100.0) }
    }
}

#[derive(Serialize)]
pub struct HairlineOut {
    /// Whether the program estimated it; false once a person set it.
    estimated: bool,
    source: &'static str,
    u_mm: f64,
    px: Vec<[f64; 2]>,
}

/// The map of a photograph.
#[derive(Serialize)]
pub struct Map<'a> {
    picture: [u32; 2],
    faces: usize,
    presence: f64,
    mirrored: bool,
    pose_deg: PoseOut,
    scale: ScaleOut,
    hairline: HairlineOut,
    points: Vec<Point<'a>>,
    landmarks: Vec<[f64; 3]>,
    warnings: &'a [String],
}

fn round(value: f64, steps: f64) -> f64 {
    (value * steps).round() / steps
}

fn shown(shown: &Shown) -> &'static str {
    match shown {
        Shown::Photo => "photo",
        Shown::Sketch => "sketch",
        Shown::Never(_) => "never",
    }
}

fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
        Side::Midline => "midline",
        Side::Both => "both",
    }
}

/// Where a point lies, how sure that is, and whether it is seen.
type Found = ([f64; 2], Option<f64>, bool);

/// Every point of the atlas on each of its sides; `at` finds it.
fn points<'a>(atlas: &'a Atlas, at: &dyn Fn(&str, Side) -> Option<Found>) -> Vec<Point<'a>> {
    let of_kind = atlas.targets.iter().filter(|t| t.kind == Kind::Point);
    let one = |(target, on): (&'a plan::atlas::Target, Side)| {
        let found = at(&target.id, on);
        Point {
            code: &target.id,
            name: &target.name,
            side: side(on),
            shown: shown(&target.shown),
            x_px: found.map(|f| round(f.0[0], 100.0)),
            y_px: found.map(|f| round(f.0[1], 100.0)),
            uncertainty_mm: found.and_then(|f| f.1).map(|u| round(u, 100.0)),
            caution: target.caution.as_deref(),
            seen: found.is_some_and(|f| f.2),
            never_because: if let Shown::Never(why) = &target.shown { Some(why) } else { None },
        }
    };
    of_kind.flat_map(|t| sides(t.sides).iter().map(move |s| (t, *s))).map(one).collect()
}

impl<'a> Map<'a> {
    /// The answer for a photograph; `mirrored`: places are given in the picture as it was sent.
    pub fn new(atlas: &'a Atlas, seen: &'a Seen, mirrored: bool) -> Map<'a> {
        let map: &OwnMap = &seen.map;
        let (width, height) = (f64::from(seen.photo.width), f64::from(seen.photo.height));
        let back = |x: f64| if mirrored { width - x } else { x };
        let at = |code: &str, on: Side| {
            let p = map.points.iter().find(|p| p.code == code && p.side == on)?;
            let inside = p.at.x >= 0.0 && p.at.y >= 0.0 && p.at.x <= width && p.at.y <= height;
            Some(([back(p.at.x), p.at.y], Some(p.uncertainty_mm), inside && p.facing > SEEN))
        };
        let hairline = &map.head.hairline;
        let line = hairline.curve().iter().map(|[x, y]| {
            let p = map.frame.to_picture(map.head.surface(*x, *y).0);
            [round(back(p.x), 100.0), round(p.y, 100.0)]
        });
        let mut landmarks = rounded(&map.landmarks);
        landmarks.iter_mut().for_each(|p| p[0] = round(back(p[0]), 100.0));
        Map {
            picture: [seen.photo.width, seen.photo.height],
            faces: seen.found.faces,
            presence: round(seen.found.presence, 1000.0),
            mirrored,
            pose_deg: map.pose().into(),
            scale: ScaleOut {
                mm_per_px: round(map.scale.mm_per_px, 1e6),
                source: match map.scale.source {
                    ScaleSource::Iris => "iris",
                    ScaleSource::IrisPoints => "iris_points",
                    ScaleSource::Interpupillary => "interpupillary",
                    ScaleSource::Hand => "hand",
                },
                u95: round(map.scale.u95, 1e6),
            },
            hairline: HairlineOut {
                estimated: hairline.estimated(),
                source: match hairline.source {
                    HairlineSource::Seen => "seen",
                    HairlineSource::Proportion => "proportion",
                    HairlineSource::Hand => "hand",
                },
                u_mm: hairline.u_mm,
                px: line.collect(),
            },
            points: points(atlas, &at),
            landmarks,
            warnings: &seen.warnings,
        }
    }
}

/// Skin that faces the camera less than this is edge on or hidden.
const SEEN: f64 = 0.1;

/// The truth beside an invented picture.
#[derive(Serialize)]
pub struct Invented<'a> {
    invented: bool,
    seed: u64,
    picture: [usize; 2],
    tone: &'static str,
    pose_deg: PoseOut,
    scale: ScaleTruth,
    iris_mm: f64,
    hairline: HairlineTruth,
    points: Vec<Point<'a>>,
    landmarks: Vec<[f64; 3]>,
    light: Option<&'static str>,
    /// What is true of the skin, as `measure` would say it; none of a picture without a spectral light.
    sides: Option<Sides<SideTruth>>,
    tone_ita: Option<f64>,
    card: Option<CardOut>,
}

/// The card in the form of a card's file, so that it can be saved as one.
#[derive(Serialize)]
struct CardOut {
    patches: Vec<PatchOut>,
}

#[derive(Serialize)]
struct PatchOut {
    name: String,
    corners_px: [[f64; 2]; 4],
    lab_d65: [f64; 3],
    grey: bool,
}

#[derive(Serialize)]
struct ScaleTruth {
    mm_per_px: f64,
}

#[derive(Serialize)]
struct HairlineTruth {
    seen: bool,
    px: Vec<[f64; 2]>,
}

impl<'a> Invented<'a> {
    /// The truth of one picture.
    pub fn new(
        atlas: &'a Atlas,
        places: &Places,
        seed: u64,
        person: &phantom::Person,
        shot: &phantom::Shot,
        truth: &Truth,
    ) -> Invented<'a> {
        let true_points = invented::points(atlas, places, person, truth);
        let at = |code: &str, on: Side| {
            let (.., px) = true_points.iter().find(|(c, s, _)| *c == code && *s == on)?;
            let inside = px[0] >= 0.0 && px[1] >= 0.0 && px[0] <= shot.width as f64 && px[1] <= shot.height as f64;
            Some((*px, None, inside))
        };
        Invented {
            invented: true,
            seed,
            picture: [shot.width, shot.height],
            tone: person.tone.name(),
            pose_deg: invented::pose(truth).into(),
            scale: ScaleTruth { mm_per_px: round(truth.mm_per_px, 1e6) },
            iris_mm: round(truth.iris_mm, 1000.0),
            hairline: HairlineTruth {
                seen: truth.hairline_seen,
                px: truth.hairline_px.iter().map(|p| p.map(|v| round(v, 100.0))).collect(),
            },
            points: points(atlas, &at),
            landmarks: truth.landmarks.iter().map(|p| p.map(|v| round(v, 100.0))).collect(),
            light: shot.setting.map(light),
            sides: truth.skin.as_ref().map(|skin| {
                let (head, scale) = (invented::head(truth), face::Scale::by_hand(truth.mm_per_px, 0.0));
                own(|side| {
                    let on = &skin.sides[usize::from(side == Side::Left)];
                    SideTruth::new(on, &measure::Heights::of(&head, side, &scale))
                })
            }),
            tone_ita: truth.skin.as_ref().map(|s| round(s.tone_ita, 1000.0)),
            card: truth.card.as_ref().map(|card| CardOut {
                patches: card
                    .patches
                    .iter()
                    .filter(|p| p.corners_px.iter().all(|c| within(*c, shot)))
                    .map(|p| PatchOut {
                        name: p.name.clone(),
                        corners_px: p.corners_px.map(|c| c.map(|v| round(v, 100.0))),
                        lab_d65: p.lab_d65,
                        grey: p.grey,
                    })
                    .collect(),
            }),
        }
    }
}

/// Whether a corner lies in the picture: a card's file names no patch that does not.
fn within([x, y]: [f64; 2], shot: &phantom::Shot) -> bool {
    x >= 0.0 && y >= 0.0 && x <= shot.width as f64 && y <= shot.height as f64
}

fn light(setting: phantom::Setting) -> &'static str {
    match setting {
        phantom::Setting::D65 => "d65",
        phantom::Setting::A => "a",
        phantom::Setting::Led => "led",
        phantom::Setting::Window => "window",
        phantom::Setting::Gradient => "gradient",
        phantom::Setting::SideWindow => "side",
    }
}
