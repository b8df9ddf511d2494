//! The passphrase: what opens, what does not, what it costs, and when the cabinet locks itself.

mod common;

use cabinet::*;
use common::{Folder, made, named, now, visited, words};

fn refused(cabinet: &Cabinet, typed: &str, at: Time) -> Error {
    cabinet.unlock(&Passphrase::new(typed), at).expect_err("it must not open")
}

#[test]
fn only_its_passphrase_opens_it_and_the_words_are_always_the_same() {
    let folder = Folder::new("opens");
    drop(made(&folder));
    let mut said = Vec::new();
    for (n, typed) in
        ["", "horse", "horse lamp river seve", "horse lamp river seven ", "\u{0}", "x'00'", "🙂"].iter().enumerate()
    {
        let at = now().plus(n as i64 * 10_000);
        let error = refused(&Cabinet::at(&folder.cabinet()), typed, at);
        assert_eq!(error.key(), "cabinet.wrong_passphrase", "{typed:?}: {error}");
        let ErrorKind::WrongPassphrase { wait_until } = error.kind() else { panic!("{error:?}") };
        said.push(error.to_string().replace(&wait_until.to_string(), "T"));
    }
    said.dedup();
    assert_eq!(said.len(), 1, "{said:?}");
    Cabinet::open(&folder.cabinet(), &words(), now().plus(1_000_000)).expect("its own opens it");
}

#[test]
fn wrong_ones_in_a_row_wait_longer_and_longer_across_restarts() {
    let folder = Folder::new("waits");
    drop(made(&folder));
    let mut at = now();
    for n in 1..=12u32 {
        // A handle of its own each time, as after a restart.
        let error = refused(&Cabinet::at(&folder.cabinet()), "wrong", at);
        let wait = wait_after(n);
        assert_eq!(error.kind(), &ErrorKind::WrongPassphrase { wait_until: at.plus(wait) }, "attempt {n}");
        if wait > 0 {
            // Too soon: the right one is not tried either, and it costs no derivation.
            let early = Cabinet::open(&folder.cabinet(), &words(), at.plus(wait - 1)).expect_err("too soon");
            assert_eq!(early.kind(), &ErrorKind::TooSoon { wait_until: at.plus(wait) });
            assert_eq!(early.key(), "cabinet.too_soon");
        }
        at = at.plus(wait);
    }
    // A clock set back does not open the door, nor does it shut it for years.
    let back = at.plus(-1_000_000);
    let ErrorKind::TooSoon { wait_until } = refused(&Cabinet::at(&folder.cabinet()), "wrong", back).kind().clone()
    else {
        panic!("not held off")
    };
    assert_eq!(wait_until, back.plus(900));
    // A file of attempts that makes no sense waits as well, and not for ever.
    std::fs::write(folder.cabinet().join("attempts.txt"), "???").expect("written");
    let error = refused(&Cabinet::at(&folder.cabinet()), "wrong", at);
    assert_eq!(error.kind(), &ErrorKind::TooSoon { wait_until: at.plus(5) });
    let cabinet = Cabinet::open(&folder.cabinet(), &words(), at.plus(5)).expect("opens after its wait");
    cabinet.lock();
    let error = refused(&cabinet, "wrong", at.plus(5));
    assert_eq!(error.kind(), &ErrorKind::WrongPassphrase { wait_until: at.plus(5) }, "the count begins anew");
}

#[test]
fn a_locked_cabinet_gives_nothing_and_one_left_alone_locks_itself() {
    let folder = Folder::new("locks");
    let cabinet = made(&folder);
    let (client, _) = visited(&cabinet, "Ana");
    assert_eq!(cabinet.locks_at(), None);
    cabinet.lock_after(Some(600));
    assert_eq!(cabinet.locks_at(), Some(now().plus(600)));
    cabinet.touch(now().plus(599)).expect("at work");
    assert!(!cabinet.lock_if_due(now().plus(1198)));
    cabinet.read(|r| r.client(client)).expect("still open");
    assert!(cabinet.lock_if_due(now().plus(1199)));
    assert!(!cabinet.is_unlocked() && cabinet.locks_at().is_none() && cabinet.checked().is_none());
    let locked = |what: &str, error: Error| assert_eq!(error.key(), "cabinet.locked", "{what}");
    locked("read", cabinet.read(|r| r.client(client)).expect_err("locked"));
    locked("write", cabinet.write(now(), |w| w.add_client(&named("X"))).expect_err("locked"));
    locked("backup", cabinet.backup(3, now()).expect_err("locked"));
    locked("touch", cabinet.touch(now()).expect_err("locked"));
    locked("check", cabinet.check().expect_err("locked"));
    locked("erase", cabinet.erase_client(client, now()).expect_err("locked"));
    locked("erase all", cabinet.erase_all().expect_err("locked"));
    // Closed for good: no log, nobody holding it.
    assert!(!folder.cabinet().join("store-1.db-wal").exists());
    cabinet.unlock(&words(), now().plus(2000)).expect("opens again");
    assert_eq!(cabinet.locks_at(), Some(now().plus(2600)));
    cabinet.touch(now().plus(1999)).expect("a clock set back a little is no reason");
    assert_eq!(cabinet.touch(now().plus(9999)).expect_err("over").key(), "cabinet.locked");
}

