//! Squares of a picture, sampled for a network.
//!
//! Half-pixel-correct: the centre of sample `i` of `n` lies at `(i + 0.5) / n` of the square, and the centre of a pixel at a
//! half. The usual sampler forgets one of the halves and shifts every landmark by half a network pixel.

use face::Pixel;

/// An upright picture: 8-bit RGB, encoded values, row by row.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// In pixels.
    pub width: usize,
    /// In pixels.
    pub height: usize,
    /// `3 * width * height` bytes.
    pub rgb: &'a [u8],
}

impl<'a> View<'a> {
    /// The picture, if the bytes fill it and it holds at least one pixel.
    pub fn new(width: usize, height: usize, rgb: &'a [u8]) -> Option<View<'a>> {
        let whole = width > 0 && height > 0 && width.checked_mul(height)?.checked_mul(3)? == rgb.len();
        whole.then_some(View { width, height, rgb })
    }
}

/// A square of the picture, perhaps turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Square {
    /// Its middle.
    pub centre: Pixel,
    /// The length of a side, in pixels.
    pub side: f64,
    /// How far it is turned from the picture's x axis toward its y axis, in radians.
    pub turn: f64,
}

impl Square {
    /// The place at `u`, `v` of the square, each from 0 to 1, in the picture.
    pub fn place(&self, u: f64, v: f64) -> Pixel {
        let (sin, cos) = self.turn.sin_cos();
        let (x, y) = ((u - 0.5) * self.side, (v - 0.5) * self.side);
        Pixel::new(self.centre.x + x * cos - y * sin, self.centre.y + x * sin + y * cos)
    }
}

/// What lies beyond the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Border {
    /// Black.
    Black,
    /// The picture's edge, repeated.
    Edge,
}

/// Places along each side of a sample, at most.
const FINE: usize = 4;

/// The same samples with left and right exchanged.
pub fn mirrored(planes: &[f32], n: usize) -> Vec<f32> {
    planes.chunks_exact(n.max(1)).flat_map(|row| row.iter().rev()).copied().collect()
}

/// Samples `n` by `n` values of each channel, plane after plane, from 0 to 1. Where the square is much larger than the
/// samples, each is the mean of up to 4 by 4 places, so that fine detail does not turn into noise.
pub fn sample(view: &View<'_>, square: &Square, n: usize, border: Border) -> Vec<f32> {
    let ratio = square.side / n as f64;
    let k = if ratio > 1.5 { (ratio.ceil() as usize).min(FINE) } else { 1 };
    let grid = Grid::new(square, n, k);
    let mut planes = vec![0.0f32; 3 * n * n];
    let (red, others) = planes.split_at_mut(n * n);
    let (green, blue) = others.split_at_mut(n * n);
    // A large square of a large photograph is worth a second thread.
    if k > 2 && n > 1 {
        let halves = [red, green, blue].map(|plane| plane.split_at_mut(n * (n / 2)));
        let [(red, red_below), (green, green_below), (blue, blue_below)] = halves;
        std::thread::scope(|scope| {
            scope.spawn(|| grid.rows(view, border, n / 2, [red_below, green_below, blue_below]));
            grid.rows(view, border, 0, [red, green, blue]);
        });
    } else {
        grid.rows(view, border, 0, [red, green, blue]);
    }
    planes
}

/// Samples along a side of a block.
const BLOCK: usize = 8;

/// Where samples are taken.
struct Grid {
    n: usize,
    k: usize,
    /// By place along a row of the square: where it lies in the picture on the square's upper side, counted from the centre of the
    /// top-left pixel.
    across: Vec<[f64; 2]>,
    /// The same in fixed point.
    fixed: Vec<[i64; 2]>,
    /// From the upper to the lower side.
    down: [f64; 2],
}

impl Grid {
    fn new(square: &Square, n: usize, k: usize) -> Grid {
        let (origin, along, down) = (square.place(0.0, 0.0), square.place(1.0, 0.0), square.place(0.0, 1.0));
        let fine = 1.0 / (n * k) as f64;
        let across = (0..n * k).map(|i| {
            let u = (i as f64 + 0.5) * fine;
            [origin.x + u * (along.x - origin.x) - 0.5, origin.y + u * (along.y - origin.y) - 0.5]
        });
        let across: Vec<[f64; 2]> = across.collect();
        let fixed = across.iter().map(|at| at.map(fixed)).collect();
        Grid { n, k, across, fixed, down: [down.x - origin.x, down.y - origin.y] }
    }

