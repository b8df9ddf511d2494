//! What comes out of a sound file: the right pixels in the right place, with their profile, depth and notes.

mod common;

use common::*;
use image::ExtendedColorType;
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use moxcms::ColorProfile;
use vision::{Format, Limits, Note, Photograph, Profile, Samples, decode};

fn read(bytes: &[u8]) -> Photograph {
    decode(bytes, &Limits::default()).expect("a sound file")
}

/// The colours in the middle of the four quarters.
fn corners(photo: &Photograph) -> [[u8; 3]; 4] {
    let rgb = photo.rgb8();
    assert_eq!(rgb.len(), photo.width as usize * photo.height as usize * 3);
    [(1, 1), (3, 1), (1, 3), (3, 3)].map(|(x, y)| {
        let at = ((y * photo.height / 4 * photo.width + x * photo.width / 4) * 3) as usize;
        [rgb[at], rgb[at + 1], rgb[at + 2]]
    })
}

fn close(row: &str, found: [[u8; 3]; 4], expected: [[u8; 3]; 4], within: u8) {
    let far = found.iter().flatten().zip(expected.iter().flatten()).any(|(a, b)| a.abs_diff(*b) > within);
    assert!(!far, "{row}: {found:?}, expected {expected:?} within {within}");
}

/// Orientation, and which stored quarter is seen at top left, top right, bottom left, bottom right. EXIF 2.32, tag 274:
/// it names where the stored row 0 and column 0 are seen (1: top and left, 2: top, right; 3: bottom, right; 4: bottom,
/// left; 5: left, top; 6: right, top; 7: right, bottom; 8: left, bottom).
const TURNS: [(u16, [usize; 4]); 8] = [
    (1, [0, 1, 2, 3]),
    (2, [1, 0, 3, 2]),
    (3, [3, 2, 1, 0]),
    (4, [2, 3, 0, 1]),
    (5, [0, 2, 1, 3]),
    (6, [2, 0, 3, 1]),
    (7, [3, 1, 2, 0]),
    (8, [1, 3, 0, 2]),
];

#[test]
fn exif_orientation_is_applied_once() {
    for (turn, seen) in TURNS {
        let with = Beside { exif: Some(exif(turn, 26)), icc: None };
        // Odd quarters and more than one block of the turning loop; JPEG quarters fall between its blocks.
        let files = [
            (Format::Jpeg, jpeg((96, 64), &with), 6),
            (Format::Png, png((74, 46), &with), 0),
            (Format::WebP, webp((74, 46), &with), 0),
        ];
        for (format, file, within) in files {
            let row = format!("{format:?}, orientation {turn}");
            let photo = read(&file);
            assert_eq!((photo.format, photo.orientation), (format, turn as u8), "{row}");
            assert_eq!(photo.width > photo.height, turn < 5, "{row}: {} x {}", photo.width, photo.height);
            close(&row, corners(&photo), seen.map(|q| QUARTERS[q]), within);
            assert_eq!((photo.focal_35mm, photo.notes.as_slice()), (Some(26.0), [].as_slice()), "{row}");
        }
    }
}

#[test]
fn every_pixel_of_a_turn_lands_where_exif_says() {
    // All values differ, and the sides are no multiple of anything: (x, y) is stored as [x, y, x ^ y].
    let (w, h) = (71u32, 37u32);
    let stored: Vec<u8> = (0..h).flat_map(|y| (0..w).flat_map(move |x| [x as u8, y as u8, (x ^ y) as u8])).collect();
    for (turn, _) in TURNS {
        let mut file = Vec::new();
        let with = Beside { exif: Some(exif(turn, 0)), icc: None };
        write(PngEncoder::new(&mut file), &stored, (w, h), ExtendedColorType::Rgb8, &with);
        let photo = read(&file);
        let rgb = photo.rgb8();
        for y in 0..h {
            for x in 0..w {
                // Where stored (x, y) is seen, from the same table in words.
                let (back_x, back_y) = (w - 1 - x, h - 1 - y);
                let (ux, uy) = match turn {
                    1 => (x, y),
                    2 => (back_x, y),
                    3 => (back_x, back_y),
                    4 => (x, back_y),
                    5 => (y, x),
                    6 => (back_y, x),
                    7 => (back_y, back_x),
                    _ => (y, back_x),
                };
                let at = ((uy * photo.width + ux) * 3) as usize;
                assert_eq!(rgb[at..at + 3], [x as u8, y as u8, (x ^ y) as u8], "orientation {turn}, stored ({x}, {y})");
            }
        }
        assert_eq!(photo.focal_35mm, None, "0 stands for unknown");
    }
}

