//! A full disk: a clear error, everything confirmed intact, and work goes on when there is room.
//!
//! On a small tmpfs where one can be mounted (root on Linux); where not, under a limit on the size of files, which a shell
//! sets for a child. The test says which it was.
#![cfg(unix)]

mod common;
#[path = "common/load.rs"]
mod load;

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::Command;

use cabinet::*;
use common::{Folder, named, now, photograph, words};

/// A tmpfs of so many kilobytes; unmounted when dropped.
struct Small(PathBuf);

impl Small {
    fn mount(path: &Path, kib: u32) -> Option<Small> {
        std::fs::create_dir_all(path).ok()?;
        let size = format!("size={kib}k");
        let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", &size, "tmpfs"]).arg(path).output().ok()?;
        mounted.status.success().then(|| Small(path.to_owned()))
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

/// Numbers that the child confirmed, and the error at its end.
fn fill(mut command: Command) -> (u64, String) {
    let mut child = command.spawn().expect("runs");
    let lines: Vec<String> =
        BufReader::new(child.stdout.take().expect("its output")).lines().map_while(Result::ok).collect();
    let end = child.wait_with_output().expect("ends");
    let last = lines.last().cloned().unwrap_or_default();
    let error = last
        .strip_prefix("error ")
        .unwrap_or_else(|| panic!("it ended with {last:?}, {}, {}", end.status, String::from_utf8_lossy(&end.stderr)));
    (lines.len() as u64 - 1, error.to_owned())
}

fn must_be_intact(path: &Path, confirmed: u64) -> Cabinet {
    let cabinet = Cabinet::open(path, &words(), now()).expect("opens");
    cabinet.check().expect("whole");
    let found = cabinet.read(|r| r.client_count()).expect("read");
    assert_eq!(found, confirmed, "what was confirmed, and nothing else");
    cabinet
}

#[test]
fn a_full_disk_is_an_error_and_harms_nothing() {
    let folder = Folder::new("full");
    let path = folder.path().join("small");
    if let Some(small) = Small::mount(&path, 6 * 1024) {
        println!("on a tmpfs of 6 MB");
        on_a_small_disk(&small.0.join("practice"));
    } else {
        println!("no tmpfs can be mounted here: under a limit on the size of files");
    }
    under_a_limit(&folder.path().join("limited"));
}

fn on_a_small_disk(path: &Path) {
    let ballast = path.with_file_name("ballast");
    std::fs::write(&ballast, vec![0; 1_000_000]).expect("room for it");
    let (confirmed, error) = fill(load::load(path, "fill"));
    assert_eq!(error, "cabinet.disk_full");
    assert!(confirmed > 20, "{confirmed}");
    let cabinet = must_be_intact(path, confirmed);
    let bytes = vec![3; 3_000_000];
    let full = cabinet.write(now(), |w| {
        let client = w.add_client(&named("Too large"))?;
        w.record_consent(client, ConsentKind::Photographs, true, now(), "v1")?;
        let visit = w.add_visit(client, now(), &Json::new("1")?)?;
        w.add_photograph(visit, &photograph(&bytes))
    });
    let full = full.expect_err("no room");
    assert_eq!(full.key(), "cabinet.disk_full");
    assert!(full.to_string().contains("no room") && full.to_string().contains("Make room"), "{full}");
    assert_eq!(cabinet.backup(3, now()).expect_err("no room").key(), "cabinet.disk_full");
    assert!(cabinet.backups().is_empty());
    assert_eq!(cabinet.export(&path.with_file_name("out")).expect_err("no room").key(), "cabinet.disk_full");
    assert_eq!(cabinet.read(|r| r.client_count()).expect("still reads"), confirmed);
    // Somebody makes room, and work goes on where it stood.
    std::fs::remove_file(&ballast).expect("removed");
    cabinet.write(now(), |w| w.add_client(&named("After"))).expect("room again");
    let first = cabinet.read(|r| r.clients(None, 1)).expect("read")[0].id;
    let erased = cabinet.erase_client(first, now()).expect("erased");
    println!(
        "with 1 MB of room for a store of {} KB: {erased:?}",
        std::fs::metadata(path.join("store-1.db")).map_or(0, |m| m.len() / 1024)
    );
    drop(cabinet);
    drop(must_be_intact(path, confirmed));
}

fn under_a_limit(path: &Path) {
    assert!(load::load(path, "first").status().expect("runs").success());
    // Blocks of 512 bytes or of 1024, by the shell: 2 or 4 MB, more than the first cabinet needs.
    let mut command = Command::new("sh");
    command.arg("-c").arg("trap '' XFSZ; ulimit -f 4096; exec \"$0\" \"$1\" fill");
    command.arg(load::program()).arg(path).stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
    let (confirmed, error) = fill(command);
    assert_eq!(error, "cabinet.disk_full");
    assert!(confirmed > 5, "{confirmed}");
    let cabinet = must_be_intact(path, confirmed);
    cabinet.write(now(), |w| w.add_client(&named("After"))).expect("without the limit it goes on");
}
