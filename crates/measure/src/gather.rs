//! The pixels of one area, and what their mean is worth.

use std::collections::BTreeMap;

use colour::Linear;
use face::{Landmarks, Outline, Pixel, triangles};

use crate::light::{Light, usable, within};
use crate::shading::{LUMINANCE, Rows, Shading, median};

/// Pixels further from the middle of their area than this many scaled MAD of log-luminance are left out: highlights, lashes,
/// hair, rims.
const MAD: f64 = 3.0;
/// The edge of a block of the bootstrap, mm: texture of skin beyond pores is alike within it.
const BLOCK_MM: f64 = 2.0;

/// Sums of skin and of what was photographed, and how many pixels.
pub(crate) type Block = ([f64; 3], [f64; 3], f64);

/// An area's means in linear light.
#[derive(Clone, Debug)]
pub(crate) struct Gathered {
    /// With the light on the smooth face divided out.
    pub skin: [f64; 3],
    /// As photographed.
    pub plain: [f64; 3],
    /// Sums of both, and counts, of blocks of about 2 mm.
    pub blocks: Vec<Block>,
    /// The share of pixels left out.
    pub left_out: f64,
    /// The share blown out or black.
    pub clipped: f64,
    /// Standard deviation of log-luminance of what was kept.
    pub texture: f64,
    /// Standard deviation of log-luminance between blocks as photographed, less what single pixels' noise makes of it: skin is nowhere
    /// one colour, paint is.
    pub uneven: f64,
    /// How many pixels were kept.
    pub count: usize,
    /// The mean row of the area.
    pub row: Rows,
}

struct Seen {
    light: [f64; 3],
    shade: [f64; 3],
    depth: f64,
    block: (i32, i32),
}

/// The pixels of an outline: an even grid of about `most` of them where it holds more. `meaning` turns the file's linear light into that of the card, or leaves it.
pub(crate) fn gather(
    light: &impl Light,
    outline: &Outline,
    landmarks: &Landmarks,
    shading: &Shading,
    mm_per_px: f64,
    most: f64,
    meaning: &impl Fn(Linear) -> Linear,
) -> Option<Gathered> {
    let ground = Ground::of(&outline.corners, landmarks);
    let area = ground.area;
    let stride = ((area / most).sqrt().ceil() as usize).max(1);
    let mut seen: Vec<Seen> = Vec::new();
    let (mut all, mut clipped) = (0usize, 0usize);
    let mut last = 0;
    let block = BLOCK_MM / mm_per_px;
    let mut row = Rows::default();
    let mut rows = 0.0;
    within(&outline.corners, light.size(), |x, y| {
        if x % stride != 0 || y % stride != 0 {
            return;
        }
        all += 1;
        if !usable(light.levels(x, y)) {
            clipped += 1;
            return;
        }
        let at = Pixel::new(x as f64 + 0.5, y as f64 + 0.5);
        let (corners, weights) = ground.on(at, &mut last);
        let Linear(c) = meaning(light.linear(x, y));
        let shade = shading.at(corners, weights);
        if all % 16 == 1 {
            let here = shading.row(corners, weights);
            row.lit += here.lit;
            row.thrown += here.thrown;
            rows += 1.0;
        }
        let lum = (0..3).map(|k| LUMINANCE[k] * c[k] / shade[k]).sum::<f64>();
        seen.push(Seen {
            light: c,
            shade,
            depth: lum.max(1e-6).ln(),
            block: ((at.x / block) as i32, (at.y / block) as i32),
        });
    });
    if all < 30 || seen.len() < 20 {
        return None;
    }
    let middle = median(seen.iter().map(|s| s.depth).collect());
    let mad = 1.4826 * median(seen.iter().map(|s| (s.depth - middle).abs()).collect());
    let reach = MAD * mad.max(0.01);
    let mut blocks: BTreeMap<(i32, i32), Block> = BTreeMap::new();
    let (mut skin, mut plain, mut count) = ([0.0; 3], [0.0; 3], 0usize);
    let mut spread = 0.0;
    for s in seen.iter().filter(|s| (s.depth - middle).abs() <= reach) {
        let b = blocks.entry(s.block).or_insert(([0.0; 3], [0.0; 3], 0.0));
        for k in 0..3 {
            let own = s.light[k] / s.shade[k];
            skin[k] += own;
            plain[k] += s.light[k];
            b.0[k] += own;
            b.1[k] += s.light[k];
        }
        b.2 += 1.0;
        spread += (s.depth - middle).powi(2);
        count += 1;
    }
    let n = count as f64;
    let blocks: Vec<Block> = blocks.into_values().collect();
    Some(Gathered {
        uneven: uneven(&blocks, (spread / n).sqrt()),
        skin: skin.map(|v| v / n),
        plain: plain.map(|v| v / n),
        blocks,
        left_out: 1.0 - n / all as f64,
        clipped: clipped as f64 / all as f64,
        texture: (spread / n).sqrt(),
        count,
        row: Rows { lit: row.lit / f64::max(rows, 1.0), thrown: row.thrown / f64::max(rows, 1.0) },
    })
}

