//! Pictures of invented faces, and the files around them that no encoder at hand writes.

use std::sync::OnceLock;

use phantom::{Person, Shot, photograph};
use serde_json::Value;
use vision::View;

use crate::house::{Folder, Said, run};

/// An RGB picture.
#[derive(Clone)]
pub struct Picture {
    pub width: usize,
    pub height: usize,
    pub rgb: Vec<u8>,
}

/// An invented person from in front in even light.
pub fn plain(seed: u64, change: impl FnOnce(&mut Shot)) -> Picture {
    let mut shot = Shot { width: 480, height: 600, ..Shot::plain() };
    change(&mut shot);
    let (picture, _) = photograph(&Person::invented(seed), &shot);
    Picture { width: picture.width, height: picture.height, rgb: picture.rgb }
}

/// The face that most tests look at.
pub fn usual() -> &'static Picture {
    static FACE: OnceLock<Picture> = OnceLock::new();
    FACE.get_or_init(|| plain(7, |shot| shot.yaw = 4.0))
}

/// What `map --json` says of the usual face.
pub fn usual_map() -> &'static Value {
    static MAP: OnceLock<Value> = OnceLock::new();
    MAP.get_or_init(|| mapped("usual", &usual().png(), "png", &[]).json())
}

/// Runs `map --json` on a file's bytes.
pub fn mapped(name: &str, bytes: &[u8], ending: &str, more: &[&str]) -> Said {
    let folder = Folder::new(&format!("photo-{name}"));
    let photo = folder.write(&format!("photo.{ending}"), bytes);
    run(&[&["map", photo.as_str(), "--json"], more].concat())
}

impl Picture {
    pub fn flat(width: usize, height: usize, at: impl Fn(usize, usize) -> [u8; 3]) -> Picture {
        let rgb = (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).flat_map(|(x, y)| at(x, y)).collect();
        Picture { width, height, rgb }
    }

    pub fn at(&self, x: usize, y: usize) -> [u8; 3] {
        let i = 3 * (y * self.width + x);
        [self.rgb[i], self.rgb[i + 1], self.rgb[i + 2]]
    }

    fn view(&self) -> View<'_> {
        View::new(self.width, self.height, &self.rgb).expect("a picture")
    }

    pub fn png(&self) -> Vec<u8> {
        vision::png(&self.view()).expect("a PNG")
    }

    pub fn jpeg(&self) -> Vec<u8> {
        vision::jpeg(&self.view(), 95).expect("a JPEG")
    }

    pub fn flipped(&self) -> Picture {
        Picture::flat(self.width, self.height, |x, y| self.at(self.width - 1 - x, y))
    }

    /// Smaller by a whole number: means of squares.
    pub fn smaller(&self, by: usize) -> Picture {
        Picture::flat(self.width / by, self.height / by, |x, y| {
            let sum = |c: usize| -> usize {
                (0..by * by).map(|i| usize::from(self.at(x * by + i % by, y * by + i / by)[c])).sum()
            };
            [0, 1, 2].map(|c| (sum(c) / (by * by)) as u8)
        })
    }

    /// Lays another picture over this one.
    pub fn paste(&mut self, over: &Picture, left: usize, top: usize) {
        for y in 0..over.height {
            let to = 3 * ((top + y) * self.width + left);
            self.rgb[to..to + 3 * over.width].copy_from_slice(&over.rgb[3 * y * over.width..][..3 * over.width]);
        }
    }

    /// The stored picture whose orientation (EXIF 2.32, tag 274) turns it into this one.
    pub fn stored(&self, orientation: u8) -> Picture {
        let (w, h) = (self.width, self.height);
        let (sw, sh) = if orientation >= 5 { (h, w) } else { (w, h) };
        Picture::flat(sw, sh, |x, y| {
            let (bx, by) = (sw - 1 - x, sh - 1 - y);
            let (ux, uy) = match orientation {
                2 => (bx, y),
                3 => (bx, by),
                4 => (x, by),
                5 => (y, x),
                6 => (by, x),
                7 => (by, bx),
                8 => (y, bx),
                _ => (x, y),
            };
            self.at(ux, uy)
        })
    }

    /// A PNG of 16 bits a sample, not packed (deflate's stored blocks, RFC 1951).
    pub fn png16(&self) -> Vec<u8> {
        let mut rows = Vec::new();
        for row in self.rgb.chunks_exact(3 * self.width) {
            rows.push(0);
            // 8 bits in the upper half, something below them.
            row.iter().for_each(|v| rows.extend([*v, v ^ 0x5a]));
        }
        let mut packed = vec![0x78, 0x01];
        let blocks = rows.chunks(65_535).count();
        for (i, block) in rows.chunks(65_535).enumerate() {
            let length = block.len() as u16;
            packed.push(u8::from(i + 1 == blocks));
            packed.extend(length.to_le_bytes());
            packed.extend((!length).to_le_bytes());
            packed.extend(block);
        }
        let (a, b) = rows.iter().fold((1u32, 0u32), |(a, b), v| {
            let a = (a + u32::from(*v)) % 65_521;
            (a, (b + a) % 65_521)
        });
        packed.extend((b << 16 | a).to_be_bytes());
        let size = [(self.width as u32).to_be_bytes(), (self.height as u32).to_be_bytes()].concat();
        let head = [size.as_slice(), &[16, 2, 0, 0, 0]].concat();
        let chunks = [chunk(b"IHDR", &head), chunk(b"IDAT", &packed), chunk(b"IEND", b"")].concat();
        [b"\x89PNG\r\n\x1a\n".as_slice(), &chunks].concat()
    }

    /// A JPEG in printing inks, every pixel a flat block of 8 x 8: ITU-T T.81 with means alone, Adobe's inverted inks.
    pub fn cmyk_blocks(&self) -> Vec<u8> {
        let mut out = vec![0xff, 0xd8];
        let segment = |marker: u8, body: &[u8]| {
            [&[0xff, marker], (body.len() as u16 + 2).to_be_bytes().as_slice(), body].concat()
        };
        out.extend(segment(0xee, b"Adobe\0\x64\0\0\0\0\0"));
        out.extend(segment(0xdb, &[&[0], [8; 64].as_slice()].concat()));
        let size = [(self.height as u16 * 8).to_be_bytes(), (self.width as u16 * 8).to_be_bytes()].concat();
        let parts = [1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0];
        out.extend(segment(0xc0, &[&[8], size.as_slice(), &[4], &parts].concat()));
        // Differences: twelve codes of four bits, each its own size. The rest: one code of one bit, "end of block".
        let differences = [0x00, 0, 0, 0, 12, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11];
        out.extend(segment(0xc4, &differences));
        out.extend(segment(0xc4, &[0x10, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]));
        out.extend(segment(0xda, &[4, 1, 0, 2, 0, 3, 0, 4, 0, 0, 63, 0]));
        let (mut bits, mut held, mut last) = (Vec::new(), (0u32, 0u32), [128i32; 4]);
        let mut put = |value: u32, count: u32| {
            held = (held.0 << count | value, held.1 + count);
            while held.1 >= 8 {
                let byte = (held.0 >> (held.1 - 8)) as u8;
                bits.push(byte);
                if byte == 0xff {
                    bits.push(0);
                }
                held.1 -= 8;
                held.0 &= (1 << held.1) - 1;
            }
        };
        for pixel in self.rgb.chunks_exact(3) {
            let inks = [pixel[0], pixel[1], pixel[2], 255];
            for (last, ink) in last.iter_mut().zip(inks) {
                let difference = i32::from(ink) - *last;
                *last = i32::from(ink);
                let size = 32 - difference.unsigned_abs().leading_zeros();
                put(size, 4);
                let coded = if difference < 0 { difference + (1 << size) - 1 } else { difference };
                put(coded as u32, size);
                put(0, 1);
            }
        }
        put(0x7f, 7);
        out.extend(bits);
        out.extend([0xff, 0xd9]);
        out
    }
}

