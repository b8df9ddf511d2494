//! Screening, the atlas, the planner and the timeline: pure, without pixels, files or a clock.

pub mod atlas;
pub mod check;
pub mod draft;
pub mod product;
pub mod reading;
pub mod request;
pub mod routine;
pub mod screening;
pub mod session;
pub mod solve;
