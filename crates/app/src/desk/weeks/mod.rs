//! The weeks: a plan that is fixed before they begin, what is due, typed days, and the follow-up of one client.

mod aid;
mod all;
pub mod ask;
mod calendar;
mod chart;
mod day;
mod follow_up;
mod new;
mod plan;
mod section;
mod stand;

use std::sync::Arc;

use axum::Router;
use axum::routing::{get, post};

use super::Desk;

pub use self::all::due_visits;
pub use self::section::section;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/weeks", get(all::show))
        .route("/clients/{id}/weeks/new", get(new::show).post(new::keep_or_look))
        .route("/clients/{id}/weeks/{weeks}", get(plan::show))
        .route("/clients/{id}/weeks/{weeks}/change", get(new::change).post(new::keep_change))
        .route("/clients/{id}/weeks/{weeks}/day", post(day::keep))
        .route("/clients/{id}/weeks/{weeks}/end", post(plan::end))
        .route("/clients/{id}/weeks/{weeks}/remove", post(plan::remove))
        .route("/clients/{id}/weeks/{weeks}/follow", get(follow_up::show))
}
