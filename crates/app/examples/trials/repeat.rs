//! How far the landmarks scatter when one picture is turned, scaled, brightened, compressed, grained.

use std::process::ExitCode;

use face::{Landmarks, Pixel, Pixels};
use vision::{Care, Finder, Limits, View, decode};

/// A picture of ours.
struct Plain {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

/// Landmarks at the eyes, brows and mouth, held to half a millimetre; the rest to one.
fn fine(n: usize) -> bool {
    const EYES_AND_BROWS: [usize; 52] = [
        33, 7, 163, 144, 145, 153, 154, 155, 133, 173, 157, 158, 159, 160, 161, 246, 263, 249, 390, 373, 374, 380, 381,
        382, 362, 398, 384, 385, 386, 387, 388, 466, 70, 63, 105, 66, 107, 46, 53, 52, 65, 55, 300, 293, 334, 296, 336,
        276, 283, 282, 295, 285,
    ];
    const MOUTH: [usize; 40] = [
        61, 146, 91, 181, 84, 17, 314, 405, 321, 375, 291, 409, 270, 269, 267, 0, 37, 39, 40, 185, 78, 95, 88, 178, 87,
        14, 317, 402, 318, 324, 308, 415, 310, 311, 312, 13, 82, 81, 80, 191,
    ];
    n >= 468 || EYES_AND_BROWS.contains(&n) || MOUTH.contains(&n)
}

pub fn run(photos: &[String]) -> ExitCode {
    let finder = Finder::new().expect("the networks load");
    let mut pictures: Vec<(String, Plain)> = Vec::new();
    for seed in [11, 12, 13] {
        let (p, _) = phantom::photograph(&phantom::Person::invented(seed), &phantom::Shot::random(seed));
        pictures.push((format!("invented {seed}"), Plain { width: p.width, height: p.height, rgb: p.rgb }));
    }
    for name in photos {
        let bytes = match std::fs::read(name) {
            Ok(bytes) => bytes,
            Err(why) => {
                eprintln!("{name}: {why}");
                return ExitCode::from(2);
            }
        };
        let photo = decode(&bytes, &Limits::default()).expect("a photograph");
        let rgb = photo.rgb8().into_owned();
        let name = name.rsplit('/').next().unwrap_or_default().to_owned();
        pictures.push((name, Plain { width: photo.width as usize, height: photo.height as usize, rgb }));
    }
    let mut bad = 0;
    println!("{:<22} {:>6} {:>28} {:>12}", "picture", "trials", "eyes, brows, mouth mm RMS", "elsewhere");
    for (name, picture) in &pictures {
        let (eyes, rest, trials) = scatter(&finder, picture);
        let good = eyes <= 0.5 && rest <= 1.0;
        bad += usize::from(!good);
        println!("{name:<22} {trials:>6} {eyes:>28.3} {rest:>12.3}{}", if good { "" } else { "  beyond 0.5 or 1.0" });
    }
    println!("{} passed, {bad} failed", pictures.len() - bad);
    if bad == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// The scatter about the mean reading, in millimetres (the irises 11.71 mm wide): root mean square over landmarks and trials.
fn scatter(finder: &Finder, picture: &Plain) -> (f64, f64, usize) {
    let mut readings: Vec<Landmarks> = Vec::new();
    for (degrees, scale, gain, noise, quality) in trials() {
        let (changed, back) = change(picture, degrees, scale, gain, noise, quality);
        let view = View::new(changed.width, changed.height, &changed.rgb).expect("whole");
        let found = finder.find(&view, Care::PHOTOGRAPH).expect("the face is there");
        readings.push(found.landmarks.moved(|_, [x, y, z]| {
            let p = back(Pixel::new(x, y));
            [p.x, p.y, z]
        }));
    }
    let n = readings.len() as f64;
    let iris = |l: &Landmarks| (l.at(469).to(l.at(471)) + l.at(474).to(l.at(476))) / 2.0;
    let mm_per_px = 11.71 / (readings.iter().map(iris).sum::<f64>() / n);
    let mut sums = [(0.0, 0usize); 2];
    for i in 0..face::LANDMARKS {
        let mean = |k: usize| readings.iter().map(|r| r.all()[i][k]).sum::<f64>() / n;
        let (mx, my) = (mean(0), mean(1));
        for r in &readings {
            let d = r.at(i).to(Pixel::new(mx, my)) * mm_per_px;
            let slot = &mut sums[usize::from(!fine(i))];
            slot.0 += d * d;
            slot.1 += 1;
        }
    }
    let rms = |(sum, count): (f64, usize)| (sum / count as f64).sqrt();
    (rms(sums[0]), rms(sums[1]), readings.len())
}

/// Eighteen changes: degrees of turn, scale, gain, noise (levels), JPEG quality.
fn trials() -> Vec<(f64, f64, f64, f64, u8)> {
    let mut list = vec![(0.0, 1.0, 1.0, 0.0, 100)];
    list.extend([-20.0, -8.0, 5.0, 15.0].map(|d| (d, 1.0, 1.0, 0.0, 95)));
    list.extend([0.7, 0.85, 1.2, 1.5].map(|s| (0.0, s, 1.0, 0.0, 95)));
    list.extend([0.7, 0.85, 1.15, 1.3].map(|g| (0.0, 1.0, g, 0.0, 95)));
    list.extend([40, 60, 80].map(|q| (0.0, 1.0, 1.0, 0.0, q)));
    list.extend([4.0, 8.0].map(|n| (0.0, 1.0, 1.0, n, 95)));
    list
}

/// The changed picture, and the way back from its places to the first picture's.
fn change(p: &Plain, degrees: f64, scale: f64, gain: f64, noise: f64, quality: u8) -> (Plain, impl Fn(Pixel) -> Pixel) {
    let (width, height) = ((p.width as f64 * scale) as usize, (p.height as f64 * scale) as usize);
    let (sin, cos) = degrees.to_radians().sin_cos();
    let middle = (p.width as f64 / 2.0, p.height as f64 / 2.0);
    let (w, h) = (width as f64, height as f64);
    let back = move |at: Pixel| {
        let (x, y) = ((at.x - w / 2.0) / scale, (at.y - h / 2.0) / scale);
        Pixel::new(middle.0 + x * cos - y * sin, middle.1 + x * sin + y * cos)
    };
    let view = View::new(p.width, p.height, &p.rgb).expect("whole");
    let mut state = 0x9E37_79B9_7F4A_7C15u64;
    let mut chance = move || {
        // xorshift64*, summed to something near to normal.
        let mut sum = 0.0;
        for _ in 0..4 {
            state ^= state >> 12;
            state ^= state << 25;
            state ^= state >> 27;
            sum += (state.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 40) as f64 / 16_777_216.0 - 0.5;
        }
        sum * 3.0f64.sqrt()
    };
    let mut rgb = Vec::with_capacity(3 * width * height);
    for y in 0..height {
        for x in 0..width {
            let at = back(Pixel::new(x as f64 + 0.5, y as f64 + 0.5));
            let inside = Pixel::new(at.x.clamp(0.0, p.width as f64), at.y.clamp(0.0, p.height as f64));
            let colour = view.rgb(inside).unwrap_or([0.5; 3]);
            for c in colour {
                let level = 255.0 * c * gain + if noise > 0.0 { noise * chance() } else { 0.0 };
                rgb.push(level.round().clamp(0.0, 255.0) as u8);
            }
        }
    }
    let jpeg = vision::jpeg(&View::new(width, height, &rgb).expect("whole"), quality).expect("written");
    let again = decode(&jpeg, &Limits::default()).expect("read");
    (Plain { width, height, rgb: again.rgb8().into_owned() }, back)
}
