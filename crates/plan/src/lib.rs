//! Screening, the atlas, the planner and the timeline: pure, without pixels, files or a clock.

pub mod atlas;
pub mod routine;
