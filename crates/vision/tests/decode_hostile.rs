//! Files that are broken, cut short, too large, or made to harm: each is refused in the right words, none panics.

mod common;

use common::*;
use vision::{DecodeErrorKind, Limits, Note, decode};

fn check(row: &str, file: &[u8], expected: &DecodeErrorKind) {
    match decode(file, &Limits::default()) {
        Ok(photo) => panic!("{row}: decoded to {} x {}", photo.width, photo.height),
        Err(e) => {
            assert_eq!(e.kind(), expected, "{row}");
            assert!(e.to_string().len() > 40, "{row}: says what to do: {e}");
        }
    }
}

#[test]
fn what_is_no_photograph_is_called_by_its_name() {
    use DecodeErrorKind::*;
    check("nothing", b"", &Empty);
    check("text", b"This is a letter, not a picture.", &NotAnImage);
    check("zeros", &[0; 4096], &NotAnImage);
    check("GIF", b"GIF89a\x01\0\x01\0\0\0\0;", &UnsupportedFormat("a GIF"));
    check("PDF", b"%PDF-1.7\n", &UnsupportedFormat("a PDF document"));
    check("raw", b"II*\0\x08\0\0\0", &UnsupportedFormat("a TIFF or a camera's raw file"));
    check("AVIF", &iso(b"ftyp", b"avif\0\0\0\0avifmif1"), &UnsupportedFormat("an AVIF picture"));
    let film = "a film, or a kind of picture that is not HEIC";
    check("film", &iso(b"ftyp", b"isom\0\0\0\0isomavc1"), &UnsupportedFormat(film));
    let large = vec![0xff; 100_000_001];
    check("100 MB and a byte", &large, &TooManyBytes { bytes: 100_000_001, most: 100_000_000 });
}

#[test]
fn a_file_cut_anywhere_is_refused() {
    let with = Beside { exif: Some(exif(6, 26)), icc: None };
    let files = [
        ("JPEG", jpeg((96, 64), &with)),
        ("PNG", png((96, 64), &with)),
        ("WebP", webp((96, 64), &with)),
        ("HEIC", TURNED_HEIC.to_vec()),
    ];
    for (row, file) in files {
        let mut said = 0;
        // PNG's last chunk (12 bytes) and WebP's pad byte hold no picture.
        let whole = file.len() - if row == "PNG" { 12 } else { 1 };
        for length in 2..whole {
            match decode(&file[..length], &Limits::default()) {
                Ok(_) => panic!("{row} cut at {length} of {} passed", file.len()),
                Err(e) => said += usize::from(*e.kind() == DecodeErrorKind::Truncated),
            }
        }
        let share = said as f64 / (whole - 2) as f64;
        assert!(share > 0.9, "{row}: {share:.2} of the cuts are called cut short");
    }
}

#[test]
fn bombs_are_refused_from_the_header() {
    let large = DecodeErrorKind::TooLarge { width: 30_000, height: 30_000 };
    let size = 30_000u32.to_be_bytes();
    let head = chunk(b"IHDR", &[size.as_slice(), &size, &[8, 2, 0, 0, 0]].concat());
    check("PNG", &[b"\x89PNG\r\n\x1a\n".as_slice(), &head, &chunk(b"IDAT", b"")].concat(), &large);
    let mut file = jpeg((8, 8), &Beside::default());
    let at = file.windows(2).position(|w| w == [0xff, 0xc0]).expect("a frame header");
    file[at + 5..at + 9].copy_from_slice(&[0x75, 0x30, 0x75, 0x30]);
    check("JPEG", &file, &large);
    check("WebP canvas", &webp_file(&[vp8x(0, 30_000, 30_000), vp8l((8, 8))]), &large);
    let frame = riff(b"VP8L", &[0x2f, 0xff, 0xff, 0xff, 0x0f, 0]);
    let larger = DecodeErrorKind::TooLarge { width: 16_384, height: 16_384 };
    check("WebP frame in a small canvas", &webp_file(&[vp8x(0, 8, 8), frame]), &larger);
    // HEIC: the container's word (`ispe`), then the coded picture's own behind a small container.
    let mut file = UNSPECIFIED_HEIC.to_vec();
    let at = file.windows(4).position(|w| w == b"ispe").expect("a size");
    file[at + 8..at + 16].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
    check("HEIC", &file, &large);
}

