//! One client erased whole, or the cabinet; and what stays.

mod common;

use std::fs;

use cabinet::*;
use common::{Folder, json, made, named, now, photograph, toml, visited, words};

#[test]
fn of_an_erased_client_nothing_can_be_read_and_the_log_keeps_only_that_it_happened() {
    let folder = Folder::new("erase");
    let cabinet = made(&folder);
    let (ana, visit) = visited(&cabinet, "Ana Gone");
    let (bo, _) = visited(&cabinet, "Bo Stays");
    let (photo, routine, version) = cabinet
        .write(now(), |w| {
            let photo = w.add_photograph(visit, &photograph(&[9; 50_000]))?;
            w.add_correction(photo, &json("1"))?;
            w.add_measurement(visit, Some(photo), &json("2"))?;
            let routine = w.add_routine(Some(ana), "hers")?;
            let version = w.add_version(routine, &toml("x = 1"))?;
            w.add_session(Some(ana), version, now(), &json("1"), &json("1"))?;
            let weeks = w.add_weeks(ana, Some(version), now().date(), 7, &json("1"))?;
            w.add_home_note(ana, Some(weeks), now().date(), &json("1"))?;
            w.add_note(ana, Some(visit), NoteKind::Incident, "also incidents")?;
            w.add_note(bo, None, NoteKind::Note, "his own")?;
            Ok((photo, routine, version))
        })
        .expect("written");
    let before = cabinet.read(|r| r.changes(0, 1000)).expect("read");
    // Everything out of the log, so that sizes can be compared.
    cabinet.lock();
    cabinet.unlock(&words(), now()).expect("opens");
    let size = fs::metadata(folder.cabinet().join("store-1.db")).expect("there").len();
    let other = Cabinet::open(&folder.cabinet(), &words(), now()).expect("a second one");
    assert_eq!(cabinet.erase_client(ana, now()).expect_err("another has it open").key(), "cabinet.in_use");
    assert!(cabinet.read(|r| r.client(ana)).is_ok());
    drop(other);
    assert!(cabinet.erase_client(ana, now().plus(5)).expect("erased").compacted);
    let wal = fs::metadata(folder.cabinet().join("store-1.db-wal")).map_or(0, |m| m.len());
    assert_eq!(wal, 0, "the write-ahead log holds old pages");
    assert!(fs::metadata(folder.cabinet().join("store-1.db")).expect("there").len() < size);
    cabinet
        .read(|r| {
            let gone = |what: &str, key: &str| assert_eq!(key, "cabinet.no_such", "{what}");
            gone("client", r.client(ana).expect_err("gone").key());
            gone("visit", r.visit(visit).expect_err("gone").key());
            gone("photograph", r.photograph_bytes(photo).expect_err("gone").key());
            gone("routine", r.routine(routine).expect_err("gone").key());
            gone("version", r.version(version).expect_err("gone").key());
            let lists =
                (r.consents(ana)?.len(), r.sessions(Some(ana))?.len(), r.notes(ana)?.len(), r.weeks(ana)?.len());
            assert_eq!(lists, (0, 0, 0, 0));
            assert_eq!((r.home_notes(ana)?.len(), r.search("gone", 9)?.len(), r.notes(bo)?.len()), (0, 0, 1));
            let log = r.changes(0, 1000)?;
            let last = log.last().expect("a line");
            assert_eq!((last.done, last.kind.as_str(), last.item), (Done::Erased, "client", None));
            assert_eq!(last.at, now().plus(5));
            let theirs = before.iter().filter(|line| !log.contains(line)).count();
            assert_eq!(theirs, 18 - 5, "lines of theirs are gone: {log:#?}");
            Ok(())
        })
        .expect("read");
    cabinet.check().expect("whole");
    // Numbers never come back.
    let (next, _) = visited(&cabinet, "New");
    assert!(next.number() > bo.number());
    assert_eq!(cabinet.erase_client(ana, now()).expect_err("twice").key(), "cabinet.no_such");
}

#[test]
fn the_whole_cabinet_goes_with_its_backups_and_nothing_else() {
    let folder = Folder::new("all");
    let cabinet = made(&folder);
    visited(&cabinet, "Ana");
    let backup = cabinet.backup(3, now()).expect("a backup");
    cabinet.lock();
    drop(cabinet);
    drop(Cabinet::restore(&backup.path, &folder.cabinet(), &words(), now()).expect("restored, so something is aside"));
    fs::write(folder.cabinet().join("letter.txt"), "not ours").expect("written");
    let cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens");
    let other = Cabinet::open(&folder.cabinet(), &words(), now()).expect("a second one");
    assert_eq!(cabinet.erase_all().expect_err("another has it open").key(), "cabinet.in_use");
    assert!(cabinet.is_unlocked());
    drop(other);
    cabinet.erase_all().expect("erased");
    assert!(!cabinet.is_unlocked());
    let left: Vec<_> =
        fs::read_dir(folder.cabinet()).expect("a folder").filter_map(|e| Some(e.ok()?.file_name())).collect();
    assert_eq!(left, ["letter.txt"]);
    let none = Cabinet::open(&folder.cabinet(), &words(), now()).expect_err("none there");
    assert_eq!(none.key(), "cabinet.none");
    fs::remove_file(folder.cabinet().join("letter.txt")).expect("removed");
    let cabinet = Cabinet::create(&folder.cabinet(), &words(), Cost::FOR_TESTS, now()).expect("a new one in its place");
    cabinet.write(now(), |w| w.add_client(&named("New"))).expect("works");
    cabinet.erase_all().expect("erased");
    assert!(!folder.cabinet().exists());
}
