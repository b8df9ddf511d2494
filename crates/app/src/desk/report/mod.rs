//! First and latest, and the report.

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
