//! A sheet of measured photographs: `cargo run --release -p phantom --example measured -- OUT.png`: six skin classes by five lights, severity
//! growing from left to right; each picture's truth on stdout.

use phantom::{Person, Setting, Shot, UnderEye, photograph};

fn main() {
    let out = std::env::args().nth(1).unwrap_or_else(|| "measured.png".to_owned());
    let (w, h) = (480u32, 600u32);
    let mut sheet = image::RgbImage::new(w * 5, h * 6);
    for row in 0..6u64 {
        for (column, setting) in Setting::ALL.into_iter().take(5).enumerate() {
            let person = Person::invented(600 + row);
            let mut shot = Shot::measured(row * 10 + column as u64, setting);
            shot.width = w as usize;
            shot.height = h as usize;
            shot.card = column % 2 == 1;
            shot.under_eye = UnderEye::of_severity(&person, column as f64, row);
            let begun = std::time::Instant::now();
            let (picture, truth) = photograph(&person, &shot);
            if let Some(skin) = truth.skin {
                let [l, a, b, de, ita] = skin.sides[0].shadow;
                println!(
                    "{} {setting:?} {column}: ITA {:.0} dL {l:.2} da {a:.2} db {b:.2} dE00 {de:.2} dITA {ita:.1} brown {:.3} blue-red {:.3} relief {:.3} {:?}",
                    person.tone.name(),
                    skin.tone_ita,
                    skin.sides[0].brown,
                    skin.sides[0].blue_red,
                    skin.sides[0].relief,
                    begun.elapsed()
                );
            }
            let part = image::RgbImage::from_raw(w, h, picture.rgb).expect("a whole picture");
            image::imageops::replace(&mut sheet, &part, i64::from(w) * column as i64, i64::from(h) * row as i64);
        }
    }
    sheet.save(&out).expect("written");
}
