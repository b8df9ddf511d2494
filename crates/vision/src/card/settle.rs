//! Laying the card's design onto the picture, to a fraction of a pixel.
//!
//! The picture is unrolled onto the card's own plane with the map found so far, the design is drawn beside it in the
//! colours that the picture shows, and the map is moved so that the two agree (Gauss-Newton on the difference, as in
//! Baker and Matthews 2004, doi:10.1023/B:VISI.0000011205.11775.fd, here with the design in the place of the template
//! picture). First on the code alone, then on the whole card, blurred and sharp.

use super::homography::{Homography, solve};
use super::layout::{CARD_MM, Layout, QR_SIDE};

/// A picture in shades of grey, 0 to 255 as encoded.
pub struct Grey {
    pub width: usize,
    pub height: usize,
    pub values: Vec<u8>,
}

impl Grey {
    /// The value at a place in pixels; beyond the picture its edge goes on.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (x, y) = (x.clamp(0.0, self.width as f64 - 1.0), y.clamp(0.0, self.height as f64 - 1.0));
        let (i, j) = (x as usize, y as usize);
        let (k, l) = ((i + 1).min(self.width - 1), (j + 1).min(self.height - 1));
        let (tx, ty) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let value = |i: usize, j: usize| f32::from(self.values[j * self.width + i]);
        let (top, bottom) = (value(i, j) * (1.0 - tx) + value(k, j) * tx, value(i, l) * (1.0 - tx) + value(k, l) * tx);
        top * (1.0 - ty) + bottom * ty
    }
}

/// Millimetres a cell of the unrolled card.
const STEP: f64 = 0.25;
const WIDE: usize = (CARD_MM[0] / STEP) as usize;
const HIGH: usize = (CARD_MM[1] / STEP) as usize;
/// Left out along the card's edge, in millimetres: nobody cuts better than that.
const CUT: f64 = 0.6;
/// The label of cells that the code's dark modules cover; patches count from 0.
const INK: u8 = 254;
/// The label of paper.
const PAPER: u8 = 255;

/// The middle of a cell, in millimetres.
fn middle(column: usize, row: usize) -> [f64; 2] {
    [(column as f64 + 0.5) * STEP, (row as f64 + 0.5) * STEP]
}

/// The design on the cells.
pub struct Design<'a> {
    layout: &'a Layout,
    /// What covers each cell, and how much of it.
    cover: Vec<(u8, f32)>,
    /// 1 where the whole card's design is known, 0 under writing and where it is cut.
    whole: Vec<f32>,
    /// 1 on the code and its quiet zone.
    code: Vec<f32>,
}

