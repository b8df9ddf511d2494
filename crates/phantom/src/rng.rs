//! The crate's own source of chance: splitmix64 (Steele, Lea and Flood 2014, doi:10.1145/2660193.2660195), so that one
//! seed gives one person and one picture on every run and with every version of every library.

/// A stream of numbers from one seed.
#[derive(Clone, Debug)]
pub(crate) struct Rng(u64);

/// The golden-ratio step of splitmix64.
const STEP: u64 = 0x9E37_79B9_7F4A_7C15;

/// The output mix of splitmix64.
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Rng {
    /// A stream for `seed`; `purpose` keeps streams of one seed apart.
    pub(crate) fn new(seed: u64, purpose: u64) -> Self {
        Self(mix(seed.wrapping_add(STEP)) ^ mix(purpose.wrapping_mul(STEP) ^ 0x5bf0_3635))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(STEP);
        mix(self.0)
    }

    /// Even in [0, 1).
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even in [low, high).
    pub(crate) fn range(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Standard normal (Box and Muller), drawn again beyond 2.6 so that nobody is a caricature; SD 0.97 of the whole.
    pub(crate) fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (self.unit().max(1e-12), self.unit());
            let n = (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos();
            if n.abs() <= 2.6 {
                return n;
            }
        }
    }

    /// A whole number in 0..count.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

/// A repeatable value in [0, 1) for a lattice point.
fn lattice(x: i64, y: i64, z: i64, seed: u64) -> f32 {
    let h = (x as u64).wrapping_mul(0x9E37_79B1_85EB_CA87)
        ^ (y as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F)
        ^ (z as u64).wrapping_mul(0x1656_67B1_9E37_79F9)
        ^ seed;
    (mix(h) >> 40) as f32 / (1u64 << 24) as f32
}

/// Smooth value noise in [-1, 1] with one cell a unit.
pub(crate) fn noise(p: [f32; 3], seed: u64) -> f32 {
    // Rounding down by hand: the library call is slow on processors built for the common denominator.
    let cell = p.map(|v| {
        let whole = v as i32 as f32;
        if whole > v { whole - 1.0 } else { whole }
    });
    let f: [f32; 3] = std::array::from_fn(|i| {
        let t = p[i] - cell[i];
        t * t * (3.0 - 2.0 * t)
    });
    let [x, y, z] = cell.map(|c| c as i64);
    let lerp = |a: f32, b: f32, t: f32| a + (b - a) * t;
    let edge = |dy, dz| lerp(lattice(x, y + dy, z + dz, seed), lattice(x + 1, y + dy, z + dz, seed), f[0]);
    let value = lerp(lerp(edge(0, 0), edge(1, 0), f[1]), lerp(edge(0, 1), edge(1, 1), f[1]), f[2]);
    2.0 * value - 1.0
}