#[test]
fn heic_is_turned_by_its_container_alone() {
    let photo = read(TURNED_HEIC);
    assert_eq!((photo.width, photo.height, photo.format, photo.orientation), (64, 96, Format::Heic, 1));
    close("turned.heic", corners(&photo), [2, 0, 3, 1].map(|q| QUARTERS[q]), 2);
    assert!(matches!(&photo.profile, Profile::Embedded { name: Some(name) } if name.contains("sRGB")), "{photo:?}");
    assert!(photo.icc.is_some() && photo.notes.is_empty(), "{photo:?}");
}

#[test]
fn heic_without_matrix_is_bt_601() {
    let photo = read(UNSPECIFIED_HEIC);
    // As libheif 1.23.6 reads it (data/README.md); the decoder's own fallback gives 209 for the first value.
    let expected = [[225, 172, 144], [141, 86, 61], [96, 119, 201], corners(&photo)[3]];
    close("unspecified.heic", corners(&photo), expected, 2);
}

#[test]
fn profiles_are_kept_byte_for_byte_and_named() {
    let p3 = icc(&ColorProfile::new_display_p3());
    let srgb = icc(&ColorProfile::new_srgb());
    for (profile, word) in [(&p3, "P3"), (&srgb, "sRGB")] {
        let with = Beside { exif: None, icc: Some(profile.clone()) };
        for (row, file) in
            [("jpeg", jpeg((16, 16), &with)), ("png", png((16, 16), &with)), ("webp", webp((16, 16), &with))]
        {
            let photo = read(&file);
            assert_eq!(photo.icc.as_ref(), Some(profile), "{row}, {word}");
            let Profile::Embedded { name: Some(name) } = &photo.profile else { panic!("{row}: {:?}", photo.profile) };
            assert!(name.contains(word), "{row}: {name} names {word}");
            // The page's copy carries the same profile, nothing else.
            let page = photo.jpeg(8, 80).expect("a page's picture");
            let again = read(&page);
            assert_eq!((again.icc.as_ref(), again.width, again.height), (Some(profile), 8, 8), "{row}, {word}");
        }
    }
    let bare = read(&png((16, 16), &Beside::default()));
    assert_eq!((bare.profile, bare.icc), (Profile::Assumed, None));
}

#[test]
fn a_profile_of_several_parts_is_joined() {
    let mut profile = icc(&ColorProfile::new_display_p3());
    let half = profile.len() / 2;
    let part = |n: u8, body: &[u8]| [b"ICC_PROFILE\0", [n, 2].as_slice(), body].concat();
    let plain = jpeg((16, 16), &Beside::default());
    // The second part stands first in the file.
    let one = with_segment(&plain, 0xe2, &part(1, &profile[..half]));
    let both = with_segment(&one, 0xe2, &part(2, &profile[half..]));
    assert_eq!(read(&both).icc.as_ref(), Some(&profile));
    let photo = read(&one);
    assert_eq!((&photo.profile, photo.notes.as_slice()), (&Profile::Unreadable, [Note::IccUnreadable].as_slice()));
    // Corrupt: kept as found, named unreadable, and not passed on to pages.
    profile.truncate(90);
    let photo = read(&jpeg((16, 16), &Beside { exif: None, icc: Some(profile.clone()) }));
    assert_eq!((&photo.profile, photo.notes.as_slice()), (&Profile::Unreadable, [Note::IccUnreadable].as_slice()));
    assert_eq!(photo.icc.as_ref(), Some(&profile));
    assert_eq!(read(&photo.jpeg(16, 80).expect("a page's picture")).icc, None);
    let photo = read(&png((16, 16), &Beside { exif: None, icc: Some(icc(&ColorProfile::new_gray_with_gamma(2.2))) }));
    assert_eq!((&photo.profile, photo.notes.as_slice()), (&Profile::Unreadable, [Note::IccNotRgb].as_slice()));
}

