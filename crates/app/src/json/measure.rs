//! What `measure --json` prints, and the truth of skin that `phantom --json` prints with the same keys.

use std::collections::BTreeMap;

use face::{Area, ScaleSource};
use measure::{Shadow, SideMeasured, Value};
use serde::Serialize;
use vocab::Side;

use crate::measuring::visit::{Combined, More};
use crate::measuring::{Taken, ToneFrom, overlay, words};

fn round(value: f64, steps: f64) -> f64 {
    let rounded = (value * steps).round() / steps;
    // No minus before a nought.
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A value and the half width of its 95 % interval.
#[derive(Clone, Copy, Serialize)]
pub struct ValueOut {
    value: f64,
    u95: f64,
}

/// Thousandths: colours and millimetres.
fn coarse(v: Value) -> ValueOut {
    ValueOut { value: round(v.value, 1000.0), u95: round(v.u95, 1000.0) }
}

/// Millionths: optical densities and shares.
fn fine(v: Value) -> ValueOut {
    ValueOut { value: round(v.value, 1e6), u95: round(v.u95, 1e6) }
}

/// The five numbers of a shadow, or of their intervals.
#[derive(Clone, Copy, Serialize)]
#[allow(non_snake_case, reason = "the keys of the answer")]
pub struct Five {
    dL: f64,
    da: f64,
    db: f64,
    dE00: f64,
    dITA: Option<f64>,
}

impl Five {
    fn of(s: &Shadow, pick: fn(Value) -> f64) -> Five {
        let r = |v: Value| round(pick(v), 1000.0);
        Five { dL: r(s.l), da: r(s.a), db: r(s.b), dE00: r(s.de), dITA: s.ita.map(r) }
    }

    /// Of five numbers that are true.
    pub fn truth([l, a, b, de, ita]: [f64; 5]) -> Five {
        let r = |v: f64| round(v, 1000.0);
        Five { dL: r(l), da: r(a), db: r(b), dE00: r(de), dITA: ita.is_finite().then(|| r(ita)) }
    }
}

/// A shadow with its intervals beside it.
#[derive(Serialize)]
struct ShadowOut {
    #[serde(flatten)]
    values: Five,
    u95: Five,
}

impl ShadowOut {
    fn of(s: &Shadow) -> ShadowOut {
        ShadowOut { values: Five::of(s, |v| v.value), u95: Five::of(s, |v| v.u95) }
    }
}

#[derive(Serialize)]
struct WhiteOut {
    redness: ValueOut,
    yellowness: ValueOut,
}

impl WhiteOut {
    fn of([redness, yellowness]: [Value; 2]) -> WhiteOut {
        WhiteOut { redness: coarse(redness), yellowness: coarse(yellowness) }
    }
}

type Heights = BTreeMap<&'static str, ValueOut>;

/// A colour in CIELAB, D65, 2 degrees.
#[derive(Clone, Copy, Serialize)]
#[allow(non_snake_case, reason = "the keys of the answer")]
pub struct LabOut {
    L: f64,
    a: f64,
    b: f64,
}

impl LabOut {
    /// Of three numbers.
    pub fn of([l, a, b]: [f64; 3]) -> LabOut {
        LabOut { L: round(l, 1000.0), a: round(a, 1000.0), b: round(b, 1000.0) }
    }
}

#[derive(Serialize)]
struct LeftOut {
    band: f64,
    cheek: f64,
}

#[derive(Serialize)]
struct OutlinesOut {
    band: Vec<[f64; 2]>,
    cheek: Vec<[f64; 2]>,
}

/// One side of a photograph.
#[derive(Serialize)]
struct SideOut {
    shadow: Five,
    u95: Five,
    as_photographed: ShadowOut,
    thirds: [Option<ShadowOut>; 3],
    cheek: LabOut,
    band: LabOut,
    /// ln(light on the smooth band / light on the smooth cheek), divided out.
    shading: ValueOut,
    brown: Option<ValueOut>,
    blue_red: ValueOut,
    relief: ValueOut,
    residual: f64,
    leading: &'static str,
    sclera: Option<WhiteOut>,
    heights_mm: Heights,
    left_out: LeftOut,
    outlines_px: OutlinesOut,
}

impl SideOut {
    fn of(s: &SideMeasured, back: &dyn Fn(f64) -> f64) -> SideOut {
        let outline = |area: Area| {
            let found = s.outlines.iter().find(|o| o.area == area);
            found.map_or_else(Vec::new, |o| {
                o.corners.iter().map(|p| [round(back(p.x), 100.0), round(p.y, 100.0)]).collect()
            })
        };
        SideOut {
            shadow: Five::of(&s.shadow, |v| v.value),
            u95: Five::of(&s.shadow, |v| v.u95),
            as_photographed: ShadowOut::of(&s.as_photographed),
            thirds: s.thirds.each_ref().map(|t| t.as_ref().map(ShadowOut::of)),
            cheek: LabOut::of([s.cheek.l, s.cheek.a, s.cheek.b]),
            band: LabOut::of([s.band.l, s.band.a, s.band.b]),
            shading: fine(s.shading),
            brown: s.brown.map(fine),
            blue_red: fine(s.blue_red),
            relief: fine(s.relief),
            residual: round(s.residual, 1e6),
            leading: s.leading.name(),
            sclera: s.sclera.as_ref().map(|w| WhiteOut::of([w.redness, w.yellowness])),
            heights_mm: s.heights.named().into_iter().map(|(name, v)| (name, coarse(v))).collect(),
            left_out: LeftOut { band: round(s.left_out[0], 1e4), cheek: round(s.left_out[1], 1e4) },
            outlines_px: OutlinesOut { band: outline(Area::Band), cheek: outline(Area::Cheek) },
        }
    }
}

/// Both sides, the person's own.
#[derive(Serialize)]
pub struct Sides<T> {
    /// The own left.
    pub left: T,
    /// The own right.
    pub right: T,
}

#[derive(Serialize)]
struct GateOut {
    name: &'static str,
    /// None where it could not be looked at; the gate is then failed.
    value: Option<f64>,
    limit: f64,
    passed: bool,
    advice: &'static str,
}

#[derive(Serialize)]
struct ToneOut {
    class: &'static str,
    source: &'static str,
}

#[derive(Serialize)]
struct Pose {
    yaw: f64,
    pitch: f64,
    roll: f64,
}

#[derive(Serialize)]
struct ScaleOut {
    mm_per_px: f64,
    source: &'static str,
    u95: f64,
}

/// One photograph.
#[derive(Serialize)]
pub struct PhotoOut<'a> {
    photo: &'a str,
    picture: [u32; 2],
    mirrored: bool,
    faces: usize,
    mode: &'static str,
    gates: Vec<GateOut>,
    usable: bool,
    sides: Option<Sides<SideOut>>,
    sclera_difference: Option<WhiteOut>,
    tone: ToneOut,
    pose_deg: Pose,
    scale: ScaleOut,
    /// The part around face and card: left, top, width, height.
    face_px: [f64; 4],
    card_px: Vec<[[f64; 2]; 4]>,
    profile: &'a str,
    profile_assumed: bool,
    warnings: &'a [String],
    error: Option<&'a str>,
}

