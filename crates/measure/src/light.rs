//! A photograph as light.

use colour::Linear;
use face::Pixel;

/// A photograph, pixel by pixel, as linear light and as the file's levels.
pub trait Light: Sync {
    /// Pixels across and down.
    fn size(&self) -> (usize, usize);
    /// Linear light of a pixel within [`Light::size`], 1 the white of the file.
    fn linear(&self, x: usize, y: usize) -> Linear;
    /// The same pixel's levels as the file has them, 0 to 255.
    fn levels(&self, x: usize, y: usize) -> [u8; 3];
}

/// At or above this level of 255 a channel is blown out.
pub(crate) const BLOWN: u8 = 250;
/// At or below this level of 255 a channel is black.
pub(crate) const BLACK: u8 = 2;

/// Whether a pixel's levels carry light at all.
pub(crate) fn usable(levels: [u8; 3]) -> bool {
    levels.iter().all(|v| *v < BLOWN && *v > BLACK)
}

/// The pixels whose centres lie within a polygon, row by row: `each(x, y)`.
pub(crate) fn within(polygon: &[Pixel], (width, height): (usize, usize), mut each: impl FnMut(usize, usize)) {
    let (low, high) = polygon.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.y), h.max(p.y)));
    if !(low.is_finite() && high.is_finite()) || polygon.len() < 3 {
        return;
    }
    let rows = (low - 0.5).ceil().max(0.0) as usize..((high - 0.5).floor() + 1.0).clamp(0.0, height as f64) as usize;
    let mut crossings: Vec<f64> = Vec::new();
    for y in rows {
        let at = y as f64 + 0.5;
        crossings.clear();
        for (i, a) in polygon.iter().enumerate() {
            let b = polygon[(i + 1) % polygon.len()];
            if (a.y > at) != (b.y > at) {
                crossings.push(a.x + (at - a.y) * (b.x - a.x) / (b.y - a.y));
            }
        }
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let from = (pair[0] - 0.5).ceil().clamp(0.0, width as f64) as usize;
            let to = ((pair[1] - 0.5).floor() + 1.0).clamp(0.0, width as f64) as usize;
            (from..to).for_each(|x| each(x, y));
        }
    }
}

/// The mean luminance and colour of the usable pixels within `radius` pixels of a place, from a grid of at most 7 by 7; none where fewer than
/// half of them are usable.
pub(crate) fn spot(light: &impl Light, at: Pixel, radius: f64) -> Option<[f64; 3]> {
    let (w, h) = light.size();
    let steps = ((2.0 * radius).ceil() as usize).clamp(1, 7);
    let (mut sum, mut count, mut asked) = ([0.0; 3], 0, 0);
    for j in 0..steps {
        for i in 0..steps {
            let place = |k: usize| ((k as f64 + 0.5) / steps as f64 - 0.5) * 2.0 * radius;
            let (dx, dy) = (place(i), place(j));
            if dx.hypot(dy) > radius {
                continue;
            }
            asked += 1;
            let (x, y) = (at.x + dx, at.y + dy);
            if !(x >= 0.0 && y >= 0.0 && x < w as f64 && y < h as f64) {
                continue;
            }
            let (x, y) = (x as usize, y as usize);
            if usable(light.levels(x, y)) {
                let Linear(c) = light.linear(x, y);
                (0..3).for_each(|k| sum[k] += c[k]);
                count += 1;
            }
        }
    }
    (2 * count >= asked && count > 0).then(|| sum.map(|s| s / f64::from(count)))
}
