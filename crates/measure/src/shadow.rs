//! The shadow under an eye: the band against the cheek, in CIELAB, and what is known of its error.

use colour::{Lab, Linear, Xyz, ciede2000, ita};

use crate::chance::Chance;
use crate::gather::Gathered;
use crate::{M3, V3, Value};

/// The band against the cheek: band less cheek.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shadow {
    /// Difference of lightness L*.
    pub l: Value,
    /// Difference of a* (green to red).
    pub a: Value,
    /// Difference of b* (blue to yellow).
    pub b: Value,
    /// Colour difference CIEDE2000.
    pub de: Value,
    /// Difference of the individual typology angle, degrees; none where b* is too small for an angle.
    pub ita: Option<Value>,
}

/// From XYZ to the sharpened cones of the Bradford adaptation (Lam 1985; ICC.1:2022, annex E).
const CONES: M3 = M3::new(0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296);

/// White balance leaves blue against green off by this much, ln, one standard deviation (our own estimate).
const LIGHTS_DOING: f64 = 0.12;

/// How the linear light of band and cheek is read as two colours.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Reading {
    /// The light itself: a card says what it means.
    Referenced,
    /// Only the ratio, on a nominal cheek.
    Relative(Lab),
}

impl Reading {
    /// The colours of band and cheek.
    pub(crate) fn colours(self, band: [f64; 3], cheek: [f64; 3]) -> (Lab, Lab) {
        match self {
            Reading::Referenced => (Linear(band).xyz().lab(), Linear(cheek).xyz().lab()),
            Reading::Relative(nominal) => {
                // In the cones that chromatic adaptation scales, no channel of skin comes near nought, as blue does in a file's own space.
                let cones = |c: [f64; 3]| CONES * V3::from(Linear(c).xyz().0);
                let (base, b, c) = (CONES * V3::from(nominal.xyz().0), cones(band), cones(cheek));
                let mut on = V3::from_fn(|k, _| base[k] * b[k] / c[k].max(1e-9));
                // A cheek far less blue than the class's is not the light's doing but the camera's matrix, which takes green from blue: then it
                // took as much from the band, and a ratio would make too much of it.
                let less = ((c[2] / c[1]) / (base[2] / base[1])).max(1e-3).ln().min(0.0);
                let taken = 1.0 - (-0.5 * (less / LIGHTS_DOING).powi(2)).exp();
                let added = b[2] * base[1] / c[1].max(1e-9)
                    + (base[2] - c[2] * base[1] / c[1].max(1e-9)) * b[1] / c[1].max(1e-9);
                on[2] += taken * (added - on[2]);
                let back = CONES.try_inverse().unwrap_or_else(M3::identity) * on;
                (Xyz(back.into()).lab(), nominal)
            }
        }
    }

    pub(crate) fn difference(self, band: [f64; 3], cheek: [f64; 3]) -> V3 {
        let (b, c) = self.colours(band, cheek);
        V3::new(b.l - c.l, b.a - c.a, b.b - c.b)
    }
}

/// How often blocks are drawn anew.
const DRAWS: usize = 200;

/// The covariance of the difference (and of the three channels' densities) from drawing both areas' blocks anew.
pub(crate) fn bootstrap(band: &Gathered, cheek: &Gathered, reading: Reading, plain: bool) -> (M3, M3) {
    let mut chance = Chance::new(band.count as u64 * 1_000_003 + cheek.count as u64);
    let mut draw = |g: &Gathered| {
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for _ in 0..g.blocks.len() {
            let b = &g.blocks[chance.below(g.blocks.len())];
            let part = if plain { &b.1 } else { &b.0 };
            (0..3).for_each(|k| sum[k] += part[k]);
            count += b.2;
        }
        sum.map(|s| s / f64::max(count, 1.0))
    };
    let draws: Vec<(V3, V3)> = (0..DRAWS)
        .map(|_| {
            let (b, c) = (draw(band), draw(cheek));
            (reading.difference(b, c), density(b, c))
        })
        .collect();
    (covariance(draws.iter().map(|d| d.0)), covariance(draws.iter().map(|d| d.1)))
}

/// -log10(band / cheek) of each channel.
pub(crate) fn density(band: [f64; 3], cheek: [f64; 3]) -> V3 {
    V3::from_fn(|k, _| -(band[k].max(1e-6) / cheek[k].max(1e-6)).log10())
}

fn covariance(values: impl Iterator<Item = V3> + Clone) -> M3 {
    let n = values.clone().count() as f64;
    let mean = values.clone().sum::<V3>() / n;
    values.map(|v| (v - mean) * (v - mean).transpose()).sum::<M3>() / (n - 1.0).max(1.0)
}

/// Half the width that holds 95 % of dE00 when the difference is drawn from its covariance: near nought a length is not
/// straight in its parts, and a slope would say too little.
fn spread(band: Lab, cheek: Lab, covariance: &M3) -> f64 {
    let here = ciede2000(band, cheek);
    let root = (covariance + M3::identity() * 1e-9).cholesky().map_or_else(M3::zeros, |c| c.l());
    let mut chance = Chance::new(7);
    let mut unit = || f64::from(chance.below(1 << 20) as u32) / f64::from(1 << 20) + 5e-7;
    let mut away: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let normal = V3::from_fn(|_, _| (-2.0 * unit().ln()).sqrt() * (std::f64::consts::TAU * unit()).cos());
            let d = root * normal;
            (ciede2000(Lab { l: band.l + d[0], a: band.a + d[1], b: band.b + d[2] }, cheek) - here).abs()
        })
        .collect();
    away.sort_by(f64::total_cmp);
    away[DRAWS * 95 / 100 - 1]
}

/// The values of a shadow from its two colours and the covariance of their difference.
pub(crate) fn shadow(band: Lab, cheek: Lab, covariance: &M3) -> Shadow {
    let u = |k: usize| covariance[(k, k)].max(0.0).sqrt();
    let slope = |of: &dyn Fn(Lab) -> Option<f64>| -> Option<(f64, f64)> {
        let value = of(band)?;
        let h = 0.05;
        let step = |k: usize, by: f64| {
            let mut c = band;
            match k {
                0 => c.l += by,
                1 => c.a += by,
                _ => c.b += by,
            }
            of(c)
        };
        let mut g = V3::zeros();
        for k in 0..3 {
            g[k] = (step(k, h)? - step(k, -h)?) / (2.0 * h);
        }
        Some((value, (g.transpose() * covariance * g)[(0, 0)].max(0.0).sqrt()))
    };
    let de = ciede2000(band, cheek);
    let u95_de = spread(band, cheek, covariance);
    let angle = slope(&|c| Some(ita(c)? - ita(cheek)?));
    Shadow {
        l: Value::of(band.l - cheek.l, u(0)),
        a: Value::of(band.a - cheek.a, u(1)),
        b: Value::of(band.b - cheek.b, u(2)),
        de: Value { value: de, u95: u95_de },
        ita: angle.map(|(v, u)| Value::of(v, u)),
    }
}
