//! A routine as a film: asked for, shown as one page in the order of the work, read from the table, its times tapped along.
//!
//! A film holds a version of a routine, its options and the tapped times; nothing that is made of it is kept. Each page screens the version
//! anew for an audience ([`Runnable::for_audience`]): what the gate refuses today has no script, no captions and no stills.

mod ask;
mod body;
mod change;
mod files;
mod known;
mod new;
mod parts;
mod read;
mod show;
mod tap;
mod taps;

use std::sync::Arc;

use axum::Router;
use axum::routing::{get, post};

use crate::desk::Desk;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/publish/films/new", get(new::blank).post(new::keep))
        .route("/publish/films/{id}", get(show::show))
        .route("/publish/films/{id}/change", get(change::ask).post(change::keep))
        .route("/publish/films/{id}/version", post(change::version))
        .route("/publish/films/{id}/remove", post(change::remove))
        .route("/publish/films/{id}/read", get(read::show))
        .route("/publish/films/{id}/tap", get(tap::show).post(tap::keep))
        .route("/publish/films/{id}/files/{name}", get(files::file))
        .route("/publish/films/{id}/stills/{kind}/{name}", get(files::still))
        .route("/publish/films/{id}/all.zip", get(files::all))
}
