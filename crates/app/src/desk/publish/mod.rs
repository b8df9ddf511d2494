//! Publishing: a routine as script, captions and chapters; texts and their claims; old recordings.

mod kit;
mod recordings;
mod texts;

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().merge(texts::routes()).merge(kit::routes()).merge(recordings::routes())
}
