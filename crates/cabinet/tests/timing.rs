//! What a wrong passphrase costs in time. In a file of its own, so that no other test of this crate runs beside it.

mod common;

use std::time::{Duration, Instant};

use cabinet::*;
use common::{Folder, now, words};

/// Bars, on the shortest of 40 rounds, since a busy machine only ever adds: how much of it is right makes no difference
/// beyond a quarter, and a wrong one takes at least half as long as the right one, which opens a store as well.
#[test]
fn a_wrong_passphrase_takes_its_time_whatever_is_wrong_with_it() {
    let folder = Folder::new("time");
    let cost = Cost::new(16 * 1024, 2, 1).expect("a cost");
    drop(Cabinet::create(&folder.cabinet(), &words(), cost, now()).expect("made"));
    let cabinet = Cabinet::at(&folder.cabinet());
    let long = "x".repeat(1000);
    let typed = ["x", "horse lamp river sevem", &long, "horse lamp river seven"];
    let mut least = [Duration::MAX; 4];
    for round in 0..40 {
        for (n, (typed, least)) in typed.iter().zip(&mut least).enumerate() {
            let passphrase = Passphrase::new(*typed);
            // Long after the one before: no wait.
            let at = now().plus((round * 4 + n as i64) * 10_000);
            let begun = Instant::now();
            let opened = cabinet.unlock(&passphrase, at);
            *least = begun.elapsed().min(*least);
            assert_eq!(opened.is_ok(), n == 3);
            cabinet.lock();
        }
    }
    let [far, near, long, right] = least.map(|d| d.as_secs_f64());
    for (what, time) in [("near", near), ("long", long)] {
        assert!((0.75..1.34).contains(&(time / far)), "{what}: {time} s against {far} s");
    }
    assert!(far > right / 2.0 && far > 0.005, "wrong {far} s, right {right} s");
}
