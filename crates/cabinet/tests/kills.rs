//! A load of writes, killed at random moments: nothing confirmed is lost, nothing half-written is seen.
//!
//! 20 kills; `CABINET_KILLS=200` for more.

mod common;
#[path = "common/load.rs"]
mod load;

use std::io::{BufRead, BufReader};
use std::time::Duration;

use cabinet::*;
use common::{Folder, now, words};

#[test]
fn a_killed_writer_loses_nothing_it_confirmed() {
    let kills: u32 = std::env::var("CABINET_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(20);
    let folder = Folder::new("kills");
    let made = load::load(&folder.cabinet(), "first").status().expect("runs");
    assert!(made.success());
    let (mut seed, mut confirmed) = (0x2545_f491_4f6c_dd1d_u64, 0);
    for kill in 0..kills {
        let mut child = load::load(&folder.cabinet(), "more").spawn().expect("runs");
        let out = child.stdout.take().expect("its output");
        let reading = std::thread::spawn(move || {
            let lines = BufReader::new(out).lines().map_while(Result::ok);
            lines.filter_map(|line| line.parse::<u64>().ok()).last()
        });
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        // From before the first change to some hundred changes in.
        std::thread::sleep(Duration::from_micros(5_000 + seed % 400_000));
        child.kill().expect("SIGKILL");
        child.wait().expect("gone");
        confirmed = reading.join().expect("read").unwrap_or(0).max(confirmed);
        let cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).unwrap_or_else(|e| panic!("kill {kill}: {e}"));
        cabinet.check().expect("whole");
        let found = cabinet.read(|r| r.client_count()).expect("read");
        // One more than was confirmed may be there: killed between the disk and the printing.
        assert!(found == confirmed || found == confirmed + 1, "kill {kill}: {found} there, {confirmed} confirmed");
        let numbers = if kill + 1 == kills { 1..=found } else { found.saturating_sub(20).max(1)..=found };
        cabinet.read(|r| numbers.clone().try_for_each(|n| must_be_whole(r, n))).expect("read");
        confirmed = found;
    }
    assert!(confirmed > u64::from(kills), "{confirmed} changes in {kills} kills: hardly anything was written");
}

fn must_be_whole(r: &Reader<'_>, number: u64) -> Result<(), Error> {
    // A change that was not confirmed used up no number.
    let id = ClientId::from_number(number as i64);
    assert_eq!(r.client(id)?.details.name, format!("Client {number}"));
    let visits = r.visits(id)?;
    assert_eq!((visits.len(), visits[0].conditions.as_str()), (1, number.to_string().as_str()));
    let photos = r.photographs(visits[0].id)?;
    let bytes = r.photograph_bytes(photos[0].id)?;
    assert_eq!(bytes.len(), 1 + (number as usize * 7919) % 40_000);
    assert!(bytes.iter().all(|b| *b == number as u8));
    assert_eq!(r.notes(id)?[0].text, format!("note {number}"));
    Ok(())
}
