//! The rules to read: every row by country, with its source and how well that is known; and what each kind of statement means.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};

use super::found::{self, words};
use super::shipped::{COUNTRIES, rows, statements};
use super::standing::Standing;
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::keep::answer;
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/publish/rules", get(show))
}

async fn show(State(desk): State<Arc<Desk>>) -> Response {
    answer(desk, |_, cabinet| {
        let standing = cabinet.read(Standing::read)?;
        let main = html! {
            div.pub-head {
                h1 { (text("claimrules.title")) }
                p.lead { (text("claimrules.lead")) }
                (found::notice())
            }
            nav.within aria-label=(text("claimrules.within")) {
                @for code in COUNTRIES { a href={ "#of-" (code) } { (standing.name(code)) } }
                a href="#by-statement" { (text("claimrules.statements")) }
            }
            @for code in COUNTRIES { (country(code, &standing)) }
            (by_statement(&standing))
            p.text-ways { a href="/publish/countries" { (text("texts.to_countries")) } a href="/publish" { (text("texts.back")) } }
        };
        Ok(ok(page::whole(Here::Publish, text("claimrules.title"), main)))
    })
    .await
}

fn country(code: &str, standing: &Standing) -> Markup {
    html! {
        section.part aria-labelledby={ "of-" (code) } {
            h2 #{ "of-" (code) } { (standing.name(code)) }
            dl.rules-of { @for rule in rows().iter().filter(|r| r.country == code) {
                div {
                    dt { (crate::catalogue::sentence_case(&rule.meaning)) @if let Some(means) = words::means(&rule.verdict) { " (" (means) ")" } "." }
                    dd { (fill("found.source", &[("source", &rule.source)])) " " (words::mark(&rule.mark)) }
                }
            } }
        }
    }
}

fn by_statement(standing: &Standing) -> Markup {
    html! {
        section.part aria-labelledby="by-statement" {
            h2 #by-statement { (text("claimrules.statements")) }
            p { (text("claimrules.statements_lead")) }
            div.wide-table tabindex="0" role="region" aria-label=(text("claimrules.table")) {
                table.changes {
                    thead { tr {
                        th scope="col" { (text("claimrules.statement")) }
                        @for code in COUNTRIES { th scope="col" { (standing.name(code)) } }
                    } }
                    tbody { @for s in statements() { tr {
                        th scope="row" { (words::statement(&s.kind, &s.topic)) }
                        @for (code, verdict) in COUNTRIES.iter().zip(&s.verdicts) { td data-of=(standing.name(code)) { (words::of_data(verdict)) } }
                    } } }
                }
            }
        }
    }
}