#[test]
fn a_new_passphrase_replaces_the_old_one_and_its_store() {
    let folder = Folder::new("new-words");
    let cabinet = made(&folder);
    let (client, _) = visited(&cabinet, "Ana");
    let new = Passphrase::new("other words entirely");
    let wrong = cabinet.change_passphrase(&Passphrase::new("nope"), &new, Cost::FOR_TESTS, now()).expect_err("not its");
    assert_eq!(wrong.key(), "cabinet.wrong_passphrase");
    let short = cabinet.change_passphrase(&words(), &Passphrase::new("short"), Cost::FOR_TESTS, now());
    assert_eq!(short.expect_err("short").key(), "cabinet.passphrase_short");
    cabinet.read(|r| r.client(client)).expect("still open");
    let other = Cabinet::open(&folder.cabinet(), &words(), now()).expect("a second one");
    let busy = cabinet.change_passphrase(&words(), &new, Cost::FOR_TESTS, now()).expect_err("another has it open");
    assert_eq!(busy.key(), "cabinet.in_use");
    drop(other);
    cabinet.change_passphrase(&words(), &new, Cost::FOR_TESTS, now()).expect("changed");
    cabinet.read(|r| r.client(client)).expect("open under the new one");
    drop(cabinet);
    assert!(!folder.cabinet().join("store-1.db").exists() && folder.cabinet().join("store-2.db").exists());
    let old = Cabinet::open(&folder.cabinet(), &words(), now()).expect_err("the old one is over");
    assert_eq!(old.key(), "cabinet.wrong_passphrase");
    let cabinet = Cabinet::open(&folder.cabinet(), &new, now()).expect("the new one");
    assert_eq!(cabinet.read(|r| r.client(client)).expect("there").details.name, "Ana");
}

#[test]
fn a_cabinet_is_made_only_where_nothing_is_and_opened_only_where_one_is() {
    let folder = Folder::new("where");
    let create = |path: &std::path::Path, typed: &str| {
        Cabinet::create(path, &Passphrase::new(typed), Cost::FOR_TESTS, now()).map(drop).expect_err("must not be made")
    };
    let none = Cabinet::open(&folder.cabinet(), &words(), now()).expect_err("nothing there");
    assert_eq!(none.key(), "cabinet.none");
    assert_eq!(create(&folder.cabinet(), "seven77").key(), "cabinet.passphrase_short");
    assert!(!folder.cabinet().exists() && !Cabinet::is_in(&folder.cabinet()));
    drop(made(&folder));
    assert!(Cabinet::is_in(&folder.cabinet()));
    assert_eq!(create(&folder.cabinet(), "eight888").key(), "cabinet.already_there");
    let foreign = folder.path().join("foreign");
    std::fs::create_dir(&foreign).expect("a folder");
    std::fs::write(foreign.join("letter.txt"), "Dear").expect("a file");
    assert_eq!(create(&foreign, "eight888").key(), "cabinet.not_empty");
    assert_eq!(std::fs::read(foreign.join("letter.txt")).expect("still there"), b"Dear");
    let file = folder.path().join("file");
    std::fs::write(&file, "x").expect("a file");
    assert_eq!(create(&file, "eight888").key(), "cabinet.file");
    for cost in [(0, 1, 1), (4, 1, 1), (8, 0, 1), (8, 1, 0), (1 << 30, 1, 1), (8, 65, 1), (1024, 1, 17)] {
        assert!(Cost::new(cost.0, cost.1, cost.2).is_err(), "{cost:?}");
    }
    assert!(!format!("{:?}", words()).contains("horse"), "a passphrase shows nothing of itself");
}

#[cfg(unix)]
#[test]
fn the_folder_is_its_owner_s_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new("mode");
    drop(made(&folder));
    let mode = std::fs::metadata(folder.cabinet()).expect("there").permissions().mode();
    assert_eq!(mode & 0o777, 0o700);
}
