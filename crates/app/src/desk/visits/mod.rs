//! To be described by its first real text.

use std::sync::Arc;

use axum::Router;

use super::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
}

/// The visits of a client, on the client's page.
///
/// # Errors
/// Of the store.
pub fn section(_r: &cabinet::Reader<'_>, _id: cabinet::ClientId) -> Result<maud::Markup, cabinet::Error> {
    Ok(maud::html! {})
}
