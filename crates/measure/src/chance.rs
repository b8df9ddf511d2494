//! The bootstrap's source of chance: splitmix64 (Steele, Lea and Flood 2014, doi:10.1145/2660193.2660195), so that one
//! photograph gives one answer on every run.

pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    /// A whole number in 0..count.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        // Multiply and shift: uneven by less than 2^-32 for the few hundred blocks drawn from here.
        (((z >> 32) * count as u64) >> 32) as usize
    }
}
