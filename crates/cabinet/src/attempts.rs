//! Wrong passphrases in a row: each one costs the derivation of a key, and from the third on a wait that doubles.
//!
//! The count stands in a file in clear, so that it outlives a restart; it is written in place, always equally long, so that a
//! full disk locks nobody out. It holds off someone at the keyboard or on the page.
//! Who carries the files away can delete it; against them only the passphrase and the cost of Argon2id stand.

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::Path;

use crate::error::{Error, ErrorKind};
use crate::place::Place;
use crate::time::Time;

/// From this many wrong ones in a row there is a wait.
pub const FREE: u32 = 3;
/// The first wait in seconds; each further wrong one doubles it.
pub const FIRST_WAIT: i64 = 5;
/// The longest wait in seconds.
pub const LONGEST_WAIT: i64 = 15 * 60;

/// How long after `failures` wrong ones in a row the next is refused, in seconds.
pub fn wait(failures: u32) -> i64 {
    if failures < FREE {
        return 0;
    }
    (FIRST_WAIT << (failures - FREE).min(16)).min(LONGEST_WAIT)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Count {
    failures: u32,
    last: Time,
}

impl Count {
    fn text(self) -> String {
        format!("wrong in a row: {:010}\nlast: {}\n", self.failures, self.last)
    }

    fn parse(text: &str) -> Option<Count> {
        let (first, second) = text.trim_end().split_once('\n')?;
        let failures = first.strip_prefix("wrong in a row: ")?.parse().ok()?;
        Some(Count { failures, last: Time::parse(second.strip_prefix("last: ")?)? })
    }

    fn wait_until(self) -> Time {
        self.last.plus(wait(self.failures))
    }
}

/// One attempt, counted as wrong until it is said to be right: who pulls the plug in between gains nothing.
/// Attempts queue: while one lives, others wait for it.
pub struct Attempt {
    place: Place,
    count: Count,
    queue: File,
}

impl Attempt {
    /// Begins an attempt, or refuses it.
    pub fn begin(place: &Place, now: Time) -> Result<Attempt, Error> {
        let queue = place.folder().join("in-turn");
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(&queue);
        let file = file.map_err(|e| Error::io(&queue, &e))?;
        file.lock().map_err(|e| Error::io(&queue, &e))?;
        let before = match read(&place.attempts()) {
            Ok(count) => count.unwrap_or(Count { failures: 0, last: now }),
            // One that can't be read counts as one that begins to wait now.
            Err(()) => {
                let begins = Count { failures: FREE, last: now };
                write(&place.attempts(), begins)?;
                begins
            }
        };
        if before.failures >= FREE {
            // A clock set back makes no wait longer than it was.
            let until = before.wait_until().min(now.plus(wait(before.failures)));
            if now < until && now >= before.last {
                return Err(ErrorKind::TooSoon { wait_until: until }.into());
            }
            if now < before.last {
                let moved = Count { last: now, ..before };
                write(&place.attempts(), moved)?;
                return Err(ErrorKind::TooSoon { wait_until: moved.wait_until() }.into());
            }
        }
        let count = Count { failures: before.failures.saturating_add(1), last: now };
        write(&place.attempts(), count)?;
        Ok(Attempt { place: place.clone(), count, queue: file })
    }

    /// From when on the next attempt is taken, if this one was wrong.
    pub fn wait_until(&self) -> Time {
        self.count.wait_until()
    }

    /// It was right: the count begins anew. The turn is kept until the answer is dropped.
    pub fn right(self) -> Result<Turn, Error> {
        write(&self.place.attempts(), Count { failures: 0, ..self.count })?;
        Ok(Turn(self.queue))
    }
}

/// A turn in the queue of those who open: two programs that start together don't take each other for somebody at work.
pub struct Turn(#[expect(dead_code, reason = "holds the queue while it lives")] File);

/// Makes the file, so that later nothing needs room.
pub fn begin_at_none(place: &Place, now: Time) -> Result<(), Error> {
    write(&place.attempts(), Count { failures: 0, last: now })
}

fn write(path: &Path, count: Count) -> Result<(), Error> {
    let run = || {
        let mut file = OpenOptions::new().create(true).truncate(false).write(true).open(path)?;
        let text = count.text();
        file.write_all(text.as_bytes())?;
        file.set_len(text.len() as u64)?;
        file.sync_all()
    };
    run().map_err(|e| Error::io(path, &e))
}

/// The count, none where there is no file, an error where it can't be read.
fn read(path: &Path) -> Result<Option<Count>, ()> {
    match fs::read(path) {
        Ok(bytes) => std::str::from_utf8(&bytes).ok().and_then(Count::parse).map(Some).ok_or(()),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(_) => Err(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_rise_to_a_quarter_of_an_hour() {
        let waits: Vec<i64> = (0..13).map(wait).collect();
        assert_eq!(waits, [0, 0, 0, 5, 10, 20, 40, 80, 160, 320, 640, 900, 900]);
        assert_eq!(wait(u32::MAX), 900);
    }

    #[test]
    fn a_count_is_written_and_read() {
        let count = Count { failures: 4, last: Time::from_unix(1_764_468_000) };
        assert_eq!(Count::parse(&count.text()), Some(count));
        assert_eq!(Count::parse("wrong in a row: x\nlast: y\n"), None);
    }
}
