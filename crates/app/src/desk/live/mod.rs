//! The live face: the camera's picture in the page, and the present step drawn on it.
//!
//! The page sends one small frame after another; each is looked at and dropped with its answer. What is kept between frames, in memory
//! and for a minute at most, are landmarks and what was measured on them (`vision::Follower`), never a pixel.

mod ask;
mod draw;
mod frame;
mod page;
mod running;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

pub use self::running::Running;
use super::Desk;

/// The routes; behind the door.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/live", get(page::show))
        .route("/live/frame", post(frame::look).layer(DefaultBodyLimit::max(frame::MOST_BYTES)))
        .route("/live/end", post(frame::end))
}
