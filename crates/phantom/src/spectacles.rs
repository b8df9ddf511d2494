//! Spectacles drawn over a picture: dark rims, and a pane's reflection.

use crate::camera::Camera;
use crate::figure::Figure;
use crate::strokes::Canvas;

/// Half width and half height of a pane, and the width of its rim, mm.
const PANE: [f64; 2] = [25.0, 17.0];
const RIM: f64 = 3.5;

pub(crate) fn wear(canvas: &mut Canvas, figure: &Figure, camera: &Camera) {
    for iris in &figure.irises {
        let middle = iris.at(0.0, 0.0);
        let [cx, cy] = camera.project(middle);
        let mm = 1.0 / camera.mm_per_px(middle);
        // The pane hangs a little below the eye.
        let (cx, cy) = (cx + 1.5 * mm * middle.x.signum(), cy + 3.0 * mm);
        let (w, h) = (PANE[0] * mm, PANE[1] * mm);
        for y in ((cy - h - 2.0 * RIM * mm).max(0.0) as usize)..((cy + h + 2.0 * RIM * mm) as usize).min(canvas.height)
        {
            for x in
                ((cx - w - 2.0 * RIM * mm).max(0.0) as usize)..((cx + w + 2.0 * RIM * mm) as usize).min(canvas.width)
            {
                let (u, v) = ((x as f64 - cx) / w, (y as f64 - cy) / h);
                let r = (u.powi(4) + v.powi(4)).powf(0.25);
                let pixel = &mut canvas.light[y * canvas.width + x];
                if (1.0..1.0 + RIM / PANE[1]).contains(&r) {
                    *pixel = [0.012, 0.011, 0.011];
                } else if r < 1.0 {
                    let glare = if (u + 0.6 * v - 0.25).abs() < 0.22 { 0.55 } else { 0.05 };
                    pixel.iter_mut().for_each(|c| *c = *c * 0.92 + glare);
                }
            }
        }
    }
}