impl<'a> PhotoOut<'a> {
    /// The answer for a photograph; places are given in the picture as it was sent.
    pub fn new(photo: &'a str, taken: &'a Taken) -> PhotoOut<'a> {
        let (m, width) = (&taken.measured, f64::from(taken.picture[0]));
        let back = |x: f64| if taken.mirrored { width - x } else { x };
        let gates = m.gates.iter().map(|g| GateOut {
            name: g.name.name(),
            value: g.value.is_finite().then(|| round(g.value, 1e4)),
            limit: g.limit,
            passed: g.passed,
            advice: words::advice(g.name),
        });
        PhotoOut {
            photo,
            picture: taken.picture,
            mirrored: taken.mirrored,
            faces: taken.faces,
            mode: words::mode_word(m.mode),
            gates: gates.collect(),
            usable: m.usable && m.sides.is_some(),
            sides: m.sides.as_ref().map(|[r, l]| Sides { left: SideOut::of(l, &back), right: SideOut::of(r, &back) }),
            sclera_difference: m.sclera_difference.as_ref().map(|w| WhiteOut::of([w.redness, w.yellowness])),
            tone: ToneOut {
                class: m.tone.name(),
                source: match taken.tone_from {
                    ToneFrom::Told => "told",
                    ToneFrom::Card => "card",
                    ToneFrom::Guessed => "guessed",
                },
            },
            pose_deg: Pose {
                yaw: round(m.pose.yaw, 100.0),
                pitch: round(m.pose.pitch, 100.0),
                roll: round(m.pose.roll, 100.0),
            },
            scale: ScaleOut {
                mm_per_px: round(m.scale.mm_per_px, 1e6),
                source: match m.scale.source {
                    ScaleSource::Iris => "iris",
                    ScaleSource::IrisPoints => "iris_points",
                    ScaleSource::Interpupillary => "interpupillary",
                    ScaleSource::Hand => "hand",
                },
                u95: round(m.scale.u95, 1e6),
            },
            face_px: {
                let [x, y, w, h] = overlay::around(taken);
                [if taken.mirrored { width - x - w } else { x }, y, w, h].map(|v| round(v, 100.0))
            },
            card_px: taken.patches.iter().map(|q| q.map(|p| [round(back(p.x), 100.0), round(p.y, 100.0)])).collect(),
            profile: &taken.profile,
            profile_assumed: taken.profile_assumed,
            warnings: &taken.warnings,
            error: None,
        }
    }
}

/// A photograph that could not be measured at all: the same keys, so that nobody has to ask which there are.
#[derive(Serialize)]
pub struct RefusedOut<'a> {
    photo: &'a str,
    mode: Option<&'static str>,
    gates: [(); 0],
    usable: bool,
    sides: Option<()>,
    profile: Option<&'static str>,
    warnings: [&'a str; 1],
    error: &'a str,
}

