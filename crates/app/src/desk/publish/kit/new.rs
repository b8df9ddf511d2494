//! A new film: of which routine, and how it is filmed.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::response::Response;
use cabinet::{Error, Json, NewFilm, Reader, Routine, RoutineId, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;

use super::ask::{self, Ask};
use super::body::Body;
use super::known::passed;
use crate::catalogue::text;
use crate::desk::Desk;
use crate::desk::clients::{form, said};
use crate::desk::editor::chosen;
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;

type Shared = State<Arc<Desk>>;

/// The routines a film can be made of, and the one that is asked for.
struct Choice {
    all: Vec<Routine>,
    chosen: Option<(Routine, Option<Version>)>,
}

impl Choice {
    fn read(r: &Reader<'_>, asked: &[u8]) -> Result<Choice, Error> {
        let id: Option<i64> = said(asked, "routine").parse().ok();
        let chosen = match id.map(RoutineId::from_number) {
            None => None,
            Some(id) => Some((r.routine(id)?, chosen(r, id, None)?)),
        };
        Ok(Choice { all: r.routines(None)?, chosen })
    }

    /// What the gate says of the routine that is asked for: markup where it refuses.
    fn refused(&self, atlas: &Atlas) -> Option<Markup> {
        let (kept, version) = self.chosen.as_ref()?;
        match version {
            Some(version) => passed(atlas, kept, version).err(),
            None => Some(
                html! { div.short { h1 { (kept.name) } div.missing role="alert" { p { (text("film.no_version")) } } p { a.button.go href={ "/routines/" (kept.id) } { (text("editor.to_editor")) } } } },
            ),
        }
    }
}

/// The form.
pub async fn blank(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let choice = cabinet.read(|r| Choice::read(r, query.as_bytes()))?;
        if let Some(refused) = choice.refused(&atlas) {
            return Ok(ok(whole(Here::Kit, text("film.new"), refused)));
        }
        let name = choice.chosen.as_ref().map_or_else(String::new, |(kept, _)| kept.name.clone());
        Ok(ok(page(&atlas, &choice, &Ask::first(&name), &[])))
    })
    .await
}

fn page(atlas: &Atlas, choice: &Choice, ask: &Ask, wrong: &[(&'static str, String)]) -> Markup {
    let chosen = choice.chosen.as_ref().map(|(kept, _)| kept.id);
    let main = html! {
        h1 { (text("film.new")) }
        p.lead { (text("film.new_lead")) }
        @if choice.all.is_empty() {
            p { (text("film.no_routine")) }
            div.act { a.button.go href="/routines/new" { (text("editor.new")) } }
        } @else {
            (ask::all_wrong(wrong))
            form.film-ask method="post" action="/publish/films/new" {
                (token())
                fieldset {
                    legend { (text("film.part_routine")) }
                    div.field {
                        label for="routine" { (text("film.routine")) }
                        select #routine name="routine" required aria-describedby="routine-hint" {
                            @if chosen.is_none() { option value="" { (text("film.choose")) } }
                            @for kept in &choice.all { option value=(kept.id) selected[chosen == Some(kept.id)] { (kept.name) } }
                        }
                        p.hint #routine-hint { (text("film.routine_hint")) }
                    }
                }
                (ask.fields(atlas))
                div.act { button.go type="submit" { (text("film.make")) } }
            }
        }
        p { a href="/publish" { (text("film.to_publish")) } }
    };
    whole(Here::Kit, text("film.new"), main)
}

/// Keeps it.
pub async fn keep(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let ask = Ask::read(&form);
        let choice = cabinet.read(|r| Choice::read(r, &form))?;
        let body = ask.body(&atlas, &Body::default());
        let (body, wrong) = match body {
            Ok(body) => (Some(body), Vec::new()),
            Err(wrong) => (None, wrong),
        };
        let version = choice.chosen.as_ref().and_then(|(_, version)| version.as_ref());
        let (Some(body), Some(version)) = (body, version) else {
            let mut all = wrong;
            if version.is_none() {
                all.insert(0, ("routine", text("film.choose_routine").to_owned()));
            }
            return Ok(keep::again(page(&atlas, &choice, &ask, &all)));
        };
        if let Some(refused) = choice.refused(&atlas) {
            // What was typed stays below the reasons.
            let main = html! { (refused) (page_form(&atlas, &choice, &ask)) };
            return Ok(keep::again(whole(Here::Kit, text("film.new"), main)));
        }
        let json = Json::new(body.json())?;
        let new = NewFilm { version: version.id, name: &ask.name, language: ask.tag(), body: &json };
        let id = cabinet.write(keep::now(desk), |w| w.add_film(&new))?;
        Ok(to(&format!("/publish/films/{id}?done=saved")))
    })
    .await
}

/// The form again below a refusal, to be sent for another routine.
fn page_form(atlas: &Atlas, choice: &Choice, ask: &Ask) -> Markup {
    html! {
        form.film-ask method="post" action="/publish/films/new" aria-label=(text("film.new")) {
            (token())
            div.field {
                label for="routine" { (text("film.routine")) }
                select #routine name="routine" required {
                    @for kept in &choice.all { option value=(kept.id) { (kept.name) } }
                }
            }
            (ask.fields(atlas))
            div.act { button type="submit" { (text("film.make")) } }
        }
    }
}
