//! Finding the printed card by its QR code.

use std::panic::{AssertUnwindSafe, catch_unwind};

use rqrr::BitGrid;

use super::Quad;
use super::homography::Homography;
use super::layout::{CARD_MM, Layout, PAYLOAD, PatchRow, QR_SIDE, layout};
use super::settle::{Design, Grey, agreement, read_modules, settle};
use crate::View;

/// The longer side of the picture in which the code is looked for, in pixels; half of that comes first, and last the double.
/// A code whose modules are about three pixels wide in one of them is found.
const LOOK: usize = 2000;
/// The share of the code's modules that must lie right before the design is laid on. A code of the same size that says
/// something else has about three quarters, since more than half of the modules are the same in every code.
const ROUGHLY: f64 = 0.8;
/// Pixels a millimetre that suffice to lay the card on.
const FINE: f64 = 5.0;

/// The card in a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct CardSeen {
    /// Each patch with its corners, in pixels of the picture. A patch may reach beyond the picture.
    pub quads: Vec<(PatchRow, Quad)>,
    /// The corners of the whole card, in pixels of the picture.
    pub corners: Quad,
    /// How far the card is turned out of the picture's plane, in degrees, from its foreshortening at the middle. Below about
    /// 5 degrees it says no more than "nearly flat": the foreshortening there is half a percent.
    pub tilt_deg: f64,
    /// The side of a module of the code, in pixels.
    pub module_px: f64,
    /// The picture is a mirror image: the code reads backwards in it.
    pub mirrored: bool,
}

/// The printed card, if the picture shows it: its QR code is found, the whole design laid on from there, and the code read
/// where it then lies.
///
/// A code with another payload is no card. Of several cards the first found counts.
pub fn find_card(view: &View<'_>) -> Option<CardSeen> {
    let longest = view.width.max(view.height);
    let factor = longest.div_ceil(LOOK);
    let middle = shrunk(view, factor);
    search(view, &halved(&middle), 2 * factor).or_else(|| search(view, &middle, factor)).or_else(|| {
        let finer = longest.div_ceil(2 * LOOK);
        if finer == factor { None } else { search(view, &shrunk(view, finer), finer) }
    })
}

/// The same, where a face says how many pixels a millimetre spans: one look, at the size that a card beside that face has. Four times as
/// quick in a picture without a card; a card held less than half as far off as the face or more than half as far again is not looked for.
pub fn find_card_near(view: &View<'_>, px_per_mm: f64) -> Option<CardSeen> {
    // Modules are 1 mm wide; five pixels of each leave room for a card a little farther away.
    let factor = if px_per_mm.is_finite() { (px_per_mm / 5.0).floor().clamp(1.0, 64.0) as usize } else { 1 };
    search(view, &shrunk(view, factor), factor)
}

/// The card, from a code in the picture made smaller by this factor.
fn search(view: &View<'_>, small: &Grey, factor: usize) -> Option<CardSeen> {
    codes(small).into_iter().find_map(|code| {
        let corners = code.corners.map(|c| c.map(|v| v * factor as f64));
        lay_on(view, &Code { corners, ..code })
    })
}

/// Half the size; a last odd row or column is cut off.
fn halved(picture: &Grey) -> Grey {
    let (width, height) = (picture.width / 2, picture.height / 2);
    let mut values = Vec::with_capacity(width * height);
    for row in 0..height {
        let lines = &picture.values[2 * row * picture.width..];
        let (upper, lower) = (&lines[..2 * width], &lines[picture.width..][..2 * width]);
        for (a, b) in upper.chunks_exact(2).zip(lower.chunks_exact(2)) {
            let sum = u16::from(a[0]) + u16::from(a[1]) + u16::from(b[0]) + u16::from(b[1]);
            values.push(((sum + 2) / 4) as u8);
        }
    }
    Grey { width, height, values }
}

/// The picture in grey, each pixel the mean of `factor` by `factor`; what is left over at the right and below is cut off.
fn shrunk(view: &View<'_>, factor: usize) -> Grey {
    let (width, height) = ((view.width / factor).max(1), (view.height / factor).max(1));
    let (across, down) = (factor.min(view.width), factor.min(view.height));
    let divisor = (4 * across * down) as u32;
    let mut sums = vec![0u32; width];
    let mut values = Vec::with_capacity(width * height);
    for row in 0..height {
        sums.fill(0);
        for line in row * factor..row * factor + down {
            let from = 3 * line * view.width;
            let pixels = &view.rgb[from..from + 3 * width * across];
            for (sum, block) in sums.iter_mut().zip(pixels.chunks_exact(3 * across)) {
                // A quarter red, a half green, a quarter blue: enough to tell ink from paper.
                *sum +=
                    block.chunks_exact(3).map(|p| u32::from(p[0]) + 2 * u32::from(p[1]) + u32::from(p[2])).sum::<u32>();
            }
        }
        values.extend(sums.iter().map(|s| ((s + divisor / 2) / divisor) as u8));
    }
    Grey { width, height, values }
}

/// A square that may be a code: its corners in pixels, as the library sees them.
#[derive(Clone, Copy)]
struct Code {
    /// Top left, and what lies one module beyond the top right, bottom right and bottom left corner.
    corners: [[f64; 2]; 4],
    /// Modules along a side, as counted.
    side: usize,
}

