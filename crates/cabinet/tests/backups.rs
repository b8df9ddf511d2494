//! Backup and restore: one file, checked, and back again; what was there is kept.

mod common;

use std::fs;

use cabinet::*;
use common::{Folder, made, named, now, photograph, visited, words};

fn names(cabinet: &Cabinet) -> Vec<String> {
    cabinet.read(|r| r.clients(None, 100)).expect("read").into_iter().map(|l| l.name).collect()
}

#[test]
fn a_backup_restores_into_a_new_folder_with_the_passphrase_alone() {
    let folder = Folder::new("backup");
    let cabinet = made(&folder);
    let (client, visit) = visited(&cabinet, "Ana");
    let photo = cabinet.write(now(), |w| w.add_photograph(visit, &photograph(&[7; 20_000]))).expect("written");
    let elsewhere = folder.path().join("stick.tragion-backup");
    let info = cabinet.backup_to(&elsewhere, now().plus(60)).expect("a backup");
    assert_eq!((info.made, info.version, &info.path), (now().plus(60), LATEST_VERSION, &elsewhere));
    assert_eq!(info.size, fs::metadata(&elsewhere).expect("there").len());
    cabinet.write(now(), |w| w.add_client(&named("Later"))).expect("written");
    let new = folder.path().join("new");
    let wrong =
        Cabinet::restore(&elsewhere, &new, &Passphrase::new("not it at all"), now()).expect_err("not its words");
    assert_eq!(wrong.key(), "cabinet.wrong_passphrase");
    let restored = Cabinet::restore(&elsewhere, &new, &words(), now()).expect("restored");
    assert_eq!(names(&restored), ["Ana"]);
    assert_eq!(restored.read(|r| r.photograph_bytes(photo)).expect("pixels"), [7; 20_000]);
    restored.check().expect("whole");
    restored.erase_client(client, now()).expect("it is a cabinet like any other");
    assert_eq!(names(&cabinet), ["Ana", "Later"], "the first one is untouched");
    // Nothing unfinished is left.
    for place in [folder.cabinet(), folder.cabinet().join("backups"), new] {
        let left = fs::read_dir(&place).expect("a folder").filter_map(Result::ok).map(|e| e.file_name());
        let left: Vec<_> = left.filter(|n| n.to_string_lossy().contains(".new")).collect();
        assert!(left.is_empty(), "{left:?} in {}", place.display());
    }
}

#[test]
fn a_backup_on_its_way_is_known_by_its_head() {
    let folder = Folder::new("head");
    let info = made(&folder).backup(1, now()).expect("a backup");
    let bytes = fs::read(&info.path).expect("a file");
    let head = BackupInfo::of_head(&bytes[..BackupInfo::HEAD_BYTES], &info.path).expect("a head");
    assert_eq!((&head, &BackupInfo::of(&info.path).expect("whole")), (&info, &info));
    assert!(info.is_whole());
    for (what, wrong) in [("short", &bytes[..4000]), ("other", &[b'x'; 4096][..])] {
        assert_eq!(BackupInfo::of_head(wrong, &info.path).expect_err(what).key(), "cabinet.bad_backup");
    }
    let mut changed = bytes.clone();
    changed[5000] ^= 1;
    fs::write(&info.path, &changed).expect("written");
    assert!(!info.is_whole() && BackupInfo::of(&info.path).is_ok(), "the head alone says nothing of the rest");
    fs::write(&info.path, &bytes[..5000]).expect("written");
    assert_eq!(BackupInfo::of(&info.path).expect_err("cut short").key(), "cabinet.bad_backup");
}

#[test]
fn a_backup_from_elsewhere_is_taken_in_piece_by_piece() {
    let folder = Folder::new("incoming");
    let cabinet = made(&folder);
    visited(&cabinet, "Ana");
    let elsewhere = folder.path().join("stick");
    cabinet.backup_to(&elsewhere, now()).expect("a backup");
    cabinet.try_backup(&elsewhere, &words(), now()).expect("its words");
    let wrong = cabinet.try_backup(&elsewhere, &Passphrase::new("not it at all"), now()).expect_err("other words");
    assert_eq!(wrong.key(), "cabinet.wrong_passphrase");
    let bytes = fs::read(&elsewhere).expect("a file");
    let new = folder.path().join("new");
    let left = || fs::read_dir(new.join("backups")).expect("a folder").count();
    let mut coming = Incoming::begin(&new, now()).expect("begun");
    bytes.chunks(1000).try_for_each(|piece| coming.take(piece)).expect("taken");
    let info = coming.finish().expect("whole");
    assert!(info.is_whole() && fs::read(&info.path).expect("there") == bytes);
    let restored = Cabinet::restore(&info.path, &new, &words(), now()).expect("restored");
    assert_eq!(names(&restored), ["Ana"]);
    // What is none goes after its first bytes; what is too long, cut short or damaged leaves nothing.
    let mut damaged = bytes.clone();
    damaged[6000] ^= 1;
    let more = [&bytes[..], b"x"].concat();
    for (what, sent) in
        [("other", &[b'x'; 9000][..]), ("long", &more), ("short", &bytes[..7000]), ("damaged", &damaged)]
    {
        let mut coming = Incoming::begin(&new, now()).expect("begun");
        let mut seen = 0;
        let taken = sent.chunks(1000).try_for_each(|piece| {
            seen += 1;
            coming.take(piece)
        });
        let error = taken.and_then(|()| coming.finish().map(drop)).expect_err(what);
        assert_eq!((error.key(), left()), ("cabinet.bad_backup", 1), "{what}");
        assert!(what != "other" || seen == 5, "{seen} pieces of something else were taken");
    }
    let mine = folder.path().join("mine");
    fs::create_dir(&mine).expect("a folder");
    fs::write(mine.join("letter"), "dear Ana").expect("a file");
    assert_eq!(Incoming::begin(&mine, now()).err().map(|e| e.key()), Some("cabinet.not_empty"));
}

