//! Photographs made for the tests: every picture here is our own invention. Shared by several test files, each of which
//! uses a part.
#![allow(dead_code)]

use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use image::{ExtendedColorType, ImageEncoder};

/// A HEIC of 96 x 64 stored pixels, turned a quarter by its container and by EXIF alike; data/README.md.
pub const TURNED_HEIC: &[u8] = include_bytes!("../data/turned.heic");
/// A HEIC of 96 x 64 pixels whose matrix is unspecified; data/README.md.
pub const UNSPECIFIED_HEIC: &[u8] = include_bytes!("../data/unspecified.heic");

/// The colours of the four quarters: top left, top right, bottom left, bottom right.
pub const QUARTERS: [[u8; 3]; 4] = [[224, 172, 144], [141, 85, 60], [96, 120, 200], [200, 200, 60]];

/// An RGB picture in four quarters.
pub fn quarters(width: u32, height: u32) -> Vec<u8> {
    let at = |x, y| QUARTERS[usize::from(x >= width / 2) + 2 * usize::from(y >= height / 2)];
    (0..height).flat_map(|y| (0..width).flat_map(move |x| at(x, y))).collect()
}

/// EXIF with an orientation and a focal length, little endian.
pub fn exif(orientation: u16, focal_35mm: u16) -> Vec<u8> {
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    tiff.extend(2u16.to_le_bytes());
    entry(&mut tiff, 0x0112, 3, u32::from(orientation));
    entry(&mut tiff, 0x8769, 4, 38);
    tiff.extend(0u32.to_le_bytes());
    tiff.extend(1u16.to_le_bytes());
    entry(&mut tiff, 0xa405, 3, u32::from(focal_35mm));
    tiff.extend(0u32.to_le_bytes());
    tiff
}

/// One directory entry of one value.
pub fn entry(tiff: &mut Vec<u8>, tag: u16, kind: u16, value: u32) {
    tiff.extend(tag.to_le_bytes());
    tiff.extend(kind.to_le_bytes());
    tiff.extend(1u32.to_le_bytes());
    tiff.extend(value.to_le_bytes());
}

/// What goes into a file beside its pixels.
#[derive(Default, Clone)]
pub struct Beside {
    pub exif: Option<Vec<u8>>,
    pub icc: Option<Vec<u8>>,
}

/// Encodes with any of `image`'s encoders.
pub fn write(mut encoder: impl ImageEncoder, samples: &[u8], size: (u32, u32), kind: ExtendedColorType, with: &Beside) {
    if let Some(icc) = &with.icc {
        encoder.set_icc_profile(icc.clone()).expect("the encoder takes a profile");
    }
    if let Some(exif) = &with.exif {
        encoder.set_exif_metadata(exif.clone()).expect("the encoder takes EXIF");
    }
    encoder.write_image(samples, size.0, size.1, kind).expect("a test picture");
}

/// A JPEG in four quarters.
pub fn jpeg(size: (u32, u32), with: &Beside) -> Vec<u8> {
    let mut out = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut out, 95);
    write(encoder, &quarters(size.0, size.1), size, ExtendedColorType::Rgb8, with);
    out
}

/// A PNG in four quarters.
pub fn png(size: (u32, u32), with: &Beside) -> Vec<u8> {
    let mut out = Vec::new();
    write(PngEncoder::new(&mut out), &quarters(size.0, size.1), size, ExtendedColorType::Rgb8, with);
    out
}

/// A lossless WebP in four quarters.
pub fn webp(size: (u32, u32), with: &Beside) -> Vec<u8> {
    let mut out = Vec::new();
    write(WebPEncoder::new_lossless(&mut out), &quarters(size.0, size.1), size, ExtendedColorType::Rgb8, with);
    out
}

/// A profile as a library writes it.
pub fn icc(profile: &moxcms::ColorProfile) -> Vec<u8> {
    profile.encode().expect("a profile of the library's own")
}