/// See [`Gathered::uneven`]. Blocks with few pixels say nothing.
fn uneven(blocks: &[Block], texture: f64) -> f64 {
    let most = blocks.iter().map(|b| b.2).fold(0.0, f64::max);
    let whole: Vec<(f64, f64)> = blocks
        .iter()
        .filter(|b| b.2 >= 0.5 * most)
        .map(|b| ((0..3).map(|k| LUMINANCE[k] * b.1[k] / b.2).sum::<f64>().max(1e-6).ln(), b.2))
        .collect();
    let n = whole.len() as f64;
    let mean = whole.iter().map(|b| b.0).sum::<f64>() / n;
    let seen = whole.iter().map(|b| (b.0 - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    let noise = whole.iter().map(|b| texture * texture / b.1).sum::<f64>() / n;
    // Neighbouring pixels share their noise (sharpening, compression): it counts four times.
    (seen - 4.0 * noise).max(0.0).sqrt()
}

/// The triangles of the face under an outline.
struct Ground {
    triangles: Vec<([usize; 3], [Pixel; 3])>,
    nearest: Vec<(usize, Pixel)>,
    area: f64,
}

impl Ground {
    fn of(corners: &[Pixel], landmarks: &Landmarks) -> Ground {
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        let mut area = 0.0;
        for (i, p) in corners.iter().enumerate() {
            let q = corners[(i + 1) % corners.len()];
            area += (p.x * q.y - q.x * p.y) / 2.0;
            low = [low[0].min(p.x), low[1].min(p.y)];
            high = [high[0].max(p.x), high[1].max(p.y)];
        }
        let over = |t: &[Pixel; 3]| {
            let range =
                |of: fn(&Pixel) -> f64| t.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            let (x, y) = (range(|p| p.x), range(|p| p.y));
            x.0 <= high[0] && x.1 >= low[0] && y.0 <= high[1] && y.1 >= low[1]
        };
        let triangles: Vec<_> =
            triangles().iter().map(|t| (*t, t.map(|n| landmarks.at(n)))).filter(|(_, at)| over(at)).collect();
        let nearest = triangles.iter().flat_map(|(t, at)| (0..3).map(|k| (t[k], at[k]))).collect();
        Ground { triangles, nearest, area: area.abs() }
    }

    /// The triangle that a pixel lies on, and its weights; beyond all of them the nearest corner.
    fn on(&self, p: Pixel, last: &mut usize) -> ([usize; 3], [f64; 3]) {
        let count = self.triangles.len();
        for step in 0..count {
            let index = (*last + step) % count;
            let (t, [a, b, c]) = self.triangles[index];
            let det = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
            if det.abs() < 1e-12 {
                continue;
            }
            let v = ((p.x - a.x) * (c.y - a.y) - (c.x - a.x) * (p.y - a.y)) / det;
            let w = ((b.x - a.x) * (p.y - a.y) - (p.x - a.x) * (b.y - a.y)) / det;
            let u = 1.0 - v - w;
            if u >= -1e-9 && v >= -1e-9 && w >= -1e-9 {
                *last = index;
                return (t, [u, v, w]);
            }
        }
        let near = self.nearest.iter().min_by(|a, b| a.1.to(p).total_cmp(&b.1.to(p))).map_or(0, |n| n.0);
        ([near; 3], [1.0, 0.0, 0.0])
    }
}
