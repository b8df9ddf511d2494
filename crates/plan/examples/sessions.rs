//! Random sessions with the machine's own states, for the comparison with the pages' script (`tests/oracle/engine.mjs`).
//!
//! `sessions --seed S --count N` prints lines: `score JSON`, then for some sequences of that score `events [[at,"do","felt"]…]` and
//! `sums A B …`, one FNV-1a sum (32 bits) of the state's JSON after each event, and `last JSON`, the last state itself.

#[path = "../tests/common/played.rs"]
mod played;
#[path = "../tests/common/random.rs"]
mod random;

use std::fmt::Write as _;
use std::io::Write as _;

use plan::atlas::Atlas;
use plan::session::{Event, State};
use random::Rng;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut seed = 1u64;
    let mut count = 10_000usize;
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        let value = args.next().ok_or_else(|| format!("{arg} wants a value"))?;
        match arg.as_str() {
            "--seed" => seed = value.parse()?,
            "--count" => count = value.parse()?,
            other => return Err(format!("unknown option {other}").into()),
        }
    }
    let atlas = Atlas::built_in();
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut rng = Rng::new(seed);
    let mut done = 0;
    while done < count {
        let Some(score) = played::random_score(&atlas, &mut rng) else { continue };
        writeln!(out, "score {}", score.json())?;
        for _ in 0..played::SEQUENCES.min(count - done) {
            let events = played::random_events(&mut rng);
            let mut state = State::begin(&score);
            let (mut words, mut sums) = (String::new(), String::new());
            for event in &events {
                state.apply(&score, event);
                let _ = write!(sums, " {}", sum(&state.json()));
                let _ = write!(words, "{}{}", if words.is_empty() { "" } else { "," }, word(event));
            }
            writeln!(out, "events [{words}]\nsums{sums}\nlast {}", state.json())?;
            done += 1;
        }
    }
    Ok(())
}

fn word(event: &Event) -> String {
    let felt = event.what.felt().map_or(String::new(), |f| format!(",\"{}\"", f.word()));
    format!("[{},\"{}\"{felt}]", event.at, event.what.word())
}

/// FNV-1a with 32 bits (Fowler, Noll, Vo; offset and prime from memory).
fn sum(text: &str) -> u32 {
    text.bytes().fold(0x811C_9DC5, |sum, byte| (sum ^ u32::from(byte)).wrapping_mul(0x0100_0193))
}
