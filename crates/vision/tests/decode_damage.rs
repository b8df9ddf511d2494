//! JPEGs damaged in their middle, in files that still begin and end as they should.

mod common;

use common::*;
use image::ExtendedColorType;
use image::codecs::jpeg::JpegEncoder;
use vision::{DecodeErrorKind, Limits, Photograph, decode};

/// Coded in ten passes; data/README.md.
const PROGRESSIVE: &[u8] = include_bytes!("data/progressive.jpg");
/// With a restart marker after every fourth unit; data/README.md.
const RESTARTS: &[u8] = include_bytes!("data/restarts.jpg");

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

/// A picture with something in every block.
fn busy() -> Vec<u8> {
    let (w, h) = (320u32, 200u32);
    let mut dice = Dice(7);
    let mut wave = |x: u32, y: u32, step: f64| 120.0 + 80.0 * (f64::from(x + y) / step).sin() + dice.roll(30) as f64;
    let at = |i: u32| (i % w, i / w);
    let rgb: Vec<u8> =
        (0..w * h).flat_map(|i| [9.0, 17.0, 31.0].map(|step| wave(at(i).0, at(i).1, step) as u8)).collect();
    let mut out = Vec::new();
    write(JpegEncoder::new_with_quality(&mut out, 85), &rgb, (w, h), ExtendedColorType::Rgb8, &Beside::default());
    out
}

fn sources() -> Vec<(&'static str, Vec<u8>)> {
    vec![("sequential", busy()), ("progressive", PROGRESSIVE.to_vec()), ("restarts", RESTARTS.to_vec())]
}

fn read(bytes: &[u8]) -> Result<Photograph, vision::DecodeError> {
    decode(bytes, &Limits::default())
}

/// Where the coded data begins (of the first pass) and ends.
fn coded(file: &[u8]) -> std::ops::Range<usize> {
    let scan = file.windows(2).position(|w| w == [0xff, 0xda]).expect("a scan");
    let head = usize::from(u16::from_be_bytes([file[scan + 2], file[scan + 3]]));
    scan + 2 + head..file.len() - 2
}

#[test]
fn sound_ones_pass() {
    for (row, file) in sources() {
        assert!(read(&file).is_ok_and(|p| p.notes.is_empty()), "{row}");
    }
}

#[test]
fn what_cameras_leave_around_a_picture_is_no_damage() {
    for (row, file) in sources() {
        let (body, end) = file.split_at(file.len() - 2);
        for (what, changed) in [
            ("bytes after the end", [&file, b"phone's own data \xff\xd8\xff\xe0".as_slice()].concat()),
            ("a second picture", [&file, file.as_slice()].concat()),
            ("zeros before the end", [body, &[0; 40], end].concat()),
            ("fill bytes before the end", [body, &[0xff; 5], end].concat()),
        ] {
            let same = read(&changed).is_ok_and(|p| p.rgb8() == read(&file).expect("a sound file").rgb8());
            assert!(same, "{row}, {what}");
        }
    }
}

#[test]
fn rows_cut_out_of_the_middle_are_missed() {
    for (row, file) in sources() {
        let data = coded(&file);
        let mut dice = Dice(11);
        for _ in 0..200 {
            let from = data.start + dice.roll(data.len() / 2);
            let cut = [&file[..from], &file[data.end..]].concat();
            let kind = read(&cut).map(|_| ()).map_err(|e| format!("{:?}", e.kind()));
            assert!(kind.is_err(), "{row}: {} coded bytes of {} passed", from - data.start, data.len());
        }
        let half = [&file[..data.start + data.len() / 3], &file[data.end..]].concat();
        assert_eq!(read(&half).expect_err(row).kind(), &DecodeErrorKind::Truncated, "{row}");
    }
}

/// Whether more than a twentieth of the picture looks different.
fn spoilt(a: &Photograph, b: &Photograph) -> bool {
    let (a, b) = (a.rgb8(), b.rgb8());
    let far = a.iter().zip(b.iter()).filter(|(a, b)| a.abs_diff(**b) > 16).count();
    far * 20 > a.len()
}

#[test]
fn overwritten_data_does_not_pass_for_another_picture() {
    let mut rows: Vec<_> = sources().into_iter().map(|(row, file)| (row, file, 64, 8)).collect();
    // A disk's sector.
    rows.push(("sequential, a sector", busy(), 512, 33));
    // Damage that leaves as many blocks, of possible values, is a valid other picture: in one whose blocks are all as long,
    // a sixth of the short damages.
    rows[0].3 = 5;
    for (row, file, length, share) in rows {
        let (data, sound) = (coded(&file), read(&file).expect("a sound file"));
        let mut dice = Dice(13);
        let (mut passed, mut wrong) = (0, 0);
        const TRIES: usize = 400;
        for n in 0..TRIES {
            let mut damaged = file.clone();
            let at = data.start + dice.roll(data.len() - length);
            match n % 4 {
                0 => damaged[at..at + length].fill(0),
                1 => damaged[at..at + length].iter_mut().for_each(|b| *b = dice.roll(255) as u8),
                2 => drop(damaged.drain(at..at + length / 4 + n % (length * 3 / 4))),
                _ => damaged[at..at + length].reverse(),
            }
            if let Ok(photo) = read(&damaged) {
                passed += 1;
                wrong += usize::from(spoilt(&photo, &sound));
            }
        }
        println!("{row}: {passed} of {TRIES} passed, {wrong} of them more than a twentieth changed");
        assert!(passed * share < TRIES, "{row}: {passed} of {TRIES} passed, {wrong} of them spoilt");
    }
}

#[test]
fn restarts_out_of_turn_are_damage() {
    let markers: Vec<usize> =
        (0..RESTARTS.len() - 1).filter(|&i| RESTARTS[i] == 0xff && (0xd0..=0xd7).contains(&RESTARTS[i + 1])).collect();
    assert!(markers.len() > 10, "{}", markers.len());
    for pair in markers.windows(2) {
        let without = [&RESTARTS[..pair[0]], &RESTARTS[pair[1]..]].concat();
        assert!(read(&without).is_err(), "the stretch at {} is missing", pair[0]);
    }
}
