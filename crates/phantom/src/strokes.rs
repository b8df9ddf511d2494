//! Fine strokes drawn over the picture: brow hairs, lashes, loose hair, freckles.

use crate::V3;
use crate::camera::Camera;
use crate::raster::Raster;

/// A tapering line in the face frame.
#[derive(Clone, Debug)]
pub(crate) struct Stroke {
    pub(crate) points: Vec<V3>,
    /// Width at the root and at the tip, mm.
    pub(crate) width: [f64; 2],
    /// Linear colour.
    pub(crate) colour: [f32; 3],
    pub(crate) strength: f32,
    /// How far behind a surface it may lie and still be drawn, mm.
    pub(crate) bias: f64,
}

/// A linear-light picture.
pub(crate) struct Canvas {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) light: Vec<[f32; 3]>,
}

/// The pixels of a row that a line of this half-width can touch.
fn columns(seen: &[[f64; 3]], y: f64, half: f64, width: usize) -> std::ops::Range<usize> {
    let (mut low, mut high) = (f64::MAX, f64::MIN);
    if let [only] = seen {
        (low, high) = (only[0], only[0]);
    }
    for pair in seen.windows(2) {
        let (a, b) = if pair[0][1] <= pair[1][1] { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
        if b[1] < y - half || a[1] > y + half {
            continue;
        }
        let rise = (b[1] - a[1]).max(1e-9);
        for edge in [y - half, y + half] {
            let x = a[0] + (b[0] - a[0]) * ((edge - a[1]) / rise).clamp(0.0, 1.0);
            (low, high) = (low.min(x), high.max(x));
        }
    }
    let place = |x: f64| x.clamp(0.0, width as f64) as usize;
    if low > high { 0..0 } else { place((low - half).floor())..place((high + half).ceil()) }
}

/// Draws strokes onto the canvas where the raster does not hide them.
pub(crate) fn draw(canvas: &mut Canvas, raster: &Raster, samples: usize, camera: &Camera, strokes: &[Stroke]) {
    for stroke in strokes {
        let seen: Vec<[f64; 3]> = stroke.points.iter().map(|p| camera.see(camera.world(*p, 1.0))).collect();
        let Some(px_per_mm) = stroke.points.first().map(|p| 1.0 / camera.mm_per_px(*p)) else { continue };
        let half = stroke.width.iter().copied().fold(0.0, f64::max) * px_per_mm / 2.0 + 1.0;
        let bounds = |k: usize, limit: usize| {
            let low = seen.iter().map(|p| p[k]).fold(f64::MAX, f64::min) - half;
            let high = seen.iter().map(|p| p[k]).fold(f64::MIN, f64::max) + half;
            (low.floor().clamp(0.0, limit as f64) as usize)..(high.ceil().clamp(0.0, limit as f64) as usize)
        };
        let count = (seen.len() - 1).max(1) as f64;
        for row in bounds(1, canvas.height) {
            for column in columns(&seen, row as f64 + 0.5, half, canvas.width) {
                let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
                // The nearest place on the line: its distance, how far along, and its depth.
                let mut best = (f64::MAX, 0.0, seen[0][2]);
                for (i, pair) in seen.windows(2).enumerate() {
                    let (dx, dy) = (pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]);
                    let t = (((x - pair[0][0]) * dx + (y - pair[0][1]) * dy) / (dx * dx + dy * dy).max(1e-9))
                        .clamp(0.0, 1.0);
                    let (ox, oy) = (x - pair[0][0] - t * dx, y - pair[0][1] - t * dy);
                    let far = (ox * ox + oy * oy).sqrt();
                    if far < best.0 {
                        best = (far, (i as f64 + t) / count, pair[0][2] + t * (pair[1][2] - pair[0][2]));
                    }
                }
                if seen.len() == 1 {
                    best.0 = (x - seen[0][0]).hypot(y - seen[0][1]);
                }
                let width = (stroke.width[0] + (stroke.width[1] - stroke.width[0]) * best.1) * px_per_mm;
                // Coverage of a pixel by a line of this width: never sharper than a pixel.
                let cover = (width / 2.0 + 0.5 - best.0).clamp(0.0, 1.0) * width.min(1.0);
                if cover <= 0.0 {
                    continue;
                }
                let mut free = 0;
                for sy in 0..samples {
                    for sx in 0..samples {
                        let at = (row * samples + sy) * raster.width + column * samples + sx;
                        free += u32::from(f64::from(raster.depth[at]) + stroke.bias > best.2);
                    }
                }
                let alpha = stroke.strength * cover as f32 * free as f32 / (samples * samples) as f32;
                let here = &mut canvas.light[row * canvas.width + column];
                here.iter_mut().zip(stroke.colour).for_each(|(h, c)| *h += (c - *h) * alpha);
            }
        }
    }
}