/// A PNG chunk with its checksum.
pub fn chunk(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut out = (body.len() as u32).to_be_bytes().to_vec();
    out.extend(kind);
    out.extend(body);
    let crc = out[4..].iter().fold(!0u32, |crc, &b| {
        (0..8).fold(crc ^ u32::from(b), |c, _| if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 })
    });
    out.extend((!crc).to_be_bytes());
    out
}

/// Puts a chunk after a PNG's header.
pub fn with_chunk(png: &[u8], kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    [&png[..33], &chunk(kind, body), &png[33..]].concat()
}

/// Puts a segment after a JPEG's start.
pub fn with_segment(jpeg: &[u8], marker: u8, body: &[u8]) -> Vec<u8> {
    let length = (body.len() as u16 + 2).to_be_bytes();
    [&jpeg[..2], &[0xff, marker], &length, body, &jpeg[2..]].concat()
}

/// A RIFF chunk, padded.
pub fn riff(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut out = kind.to_vec();
    out.extend((body.len() as u32).to_le_bytes());
    out.extend(body);
    out.resize(out.len() + body.len() % 2, 0);
    out
}

/// A WebP file around its chunks.
pub fn webp_file(chunks: &[Vec<u8>]) -> Vec<u8> {
    let body: Vec<u8> = std::iter::once(b"WEBP".to_vec()).chain(chunks.iter().cloned()).flatten().collect();
    [b"RIFF".as_slice(), &(body.len() as u32).to_le_bytes(), &body].concat()
}

/// A VP8X header.
pub fn vp8x(flags: u8, width: u32, height: u32) -> Vec<u8> {
    let [w, h] = [width - 1, height - 1].map(|v| v.to_le_bytes());
    riff(b"VP8X", &[flags, 0, 0, 0, w[0], w[1], w[2], h[0], h[1], h[2]])
}

/// The VP8L chunk of a plain lossless WebP of that size.
pub fn vp8l(size: (u32, u32)) -> Vec<u8> {
    let file = webp(size, &Beside::default());
    let at = file.windows(4).position(|w| w == b"VP8L").expect("a lossless picture");
    file[at..].to_vec()
}

/// A moving WebP: two frames.
pub fn moving_webp() -> Vec<u8> {
    let frame = |size: (u32, u32)| {
        let [w, h] = [size.0 - 1, size.1 - 1].map(|v| v.to_le_bytes());
        let head = [0, 0, 0, 0, 0, 0, w[0], w[1], w[2], h[0], h[1], h[2], 40, 0, 0, 2];
        riff(b"ANMF", &[head.as_slice(), &vp8l(size)].concat())
    };
    let chunks = [vp8x(2, 24, 16), riff(b"ANIM", &[255, 255, 255, 255, 0, 0]), frame((24, 16)), frame((12, 8))];
    webp_file(&chunks)
}

/// A box of an ISO media file.
pub fn iso(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    [&(body.len() as u32 + 8).to_be_bytes(), kind.as_slice(), body].concat()
}

/// A JPEG of four components and one flat block (8 x 8): ink colours, Adobe's marker without transform.
pub fn cmyk() -> Vec<u8> {
    let mut out = vec![0xff, 0xd8];
    out.extend([0xff, 0xee, 0, 14]);
    out.extend(b"Adobe\0\x64\0\0\0\0\0");
    out.extend([0xff, 0xdb, 0, 67, 0]);
    out.extend([1; 64]);
    out.extend([0xff, 0xc0, 0, 20, 8, 0, 8, 0, 8, 4]);
    (1..=4).for_each(|c| out.extend([c, 0x11, 0]));
    for class in [0x00, 0x10] {
        // One code of one bit, for symbol 0: no difference, or end of block.
        out.extend([0xff, 0xc4, 0, 20, class, 1]);
        out.extend([0; 16]);
    }
    out.extend([0xff, 0xda, 0, 14, 4]);
    (1..=4).for_each(|c| out.extend([c, 0]));
    // Eight zero bits: four blocks of "no difference, end".
    out.extend([0, 63, 0, 0x00, 0xff, 0xd9]);
    out
}
