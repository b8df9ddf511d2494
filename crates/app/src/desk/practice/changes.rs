//! The change log: what was done when, without what anybody told.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::get;
use cabinet::Done;
use maud::html;

use super::super::keep::{answer, day_in_words};
use super::super::map_routes::ok;
use super::super::page::{self, Here};
use super::Desk;
use crate::catalogue::{fill, text};

/// So many lines are shown.
const SHOWN: u32 = 500;

/// The route.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/practice/changes", get(show))
}

async fn show(State(desk): State<Arc<Desk>>) -> Response {
    answer(desk, |_, cabinet| {
        let changes = cabinet.read(|r| r.latest_changes(SHOWN))?;
        let main = html! {
            h1 { (text("changes.title")) }
            p.lead { (text("changes.lead")) }
            div.wide-table tabindex="0" role="region" aria-label=(text("changes.title")) {
                table.changes {
                    thead { tr {
                        th scope="col" { (text("changes.when")) }
                        th scope="col" { (text("changes.what")) }
                        th scope="col" { (text("changes.of")) }
                    } }
                    tbody {
                        @for change in &changes {
                            tr {
                                td { (day_in_words(change.at)) }
                                td { (done(change.done)) }
                                td { (change.kind) @if let Some(item) = change.item { " " (item) } }
                            }
                        }
                    }
                }
            }
            @if changes.len() == SHOWN as usize { p.hint { (fill("changes.more", &[("n", &SHOWN)])) } }
        };
        Ok(ok(page::whole(Here::Practice, text("changes.title"), main)))
    })
    .await
}

fn done(done: Done) -> &'static str {
    text(match done {
        Done::Added => "changes.added",
        Done::Changed => "changes.changed",
        Done::Removed => "changes.taken_out",
        Done::Erased => "changes.erased",
    })
}
