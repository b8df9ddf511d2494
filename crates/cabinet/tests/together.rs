//! Many at once: readers see whole moments while one writes, a backup holds one moment, two programs share a cabinet.

mod common;

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use cabinet::*;
use common::{Folder, json, made, named, now, visited, words};

#[test]
fn readers_see_whole_changes_while_others_write() {
    let folder = Folder::new("together");
    let cabinet = made(&folder);
    let second = Cabinet::open(&folder.cabinet(), &words(), now()).expect("a second program");
    let (done, looks) = (AtomicBool::new(false), AtomicU64::new(0));
    std::thread::scope(|scope| {
        for (n, cabinet) in [&cabinet, &cabinet, &second, &cabinet].into_iter().enumerate() {
            let (done, looks) = (&done, &looks);
            scope.spawn(move || {
                let mut most = 0;
                while !done.load(Ordering::Relaxed) {
                    let (first, clients, visits) = cabinet
                        .read(|r| {
                            let first = r.client_count()?;
                            std::thread::yield_now();
                            let mut visits = 0;
                            for line in r.clients(None, 1000)? {
                                visits += r.visits(line.id)?.len() as u64;
                            }
                            Ok((first, r.client_count()?, visits))
                        })
                        .expect("read");
                    assert_eq!((first, visits), (clients, clients * 3), "reader {n}: one moment, whole changes");
                    assert!(clients >= most, "reader {n}: what was seen does not go away");
                    most = clients;
                    looks.fetch_add(1, Ordering::Relaxed);
                }
            });
        }
        let writers: Vec<_> = [&cabinet, &second]
            .into_iter()
            .enumerate()
            .map(|(n, cabinet)| {
                scope.spawn(move || {
                    for i in 0..40 {
                        cabinet
                            .write(now(), |w| {
                                let client = w.add_client(&named(&format!("W{n} {i}")))?;
                                (0..3).try_for_each(|_| w.add_visit(client, now(), &json("1")).map(drop))
                            })
                            .expect("written");
                    }
                })
            })
            .collect();
        let backups = (0..3).map(|n| cabinet.backup(9, now().plus(n)).expect("a backup meanwhile")).collect::<Vec<_>>();
        writers.into_iter().for_each(|w| w.join().expect("a writer"));
        done.store(true, Ordering::Relaxed);
        for (n, backup) in backups.iter().enumerate() {
            let at = folder.path().join(format!("restored-{n}"));
            let restored = Cabinet::restore(&backup.path, &at, &words(), now()).expect("restored");
            restored
                .read(|r| {
                    for line in r.clients(None, 1000)? {
                        assert_eq!(r.visits(line.id)?.len(), 3, "backup {n}: whole changes");
                    }
                    Ok(())
                })
                .expect("read");
        }
    });
    assert_eq!(second.read(|r| r.client_count()).expect("read"), 80);
    assert!(looks.load(Ordering::Relaxed) > 20, "{looks:?} looks");
}

#[test]
fn locking_waits_for_what_runs_and_loses_nothing() {
    let folder = Folder::new("lock-wait");
    let cabinet = made(&folder);
    let confirmed = AtomicU64::new(0);
    std::thread::scope(|scope| {
        for _ in 0..3 {
            scope.spawn(|| {
                loop {
                    match cabinet.write(now(), |w| w.add_client(&named("One"))) {
                        Ok(_) => confirmed.fetch_add(1, Ordering::SeqCst),
                        Err(error) => break assert_eq!(error.key(), "cabinet.locked"),
                    };
                }
            });
        }
        while confirmed.load(Ordering::SeqCst) < 10 {
            std::thread::yield_now();
        }
        cabinet.lock();
    });
    cabinet.unlock(&words(), now()).expect("opens");
    assert_eq!(cabinet.read(|r| r.client_count()).expect("read"), confirmed.load(Ordering::SeqCst));
}

/// The seals are read from the file itself, which a checkpoint may be writing at this moment.
#[test]
fn a_check_or_an_opening_beside_a_busy_writer_sees_no_damage() {
    let folder = Folder::new("beside");
    let cabinet = made(&folder);
    let done = AtomicBool::new(false);
    // Always the same rows, so that the file stays small and its pages are written over and over.
    let (client, _) = visited(&cabinet, "Ana");
    let write = |n: usize| "note ".repeat(4000 + n % 7);
    let notes: Vec<NoteId> = (0..60)
        .map(|n| cabinet.write(now(), |w| w.add_note(client, None, NoteKind::Note, &write(n))).expect("written"))
        .collect();
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            let mut rounds = 0;
            while !done.load(Ordering::Relaxed) {
                let text = write(rounds);
                cabinet.write(now(), |w| notes.iter().try_for_each(|n| w.change_note(*n, &text))).expect("written");
                rounds += 1;
            }
            rounds
        });
        for n in 0..40 {
            let other =
                Cabinet::open(&folder.cabinet(), &words(), now()).unwrap_or_else(|e| panic!("opening {n}: {e}"));
            other.check_seals().unwrap_or_else(|e| panic!("check {n}: {e}"));
        }
        done.store(true, Ordering::Relaxed);
        assert!(writer.join().expect("the writer") > 5);
    });
}
