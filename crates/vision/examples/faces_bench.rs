//! How long a photograph and a frame of a moving picture take, warm: `faces_bench PHOTO [RUNS]` prints JSON.

use std::time::Instant;

use face::{Hands, OwnMap, Places};
use vision::{Care, Finder, Limits, View, decode};
use vocab::Side;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let photo = args.get(1).ok_or("faces_bench PHOTO [RUNS]")?;
    let runs: usize = args.get(2).map_or(Ok(9), |w| w.parse())?;
    let bytes = std::fs::read(photo)?;
    let begun = Instant::now();
    let finder = Finder::new()?;
    let load_ms = begun.elapsed().as_secs_f64() * 1e3;
    let places = Places::built_in();
    let asked: Vec<(&str, Side)> = places.codes().flat_map(|c| [(c, Side::Left), (c, Side::Right)]).collect();

    let mut whole = Vec::new();
    let mut decoded = Vec::new();
    for _ in 0..runs.max(1) {
        let begun = Instant::now();
        let picture = decode(&bytes, &Limits::default())?;
        decoded.push(begun.elapsed().as_secs_f64() * 1e3);
        let rgb = picture.rgb8();
        let view = View::new(picture.width as usize, picture.height as usize, &rgb).ok_or("an empty picture")?;
        let found = finder.find(&view, Care::PHOTOGRAPH)?;
        OwnMap::make(&found.landmarks, &view, &Hands::default(), &places, &asked).ok_or("no map")?;
        whole.push(begun.elapsed().as_secs_f64() * 1e3);
    }

    // The frame: the same picture within 640 by 480.
    let picture = decode(&bytes, &Limits::default())?;
    let small = image::imageops::thumbnail(
        &image::RgbImage::from_raw(picture.width, picture.height, picture.rgb8().into_owned()).ok_or("pixels")?,
        (480 * picture.width / picture.height).min(640),
        480.min(640 * picture.height / picture.width),
    );
    let mut frame = image::RgbImage::new(640, 480);
    image::imageops::overlay(
        &mut frame,
        &small,
        i64::from(640 - small.width()) / 2,
        i64::from(480 - small.height()) / 2,
    );
    let view = View::new(640, 480, frame.as_raw()).ok_or("a frame")?;
    let found = finder.find(&view, Care::PHOTOGRAPH)?;
    let first = OwnMap::make(&found.landmarks, &view, &Hands::default(), &places, &asked).ok_or("no map")?;
    let mut frames = Vec::new();
    let mut last = found.landmarks;
    for _ in 0..10 * runs.max(1) {
        let begun = Instant::now();
        let (landmarks, _) = finder.track(&view, &last)?;
        first.follow(&landmarks, &places, &asked).ok_or("no map")?;
        last = landmarks;
        frames.push(begun.elapsed().as_secs_f64() * 1e3);
    }
    let peak_rss_kb = std::fs::read_to_string("/proc/self/status")
        .ok()
        .and_then(|s| {
            s.lines().find(|l| l.starts_with("VmHWM")).and_then(|l| l.split_whitespace().nth(1)?.parse().ok())
        })
        .unwrap_or(0u64);
    println!(
        "{{\"photo_ms\": {:.1}, \"decode_ms\": {:.1}, \"frame_640_ms\": {:.2}, \"load_ms\": {load_ms:.1}, \
         \"peak_rss_kb\": {peak_rss_kb}, \"runs\": {runs}}}",
        median(whole),
        median(decoded),
        median(frames)
    );
    Ok(())
}
