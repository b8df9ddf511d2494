//! The figure from in front. Left half (x > 0, the person's own left) with how each stroke goes over to the right.

use face::Spot;

use super::Over::{Alone, Arch, Twin};
use super::{Knot, Line, c, v, vo};
use crate::pen::Touch;

const fn line(over: super::Over, width: f64, knots: &'static [Knot]) -> Line {
    Line { over, width, knots }
}

/// Head, neck and collarbones.
#[rustfmt::skip] // one stroke, one line, as far as it fits
pub(super) const LINES: &[Line] = &[
    // Jaw and chin, ear to ear.
    line(Arch, 0.15, &[
        c(7.6, -1.75, 0.05), v(361, 0.45), vo(288, -0.1, 0.0, 0.7), vo(397, -0.1, 0.0, 0.9), v(365, 0.85),
        v(379, 0.75), v(378, 0.75), v(400, 0.9), v(377, 1.0), v(152, 0.95),
    ]),
    // Closed lids: the lash line, heaviest past the middle, then the fold above and the rim below.
    line(Twin, 0.2, &[
        vo(362, -0.12, -0.1, 0.1), c(2.15, 2.32, 0.45), c(2.7, 2.1, 0.75), c(3.25, 2.04, 1.0), c(3.8, 2.15, 1.0),
        c(4.25, 2.42, 0.85), vo(263, 0.2, 0.08, 0.1),
    ]),
    line(Twin, 0.09, &[
        c(1.95, 2.85, 0.0), c(2.5, 3.16, 0.6), v(257, 0.9), c(3.9, 3.1, 0.8), c(4.45, 2.85, 0.4), c(4.7, 2.7, 0.0),
    ]),
    line(Twin, 0.07, &[c(2.0, 1.72, 0.0), c(2.7, 1.46, 0.5), c(3.4, 1.4, 0.5), c(4.0, 1.52, 0.0)]),
    // Lashes.
    line(Twin, 0.08, &[c(3.3, 2.0, 0.8), c(3.36, 1.84, 0.5), c(3.46, 1.72, 0.0)]),
    line(Twin, 0.08, &[c(3.72, 2.1, 0.8), c(3.84, 1.92, 0.5), c(3.98, 1.8, 0.0)]),
    line(Twin, 0.08, &[c(4.1, 2.3, 0.8), c(4.27, 2.13, 0.5), c(4.44, 2.04, 0.0)]),
    // Nose: the wings, the nostrils, the base; one side of the bridge, away from the lamp.
    line(Twin, 0.12, &[
        c(1.5, -0.2, 0.0), c(1.72, -0.6, 0.6), vo(358, 0.0, 0.0, 0.9), c(1.68, -1.4, 0.9), c(1.38, -1.65, 0.5),
        c(1.2, -1.6, 0.0),
    ]),
    line(Twin, 0.16, &[c(0.46, -1.76, 0.0), c(0.66, -1.63, 0.8), c(0.88, -1.6, 0.9), c(1.06, -1.68, 0.0)]),
    line(Arch, 0.1, &[c(0.42, -1.78, 0.1), c(0.24, -1.96, 0.6), c(0.0, -2.03, 0.8)]),
    line(Alone, 0.1, &[
        c(1.35, 3.75, 0.0), c(0.98, 3.1, 0.5), c(0.78, 2.3, 0.55), c(0.76, 1.5, 0.25), c(0.84, 0.7, 0.0),
    ]),
    line(Alone, 0.08, &[c(0.75, -0.2, 0.0), c(0.86, -0.65, 0.6), c(0.72, -1.1, 0.0)]),
    // Mouth: the line between the lips is the strongest; lips are suggested.
    line(Arch, 0.15, &[
        c(2.52, -4.2, 0.0), c(2.3, -4.33, 0.9), c(1.8, -4.29, 0.75), c(1.15, -4.2, 0.6), c(0.55, -4.18, 0.9),
        c(0.0, -4.28, 1.0),
    ]),
    line(Arch, 0.085, &[
        c(1.95, -3.86, 0.0), v(269, 0.45), c(0.95, -3.34, 0.75), vo(267, -0.15, 0.02, 0.8), v(0, 0.7),
    ]),
    line(Arch, 0.11, &[c(1.5, -5.02, 0.0), c(0.9, -5.24, 0.7), c(0.0, -5.38, 0.9)]),
    line(Arch, 0.08, &[c(0.7, -5.98, 0.0), c(0.0, -6.12, 0.8)]),
    line(Twin, 0.06, &[c(0.34, -2.5, 0.0), c(0.36, -2.85, 0.6), c(0.42, -3.2, 0.0)]),
    // Ear.
    line(Twin, 0.14, &[
        c(7.7, 2.9, 0.0), c(7.92, 3.8, 0.5), c(8.38, 4.3, 0.75), c(8.85, 4.0, 0.95), c(9.05, 3.1, 1.0),
        c(8.95, 1.9, 0.8), c(8.72, 0.8, 0.6), c(8.52, -0.4, 0.6), c(8.4, -1.25, 0.8), c(8.12, -1.78, 0.9),
        c(7.78, -1.78, 0.7), c(7.6, -1.3, 0.0),
    ]),
    line(Twin, 0.08, &[
        c(7.98, 3.1, 0.0), c(8.33, 3.68, 0.7), c(8.62, 3.25, 0.8), c(8.6, 2.3, 0.6), c(8.36, 1.3, 0.0),
    ]),
    line(Twin, 0.1, &[c(7.74, 1.4, 0.0), c(7.93, 0.95, 0.7), c(7.9, 0.4, 0.8), c(7.72, 0.05, 0.2)]),
    line(Twin, 0.07, &[c(8.22, 1.7, 0.0), c(8.1, 0.8, 0.6), c(8.2, 0.0, 0.6), c(8.0, -0.4, 0.0)]),
    // Hair, drawn back: the mass in overlapping strokes, the hairline only breathed.
    line(Twin, 0.16, &[
        c(8.4, 4.7, 0.05), c(8.68, 6.4, 0.55), c(8.4, 8.6, 0.95), c(7.3, 10.8, 1.0), c(5.6, 12.45, 0.75),
        c(3.9, 13.35, 0.3), c(3.2, 13.6, 0.0),
    ]),
    line(Arch, 0.13, &[c(5.0, 12.75, 0.0), c(3.6, 13.4, 0.6), c(1.9, 13.88, 0.85), c(0.0, 14.05, 0.7)]),
    line(Twin, 0.055, &[c(6.3, 7.85, 0.2), c(5.5, 8.55, 0.7), c(4.4, 8.9, 0.0)]),
    line(Arch, 0.05, &[c(2.6, 9.08, 0.0), c(1.6, 9.12, 0.6), c(0.6, 9.1, 0.2), c(0.0, 9.08, 0.0)]),
    line(Twin, 0.08, &[c(6.4, 7.7, 0.2), c(6.88, 6.6, 0.8), c(7.05, 5.4, 0.7), c(7.22, 4.1, 0.6), c(7.42, 2.9, 0.0)]),
    // A few strokes of shade under the jaw, away from the lamp.
    line(Alone, 0.06, &[c(5.0, -7.6, 0.0), c(4.75, -8.5, 0.8), c(4.7, -9.6, 0.0)]),
    line(Alone, 0.06, &[c(4.45, -8.0, 0.0), c(4.2, -9.1, 0.9), c(4.1, -10.4, 0.0)]),
    line(Alone, 0.06, &[c(3.9, -8.4, 0.0), c(3.65, -9.5, 0.9), c(3.5, -10.9, 0.0)]),
    line(Alone, 0.06, &[c(3.3, -8.8, 0.0), c(3.1, -9.8, 0.8), c(2.95, -10.8, 0.0)]),
    line(Alone, 0.06, &[c(2.7, -9.1, 0.0), c(2.55, -9.8, 0.7), c(2.45, -10.4, 0.0)]),
    // The slanting muscle, its second head, the notch.
    line(Twin, 0.1, &[
        c(4.9, -9.4, 0.0), c(4.0, -11.3, 0.35), c(2.8, -13.9, 0.5), c(1.7, -16.0, 0.75), c(1.15, -16.75, 0.2),
    ]),
    line(Twin, 0.08, &[c(4.3, -13.9, 0.0), c(3.5, -15.6, 0.5), c(3.2, -16.5, 0.0)]),
    line(Arch, 0.1, &[c(0.95, -17.0, 0.2), c(0.5, -17.5, 0.8), c(0.0, -17.62, 0.7)]),
    // Collarbone.
    line(Twin, 0.12, &[
        c(1.0, -16.95, 0.4), c(1.7, -16.7, 0.8), c(3.3, -16.8, 0.7), c(6.0, -16.3, 0.6), c(9.0, -15.75, 0.65),
        c(11.4, -15.85, 0.5), c(12.6, -16.4, 0.0),
    ]),
    line(Twin, 0.08, &[c(1.05, -17.7, 0.2), c(2.6, -17.85, 0.7), c(4.6, -17.5, 0.4), c(6.4, -17.1, 0.0)]),
];