    /// Whether all places of the samples in these columns and rows lie between pixels of the picture, its last row left out.
    fn lies_inside(&self, view: &View<'_>, columns: [usize; 2], rows: [usize; 2]) -> bool {
        let fine = 1.0 / (self.n * self.k) as f64;
        let [left, right] = [columns[0] * self.k, (columns[1] + 1) * self.k - 1];
        let [upper, lower] = [rows[0] * self.k, (rows[1] + 1) * self.k - 1];
        // The corners of a block hold all of it.
        [(left, upper), (right, upper), (left, lower), (right, lower)].into_iter().all(|(i, j)| {
            let v = (j as f64 + 0.5) * fine;
            let (x, y) = (self.across[i][0] + v * self.down[0], self.across[i][1] + v * self.down[1]);
            x >= 1.0 && y >= 1.0 && x <= view.width as f64 - 3.0 && y <= view.height as f64 - 3.0
        })
    }

    /// Some rows of samples, from the `first` on; `out` is those rows of each plane.
    fn rows(&self, view: &View<'_>, border: Border, first: usize, mut out: [&mut [f32]; 3]) {
        let (n, k) = (self.n, self.k);
        let fine = 1.0 / (n * k) as f64;
        let all = 255.0 * (k * k) as f32;
        let mut sums = [[0.0f32; 4]; BLOCK];
        let rows = out[0].len() / n.max(1);
        // In blocks, so that the pixels under one stay near: along a whole row of a turned square every few samples lie in another
        // row of the picture, which is another page of memory.
        for (above, left) in (0..rows).step_by(BLOCK).flat_map(|r| (0..n).step_by(BLOCK).map(move |c| (r, c))) {
            let wide = BLOCK.min(n - left);
            let last = (rows - 1).min(above + BLOCK - 1);
            let inside = self.lies_inside(view, [left, left + wide - 1], [first + above, first + last]);
            for row in above..rows.min(above + BLOCK) {
                sums.fill([0.0; 4]);
                for i in 0..k {
                    let v = (((first + row) * k + i) as f64 + 0.5) * fine;
                    let (dx, dy) = (v * self.down[0], v * self.down[1]);
                    let places = self.across[left * k..].chunks_exact(k);
                    if inside {
                        let (dx, dy) = (fixed(dx), fixed(dy));
                        for (sum, places) in sums[..wide].iter_mut().zip(self.fixed[left * k..].chunks_exact(k)) {
                            // Summed where no memory has to be waited for.
                            let mut all = *sum;
                            for [x, y] in places {
                                let at = between(view, x + dx, y + dy);
                                for c in 0..4 {
                                    all[c] += at[c];
                                }
                            }
                            *sum = all;
                        }
                        continue;
                    }
                    for (sum, places) in sums[..wide].iter_mut().zip(places) {
                        for [x, y] in places {
                            let at = bilinear(view, x + dx, y + dy, border);
                            for c in 0..4 {
                                sum[c] += at[c];
                            }
                        }
                    }
                }
                for (c, plane) in out.iter_mut().enumerate() {
                    for (value, sum) in plane[row * n + left..][..wide].iter_mut().zip(&sums) {
                        *value = sum[c] / all;
                    }
                }
            }
        }
    }
}

/// Pixels in fixed point: a 65 536th of a pixel is far below what any network can tell.
fn fixed(pixels: f64) -> i64 {
    (pixels * 65536.0).round() as i64
}

/// The value at `x`, `y`, counted from the centre of the top-left pixel, from 0 to 255; a fourth number that means nothing.
#[inline(always)]
fn bilinear(view: &View<'_>, x: f64, y: f64, border: Border) -> [f32; 4] {
    let (x, y) = match border {
        Border::Black => (x, y),
        // The edge repeated is the nearest place of the picture.
        Border::Edge => (x.clamp(0.0, view.width as f64 - 1.0), y.clamp(0.0, view.height as f64 - 1.0)),
    };
    // Cast toward zero, which is down from 0 on.
    let (x0, y0) = (x as u32 as usize, y as u32 as usize);
    if x >= 0.0 && y >= 0.0 && x0 + 1 < view.width && y0 + 1 < view.height {
        let (tx, ty) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
        let at = 3 * (y0 * view.width + x0);
        let below = at + 3 * view.width;
        // Eight bytes of each row, of which the first six count; the last pixel of the picture has no eight.
        if let (Some(upper), Some(lower)) = (eight(view.rgb, at), eight(view.rgb, below)) {
            return std::array::from_fn(|c| {
                let top = f32::from(upper[c]) * (1.0 - tx) + f32::from(upper[c + 3]) * tx;
                let bottom = f32::from(lower[c]) * (1.0 - tx) + f32::from(lower[c + 3]) * tx;
                top * (1.0 - ty) + bottom * ty
            });
        }
    }
    beyond(view, x, y, border)
}

