//! Where the truth is averaged: the band under each eye and the cheek, from the true landmarks, in the picture.

use crate::V3;
use crate::camera::Camera;
use crate::figure::Figure;
use crate::marks::LIDS;

/// The pairs of landmarks whose midpoints are the lower border of the band, outer to inner, own right.
const BELOW: [(usize, usize); 6] = [(228, 117), (229, 118), (230, 119), (231, 120), (232, 121), (233, 128)];
/// How far below its vertices the landmark network sees each of these midpoints on invented faces, mm, on average of 48 (`cargo run --release
/// -p app --example proof -- border`). Nothing is to be seen there that could tell a place, so the network's own habit says where a
/// landmark of this number lies; the truth follows it, and only its scatter is an error.
const SEEN_LOWER_MM: [f64; 6] = [-0.16, -0.97, -1.69, -1.39, -0.34, 0.53];
/// The middle of the cheek lies between these, own right.
const CHEEK: (usize, usize) = (50, 101);

/// A polygon in the picture.
pub(crate) type Polygon = Vec<[f64; 2]>;

/// Band of the own right, of the own left, cheek of the own right, of the own left.
pub(crate) fn regions(figure: &Figure, camera: &Camera) -> [Polygon; 4] {
    let own = |n: usize, side: usize| figure.head[if side == 1 { face::mirror(n) } else { n }];
    let band = |side: usize| {
        let lid: Vec<V3> = (0..=8).map(|k| figure.head[LIDS[side][k]]).collect();
        let mut all: Vec<V3> = lid.iter().map(|p| p - V3::new(0.0, 2.0, 0.0)).collect();
        let lower = BELOW.iter().zip(SEEN_LOWER_MM);
        all.extend(lower.rev().map(|((a, b), mm)| (own(*a, side) + own(*b, side)) / 2.0 - V3::new(0.0, mm, 0.0)));
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
        let middle = (own(CHEEK.0, side) + own(CHEEK.1, side)) / 2.0;
        let near = |n: usize| own(n, side);
        // The plane of the cheek there, from four landmarks round it.
        let (a, b) = (near(117) - near(205), near(101) - near(123));
        let mut n = a.cross(&b).normalize();
        if n.z < 0.0 {
            n = -n;
        }
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
