//! A bought target, by four taps on its corners.

use std::sync::OnceLock;

use colour::{Lab, Patch};

use super::Quad;
use super::file::{MarkedError, MarkedErrorKind, crossing};
use super::homography::Homography;

const TARGET: &str = include_str!("../../../../data/colour/target24_lab.csv");
/// Width of the gap between two patches of the 24-patch target, as a share of a patch. From memory; a tenth more or less
/// moves a patch by less than two hundredths of its width.
const GAP: f64 = 0.15;

/// When a 24-patch target was made: its pigments changed in November 2014.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edition {
    /// Before November 2014.
    Before2014,
    /// From November 2014 on.
    After2014,
}

/// A target that can be bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// A grey card that reflects 18 %: L* 49.5 (CIE 1976 lightness of Y = 0.18).
    Grey,
    /// The classic target of 6 by 4 patches.
    Twentyfour {
        /// When it was made.
        edition: Edition,
    },
}

/// The patches of a target whose corners were tapped, in pixels, and their nominal colours.
///
/// Grey: the corners of the grey area, in order around it. Twenty-four: the outer corners of the four corner patches, in order
/// around the target, from the dark skin patch by the bluish green and black ones to the white one; upside down or
/// mirrored does not matter.
///
/// # Errors
/// [`MarkedError`] where a corner is no number, or the corners are not those of a quadrilateral, in order.
pub fn taps(target: Target, corners: Quad) -> Result<(Vec<Quad>, Vec<Patch>), MarkedError> {
    let name = match target {
        Target::Grey => "grey",
        Target::Twentyfour { .. } => "target",
    };
    let wrong = |kind| MarkedError::of(name, kind);
    if corners.iter().any(|c| !c.x.is_finite() || !c.y.is_finite()) {
        return Err(wrong(MarkedErrorKind::NotFinite));
    }
    if crossing(&corners) {
        return Err(wrong(MarkedErrorKind::Crossing));
    }
    let edition = match target {
        Target::Grey => {
            let patch = Patch { name: name.to_owned(), lab: Lab { l: 49.5, a: 0.0, b: 0.0 }, grey: true };
            return Ok((vec![corners], vec![patch]));
        }
        Target::Twentyfour { edition } => edition,
    };
    let (w, h) = (6.0 + 5.0 * GAP, 4.0 + 3.0 * GAP);
    let flat = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    let map = Homography::of(&flat, &corners.map(|p| [p.x, p.y])).ok_or_else(|| wrong(MarkedErrorKind::Crossing))?;
    let quads = (0..24)
        .map(|i| {
            let (x, y) = ((i % 6) as f64 * (1.0 + GAP), (i / 6) as f64 * (1.0 + GAP));
            [[x, y], [x + 1.0, y], [x + 1.0, y + 1.0], [x, y + 1.0]].map(|at| map.pixel(at))
        })
        .collect();
    Ok((quads, twentyfour(edition)))
}

fn twentyfour(edition: Edition) -> Vec<Patch> {
    static ROWS: OnceLock<Vec<(String, [f64; 6])>> = OnceLock::new();
    let rows = ROWS.get_or_init(|| {
        let mut rows = Vec::new();
        for line in TARGET.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
            let words: Vec<&str> = line.split(',').collect();
            let number = |i: usize| words.get(i).and_then(|w| w.trim().parse().ok()).unwrap_or(f64::NAN);
            rows.push((words.get(1).copied().unwrap_or("").to_owned(), std::array::from_fn(|i| number(i + 2))));
        }
        rows
    });
    let patch = |(i, (name, lab)): (usize, &(String, [f64; 6]))| {
        let from = if edition == Edition::Before2014 { 0 } else { 3 };
        let lab = Lab::of_d50([lab[from], lab[from + 1], lab[from + 2]]);
        // The lowest row is the grey one.
        Patch { name: name.clone(), lab, grey: i >= 18 }
    };
    rows.iter().enumerate().map(patch).collect()
}

#[cfg(test)]
mod tests {
    use face::Pixel;

    use super::*;

    const CORNERS: [[f64; 2]; 4] = [[100.0, 50.0], [775.0, 90.0], [760.0, 530.0], [110.0, 500.0]];

    fn corners() -> Quad {
        CORNERS.map(|[x, y]| Pixel::new(x, y))
    }

    #[test]
    fn a_grey_card_is_one_patch() {
        let (quads, patches) = taps(Target::Grey, corners()).expect("a card");
        assert_eq!(quads, [corners()]);
        // L* of Y = 0.18: 116 * 0.18^(1/3) - 16 (CIE 15).
        assert!((patches[0].lab.l - (116.0 * 0.18f64.cbrt() - 16.0)).abs() < 0.02 && patches[0].grey);
    }

    #[test]
    fn the_first_tap_is_the_dark_skin_patch_and_the_rows_follow() {
        for edition in [Edition::Before2014, Edition::After2014] {
            let (quads, patches) = taps(Target::Twentyfour { edition }, corners()).expect("a target");
            assert_eq!((quads.len(), patches.len()), (24, 24));
            for (patch, corner, name) in
                [(0, 0, "dark skin"), (5, 1, "bluish green"), (23, 2, "black 2"), (18, 3, "white 9.5")]
            {
                assert!(quads[patch][corner].to(corners()[corner]) < 1e-6, "{name}");
                assert!(patches[patch].name.starts_with(name), "{} is not {name}", patches[patch].name);
            }
            assert!(patches.iter().enumerate().all(|(i, p)| p.grey == (i >= 18) && p.lab.l.is_finite()));
            // Neutral stays neutral from D50 to D65, within what the published greys are off it.
            assert!(patches[18..].iter().all(|p| p.lab.a.hypot(p.lab.b) < 4.0), "{:?}", &patches[18..]);
        }
    }

    #[test]
    fn taps_out_of_order_are_refused() {
        for (order, kind) in [([0, 2, 1, 3], MarkedErrorKind::Crossing), ([0, 1, 1, 3], MarkedErrorKind::Crossing)] {
            let error = taps(Target::Grey, order.map(|i| corners()[i])).expect_err("out of order");
            assert_eq!(error.kind(), &kind);
        }
        let mut nowhere = corners();
        nowhere[2].x = f64::NAN;
        let error = taps(Target::Twentyfour { edition: Edition::After2014 }, nowhere).expect_err("nowhere");
        assert_eq!(error.kind(), &MarkedErrorKind::NotFinite);
        // The other way round, as in a mirror, is in order.
        assert!(taps(Target::Grey, [0, 3, 2, 1].map(|i| corners()[i])).is_ok());
    }
}
