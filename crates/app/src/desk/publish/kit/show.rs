//! The page of a film: the kit in the order of the work.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::FilmId;
use maud::{Markup, html};

use super::ask::language;
use super::known::{Known, Made};
use super::parts;
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::clients::said;
use crate::desk::fields::done;
use crate::desk::keep::{answer, day_in_words};
use crate::desk::map_routes::ok;
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;
use crate::filming::On;

type Shared = State<Arc<Desk>>;

/// The page.
pub async fn show(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r| Known::read(r, FilmId::from_number(id)))?;
        let main = match known.made(&desk.atlas()) {
            Ok(made) => shown(&known, &made, &query),
            Err(why) => refused(&known, &why),
        };
        Ok(ok(whole(Here::Kit, &known.film.name, main)))
    })
    .await
}

fn shown(known: &Known, made: &Made, query: &str) -> Markup {
    let tapped = known.body.tapped.is_some() && !made.outdated;
    let at = known.at();
    html! {
        div.heading {
            div {
                h1 { (known.film.name) }
                p.lead { (lead(known)) }
            }
            div.act {
                // Until it is filmed the script is what is wanted; then everything in one piece.
                a.button.go[!tapped] href={ (at) "/read" } { (text("film.to_read")) }
                a.button href={ (at) "/tap" } { (text("film.to_tap")) }
                a.button.go[tapped] href={ (at) "/all.zip" } download { (text("film.all")) }
                a.button href={ (at) "/change" } { (text("film.change")) }
            }
        }
        (done(query))
        @match said(query.as_bytes(), "done").as_str() {
            "tapped" => { p.said role="status" { (text("film.said_tapped")) } }
            "untapped" => { p.said role="status" { (text("film.said_untapped")) } }
            "version" => { p.said role="status" { (text("film.said_version")) } }
            _ => {}
        }
        (newer(known))
        @if made.outdated { p.gently { (text("film.outdated")) " " a href={ (at) "/tap" } { (text("film.to_tap")) } } }
        @else if tapped { p.hint { (text("film.is_tapped")) } }
        @else { p.hint { (text("film.is_planned")) } }
        nav.within aria-label=(text("film.within")) {
            @for (id, name) in [("script", "film.script"), ("shots", "film.shots"), ("captions", "film.captions"), ("chapters", "film.chapters"),
                ("description", "film.description"), ("claims", "film.claims"), ("files", "film.files")] {
                a href={ "#" (id) "-title" } { (text(name)) }
            }
        }
        (parts::left_out(made))
        (parts::script(known, made))
        (parts::shots(known, made))
        (parts::captions(known, made))
        (parts::words(known, made))
        (parts::downloads(known, made))
        p { a href="/publish" { (text("film.to_publish")) } }
    }
}

/// Of what it is made and how.
fn lead(known: &Known) -> Markup {
    let on = match known.body.options.on {
        On::Mirror => text("film.on_mirror"),
        On::Own => text("film.on_own"),
        On::Model => text("film.on_model"),
        On::ModelMirrored => text("film.on_model_mirrored"),
    };
    html! {
        a href={ "/routines/" (known.kept.id) "/ready?version=" (known.version.number) } {
            (fill("film.of", &[("name", &known.kept.name), ("n", &known.version.number), ("day", &day_in_words(known.version.at))]))
        }
        " · " (language(known.language())) " · " (on)
    }
}

/// That the routine has a later version, and the way to it.
fn newer(known: &Known) -> Markup {
    html! {
        @if known.latest > known.version.number {
            form.film-newer.gently method="post" action={ (known.at()) "/version" } {
                (token())
                p { (fill("film.newer", &[("n", &known.latest), ("mine", &known.version.number)])) }
                button type="submit" { (text("film.take_newer")) }
            }
        }
    }
}

/// Why there is no kit today, with what can still be done.
pub fn refused(known: &Known, why: &Markup) -> Markup {
    html! {
        (why)
        div.short {
            p { (text("film.refused")) }
            (newer(known))
            p { a href={ (known.at()) "/change" } { (text("film.change")) } " · " a href="/publish" { (text("film.to_publish")) } }
        }
    }
}
