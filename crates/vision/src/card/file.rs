//! A card described by hand: where each patch lies in the photograph, and what colour it has been measured to be.

use std::collections::BTreeSet;
use std::fmt;

use colour::{Lab, Patch};
use face::Pixel;

use super::Quad;

/// The fewest patches that a card can have.
pub const FEWEST: usize = 4;

/// One patch as a file describes it, before it is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkedRow {
    /// What it is called; each name once.
    pub name: String,
    /// Its four corners in pixels of the upright picture, in order around it.
    pub corners_px: Vec<[f64; 2]>,
    /// Its measured colour: CIELAB for D65, 2 degrees; L* 0 to 100.
    pub lab_d65: Vec<f64>,
    /// Whether it is a neutral grey.
    pub grey: bool,
}

/// What is wrong with a card's description, and with which patch. Names come from the file the person wrote.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkedError {
    patch: String,
    kind: MarkedErrorKind,
}

/// The kinds of [`MarkedError`].
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum MarkedErrorKind {
    /// Fewer patches than a card needs.
    TooFew {
        /// How many there are.
        found: usize,
        /// How many there must be.
        fewest: usize,
    },
    /// No name.
    Nameless,
    /// Another patch has the same name.
    Twice,
    /// Not four corners.
    NotFourCorners(usize),
    /// Not three numbers of a colour.
    NotThreeNumbers(usize),
    /// A number is not finite.
    NotFinite,
    /// L* is not from 0 to 100, or a* or b* not from -128 to 128.
    NoColour,
    /// The corners are not in order around the patch, or three lie on a line.
    Crossing,
    /// A corner lies beyond the picture.
    Outside {
        /// Across, in pixels.
        x: f64,
        /// Down, in pixels.
        y: f64,
    },
}

impl MarkedError {
    pub(super) fn of(patch: &str, kind: MarkedErrorKind) -> MarkedError {
        MarkedError { patch: patch.to_owned(), kind }
    }

    /// The name of the patch, or its number where it has none; empty where it is about the whole card.
    pub fn patch(&self) -> &str {
        &self.patch
    }

    /// What is wrong, for an app that words it itself.
    pub fn kind(&self) -> &MarkedErrorKind {
        &self.kind
    }
}

impl fmt::Display for MarkedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use MarkedErrorKind::*;
        let patch = &self.patch;
        match &self.kind {
            TooFew { found, fewest } => {
                write!(f, "The card has {found} patches; it takes {fewest} or more. Describe more of them.")
            }
            Nameless => write!(f, "Patch {patch} has no name. Give each patch one of its own."),
            Twice => write!(f, "Two patches are called `{patch}`. Give each a name of its own."),
            NotFourCorners(n) => write!(f, "Patch `{patch}` has {n} corners; write four, in order around it."),
            NotThreeNumbers(n) => write!(f, "Patch `{patch}` has {n} numbers for its colour; write L*, a* and b*."),
            NotFinite => write!(f, "Patch `{patch}` has a corner or colour that is not a number."),
            NoColour => {
                write!(f, "Patch `{patch}` has no possible colour: L* goes from 0 to 100, a* and b* from -128 to 128.")
            }
            Crossing => write!(
                f,
                "The corners of `{patch}` are not in order around it, or three of them lie on a line. Begin at one corner \
                 and go around."
            ),
            Outside { x, y } => write!(
                f,
                "A corner of `{patch}` at {x}, {y} lies beyond the picture. Count pixels of the upright picture from its \
                 top left corner."
            ),
        }
    }
}

impl std::error::Error for MarkedError {}

