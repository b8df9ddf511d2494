//! Drawn numbers, the same on every machine.

/// SplitMix64 (Steele, Lea, Flood 2014), with normal numbers by the polar method (Marsaglia and Bray 1964).
pub struct Chance {
    state: u64,
    spare: Option<f64>,
}

impl Chance {
    /// From a seed.
    pub fn new(seed: u64) -> Chance {
        Chance { state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5bd1_e995, spare: None }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Whether something of this probability happens.
    pub fn happens(&mut self, share: f64) -> bool {
        self.uniform() < share
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (u, v) = (self.between(-1.0, 1.0), self.between(-1.0, 1.0));
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                let f = (-2.0 * s.ln() / s).sqrt();
                self.spare = Some(v * f);
                return u * f;
            }
        }
    }
}
