//! The weeks: a plan that is fixed before they begin, what is due, typed days, and the follow-up of one client.

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}
