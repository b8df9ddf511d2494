//! What a wrong passphrase costs in time. Where the system tells how long this thread had a processor (Linux), that is what
//! counts: by the clock a busy machine makes equal things differ.

mod common;

use std::time::{Duration, Instant};

use cabinet::*;
use common::{Folder, now, words};

/// Time of this thread so far: on a processor, or by the clock since `start`.
fn spent(start: Instant) -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|t| t.split_whitespace().next()?.parse().ok());
    nanoseconds.map_or_else(|| start.elapsed(), Duration::from_nanos)
}

/// Bars, on the sum of 20 rounds in turn: how much of it is right makes no difference beyond a quarter, and a wrong one takes
/// at least half as long as the right one, which opens a store as well.
#[test]
fn a_wrong_passphrase_takes_its_time_whatever_is_wrong_with_it() {
    let folder = Folder::new("time");
    let cost = Cost::new(16 * 1024, 2, 1).expect("a cost");
    drop(Cabinet::create(&folder.cabinet(), &words(), cost, now()).expect("made"));
    let cabinet = Cabinet::at(&folder.cabinet());
    let long = "x".repeat(1000);
    let typed = ["x", "horse lamp river sevem", &long, "horse lamp river seven"];
    let (mut sums, start) = ([Duration::ZERO; 4], Instant::now());
    for round in 0..20 {
        for (n, (typed, sum)) in typed.iter().zip(&mut sums).enumerate() {
            let passphrase = Passphrase::new(*typed);
            // Long after the one before: no wait.
            let at = now().plus((round * 4 + n as i64) * 10_000);
            let begun = spent(start);
            let opened = cabinet.unlock(&passphrase, at);
            *sum += spent(start) - begun;
            assert_eq!(opened.is_ok(), n == 3);
            cabinet.lock();
        }
    }
    let [far, near, long, right] = sums.map(|d| d.as_secs_f64() / 20.0);
    for (what, time) in [("near", near), ("long", long)] {
        assert!((0.75..1.34).contains(&(time / far)), "{what}: {time} s against {far} s");
    }
    assert!(far > right / 2.0 && far > 0.005, "wrong {far} s, right {right} s");
    println!("wrong {far:.4} s, nearly right {near:.4} s, a thousand letters {long:.4} s, right {right:.4} s");
}
