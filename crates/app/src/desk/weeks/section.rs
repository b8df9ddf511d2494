//! Weeks, on the client's page.

use cabinet::{ClientId, Error, Reader};
use maud::{Markup, html};
use vocab::Date;

use super::plan::where_it_is;
use super::stand::{due, runs};
use crate::catalogue::{fill, text};
use crate::following::one;
use crate::following::words::value_name;

/// The section.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, client: ClientId, today: Date) -> Result<Markup, Error> {
    let mut all = Vec::new();
    for row in r.weeks(client)? {
        if let Some(f) = one::one(r, client, row.id, today)? {
            all.push(f);
        }
    }
    Ok(html! {
        section.part #weeks aria-labelledby="weeks-title" {
            h2 #weeks-title { (text("weeks.section")) }
            @if all.is_empty() { p { (text("weeks.none")) } }
            ul.log {
                @for f in all.iter().rev() {
                    @let at = format!("/clients/{client}/weeks/{}", f.weeks.id);
                    li {
                        p { (where_it_is(f)) }
                        p.hint {
                            @match &f.plan {
                                Some(plan) => (fill("weeks.follows_short", &[("value", &value_name(plan.value))])),
                                None => (text("weeks.no_plan_short")),
                            }
                            @if runs(f) && due(f).visit { " · " (text("weeks.visit_today")) }
                        }
                        p.links { a href=(at) { (text("weeks.to_plan")) } a href={ (at) "/follow" } { (text("weeks.to_follow")) } }
                    }
                }
            }
            div.act { a.button href={ "/clients/" (client) "/weeks/new" } { (text("weeks.set_up")) } }
        }
    })
}
