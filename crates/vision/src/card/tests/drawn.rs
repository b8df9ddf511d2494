//! Invented photographs of the card, drawn from its design by a path of its own: a pinhole camera, ink of the nominal
//! colours on paper, light that falls off, blur, noise, JPEG. They share only the design's table with what is tested.

use face::Pixel;

use crate::card::layout::{CARD_MM, QR_SIDE, layout};

/// How far away the camera is, in millimetres.
const AWAY: f64 = 500.0;

/// How the card is photographed.
#[derive(Clone, Copy, Debug)]
pub struct Shot {
    pub width: usize,
    pub height: usize,
    /// Pixels a millimetre at the card's middle, if it were flat.
    pub scale: f64,
    /// Where the card's middle lies, in pixels.
    pub at: [f64; 2],
    /// Turned in the picture's plane, in degrees.
    pub roll: f64,
    /// Turned out of the picture's plane, in degrees, about an axis of this direction.
    pub tilt: f64,
    pub axis: f64,
    /// Gaussian, in pixels.
    pub blur: f64,
    /// Of 255.
    pub noise: f64,
    /// Light lost from the card's left edge to its right, as a share.
    pub falloff: f64,
    /// Seen in a mirror.
    pub mirrored: bool,
    pub seed: u64,
}

impl Shot {
    /// A phone's selfie at arm's length, made smaller: the card held flat.
    pub fn plain() -> Shot {
        Shot {
            width: 900,
            height: 900,
            scale: 6.0,
            at: [450.0, 450.0],
            roll: 0.0,
            tilt: 0.0,
            axis: 0.0,
            blur: 0.7,
            noise: 2.0,
            falloff: 0.0,
            mirrored: false,
            seed: 1,
        }
    }

    /// The card's two directions in space, each step a millimetre: x right, y down, z away from the camera.
    fn directions(&self) -> [[f64; 3]; 2] {
        let turn = |[x, y]: [f64; 2], degrees: f64| {
            let (s, c) = degrees.to_radians().sin_cos();
            [c * x - s * y, s * x + c * y]
        };
        let (sin, cos) = self.tilt.to_radians().sin_cos();
        [[1.0, 0.0], [0.0, 1.0]].map(|step| {
            let [along, across] = turn(turn(step, self.roll), -self.axis);
            let [x, y] = turn([along, across * cos], self.axis);
            [x, y, across * sin]
        })
    }

    /// The camera: millimetres of the card to pixels.
    pub fn project(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (x, y) = (x - CARD_MM[0] / 2.0, y - CARD_MM[1] / 2.0);
        let [e, f] = self.directions();
        let [px, py, pz]: [f64; 3] = std::array::from_fn(|k| x * e[k] + y * f[k]);
        let away = AWAY / (AWAY + pz);
        let x = self.at[0] + self.scale * px * away;
        [if self.mirrored { self.width as f64 - x } else { x }, self.at[1] + self.scale * py * away]
    }

    /// Pixels to millimetres: where the line of sight meets the card's plane.
    fn unproject(&self, [e, f]: [[f64; 3]; 2], [x, y]: [f64; 2]) -> [f64; 2] {
        let x = if self.mirrored { self.width as f64 - x } else { x };
        let (u, v) = ((x - self.at[0]) / self.scale / AWAY, (y - self.at[1]) / self.scale / AWAY);
        let (a, b, c, d) = (e[0] - u * e[2], f[0] - u * f[2], e[1] - v * e[2], f[1] - v * f[2]);
        let (p, q, det) = (u * AWAY, v * AWAY, a * d - b * c);
        [(d * p - b * q) / det + CARD_MM[0] / 2.0, (a * q - c * p) / det + CARD_MM[1] / 2.0]
    }

