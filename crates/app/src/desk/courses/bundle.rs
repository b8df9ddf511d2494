//! Many notes in one file: a zip, or a text with a note on each line.

use std::io::{Cursor, Read};

use crate::catalogue::{fill, text};
use crate::notes::MOST_BYTES;

/// The most bytes of such a file.
pub const MOST_BUNDLE: usize = 256 * 1024 * 1024;
/// The most files in one.
const MOST_FILES: usize = 100_000;

/// A file, or why there is none.
pub type Came = (String, Result<Vec<u8>, String>);

/// Whether a file of this name may be a bundle, so that more bytes are let in.
pub fn may_be(name: &str) -> bool {
    let name = name.to_lowercase();
    [".zip", ".jsonl", ".ndjson"].iter().any(|end| name.ends_with(end))
}

/// The notes of a file: its own bytes, or what is in it.
pub fn open(name: &str, bytes: Vec<u8>) -> Vec<Came> {
    let lower = name.to_lowercase();
    if bytes.starts_with(b"PK\x03\x04") {
        return zip(name, bytes);
    }
    if lower.ends_with(".jsonl") || lower.ends_with(".ndjson") {
        let lines = bytes.split(|b| *b == b'\n').enumerate().filter(|(_, l)| !l.iter().all(u8::is_ascii_whitespace));
        let mut all: Vec<Came> = Vec::new();
        for (i, line) in lines {
            if all.len() >= MOST_FILES {
                all.push((name.to_owned(), Err(fill("coursein.many_files", &[("most", &MOST_FILES)]))));
                break;
            }
            all.push((fill("coursein.line", &[("name", &name), ("n", &(i + 1))]), Ok(line.to_vec())));
        }
        return all;
    }
    vec![(name.to_owned(), Ok(bytes))]
}

fn zip(name: &str, bytes: Vec<u8>) -> Vec<Came> {
    let broken = || vec![(name.to_owned(), Err(text("coursein.bad_zip").to_owned()))];
    let Ok(mut archive) = ::zip::ZipArchive::new(Cursor::new(bytes)) else { return broken() };
    if archive.len() > MOST_FILES {
        return vec![(name.to_owned(), Err(fill("coursein.many_files", &[("most", &MOST_FILES)])))];
    }
    let (mut all, mut unpacked) = (Vec::new(), 0);
    for i in 0..archive.len() {
        let Ok(file) = archive.by_index(i) else {
            all.push((
                fill("coursein.line", &[("name", &name), ("n", &(i + 1))]),
                Err(text("coursein.bad_zip").to_owned()),
            ));
            continue;
        };
        let inner = file.name().map_or_else(|_| (i + 1).to_string(), |n| n.into_owned());
        if file.is_dir() || is_hidden(&inner) {
            continue;
        }
        // Never more than a note may have, whatever the header says.
        let mut content = Vec::new();
        let read = file.take(MOST_BYTES as u64 + 1).read_to_end(&mut content);
        let came = match read {
            Err(_) => Err(text("coursein.bad_zip").to_owned()),
            Ok(_) if content.len() > MOST_BYTES => Err(fill("homenote.too_long", &[("most", &(MOST_BYTES / 1024))])),
            Ok(_) => Ok(content),
        };
        // All that is in it lies in memory at once: what unpacks to more than a bundle may be is not read to its end.
        unpacked += came.as_ref().map_or(0, Vec::len);
        if unpacked > MOST_BUNDLE {
            all.push((name.to_owned(), Err(fill("coursein.too_much", &[("most", &(MOST_BUNDLE / (1024 * 1024)))]))));
            break;
        }
        all.push((format!("{name}: {inner}"), came));
    }
    all
}

/// What systems put beside people's files.
pub fn is_hidden(path: &str) -> bool {
    let last = path.rsplit(['/', '\\']).next().unwrap_or_default();
    last.starts_with('.') || path.contains("__MACOSX") || ["Thumbs.db", "desktop.ini"].contains(&last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn a_zip_and_lines_are_opened_and_anything_else_stays() {
        let mut out = ::zip::ZipWriter::new(Cursor::new(Vec::new()));
        let plain = ::zip::write::SimpleFileOptions::default();
        for (name, content) in
            [("a/one.json", vec![1_u8; 3]), ("a/._one.json", vec![2]), ("long.json", vec![b' '; MOST_BYTES + 1])]
        {
            out.start_file(name, plain).expect("begun");
            out.write_all(&content).expect("written");
        }
        let zip = out.finish().expect("whole").into_inner();
        let all = open("notes.zip", zip.clone());
        assert_eq!(all[0], ("notes.zip: a/one.json".to_owned(), Ok(vec![1; 3])));
        assert!(all.len() == 2 && all[1].1.is_err(), "{all:?}");
        assert!(open("notes.zip", zip[..40].to_vec())[0].1.is_err());
        let lines: Vec<_> = open("n.jsonl", b"{}\n\n[1]\r\n".to_vec()).into_iter().filter_map(|c| c.1.ok()).collect();
        assert_eq!(lines, [b"{}".to_vec(), b"[1]\r".to_vec()]);
        assert_eq!(open("n.json", b"{}\n{}".to_vec()).len(), 1);
    }
}
