//! The white of the eye: the opening of the lids less the iris, grown by 15 %, and the lids' margins.

use colour::{Lab, Linear};
use face::{Iris, Landmarks, Pixel, mirror};
use vocab::Side;

use crate::light::{Light, usable, within};
use crate::{M3, V3, Value};

/// Colour of the white of one eye.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sclera {
    /// Redness: a*.
    pub redness: Value,
    /// Yellowness: b*.
    pub yellowness: Value,
}

/// The opening of one eye, own left, outer corner, lower margin, inner corner, upper margin.
const OPENING: [usize; 16] = [263, 249, 390, 373, 374, 380, 381, 382, 362, 398, 384, 385, 386, 387, 388, 466];
/// The iris is grown by this much: its soft edge is not white.
const GROWN: f64 = 1.15;
/// The lids' margins and their shadow, mm.
const MARGIN_MM: f64 = 1.0;
/// Too few pixels to say anything.
const LEAST: usize = 40;

/// Mean linear light of a white and its covariance from blocks.
pub(crate) struct White {
    pub light: [f64; 3],
    pub covariance: M3,
}

/// The white of one eye; none where too little of it is seen.
pub(crate) fn white(
    light: &impl Light,
    landmarks: &Landmarks,
    iris: &Iris,
    side: Side,
    mm_per_px: f64,
    meaning: &impl Fn(Linear) -> Linear,
) -> Option<White> {
    let own = |n: usize| if side == Side::Right { mirror(n) } else { n };
    let rim = OPENING.map(|n| landmarks.at(own(n)));
    let corners = shrunk(&rim, MARGIN_MM / mm_per_px);
    let block = (1.0 / mm_per_px).max(1.0);
    let mut blocks: std::collections::BTreeMap<(i32, i32), (V3, f64)> = std::collections::BTreeMap::new();
    let mut count = 0;
    within(&corners, light.size(), |x, y| {
        let at = Pixel::new(x as f64 + 0.5, y as f64 + 0.5);
        if at.to(iris.centre) < GROWN * iris.radius || !usable(light.levels(x, y)) {
            return;
        }
        let Linear(c) = meaning(light.linear(x, y));
        let b = blocks.entry(((at.x / block) as i32, (at.y / block) as i32)).or_insert((V3::zeros(), 0.0));
        b.0 += V3::from(c);
        b.1 += 1.0;
        count += 1;
    });
    if count < LEAST || blocks.len() < 6 {
        return None;
    }
    // The darker third is lashes and shadow, the lightest twentieth the lamp's image.
    let mut means: Vec<(V3, f64)> = blocks.into_values().map(|(s, n)| (s / n, n)).collect();
    means.sort_by(|a, b| a.0[1].total_cmp(&b.0[1]));
    let kept = &means[means.len() / 3..(means.len() * 19).div_ceil(20)];
    let total: f64 = kept.iter().map(|k| k.1).sum();
    let mean = kept.iter().map(|k| k.0 * k.1).sum::<V3>() / total;
    let n = kept.len() as f64;
    let covariance =
        kept.iter().map(|k| (k.0 - mean) * (k.0 - mean).transpose()).sum::<M3>() / (n * (n - 1.0).max(1.0));
    Some(White { light: mean.into(), covariance })
}

/// A polygon drawn in toward its middle line by a distance.
fn shrunk(polygon: &[Pixel; 16], by: f64) -> Vec<Pixel> {
    // The margins run along the opening: move each toward the chord between the corners.
    let (outer, inner) = (polygon[0], polygon[8]);
    let length = outer.to(inner).max(1e-9);
    let across = [-(inner.y - outer.y) / length, (inner.x - outer.x) / length];
    polygon
        .iter()
        .map(|p| {
            let depth = (p.x - outer.x) * across[0] + (p.y - outer.y) * across[1];
            let less = depth.signum() * by.min(depth.abs());
            Pixel::new(p.x - across[0] * less, p.y - across[1] * less)
        })
        .collect()
}

/// Its colour, once a card says what the light means.
pub(crate) fn sclera(white: &White, extra: f64) -> Sclera {
    let lab = |c: V3| -> Lab { Linear(c.into()).xyz().lab() };
    let mean = V3::from(white.light);
    let here = lab(mean);
    let mut slopes = [V3::zeros(); 2];
    for k in 0..3 {
        let mut moved = mean;
        let h = (0.01 * mean[k]).max(1e-5);
        moved[k] += h;
        let there = lab(moved);
        slopes[0][k] = (there.a - here.a) / h;
        slopes[1][k] = (there.b - here.b) / h;
    }
    let u = |g: &V3| (g.transpose() * white.covariance * g)[(0, 0)].max(0.0).sqrt().hypot(extra);
    Sclera { redness: Value::of(here.a, u(&slopes[0])), yellowness: Value::of(here.b, u(&slopes[1])) }
}
