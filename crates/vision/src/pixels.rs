//! What `face` asks of a picture.

use face::{Pixel, Pixels};

use crate::View;

impl Pixels for View<'_> {
    /// Between the pixels: bilinear, half-pixel-correct. None beyond the picture.
    fn rgb(&self, at: Pixel) -> Option<[f64; 3]> {
        let (w, h) = (self.width as f64, self.height as f64);
        if !(at.x >= 0.0 && at.y >= 0.0 && at.x <= w && at.y <= h) {
            return None;
        }
        let (x, y) = ((at.x - 0.5).clamp(0.0, w - 1.0), (at.y - 0.5).clamp(0.0, h - 1.0));
        let (x0, y0) = (x.floor() as usize, y.floor() as usize);
        let (x1, y1) = ((x0 + 1).min(self.width - 1), (y0 + 1).min(self.height - 1));
        let (tx, ty) = (x - x0 as f64, y - y0 as f64);
        let value = |x: usize, y: usize, c: usize| f64::from(self.rgb[3 * (y * self.width + x) + c]) / 255.0;
        Some(std::array::from_fn(|c| {
            let top = value(x0, y0, c) * (1.0 - tx) + value(x1, y0, c) * tx;
            let bottom = value(x0, y1, c) * (1.0 - tx) + value(x1, y1, c) * tx;
            top * (1.0 - ty) + bottom * ty
        }))
    }
}
