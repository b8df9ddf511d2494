//! The areas of a face that a measurement averages over, as outlines in the picture.
//!
//! Each is drawn on the surface of the face and carried to the picture by its landmarks, so that it lies on the same skin in
//! every photograph of one person, and a person who drags a landmark drags the area with it.

use vocab::Side;

use crate::head::barycentric;
use crate::surface::triangles;
use crate::{Frame, Head, Landmarks, Pixel, Place, canonical, mirror};

/// An area of one side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Area {
    /// Below the eye: from 2.0 mm under the lower lid to the midpoints of the rows of landmarks below, between the canthi.
    Band,
    /// The reference: a disc of 8.0 mm radius about the midpoint of landmarks 280 and 330 (own right 50 and 101).
    Cheek,
    /// A disc of 6 mm on the temple.
    Temple,
    /// A disc of 8 mm on the forehead.
    Forehead,
    /// A disc of 7 mm on the jaw.
    Jaw,
}

/// An outline in the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// What it is.
    pub area: Area,
    /// The person's own side.
    pub side: Side,
    /// Its corners, pixels.
    pub corners: Vec<Pixel>,
}

/// The lower lid's margin from the outer to the inner canthus, own left; the right has the mirror landmarks.
pub const LOWER_LID: [usize; 9] = [263, 249, 390, 373, 374, 380, 381, 382, 362];
/// The upper lid's margin from the outer to the inner canthus, own left.
pub const UPPER_LID: [usize; 9] = [263, 466, 388, 387, 386, 385, 384, 398, 362];
/// The pairs of landmarks whose midpoints are the lower border of the band, outer to inner, own left.
const BAND_LOWER: [(usize, usize); 6] = [(448, 346), (449, 347), (450, 348), (451, 349), (452, 350), (453, 357)];
/// How far below the lid the band begins, millimetres: lashes, lid margin and the wet edge lie above.
pub const BELOW_LID_MM: f64 = 2.0;
/// The radius of the cheek reference, millimetres.
pub const CHEEK_MM: f64 = 8.0;

/// Discs on other places: their middle on the canonical surface (own left, centimetres x, y) and radius, millimetres. Our own
/// choice: bare skin, away from brows, hair and the edge of the face.
const DISCS: [(Area, [f64; 2], f64); 3] =
    [(Area::Temple, [6.1, 3.6], 6.0), (Area::Forehead, [2.4, 7.0], 8.0), (Area::Jaw, [4.4, -4.9], 7.0)];

/// Where the lower lids' margins lie in the picture: own right, own left, nine places each, outer to inner.
pub type Margins = [[Pixel; 9]; 2];

/// The number of a landmark of the own left, or its mirror on the right.
fn own(number: usize, side: Side) -> usize {
    if side == Side::Right { mirror(number) } else { number }
}

/// The landmarks of a side's lower lid, outer corner to inner corner.
pub fn lower_lid(side: Side) -> [usize; 9] {
    LOWER_LID.map(|n| own(n, side))
}

/// The margins as the landmarks have them.
pub fn margins(landmarks: &Landmarks) -> Margins {
    [Side::Right, Side::Left].map(|side| lower_lid(side).map(|n| landmarks.at(n)))
}

/// The outline of an area on one side. `down_mm` and `across_mm` shift it on the face (across toward the own left): how
/// much a value depends on where the area is laid.
pub fn outline(
    area: Area,
    side: Side,
    landmarks: &Landmarks,
    frame: &Frame,
    margins: &Margins,
    [across_mm, down_mm]: [f64; 2],
) -> Outline {
    let shift = |p: Pixel, across: f64, down: f64| {
        let (zero, to) = (frame.to_picture([0.0; 3]), frame.to_picture([across, -down, 0.0]));
        Pixel::new(p.x + to.x - zero.x, p.y + to.y - zero.y)
    };
    let corners = match area {
        Area::Band => {
            let lid = margins[usize::from(side == Side::Left)];
            let upper = lid.map(|p| shift(p, across_mm, BELOW_LID_MM + down_mm));
            let lower = BAND_LOWER.map(|(a, b)| {
                let (a, b) = (landmarks.at(own(a, side)), landmarks.at(own(b, side)));
                shift(Pixel::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0), across_mm, down_mm)
            });
            band(upper, lower, [shift(lid[0], across_mm, 0.0), shift(lid[8], across_mm, 0.0)])
        }
        Area::Cheek => {
            let middle = midpoint(landmarks, frame, own(280, side), own(330, side));
            disc(landmarks, frame, middle, CHEEK_MM, [across_mm, down_mm])
        }
        Area::Temple | Area::Forehead | Area::Jaw => {
            let (_, [x, y], radius) = DISCS.iter().find(|d| d.0 == area).copied().unwrap_or(DISCS[0]);
            let middle = carried(landmarks, frame, if side == Side::Right { -x } else { x }, y);
            disc(landmarks, frame, middle, radius, [across_mm, down_mm])
        }
    };
    Outline { area, side, corners }
}

