//! Where the truth is averaged: the band under each eye and the cheek, from the true landmarks, in the picture.

use crate::V3;
use crate::camera::Camera;
use crate::figure::Figure;
use crate::marks::LIDS;

/// The pairs of landmarks whose midpoints are the lower border of the band, outer to inner, own right.
const BELOW: [(usize, usize); 6] = [(228, 117), (229, 118), (230, 119), (231, 120), (232, 121), (233, 128)];
/// The middle of the cheek lies between these, own right: an edge of the surface.
const CHEEK: (usize, usize) = (50, 101);
/// The third corners of the two triangles that meet there, own right.
const BESIDE_CHEEK: [usize; 2] = [118, 205];

/// A polygon in the picture.
pub(crate) type Polygon = Vec<[f64; 2]>;

/// Band of the own right, of the own left, cheek of the own right, of the own left.
pub(crate) fn regions(figure: &Figure, camera: &Camera) -> [Polygon; 4] {
    let own = |n: usize, side: usize| figure.head[if side == 1 { face::mirror(n) } else { n }];
    let band = |side: usize| {
        let lid: Vec<V3> = (0..=8).map(|k| figure.head[LIDS[side][k]]).collect();
        let mut all: Vec<V3> = lid.iter().map(|p| p - V3::new(0.0, 2.0, 0.0)).collect();
        all.extend(BELOW.iter().rev().map(|(a, b)| (own(*a, side) + own(*b, side)) / 2.0));
        let flat: Polygon = all.iter().map(|p| camera.project(*p)).collect();
        // Nothing beyond the canthi: each corner is pulled back along the line between them.
        let (outer, inner) = (camera.project(lid[0]), camera.project(lid[8]));
        let way = [inner[0] - outer[0], inner[1] - outer[1]];
        let length = way[0].hypot(way[1]);
        let along = |p: [f64; 2]| ((p[0] - outer[0]) * way[0] + (p[1] - outer[1]) * way[1]) / length;
        let cut = |polygon: Polygon, keep: &dyn Fn([f64; 2]) -> f64| -> Polygon {
            let mut kept = Polygon::new();
            for i in 0..polygon.len() {
                let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
                let (da, db) = (keep(a), keep(b));
                if da >= 0.0 {
                    kept.push(a);
                }
                if da * db < 0.0 {
                    let t = da / (da - db);
                    kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
                }
            }
            kept
        };
        cut(cut(flat, &|p| along(p)), &|p| length - along(p))
    };
    let cheek = |side: usize| {
        let (a, b) = (own(CHEEK.0, side), own(CHEEK.1, side));
        let middle = (a + b) / 2.0;
        // The plane of the surface there: between the two triangles that share the edge.
        let n = BESIDE_CHEEK
            .map(|third| {
                let n = (b - a).cross(&(own(third, side) - a)).normalize();
                if n.z < 0.0 { -n } else { n }
            })
            .iter()
            .sum::<V3>()
            .normalize();
        let x = V3::y().cross(&n).normalize();
        let y = n.cross(&x);
        (0..48)
            .map(|k| {
                let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 48.0).sin_cos();
                camera.project(middle + (x * cos + y * sin) * 8.0)
            })
            .collect()
    };
    [band(0), band(1), cheek(0), cheek(1)]
}

/// Marks the pixels whose centres lie in each polygon: 1 to 4; 0 elsewhere.
pub(crate) fn mask(polygons: &[Polygon; 4], width: usize, height: usize) -> Vec<u8> {
    let mut mask = vec![0; width * height];
    for (number, polygon) in polygons.iter().enumerate() {
        for y in 0..height {
            let at = y as f64 + 0.5;
            let mut crossings: Vec<f64> = (0..polygon.len())
                .filter_map(|i| {
                    let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
                    ((a[1] > at) != (b[1] > at)).then(|| a[0] + (at - a[1]) * (b[0] - a[0]) / (b[1] - a[1]))
                })
                .collect();
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                for x in 0..width {
                    let c = x as f64 + 0.5;
                    if c > pair[0] && c <= pair[1] {
                        mask[y * width + x] = number as u8 + 1;
                    }
                }
            }
        }
    }
    mask
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::person::Person;
    use crate::photograph::{frame, known};
    use crate::setting::Setting;
    use crate::shot::Shot;
    use face::region::{Area, margins, outline};

    /// How far a place lies from the border of a polygon.
    fn from_border(polygon: &Polygon, [x, y]: [f64; 2]) -> f64 {
        (0..polygon.len())
            .map(|i| {
                let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
                let way = [b[0] - a[0], b[1] - a[1]];
                let along = ((x - a[0]) * way[0] + (y - a[1]) * way[1]) / (way[0].powi(2) + way[1].powi(2));
                let t = along.clamp(0.0, 1.0);
                (x - a[0] - t * way[0]).hypot(y - a[1] - t * way[1])
            })
            .fold(f64::MAX, f64::min)
    }

    /// With the true landmarks the instrument's cheek and the truth's, each by its own code, have one outline.
    #[test]
    fn the_cheek_is_the_instruments_cheek() {
        let mut worst = 0.0f64;
        for seed in 0..24 {
            let (person, mut shot) = (Person::invented(seed), Shot::measured(seed, Setting::D65));
            // Nearer than that perspective, which the instrument's frame leaves out, moves an outline by half a millimetre by itself.
            shot.distance_mm = shot.distance_mm.max(550.0);
            let figure = Figure::of(&person, false, shot.gaze);
            let own = regions(&figure, &frame(&figure, &shot));
            let truth = known(&person, &shot);
            let landmarks = face::Landmarks::new(truth.landmarks.clone()).expect("finite");
            let laid = face::Frame::fit(&landmarks).expect("a face").with_scale(truth.mm_per_px);
            for (side, ours) in [(vocab::Side::Right, &own[2]), (vocab::Side::Left, &own[3])] {
                let theirs = outline(Area::Cheek, side, &landmarks, &laid, &margins(&landmarks), [0.0; 2]);
                let off = theirs.corners.iter().map(|p| from_border(ours, [p.x, p.y])).fold(0.0, f64::max);
                worst = worst.max(off * truth.mm_per_px);
            }
        }
        assert!(worst < 0.5, "outlines lie {worst:.2} mm apart");
    }
}
