//! Colour difference.

use crate::lab::Lab;

/// CIEDE2000 with kL = kC = kH = 1 (ISO/CIE 11664-6), written after Sharma, Wu and Dalal 2005, doi:10.1002/col.20070:
/// equation numbers are theirs. About 1 is just seen side by side; it is meant for differences below 5 or so, and it is
/// not a metric: the way round matters nothing, but distances along a path do not add up.
pub fn ciede2000(one: Lab, other: Lab) -> f64 {
    let pow25_7 = 25f64.powi(7);
    let chroma = |lab: Lab| lab.a.hypot(lab.b);
    let mean = (chroma(one) + chroma(other)) / 2.0; // (3)
    let g = 0.5 * (1.0 - (mean.powi(7) / (mean.powi(7) + pow25_7)).sqrt()); // (4)
    let (a1, a2) = ((1.0 + g) * one.a, (1.0 + g) * other.a); // (5)
    let (c1, c2) = (a1.hypot(one.b), a2.hypot(other.b)); // (6)
    let hue = |a: f64, b: f64| if a == 0.0 && b == 0.0 { 0.0 } else { b.atan2(a).to_degrees().rem_euclid(360.0) };
    let (h1, h2) = (hue(a1, one.b), hue(a2, other.b)); // (7)

    let dl = other.l - one.l; // (8)
    let dc = c2 - c1; // (9)
    let grey = c1 * c2 == 0.0;
    let dh = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    }; // (10)
    let dh = 2.0 * (c1 * c2).sqrt() * (dh / 2.0).to_radians().sin(); // (11)

    let l = (one.l + other.l) / 2.0; // (12)
    let c = (c1 + c2) / 2.0; // (13)
    let h = match (h1 + h2, (h1 - h2).abs() > 180.0) {
        (sum, _) if grey => sum,
        (sum, false) => sum / 2.0,
        (sum, true) if sum < 360.0 => (sum + 360.0) / 2.0,
        (sum, true) => (sum - 360.0) / 2.0,
    }; // (14)
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0) - 0.20 * cos(4.0 * h - 63.0); // (15)
    let turn = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp(); // (16)
    let rc = 2.0 * (c.powi(7) / (c.powi(7) + pow25_7)).sqrt(); // (17)
    let sl = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt(); // (18)
    let sc = 1.0 + 0.045 * c; // (19)
    let sh = 1.0 + 0.015 * c * t; // (20)
    let rt = -(2.0 * turn).to_radians().sin() * rc; // (21)
    let (l, c, h) = (dl / sl, dc / sc, dh / sh);
    // The turned ellipse can leave a negative trace of rounding for equal colours.
    (l * l + c * c + h * h + rt * c * h).max(0.0).sqrt() // (22)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_34_pairs_of_sharma_wu_and_dalal_2005() {
        let table = include_str!("../../../data/colour/ciede2000_pairs.csv");
        let mut rows = 0;
        for line in table.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
            let v: Vec<f64> = line.split(',').map(|f| f.parse().unwrap()).collect();
            let (one, other) = (Lab { l: v[1], a: v[2], b: v[3] }, Lab { l: v[4], a: v[5], b: v[6] });
            for found in [ciede2000(one, other), ciede2000(other, one)] {
                assert!((found - v[7]).abs() <= 1e-4, "pair {}: {found} against {}", v[0], v[7]);
            }
            rows += 1;
        }
        assert_eq!(rows, 34);
    }
}