#[test]
fn restoring_over_a_cabinet_keeps_the_old_one_aside() {
    let folder = Folder::new("aside");
    let cabinet = made(&folder);
    visited(&cabinet, "Early");
    let info = cabinet.backup(3, now()).expect("a backup");
    visited(&cabinet, "Late");
    let open = Cabinet::restore(&info.path, &folder.cabinet(), &words(), now()).expect_err("it is open");
    assert_eq!(open.key(), "cabinet.in_use");
    assert_eq!(names(&cabinet), ["Early", "Late"]);
    drop(cabinet);
    let restored = Cabinet::restore(&info.path, &folder.cabinet(), &words(), now()).expect("restored");
    assert_eq!(names(&restored), ["Early"]);
    drop(restored);
    assert_eq!(names(&Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens")), ["Early"]);
    let aside = Cabinet::open(&folder.cabinet().join("aside/1"), &words(), now()).expect("the old one opens");
    assert_eq!(names(&aside), ["Early", "Late"]);
    drop(aside);
    // Once more: names of stores are never used twice.
    drop(Cabinet::restore(&info.path, &folder.cabinet(), &words(), now()).expect("restored again"));
    assert!(folder.cabinet().join("aside/2/store-2.db").exists() && folder.cabinet().join("store-3.db").exists());
}

#[test]
fn the_newest_are_kept_and_only_after_a_new_one_is_whole() {
    let folder = Folder::new("keep");
    let cabinet = made(&folder);
    for n in 0..5 {
        cabinet.backup(3, now().plus(n * 60)).expect("a backup");
    }
    cabinet.backup(3, now().plus(240)).expect("two in one second have two names");
    let kept = cabinet.backups();
    assert_eq!(kept.iter().map(|b| b.made.unix() - now().unix()).collect::<Vec<_>>(), [180, 240, 240]);
    assert_eq!(cabinet.newest_whole_backup().as_ref(), kept.last());
    cabinet.backup(0, now().plus(300)).expect("the new one itself is never taken away");
    assert_eq!(cabinet.backups().len(), 1);
}

#[test]
fn a_backup_that_is_not_whole_is_refused_and_changes_nothing() {
    let folder = Folder::new("bad");
    let cabinet = made(&folder);
    visited(&cabinet, "Ana");
    let info = cabinet.backup(9, now()).expect("a backup");
    let good = fs::read(&info.path).expect("its bytes");
    drop(cabinet);
    let check = |what: &str, bytes: &[u8], key: &str| {
        let bad = folder.path().join("bad");
        fs::write(&bad, bytes).expect("written");
        for target in [folder.cabinet(), folder.path().join("nowhere")] {
            let error = Cabinet::restore(&bad, &target, &words(), now()).expect_err(what);
            assert_eq!(error.key(), key, "{what}: {error}");
        }
        let left = fs::read_dir(folder.path().join("nowhere")).map_or(0, |d| {
            d.filter_map(Result::ok).filter(|e| e.file_name().to_string_lossy().starts_with("store")).count()
        });
        assert_eq!(left, 0, "{what}");
    };
    check("empty", b"", "cabinet.bad_backup");
    check("something else", &[b'x'; 9000], "cabinet.bad_backup");
    for cut in [1, 4095, 4096, 4097, good.len() / 2, good.len() - 1] {
        check("cut short", &good[..cut], "cabinet.bad_backup");
    }
    check("longer", &[&good[..], b"x"].concat(), "cabinet.bad_backup");
    for at in (0..good.len()).step_by(good.len() / 40).chain([150, 300, 450]) {
        // What fills the head up after the sum carries nothing.
        let filling = good[..4096].iter().rposition(|b| *b != b'\n').expect("a head") + 1;
        if (filling..4096).contains(&at) {
            continue;
        }
        let mut bytes = good.clone();
        bytes[at] ^= 4;
        check(&format!("flipped at {at}"), &bytes, "cabinet.bad_backup");
    }
    let cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens");
    assert_eq!(names(&cabinet), ["Ana"]);
    assert!(!folder.cabinet().join("aside").exists());
    let missing = Cabinet::restore(&folder.path().join("gone"), &folder.cabinet(), &words(), now());
    assert_eq!(missing.expect_err("no such file").key(), "cabinet.file");
}

#[test]
fn the_store_in_a_backup_is_an_ordinary_one() {
    let folder = Folder::new("ordinary");
    let cabinet = made(&folder);
    visited(&cabinet, "Ana");
    let info = cabinet.backup(9, now()).expect("a backup");
    let bytes = fs::read(&info.path).expect("its bytes");
    let head = String::from_utf8(bytes[..4096].to_vec()).expect("a text");
    for line in ["# A backup of a Tragion cabinet", "argon2id = ", "salt = ", "sha256 = ", "sum = "] {
        assert!(head.contains(line), "{line}");
    }
    assert_eq!(bytes.len() % 4096, 0);
    // A backup under the words of its day opens with those, after the cabinet has others.
    let new = Passphrase::new("other words entirely");
    cabinet.change_passphrase(&words(), &new, Cost::FOR_TESTS, now()).expect("changed");
    drop(cabinet);
    let wrong = Cabinet::restore(&info.path, &folder.cabinet(), &new, now()).expect_err("not of its day");
    assert_eq!(wrong.key(), "cabinet.wrong_passphrase");
    assert_eq!(names(&Cabinet::restore(&info.path, &folder.cabinet(), &words(), now()).expect("restored")), ["Ana"]);
}
