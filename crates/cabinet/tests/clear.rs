//! No client's word or pixel stands in clear anywhere under the folder or the temporary folder: not in the store, its log or
//! index, not in backups, not while it is open, not after a kill.

mod common;
#[path = "common/load.rs"]
mod load;

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use cabinet::*;
use common::{Folder, now, words};

const MARK: &str = "Quagga-Zephyrine";

/// What is looked for: the words as they were given, folded as they are searched, in both encodings of SQLite, and
/// pieces of the pixels.
fn needles() -> Vec<Vec<u8>> {
    let mut needles = Vec::new();
    for word in [MARK, "Quagga", "Zephyrine", "quagga zephyrine", "zephyrine"] {
        needles.push(word.as_bytes().to_vec());
        needles.push(word.encode_utf16().flat_map(u16::to_le_bytes).collect());
        needles.push(word.encode_utf16().flat_map(u16::to_be_bytes).collect());
    }
    for n in [1, 777, 19_990] {
        needles.push(pixels(n));
    }
    needles
}

fn pixels(from: u32) -> Vec<u8> {
    (from..from + 4).flat_map(|n| n.wrapping_mul(2_654_435_761).to_le_bytes()).collect()
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder").filter_map(Result::ok) {
        if entry.path().is_dir() { files(&entry.path(), found) } else { found.push(entry.path()) }
    }
}

/// Files in which something stands in clear, and how many files and bytes were looked at.
fn found_in(folders: &[&Path]) -> (Vec<PathBuf>, usize, usize) {
    let needles = needles();
    let mut paths = Vec::new();
    folders.iter().for_each(|f| files(f, &mut paths));
    let (mut hits, mut bytes) = (Vec::new(), 0);
    for path in &paths {
        let content = fs::read(path).expect("a file");
        bytes += content.len();
        let found = |at: usize| needles.iter().any(|n| content[at] == n[0] && content[at..].starts_with(n));
        if (0..content.len()).any(found) {
            hits.push(path.clone());
        }
    }
    (hits, paths.len(), bytes)
}

#[test]
fn nothing_is_in_clear_while_it_is_open_after_a_kill_and_when_it_is_closed() {
    let folder = Folder::new("clear");
    let temporary = folder.path().join("temporary");
    fs::create_dir(&temporary).expect("a folder");
    let mut command = load::load(&folder.cabinet(), "all");
    for name in ["TMPDIR", "SQLITE_TMPDIR", "TMP", "TEMP"] {
        command.env(name, &temporary);
    }
    let mut child = command.current_dir(&temporary).spawn().expect("runs");
    let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
    let first = lines.next().and_then(Result::ok);
    assert_eq!(first.as_deref(), Some("ready"), "{:?}", child.wait_with_output());
    let places = [folder.cabinet(), temporary.clone()];
    let places: Vec<&Path> = places.iter().map(PathBuf::as_path).collect();
    let (hits, count, bytes) = found_in(&places);
    assert!(hits.is_empty(), "in clear while open: {hits:?}");
    let log = fs::metadata(folder.cabinet().join("store-1.db-wal")).expect("the log is open").len();
    assert!(
        count >= 6 && bytes > 2_000_000 && log > 4096,
        "{count} files, {bytes} bytes, {log} in the log: too little"
    );
    child.kill().expect("SIGKILL");
    let said = child.wait_with_output().expect("gone");
    assert!(said.stderr.is_empty(), "something was said: {}", String::from_utf8_lossy(&said.stderr));
    let (hits, ..) = found_in(&places);
    assert!(hits.is_empty(), "in clear after a kill: {hits:?}");
    let cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens");
    assert_eq!(cabinet.read(|r| r.client_count()).expect("read"), 30);
    cabinet.lock();
    let (hits, ..) = found_in(&places);
    assert!(hits.is_empty(), "in clear when closed: {hits:?}");

    // The same search finds what is in clear: bytes that were written by hand.
    let control = folder.path().join("control");
    fs::create_dir(&control).expect("a folder");
    fs::write(control.join("pixels"), [vec![b'Q'; 5000], pixels(777)].concat()).expect("written");
    fs::write(control.join("words"), format!("Q{MARK}")).expect("written");
    fs::write(control.join("wide"), MARK.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<_>>())
        .expect("written");
    fs::write(control.join("other"), "nothing of it").expect("written");
    assert_eq!(found_in(&[&control]).0.len(), 3);
}