/// Every square that may be a code. It need not have been read: the library places the fourth corner, which has no finder
/// pattern, badly for one code in seven that is turned by about 45 degrees.
fn codes(picture: &Grey) -> Vec<Code> {
    // A code has more modules than that along each side.
    if picture.width < QR_SIDE || picture.height < QR_SIDE {
        return Vec::new();
    }
    // The library asserts on some pictures that hold no code; such a picture shows no card.
    let look = || {
        let grey = |x: usize, y: usize| picture.values[y * picture.width + x];
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(picture.width, picture.height, grey);
        let place = |p: rqrr::Point| [f64::from(p.x) + 0.5, f64::from(p.y) + 0.5];
        let grids = image.detect_grids();
        grids.iter().map(|g| Code { corners: g.bounds.map(place), side: g.grid.size() }).collect()
    };
    catch_unwind(AssertUnwindSafe(look)).unwrap_or_default()
}

/// From the code's corners to the whole card.
fn lay_on(view: &View<'_>, code: &Code) -> Option<CardSeen> {
    let layout = layout();
    let design = Design::new(layout);
    let size = Homography::of(&design_corners(layout, code, false), &code.corners)?;
    let [large, small] = size.stretches([CARD_MM[0] / 2.0, CARD_MM[1] / 2.0]);
    let factor = (((large * small).sqrt() / FINE).floor() as usize).max(1);
    let picture = shrunk(view, factor);
    let corners = code.corners.map(|c| c.map(|v| v / factor as f64));
    for mirrored in [false, true] {
        let Some(first) = guess(&picture, layout, &design_corners(layout, code, mirrored), &corners) else { continue };
        let Some(map) = settle(&picture, &design, first) else { continue };
        if says(&picture, layout, &map).as_deref() == Some(PAYLOAD) {
            return Some(seen(layout, &scaled(&map, factor as f64), mirrored));
        }
    }
    None
}

/// Where a code's corners lie on the card, in millimetres. Read backwards, rows are columns.
fn design_corners(layout: &Layout, code: &Code, mirrored: bool) -> [[f64; 2]; 4] {
    let far = QR_SIDE as f64 * layout.module_mm * (code.side as f64 + 1.0) / code.side.max(1) as f64;
    let (x, y) = (layout.qr_x_mm, layout.qr_y_mm);
    let straight = [[x, y], [x + far, y], [x + far, y + far], [x, y + far]];
    if mirrored { [straight[0], straight[3], straight[2], straight[1]] } else { straight }
}

/// A first map: three corners as found, the fourth where the code's modules agree best.
fn guess(picture: &Grey, layout: &Layout, design: &[[f64; 2]; 4], corners: &[[f64; 2]; 4]) -> Option<Homography> {
    let [a, b, _, d] = *corners;
    let side = |k: usize| (b[k] - a[k], d[k] - a[k]);
    let ((bx, dx), (by, dy)) = (side(0), side(1));
    let mut best: Option<(f64, Homography)> = None;
    let mut consider = |fourth: [f64; 2]| {
        let Some(map) = Homography::of(design, &[a, b, fourth, d]) else { return };
        let agrees = agreement(picture, layout, &map);
        if best.as_ref().is_none_or(|(most, _)| agrees > *most) {
            best = Some((agrees, map));
        }
    };
    consider(corners[2]);
    // As in a parallelogram, then up to a seventh of a side away: three modules, or 30 degrees of tilt from half a metre.
    for i in -6..=6 {
        for j in -6..=6 {
            let (u, v) = (1.0 + f64::from(i) / 42.0, 1.0 + f64::from(j) / 42.0);
            consider([a[0] + u * bx + v * dx, a[1] + u * by + v * dy]);
        }
    }
    best.filter(|(agrees, _)| *agrees >= ROUGHLY).map(|(_, map)| map)
}

/// What the code says where it has come to lie.
fn says(picture: &Grey, layout: &Layout, map: &Homography) -> Option<String> {
    let modules = read_modules(picture, layout, map);
    let grid = rqrr::SimpleGrid::from_func(QR_SIDE, |x, y| modules[y * QR_SIDE + x]);
    rqrr::Grid::new(grid).decode().ok().map(|(_, says)| says)
}

/// The map to a picture that is larger by this factor.
fn scaled(map: &Homography, factor: f64) -> Homography {
    let [a, b, c] = map.0;
    Homography([a.map(|v| v * factor), b.map(|v| v * factor), c])
}

fn seen(layout: &Layout, map: &Homography, mirrored: bool) -> CardSeen {
    let quad =
        |x: f64, y: f64, w: f64, h: f64| [[x, y], [x + w, y], [x + w, y + h], [x, y + h]].map(|at| map.pixel(at));
    let [large, small] = map.stretches([CARD_MM[0] / 2.0, CARD_MM[1] / 2.0]);
    CardSeen {
        quads: layout.patches.iter().map(|p| (p.clone(), quad(p.x_mm, p.y_mm, p.w_mm, p.h_mm))).collect(),
        corners: quad(0.0, 0.0, CARD_MM[0], CARD_MM[1]),
        tilt_deg: (small / large).clamp(0.0, 1.0).acos().to_degrees(),
        module_px: (large * small).sqrt() * layout.module_mm,
        mirrored,
    }
}