#[test]
fn pages_get_no_metadata() {
    let photo = read(&jpeg((96, 64), &Beside { exif: Some(exif(6, 26)), icc: None }));
    let page = photo.jpeg(48, 90).expect("a page's picture");
    assert!(!page.windows(4).any(|w| w == b"Exif"));
    let page = read(&page);
    assert_eq!((page.width, page.height, page.orientation), (32, 48, 1));
    close("page", corners(&page), [2, 0, 3, 1].map(|q| QUARTERS[q]), 10);
}

#[test]
fn sixteen_bits_stay_sixteen() {
    let stored: Vec<u16> = (0..8 * 8 * 3).map(|i| i * 341).collect();
    let bytes: Vec<u8> = stored.iter().flat_map(|s| s.to_ne_bytes()).collect();
    let mut file = Vec::new();
    write(PngEncoder::new(&mut file), &bytes, (8, 8), ExtendedColorType::Rgb16, &Beside::default());
    let photo = read(&file);
    assert!(photo.samples == Samples::Sixteen(stored.clone()), "{photo:?}");
    let nearest: Vec<u8> = stored.iter().map(|&s| (f64::from(s) / 257.0).round() as u8).collect();
    assert_eq!(photo.rgb8().as_ref(), nearest);
}

#[test]
fn grey_transparent_inked_and_moving_pictures_are_noted() {
    let mut files = vec![("ink", cmyk(), vec![Note::Cmyk]), ("moving", moving_webp(), vec![Note::Animated])];
    let mut out = Vec::new();
    write(JpegEncoder::new(&mut out), &[99; 64], (8, 8), ExtendedColorType::L8, &Beside::default());
    files.push(("grey JPEG", out, vec![Note::Greyscale]));
    let mut out = Vec::new();
    write(PngEncoder::new(&mut out), &[99, 255, 99, 0], (2, 1), ExtendedColorType::La8, &Beside::default());
    files.push(("grey, transparent PNG", out, vec![Note::Greyscale, Note::Transparent]));
    let plain = png((8, 8), &Beside::default());
    files.push((
        "PNG with a gamma",
        with_chunk(&plain, b"gAMA", &100_000u32.to_be_bytes()),
        vec![Note::ColourHintUnused],
    ));
    files.push(("PNG with sRGB's gamma", with_chunk(&plain, b"gAMA", &45_455u32.to_be_bytes()), vec![]));
    let odd = Beside { exif: Some(exif(9, 0)), icc: None };
    files.push(("orientation 9", jpeg((8, 8), &odd), vec![Note::OrientationInvalid]));
    for (row, file, notes) in files {
        assert_eq!(read(&file).notes, notes, "{row}");
    }
}

#[test]
fn transparency_is_laid_on_white() {
    // Opaque, half, clear; 100 at half opacity on white: 100 x 128/255 + 255 x 127/255 = 177.2.
    let rgba = [100, 0, 0, 255, 100, 0, 0, 128, 100, 0, 0, 0];
    for (row, webp) in [("PNG", false), ("WebP", true)] {
        let mut file = Vec::new();
        if webp {
            write(WebPEncoder::new_lossless(&mut file), &rgba, (3, 1), ExtendedColorType::Rgba8, &Beside::default());
        } else {
            write(PngEncoder::new(&mut file), &rgba, (3, 1), ExtendedColorType::Rgba8, &Beside::default());
        }
        let photo = read(&file);
        assert_eq!(photo.rgb8().as_ref(), [100, 0, 0, 177, 127, 127, 255, 255, 255], "{row}");
        assert_eq!(photo.notes, [Note::Transparent], "{row}");
    }
}