/// With shoulders, arms and chest.
#[rustfmt::skip] // as above
pub(super) const BUST: &[Line] = &[
    // Neck and shoulder in one stroke.
    line(Twin, 0.16, &[
        c(5.95, -6.75, 0.0), c(5.45, -8.2, 0.4), c(5.22, -9.8, 0.7), c(5.3, -11.3, 0.85), c(5.85, -12.6, 0.8),
        c(7.3, -13.7, 0.7), c(9.6, -14.5, 0.6), c(11.8, -15.25, 0.75), c(13.3, -16.5, 0.95), c(14.1, -18.4, 0.9),
        c(14.4, -20.8, 0.6), c(14.3, -23.6, 0.0),
    ]),
    // Where the arm meets the chest.
    line(Twin, 0.12, &[c(11.8, -20.4, 0.0), c(11.1, -22.4, 0.6), c(11.1, -24.4, 0.7), c(11.5, -26.0, 0.0)]),
    line(Twin, 0.07, &[c(10.9, -23.6, 0.0), c(8.6, -25.0, 0.6), c(6.2, -25.6, 0.0)]),
    line(Alone, 0.07, &[c(0.0, -19.5, 0.0), c(0.08, -21.6, 0.6), c(0.0, -24.0, 0.0)]),
];

/// Cut as a portrait: the shoulder fades out.
#[rustfmt::skip] // as above
pub(super) const PORTRAIT: &[Line] = &[
    line(Twin, 0.16, &[
        c(5.95, -6.75, 0.0), c(5.45, -8.2, 0.4), c(5.22, -9.8, 0.7), c(5.3, -11.3, 0.85), c(5.85, -12.6, 0.8), c(7.3, -13.7, 0.7),
        c(9.6, -14.5, 0.55), c(11.3, -15.05, 0.3), c(12.7, -15.7, 0.0),
    ]),
];

