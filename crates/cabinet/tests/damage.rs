//! Damage is recognised, said, and the way back is shown. Never is wrong data given as right.

mod common;
#[path = "common/load.rs"]
mod load;

use std::fs;
use std::path::Path;

use cabinet::*;
use common::{Folder, json, made, named, now, photograph, visited, words};

/// A cabinet with a backup in it, closed; enough rows for inner pages and overflow.
fn filled(folder: &Folder) -> BackupInfo {
    let cabinet = made(folder);
    for n in 0..12 {
        let (client, visit) = visited(&cabinet, &format!("Client {n}"));
        cabinet
            .write(now(), |w| {
                w.add_photograph(visit, &photograph(&vec![n as u8; 9_000]))?;
                for _ in 0..10 {
                    w.add_visit(client, now(), &json(&format!("\"{}\"", "visit ".repeat(40))))?;
                }
                Ok(())
            })
            .expect("written");
    }
    cabinet.backup(3, now()).expect("a backup")
}

fn open(path: &Path) -> Result<Cabinet, Error> {
    Cabinet::open(path, &words(), now())
}

fn must_say_damaged(what: &str, folder: &Path, damage: Damage, backup: Option<&BackupInfo>) {
    let error = open(folder).map(drop).expect_err(what);
    let ErrorKind::Damaged { what: found, newest_backup, .. } = error.kind() else { panic!("{what}: {error:?}") };
    assert_eq!((found, newest_backup.as_ref()), (&damage, backup), "{what}");
    let told = error.to_string();
    assert!(told.contains("damaged") && told.contains(if backup.is_some() { "restore it" } else { "no whole backup" }));
}

/// A small generator of numbers (splitmix64), so that a failure can be run again.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n as u64) as usize
    }
}

#[test]
fn two_hundred_flipped_bits_are_all_recognised_when_it_is_opened() {
    let folder = Folder::new("flips");
    let backup = filled(&folder);
    let store = folder.cabinet().join("store-1.db");
    let good = fs::read(&store).expect("the store");
    assert!(good.len() > 40 * 4096, "{} pages", good.len() / 4096);
    let mut chance = Chance(1);
    for _ in 0..200 {
        let (at, bit) = (chance.below(good.len()), chance.below(8));
        let mut bytes = good.clone();
        bytes[at] ^= 1 << bit;
        fs::write(&store, &bytes).expect("written");
        must_say_damaged(&format!("byte {at}, bit {bit}"), &folder.cabinet(), Damage::Store, Some(&backup));
    }
    fs::write(&store, &good).expect("written");
    drop(open(&folder.cabinet()).expect("the good one opens"));
    let restored = Cabinet::restore(&backup.path, &folder.cabinet(), &words(), now()).expect("the way back");
    assert_eq!(restored.read(|r| r.client_count()).expect("read"), 12);
}

#[test]
fn a_store_that_is_cut_longer_empty_swapped_or_gone_is_recognised() {
    let folder = Folder::new("cuts");
    let backup = filled(&folder);
    let store = folder.cabinet().join("store-1.db");
    let good = fs::read(&store).expect("the store");
    let check = |what: &str, bytes: &[u8]| {
        fs::write(&store, bytes).expect("written");
        must_say_damaged(what, &folder.cabinet(), Damage::Store, Some(&backup));
    };
    check("empty", b"");
    for length in [1, 15, 16, 100, 4095, 4096, 8192, good.len() / 2, good.len() - 4096, good.len() - 1] {
        check(&format!("{length} bytes"), &good[..length]);
    }
    check("a page too long", &[&good[..], &[0; 4096]].concat());
    check("a byte too long", &[&good[..], b"x"].concat());
    check("plain SQLite", &[b"SQLite format 3\0", &good[16..]].concat());
    check("text", "Dear diary. ".repeat(good.len() / 12).as_bytes());
    check("zeros", &vec![0; good.len()]);
    let mut zeroed = good.clone();
    zeroed[8 * 4096..9 * 4096].fill(0);
    check("one page of zeros", &zeroed);
    // Both pages bear good seals; each is sealed with its number.
    let mut swapped = good.clone();
    swapped[8 * 4096..9 * 4096].copy_from_slice(&good[9 * 4096..10 * 4096]);
    swapped[9 * 4096..10 * 4096].copy_from_slice(&good[8 * 4096..9 * 4096]);
    check("two pages swapped", &swapped);
    fs::remove_file(&store).expect("removed");
    must_say_damaged("gone", &folder.cabinet(), Damage::Store, Some(&backup));
}

