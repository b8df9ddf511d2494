//! EXIF orientation: where each stored pixel belongs in the upright picture (EXIF 2.32, tag 274).

use super::Samples;

/// Turns samples upright. 1 copies nothing, 2 to 4 work in place, 5 to 8 take one more copy and free the first.
pub(super) fn upright(width: u32, height: u32, samples: Samples, orientation: u8) -> (u32, u32, Samples) {
    let samples = match samples {
        Samples::Eight(v) => Samples::Eight(turn(width as usize, v, orientation)),
        Samples::Sixteen(v) => Samples::Sixteen(turn(width as usize, v, orientation)),
    };
    if orientation >= 5 { (height, width, samples) } else { (width, height, samples) }
}

fn turn<T: Copy + Default>(width: usize, mut stored: Vec<T>, orientation: u8) -> Vec<T> {
    let row = width * 3;
    match orientation {
        2 => {
            for line in stored.chunks_exact_mut(row) {
                line.as_chunks_mut::<3>().0.reverse();
            }
            stored
        }
        3 => {
            stored.as_chunks_mut::<3>().0.reverse();
            stored
        }
        4 => {
            let height = stored.len() / row;
            let (top, bottom) = stored.split_at_mut(height / 2 * row);
            for (a, b) in top.chunks_exact_mut(row).zip(bottom.chunks_exact_mut(row).rev()) {
                a.swap_with_slice(b);
            }
            stored
        }
        5..=8 => transpose(width, &stored, matches!(orientation, 7 | 8), matches!(orientation, 6 | 7)),
        _ => stored,
    }
}

/// Rows become columns. Upright pixel (x, y) is stored at column y and row x, counted from the far end where the flags
/// say so. Done in square blocks, so that both sides stay in the cache.
fn transpose<T: Copy + Default>(width: usize, stored: &[T], columns_back: bool, rows_back: bool) -> Vec<T> {
    const BLOCK: usize = 32;
    let (from, _) = stored.as_chunks::<3>();
    let height = from.len() / width;
    let mut upright = vec![T::default(); stored.len()];
    let (to, _) = upright.as_chunks_mut::<3>();
    for y0 in (0..width).step_by(BLOCK) {
        for x0 in (0..height).step_by(BLOCK) {
            for y in y0..width.min(y0 + BLOCK) {
                let column = if columns_back { width - 1 - y } else { y };
                for x in x0..height.min(x0 + BLOCK) {
                    let row = if rows_back { height - 1 - x } else { x };
                    to[y * height + x] = from[row * width + column];
                }
            }
        }
    }
    upright
}
