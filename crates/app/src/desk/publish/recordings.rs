//! Old recordings: a caption file as a draft, for correction.

use std::sync::Arc;

use axum::Router;

use crate::desk::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