#[test]
fn a_header_heals_from_its_copy_and_is_missed_when_both_are_gone() {
    let folder = Folder::new("header");
    let backup = filled(&folder);
    let (first, copy) = (folder.cabinet().join("cabinet.toml"), folder.cabinet().join("cabinet.toml.copy"));
    let good = fs::read(&first).expect("the header");
    let mut flipped = good.clone();
    flipped[good.len() / 2] ^= 1;
    for (what, a, b) in [
        ("first flipped", Some(&flipped), Some(&good)),
        ("first gone", None, Some(&good)),
        ("copy flipped", Some(&good), Some(&flipped)),
        ("copy gone", Some(&good), None),
    ] {
        for (path, bytes) in [(&first, a), (&copy, b)] {
            match bytes {
                Some(bytes) => fs::write(path, bytes).expect("written"),
                None => fs::remove_file(path).expect("removed"),
            }
        }
        drop(open(&folder.cabinet()).unwrap_or_else(|e| panic!("{what}: {e}")));
        assert_eq!((&fs::read(&first).expect(what), &fs::read(&copy).expect(what)), (&good, &good), "{what}");
    }
    for path in [&first, &copy] {
        fs::write(path, &flipped).expect("written");
    }
    must_say_damaged("both flipped", &folder.cabinet(), Damage::Header, Some(&backup));
    for path in [&first, &copy] {
        fs::remove_file(path).expect("removed");
    }
    must_say_damaged("both gone", &folder.cabinet(), Damage::Header, Some(&backup));
    let again = Cabinet::create(&folder.cabinet(), &words(), Cost::FOR_TESTS, now()).expect_err("no cabinet over it");
    assert_eq!(again.key(), "cabinet.not_empty");
    let restored = Cabinet::restore(&backup.path, &folder.cabinet(), &words(), now()).expect("the way back");
    assert_eq!(restored.read(|r| r.client_count()).expect("read"), 12);
    assert!(folder.cabinet().join("aside/1/store-1.db").exists(), "what was there is kept");
}

#[test]
fn the_newest_whole_backup_is_the_one_that_is_offered() {
    let folder = Folder::new("newest");
    filled(&folder);
    let cabinet = open(&folder.cabinet()).expect("opens");
    let second = cabinet.backup(9, now().plus(60)).expect("a backup");
    let third = cabinet.backup(9, now().plus(120)).expect("a backup");
    drop(cabinet);
    let mut bytes = fs::read(&third.path).expect("a backup");
    let last = bytes.len() - 7;
    bytes[last] ^= 1;
    fs::write(&third.path, bytes).expect("written");
    fs::write(folder.cabinet().join("store-1.db"), "x").expect("written");
    must_say_damaged("third is damaged", &folder.cabinet(), Damage::Store, Some(&second));
    for backup in fs::read_dir(folder.cabinet().join("backups")).expect("a folder") {
        fs::write(backup.expect("an entry").path(), "x").expect("written");
    }
    must_say_damaged("none is whole", &folder.cabinet(), Damage::Store, None);
}

