//! From a picture to the landmarks of the face in it.

use std::sync::Arc;

use face::{Landmarks, Pixel};
use rten::ThreadPool;

use crate::detector::{Detected, Detector, merge};
use crate::find_error::FindError;
use crate::network::Threads;
use crate::sample::{Square, View};
use crate::surface::{Surface, square_of};

/// The network must be this sure that a face is there.
const PRESENCE: f64 = 0.5;

/// How carefully to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Care {
    /// Passes of the landmark network, each around what the last one found; 1 to 8.
    pub passes: usize,
    /// Whether the last pass is averaged with the mirrored picture.
    pub mirrored: bool,
}

impl Care {
    /// For photographs: three passes halve the scatter of one, and the mirrored picture lowers it again.
    pub const PHOTOGRAPH: Care = Care { passes: 3, mirrored: true };
    /// For a moving picture, or to compare with another runtime.
    pub const ONE_PASS: Care = Care { passes: 1, mirrored: false };
}

/// A face found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Its landmarks, in pixels of the picture.
    pub landmarks: Landmarks,
    /// How sure the network is that a face is there, from 0 to 1.
    pub presence: f64,
    /// How many faces the picture holds; this is the largest.
    pub faces: usize,
    /// The length of the longer side of the detector's box, as a share of the longer side of the picture.
    pub share: f64,
}

/// Both networks, ready to run; a clone shares them. New, it runs them on all cores.
#[derive(Clone)]
pub struct Finder {
    detector: Arc<Detector>,
    surface: Arc<Surface>,
    threads: Threads,
}

impl Finder {
    /// Reads the weights.
    ///
    /// # Errors
    /// When the compiled-in weights cannot be run.
    pub fn new() -> Result<Finder, FindError> {
        Ok(Finder { detector: Arc::new(Detector::new()?), surface: Arc::new(Surface::new()?), threads: None })
    }

    /// The same networks, not loaded again, for one of several that work beside each other: its runs are on one thread of its own.
    #[must_use]
    pub fn beside(&self) -> Finder {
        let threads = Some(Arc::new(ThreadPool::with_num_threads(1)));
        Finder { detector: Arc::clone(&self.detector), surface: Arc::clone(&self.surface), threads }
    }

    /// The largest face in the picture.
    ///
    /// # Errors
    /// [`FindError`] of kind no face, when there is none.
    pub fn find(&self, view: &View<'_>, care: Care) -> Result<Found, FindError> {
        let detected = self.detect(view)?;
        let largest = detected
            .iter()
            .max_by(|a, b| (a.width * a.height).total_cmp(&(b.width * b.height)))
            .ok_or(FindError::no_face())?;
        let share = largest.width.max(largest.height) / view.width.max(view.height) as f64;
        let (landmarks, presence) = self.settle(view, largest.square(), care)?;
        if presence < PRESENCE {
            return Err(FindError::no_face());
        }
        Ok(Found { landmarks, presence, faces: detected.len(), share })
    }

    /// The same face in the next picture of a moving one: one pass around where it was.
    ///
    /// # Errors
    /// No face, when it is no longer there: look for it anew.
    pub fn track(&self, view: &View<'_>, last: &Landmarks) -> Result<(Landmarks, f64), FindError> {
        let (landmarks, presence) = self.surface.read(view, &square_of(last), &self.threads)?;
        if presence < PRESENCE { Err(FindError::no_face()) } else { Ok((landmarks, presence)) }
    }

    /// How many faces stand before the camera: the largest, and each that is at least a third as large. Nought where none is seen.
    ///
    /// # Errors
    /// When the network cannot be run.
    pub fn standing(&self, view: &View<'_>) -> Result<usize, FindError> {
        let area = |d: &Detected| d.width * d.height;
        let found = self.detect(view)?;
        let largest = found.iter().map(area).fold(0.0, f64::max);
        Ok(found.iter().filter(|d| area(d) * 3.0 >= largest).count())
    }

    fn settle(&self, view: &View<'_>, mut square: Square, care: Care) -> Result<(Landmarks, f64), FindError> {
        // Every pass but the last says no more than where to look next.
        for _ in 1..care.passes.clamp(1, 8) {
            square = square_of(&self.surface.read(view, &square, &self.threads)?.0);
        }
        if care.mirrored {
            self.surface.read_both_ways(view, &square, &self.threads)
        } else {
            self.surface.read(view, &square, &self.threads)
        }
    }

    /// Every face of the picture; where none is seen, a second look at its parts, since the detector sees none smaller
    /// than about a seventh of what it is shown.
    fn detect(&self, view: &View<'_>) -> Result<Vec<Detected>, FindError> {
        let (w, h) = (view.width as f64, view.height as f64);
        let whole = Square { centre: Pixel::new(w / 2.0, h / 2.0), side: w.max(h), turn: 0.0 };
        let found = self.detector.look(view, &whole, &self.threads)?;
        if !found.is_empty() {
            return Ok(found);
        }
        for parts in [2.0, 4.0] {
            let side = w.max(h) / parts;
            if side < 64.0 {
                break;
            }
            let mut found = Vec::new();
            for y in middles(h, side) {
                for x in middles(w, side) {
                    let part = Square { centre: Pixel::new(x, y), side, turn: 0.0 };
                    found.extend(self.detector.look(view, &part, &self.threads)?);
                }
            }
            if !found.is_empty() {
                return Ok(merge(found));
            }
        }
        Ok(Vec::new())
    }
}

/// The middles of windows of this side along a length, each over half of the last.
fn middles(length: f64, side: f64) -> Vec<f64> {
    if length <= side {
        return vec![length / 2.0];
    }
    let steps = ((length - side) / (side / 2.0)).ceil().max(1.0);
    (0..=steps as usize).map(|i| side / 2.0 + (length - side) * i as f64 / steps).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_cover_the_length() {
        for (length, side) in [(100.0, 50.0), (75.0, 50.0), (30.0, 50.0), (400.0, 100.0)] {
            let middles = middles(length, side);
            let (first, last) = (middles[0], middles[middles.len() - 1]);
            assert!(first - side / 2.0 <= 0.0 && last + side / 2.0 >= length, "{length} {side}: {middles:?}");
            assert!(middles.windows(2).all(|w| w[1] - w[0] <= side / 2.0 + 1e-9), "{middles:?}");
        }
    }
}