#[test]
fn limits_hold_at_their_edge() {
    let file = png((40, 30), &Beside::default());
    let limits = |most_pixels, most_side, most_bytes| Limits { most_bytes, most_pixels, most_side };
    for (row, limits, passes) in [
        ("just enough", limits(1200, 40, file.len()), true),
        ("a pixel short", limits(1199, 40, file.len()), false),
        ("a side short", limits(1200, 39, file.len()), false),
        ("a byte short", limits(1200, 40, file.len() - 1), false),
    ] {
        assert_eq!(decode(&file, &limits).is_ok(), passes, "{row}");
    }
}

#[test]
fn one_pixel_is_a_picture() {
    for file in [jpeg((1, 1), &Beside::default()), png((1, 1), &Beside::default()), webp((1, 1), &Beside::default())] {
        let photo = decode(&file, &Limits::default()).expect("one pixel");
        assert_eq!((photo.width, photo.height, photo.rgb8().len()), (1, 1, 3));
        assert!(photo.jpeg(1000, 80).is_ok());
    }
}

#[test]
fn exif_never_costs_the_picture() {
    let mut looped = b"II*\0\x08\0\0\0\x01\0".to_vec();
    entry(&mut looped, 0x8769, 4, 8);
    looped.extend(8u32.to_le_bytes());
    let mut huge = b"II*\0\x08\0\0\0\xff\xff".to_vec();
    (0..65_535).for_each(|_| entry(&mut huge, 0x9286, 7, u32::MAX));
    let mut lying = b"II*\0\x08\0\0\0\x01\0".to_vec();
    lying.extend([0x12, 1, 3, 0, 255, 255, 255, 255, 255, 255, 255, 255]);
    for (row, exif) in [
        ("a directory that contains itself", looped),
        ("65 535 entries", huge),
        ("a count beyond the file", lying),
        ("noise", vec![0xa5; 3000]),
        ("a header alone", b"MM\0*\0\0\0\x08".to_vec()),
        ("nothing", Vec::new()),
    ] {
        let plain = png((8, 8), &Beside::default());
        let photo =
            decode(&with_chunk(&plain, b"eXIf", &exif), &Limits::default()).unwrap_or_else(|e| panic!("{row}: {e}"));
        assert_eq!(photo.orientation, 1, "{row}");
        let noted = photo.notes.contains(&Note::ExifUnreadable);
        // The 65 535 entries are read in full: there is nothing wrong with them but their number.
        assert!(noted || row == "65 535 entries", "{row}: {:?}", photo.notes);
    }
}

#[test]
fn a_grid_that_names_one_tile_thousands_of_times_is_refused() {
    // 65 536 references to item 1 in an `iref`, beside the tables of a sound file.
    let mut references = vec![0, 2, 0xff, 0xff];
    (0..0xffff).for_each(|_| references.extend([0, 1]));
    let iref = iso(b"iref", &[&[0; 4], iso(b"dimg", &references).as_slice()].concat());
    let file = UNSPECIFIED_HEIC;
    let at = file.windows(4).position(|w| w == b"meta").expect("a container") - 4;
    let length = u32::from_be_bytes([file[at], file[at + 1], file[at + 2], file[at + 3]]) as usize;
    let meta = iso(b"meta", &[&file[at + 8..at + length], &iref].concat());
    let bomb = [&file[..at], &meta, &file[at + length..]].concat();
    match decode(&bomb, &Limits::default()) {
        Err(e) => {
            assert!(matches!(e.kind(), DecodeErrorKind::Broken(words) if words.contains("tiles")), "{:?}", e.kind())
        }
        Ok(_) => panic!("the bomb passed"),
    }
}
