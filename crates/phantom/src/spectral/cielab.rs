//! CIELAB and CIEDE2000 for the truth, written here a second time: the truth shares no code with what it judges.

/// White of D65, 2 degree observer, from its chromaticity 0.3127, 0.3290.
const WHITE: [f64; 3] = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];

/// L*, a*, b* of XYZ with white Y = 1 (ISO/CIE 11664-4).
pub(crate) fn lab(xyz: [f64; 3]) -> [f64; 3] {
    let f = |t: f64| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
    let [x, y, z]: [f64; 3] = std::array::from_fn(|k| f(xyz[k] / WHITE[k]));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// CIEDE2000 (ISO/CIE 11664-6) with all weights 1.
pub(crate) fn ciede2000([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> f64 {
    let c = (a1.hypot(b1) + a2.hypot(b2)) / 2.0;
    let g = 0.5 * (1.0 - (c.powi(7) / (c.powi(7) + 25f64.powi(7))).sqrt());
    let (p1, p2) = (a1 * (1.0 + g), a2 * (1.0 + g));
    let (c1, c2) = (p1.hypot(b1), p2.hypot(b2));
    let angle = |b: f64, a: f64| {
        let h = b.atan2(a).to_degrees();
        if h < 0.0 { h + 360.0 } else { h }
    };
    let (h1, h2) = (angle(b1, p1), angle(b2, p2));
    let none = c1 * c2 == 0.0;
    let turn = h2 - h1;
    let dh = match () {
        () if none => 0.0,
        () if turn > 180.0 => turn - 360.0,
        () if turn < -180.0 => turn + 360.0,
        () => turn,
    };
    let (dl, dc) = (l2 - l1, c2 - c1);
    let dh_big = 2.0 * (c1 * c2).sqrt() * (dh.to_radians() / 2.0).sin();
    let (l, c) = ((l1 + l2) / 2.0, (c1 + c2) / 2.0);
    let h = match () {
        () if none => h1 + h2,
        () if (h1 - h2).abs() <= 180.0 => (h1 + h2) / 2.0,
        () if h1 + h2 < 360.0 => (h1 + h2 + 360.0) / 2.0,
        () => (h1 + h2 - 360.0) / 2.0,
    };
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0) - 0.20 * cos(4.0 * h - 63.0);
    let sl = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt();
    let (sc, sh) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let theta = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp();
    let rc = 2.0 * (c.powi(7) / (c.powi(7) + 25f64.powi(7))).sqrt();
    let rt = -rc * (2.0 * theta).to_radians().sin();
    let (x, y, z) = (dl / sl, dc / sc, dh_big / sh);
    (x * x + y * y + z * z + rt * y * z).max(0.0).sqrt()
}

/// The individual typology angle, degrees.
pub(crate) fn ita([l, _, b]: [f64; 3]) -> f64 {
    (l - 50.0).atan2(b).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pairs_of_the_paper() {
        // Sharma, Wu, Dalal 2005, Color Res Appl 30:21, table 1.
        let pairs = include_str!("../../../../data/colour/ciede2000_pairs.csv");
        let mut count = 0;
        for line in pairs.lines() {
            let Some(n) = line.split(',').map(|c| c.parse().ok()).collect::<Option<Vec<f64>>>() else { continue };
            let got = ciede2000([n[1], n[2], n[3]], [n[4], n[5], n[6]]);
            assert!((got - n[7]).abs() < 1e-4, "pair {}: {got}", n[0]);
            count += 1;
        }
        assert_eq!(count, 34);
    }
}