/// A PNG chunk with its checksum.
pub fn chunk(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut out = (body.len() as u32).to_be_bytes().to_vec();
    out.extend(kind);
    out.extend(body);
    let table: Vec<u32> =
        (0..256u32).map(|n| (0..8).fold(n, |c, _| if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 })).collect();
    let crc = out[4..].iter().fold(!0u32, |crc, b| table[((crc ^ u32::from(*b)) & 0xff) as usize] ^ crc >> 8);
    out.extend((!crc).to_be_bytes());
    out
}

/// Puts a segment after a JPEG's start.
pub fn with_segment(jpeg: &[u8], marker: u8, body: &[u8]) -> Vec<u8> {
    let length = (body.len() as u16 + 2).to_be_bytes();
    [&jpeg[..2], &[0xff, marker], &length, body, &jpeg[2..]].concat()
}

/// The landmarks of an answer.
pub fn landmarks(map: &Value) -> Vec<[f64; 3]> {
    let all = map["landmarks"].as_array().expect("landmarks");
    all.iter().map(|p| std::array::from_fn(|k| p[k].as_f64().expect("a number"))).collect()
}

/// The points that an answer places: code, side, place in pixels.
pub fn points(map: &Value) -> Vec<(String, String, [f64; 2])> {
    let all = map["points"].as_array().expect("points").iter();
    let text = |p: &Value, key: &str| p[key].as_str().expect("a text").to_owned();
    all.filter_map(|p| Some((text(p, "code"), text(p, "side"), [p["x_px"].as_f64()?, p["y_px"].as_f64()?]))).collect()
}

/// The distance of the outer corners of the eyes, pixels.
pub fn eyes(map: &Value) -> f64 {
    let all = landmarks(map);
    (all[33][0] - all[263][0]).hypot(all[33][1] - all[263][1])
}

/// How far the landmarks of two answers lie apart at most, as a share of the eyes' distance.
pub fn apart(a: &Value, b: &Value) -> f64 {
    let pairs = landmarks(a).into_iter().zip(landmarks(b));
    pairs.map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1])).fold(0.0, f64::max) / eyes(a)
}

pub fn warned(map: &Value, part: &str) -> bool {
    map["warnings"].as_array().expect("warnings").iter().any(|w| w.as_str().is_some_and(|w| w.contains(part)))
}
