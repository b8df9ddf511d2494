//! Two hundred thousand damaged photographs: none may panic (a panic caught from a library counts too), and what is
//! decoded stays within its limits. Deterministic: the same damage on every run.

mod common;

use common::*;
use image::ExtendedColorType;
use image::codecs::png::PngEncoder;
use moxcms::ColorProfile;
use vision::{DecodeErrorKind, Limits, Samples, decode};

/// How many damaged files.
const TRIES: usize = 200_000;

const LIMITS: Limits = Limits { most_bytes: 1 << 20, most_pixels: 1 << 14, most_side: 512 };

/// Marsaglia's xorshift, 64 bits (doi:10.18637/jss.v008.i14).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % below as u64) as usize
    }
}

fn seeds() -> Vec<(&'static str, Vec<u8>)> {
    let with = Beside { exif: Some(exif(6, 26)), icc: Some(icc(&ColorProfile::new_display_p3())) };
    let mut deep = Vec::new();
    write(PngEncoder::new(&mut deep), &[7; 8 * 8 * 8], (8, 8), ExtendedColorType::Rgba16, &with);
    vec![
        ("jpeg", jpeg((24, 16), &with)),
        ("plain.jpeg", jpeg((24, 16), &Beside::default())),
        ("cmyk.jpeg", cmyk()),
        ("png", png((24, 16), &with)),
        ("deep.png", deep),
        ("webp", webp((24, 16), &with)),
        ("moving.webp", moving_webp()),
        ("turned.heic", TURNED_HEIC.to_vec()),
        ("unspecified.heic", UNSPECIFIED_HEIC.to_vec()),
    ]
}

/// Numbers that decoders stumble over.
const EDGES: [u8; 8] = [0x00, 0x01, 0x7f, 0x80, 0xd9, 0xfe, 0xff, 0x10];

fn damage(dice: &mut Dice, file: &mut Vec<u8>, other: &[u8]) {
    for _ in 0..=dice.roll(4) {
        let at = dice.roll(file.len());
        let run = (1 + dice.roll(16)).min(file.len() - at);
        match dice.roll(8) {
            0 => file[at] ^= 1 << dice.roll(8),
            1 => file[at] = EDGES[dice.roll(8)],
            2 => file[at..at + run].fill(EDGES[dice.roll(8)]),
            3 => (0..run).for_each(|i| file[at + i] = dice.roll(256) as u8),
            4 => drop(file.drain(at..at + run)),
            5 => {
                let copy = file[at..at + run].to_vec();
                let to = dice.roll(file.len());
                file.splice(to..to, copy);
            }
            6 => {
                let from = dice.roll(other.len());
                let piece = other[from..(from + 4 * run).min(other.len())].to_vec();
                file.splice(at..at, piece);
            }
            _ => file.truncate((at + 1).max(16)),
        }
        if file.is_empty() {
            file.push(0xff);
        }
    }
}

/// PNG's checksums would stop the damage at the door: they are made right again in half the tries.
fn mend(file: &mut [u8]) {
    let mut at = 8;
    while let Some(head) = file.get(at..).and_then(|b| b.first_chunk::<8>()) {
        let [l3, l2, l1, l0, kind @ ..] = *head;
        let length = u32::from_be_bytes([l3, l2, l1, l0]) as usize;
        let Some(body) = file.get(at + 8..at.saturating_add(length).saturating_add(8)) else { break };
        let whole = chunk(&kind, body);
        let Some(place) = file.get_mut(at..at + whole.len()) else { break };
        place.copy_from_slice(&whole);
        at += whole.len();
    }
}

#[test]
fn damaged_photographs_never_panic() {
    let seeds = seeds();
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let (mut decoded, mut refused) = (0, 0);
    for n in 0..TRIES {
        let (name, seed) = &seeds[n % seeds.len()];
        let mut file = seed.clone();
        let other = dice.roll(seeds.len());
        damage(&mut dice, &mut file, &seeds[other].1);
        if name.ends_with("png") && dice.roll(2) == 0 {
            mend(&mut file);
        }
        match decode(&file, &LIMITS) {
            Ok(photo) => {
                decoded += 1;
                let pixels = u64::from(photo.width) * u64::from(photo.height);
                assert!(pixels <= LIMITS.most_pixels, "try {n}, {name}: {} x {}", photo.width, photo.height);
                let samples = match &photo.samples {
                    Samples::Eight(v) => v.len(),
                    Samples::Sixteen(v) => v.len(),
                };
                assert_eq!(samples as u64, pixels * 3, "try {n}, {name}");
            }
            Err(e) => {
                refused += 1;
                assert_ne!(*e.kind(), DecodeErrorKind::Panicked, "try {n}, {name}: a library panicked");
            }
        }
    }
    // The damage reaches both the readers' refusals and their pixels.
    assert!(decoded > TRIES / 20 && refused > TRIES / 20, "{decoded} decoded, {refused} refused");
    println!("{decoded} decoded, {refused} refused");
}

/// Every seed is a sound photograph. With SEEDS naming a folder, they are also written there, for the fuzzer.
#[test]
fn seeds_for_the_fuzzer() {
    let folder = std::env::var_os("SEEDS").map(std::path::PathBuf::from);
    for (name, file) in seeds() {
        assert!(decode(&file, &LIMITS).is_ok(), "{name}");
        if let Some(folder) = &folder {
            std::fs::write(folder.join("decode").join(name), &file).expect("the folder can be written");
        }
    }
    if let Some(folder) = folder {
        let (exif, icc) = (exif(6, 26), icc(&ColorProfile::new_display_p3()));
        let both = [(exif.len() as u16).to_be_bytes().as_slice(), &exif, &icc].concat();
        std::fs::write(folder.join("exif_icc").join("both"), both).expect("the folder can be written");
    }
}
