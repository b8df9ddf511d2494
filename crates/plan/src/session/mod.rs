//! The guided session: a state machine that is pure and can be replayed from its log.
//!
//! A [`Score`] is a routine as the session needs it: how far a hold may grow, how soft it may become, what must be opened before it,
//! and the shorter rests for when time runs over. [`State`] goes from [`Event`] to event; the same events at the same times give
//! the same state, always. All times are whole milliseconds.
//!
//! The pages run the same machine in their own script (`crates/app/assets/engine.js`), since the page at home has no program behind it. Neither is
//! made from the other: `tests/oracle/engine.mjs` replays random sessions in both and wants every state equal.

mod endings;
mod engine;
mod event;
mod json;
mod memory;
mod score;

pub use endings::LATE_S;
pub use engine::{Note, Over, Phase, State, Status};
pub use event::{Do, Event, Felt};
pub use memory::{Memory, Past, remember};
pub use score::{Ending, Hold, Score};
