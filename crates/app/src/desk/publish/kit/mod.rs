//! A routine to be published: script, shots, captions, chapters, description, cue track, stills; timings tapped.

use std::sync::Arc;

use axum::Router;

use crate::desk::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
