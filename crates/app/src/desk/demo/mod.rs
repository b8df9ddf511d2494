//! The demo practice: twelve invented people over a season, kept apart from the real practice, in a folder of its own.
//!
//! Everything but photographs is written when the demo is made; those are drawn while the desk already answers ([`pictures`]).

mod fill;
mod pictures;
mod scenario;

use std::sync::Arc;

use axum::response::Response;
use cabinet::{Error, ErrorKind, Passphrase};
use maud::{Markup, html};

use super::inside::let_in;
use super::keep::{self, DEMO_PASSPHRASE};
use super::map_routes::to;
use super::page::{self, Here};
use super::{Desk, visitor};
use crate::catalogue::{fill as filled, text};
pub use pictures::Drawing;

/// The offer of the demo on the page of the first run.
pub fn offer() -> Markup {
    html! {
        section.plain aria-labelledby="demo-title" {
            h2 #demo-title { (text("demo.title")) }
            p { (text("demo.what")) }
            form method="post" action="/begin" {
                (visitor::token())
                input type="hidden" name="which" value="demo";
                div.act { button type="submit" { (text("demo.open")) } }
            }
        }
    }
}

/// The way from the demo to a practice of one's own.
pub fn leave_page() -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("demo.leave_title")) }
            p.lead { (text("demo.leave_what")) }
            form method="post" action="/begin" {
                (visitor::token())
                input type="hidden" name="which" value="leave";
                div.act {
                    button.go type="submit" { (text("demo.leave")) }
                    a.button href="/due" { (text("demo.stay")) }
                }
            }
        }
    };
    page::whole(Here::Elsewhere, text("demo.leave_title"), main)
}

/// What a page knows of the demo.
#[derive(Clone, Copy)]
pub struct Told {
    /// How many photographs are there of how many; none when all are.
    pub progress: Option<(usize, usize)>,
}

/// The line that every page of the demo carries.
pub fn line(told: Told, here: Here) -> Markup {
    let progress = told.progress.filter(|_| matches!(here, Here::Due | Here::Clients | Here::Visit));
    html! {
        aside.demo-line aria-label=(text("demo.name")) {
            p {
                strong { (text("demo.invented")) }
                @if let Some((n, all)) = progress { " " (filled("demo.drawing", &[("n", &n), ("all", &all)])) }
                " " a href="/begin" { (text("demo.to_leave")) }
            }
        }
    }
}

/// How many of the demo's photographs are there of how many; none in a real practice, and when all are.
pub fn progress(desk: &Desk) -> Option<(usize, usize)> {
    if desk.keep.is_demo() { desk.drawing.progress() } else { None }
}

/// Fills the demo's empty practice.
///
/// # Errors
/// Of the cabinet.
pub fn fill(desk: &Desk) -> Result<(), Error> {
    let allowed = || ErrorKind::BadValue { what: "demo", allowed: text("page.no_clock").to_owned() };
    let today = desk.today().ok_or_else(allowed)?;
    let (atlas, now, cabinet) = (desk.atlas(), keep::now(desk), desk.keep.cabinet());
    let people = people(desk)?;
    let clients = fill::all(&cabinet, &atlas, &people, today, now)?;
    cabinet.write(now, |w| w.set(pictures::SETTING, Some(&pictures::setting(today, &clients, &[]))))
}

fn people(desk: &Desk) -> Result<Vec<scenario::Invented>, Error> {
    scenario::read(&desk.atlas()).map_err(|findings| {
        let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
        ErrorKind::Internal(said.join("; ")).into()
    })
}

/// Draws the photographs that are missing, beside everything else. Does nothing in a real practice.
pub fn draw_beside(desk: &Arc<Desk>) {
    if let (true, Ok(people)) = (desk.keep.is_demo(), people(desk)) {
        pictures::draw_beside(desk.clone(), people);
    }
}

/// Makes the demo where there is none, opens it, and puts it in the place of a practice that was never begun.
///
/// # Errors
/// Of the cabinet; the desk then stands where it stood.
pub fn open(desk: &Arc<Desk>) -> Result<Response, Error> {
    if desk.keep.is_demo() {
        return Ok(to("/due"));
    }
    // A real practice is not put aside for it.
    if desk.keep.is_there() || !desk.keep.go_over(true) {
        return Ok(to("/due"));
    }
    desk.visitors.locked();
    desk.album.forget_all();
    let passphrase = Passphrase::new(DEMO_PASSPHRASE);
    let now = keep::now(desk);
    let opened = if desk.keep.is_there() {
        desk.keep.unlock(&passphrase, now)
    } else {
        desk.keep.create(&passphrase, now).and_then(|()| fill(desk))
    };
    if let Err(error) = opened {
        desk.keep.go_over(false);
        return Err(error);
    }
    draw_beside(desk);
    Ok(let_in(desk, "/due"))
}

/// Leaves the demo for the real practice, which may not be there yet.
pub fn leave(desk: &Desk) -> Response {
    if desk.keep.is_demo() && desk.keep.go_over(false) {
        desk.visitors.locked();
        desk.album.forget_all();
    }
    to(if desk.keep.is_there() { "/unlock" } else { "/begin" })
}

#[cfg(test)]
mod tests;
