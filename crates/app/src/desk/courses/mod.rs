//! Courses: many clients together, their notes and photographs taken in at once.

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
