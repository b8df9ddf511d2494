//! A contact sheet of twelve invented people: `sheet --out FILE.png [--first SEED] [--random]`.

// An example is an edge: it may read its arguments, look at the clock and print.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::disallowed_macros)]

use phantom::{Person, Shot, photograph};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    let value = |name: &str| arguments.iter().position(|a| a == name).and_then(|i| arguments.get(i + 1)).cloned();
    let first: u64 = value("--first").and_then(|v| v.parse().ok()).unwrap_or(0);
    let random = arguments.iter().any(|a| a == "--random");
    let (w, h) = (400, 500);
    let mut sheet = image::RgbImage::new(4 * w, 3 * h);
    for i in 0..12 {
        let person = Person::invented(first + u64::from(i));
        let base =
            if random { Shot::random(first + u64::from(i)) } else { Shot { seed: u64::from(i), ..Shot::plain() } };
        let shot = Shot { width: w as usize, height: h as usize, ..base };
        let (picture, _) = photograph(&person, &shot);
        for y in 0..h {
            for x in 0..w {
                let at = ((y * w + x) * 3) as usize;
                let pixel = image::Rgb([picture.rgb[at], picture.rgb[at + 1], picture.rgb[at + 2]]);
                sheet.put_pixel((i % 4) * w + x, (i / 4) * h + y, pixel);
            }
        }
    }
    sheet.save(value("--out").unwrap_or_else(|| "sheet.png".to_owned()))?;
    Ok(())
}
