//! Publishing: a routine as script, captions and chapters; texts and their claims; old recordings.

#[allow(dead_code, reason = "the pages come next")]
pub mod found;
mod kit;
mod recordings;
#[allow(dead_code, reason = "the pages come next")]
pub mod standing;
mod texts;

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().merge(texts::routes()).merge(kit::routes()).merge(recordings::routes())
}