/// The patches of a card described by hand, for a picture of this size in pixels: where each lies, and its colour.
///
/// # Errors
/// [`MarkedError`] for the first thing that is wrong.
pub fn marked(rows: &[MarkedRow], width: u32, height: u32) -> Result<(Vec<Quad>, Vec<Patch>), MarkedError> {
    if rows.len() < FEWEST {
        return Err(MarkedError::of("", MarkedErrorKind::TooFew { found: rows.len(), fewest: FEWEST }));
    }
    let mut names = BTreeSet::new();
    let (mut quads, mut patches) = (Vec::new(), Vec::new());
    for (i, row) in rows.iter().enumerate() {
        let name = row.name.trim();
        if name.is_empty() {
            return Err(MarkedError::of(&(i + 1).to_string(), MarkedErrorKind::Nameless));
        }
        let wrong = |kind| Err(MarkedError::of(name, kind));
        if !names.insert(name) {
            return wrong(MarkedErrorKind::Twice);
        }
        let Ok(corners) = <[[f64; 2]; 4]>::try_from(row.corners_px.as_slice()) else {
            return wrong(MarkedErrorKind::NotFourCorners(row.corners_px.len()));
        };
        let Ok([l, a, b]) = <[f64; 3]>::try_from(row.lab_d65.as_slice()) else {
            return wrong(MarkedErrorKind::NotThreeNumbers(row.lab_d65.len()));
        };
        if corners.iter().flatten().chain([&l, &a, &b]).any(|v| !v.is_finite()) {
            return wrong(MarkedErrorKind::NotFinite);
        }
        if !(0.0..=100.0).contains(&l) || a.abs() > 128.0 || b.abs() > 128.0 {
            return wrong(MarkedErrorKind::NoColour);
        }
        let beyond = |[x, y]: &&[f64; 2]| *x < 0.0 || *y < 0.0 || *x > f64::from(width) || *y > f64::from(height);
        if let Some([x, y]) = corners.iter().find(beyond) {
            return wrong(MarkedErrorKind::Outside { x: *x, y: *y });
        }
        let quad = corners.map(|[x, y]| Pixel::new(x, y));
        if crossing(&quad) {
            return wrong(MarkedErrorKind::Crossing);
        }
        quads.push(quad);
        patches.push(Patch { name: name.to_owned(), lab: Lab { l, a, b }, grey: row.grey });
    }
    Ok((quads, patches))
}

/// Whether the corners are not those of a convex quadrilateral in order around it, either way.
pub fn crossing(quad: &Quad) -> bool {
    let turn = |i: usize| {
        let (a, b, c) = (quad[i], quad[(i + 1) % 4], quad[(i + 2) % 4]);
        let size = a.to(b) * b.to(c);
        // Relative to the sides, so that it does not depend on the picture's size: about a tenth of a degree.
        ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)) / size.max(1e-12)
    };
    let turns: [f64; 4] = std::array::from_fn(turn);
    !(turns.iter().all(|t| *t > 2e-3) || turns.iter().all(|t| *t < -2e-3))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(name: &str, x: f64) -> MarkedRow {
        MarkedRow {
            name: name.to_owned(),
            corners_px: vec![[x, 10.0], [x + 8.0, 10.0], [x + 8.0, 20.0], [x, 20.0]],
            lab_d65: vec![50.0, 1.0, -2.0],
            grey: true,
        }
    }

    fn rows() -> Vec<MarkedRow> {
        [("a", 0.0), ("b", 10.0), ("c", 20.0), ("d", 30.0)].map(|(name, x)| row(name, x)).to_vec()
    }

    #[test]
    fn a_good_card_is_taken_as_it_is() {
        let (quads, patches) = marked(&rows(), 100, 100).expect("a card");
        assert_eq!((quads.len(), patches.len()), (4, 4));
        assert_eq!((quads[1][2], patches[1].lab.b, patches[1].grey), (Pixel::new(18.0, 20.0), -2.0, true));
    }

    #[test]
    fn what_is_wrong_is_said_with_its_patch() {
        use MarkedErrorKind::*;
        let check = |change: fn(&mut Vec<MarkedRow>), patch: &str, kind: MarkedErrorKind| {
            let mut rows = rows();
            change(&mut rows);
            let error = marked(&rows, 100, 100).expect_err(patch);
            assert_eq!((error.patch(), error.kind()), (patch, &kind));
            assert!(error.to_string().contains(patch) && error.to_string().ends_with('.'), "{error}");
        };
        check(|r| r.truncate(3), "", TooFew { found: 3, fewest: 4 });
        check(|r| r[2].name = "  ".to_owned(), "3", Nameless);
        check(|r| r[2].name = "a".to_owned(), "a", Twice);
        check(|r| r[1].corners_px.truncate(3), "b", NotFourCorners(3));
        check(|r| r[1].lab_d65.push(0.0), "b", NotThreeNumbers(4));
        check(|r| r[1].corners_px[0][1] = f64::NAN, "b", NotFinite);
        check(|r| r[1].lab_d65[2] = f64::INFINITY, "b", NotFinite);
        check(|r| r[3].lab_d65[0] = 101.0, "d", NoColour);
        check(|r| r[3].lab_d65[1] = -200.0, "d", NoColour);
        check(|r| r[0].corners_px.swap(1, 2), "a", Crossing);
        check(|r| r[0].corners_px[2] = [4.0, 10.0], "a", Crossing);
        check(|r| r[3].corners_px[1][0] = 100.5, "d", Outside { x: 100.5, y: 10.0 });
        check(|r| r[3].corners_px[1][1] = -1.0, "d", Outside { x: 38.0, y: -1.0 });
    }
}
