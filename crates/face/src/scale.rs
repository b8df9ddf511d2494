//! How many millimetres a pixel spans, and how sure that is.

use vocab::Side;

use crate::iris::IRIS_MM;
use crate::{Frame, Head, IRIS_LEFT, IRIS_RIGHT, Iris, Landmarks, Pixel, Pixels, head};

/// What the scale was taken from, the surest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleSource {
    /// The fitted edge of one or both irises.
    Iris,
    /// The network's own places of the iris edge: the fit found no clear one.
    IrisPoints,
    /// The distance between the eyes, where the lids are closed: 62.9 mm, standard deviation 3.7 (ANSUR II, 6 068 adults,
    /// both sexes pooled evenly).
    Interpupillary,
    /// A person said it.
    Hand,
}

/// The scale of a photograph at the plane of the eyes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Millimetres that a pixel spans.
    pub mm_per_px: f64,
    /// What it was taken from.
    pub source: ScaleSource,
    /// The half width of the interval that holds it with 95 %, in millimetres per pixel.
    pub u95: f64,
}

/// Mean and standard deviation of the distance between the pupils, in millimetres: (61.71 + 64.02) / 2, and the spread
/// within the sexes (3.62, 3.42) together with that between them (1.16).
const INTERPUPILLARY_MM: (f64, f64) = (62.87, 3.71);
/// The scatter of the network's own iris width, as a share.
const POINTS_SHARE: f64 = 0.035;

impl Scale {
    /// From a person's word or a rule in the plane of the eyes, good to `share` (one standard deviation).
    pub fn by_hand(mm_per_px: f64, share: f64) -> Scale {
        Scale { mm_per_px, source: ScaleSource::Hand, u95: 1.96 * share * mm_per_px }
    }

    fn of(mm_per_px: f64, source: ScaleSource, share: f64) -> Scale {
        Scale { mm_per_px, source, u95: 1.96 * share * mm_per_px }
    }

    /// Measures the irises of a face; where both lids are closed, takes the distance between the eyes.
    pub fn measure(landmarks: &Landmarks, frame: &Frame, picture: &impl Pixels) -> (Scale, Vec<(Side, Iris)>) {
        let head = Head::of(landmarks, frame, crate::Hairline::level(91.0, 63.6));
        let open: Vec<Side> = [Side::Right, Side::Left].into_iter().filter(|s| head.opening(*s) > 0.12).collect();
        let fitted: Vec<(Side, Iris)> = open.iter().filter_map(|s| Some((*s, fit(landmarks, picture, *s)?))).collect();
        if !fitted.is_empty() {
            let mean = |of: &dyn Fn(&Iris) -> f64| fitted.iter().map(|f| of(&f.1)).sum::<f64>() / fitted.len() as f64;
            let radius = mean(&|i| i.radius);
            // The two eyes of one person are alike; how far their fits differ says what the fits are worth.
            let spread = fitted.iter().map(|f| (f.1.radius - radius).powi(2)).sum::<f64>().sqrt() / radius;
            let own = fitted.iter().map(|f| f.1.u_radius.powi(2)).sum::<f64>().sqrt() / fitted.len() as f64 / radius;
            let share = (IRIS_MM.1 / IRIS_MM.0).hypot(own).hypot(spread / 2.0).hypot(FIT_SHARE);
            return (Scale::of(IRIS_MM.0 / (2.0 * radius), ScaleSource::Iris, share), fitted);
        }
        if !open.is_empty() {
            let radius = open.iter().map(|s| network_iris(landmarks, *s).1).sum::<f64>() / open.len() as f64;
            if radius > 0.5 {
                let share = (IRIS_MM.1 / IRIS_MM.0).hypot(POINTS_SHARE);
                return (Scale::of(IRIS_MM.0 / (2.0 * radius), ScaleSource::IrisPoints, share), fitted);
            }
        }
        // In the frame the eyes lie apart as if seen from in front; the frame's own scale is undone again.
        let eye = |side: Side| {
            let rim = head::rim(side);
            rim.iter().map(|n| head.points()[*n][0]).sum::<f64>() / rim.len() as f64
        };
        let apart = (eye(Side::Left) - eye(Side::Right)).abs().max(1e-9) / frame.mm_per_px();
        let share = INTERPUPILLARY_MM.1 / INTERPUPILLARY_MM.0;
        (Scale::of(INTERPUPILLARY_MM.0 / apart, ScaleSource::Interpupillary, share), fitted)
    }
}

/// What a soft limbus leaves open of the width, as a share: where on the slope an examiner would see the edge.
const FIT_SHARE: f64 = 0.02;

/// The network's middle and radius of an iris.
fn network_iris(landmarks: &Landmarks, side: Side) -> (Pixel, f64) {
    let first = if side == Side::Right { IRIS_RIGHT } else { IRIS_LEFT };
    let centre = landmarks.at(first);
    let radius = (1..5).map(|k| landmarks.at(first + k).to(centre)).sum::<f64>() / 4.0;
    (centre, radius)
}

fn fit(landmarks: &Landmarks, picture: &impl Pixels, side: Side) -> Option<Iris> {
    let (centre, radius) = network_iris(landmarks, side);
    let lids: Vec<Pixel> = head::rim(side).iter().map(|n| landmarks.at(*n)).collect();
    let (a, b) = (landmarks.at(33), landmarks.at(263));
    let length = a.to(b).max(1e-9);
    Iris::fit(picture, centre, radius, [(b.x - a.x) / length, (b.y - a.y) / length], &lids)
}
