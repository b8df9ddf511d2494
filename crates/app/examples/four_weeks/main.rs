//! Whether following finds a true change of a face, and finds none where there is none: from rendered photographs, through the landmark
//! network and the measurement, to the verdict.
//!
//! ```text
//! cargo run --release -p app --example four_weeks -- [RUNS [VISITS [FACES [POOL.csv]]]]
//! ```
//!
//! RUNS (200) plans of four weeks for each of three truths: no change, a step of 2 dE00 on the first worked day, and a slow change that
//! reaches 2 dE00 in the last week. Everything is in the light of the day: setting and place of the light differ from visit to visit in both
//! phases, pose and distance from photograph to photograph; the camera is the person's own, and there is no card.
//!
//! Photographs are drawn once for FACES (6, one of each class of skin) faces, VISITS (100) visits of two photographs each, whose true shadows are spread over the
//! range that is needed; a run takes for each of its days a visit that it has not used yet and whose truth is nearest to what its truth of
//! that day is. So runs share photographs, and no photograph stands for another truth than its own. POOL.csv keeps what was measured.
//!
//! The truth is the phantom's own: the mean of CIEDE2000 of both sides of the very photograph. Bars: at most 5 % clear changes
//! where there is none, at least 85 % found where there is one. Under 200 runs only a miss beyond chance (99 %) counts as failed.

mod pool;
mod runs;
// Of it only what draws and measures is used here.
#[allow(dead_code, reason = "the proof's own")]
#[path = "../proof/trial.rs"]
mod trial;

use runs::{Course, Tally};

/// So many standard deviations hold 99 %.
const SURE: f64 = 2.576;
const FALSE_ALARMS: f64 = 5.0;
const FOUND: f64 = 85.0;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |k: usize, or: u64| args.get(k).and_then(|n| n.parse::<u64>().ok()).unwrap_or(or);
    let (count, visits, most) = (number(0, 200), number(1, 100), number(2, 6).clamp(1, 6));
    let faces = pool::faces(visits, most, args.get(3).map(String::as_str));
    let (photographs, passed) = faces.iter().fold((0, 0), |(n, p), f| (n + f.photographs, p + f.passed));
    println!("{photographs} photographs of {} faces, {passed} passed the gates", faces.len());
    for face in &faces {
        println!("  {}", face.described());
    }

    println!("\n{:<52}{:<14}{:<22}other", "what", "bar", "got");
    let (mut good, mut bad) = (0, 0);
    for course in Course::ALL {
        let tally = Tally::of(&faces, course, count);
        let got = 100.0 * tally.clear as f64 / tally.runs.max(1) as f64;
        let bar = if course == Course::Same { FALSE_ALARMS } else { FOUND };
        let chance = if count >= 200 { 0.0 } else { SURE * (bar * (100.0 - bar) / tally.runs.max(1) as f64).sqrt() };
        let held = tally.runs > 0 && if course == Course::Same { got <= bar + chance } else { got >= bar - chance };
        let words = if course == Course::Same { format!("at most {bar} %") } else { format!("at least {bar} %") };
        println!(
            "{:<52}{:<14}{:<22}{}{}",
            course.words(),
            words,
            format!("{got:.1} % ({} of {})", tally.clear, tally.runs),
            tally.described(),
            if held { "" } else { "  MISSED" }
        );
        if held { good += 1 } else { bad += 1 }
    }
    println!("\n{good} passed, {bad} failed");
    if bad > 0 {
        std::process::exit(1);
    }
}
