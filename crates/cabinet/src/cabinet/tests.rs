//! What can only be seen from inside: the key in memory, and a change of stores that was cut off.

use std::fs;
use std::path::PathBuf;

use super::*;
use crate::clients::Details;

fn words() -> Passphrase {
    Passphrase::new("horse lamp river seven")
}

fn now() -> Time {
    Time::from_unix(1_700_000_000)
}

fn made(name: &str) -> (PathBuf, Cabinet) {
    let folder = std::env::temp_dir().join(format!("cabinet-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    let cabinet = Cabinet::create(&folder, &words(), Cost::FOR_TESTS, now()).expect("made");
    (folder, cabinet)
}

fn add(cabinet: &Cabinet, name: &str) {
    cabinet.write(now(), |w| w.add_client(&Details { name: name.into(), ..Details::default() })).expect("written");
}

fn names(cabinet: &Cabinet) -> Vec<String> {
    cabinet.read(|r| r.clients(None, 9)).expect("read").into_iter().map(|l| l.name).collect()
}

/// How often each needle stands in this process's writable memory. Needles come masked, so that they don't find themselves.
#[cfg(target_os = "linux")]
fn in_memory(masked: &[Vec<u8>]) -> Vec<usize> {
    use std::io::{Read, Seek, SeekFrom};
    let maps = fs::read_to_string("/proc/self/maps").expect("the map of memory");
    let mut memory = fs::File::open("/proc/self/mem").expect("memory");
    let mut counts = vec![0; masked.len()];
    let mut buffer = Vec::new();
    for line in maps.lines().filter(|l| l.split(' ').nth(1).is_some_and(|p| p.starts_with("rw"))) {
        let range = line.split(' ').next().expect("a range");
        let (from, to) = range.split_once('-').expect("two ends");
        let (from, to) = (u64::from_str_radix(from, 16).expect("hex"), u64::from_str_radix(to, 16).expect("hex"));
        buffer.resize((to - from) as usize, 0);
        let read = memory.seek(SeekFrom::Start(from)).and_then(|_| memory.read_exact(&mut buffer));
        if read.is_err() {
            continue;
        }
        // The buffer itself is memory: what it holds must not be found again in a later map.
        buffer.iter_mut().for_each(|b| *b ^= 0x5a);
        for (needle, count) in masked.iter().zip(&mut counts) {
            *count += buffer.windows(needle.len()).filter(|w| w[0] == needle[0] && w == needle).count();
        }
    }
    counts
}

#[cfg(target_os = "linux")]
#[test]
fn after_locking_the_key_is_nowhere_in_memory() {
    let (folder, cabinet) = made("memory");
    let masked = {
        let header = cabinet.place.read_header().expect("a header");
        let key = key::open(&words(), &header.recipe).expect("derived").expect("opens");
        let text = key.pragma();
        let digits = text.trim_matches(['"', 'x', '\'']).as_bytes();
        let raw: Vec<u8> = (0..32)
            .map(|i| {
                u8::from_str_radix(std::str::from_utf8(&digits[2 * i..2 * i + 2]).expect("hex"), 16).expect("hex")
                    ^ 0x5a
            })
            .collect();
        vec![raw, digits.iter().map(|b| b ^ 0x5a).collect::<Vec<u8>>()]
    };
    for _ in 0..3 {
        add(&cabinet, "Ana");
        names(&cabinet);
        cabinet.backup(2, now()).expect("a backup");
    }
    let open = in_memory(&masked);
    assert!(open[0] > 0, "while it is open the key is there, and is found");
    cabinet.lock();
    let locked = in_memory(&masked);
    assert_eq!(locked, [0, 0], "raw and as digits; while open {open:?}");
    fs::remove_dir_all(&folder).expect("removed");
}

#[test]
fn a_change_of_stores_that_was_cut_off_is_finished_at_the_next_opening() {
    let (folder, cabinet) = made("cut-off");
    add(&cabinet, "Early");
    let backup = cabinet.backup(2, now()).expect("a backup");
    add(&cabinet, "Late");
    drop(cabinet);
    let before: Vec<(PathBuf, Vec<u8>)> = ["store-1.db", "cabinet.toml", "cabinet.toml.copy"]
        .map(|n| (folder.join(n), fs::read(folder.join(n)).expect("a file")))
        .into();
    drop(Cabinet::restore(&backup.path, &folder, &words(), now()).expect("restored"));
    let restored = fs::read(folder.join("store-2.db")).expect("the new store");
    // Cut off after the header switched and before any store moved.
    fs::remove_dir_all(folder.join("aside")).expect("removed");
    fs::rename(folder.join("store-2.db"), folder.join("store-2.db.new")).expect("renamed");
    fs::write(&before[0].0, &before[0].1).expect("written");
    assert_eq!(names(&Cabinet::open(&folder, &words(), now()).expect("opens")), ["Early"]);
    assert!(folder.join("aside/1/store-1.db").exists() && !folder.join("store-2.db.new").exists());
    // Cut off before the header switched: the old one is still the one, and what was begun goes away.
    fs::remove_dir_all(folder.join("aside")).expect("removed");
    fs::remove_file(folder.join("store-2.db")).expect("removed");
    fs::write(folder.join("store-2.db.new"), &restored[..5000]).expect("written");
    before.iter().for_each(|(path, bytes)| fs::write(path, bytes).expect("written"));
    let begun =
        ["backups/1700-1-0.new", "backups/1700-1-0.new-wal", "backups/x.tragion-backup.new", "cabinet.toml.new"];
    let theirs = ["letter.new", "backups/letter.new", "store-x.db.new"];
    begun.iter().chain(&theirs).for_each(|n| fs::write(folder.join(n), "x").expect("written"));
    assert_eq!(names(&Cabinet::open(&folder, &words(), now()).expect("opens")), ["Early", "Late"]);
    assert!(!folder.join("store-2.db.new").exists());
    assert!(begun.iter().all(|n| !folder.join(n).exists()), "what was begun goes");
    assert!(theirs.iter().all(|n| folder.join(n).exists()), "what is somebody's stays");
    // A creation that was cut off before its header is begun anew.
    fs::remove_dir_all(&folder).expect("removed");
    fs::create_dir_all(folder.join("backups")).expect("a folder");
    fs::write(folder.join("store-1.db.new"), &restored[..9000]).expect("written");
    drop(Cabinet::create(&folder, &words(), Cost::FOR_TESTS, now()).expect("made"));
    assert_eq!(names(&Cabinet::open(&folder, &words(), now()).expect("opens")), [""; 0]);
    fs::remove_dir_all(&folder).expect("removed");
}

#[test]
fn nothing_of_a_client_or_a_secret_is_in_what_debug_shows() {
    let details = Details { name: "Quagga".into(), notes: "Zephyrine".into(), ..Details::default() };
    let shown = format!("{details:?} {:?} {:?}", words(), crate::Json::new("\"Quagga\"").expect("JSON"));
    assert_eq!(shown, "Details(…) Passphrase(…) Json(8 bytes)");
}
