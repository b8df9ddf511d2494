//! Which surface is seen at which sample: a depth buffer at 2 x 2 (or more) samples a pixel.

/// A sample that sees nothing.
pub(crate) const NOTHING: u32 = u32::MAX;

/// The samples of a picture.
pub(crate) struct Raster {
    /// Samples across and down.
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Distance, mm.
    pub(crate) depth: Vec<f32>,
    /// Triangle.
    pub(crate) triangle: Vec<u32>,
    /// Perspective-correct shares of the triangle's second and third vertex.
    pub(crate) share: Vec<[f32; 2]>,
}

impl Raster {
    pub(crate) fn new(width: usize, height: usize) -> Self {
        let n = width * height;
        Self { width, height, depth: vec![f32::MAX; n], triangle: vec![NOTHING; n], share: vec![[0.0; 2]; n] }
    }

    /// Draws one triangle given x, y in samples and distance in mm. `keep` may refuse a sample by its shares.
    pub(crate) fn draw(&mut self, id: u32, p: [[f64; 3]; 3], keep: impl Fn(f32, f32) -> bool) {
        let [a, b, c] = p;
        if a[2] < 1.0 || b[2] < 1.0 || c[2] < 1.0 {
            return;
        }
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if area.abs() < 1e-12 {
            return;
        }
        // Adding one half and cutting off rounds up to the first sample centre inside.
        let span = |k: usize, limit: usize| {
            let low = (a[k].min(b[k]).min(c[k]) + 0.5).clamp(0.0, limit as f64) as usize;
            let high = (a[k].max(b[k]).max(c[k]) + 0.5).clamp(0.0, limit as f64) as usize;
            low..high
        };
        let inverse = [1.0 / a[2], 1.0 / b[2], 1.0 / c[2]];
        let columns = span(0, self.width);
        for row in span(1, self.height) {
            let y = row as f64 + 0.5 - a[1];
            for column in columns.clone() {
                let x = column as f64 + 0.5 - a[0];
                let wb = (x * (c[1] - a[1]) - y * (c[0] - a[0])) / area;
                let wc = ((b[0] - a[0]) * y - (b[1] - a[1]) * x) / area;
                let wa = 1.0 - wb - wc;
                if wa < 0.0 || wb < 0.0 || wc < 0.0 {
                    continue;
                }
                let depth = 1.0 / (wa * inverse[0] + wb * inverse[1] + wc * inverse[2]);
                let at = row * self.width + column;
                if (depth as f32) < self.depth[at] {
                    let (sb, sc) = ((wb * inverse[1] * depth) as f32, (wc * inverse[2] * depth) as f32);
                    if keep(sb, sc) {
                        self.depth[at] = depth as f32;
                        self.triangle[at] = id;
                        self.share[at] = [sb, sc];
                    }
                }
            }
        }
    }
}
