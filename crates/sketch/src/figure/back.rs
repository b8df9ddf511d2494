//! The figure from behind. Drawn for x > 0 and mirrored; it is symmetric, so either half will do.

use super::Over::{Alone, Arch, Twin};
use super::{Knot, Line, c};

const fn line(over: super::Over, width: f64, knots: &'static [Knot]) -> Line {
    Line { over, width, knots }
}

/// Every stroke.
#[rustfmt::skip] // one stroke, one line, as far as it fits
pub(super) const LINES: &[Line] = &[
    // Head.
    line(Arch, 0.15, &[
        c(7.7, 0.4, 0.0), c(8.4, 3.0, 0.3), c(8.85, 6.0, 0.75), c(8.5, 8.9, 0.9), c(7.2, 11.4, 0.95),
        c(5.0, 13.2, 0.8), c(2.5, 14.15, 0.7), c(0.0, 14.4, 0.6),
    ]),
    // Ear from behind.
    line(Twin, 0.12, &[
        c(8.5, 3.9, 0.0), c(9.1, 4.2, 0.8), c(9.4, 3.1, 0.9), c(9.1, 1.4, 0.8), c(8.5, -0.4, 0.7),
        c(8.1, -1.6, 0.7), c(7.6, -1.3, 0.0),
    ]),
    line(Twin, 0.07, &[c(8.75, 3.3, 0.0), c(8.7, 1.8, 0.6), c(8.2, 0.0, 0.0)]),
    // Hair, and its edge at the nape.
    line(Twin, 0.12, &[
        c(7.6, -0.2, 0.0), c(7.0, -2.2, 0.6), c(6.0, -3.9, 0.7), c(5.0, -5.0, 0.4), c(4.6, -5.6, 0.0),
    ]),
    line(Arch, 0.07, &[c(4.9, -4.9, 0.0), c(3.3, -5.0, 0.7), c(1.6, -5.6, 0.5), c(0.0, -5.3, 0.6)]),
    line(Twin, 0.09, &[c(0.7, 12.6, 0.0), c(1.6, 8.0, 0.6), c(1.7, 3.0, 0.6), c(0.9, -1.6, 0.0)]),
    line(Twin, 0.09, &[c(2.6, 12.4, 0.0), c(4.3, 8.0, 0.7), c(4.3, 3.0, 0.6), c(2.9, -2.2, 0.0)]),
    line(Twin, 0.09, &[c(5.0, 11.4, 0.0), c(6.7, 7.6, 0.7), c(6.5, 2.6, 0.6), c(4.9, -2.2, 0.0)]),
    line(Twin, 0.08, &[c(7.3, 8.6, 0.0), c(7.8, 5.0, 0.6), c(7.1, 1.0, 0.0)]),
    // The two cords of the nape, the bump of the lowest neck bone, the spine.
    line(Twin, 0.07, &[c(1.5, -6.4, 0.0), c(1.75, -8.6, 0.6), c(2.3, -11.2, 0.0)]),
    line(Arch, 0.08, &[c(0.55, -13.1, 0.0), c(0.0, -13.45, 0.9)]),
];

/// With shoulders and shoulder blades.
#[rustfmt::skip] // as above
pub(super) const BUST: &[Line] = &[
    // Neck and shoulder.
    line(Twin, 0.15, &[
        c(5.5, -4.4, 0.1), c(5.15, -7.0, 0.7), c(5.2, -10.0, 0.8), c(5.7, -12.2, 0.8), c(7.0, -13.7, 0.75),
        c(9.2, -14.5, 0.7), c(11.6, -15.1, 0.8), c(13.4, -16.2, 0.9), c(14.3, -18.2, 0.85), c(14.5, -20.8, 0.6),
        c(14.4, -23.4, 0.0),
    ]),
    line(Alone, 0.08, &[c(0.0, -14.6, 0.0), c(-0.06, -18.5, 0.7), c(0.0, -23.5, 0.0)]),
    // Shoulder blade.
    line(Twin, 0.09, &[c(11.4, -17.0, 0.0), c(8.4, -17.4, 0.6), c(5.4, -18.2, 0.0)]),
    line(Twin, 0.1, &[c(4.6, -18.6, 0.0), c(4.2, -20.6, 0.7), c(4.9, -23.2, 0.7), c(6.4, -25.2, 0.0)]),
    line(Twin, 0.1, &[c(12.2, -21.6, 0.0), c(11.6, -23.6, 0.7), c(11.8, -25.8, 0.0)]),
];

/// Cut as a portrait: the shoulder fades out.
#[rustfmt::skip] // as above
pub(super) const PORTRAIT: &[Line] = &[
    line(Twin, 0.15, &[
        c(5.5, -4.4, 0.1), c(5.15, -7.0, 0.7), c(5.2, -10.0, 0.8), c(5.7, -12.2, 0.75), c(7.0, -13.7, 0.65),
        c(9.2, -14.5, 0.45), c(11.4, -15.1, 0.0),
    ]),
];
