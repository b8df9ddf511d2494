//! Publishing: a routine as script, captions and chapters; texts and their claims; old recordings.

mod countries;
pub mod found;
mod kit;
mod recordings;
mod rules;
mod shipped;
pub mod standing;
mod texts;

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .merge(texts::routes())
        .merge(countries::routes())
        .merge(rules::routes())
        .merge(kit::routes())
        .merge(recordings::routes())
}
