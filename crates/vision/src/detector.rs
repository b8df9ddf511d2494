//! Where faces are: the face detector, and what its numbers mean.
//!
//! The network and its decoding are of the family named in `data/models/NOTICE.md`: 896 anchors over a picture of 128 by
//! 128, sixteen numbers for each (box, then six key points of which the first two are the eyes), and a score.

use face::Pixel;
use rten::{Model, ModelOptions};

use crate::find_error::FindError;
use crate::network::{Threads, load, run};
use crate::sample::{Border, Square, View, sample};

static WEIGHTS: &[u8] = include_bytes!("../../../data/models/face_detection_short_range.onnx");

/// The side of the network's input.
const SIDE: usize = 128;
/// A face at this score or above is one.
const SCORE: f32 = 0.5;
/// Boxes that overlap by more than this share are one face.
const OVERLAP: f64 = 0.3;
/// Grids of anchors: cells along a side, anchors in each.
const GRIDS: [(usize, usize); 2] = [(16, 2), (8, 6)];

/// A face as the detector sees it, in pixels of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Detected {
    pub centre: Pixel,
    pub width: f64,
    pub height: f64,
    /// The person's own right eye, then their left.
    pub eyes: [Pixel; 2],
    pub score: f32,
}

impl Detected {
    /// The square that the landmark network is given: half as large again as the face, turned upright by the eyes.
    pub fn square(&self) -> Square {
        let [a, b] = self.eyes;
        Square { centre: self.centre, side: 1.5 * self.width.max(self.height), turn: (b.y - a.y).atan2(b.x - a.x) }
    }

    fn overlap(&self, other: &Detected) -> f64 {
        let shared = |a: f64, wa: f64, b: f64, wb: f64| {
            ((a + wa / 2.0).min(b + wb / 2.0) - (a - wa / 2.0).max(b - wb / 2.0)).max(0.0)
        };
        let common = shared(self.centre.x, self.width, other.centre.x, other.width)
            * shared(self.centre.y, self.height, other.centre.y, other.height);
        let all = self.width * self.height + other.width * other.height - common;
        if all > 0.0 { common / all } else { 0.0 }
    }
}

pub(crate) struct Detector {
    model: Model,
}

impl Detector {
    pub fn new() -> Result<Detector, FindError> {
        let ops =
            rten::op_registry!(Add, Cast, Clip, Concat, Conv, MaxPool, Pad, PRelu, Relu, Reshape, Sigmoid, Transpose);
        Ok(Detector { model: load(&mut ModelOptions::with_ops(ops), WEIGHTS)? })
    }

    /// Every face in this square of the picture, the surest first. Beyond the picture it is black.
    pub fn look(&self, view: &View<'_>, square: &Square, threads: &Threads) -> Result<Vec<Detected>, FindError> {
        let mut input = sample(view, square, SIDE, Border::Black);
        for value in &mut input {
            *value = *value * 2.0 - 1.0;
        }
        let outputs = run(&self.model, &input, SIDE, threads)?;
        let boxes = outputs.iter().find(|o| o.len() == 896 * 16).ok_or(FindError::network("boxes"))?;
        let scores = outputs.iter().find(|o| o.len() == 896).ok_or(FindError::network("scores"))?;
        let mut found = Vec::new();
        for (index, anchor) in anchors().enumerate() {
            let score = sigmoid(scores[index].clamp(-100.0, 100.0));
            if score < SCORE {
                continue;
            }
            let of = |k: usize| f64::from(boxes[16 * index + k]) / SIDE as f64;
            let place = |k: usize| square.place(anchor.x + of(k), anchor.y + of(k + 1));
            found.push(Detected {
                centre: place(0),
                width: of(2) * square.side,
                height: of(3) * square.side,
                eyes: [place(4), place(6)],
                score,
            });
        }
        Ok(merge(found))
    }
}

/// The centres of the anchors, as shares of the input.
fn anchors() -> impl Iterator<Item = Pixel> {
    GRIDS.into_iter().flat_map(|(cells, each)| {
        (0..cells * cells * each).map(move |i| {
            let cell = i / each;
            let centre = |n: usize| (n as f64 + 0.5) / cells as f64;
            Pixel::new(centre(cell % cells), centre(cell / cells))
        })
    })
}

/// Non-maximum suppression in which a face is the mean of its boxes, weighted by their scores.
pub(crate) fn merge(mut found: Vec<Detected>) -> Vec<Detected> {
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut faces = Vec::new();
    while let Some(best) = found.first().copied() {
        let (same, rest): (Vec<Detected>, Vec<Detected>) = found.iter().partition(|d| best.overlap(d) > OVERLAP);
        // A box without area overlaps nothing, itself included.
        let same = if same.is_empty() { vec![best] } else { same };
        let rest = if rest.len() == found.len() { found[1..].to_vec() } else { rest };
        let total: f64 = same.iter().map(|d| f64::from(d.score)).sum();
        let mean = |of: &dyn Fn(&Detected) -> f64| same.iter().map(|d| f64::from(d.score) * of(d)).sum::<f64>() / total;
        let pixel = |of: &dyn Fn(&Detected) -> Pixel| Pixel::new(mean(&|d| of(d).x), mean(&|d| of(d).y));
        faces.push(Detected {
            centre: pixel(&|d| d.centre),
            width: mean(&|d| d.width),
            height: mean(&|d| d.height),
            eyes: [pixel(&|d| d.eyes[0]), pixel(&|d| d.eyes[1])],
            score: best.score,
        });
        found = rest;
    }
    faces
}

pub(crate) fn sigmoid(x: f32) -> f32 {
    1.0 / (1.0 + (-x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn detected(x: f64, y: f64, side: f64, score: f32) -> Detected {
        let centre = Pixel::new(x, y);
        Detected { centre, width: side, height: side, eyes: [centre, Pixel::new(x + 1.0, y)], score }
    }

    #[test]
    fn there_are_896_anchors_from_corner_to_corner() {
        let all: Vec<Pixel> = anchors().collect();
        assert_eq!(all.len(), 896);
        assert_eq!((all[0], all[1], all[2].x), (Pixel::new(1.0 / 32.0, 1.0 / 32.0), all[0], 3.0 / 32.0));
        assert_eq!(all[895], Pixel::new(15.0 / 16.0, 15.0 / 16.0));
    }

    #[test]
    fn boxes_of_one_face_become_their_weighted_mean() {
        let faces =
            merge(vec![detected(10.0, 10.0, 8.0, 0.6), detected(11.0, 10.0, 8.0, 0.9), detected(90.0, 9.0, 4.0, 0.7)]);
        assert_eq!(faces.len(), 2);
        assert!((faces[0].centre.x - 10.6).abs() < 1e-6, "{:?}", faces[0]);
        assert_eq!(faces[1].centre.x, 90.0);
        assert_eq!(merge(vec![detected(1.0, 1.0, 0.0, 0.8), detected(1.0, 1.0, 0.0, 0.7)]).len(), 2);
    }
}
