//! A photograph as light: the adapter between decoded files and what `measure` asks of them.

use colour::{Linear, Space, Table8};
use measure::Light;
use vision::{Photograph, Profile, Samples};

/// A photograph, pixel by pixel, as linear light of its own space.
pub struct Lit<'a> {
    width: usize,
    height: usize,
    samples: &'a Samples,
    space: Space,
    table: Table8,
    /// Whether the space was assumed because the file names none that can be used.
    assumed: bool,
}

impl<'a> Lit<'a> {
    /// The photograph read by its own profile; by sRGB where it has none that can be used.
    pub fn new(photo: &'a Photograph) -> Lit<'a> {
        let own = match (&photo.profile, &photo.icc) {
            (Profile::Embedded { .. }, Some(icc)) => Space::of_icc(icc).ok(),
            _ => None,
        };
        let assumed = own.is_none();
        let space = own.unwrap_or_else(Space::srgb);
        let table = space.table8();
        let (width, height) = (photo.width as usize, photo.height as usize);
        Lit { width, height, samples: &photo.samples, space, table, assumed }
    }

    /// The space that the numbers are read by.
    pub fn space(&self) -> &Space {
        &self.space
    }

    /// Whether that space was assumed.
    pub fn assumed(&self) -> bool {
        self.assumed
    }
}

impl Light for Lit<'_> {
    fn size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    fn linear(&self, x: usize, y: usize) -> Linear {
        let at = 3 * (y * self.width + x);
        match self.samples {
            Samples::Eight(v) => self.table.linear([v[at], v[at + 1], v[at + 2]]),
            // Sixteen bits go through the curve itself: a table of 256 would throw the lower half away.
            Samples::Sixteen(v) => self.space.linear([v[at], v[at + 1], v[at + 2]].map(|s| f64::from(s) / 65_535.0)),
        }
    }

    fn levels(&self, x: usize, y: usize) -> [u8; 3] {
        let at = 3 * (y * self.width + x);
        match self.samples {
            Samples::Eight(v) => [v[at], v[at + 1], v[at + 2]],
            Samples::Sixteen(v) => [v[at], v[at + 1], v[at + 2]].map(|s| (s >> 8) as u8),
        }
    }
}
