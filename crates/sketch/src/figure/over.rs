//! The few lines that lie over a photograph: they show that the drawing fits this face, and hide nothing of it.

use face::{Spot, vertex};

use crate::Person;

// Landmark numbers of the contours, the person's own left from the midline outward where a contour has two halves;
// they are those of the canonical surface (see `data/models/NOTICE.md`), numbered from memory and looked at.
const JAW: [usize; 25] = [
    389, 356, 454, 323, 361, 288, 397, 365, 379, 378, 400, 377, 152, 148, 176, 149, 150, 136, 172, 58, 132, 93, 234,
    127, 162,
];
const LIDS: [usize; 16] = [263, 466, 388, 387, 386, 385, 384, 398, 362, 382, 381, 380, 374, 373, 390, 249];
const BROW: [usize; 10] = [336, 296, 334, 293, 300, 276, 283, 282, 295, 285];
const LIPS: [usize; 20] = [61, 185, 40, 39, 37, 0, 267, 269, 270, 409, 291, 375, 321, 405, 314, 17, 84, 181, 91, 146];
const MOUTH: [usize; 11] = [78, 191, 80, 81, 82, 13, 312, 311, 310, 415, 308];

/// The wing of the nose to its base, drawn and not measured: where [`super::front`] has it.
const WING: [(f64, f64); 6] = [(1.5, -0.2), (1.72, -0.6), (1.85, -1.05), (1.68, -1.4), (1.38, -1.65), (1.2, -1.6)];
const BASE: [(f64, f64); 5] = [(0.66, -1.78), (0.3, -1.98), (0.0, -2.03), (-0.3, -1.98), (-0.66, -1.78)];
/// The drawn hairline; no landmark carries it.
const HAIRLINE: [(f64, f64); 11] = [
    (-6.9, 6.4),
    (-6.3, 7.85),
    (-5.0, 8.7),
    (-3.6, 8.98),
    (-1.9, 9.1),
    (0.0, 9.1),
    (1.9, 9.1),
    (3.6, 8.98),
    (5.0, 8.7),
    (6.3, 7.85),
    (6.9, 6.4),
];

/// The contours on the person's sheet, each with whether it closes.
pub(crate) fn contours(person: &Person<'_>) -> Vec<(Vec<Spot>, bool)> {
    let run = |spots: &[Spot]| spots.iter().map(|s| person.carry(*s)).collect::<Vec<_>>();
    let marks = |numbers: &[usize]| numbers.iter().filter_map(|n| vertex(*n)).collect::<Vec<_>>();
    let free = |places: &[(f64, f64)]| places.iter().map(|(x, y)| Spot::new(*x, *y)).collect::<Vec<_>>();
    let twin = |spots: Vec<Spot>| [spots.iter().map(|s| s.mirrored()).collect::<Vec<_>>(), spots];
    let mut all = vec![(run(&marks(&JAW)), false), (run(&marks(&LIPS)), true), (run(&marks(&MOUTH)), false)];
    for (spots, closed) in [(marks(&LIDS), true), (marks(&BROW), true), (free(&WING), false)] {
        all.extend(twin(spots).map(|spots| (run(&spots), closed)));
    }
    all.push((run(&free(&BASE)), false));
    all
}

/// The hairline on the person's sheet: estimated.
pub(crate) fn hairline(person: &Person<'_>) -> Vec<Spot> {
    HAIRLINE.iter().map(|(x, y)| person.carry(Spot::new(*x, *y))).collect()
}