/// The thirds of a band, outer, middle, inner.
pub fn thirds(band: &Outline, landmarks: &Landmarks) -> [Outline; 3] {
    let (outer, inner) = (landmarks.at(own(263, band.side)), landmarks.at(own(362, band.side)));
    let length = outer.to(inner).max(1e-9);
    let along = [(inner.x - outer.x) / length, (inner.y - outer.y) / length];
    let cut = |k: usize| {
        let (from, to) = (length * k as f64 / 3.0, length * (k + 1) as f64 / 3.0);
        Outline { corners: between(&band.corners, outer, along, from, to), ..band.clone() }
    };
    [cut(0), cut(1), cut(2)]
}

/// The band between two rows, cut at the canthi.
fn band(upper: [Pixel; 9], lower: [Pixel; 6], [outer, inner]: [Pixel; 2]) -> Vec<Pixel> {
    let length = outer.to(inner).max(1e-9);
    let along = [(inner.x - outer.x) / length, (inner.y - outer.y) / length];
    let polygon: Vec<Pixel> = upper.into_iter().chain(lower.into_iter().rev()).collect();
    between(&polygon, outer, along, 0.0, length)
}

/// The part of a polygon between two lines across the way `along` (Sutherland and Hodgman 1974).
fn between(polygon: &[Pixel], origin: Pixel, along: [f64; 2], from: f64, to: f64) -> Vec<Pixel> {
    let way = |p: Pixel| (p.x - origin.x) * along[0] + (p.y - origin.y) * along[1];
    let cut = |polygon: &[Pixel], depth: &dyn Fn(Pixel) -> f64| {
        let mut kept = Vec::with_capacity(polygon.len() + 2);
        for (i, a) in polygon.iter().enumerate() {
            let b = polygon[(i + 1) % polygon.len()];
            let (da, db) = (depth(*a), depth(b));
            if da >= 0.0 {
                kept.push(*a);
            }
            if (da >= 0.0) != (db >= 0.0) {
                let t = da / (da - db);
                kept.push(Pixel::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)));
            }
        }
        kept
    };
    let first = cut(polygon, &|p| way(p) - from);
    cut(&first, &|p| to - way(p))
}

/// The place between two landmarks.
fn midpoint(landmarks: &Landmarks, frame: &Frame, a: usize, b: usize) -> Place {
    let (a, b) = (frame.to_face(landmarks.all()[a]), frame.to_face(landmarks.all()[b]));
    std::array::from_fn(|k| (a[k] + b[k]) / 2.0)
}

/// Where the canonical surface's place at `x`, `y` (centimetres) lies on this face: carried by its triangle.
fn carried(landmarks: &Landmarks, frame: &Frame, x: f64, y: f64) -> Place {
    let surface = canonical();
    let mut best: Option<(f64, Place)> = None;
    for corners in triangles() {
        let Some(weights) = barycentric(corners.map(|n| [surface[n][0], surface[n][1]]), [x, y]) else { continue };
        let depth: f64 = (0..3).map(|k| weights[k] * surface[corners[k]][2]).sum();
        if best.is_none_or(|(known, _)| depth > known) {
            let at = corners.map(|n| frame.to_face(landmarks.all()[n]));
            best = Some((depth, std::array::from_fn(|k| (0..3).map(|c| weights[c] * at[c][k]).sum())));
        }
    }
    best.map_or([x * 10.0, y * 10.0, 30.0], |(_, place)| place)
}

