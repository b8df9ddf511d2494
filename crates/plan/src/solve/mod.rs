//! The planner: the problem of a request (`build`), its exact solution (`search`), and the draft with its reasons.

mod assemble;
mod bound;
pub(crate) mod build;
mod compact;
mod explain;
mod fallback;
pub mod instance;
pub mod json;
mod labels;
mod planner;
mod release;
mod search;

pub use fallback::LATENESS_S;
pub use planner::{CURVE_MINUTES, Outcome, draft, instance, steps_of};
pub use search::{Solution, solve};
