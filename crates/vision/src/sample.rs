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

/// Samples `n` by `n` values of each channel, plane after plane, from 0 to 1. Where the square is much larger than the
/// samples, each is the mean of up to 4 by 4 places, so that fine detail does not turn into noise. `mirrored`: left and
/// right exchanged.
pub fn sample(view: &View<'_>, square: &Square, n: usize, border: Border, mirrored: bool) -> Vec<f32> {
    let ratio = square.side / n as f64;
    let k = if ratio > 1.5 { (ratio.ceil() as usize).min(4) } else { 1 };
    let grid =
        Grid { n, k, origin: square.place(0.0, 0.0), along: square.place(1.0, 0.0), down: square.place(0.0, 1.0) };
    let rows = |from: usize, to: usize| -> Vec<[f32; 3]> {
        (from..to)
            .flat_map(|row| (0..n).map(move |column| (row, column)))
            .map(|(r, c)| grid.mean(view, r, c, border, mirrored))
            .collect()
    };
    // A large square of a large photograph is worth a second thread.
    let pixels = if k > 2 && n > 1 {
        std::thread::scope(|scope| {
            let lower = scope.spawn(|| rows(n / 2, n));
            let mut upper = rows(0, n / 2);
            // A thread that panicked leaves its half to be done here.
            upper.extend(lower.join().unwrap_or_else(|_| rows(n / 2, n)));
            upper
        })
    } else {
        rows(0, n)
    };
    let mut planes = vec![0.0f32; 3 * n * n];
    for (i, pixel) in pixels.iter().enumerate() {
        for c in 0..3 {
            planes[c * n * n + i] = pixel[c];
        }
    }
    planes
}

/// Where samples are taken.
struct Grid {
    n: usize,
    k: usize,
    origin: Pixel,
    along: Pixel,
    down: Pixel,
}

impl Grid {
    /// The mean of one sample's places, from 0 to 1.
    fn mean(&self, view: &View<'_>, row: usize, column: usize, border: Border, mirrored: bool) -> [f32; 3] {
        let k = self.k;
        let fine = 1.0 / (self.n * k) as f64;
        let (ax, ay) = (self.along.x - self.origin.x, self.along.y - self.origin.y);
        let (dx, dy) = (self.down.x - self.origin.x, self.down.y - self.origin.y);
        let mut sum = [0.0f32; 3];
        for i in 0..k {
            let v = ((row * k + i) as f64 + 0.5) * fine;
            for j in 0..k {
                let u = ((column * k + j) as f64 + 0.5) * fine;
                let u = if mirrored { 1.0 - u } else { u };
                let (x, y) = (self.origin.x + u * ax + v * dx, self.origin.y + u * ay + v * dy);
                let at = bilinear(view, x - 0.5, y - 0.5, border);
                for c in 0..3 {
                    sum[c] += at[c];
                }
            }
        }
        sum.map(|s| s / (255.0 * (k * k) as f32))
    }
}

/// The value at `x`, `y`, counted from the centre of the top-left pixel, from 0 to 255.
fn bilinear(view: &View<'_>, x: f64, y: f64, border: Border) -> [f32; 3] {
    let (w, h) = (view.width as i64, view.height as i64);
    let (fx, fy) = (x.floor(), y.floor());
    let (tx, ty) = ((x - fx) as f32, (y - fy) as f32);
    let (x0, y0) = (fx as i64, fy as i64);
    if x0 >= 0 && y0 >= 0 && x0 + 1 < w && y0 + 1 < h {
        let at = 3 * (y0 as usize * view.width + x0 as usize);
        let upper = &view.rgb[at..at + 6];
        let below = at + 3 * view.width;
        let lower = &view.rgb[below..below + 6];
        return std::array::from_fn(|c| {
            let top = f32::from(upper[c]) * (1.0 - tx) + f32::from(upper[c + 3]) * tx;
            let bottom = f32::from(lower[c]) * (1.0 - tx) + f32::from(lower[c + 3]) * tx;
            top * (1.0 - ty) + bottom * ty
        });
    }
    let pixel = |x: i64, y: i64| -> [f32; 3] {
        let inside = x >= 0 && y >= 0 && x < w && y < h;
        if !inside && border == Border::Black {
            return [0.0; 3];
        }
        let at = 3 * (y.clamp(0, h - 1) as usize * view.width + x.clamp(0, w - 1) as usize);
        std::array::from_fn(|c| f32::from(view.rgb[at + c]))
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
        for (side, turn, mirrored) in [(16.0, 0.0, false), (8.0, 0.4, false), (16.0, 0.0, true), (40.0, 0.2, false)] {
            let square = Square { centre: Pixel::new(31.0, 33.5), side, turn };
            let got = sample(&view, &square, 8, Border::Edge, mirrored);
            for row in 0..8 {
                for column in 0..8 {
                    let u = (column as f64 + 0.5) / 8.0;
                    let at = square.place(if mirrored { 1.0 - u } else { u }, (row as f64 + 0.5) / 8.0);
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
        assert_eq!(sample(&view, &far, 2, Border::Black, false), vec![0.0; 12]);
        assert!(sample(&view, &far, 2, Border::Edge, false).iter().all(|v| (v - 200.0 / 255.0).abs() < 1e-6));
        assert!(View::new(4, 4, &rgb[1..]).is_none() && View::new(0, 4, &[]).is_none());
    }
}