/// A disc on the surface, in the picture.
fn disc(landmarks: &Landmarks, frame: &Frame, middle: Place, radius_mm: f64, [across, down]: [f64; 2]) -> Vec<Pixel> {
    let head = Head::of(landmarks, frame, crate::Hairline::level(91.0, 63.6));
    let (_, n) = head.surface(middle[0], middle[1]);
    let n = nalgebra::Vector3::from(n).normalize();
    let middle = nalgebra::Vector3::new(middle[0] + across, middle[1] - down, middle[2]);
    let x = nalgebra::Vector3::y().cross(&n).normalize();
    let y = n.cross(&x);
    (0..32)
        .map(|k| {
            let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 32.0).sin_cos();
            frame.to_picture((middle + (x * cos + y * sin) * radius_mm).into())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{LANDMARKS, Pose};

    /// The canonical face in a picture of 10 pixels to the millimetre.
    fn face() -> (Landmarks, Frame) {
        let frame = Frame::of_pose(Pose::default(), Pixel::new(1000.0, 1000.0), 0.1);
        let mut all: Vec<[f64; 3]> =
            canonical().iter().map(|v| [1000.0 + 100.0 * v[0], 1000.0 - 100.0 * v[1], -100.0 * v[2]]).collect();
        all.resize(LANDMARKS, [1000.0, 1000.0, 0.0]);
        (Landmarks::new(all).expect("finite"), frame)
    }

    fn area_of(corners: &[Pixel]) -> f64 {
        let mut sum = 0.0;
        for (i, a) in corners.iter().enumerate() {
            let b = corners[(i + 1) % corners.len()];
            sum += a.x * b.y - b.x * a.y;
        }
        sum.abs() / 2.0
    }

    #[test]
    fn areas_have_their_sizes_and_sides() {
        let (landmarks, frame) = face();
        let lids = margins(&landmarks);
        for side in [Side::Left, Side::Right] {
            let of = |area| outline(area, side, &landmarks, &frame, &lids, [0.0; 2]);
            for (area, low, high) in [
                // By hand from the canonical vertices: the band is about 25 mm wide and 7 mm high; a disc of 8 mm seen at a
                // slant of about 30 degrees.
                (Area::Band, 120.0, 260.0),
                (Area::Cheek, 130.0, 201.1),
                (Area::Temple, 40.0, 113.2),
                (Area::Forehead, 150.0, 201.1),
                (Area::Jaw, 80.0, 154.0),
            ] {
                let mm2 = area_of(&of(area).corners) / 100.0;
                assert!((low..high).contains(&mm2), "{area:?} {side:?}: {mm2:.1} mm2");
                let middle = of(area).corners.iter().map(|p| p.x).sum::<f64>() / of(area).corners.len() as f64;
                assert_eq!(middle > 1000.0, side == Side::Left, "{area:?}: own left is at the picture's right");
            }
            let band = of(Area::Band);
            let parts: f64 = thirds(&band, &landmarks).iter().map(|t| area_of(&t.corners)).sum();
            assert!((parts / area_of(&band.corners) - 1.0).abs() < 1e-6, "thirds make the whole");
            let (outer, inner) = (landmarks.at(own(263, side)), landmarks.at(own(362, side)));
            let along = |p: &Pixel| {
                ((p.x - outer.x) * (inner.x - outer.x) + (p.y - outer.y) * (inner.y - outer.y)) / outer.to(inner)
            };
            let within = -1e-6..outer.to(inner) + 1e-6;
            assert!(band.corners.iter().all(|p| within.contains(&along(p))), "between the canthi");
        }
    }

    #[test]
    fn a_shift_moves_the_area_on_the_face() {
        let (landmarks, frame) = face();
        let lids = margins(&landmarks);
        let at = |by| outline(Area::Cheek, Side::Left, &landmarks, &frame, &lids, by).corners[0];
        assert!((at([0.0, 1.0]).y - at([0.0, 0.0]).y - 10.0).abs() < 0.5, "down is down in the picture");
        assert!((at([1.0, 0.0]).x - at([0.0, 0.0]).x - 10.0).abs() < 0.5, "across is toward the own left");
    }
}
