//! Codes in photographs: tilted, small, soft, noisy, on a screen that is too bright. The picture was made by the take-home page.

use std::path::Path;

use vision::{Limits, View, decode, read_codes};

/// A picture in grey.
struct Grey {
    width: usize,
    height: usize,
    values: Vec<f64>,
}

impl Grey {
    fn at(&self, x: f64, y: f64) -> f64 {
        if !(x >= 0.0 && y >= 0.0 && x < self.width as f64 - 1.0 && y < self.height as f64 - 1.0) {
            return 150.0;
        }
        let (x0, y0) = (x as usize, y as usize);
        let (tx, ty) = (x - x0 as f64, y - y0 as f64);
        let v = |x: usize, y: usize| self.values[y * self.width + x];
        (v(x0, y0) * (1.0 - tx) + v(x0 + 1, y0) * tx) * (1.0 - ty)
            + (v(x0, y0 + 1) * (1.0 - tx) + v(x0 + 1, y0 + 1) * tx) * ty
    }
}

fn picture() -> Grey {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../app/tests/notes/home-note.png");
    let photo = decode(&std::fs::read(path).expect("the picture"), &Limits::default()).expect("decodes");
    let values = photo.rgb8().chunks_exact(3).map(|p| f64::from(p[1])).collect();
    Grey { width: photo.width as usize, height: photo.height as usize, values }
}

/// As a camera may see it: turned by degrees, leaning back, of this share of the frame, blurred, with noise.
fn seen(from: &Grey, side: usize, turned: f64, lean: f64, share: f64, blur: i32, noise: f64) -> Vec<u8> {
    let (sin, cos) = turned.to_radians().sin_cos();
    let mut state = 7_u64;
    let mut roll = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1 << 24) - 0.5
    };
    let mut rgb = Vec::with_capacity(3 * side * side);
    for y in 0..side {
        for x in 0..side {
            let mut sum = 0.0;
            for dy in -blur..=blur {
                for dx in -blur..=blur {
                    let u = (x as f64 + f64::from(dx)) / side as f64 - 0.5;
                    let v = (y as f64 + f64::from(dy)) / side as f64 - 0.5;
                    let w = 1.0 + lean * v;
                    let (u, v) = ((cos * u + sin * v) / (w * share), (cos * v - sin * u) / (w * share));
                    sum += from.at((u + 0.5) * from.width as f64, (v + 0.5) * from.height as f64);
                }
            }
            let n = f64::from((2 * blur + 1).pow(2));
            let value = (30.0 + 0.75 * sum / n + noise * roll()).clamp(0.0, 255.0) as u8;
            rgb.extend([value; 3]);
        }
    }
    rgb
}

#[test]
fn a_code_is_read_as_a_camera_may_see_it() {
    let from = picture();
    let mut read = 0;
    let cases = [
        (900, 0.0, 0.0, 1.0, 0, 0.0),
        (1400, 3.0, 0.1, 0.8, 1, 20.0),
        (1400, -12.0, 0.15, 0.7, 1, 30.0),
        (2000, 30.0, 0.2, 0.6, 2, 30.0),
        (3000, 90.0, 0.1, 0.5, 3, 40.0),
        (700, 180.0, 0.0, 0.9, 0, 20.0),
    ];
    for (side, turned, lean, share, blur, noise) in cases {
        let rgb = seen(&from, side, turned, lean, share, blur, noise);
        let view = View::new(side, side, &rgb).expect("a view");
        let codes = read_codes(&view);
        let found = codes.first().is_some_and(|says| says.contains("\"k7p2w9x4ab\""));
        println!("{side} px, turned {turned}, leaning {lean}, share {share}, blur {blur}, noise {noise}: {found}");
        read += usize::from(found);
    }
    assert_eq!(read, cases.len());
}

#[test]
fn a_picture_without_a_code_says_nothing() {
    for side in [1, 20, 21, 640] {
        let rgb: Vec<u8> = (0..3 * side * side).map(|i| (i * 7919 % 251) as u8).collect();
        assert_eq!(read_codes(&View::new(side, side, &rgb).expect("a view")), Vec::<String>::new());
    }
}
