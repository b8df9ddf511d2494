//! Spectacles as they are worn: panes before the eyes, their rims, the bridge and the arms, and what a pane throws back.

use crate::V3;
use crate::camera::Camera;
use crate::figure::Figure;
use crate::marks::ZYGIA;
use crate::raster::Raster;
use crate::rng::Rng;
use crate::strokes::{Canvas, Stroke, draw};

/// From the iris to the pane's middle, mm: the depth of the front chamber and 12 mm before the cornea (common practice).
const BEFORE_IRIS: f64 = 15.0;
/// How far the panes lean, their lower edge toward the cheek, degrees (common practice).
const LEAN: f64 = 8.0;

/// One pair.
struct Pair {
    /// Half width and half height of a pane, mm.
    half: [f64; 2],
    /// How far a pane's middle lies below the pupil, mm.
    below: f64,
    /// Width of the rim, mm.
    rim: f64,
    /// Roundness of a pane's outline: 2 an ellipse, more a rounded box.
    power: f64,
}

impl Pair {
    /// Panes 50 to 54 mm wide. Six in ten are low (23 to 29 mm, about level with the pupil): their rim crosses the skin under the eye.
    /// The others are high (34 to 42 mm, 1 to 4 mm below the pupil) and go round it. Our own choice.
    fn of(seed: u64) -> Pair {
        let mut rng = Rng::new(seed, 67);
        let low = rng.unit() < 0.6;
        let (high, below) = if low { ([11.5, 14.5], [0.0, 1.5]) } else { ([17.0, 21.0], [1.0, 4.0]) };
        Pair {
            half: [rng.range(25.0, 27.0), rng.range(high[0], high[1])],
            below: rng.range(below[0], below[1]),
            rim: rng.range(1.8, 4.0),
            power: rng.range(2.4, 4.5),
        }
    }
}

/// Draws the pair of `seed` over the picture: `dark` is what the camera sees of its rims, `light` of the light in its panes.
pub(crate) fn wear(
    canvas: &mut Canvas,
    raster: &Raster,
    samples: usize,
    figure: &Figure,
    camera: &Camera,
    seed: u64,
    [dark, light]: [[f32; 3]; 2],
) {
    let pair = Pair::of(seed);
    let [right, left] = figure.irises.each_ref().map(|iris| iris.at(0.0, 0.0));
    let across = (left - right).normalize();
    let (sin, cos) = LEAN.to_radians().sin_cos();
    let lean = V3::new(0.0, cos, sin);
    let up = (lean - across * lean.dot(&across)).normalize();
    // The nose's bridge keeps the panes from meeting.
    let half = [pair.half[0].min((left - right).norm() / 2.0 - 5.0), pair.half[1]];
    let middles = [(right, -1.0), (left, 1.0)].map(|(iris, out)| {
        let aside = (half[0] + 9.0 - (left - right).norm() / 2.0).max(0.0);
        iris + across * (out * aside) - up * pair.below + V3::new(0.0, 0.0, BEFORE_IRIS)
    });
    // From the hinge past the widest place of the cheekbones to above the ear.
    let arm = |side: usize, out: f64| {
        let hinge = middles[side] + across * (out * (half[0] + pair.rim)) + up * (0.45 * half[1]);
        let bone = figure.head[ZYGIA[side]];
        let wide = |by: f64, z: f64| V3::new(bone.x + out * by, hinge.y, bone.z + z);
        vec![hinge, hinge + V3::new(out * 3.0, 0.0, -3.0), wide(3.0, 4.0), wide(6.0, -30.0)]
    };
    let bridge = {
        let inner = |middle: V3, out: f64| middle - across * (out * half[0]) + up * (0.30 * half[1]);
        let (a, b) = (inner(middles[0], -1.0), inner(middles[1], 1.0));
        vec![a, (a + b) / 2.0 + up * 2.0 + V3::new(0.0, 0.0, 1.5), b]
    };
    let lines = [
        (arm(0, -1.0), 4.0, 2.0),
        (arm(1, 1.0), 4.0, 2.0),
        // The bridge lies on the nose, nothing of the face before it.
        (bridge, pair.rim, 12.0),
    ];
    let strokes: Vec<Stroke> = lines
        .into_iter()
        .map(|(points, width, bias)| Stroke { points, width: [width; 2], colour: dark, strength: 1.0, bias })
        .collect();
    draw(canvas, raster, samples, camera, &strokes);
    for middle in middles {
        pane(canvas, camera, middle, [across * half[0], up * half[1]], &pair, [dark, light]);
    }
}

/// One pane and its rim; `axes` are its half width and half height.
fn pane(canvas: &mut Canvas, camera: &Camera, middle: V3, axes: [V3; 2], pair: &Pair, [dark, light]: [[f32; 3]; 2]) {
    let centre = camera.project(middle);
    let [x, y] = axes.map(|axis| {
        let tip = camera.project(middle + axis);
        [tip[0] - centre[0], tip[1] - centre[1]]
    });
    let det = x[0] * y[1] - x[1] * y[0];
    if det.abs() < 1e-9 {
        return;
    }
    let (px, rim) = (camera.mm_per_px(middle), pair.rim);
    let reach = [0, 1].map(|k| 1.2 * (x[k].abs() + y[k].abs()) + rim / px + 2.0);
    let range = |k: usize, most: usize| {
        ((centre[k] - reach[k]).clamp(0.0, most as f64) as usize)
            ..((centre[k] + reach[k]).clamp(0.0, most as f64) as usize)
    };
    let small = axes[1].norm();
    for row in range(1, canvas.height) {
        for column in range(0, canvas.width) {
            let (dx, dy) = (column as f64 + 0.5 - centre[0], row as f64 + 0.5 - centre[1]);
            let (u, v) = ((dx * y[1] - dy * y[0]) / det, (dy * x[0] - dx * x[1]) / det);
            let r = (u.abs().powf(pair.power) + v.abs().powf(pair.power)).powf(1.0 / pair.power);
            // Millimetres outside the pane's edge, near enough.
            let out = (r - 1.0) * small;
            let soft = px / 2.0;
            let share = |edge: f64| ((edge + soft - out) / px).clamp(0.0, 1.0) as f32;
            let (glass, frame) = (share(0.0), share(rim));
            if frame <= 0.0 {
                continue;
            }
            let glare = if (u + 0.6 * v - 0.25).abs() < 0.22 { 0.55 } else { 0.05 };
            let pixel = &mut canvas.light[row * canvas.width + column];
            for k in 0..3 {
                let seen = pixel[k];
                let through = seen * 0.92 + glare * light[k];
                pixel[k] = seen * (1.0 - frame) + dark[k] * (frame - glass) + through * glass;
            }
        }
    }
}
