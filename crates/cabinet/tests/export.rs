//! The whole practice in open formats: complete, harmless to a spreadsheet, and photographs without place and device.

mod common;

use std::fs;
use std::path::Path;

use cabinet::*;
use common::{Folder, json, made, named, now, photograph, toml, visited};
use proptest::prelude::*;
use serde_json::Value;

fn value(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).expect("a file")).expect("JSON")
}

fn rows(path: &Path) -> Vec<Vec<String>> {
    let mut table = csv::Reader::from_path(path).expect("a table");
    table.records().map(|r| r.expect("a row").iter().map(str::to_owned).collect()).collect()
}

/// JPEG segments: a marker and its body.
fn segment(marker: u8, body: &[u8]) -> Vec<u8> {
    let length = u16::try_from(body.len() + 2).expect("short").to_be_bytes();
    [&[0xff, marker], &length[..], body].concat()
}

/// A JPEG's shape with everything that must go, and what must stay.
fn jpeg(exif: &[u8]) -> Vec<u8> {
    [
        &[0xff, 0xd8][..],
        &segment(0xe0, b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0"),
        &segment(0xe0, b"JFXX\0\x10thumb-SECRET"),
        &segment(0xe1, &[b"Exif\0\0", exif].concat()),
        &segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<SECRET/>"),
        &segment(0xe2, b"ICC_PROFILE\0\x01\x01profile"),
        &segment(0xe2, b"MPF\0SECRET"),
        &segment(0xed, b"Photoshop 3.0\0SECRET"),
        &segment(0xee, b"Adobe\0d\0\0\0\0\x01"),
        &segment(0xfe, b"SECRET comment"),
        &segment(0xdb, &[0; 65]),
        &segment(0xda, &[1, 1, 0, 0, 63, 0]),
        &[1, 2, 0xff, 0, 3, 0xff, 0xd0, 4],
        &segment(0xda, &[1, 1, 0, 0, 63, 0]),
        &[5, 0xff, 0xd9],
        b"film after the end SECRET",
    ]
    .concat()
}

/// TIFF with an orientation, little-endian, and a field of the camera before it.
fn tiff(way: u8) -> Vec<u8> {
    let mut bytes = b"II\x2a\0\x08\0\0\0\x02\0".to_vec();
    bytes.extend(b"\x0f\x01\x02\0\x07\0\0\0\x26\0\0\0");
    bytes.extend(b"\x12\x01\x03\0\x01\0\0\0");
    bytes.extend([way, 0, 0, 0, 0, 0, 0, 0]);
    bytes.extend(b"SECRET\0");
    bytes
}

#[test]
fn place_and_device_are_taken_off_and_the_picture_stays() {
    let out = without_metadata(&jpeg(&tiff(6)));
    assert!(out.is_clean() && out.ending() == "jpg");
    let expected = [
        &[0xff, 0xd8][..],
        &segment(0xe1, b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0"),
        &segment(0xe0, b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0"),
        &segment(0xe2, b"ICC_PROFILE\0\x01\x01profile"),
        &segment(0xee, b"Adobe\0d\0\0\0\0\x01"),
        &segment(0xdb, &[0; 65]),
        &segment(0xda, &[1, 1, 0, 0, 63, 0]),
        &[1, 2, 0xff, 0, 3, 0xff, 0xd0, 4],
        &segment(0xda, &[1, 1, 0, 0, 63, 0]),
        &[5, 0xff, 0xd9],
    ]
    .concat();
    assert_eq!(out.bytes(), expected);
    assert_eq!(without_metadata(&expected).bytes(), expected, "twice is once");
    for way in [0, 1, 9] {
        let out = without_metadata(&jpeg(&tiff(way)));
        assert!(out.is_clean() && !out.bytes().windows(4).any(|w| w == b"Exif"), "{way}");
    }
    let chunk = |kind: &[u8], body: &[u8]| {
        [&u32::try_from(body.len()).expect("short").to_be_bytes()[..], kind, body, b"CRC!"].concat()
    };
    let magic = b"\x89PNG\r\n\x1a\n".to_vec();
    let parts =
        |kinds: &[&[u8]]| [vec![magic.clone()], kinds.iter().map(|k| chunk(k, b"SECRET")).collect()].concat().concat();
    let full = parts(&[b"IHDR", b"iCCP", b"eXIf", b"tEXt", b"iTXt", b"tIME", b"IDAT", b"IDAT", b"IEND"]);
    let out = without_metadata(&[&full[..], b"more"].concat());
    assert_eq!(out.bytes(), parts(&[b"IHDR", b"iCCP", b"IDAT", b"IDAT", b"IEND"]));
    assert!(out.is_clean() && out.ending() == "png");
    let riff = |chunks: &[(&[u8], &[u8])]| {
        let body: Vec<u8> = chunks
            .iter()
            .flat_map(|(kind, b)| {
                let length = u32::try_from(b.len()).expect("short").to_le_bytes();
                [*kind, &length[..], *b, &[0][..b.len() % 2]].concat()
            })
            .collect();
        [b"RIFF", &u32::try_from(body.len() + 4).expect("short").to_le_bytes()[..], b"WEBP", &body].concat()
    };
    let head = |flags: u8| [flags, 0, 0, 0, 9, 0, 0, 9, 0, 0];
    let (with, without) = (head(0x2c), head(0x20));
    let out = without_metadata(&riff(&[
        (b"VP8X", &with),
        (b"ICCP", b"p"),
        (b"VP8 ", b"abc"),
        (b"EXIF", b"SECRET"),
        (b"XMP ", b"S"),
    ]));
    assert_eq!(out.bytes(), riff(&[(b"VP8X", &without), (b"ICCP", b"p"), (b"VP8 ", b"abc")]));
    // Which way up stays where it was said: a fresh field, its CRC as zlib.crc32(b"eXIf" + tiff) gives it.
    let upright = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
    let png =
        [magic.clone(), chunk(b"IHDR", b"h"), chunk(b"eXIf", &tiff(6)), chunk(b"IDAT", b"d"), chunk(b"IEND", b"")]
            .concat();
    let mut fresh = chunk(b"eXIf", upright);
    let end = fresh.len() - 4;
    fresh[end..].copy_from_slice(&0xd667_4b69_u32.to_be_bytes());
    let expected = [magic, chunk(b"IHDR", b"h"), fresh, chunk(b"IDAT", b"d"), chunk(b"IEND", b"")].concat();
    assert_eq!(without_metadata(&png).bytes(), expected);
    let out =
        without_metadata(&riff(&[(b"VP8X", &with), (b"VP8 ", b"abc"), (b"EXIF", &tiff(6)), (b"XMP ", b"SECRET")]));
    assert_eq!(out.bytes(), riff(&[(b"VP8X", &head(0x28)), (b"VP8 ", b"abc"), (b"EXIF", upright)]));
    // What is not taken apart comes back as it was and is not called clean.
    for other in [&b"\0\0\0\x18ftypheic"[..], b"GIF89a", b"", &jpeg(b"")[..60], &full[..70]] {
        let out = without_metadata(other);
        assert!(!out.is_clean() && out.bytes() == other);
    }
}

#[test]
fn everything_is_in_the_folder_and_formulas_are_disarmed() {
    let folder = Folder::new("export");
    let cabinet = made(&folder);
    let evil = ["=HYPERLINK(\"http://example.org\")", "+1+1", "-2+3", "@SUM(A1)", "\tx", "\r=1", "＝1", "'=already"];
    let (client, visit) = visited(&cabinet, "Ana, \"quoted\"");
    let picture = jpeg(&tiff(3));
    cabinet
        .write(now(), |w| {
            w.add_photograph(visit, &photograph(&picture))?;
            w.add_photograph(visit, &NewPhotograph { media: "image/heic", ..photograph(b"\0\0\0\x18ftypheic...") })?;
            w.add_measurement(visit, None, &json("{\"v\": [1.25, null]}"))?;
            w.save_atlas("points", &toml("a = 1"))?;
            let routine = w.add_routine(Some(client), "hers")?;
            let version = w.add_version(routine, &toml("minutes = 8"))?;
            w.add_session(Some(client), version, now(), &json("[]"), &json("{\"jaw\": \"tight\"}"))?;
            for text in evil {
                w.add_client(&Details { notes: text.to_owned(), phone: text.to_owned(), ..named(text) })?;
                w.add_note(client, None, NoteKind::Note, text)?;
            }
            Ok(())
        })
        .expect("written");
    let out = folder.path().join("out");
    let exported = cabinet.export(&out).expect("exported");
    assert_eq!((exported.clients, exported.photographs, exported.with_metadata.len()), (1 + evil.len(), 2, 1));
    let whole = value(&out.join("clients/client-000001.json"));
    assert_eq!(whole["name"], "Ana, \"quoted\"");
    assert_eq!(whole["visits"][0]["measurements"][0]["body"]["v"][0], 1.25);
    assert_eq!(whole["routines"][0]["versions"][0]["toml"], "minutes = 8");
    assert_eq!(whole["sessions"][0]["felt"]["jaw"], "tight");
    assert_eq!(whole["consents"].as_array().expect("a list").len(), 2);
    let file = whole["visits"][0]["photographs"][0]["file"].as_str().expect("a file").to_owned();
    let written = fs::read(out.join(&file)).expect("the photograph");
    assert!(written.starts_with(&[0xff, 0xd8]) && !written.windows(6).any(|w| w == b"SECRET"), "{file}");
    let practice = value(&out.join("practice.json"));
    assert_eq!(practice["atlas"][0]["states"][0]["toml"], "a = 1");
    assert!(practice["change_log"].as_array().expect("a list").len() > 10);
    assert!(fs::read_to_string(out.join("README.txt")).expect("a text").contains("NOT encrypted"));
    // No field of any table begins like a formula, and nothing was lost by disarming it.
    let mut fields = 0;
    for entry in fs::read_dir(&out).expect("a folder").filter_map(Result::ok) {
        if entry.path().extension().is_some_and(|e| e == "csv") {
            for field in rows(&entry.path()).into_iter().flatten() {
                fields += 1;
                let first = field.chars().next().unwrap_or('x');
                assert!(!"=+-@\t\r\n＝＋－＠".contains(first), "{field:?} in {:?}", entry.path());
            }
        }
    }
    assert!(fields > 100, "{fields} fields looked at");
    // What was exported comes back by the import as it was.
    let back = read_csv(&fs::read(out.join("clients.csv")).expect("a table"));
    assert_eq!(back.clients.len(), 1 + evil.len(), "{:?}", back.problems);
    let kept: Vec<&str> = back.clients.iter().map(|c| c.details.phone.as_str()).collect();
    assert_eq!(kept[1..5], ["=HYPERLINK(\"http://example.org\")", "+1+1", "-2+3", "@SUM(A1)"]);
    let again = cabinet.export(&out).expect_err("not over something");
    assert_eq!(again.key(), "cabinet.not_empty");
}

#[test]
fn one_client_gets_what_is_theirs_alone() {
    let folder = Folder::new("theirs");
    let cabinet = made(&folder);
    let (ana, _) = visited(&cabinet, "Ana");
    visited(&cabinet, "Bo");
    let out = folder.path().join("ana");
    let exported = cabinet.export_client(&out, ana).expect("exported");
    assert_eq!(exported.clients, 1);
    assert_eq!(rows(&out.join("clients.csv")).len(), 1);
    assert!(!out.join("practice.json").exists() && !out.join("clients/client-000002.json").exists());
    let nobody = cabinet.export_client(&folder.path().join("x"), ClientId::from_number(99)).expect_err("nobody");
    assert_eq!(nobody.key(), "cabinet.no_such");
    assert!(!folder.path().join("x").exists());
}

#[test]
fn files_are_handed_out_one_by_one_and_are_those_of_the_folder() {
    let folder = Folder::new("handed");
    let cabinet = made(&folder);
    let (ana, visit) = visited(&cabinet, "Ana");
    visited(&cabinet, "Bo");
    cabinet.write(now(), |w| w.add_photograph(visit, &photograph(&jpeg(&tiff(3))))).expect("written");
    for only in [None, Some(ana)] {
        let out = folder.path().join(if only.is_some() { "one" } else { "all" });
        let written = only.map_or_else(|| cabinet.export(&out), |id| cabinet.export_client(&out, id)).expect("written");
        let mut seen = 0;
        let handed = cabinet.export_to(only, &mut |path, bytes| {
            seen += 1;
            assert_eq!(fs::read(out.join(path)).expect("the same file"), bytes, "{path}");
            Ok(())
        });
        assert_eq!(handed.expect("handed out"), written);
        assert!(seen >= 11, "{seen} files");
    }
    let stop = cabinet.export_to(None, &mut |path, _| Err(Error::io(Path::new(path), &std::io::Error::other("gone"))));
    assert_eq!(stop.expect_err("whoever takes can end it").key(), "cabinet.file");
    let nobody = cabinet.export_to(Some(ClientId::from_number(99)), &mut |path, _| panic!("{path} was handed out"));
    assert_eq!(nobody.expect_err("nobody").key(), "cabinet.no_such");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(500) })]

    /// Whatever was sent as a photograph: no panic, and what comes back is no longer than a field more.
    #[test]
    fn any_bytes_are_stripped_or_left(start in 0..6usize, tail in proptest::collection::vec(any::<u8>(), 0..200)) {
        let starts: [&[u8]; 6] = [
            b"", b"\xff\xd8\xff", b"\xff\xd8\xff\xe1\0\x30Exif\0\0II\x2a\0", b"\x89PNG\r\n\x1a\n", b"\x89PNG\r\n\x1a\n\0\0\0\x10eXIfMM\0\x2a",
            b"RIFF\x40\0\0\0WEBP",
        ];
        let bytes = [starts[start], &tail].concat();
        let out = without_metadata(&bytes);
        prop_assert!(out.is_clean() || out.bytes() == bytes);
        prop_assert!(out.bytes().len() <= bytes.len() + 38);
    }
}