/// The brows, hair by hair along the landmark rows of the brow; a fixed pattern, not chance.
pub(super) fn brows() -> Vec<(Vec<Touch>, f64)> {
    let low = [285, 295, 282, 283, 276].map(|n| face::vertex(n).unwrap_or_default());
    let high = [336, 296, 334, 293, 300].map(|n| face::vertex(n).unwrap_or_default());
    let along = |row: &[Spot; 5], f: f64| {
        let g = (f * 4.0).clamp(0.0, 3.999);
        let i = g as usize;
        row[i] + (row[i + 1] - row[i]) * (g - i as f64)
    };
    let count = 34;
    (0..count)
        .map(|k| {
            let f = k as f64 / (count - 1) as f64;
            let wave = ((k * 7 % 5) as f64 - 2.0) / 2.0;
            // Inner hairs stand up, outer ones lie along the brow; the brow narrows outward.
            let root = 0.2 + 0.22 * f + 0.05 * wave;
            let tip = 0.74 - 0.3 * f + 0.05 * wave;
            let reach = f + 0.06 + 0.13 * f.powf(0.6);
            let at = |g: f64, h: f64| along(&low, g) * (1.0 - h) + along(&high, g) * h;
            let touches = vec![
                Touch { at: at(f * 0.94, root), press: 0.35 },
                Touch { at: at((f * 0.94 + reach) * 0.5, (root + tip) * 0.5 + 0.05), press: 1.0 },
                Touch { at: at(reach.min(1.0), tip - 0.1 * f), press: 0.0 },
            ];
            (touches, 0.07 + 0.015 * wave.abs())
        })
        .collect()
}

/// Strands of hair on each side.
const STRANDS: usize = 16;

/// Strands of hair from the hairline back over the head; a fixed pattern, other on each side, so that it does not look
/// ruled.
pub(super) fn strands() -> Vec<(Vec<Touch>, f64)> {
    let hairline = [
        (0.0, 9.1),
        (1.9, 9.1),
        (3.6, 8.98),
        (5.0, 8.7),
        (6.0, 8.1),
        (6.55, 7.3),
        (6.9, 6.4),
        (7.05, 5.5),
        (7.15, 4.6),
    ];
    let dome = [
        (0.2, 13.8),
        (1.9, 13.6),
        (3.7, 13.1),
        (5.4, 12.3),
        (6.9, 10.9),
        (7.8, 9.5),
        (8.3, 8.0),
        (8.45, 6.6),
        (8.4, 5.4),
    ];
    let on = |row: &[(f64, f64); 9], u: f64| {
        let g = (u * 8.0).clamp(0.0, 7.999);
        let i = g as usize;
        let (a, b) = (Spot::new(row[i].0, row[i].1), Spot::new(row[i + 1].0, row[i + 1].1));
        a + (b - a) * (g - i as f64)
    };
    let mut out = Vec::new();
    for (side, shift) in [(1.0, 0usize), (-1.0, 3)] {
        for k in 0..STRANDS {
            let odd = |m: usize, n: usize| ((k + shift) * m % n) as f64 / (n - 1) as f64;
            let u = (k as f64 + 0.2 + 0.6 * odd(5, 7)) / STRANDS as f64;
            // Long strands and short ones, fanning out over the head: from the hairline, or only on the crown.
            let (from, to) = match (k + shift) % 3 {
                0 => (0.0, 0.8 + 0.15 * odd(3, 5)),
                1 => (-0.03, 0.45 + 0.15 * odd(2, 5)),
                _ => (0.42 + 0.1 * odd(3, 7), 0.97),
            };
            let fan = u + 0.1 * (1.0 - u) * (4.0 * u).min(1.0);
            let (root, tip) = (on(&hairline, u), on(&dome, fan));
            let bow = (tip - root).normal() * (-0.13 * (tip - root).length());
            let at = |f: f64| {
                let p = root + (tip - root) * f + bow * (4.0 * f * (1.0 - f));
                Spot::new(p.x * side, p.y)
            };
            let press = 0.55 + 0.45 * odd(4, 5);
            let touches = [(0.0, 0.0), (0.3, press), (0.65, press * 0.7), (1.0, 0.0)]
                .map(|(f, press)| Touch { at: at(from + (to - from) * f), press });
            out.push((touches.to_vec(), 0.08));
        }
    }
    out
}
