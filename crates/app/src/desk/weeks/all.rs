//! Everybody whose weeks run: what is due today.

use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, Error, Reader};
use maud::{Markup, html};
use vocab::Date;

use super::plan::{due_words, where_it_is};
use super::stand::{Due, due, runs};
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::keep::answer;
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::following::body::Body;
use crate::following::one::{self, Followed};

/// So many are shown; those of a course are on its own page.
const SHOWN: usize = 100;
/// A plan that begins in so many days may have its baseline today.
const AHEAD: i64 = 30 * 14;

/// Those whose weeks run today, their baseline included, and how many more there are.
fn running(r: &Reader<'_>, today: Date) -> Result<(Vec<Followed>, usize), Error> {
    let to = today.plus(AHEAD).unwrap_or(today);
    let mut rows = r.weeks_between(today, to)?;
    rows.retain(|w| {
        let body = Body::read(w);
        body.number(today) >= body.begins()
    });
    let more = rows.len().saturating_sub(SHOWN);
    let mut found = Vec::new();
    for row in rows.into_iter().take(SHOWN) {
        if !r.consents_to(row.client, ConsentKind::Care)? {
            continue;
        }
        if let Some(f) = one::one(r, row.client, row.id, today)?.filter(runs) {
            found.push(f);
        }
    }
    Ok((found, more))
}

pub async fn show(State(desk): State<Arc<Desk>>) -> Response {
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |_, cabinet| {
        let (found, more) = cabinet.read(|r| running(r, today))?;
        Ok(ok(all_page(&found, more)))
    })
    .await
}

fn all_page(found: &[Followed], more: usize) -> Markup {
    let (due_now, others): (Vec<_>, Vec<_>) =
        found.iter().map(|f| (f, due(f))).partition(|(_, d)| *d != Due::default());
    let main = html! {
        div.heading {
            div {
                h1 { (text("weeks.all")) }
                p.lead { (text(if found.is_empty() { "weeks.nobody" } else if due_now.is_empty() { "weeks.nobody_due" } else { "weeks.all_lead" })) }
            }
            div.act { a.button href="/weeks/in" { (text("weeks.to_in")) } " " a.button href="/courses" { (text("weeks.to_courses")) } }
        }
        ul.due {
            @for (f, due) in due_now.iter().chain(&others) {
                li {
                    h2 { a href={ "/clients/" (f.client) "/weeks/" (f.weeks.id) } { (f.name) } }
                    div {
                        p.hint { (where_it_is(f)) }
                        ul.why { @for said in due_words(f, due) { li { (said) } } }
                    }
                }
            }
        }
        @if more > 0 { p.hint { (fill("weeks.more", &[("n", &more)])) } }
        @if found.is_empty() { p { a.button.go href="/clients" { (text("weeks.choose_client")) } } }
    };
    page::whole(Here::Weeks, text("weeks.all"), main)
}

/// The clients of whom the weeks ask for a visit today, for the page of who is due.
///
/// # Errors
/// Of the store.
pub fn due_visits(r: &Reader<'_>, today: Date) -> Result<Vec<(ClientId, String)>, Error> {
    let (found, _) = running(r, today)?;
    Ok(found.into_iter().filter(|f| due(f).visit).map(|f| (f.client, f.name)).collect())
}