    /// The true corners of each patch.
    pub fn quads(&self) -> Vec<[Pixel; 4]> {
        let corners = |x: f64, y: f64, w: f64, h: f64| [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
        let pixel = |at: [f64; 2]| Pixel::new(self.project(at)[0], self.project(at)[1]);
        layout().patches.iter().map(|p| corners(p.x_mm, p.y_mm, p.w_mm, p.h_mm).map(pixel)).collect()
    }

    /// The picture, 8-bit sRGB.
    pub fn picture(&self, modules: &[bool]) -> Vec<u8> {
        let plane = self.directions();
        let mut light: Vec<[f32; 3]> = Vec::with_capacity(self.width * self.height);
        const FINE: usize = 3;
        for row in 0..self.height {
            for column in 0..self.width {
                let mut sum = [0.0f64; 3];
                for i in 0..FINE * FINE {
                    let x = column as f64 + ((i % FINE) as f64 + 0.5) / FINE as f64;
                    let y = row as f64 + ((i / FINE) as f64 + 0.5) / FINE as f64;
                    let seen = self.ink(self.unproject(plane, [x, y]), modules).unwrap_or_else(|| wall(x, y));
                    for c in 0..3 {
                        sum[c] += seen[c] / (FINE * FINE) as f64;
                    }
                }
                light.push(sum.map(|v| v as f32));
            }
        }
        let light = blurred(&light, self.width, self.height, self.blur);
        let mut random = Random(self.seed);
        light
            .iter()
            .flatten()
            .map(|v| (255.0 * encoded(f64::from(*v)) + self.noise * random.normal()).round().clamp(0.0, 255.0) as u8)
            .collect()
    }

    /// Linear light of the card at a place in millimetres; none beyond it.
    fn ink(&self, [x, y]: [f64; 2], modules: &[bool]) -> Option<[f64; 3]> {
        if x < 0.0 || y < 0.0 || x > CARD_MM[0] || y > CARD_MM[1] {
            return None;
        }
        let card = layout();
        let side = (modules.len() as f64).sqrt().round() as usize;
        let module = QR_SIDE as f64 * card.module_mm / side as f64;
        let (column, row) = ((x - card.qr_x_mm) / module, (y - card.qr_y_mm) / module);
        let within = |v: f64| v >= 0.0 && v < side as f64;
        let light = if within(column) && within(row) && modules[row as usize * side + column as usize] {
            [0.02; 3]
        } else {
            let on =
                card.patches.iter().find(|p| x >= p.x_mm && x < p.x_mm + p.w_mm && y >= p.y_mm && y < p.y_mm + p.h_mm);
            on.map_or([0.86, 0.85, 0.83], |p| linear_of_lab(p.patch.lab.l, p.patch.lab.a, p.patch.lab.b))
        };
        Some(light.map(|v| v * (1.0 - self.falloff * x / CARD_MM[0])))
    }
}

/// What is behind the card: a wall with soft stripes and squares, so that there is something to mistake.
fn wall(x: f64, y: f64) -> [f64; 3] {
    let stripes = 0.5 + 0.5 * (x / 17.0).sin() * (y / 23.0).cos();
    let squares = if ((x / 41.0) as i64 + (y / 37.0) as i64) % 2 == 0 { 0.15 } else { 0.0 };
    [0.25 + 0.3 * stripes + squares, 0.22 + 0.25 * stripes + squares, 0.2 + 0.2 * stripes + squares]
}

/// CIELAB (D65) to linear sRGB, as CIE 15 and IEC 61966-2-1 write it.
pub fn linear_of_lab(l: f64, a: f64, b: f64) -> [f64; 3] {
    let fy = (l + 16.0) / 116.0;
    let f = |t: f64| if t > 6.0 / 29.0 { t.powi(3) } else { 3.0 * (6.0f64 / 29.0).powi(2) * (t - 4.0 / 29.0) };
    let (x, y, z) = (0.95047 * f(fy + a / 500.0), f(fy), 1.08883 * f(fy - b / 200.0));
    [
        3.2404542 * x - 1.5371385 * y - 0.4985314 * z,
        -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,
        0.0556434 * x - 0.2040259 * y + 1.0572252 * z,
    ]
}

fn encoded(light: f64) -> f64 {
    let v = light.clamp(0.0, 1.0);
    if v <= 0.0031308 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
}

fn blurred(light: &[[f32; 3]], width: usize, height: usize, sigma: f64) -> Vec<[f32; 3]> {
    if sigma <= 0.0 {
        return light.to_vec();
    }
    let reach = (3.0 * sigma).ceil() as i64;
    let kernel: Vec<f32> = (-reach..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp() as f32).collect();
    let total: f32 = kernel.iter().sum();
    let pass = |from: &[[f32; 3]], across: bool| -> Vec<[f32; 3]> {
        (0..from.len())
            .map(|i| {
                let (x, y) = ((i % width) as i64, (i / width) as i64);
                let mut sum = [0.0f32; 3];
                for (k, weight) in kernel.iter().enumerate() {
                    let off = k as i64 - reach;
                    let (x, y) = if across { (x + off, y) } else { (x, y + off) };
                    let at = y.clamp(0, height as i64 - 1) * width as i64 + x.clamp(0, width as i64 - 1);
                    for c in 0..3 {
                        sum[c] += weight / total * from[at as usize][c];
                    }
                }
                sum
            })
            .collect()
    };
    pass(&pass(light, true), false)
}

/// SplitMix64 (Steele, Lea and Flood 2014).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 to 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From `low` to `high`.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Mean 0, SD 1, near enough (the sum of twelve).
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}
