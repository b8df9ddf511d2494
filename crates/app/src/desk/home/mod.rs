//! What goes home with a client and what comes back: take-homes made, home notes taken in.

pub mod look;
mod make;
mod notes;
mod schedule;
mod section;

use std::sync::Arc;

use axum::Router;

use super::Desk;

pub use self::make::download;
pub use self::section::section;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    notes::routes().merge(make::routes())
}
