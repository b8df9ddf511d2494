//! Texts and what they claim; a practice's own countries; the list of all that is published.

use std::sync::Arc;

use axum::Router;

use crate::desk::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
