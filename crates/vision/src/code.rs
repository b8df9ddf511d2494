//! The codes (QR, ISO/IEC 18004) that a picture shows, read.

use std::panic::{AssertUnwindSafe, catch_unwind};

use crate::View;

/// The most codes that are read in one picture.
const MOST: usize = 4;
/// The longest side at which a picture is looked at, in pixels: the largest first.
const SIDES: [usize; 4] = [2400, 1600, 1000, 700];

/// What the codes of a picture say, each once. Those that can't be read are left away; a mirrored picture is tried too.
pub fn read_codes(view: &View<'_>) -> Vec<String> {
    let mut found = Vec::new();
    let mut tried = 0;
    for most in SIDES {
        // A small picture is looked at once, as it is.
        let factor = view.width.max(view.height).div_ceil(most).max(1);
        if factor == tried {
            continue;
        }
        tried = factor;
        let (width, height, grey) = grey(view, factor);
        for mirrored in [false, true] {
            for says in codes(width, height, &grey, mirrored) {
                if found.len() < MOST && !found.contains(&says) {
                    found.push(says);
                }
            }
            if !found.is_empty() {
                return found;
            }
        }
    }
    found
}

/// The picture in grey, each pixel the mean of a square of these sides.
fn grey(view: &View<'_>, factor: usize) -> (usize, usize, Vec<u8>) {
    let (width, height) = (view.width / factor, view.height / factor);
    let mut values = Vec::with_capacity(width * height);
    let area = (4 * factor * factor) as u32;
    for y in 0..height {
        for x in 0..width {
            let mut sum = 0;
            for row in 0..factor {
                let at = 3 * ((y * factor + row) * view.width + x * factor);
                // A quarter red, a half green, a quarter blue: enough to tell ink from paper.
                sum += view.rgb[at..at + 3 * factor]
                    .chunks_exact(3)
                    .map(|p| u32::from(p[0]) + 2 * u32::from(p[1]) + u32::from(p[2]))
                    .sum::<u32>();
            }
            values.push(((sum + area / 2) / area) as u8);
        }
    }
    (width, height, values)
}

fn codes(width: usize, height: usize, grey: &[u8], mirrored: bool) -> Vec<String> {
    // The smallest code is 21 modules wide.
    if width < 21 || height < 21 {
        return Vec::new();
    }
    let look = || {
        let at = |x: usize, y: usize| grey[y * width + if mirrored { width - 1 - x } else { x }];
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, at);
        let grids = image.detect_grids();
        grids.iter().filter_map(|g| g.decode().ok()).map(|(_, says)| says).collect()
    };
    // The library asserts on some pictures that hold no code.
    catch_unwind(AssertUnwindSafe(look)).unwrap_or_default()
}
