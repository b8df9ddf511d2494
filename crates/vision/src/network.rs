//! Running a network: its weights are compiled in, its runtime is a library.

use rten::{Model, ModelOptions, Value};
use rten_tensor::NdTensor;
use rten_tensor::prelude::*;

use crate::find_error::FindError;

pub(crate) fn load(options: &mut ModelOptions, weights: &'static [u8]) -> Result<Model, FindError> {
    // Packed weights cost a little memory once and save time at every run.
    options.prepack_weights(true).load_static_slice(weights).map_err(|e| FindError::network(&e.to_string()))
}

/// Runs a network on one picture of `side` by `side`, three planes; all outputs, flat.
pub(crate) fn run(model: &Model, planes: Vec<f32>, side: usize) -> Result<Vec<Vec<f32>>, FindError> {
    let wrong = |e: &dyn std::fmt::Display| FindError::network(&e.to_string());
    let input = *model.input_ids().first().ok_or(FindError::network("input"))?;
    let tensor = NdTensor::<f32, 4>::from_data([1, 3, side, side], planes);
    let outputs = model.run(vec![(input, tensor.into())], model.output_ids(), None).map_err(|e| wrong(&e))?;
    outputs
        .into_iter()
        .map(|value| match value {
            Value::FloatTensor(t) => Ok(t.to_vec()),
            _ => Err(FindError::network("type")),
        })
        .collect()
}
