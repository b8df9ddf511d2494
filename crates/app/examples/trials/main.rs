//! Invented faces with known truth, photographed, read and compared: where the table of landmark errors comes from, and whether
//! the stated uncertainties hold.
//!
//! - `trials calibrate [FACES]` prints `data/models/landmark_error.csv` (seeds from 1 000 000 on).
//! - `trials coverage [FACES]` says for each point in how many trials the truth lies within the stated circle (seeds from 1 on:
//!   none of them was seen by `calibrate`), and fails outside of 90 to 98 %.
//! - `trials repeat` says how far the landmarks scatter when one picture is turned, scaled, brightened, compressed, grained.

mod calibrate;
mod coverage;
mod repeat;
mod trial;

use std::process::ExitCode;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |default: usize| args.get(1).and_then(|w| w.parse().ok()).unwrap_or(default);
    match args.first().map(String::as_str) {
        Some("calibrate") => calibrate::run(number(600)),
        Some("coverage") => coverage::run(number(500)),
        Some("repeat") => repeat::run(&args[1..]),
        _ => {
            eprintln!("trials calibrate|coverage [FACES], or trials repeat PHOTO...");
            ExitCode::from(2)
        }
    }
}
