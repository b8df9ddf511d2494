//! Files: what is no photograph, what is damaged, and odd ones that must do.

use crate::pictures::{Picture, apart, chunk, mapped, usual, usual_map, warned, with_segment};

/// Refused with exit 2, nothing on standard output, and these words.
fn refused(row: &str, bytes: &[u8], ending: &str, says: &str) {
    let said = mapped(&format!("refused-{}", row.replace(' ', "-")), bytes, ending, &[]);
    assert_eq!((said.code, said.out.as_str()), (2, ""), "{row}: {}", said.err);
    assert!(said.err.contains(says), "{row}: {}", said.err);
    assert!(
        said.err.starts_with('/') || said.err.contains(&format!("photo.{ending}")),
        "{row} names the file: {}",
        said.err
    );
}

#[test]
fn what_is_no_whole_photograph_is_refused_with_advice() {
    let (jpeg, png) = (usual().jpeg(), usual().png());
    let again = "Copy it from the phone or camera again";
    refused("a letter", b"Dear practitioner, here is my face.", "jpg", "Choose a JPEG, PNG, WebP or HEIC file");
    refused("nothing", b"", "jpg", "The file is empty");
    refused("half a JPEG", &jpeg[..jpeg.len() / 2], "jpg", again);
    refused("half a PNG", &png[..png.len() / 2], "png", again);
    let closed = [&jpeg[..jpeg.len() / 2], &[0xff, 0xd9]].concat();
    refused("half a JPEG with an end", &closed, "jpg", again);
    let mut hole = jpeg.clone();
    let at = jpeg.len() / 2;
    hole[at..at + 4096].fill(0);
    refused("a JPEG with a hole", &hole, "jpg", again);
    let mut flipped = png.clone();
    flipped[png.len() / 2] ^= 0xff;
    refused("a PNG with a wrong byte", &flipped, "png", again);
    refused("a film", b"\0\0\0\x18ftypisom\0\0\0\0isomavc1", "mp4", "cannot be read here");
}

#[test]
fn pictures_without_end_are_refused_from_their_header() {
    let size = 30_000u32.to_be_bytes();
    let head = chunk(b"IHDR", &[size.as_slice(), &size, &[8, 2, 0, 0, 0]].concat());
    let bomb = [b"\x89PNG\r\n\x1a\n".as_slice(), &head, &chunk(b"IDAT", b"x\x9c")].concat();
    refused("30 000 by 30 000", &bomb, "png", "30000 by 30000");
}

#[test]
fn a_picture_without_a_face_says_how_to_take_one() {
    let gradient = Picture::flat(320, 240, |x, y| [(x / 2) as u8, y as u8, 120]);
    let thin = Picture::flat(4000, 3, |x, _| [(x % 256) as u8; 3]);
    for (row, picture) in
        [("one pixel", Picture::flat(1, 1, |_, _| [90; 3])), ("a gradient", gradient), ("a thread", thin)]
    {
        refused(row, &picture.png(), "png", "Face the camera, with the whole face in the picture");
    }
}

#[test]
fn every_orientation_gives_the_same_map() {
    let upright = mapped("turn-0", &usual().jpeg(), "jpg", &[]).json();
    for turn in 1..=8u8 {
        // A directory of one entry: orientation, short, one value (EXIF 2.32, 4.6.2).
        let exif =
            [b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".as_slice(), &[turn, 0, 0, 0, 0, 0, 0]].concat();
        let file = with_segment(&usual().stored(turn).jpeg(), 0xe1, &exif);
        let map = mapped(&format!("turn-{turn}"), &file, "jpg", &[]).json();
        assert_eq!(map["picture"], upright["picture"], "orientation {turn}");
        let apart = apart(&upright, &map);
        assert!(apart < 0.01, "orientation {turn}: landmarks up to {:.2} % of the eyes' distance apart", 100.0 * apart);
    }
}

#[test]
fn depth_does_not_move_the_map() {
    let map = mapped("deep", &usual().png16(), "png", &[]).json();
    let apart = apart(usual_map(), &map);
    assert!(apart < 0.01, "16 bits: {:.2} % of the eyes' distance", 100.0 * apart);
}

#[test]
fn printing_inks_are_read_and_noted() {
    // A pixel becomes a block of eight, so the face is drawn small.
    let small = usual().smaller(3);
    let map = mapped("inks", &small.cmyk_blocks(), "jpg", &[]).json();
    assert!(warned(&map, "printing inks"), "{}", map["warnings"]);
    let scale = 8.0 / 3.0;
    let (of, blocks) = (crate::pictures::landmarks(usual_map()), crate::pictures::landmarks(&map));
    let far =
        of.iter().zip(&blocks).map(|(a, b)| (a[0] * scale - b[0]).hypot(a[1] * scale - b[1])).sum::<f64>() / 478.0;
    let share = far / (scale * crate::pictures::eyes(usual_map()));
    assert!(share < 0.05, "in blocks of eight the mean landmark moves by {:.1} % of the eyes' distance", 100.0 * share);
}

#[test]
fn a_broken_profile_costs_a_warning_only() {
    let garbage = [b"ICC_PROFILE\0\x01\x01".as_slice(), &[0xa5; 300]].concat();
    let plain = mapped("no-profile", &usual().jpeg(), "jpg", &[]).json();
    let map = mapped("profile", &with_segment(&usual().jpeg(), 0xe2, &garbage), "jpg", &[]).json();
    assert!(warned(&map, "colour profile cannot be used"), "{}", map["warnings"]);
    assert_eq!(map["points"], plain["points"]);
}
