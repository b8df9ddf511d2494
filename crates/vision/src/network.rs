//! Running a network: its weights are compiled in, its runtime is a library.

use std::sync::Arc;

use rten::{Model, ModelOptions, RunOptions, ThreadPool, Value};
use rten_tensor::NdTensorView;

use crate::find_error::FindError;

pub(crate) fn load(options: &mut ModelOptions, weights: &'static [u8]) -> Result<Model, FindError> {
    // Packed weights cost a little memory once and save time at every run.
    options.prepack_weights(true).load_static_slice(weights).map_err(|e| FindError::network(&e.to_string()))
}

/// The threads that networks run on; none: those of all cores.
pub(crate) type Threads = Option<Arc<ThreadPool>>;

/// Runs a network on one picture of `side` by `side`, three planes; all outputs, flat.
pub(crate) fn run(model: &Model, planes: &[f32], side: usize, threads: &Threads) -> Result<Vec<Vec<f32>>, FindError> {
    let wrong = |e: &dyn std::fmt::Display| FindError::network(&e.to_string());
    let input = *model.input_ids().first().ok_or(FindError::network("input"))?;
    let tensor = NdTensorView::<f32, 4>::try_from_data([1, 3, side, side], planes).map_err(|e| wrong(&e))?;
    let options = RunOptions::default().with_thread_pool(threads.clone());
    let outputs = model.run(vec![(input, tensor.into())], model.output_ids(), Some(options)).map_err(|e| wrong(&e))?;
    outputs
        .into_iter()
        .map(|value| match value {
            Value::FloatTensor(t) => Ok(t.into_data()),
            _ => Err(FindError::network("type")),
        })
        .collect()
}