/// A store above the size that is checked whole: reading what is damaged is an error, the rest is right.
#[test]
fn in_a_large_store_damage_shows_at_the_latest_when_it_is_read() {
    let folder = Folder::new("large");
    let cabinet = made(&folder);
    let (_, visit) = visited(&cabinet, "Ana");
    let mut bytes = vec![0u8; 3_000_000];
    let mut chance = Chance(2);
    let photos: Vec<(PhotographId, Vec<u8>)> = (0..8)
        .map(|_| {
            bytes.iter_mut().for_each(|b| *b = chance.below(256) as u8);
            let id = cabinet.write(now(), |w| w.add_photograph(visit, &photograph(&bytes))).expect("written");
            (id, bytes.clone())
        })
        .collect();
    let backup = cabinet.backup(2, now()).expect("a backup");
    drop(cabinet);
    let store = folder.cabinet().join("store-1.db");
    let mut good = fs::read(&store).expect("the store");
    assert!(good.len() as u64 > CHECKED_WHOLE);
    for length in [good.len() - 4096, good.len() - 1, good.len() / 2, 4096] {
        fs::write(&store, &good[..length]).expect("written");
        must_say_damaged(&format!("cut to {length}"), &folder.cabinet(), Damage::Store, Some(&backup));
    }
    let at = good.len() / 2;
    good[at] ^= 0x10;
    fs::write(&store, &good).expect("written");
    let cabinet = open(&folder.cabinet()).expect("its beginning is whole");
    assert_eq!(cabinet.checked(), Some(Checked::Start));
    let mut damaged = 0;
    for (id, bytes) in &photos {
        match cabinet.read(|r| r.photograph_bytes(*id)) {
            Ok(found) => assert!(found == *bytes, "wrong pixels given as right"),
            Err(error) => {
                damaged += 1;
                let ErrorKind::Damaged { newest_backup, .. } = error.kind() else { panic!("{error:?}") };
                assert_eq!(newest_backup.as_ref(), Some(&backup));
            }
        }
    }
    assert_eq!(damaged, 1);
    assert_eq!(cabinet.check().expect_err("seen by the whole check").key(), "cabinet.store_damaged");
    assert_eq!(cabinet.backup(2, now()).expect_err("no backup of damage").key(), "cabinet.store_damaged");
    assert_eq!(cabinet.backups(), [backup], "the good one is still there");
    cabinet.write(now(), |w| w.add_client(&named("Bo"))).expect("what is whole can still be worked with");
}

/// After a kill the newest changes stand in the write-ahead log alone. A flipped bit there ends it: changes after it are
/// lost, which nothing in SQLite can tell from a kill that came earlier. What is shown is whole and from before.
#[test]
fn a_bit_flipped_in_the_log_after_a_kill_never_shows_half_a_change() {
    let folder = Folder::new("log");
    let mut child = load::load(&folder.cabinet(), "more").spawn().expect("runs");
    let mut lines = std::io::BufRead::lines(std::io::BufReader::new(child.stdout.take().expect("its output")));
    let confirmed = lines.by_ref().take(25).map_while(Result::ok).count() as u64;
    child.kill().expect("SIGKILL");
    child.wait().expect("gone");
    assert_eq!(confirmed, 25);
    let files: Vec<(std::path::PathBuf, Vec<u8>)> = ["store-1.db", "store-1.db-wal"]
        .map(|n| (folder.cabinet().join(n), fs::read(folder.cabinet().join(n)).expect("a file")))
        .into();
    let (mut chance, mut fewer) = (Chance(3), 0);
    for _ in 0..30 {
        let _ = fs::remove_file(folder.cabinet().join("store-1.db-shm"));
        files.iter().for_each(|(path, bytes)| fs::write(path, bytes).expect("written"));
        let mut log = files[1].1.clone();
        let (at, bit) = (chance.below(log.len()), chance.below(8));
        log[at] ^= 1 << bit;
        fs::write(&files[1].0, log).expect("written");
        match open(&folder.cabinet()) {
            Ok(cabinet) => {
                cabinet.check().expect("whole");
                let clients = cabinet.read(|r| r.clients(None, 500)).expect("read");
                for line in &clients {
                    let visits = cabinet.read(|r| r.visits(line.id)).expect("read");
                    assert_eq!(
                        (visits.len(), format!("Client {}", visits[0].conditions.as_str())),
                        (1, line.name.clone())
                    );
                }
                fewer += usize::from((clients.len() as u64) < confirmed);
            }
            Err(error) => assert_eq!(error.key(), "cabinet.store_damaged", "byte {at}, bit {bit}: {error}"),
        }
    }
    assert!(fewer > 0, "then the words above are wrong");
}
