//! What each step of a photograph's reading costs, in CPU milliseconds of all threads: `stages PHOTO [RUNS]`.

use face::Pixel;
use vision::{Border, Care, Finder, Limits, Square, View, decode, find_card_near, sample};

/// CPU time of this process and all its threads, in milliseconds, in steps of ten (Linux).
fn cpu() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // The name of the program, in brackets, may hold blanks; user and system ticks are the 12th and 13th after it.
    let rest = stat.rsplit(')').next().unwrap_or("");
    rest.split_whitespace().skip(11).take(2).filter_map(|w| w.parse::<f64>().ok()).sum::<f64>() * 10.0
}

fn told<T>(name: &str, runs: usize, mut work: impl FnMut() -> T) {
    std::hint::black_box(work());
    let begun = cpu();
    for _ in 0..runs {
        std::hint::black_box(work());
    }
    println!("{name}: {:.2} ms", (cpu() - begun) / runs as f64);
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let bytes = std::fs::read(args.get(1).ok_or("stages PHOTO [RUNS]")?)?;
    let runs: usize = args.get(2).map_or(Ok(40), |w| w.parse())?;
    told("load", runs, Finder::new);
    let finder = Finder::new()?;
    told("decode", runs, || decode(&bytes, &Limits::default()));
    let photo = decode(&bytes, &Limits::default())?;
    let rgb = photo.rgb8();
    let view = View::new(photo.width as usize, photo.height as usize, &rgb).ok_or("empty")?;
    let found = finder.find(&view, Care::PHOTOGRAPH)?;
    let (a, b) = (found.landmarks.at(33), found.landmarks.at(263));
    let eyes = (b.x - a.x).hypot(b.y - a.y);
    let c = Pixel::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
    let square = Square { centre: c, side: 2.6 * eyes, turn: 0.05 };
    println!("eyes {eyes:.0} px, square {:.0}", square.side);
    told("sample 256", runs, || sample(&view, &square, 256, Border::Edge));
    let whole = Square {
        centre: Pixel::new(f64::from(photo.width) / 2.0, f64::from(photo.height) / 2.0),
        side: 4000.0,
        turn: 0.0,
    };
    told("sample 128", runs, || sample(&view, &whole, 128, Border::Black));
    told("find one pass", runs, || finder.find(&view, Care::ONE_PASS));
    told("find photograph", runs, || finder.find(&view, Care::PHOTOGRAPH));
    told("track", runs, || finder.track(&view, &found.landmarks));
    told("card", runs, || find_card_near(&view, eyes / 89.0));
    Ok(())
}
