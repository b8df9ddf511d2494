//! A film changed, brought to the latest version of its routine, or taken out.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{Error, FilmId, Json, NewFilm};
use maud::{Markup, html};
use plan::atlas::Atlas;

use super::ask::{self, Ask};
use super::body::Body;
use super::known::Known;
use crate::catalogue::{Language, fill, text};
use crate::desk::Desk;
use crate::desk::clients::form;
use crate::desk::editor::chosen;
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;

type Shared = State<Arc<Desk>>;

/// The form.
pub async fn ask(State(desk): Shared, Path(id): Path<i64>) -> Response {
    answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r| Known::read(r, FilmId::from_number(id)))?;
        let ask = Ask::of(&known.film.name, &known.film.language, &known.body);
        Ok(ok(page(&desk.atlas(), &known, &ask, &[])))
    })
    .await
}

fn page(atlas: &Atlas, known: &Known, ask: &Ask, wrong: &[(&'static str, String)]) -> Markup {
    let title = fill("film.change_title", &[("name", &known.film.name)]);
    let main = html! {
        h1 { (title) }
        (ask::all_wrong(wrong))
        form.film-ask method="post" action={ (known.at()) "/change" } {
            (token())
            (ask.fields(atlas))
            div.act { button.go type="submit" { (text("keep.save")) } a.button href=(known.at()) { (text("film.back")) } }
        }
        form.film-remove method="post" action={ (known.at()) "/remove" } {
            (token())
            p.hint { (text("film.remove_hint")) }
            button.quiet type="submit" { (text("film.remove")) }
        }
    };
    whole(Here::Kit, &title, main)
}

/// Keeps what was changed.
pub async fn keep(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let known = cabinet.read(|r| Known::read(r, FilmId::from_number(id)))?;
        let ask = Ask::read(&form);
        match ask.body(&atlas, &known.body) {
            Err(wrong) => Ok(keep::again(page(&atlas, &known, &ask, &wrong))),
            Ok(mut body) => {
                // Times belong to steps, not to the names that a language has for them.
                if let Some(tapped) = &mut body.tapped
                    && ask.tag() != known.film.language
                    && let Ok(before) = known.made(&atlas)
                    && !before.outdated
                    && let Some(names) = names_in(&atlas, &known, ask.tag())
                {
                    tapped.steps = names;
                }
                let json = Json::new(body.json())?;
                cabinet.write(keep::now(desk), |w| {
                    // The version of this moment: another tab may have taken a newer one meanwhile.
                    let version = w.film(known.film.id)?.version;
                    let new = NewFilm { version, name: &ask.name, language: ask.tag(), body: &json };
                    w.change_film(known.film.id, &new)
                })?;
                Ok(to(&format!("{}?done=saved", known.at())))
            }
        }
    })
    .await
}

/// The names of the steps in another language.
fn names_in(atlas: &Atlas, known: &Known, tag: &str) -> Option<Vec<String>> {
    let body = Body { tapped: None, ..known.body.clone() };
    let made = known.made_in(atlas, Language::parse(tag).ok()?, &body).ok()?;
    Some(made.kit.names().to_vec())
}

/// The latest version of the routine from now on.
pub async fn version(State(desk): Shared, Path(id): Path<i64>, _: Request) -> Response {
    answer(desk, move |desk, cabinet| {
        let (known, latest) = cabinet.read(|r| {
            let known = Known::read(r, FilmId::from_number(id))?;
            let latest = chosen(r, known.kept.id, None)?;
            Ok::<_, Error>((known, latest))
        })?;
        if let Some(latest) = latest {
            let (name, language) = (&known.film.name, &known.film.language);
            let new = NewFilm { version: latest.id, name, language, body: &known.film.body };
            cabinet.write(keep::now(desk), |w| w.change_film(known.film.id, &new))?;
        }
        Ok(to(&format!("{}?done=version", known.at())))
    })
    .await
}

/// Takes it out.
pub async fn remove(State(desk): Shared, Path(id): Path<i64>, _: Request) -> Response {
    answer(desk, move |desk, cabinet| {
        cabinet.write(keep::now(desk), |w| w.remove_film(FilmId::from_number(id)))?;
        Ok(to("/publish?done=gone"))
    })
    .await
}
