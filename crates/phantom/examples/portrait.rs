//! Draws one invented person: `portrait --seed N --out FILE.png [--yaw D] [--pitch D] [--roll D] [--light NAME]
//! [--hair NAME] [--closed] [--random SHOTSEED] [--size HEIGHT] [--fill SHARE] [--distance MM] [--truth FILE.csv] [--repeat N]`.

// An example is an edge: it may read its arguments, look at the clock and print.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::disallowed_macros)]

use phantom::{Hair, Light, Person, Shot, photograph};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let value = |name: &str| arguments.iter().position(|a| a == name).and_then(|i| arguments.get(i + 1)).cloned();
    let number = |name: &str, other: f64| value(name).and_then(|v| v.parse().ok()).unwrap_or(other);
    let mut person = Person::invented(number("--seed", 1.0) as u64);
    if let Some(name) = value("--hair")
        && let Some(hair) = Hair::ALL.into_iter().find(|h| format!("{h:?}").eq_ignore_ascii_case(&name))
    {
        person.hair = hair;
    }
    let mut shot = match value("--random") {
        Some(seed) => Shot::random(seed.parse()?),
        None => Shot::plain(),
    };
    if let Some(height) = value("--size") {
        shot.height = height.parse()?;
        shot.width = shot.height * 4 / 5;
    }
    shot.yaw = number("--yaw", shot.yaw);
    shot.pitch = number("--pitch", shot.pitch);
    shot.roll = number("--roll", shot.roll);
    shot.fill = number("--fill", shot.fill);
    shot.distance_mm = number("--distance", shot.distance_mm);
    shot.eyes_closed = arguments.iter().any(|a| a == "--closed");
    if let Some(name) = value("--light")
        && let Some(light) = Light::ALL.into_iter().find(|l| format!("{l:?}").eq_ignore_ascii_case(&name))
    {
        shot.light = light;
    }
    let start = std::time::Instant::now();
    let (picture, truth) = photograph(&person, &shot);
    println!("{:?} {:?} {:?}: {:.0} ms", person.tone, person.hair, shot.light, start.elapsed().as_secs_f64() * 1e3);
    let repeats = number("--repeat", 0.0) as u32;
    let start = std::time::Instant::now();
    for _ in 0..repeats {
        std::hint::black_box(photograph(&person, &shot));
    }
    if repeats > 0 {
        println!("{:.0} ms each over {repeats}", start.elapsed().as_secs_f64() * 1e3 / f64::from(repeats));
    }
    let out = value("--out").unwrap_or_else(|| "portrait.png".to_owned());
    image::save_buffer(&out, &picture.rgb, picture.width as u32, picture.height as u32, image::ColorType::Rgb8)?;
    if let Some(file) = value("--truth") {
        let rows: Vec<String> = truth.landmarks.iter().map(|p| format!("{},{},{}", p[0], p[1], p[2])).collect();
        std::fs::write(file, rows.join("\n"))?;
    }
    Ok(())
}