impl<'a> Design<'a> {
    pub fn new(layout: &'a Layout) -> Design<'a> {
        let mut cover = vec![(PAPER, 0.0f32); WIDE * HIGH];
        let mut lay = |x: f64, y: f64, w: f64, h: f64, label: u8| {
            let share = |low: f64, high: f64, cell: usize| {
                let (from, to) = (cell as f64 * STEP, (cell + 1) as f64 * STEP);
                ((high.min(to) - low.max(from)) / STEP).max(0.0)
            };
            let range = |low: f64, high: f64, most: usize| {
                (low / STEP).floor() as usize..((high / STEP).ceil() as usize).min(most)
            };
            for row in range(y, y + h, HIGH) {
                for column in range(x, x + w, WIDE) {
                    let part = (share(x, x + w, column) * share(y, y + h, row)) as f32;
                    if part > 0.0 {
                        let cell = &mut cover[row * WIDE + column];
                        *cell = (label, (cell.1 + part).min(1.0));
                    }
                }
            }
        };
        for (label, p) in layout.patches.iter().enumerate() {
            lay(p.x_mm, p.y_mm, p.w_mm, p.h_mm, label as u8);
        }
        let module = layout.module_mm;
        for (i, _) in layout.modules.iter().enumerate().filter(|(_, dark)| **dark) {
            let (row, column) = ((i / QR_SIDE) as f64, (i % QR_SIDE) as f64);
            lay(layout.qr_x_mm + column * module, layout.qr_y_mm + row * module, module, module, INK);
        }
        let cells = || (0..WIDE * HIGH).map(|i| middle(i % WIDE, i / WIDE));
        let code = cells().map(|at| f32::from(inside(layout, 4.0, at))).collect();
        // Above and below the quiet zone stands writing.
        let (left, right) = (layout.qr_x_mm - 3.0 * module, layout.qr_x_mm + (QR_SIDE as f64 + 3.0) * module);
        let whole = cells()
            .map(|[x, y]| {
                let cut = x < CUT || y < CUT || x > CARD_MM[0] - CUT || y > CARD_MM[1] - CUT;
                let written = x > left && x < right && !inside(layout, 4.0, [x, y]);
                f32::from(!cut && !written)
            })
            .collect();
        Design { layout, cover, whole, code }
    }

    /// The unrolled card in the picture's own shades.
    fn drawn(&self, seen: &[f32]) -> Option<Vec<f32>> {
        let paper = self.paper(seen)?;
        let layout = self.layout;
        // The solid middle of the three finder patterns is the darkest that the code gets.
        let finder = |column: f64, row: f64| {
            let corner = |at: f64, origin: f64| origin + (at + 2.5) * layout.module_mm;
            let (x, y) = (corner(column, layout.qr_x_mm), corner(row, layout.qr_y_mm));
            mean_of(seen, x, y, 2.0 * layout.module_mm, 2.0 * layout.module_mm)
        };
        let far = (QR_SIDE - 7) as f64;
        let ink = (finder(0.0, 0.0) + finder(far, 0.0) + finder(0.0, far)) / 3.0;
        let patches: Vec<f32> = layout
            .patches
            .iter()
            .map(|p| mean_of(seen, p.x_mm + 0.2 * p.w_mm, p.y_mm + 0.2 * p.h_mm, 0.6 * p.w_mm, 0.6 * p.h_mm))
            .collect();
        let draw = |(i, (label, part)): (usize, &(u8, f32))| {
            let [x, y] = middle(i % WIDE, i / WIDE);
            let ground = (paper[0] + paper[1] * x + paper[2] * y) as f32;
            let colour = match *label {
                PAPER => ground,
                INK => ink,
                label => patches[usize::from(label)],
            };
            ground + part * (colour - ground)
        };
        Some(self.cover.iter().enumerate().map(draw).collect())
    }

    /// The paper's shade as a plane over the card, fitted to the middle of the quiet zone: constant, along x, along y.
    fn paper(&self, seen: &[f32]) -> Option<[f64; 3]> {
        let (mut normal, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
        for (i, value) in seen.iter().enumerate() {
            let at = middle(i % WIDE, i / WIDE);
            if inside(self.layout, 3.0, at) && !inside(self.layout, 1.5, at) {
                let terms = [1.0, at[0], at[1]];
                for (j, a) in terms.iter().enumerate() {
                    right[j] += a * f64::from(*value);
                    for (k, b) in terms.iter().enumerate() {
                        normal[j][k] += a * b;
                    }
                }
            }
        }
        solve(normal, right)
    }
}

/// Whether a place lies on the code, grown by so many modules.
fn inside(layout: &Layout, grown: f64, [x, y]: [f64; 2]) -> bool {
    let (grow, side) = (grown * layout.module_mm, QR_SIDE as f64 * layout.module_mm);
    let within = |v: f64, low: f64| v > low - grow && v < low + side + grow;
    within(x, layout.qr_x_mm) && within(y, layout.qr_y_mm)
}

/// The mean of an area of the unrolled card.
fn mean_of(seen: &[f32], x: f64, y: f64, w: f64, h: f64) -> f32 {
    let cells = |low: f64, length: f64| (low / STEP).ceil() as usize..((low + length) / STEP).floor() as usize;
    let (mut sum, mut count) = (0.0f32, 0.0f32);
    for row in cells(y, h) {
        for column in cells(x, w) {
            sum += seen[row * WIDE + column];
            count += 1.0;
        }
    }
    sum / count.max(1.0)
}

/// The picture unrolled onto the card's plane; `map` takes millimetres to pixels of `picture`.
fn unrolled(picture: &Grey, map: &Homography) -> Vec<f32> {
    let mut out = Vec::with_capacity(WIDE * HIGH);
    for row in 0..HIGH {
        for column in 0..WIDE {
            let [x, y] = map.map(middle(column, row));
            out.push(picture.at(x, y));
        }
    }
    out
}

/// Blurred by a Gaussian of `sigma` cells, from what `mask` shows alone.
fn blurred(values: &[f32], mask: &[f32], sigma: f64) -> Vec<f32> {
    let reach = (2.5 * sigma).ceil() as usize;
    let kernel: Vec<f32> = (0..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp() as f32).collect();
    let pass = |from: &[f32], step: usize, length: usize, position: fn(usize) -> usize| -> Vec<f32> {
        (0..from.len())
            .map(|i| {
                let at = position(i);
                let mut sum = kernel[0] * from[i];
                for (k, weight) in kernel.iter().enumerate().skip(1) {
                    if at >= k {
                        sum += weight * from[i - k * step];
                    }
                    if at + k < length {
                        sum += weight * from[i + k * step];
                    }
                }
                sum
            })
            .collect()
    };
    let both = |from: &[f32]| pass(&pass(from, 1, WIDE, |i| i % WIDE), WIDE, HIGH, |i| i / WIDE);
    let shown: Vec<f32> = values.iter().zip(mask).map(|(v, m)| v * m).collect();
    both(&shown).iter().zip(both(mask)).map(|(v, w)| if w > 1e-3 { v / w } else { 0.0 }).collect()
}

/// Millimetres from the card's middle as a number of about 1, for a well-conditioned fit.
const SPAN: f64 = CARD_MM[0] / 2.0;

/// One step: the map moved so that picture and design agree better, and by how many millimetres at most at the corners.
fn step(
    picture: &Grey,
    design: &Design<'_>,
    map: &Homography,
    mask: &[f32],
    sigma_mm: f64,
) -> Option<(Homography, f64)> {
    let seen = unrolled(picture, map);
    let drawn = design.drawn(&seen)?;
    let contrast = {
        let (low, high) = drawn.iter().fold((f32::MAX, f32::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        high - low
    };
    if !contrast.is_finite() || contrast < 8.0 {
        return None;
    }
    let sigma = sigma_mm / STEP;
    let (seen, drawn) = (blurred(&seen, mask, sigma), blurred(&drawn, mask, sigma));
    let (mut normal, mut right) = ([[0.0f64; 8]; 8], [0.0f64; 8]);
    for row in 1..HIGH - 1 {
        for column in 1..WIDE - 1 {
            let i = row * WIDE + column;
            if mask[i - 1] * mask[i] * mask[i + 1] * mask[i - WIDE] * mask[i + WIDE] == 0.0 {
                continue;
            }
            let gx = f64::from(drawn[i + 1] - drawn[i - 1]) / (2.0 * STEP) * SPAN;
            let gy = f64::from(drawn[i + WIDE] - drawn[i - WIDE]) / (2.0 * STEP) * SPAN;
            if gx * gx + gy * gy < 1e-6 {
                continue;
            }
            let off = f64::from(seen[i] - drawn[i]);
            // A finger or a gleam on the card must not drag it along.
            let trust = 1.0 / (1.0 + (off / (0.15 * f64::from(contrast))).powi(2));
            let [x, y] = middle(column, row);
            let (x, y) = ((x - CARD_MM[0] / 2.0) / SPAN, (y - CARD_MM[1] / 2.0) / SPAN);
            let toward = gx * x + gy * y;
            let slope = [gx * x, gx * y, gx, gy * x, gy * y, gy, -toward * x, -toward * y];
            for (j, a) in slope.iter().enumerate() {
                right[j] += trust * a * off;
                for (cell, b) in normal[j].iter_mut().zip(&slope) {
                    *cell += trust * a * b;
                }
            }
        }
    }
    let p = solve(normal, right)?;
    let moved = Homography([[1.0 + p[0], p[1], p[2]], [p[3], 1.0 + p[4], p[5]], [p[6], p[7], 1.0]]);
    let centred = Homography([[1.0 / SPAN, 0.0, -1.0], [0.0, 1.0 / SPAN, -CARD_MM[1] / 2.0 / SPAN], [0.0, 0.0, 1.0]]);
    let moved = centred.inverse()?.after(&moved.after(&centred));
    let [w, h] = CARD_MM;
    let most = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]
        .map(|corner| {
            let to = moved.map(corner);
            (to[0] - corner[0]).hypot(to[1] - corner[1])
        })
        .into_iter()
        .fold(0.0, f64::max);
    let next = map.after(&moved.inverse()?);
    next.0.iter().flatten().all(|v| v.is_finite()).then_some((next, most))
}

/// The map from millimetres of the card to pixels of `picture`, from a first guess by the code's corners.
pub fn settle(picture: &Grey, design: &Design<'_>, first: Homography) -> Option<Homography> {
    let mut map = first;
    for (mask, sigma, steps) in [(&design.code, 0.5, 8), (&design.whole, 1.0, 10), (&design.whole, 0.4, 12)] {
        for _ in 0..steps {
            let (next, most) = step(picture, design, &map, mask, sigma)?;
            map = next;
            if most < 0.004 {
                break;
            }
        }
    }
    Some(map)
}

/// The code's modules as the picture shows them, row by row; true is dark.
pub fn read_modules(picture: &Grey, layout: &Layout, map: &Homography) -> Vec<bool> {
    let shades: Vec<f32> = (0..QR_SIDE * QR_SIDE)
        .map(|i| {
            let (row, column) = ((i / QR_SIDE) as f64 + 0.5, (i % QR_SIDE) as f64 + 0.5);
            let at = [layout.qr_x_mm + column * layout.module_mm, layout.qr_y_mm + row * layout.module_mm];
            let [x, y] = map.map(at);
            picture.at(x, y)
        })
        .collect();
    // About half of the modules of any code are dark, so that the mean parts them.
    let limit = shades.iter().sum::<f32>() / shades.len() as f32;
    shades.iter().map(|s| *s < limit).collect()
}

/// The share of the code's modules that the picture shows as they are designed.
pub fn agreement(picture: &Grey, layout: &Layout, map: &Homography) -> f64 {
    let seen = read_modules(picture, layout, map);
    seen.iter().zip(&layout.modules).filter(|(a, b)| a == b).count() as f64 / seen.len() as f64
}
