//! What a photograph shows of a patch.

use colour::{Linear, Reading, Space};

use super::Quad;
use super::homography::Homography;
use crate::{Photograph, Samples};

/// The share of each side that is read: the middle, away from blurred edges and a corner that lies a little off.
const MIDDLE: f64 = 0.6;
/// Blocks along a side, for the standard error.
const BLOCKS: usize = 4;
/// A channel at or above this of 255 may have been cut off, and so may one at or below `DARK`.
const BRIGHT: f64 = 250.0;
const DARK: f64 = 2.0;

/// The mean linear light of each patch.
///
/// Read are the pixels whose middle lies within the middle 60 % of the quadrilateral in each direction. The standard error is
/// that of the means of 4 by 4 blocks, since neighbouring pixels of a JPEG are not independent. A part that lies beyond
/// the picture counts as clipped; a patch of which nothing can be read is wholly clipped, with light of 0.
pub fn read_patches(photo: &Photograph, space: &Space, quads: &[Quad]) -> Vec<Reading> {
    let table = space.table8();
    let light = |i: usize| -> ([f64; 3], bool) {
        match &photo.samples {
            Samples::Eight(v) => {
                let rgb = [v[3 * i], v[3 * i + 1], v[3 * i + 2]];
                let clipped = rgb.iter().any(|c| f64::from(*c) >= BRIGHT || f64::from(*c) <= DARK);
                (table.linear(rgb).0, clipped)
            }
            Samples::Sixteen(v) => {
                let rgb = [v[3 * i], v[3 * i + 1], v[3 * i + 2]].map(|c| f64::from(c) / 65535.0);
                let clipped = rgb.iter().any(|c| *c * 255.0 >= BRIGHT || *c * 255.0 <= DARK);
                (space.linear(rgb).0, clipped)
            }
        }
    };
    let (width, height) = (photo.width as usize, photo.height as usize);
    quads.iter().map(|quad| read(width, height, quad, &light)).collect()
}

const UNSEEN: Reading = Reading { linear: Linear([0.0; 3]), se: [f64::INFINITY; 3], clipped: 1.0 };

fn read(width: usize, height: usize, quad: &Quad, light: &impl Fn(usize) -> ([f64; 3], bool)) -> Reading {
    let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
    let Some(map) = Homography::of(&square, &quad.map(|p| [p.x, p.y])) else { return UNSEEN };
    let Some(back) = map.inverse() else { return UNSEEN };
    let (low, high) = ((1.0 - MIDDLE) / 2.0, (1.0 + MIDDLE) / 2.0);
    let inner = [[low, low], [high, low], [high, high], [low, high]].map(|at| map.map(at));
    let range = |axis: usize, most: usize| {
        let from = inner.iter().map(|p| p[axis]).fold(f64::MAX, f64::min);
        let to = inner.iter().map(|p| p[axis]).fold(f64::MIN, f64::max);
        (from.max(0.0) as usize..(to.ceil().max(0.0) as usize).min(most), from < 0.0 || to > most as f64)
    };
    let ((columns, over_x), (rows, over_y)) = (range(0, width), range(1, height));
    let mut blocks = [([0.0f64; 3], 0usize); BLOCKS * BLOCKS];
    let (mut all, mut clipped) = (0usize, 0usize);
    for y in rows {
        for x in columns.clone() {
            let [u, v] = back.map([x as f64 + 0.5, y as f64 + 0.5]);
            if !(u >= low && u < high && v >= low && v < high) {
                continue;
            }
            all += 1;
            let (rgb, cut) = light(y * width + x);
            clipped += usize::from(cut);
            let cell = |t: f64| (((t - low) / MIDDLE * BLOCKS as f64) as usize).min(BLOCKS - 1);
            let (sum, count) = &mut blocks[cell(v) * BLOCKS + cell(u)];
            *count += 1;
            for c in 0..3 {
                sum[c] += rgb[c];
            }
        }
    }
    if all == 0 {
        return UNSEEN;
    }
    let seen = all as f64;
    // What lies beyond the picture is known by its area alone.
    let beyond = if over_x || over_y { (area(&inner) - seen).max(0.0) } else { 0.0 };
    let mean: [f64; 3] = std::array::from_fn(|c| blocks.iter().map(|b| b.0[c]).sum::<f64>() / seen);
    let filled: Vec<[f64; 3]> = blocks.iter().filter(|b| b.1 > 0).map(|b| b.0.map(|s| s / b.1 as f64)).collect();
    let se = std::array::from_fn(|c| {
        let n = filled.len() as f64;
        if n < 2.0 {
            return f64::INFINITY;
        }
        let middle = filled.iter().map(|b| b[c]).sum::<f64>() / n;
        (filled.iter().map(|b| (b[c] - middle).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt()
    });
    Reading { linear: Linear(mean), se, clipped: (clipped as f64 + beyond) / (seen + beyond) }
}

/// The area of a quadrilateral (the shoelace formula).
fn area(corners: &[[f64; 2]; 4]) -> f64 {
    let twice = (0..4).map(|i| {
        let ([x, y], [u, v]) = (corners[i], corners[(i + 1) % 4]);
        x * v - u * y
    });
    twice.sum::<f64>().abs() / 2.0
}
