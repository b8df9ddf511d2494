//! Any bytes at all through the photograph decoder. The fuzzer's panic hook aborts, so that a panic inside a decoding
//! library is found here although the crate would catch it.
#![no_main]

use libfuzzer_sys::fuzz_target;
use vision_fuzz::{Limits, Samples, decode};

const LIMITS: Limits = Limits { most_bytes: 1 << 20, most_pixels: 1 << 16, most_side: 4096 };

fuzz_target!(|bytes: &[u8]| {
    if let Ok(photo) = decode(bytes, &LIMITS) {
        let pixels = u64::from(photo.width) * u64::from(photo.height);
        assert!(pixels <= LIMITS.most_pixels);
        let samples = match &photo.samples {
            Samples::Eight(v) => v.len(),
            Samples::Sixteen(v) => v.len(),
        };
        assert_eq!(samples as u64, pixels * 3);
        assert!((1..=8).contains(&photo.orientation));
    }
});