impl<'a> RefusedOut<'a> {
    /// With the reason, which says what to do.
    pub fn new(photo: &'a str, why: &'a str) -> RefusedOut<'a> {
        RefusedOut {
            photo,
            mode: None,
            gates: [],
            usable: false,
            sides: None,
            profile: None,
            warnings: [why],
            error: why,
        }
    }
}

/// One side of a visit.
#[derive(Serialize)]
struct VisitSideOut {
    shadow: Five,
    u95: Five,
    as_photographed: ShadowOut,
    brown: Option<ValueOut>,
    blue_red: Option<ValueOut>,
    relief: Option<ValueOut>,
    leading: &'static str,
    sclera: Option<WhiteOut>,
    heights_mm: Heights,
    spread: Option<f64>,
}

/// A visit.
#[derive(Serialize)]
pub struct VisitOut<'a> {
    photographs: usize,
    mode: &'static str,
    sides: Sides<VisitSideOut>,
    /// Own left less own right of each value.
    difference: BTreeMap<&'static str, Option<ValueOut>>,
    spread: Sides<Option<f64>>,
    warnings: &'a [String],
}

impl<'a> VisitOut<'a> {
    /// The answer for a visit.
    pub fn new(combined: &'a Combined) -> VisitOut<'a> {
        let visit = &combined.visit;
        let spread = |k: usize| visit.sides[k].spread.map(|s| round(s, 1000.0));
        let side = |k: usize| {
            let (s, more): (_, &More) = (&visit.sides[k], &combined.more[k]);
            VisitSideOut {
                shadow: Five::of(&s.shadow, |v| v.value),
                u95: Five::of(&s.shadow, |v| v.u95),
                as_photographed: ShadowOut::of(&more.as_photographed),
                brown: s.parts[0].map(fine),
                blue_red: s.parts[1].map(fine),
                relief: s.parts[2].map(fine),
                leading: s.leading.name(),
                sclera: more.sclera.map(WhiteOut::of),
                heights_mm: more.heights.iter().map(|(name, v)| (*name, coarse(*v))).collect(),
                spread: spread(k),
            }
        };
        let densities = ["brown", "blue_red", "relief"];
        let difference = combined
            .difference()
            .into_iter()
            .map(|(name, v)| (name, v.map(if densities.contains(&name) { fine } else { coarse })));
        VisitOut {
            photographs: visit.photographs,
            mode: words::mode_word(combined.mode),
            sides: Sides { left: side(1), right: side(0) },
            difference: difference.collect(),
            spread: Sides { left: spread(1), right: spread(0) },
            warnings: &combined.warnings,
        }
    }
}

#[derive(Serialize)]
struct Alone {
    value: f64,
}

#[derive(Serialize)]
struct WhiteTruth {
    redness: Alone,
    yellowness: Alone,
}

/// What is true of one side of an invented face. Truth has no interval.
#[derive(Serialize)]
pub struct SideTruth {
    shadow: Five,
    cheek: LabOut,
    band: LabOut,
    shading: Alone,
    brown: Alone,
    blue_red: Alone,
    relief: Alone,
    leading: &'static str,
    sclera: WhiteTruth,
    heights_mm: BTreeMap<&'static str, Alone>,
}

impl SideTruth {
    /// Of what was drawn; `heights` on the true head.
    pub fn new(s: &phantom::SideTruth, heights: &measure::Heights) -> SideTruth {
        let alone = |v: f64, steps: f64| Alone { value: round(v, steps) };
        let parts = [s.brown, s.blue_red, s.relief];
        SideTruth {
            shadow: Five::truth(s.shadow),
            cheek: LabOut::of(s.cheek),
            band: LabOut::of(s.band),
            shading: alone(s.light, 1e6),
            brown: alone(s.brown, 1e6),
            blue_red: alone(s.blue_red, 1e6),
            relief: alone(s.relief, 1e6),
            leading: leads(parts),
            sclera: WhiteTruth { redness: alone(s.sclera[1], 1000.0), yellowness: alone(s.sclera[2], 1000.0) },
            heights_mm: heights.named().into_iter().map(|(name, v)| (name, alone(v.value, 1000.0))).collect(),
        }
    }
}

/// What truly leads: the part at least twice as large as each other; none where nothing is darker by a hundredth of density.
fn leads(parts: [f64; 3]) -> &'static str {
    let names = ["brown", "blue_red", "relief"];
    let most = (0..3).fold(0, |m, k| if parts[k] > parts[m] { k } else { m });
    if parts[most] < 0.01 {
        return "cannot_tell";
    }
    if (0..3).all(|k| k == most || parts[k].abs() < 0.5 * parts[most]) { names[most] } else { "mixed" }
}

/// Own right and left as an answer has them.
pub fn own<T>(mut of: impl FnMut(Side) -> T) -> Sides<T> {
    Sides { left: of(Side::Left), right: of(Side::Right) }
}
