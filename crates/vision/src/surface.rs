//! The landmark network: a square of the picture becomes 478 places.

use face::{LANDMARKS, Landmarks, Pixel, mirror};
use rten::{Model, ModelOptions};

use crate::detector::sigmoid;
use crate::find_error::FindError;
use crate::network::{Threads, load, run};
use crate::sample::{Border, Square, View, mirrored, sample};

static WEIGHTS: &[u8] = include_bytes!("../../../data/models/face_landmarks_478.onnx");

/// The side of the network's input.
const SIDE: usize = 256;

pub(crate) struct Surface {
    model: Model,
}

impl Surface {
    pub fn new() -> Result<Surface, FindError> {
        let ops =
            rten::op_registry!(Add, Cast, Clip, Concat, Conv, MaxPool, Pad, PRelu, Relu, Reshape, Sigmoid, Transpose);
        Ok(Surface { model: load(&mut ModelOptions::with_ops(ops), WEIGHTS)? })
    }

    /// The landmarks in this square of the picture, and how sure the network is that a face is there, from 0 to 1.
    pub fn read(&self, view: &View<'_>, square: &Square, threads: &Threads) -> Result<(Landmarks, f64), FindError> {
        self.looked(&sample(view, square, SIDE, Border::Edge), square, false, threads)
    }

    /// The same, averaged with what the mirrored picture shows.
    pub fn read_both_ways(
        &self,
        view: &View<'_>,
        square: &Square,
        threads: &Threads,
    ) -> Result<(Landmarks, f64), FindError> {
        let planes = sample(view, square, SIDE, Border::Edge);
        let (landmarks, presence) = self.looked(&planes, square, false, threads)?;
        let (turned, _) = self.looked(&mirrored(&planes, SIDE), square, true, threads)?;
        Ok((landmarks.mean(&turned), presence))
    }

    fn looked(
        &self,
        planes: &[f32],
        square: &Square,
        mirrored: bool,
        threads: &Threads,
    ) -> Result<(Landmarks, f64), FindError> {
        let outputs = run(&self.model, planes, SIDE, threads)?;
        let places = outputs.iter().find(|o| o.len() == 3 * LANDMARKS).ok_or(FindError::network("landmarks"))?;
        let presence = outputs.iter().find(|o| o.len() == 1).ok_or(FindError::network("presence"))?[0];
        let side = SIDE as f64;
        let raw = |i: usize| -> [f64; 3] { std::array::from_fn(|k| f64::from(places[3 * i + k]) / side) };
        let all = (0..LANDMARKS).map(|i| {
            let [u, v, z] = if mirrored { raw(mirror(i)) } else { raw(i) };
            let at = square.place(if mirrored { 1.0 - u } else { u }, v);
            [at.x, at.y, z * square.side]
        });
        let landmarks = Landmarks::new(all.collect()).ok_or(FindError::network("landmarks"))?;
        Ok((landmarks, f64::from(sigmoid(presence))))
    }
}

/// The square around known landmarks, half as large again as their box, turned upright by the outer corners of the eyes.
pub(crate) fn square_of(landmarks: &Landmarks) -> Square {
    let (a, b) = (landmarks.at(33), landmarks.at(263));
    let turn = (b.y - a.y).atan2(b.x - a.x);
    let (sin, cos) = turn.sin_cos();
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for [x, y, _] in landmarks.all() {
        for (k, value) in [x * cos + y * sin, y * cos - x * sin].into_iter().enumerate() {
            low[k] = low[k].min(value);
            high[k] = high[k].max(value);
        }
    }
    let (x, y) = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0);
    let side = 1.5 * (high[0] - low[0]).max(high[1] - low[1]);
    Square { centre: Pixel::new(x * cos - y * sin, x * sin + y * cos), side, turn }
}
