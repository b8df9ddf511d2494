//! Any bytes as EXIF and as a colour profile, inside an otherwise sound JPEG. The first two bytes say where the one ends
//! and the other begins.
#![no_main]

use libfuzzer_sys::fuzz_target;
use vision_fuzz::{Limits, decode};

/// A grey JPEG of 8 x 8 pixels, from the start of its tables: one block, whose only coefficient is zero.
const REST: &[u8] = &{
    let mut rest = [0u8; 2 + 67 + 13 + 2 * 22 + 10 + 1 + 2];
    let mut at = 0;
    // Quantisation: all ones.
    let dqt = [0xff, 0xdb, 0, 67, 0];
    while at < 69 {
        rest[at] = if at < 5 { dqt[at] } else { 1 };
        at += 1;
    }
    // Frame, two Huffman tables with one code of one bit for symbol 0 each, scan, one byte of data, end.
    let tail: [u8; 70] = [
        0xff, 0xc0, 0, 11, 8, 0, 8, 0, 8, 1, 1, 0x11, 0, //
        0xff, 0xc4, 0, 20, 0x00, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, //
        0xff, 0xc4, 0, 20, 0x10, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, //
        0xff, 0xda, 0, 8, 1, 1, 0x00, 0, 63, 0, //
        0x3f, 0xff, 0xd9,
    ];
    while at < 139 {
        rest[at] = tail[at - 69];
        at += 1;
    }
    rest
};

fn segment(out: &mut Vec<u8>, marker: u8, parts: [&[u8]; 2]) {
    let length = 2 + parts[0].len() + parts[1].len();
    out.extend([0xff, marker]);
    out.extend((length as u16).to_be_bytes());
    parts.iter().for_each(|p| out.extend(*p));
}

fuzz_target!(|bytes: &[u8]| {
    let Some((&[a, b], rest)) = bytes.split_first_chunk::<2>() else { return };
    let rest = &rest[..rest.len().min(60_000)];
    let (exif, icc) = rest.split_at(usize::from(u16::from_be_bytes([a, b])).min(rest.len()));
    let mut file = vec![0xff, 0xd8];
    segment(&mut file, 0xe1, [b"Exif\0\0", exif]);
    segment(&mut file, 0xe2, [b"ICC_PROFILE\0\x01\x01", icc]);
    file.extend(REST);
    let photo = decode(&file, &Limits::default()).expect("metadata never costs the picture");
    assert_eq!((photo.width, photo.height), (8, 8));
    assert_eq!(photo.icc.as_deref(), Some(icc));
});
