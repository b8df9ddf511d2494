//! From linear light to the picture: background, exposure, blur, noise, sRGB.

use crate::V3;
use crate::light::Light;
use crate::photograph::Picture;
use crate::rng::Rng;
use crate::shot::Shot;
use crate::shot::Space;
use crate::skin::{colour, encoded};
use crate::spectral::sensor::Sensor;
use crate::strokes::Canvas;

/// Plain walls, sRGB.
const WALLS: [[f64; 3]; 5] =
    [[214.0, 211.0, 206.0], [196.0, 201.0, 204.0], [206.0, 198.0, 188.0], [182.0, 190.0, 184.0], [204.0, 200.0, 208.0]];

/// The colour of the wall behind, linear sRGB.
pub(crate) fn wall(shot: &Shot) -> [f32; 3] {
    colour(WALLS[(shot.seed % WALLS.len() as u64) as usize])
}

/// The wall behind, of this colour, brighter above and toward the light, which a measured photograph has from `key`.
pub(crate) fn background(shot: &Shot, wall: [f32; 3], key: V3, x: usize, y: usize) -> [f32; 3] {
    let (u, v) = (x as f32 / shot.width as f32 - 0.5, y as f32 / shot.height as f32 - 0.5);
    let glow = 1.0 - 0.28 * v - 0.35 * (u * u + v * v);
    let (side, tint) = match shot.light {
        _ if shot.setting.is_some() => (0.4 * key.x as f32 * u, [1.0, 1.0, 1.0]),
        Light::SideWindow => (0.30 * u, [0.97, 1.0, 1.04]),
        Light::WarmLamp => (-0.15 * u, [1.10, 0.97, 0.80]),
        _ => (0.0, [1.0, 1.0, 1.0]),
    };
    let level = 0.80 * (glow + side).max(0.1);
    std::array::from_fn(|k| wall[k] * level * tint[k])
}

/// Blurs along rows, then columns, with a Gaussian of `sigma` pixels.
fn blur(canvas: &mut Canvas, sigma: f64) {
    if sigma < 0.05 {
        return;
    }
    let reach = (3.0 * sigma).ceil() as isize;
    let mut kernel: Vec<f32> =
        (-reach..=reach).map(|i| (-((i * i) as f64) / (2.0 * sigma * sigma)).exp() as f32).collect();
    let sum: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);
    let (w, h) = (canvas.width as isize, canvas.height as isize);
    for (dx, dy) in [(1, 0), (0, 1)] {
        let from = canvas.light.clone();
        for y in 0..h {
            for x in 0..w {
                let mut sum = [0.0f32; 3];
                for (i, k) in kernel.iter().enumerate() {
                    let o = i as isize - reach;
                    let (sx, sy) = ((x + o * dx).clamp(0, w - 1), (y + o * dy).clamp(0, h - 1));
                    let c = from[(sy * w + sx) as usize];
                    (0..3).for_each(|j| sum[j] += c[j] * k);
                }
                canvas.light[(y * w + x) as usize] = sum;
            }
        }
    }
}

/// A straight line that bends softly into white above 0.7, so that shine does not clip hard.
fn shoulder(v: f32) -> f32 {
    if v <= 0.7 { v } else { 0.7 + 0.3 * (1.0 - (-(v - 0.7) / 0.3).exp()) }
}

/// Develops the canvas.
pub(crate) fn develop(mut canvas: Canvas, shot: &Shot, camera: Option<(&Sensor, f64)>) -> Picture {
    blur(&mut canvas, shot.blur);
    if let Some((sensor, gain)) = camera {
        return exposed(&canvas, shot, sensor, gain);
    }
    let mut rng = Rng::new(shot.seed, 21);
    // Encoding by table: 4096 steps of the square root, straight between them, true to 0.01 level.
    let table: Vec<f32> = (0..=4096).map(|i| encoded(shoulder((i as f32 / 4096.0).powi(2) * 2.0)) * 255.0).collect();
    let level = |v: f32| {
        let place = (v.max(0.0) / 2.0).sqrt().min(1.0) * 4096.0;
        let i = (place as usize).min(4095);
        table[i] + (table[i + 1] - table[i]) * (place - i as f32)
    };
    let mut rgb = Vec::with_capacity(canvas.light.len() * 3);
    for c in &canvas.light {
        for v in c {
            let level = level(v * 0.98);
            // The sum of four even numbers is near enough normal, and quick.
            let grain: f64 = if shot.noise > 0.0 { (0..4).map(|_| rng.unit() - 0.5).sum::<f64>() * 1.732 } else { 0.0 };
            rgb.push((f64::from(level) + grain * shot.noise + 0.5).clamp(0.0, 255.0) as u8);
        }
    }
    Picture { width: canvas.width, height: canvas.height, rgb }
}

/// From sRGB's primaries to Display P3's, both D65 (derived from their chromaticities).
const P3: [[f64; 3]; 3] =
    [[0.822_461_97, 0.177_538_03, 0.0], [0.033_194_2, 0.966_805_8, 0.0], [0.017_082_63, 0.072_397_44, 0.910_519_93]];

/// Develops what a camera saw: noise of light and of the sensor, white balance, its matrix, its tone curve, its space, 8 bits.
fn exposed(canvas: &Canvas, shot: &Shot, sensor: &Sensor, gain: f64) -> Picture {
    let mut rng = Rng::new(shot.seed, 21);
    // Encoding by table: 4096 steps of the square root, straight between them.
    let table: Vec<f64> = (0..=4096)
        .map(|i| 255.0 * sensor.tone(f64::from(encoded(shoulder((f64::from(i) / 4096.0).powi(2) as f32 * 2.0)))))
        .collect();
    let level = |v: f64| {
        let place = (v.max(0.0) / 2.0).sqrt().min(1.0) * 4096.0;
        let i = (place as usize).min(4095);
        table[i] + (table[i + 1] - table[i]) * (place - i as f64)
    };
    let by = gain * 2f64.powf(shot.exposure);
    let mut rgb = Vec::with_capacity(canvas.light.len() * 3);
    // The noise is stated at mid grey, in levels: a hundredth of light there is about 1.3 of them.
    let noise = shot.noise * 0.017;
    for c in &canvas.light {
        let mut own = [0.0; 3];
        for k in 0..3 {
            let v = f64::from(c[k]) * by * sensor.gains[k];
            let grain: f64 = (0..4).map(|_| rng.unit() - 0.5).sum::<f64>() * 1.732;
            own[k] = v + grain * noise * (v.max(0.0) * 0.21 + 0.0004).sqrt();
        }
        let m = &sensor.matrix;
        let mut out: [f64; 3] = std::array::from_fn(|r| (0..3).map(|k| m[(r, k)] * own[k]).sum());
        if shot.jpeg_space == Space::DisplayP3 {
            out = std::array::from_fn(|r| (0..3).map(|k| P3[r][k] * out[k]).sum());
        }
        if shot.monochrome {
            out = [0.2126 * out[0] + 0.7152 * out[1] + 0.0722 * out[2]; 3];
        }
        rgb.extend(out.map(|v| (level(v) + 0.5).clamp(0.0, 255.0) as u8));
    }
    Picture { width: canvas.width, height: canvas.height, rgb }
}