/// The same well inside the picture, from places in fixed point; nought beyond it.
#[inline(always)]
fn between(view: &View<'_>, x: i64, y: i64) -> [f32; 4] {
    let part = |v: i64| (v & 0xffff) as i32 as f32 * (1.0 / 65536.0);
    let (tx, ty) = (part(x), part(y));
    let at = 3 * ((y >> 16) as usize * view.width + (x >> 16) as usize);
    let Some([upper, lower]) = eight(view.rgb, at).zip(eight(view.rgb, at + 3 * view.width)).map(|(u, l)| [u, l])
    else {
        return [0.0; 4];
    };
    let (far, below) = (tx * (1.0 - ty), (1.0 - tx) * ty);
    let (near, across) = ((1.0 - tx) * (1.0 - ty), tx * ty);
    std::array::from_fn(|c| {
        f32::from(upper[c]) * near
            + f32::from(upper[c + 3]) * far
            + (f32::from(lower[c]) * below + f32::from(lower[c + 3]) * across)
    })
}

#[inline(always)]
fn eight(bytes: &[u8], at: usize) -> Option<&[u8; 8]> {
    bytes.get(at..at + 8)?.first_chunk()
}

/// The same at the picture's edge and beyond.
#[cold]
fn beyond(view: &View<'_>, x: f64, y: f64, border: Border) -> [f32; 4] {
    let (w, h) = (view.width as i64, view.height as i64);
    let (fx, fy) = (x.floor(), y.floor());
    let (tx, ty) = ((x - fx) as f32, (y - fy) as f32);
    let (x0, y0) = (fx as i64, fy as i64);
    let pixel = |x: i64, y: i64| -> [f32; 4] {
        let inside = x >= 0 && y >= 0 && x < w && y < h;
        if !inside && border == Border::Black {
            return [0.0; 4];
        }
        let at = 3 * (y.clamp(0, h - 1) as usize * view.width + x.clamp(0, w - 1) as usize);
        let [r, g, b] = [0, 1, 2].map(|c| f32::from(view.rgb[at + c]));
        [r, g, b, 0.0]
    };
    let (a, b, c, d) = (pixel(x0, y0), pixel(x0 + 1, y0), pixel(x0, y0 + 1), pixel(x0 + 1, y0 + 1));
    std::array::from_fn(|k| (a[k] * (1.0 - tx) + b[k] * tx) * (1.0 - ty) + (c[k] * (1.0 - tx) + d[k] * tx) * ty)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A slope: the value is the place itself, so that where a sample was taken can be read off it.
    fn slope() -> Vec<u8> {
        (0..64 * 64).flat_map(|i| [(2 * (i % 64)) as u8, (2 * (i / 64)) as u8, 9]).collect()
    }

    #[test]
    fn samples_are_taken_half_pixel_correct() {
        let rgb = slope();
        let view = View::new(64, 64, &rgb).expect("whole");
        for (side, turn, turned) in [(16.0, 0.0, false), (8.0, 0.4, false), (16.0, 0.0, true), (40.0, 0.2, false)] {
            let square = Square { centre: Pixel::new(31.0, 33.5), side, turn };
            let straight = sample(&view, &square, 8, Border::Edge);
            let got = if turned { mirrored(&straight, 8) } else { straight };
            for row in 0..8 {
                for column in 0..8 {
                    let u = (column as f64 + 0.5) / 8.0;
                    let at = square.place(if turned { 1.0 - u } else { u }, (row as f64 + 0.5) / 8.0);
                    let value = |c: usize| f64::from(got[(c * 8 + row) * 8 + column]) * 255.0 / 2.0 + 0.5;
                    assert!((value(0) - at.x).abs() < 1e-3, "x {} at {at:?}, side {side}", value(0));
                    assert!((value(1) - at.y).abs() < 1e-3, "y {} at {at:?}, side {side}", value(1));
                }
            }
        }
    }

    #[test]
    fn beyond_the_picture_is_black_or_the_edge() {
        let rgb = vec![200; 3 * 4 * 4];
        let view = View::new(4, 4, &rgb).expect("whole");
        let far = Square { centre: Pixel::new(-20.0, 2.0), side: 4.0, turn: 0.0 };
        assert_eq!(sample(&view, &far, 2, Border::Black), vec![0.0; 12]);
        assert!(sample(&view, &far, 2, Border::Edge).iter().all(|v| (v - 200.0 / 255.0).abs() < 1e-6));
        assert!(View::new(4, 4, &rgb[1..]).is_none() && View::new(0, 4, &[]).is_none());
    }
}
