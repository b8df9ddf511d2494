//! What can be taken along as plain files, and the way out: a client erased, or everything.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::response::Response;
use axum::routing::get;
use cabinet::{Cabinet, ClientId};
use maud::{Markup, html};

use super::super::clients::{form, said};
use super::super::fields::{Field, wrong};
use super::super::keep::{self, answer, day_in_words};
use super::super::map_routes::{ok, to};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::{Desk, send};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/export", get(export))
        .route("/practice/export/practice.zip", get(export_files))
        .route("/practice/erase", get(ask_all).post(erase_all))
        .route("/clients/{id}/export", get(export_one))
        .route("/clients/{id}/export/client.zip", get(export_one_files))
        .route("/clients/{id}/erase", get(ask_one).post(erase_one))
}

async fn export(State(desk): Shared) -> Response {
    answer(desk, |_, cabinet| {
        let count = cabinet.read(|r| r.client_count())?;
        let what = fill("leave.export_what", &[("n", &count)]);
        Ok(ok(export_page(Here::Practice, &what, "/practice/export/practice.zip")))
    })
    .await
}

async fn export_one(State(desk): Shared, Path(id): Path<i64>) -> Response {
    answer(desk, move |_, cabinet| {
        let client = cabinet.read(|r| r.client(ClientId::from_number(id)))?;
        let what = fill("leave.export_one", &[("name", &client.details.name)]);
        Ok(ok(export_page(Here::Clients, &what, &format!("/clients/{id}/export/client.zip"))))
    })
    .await
}

fn export_page(here: Here, what: &str, file: &str) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("leave.export_title")) }
            p.lead { (what) }
            p { (text("leave.export_files")) }
            p.gently { (text("leave.in_clear")) }
            div.act { a.button.go href=(file) download { (text("leave.download")) } }
        }
    };
    page::whole(here, text("leave.export_title"), main)
}

async fn export_files(State(desk): Shared) -> Response {
    files(desk, None).await
}

async fn export_one_files(State(desk): Shared, Path(id): Path<i64>) -> Response {
    files(desk, Some(ClientId::from_number(id))).await
}

async fn files(desk: Arc<Desk>, only: Option<ClientId>) -> Response {
    let shared = desk.clone();
    answer(desk, move |desk, cabinet| {
        if let Some(id) = only {
            cabinet.read(|r| r.client(id).map(drop))?;
        }
        let day = desk.today().map_or_else(String::new, |d| format!("-{d}"));
        let name =
            only.map_or_else(|| format!("practice{day}.zip"), |id| format!("client-{:06}{day}.zip", id.number()));
        // Locking does not wait for a download: it breaks off.
        let begun = shared.visitors.unlocking();
        let goes_on = {
            let desk = shared.clone();
            move || desk.visitors.unlocking() == begun
        };
        Ok(send::export(&name, desk.keep.cabinet(), only, goes_on))
    })
    .await
}

async fn ask_one(State(desk): Shared, Path(id): Path<i64>) -> Response {
    answer(desk, move |_, cabinet| Ok(ok(one_page(cabinet, ClientId::from_number(id), "", None)?))).await
}

/// What is erased of a client, what still holds it, and the name to be typed.
fn one_page(cabinet: &Cabinet, id: ClientId, typed: &str, why: Option<&str>) -> Result<Markup, cabinet::Error> {
    let (name, visits, photographs, sessions, notes) = cabinet.read(|r| {
        let name = r.client(id)?.details.name;
        let visits = r.visits(id)?;
        let mut photographs = 0;
        for visit in &visits {
            photographs += r.photographs(visit.id)?.len();
        }
        Ok((name, visits.len(), photographs, r.sessions(Some(id))?.len(), r.notes(id)?.len()))
    })?;
    let main = html! {
        div.narrow {
            h1 { (fill("leave.erase_one_title", &[("name", &name)])) }
            p.lead { (text("leave.erase_one_what")) }
            p { (fill("leave.counts", &[("visits", &visits), ("photographs", &photographs), ("sessions", &sessions), ("notes", &notes)])) }
            (still_held(cabinet))
            p { a href={ "/clients/" (id) "/export" } { (text("leave.export_first")) } }
            (wrong(why))
            form method="post" action={ "/clients/" (id) "/erase" } {
                (token())
                (Field::text("name", &fill("leave.type_name", &[("name", &name)]), typed).required().show())
                div.act { button type="submit" { (text("leave.erase_one_now")) } }
            }
        }
    };
    Ok(page::whole(Here::Clients, text("leave.erase_title"), main))
}

/// Backups and what restores kept aside: they hold what is erased now, as it was on their day.
fn still_held(cabinet: &Cabinet) -> Markup {
    let (backups, aside) = (cabinet.backups(), cabinet.kept_aside());
    html! {
        @if backups.is_empty() && aside.is_empty() {
            p { (text("leave.none_held")) }
        } @else {
            p { (text("leave.still_held")) }
            ul {
                @for backup in &backups { li { (fill("leave.backup_of", &[("day", &day_in_words(backup.made))])) } }
                @for folder in &aside { li { code { (folder.display()) } } }
            }
            p { a href="/practice/backups" { (text("safe.to_backups")) } }
        }
        p { (text("leave.elsewhere")) }
    }
}

/// Two names that a person would call the same.
fn same_name(typed: &str, name: &str) -> bool {
    let plain = |s: &str| s.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    plain(typed) == plain(name)
}

async fn erase_one(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let (id, typed) = (ClientId::from_number(id), said(&form, "name"));
        let name = cabinet.read(|r| r.client(id))?.details.name;
        if !same_name(&typed, &name) {
            return Ok(keep::again(one_page(cabinet, id, &typed, Some(text("leave.other_name")))?));
        }
        cabinet.erase_client(id, keep::now(desk))?;
        desk.courses.erased();
        Ok(to("/clients?done=gone"))
    })
    .await
}

async fn ask_all(State(desk): Shared) -> Response {
    answer(desk, |desk, cabinet| Ok(ok(all_page(desk, cabinet, None)?))).await
}

fn all_page(desk: &Desk, cabinet: &Cabinet, why: Option<&str>) -> Result<Markup, cabinet::Error> {
    let count = cabinet.read(|r| r.client_count())?;
    let main = html! {
        div.narrow {
            h1 { (text("leave.erase_all_title")) }
            p.lead { (fill("leave.erase_all_what", &[("n", &count), ("folder", &desk.keep.folder().display())])) }
            p.gently { (text("leave.no_way_back")) }
            p { (text("leave.elsewhere")) }
            p { a href="/practice/export" { (text("leave.export_first")) } }
            (wrong(why))
            form method="post" action="/practice/erase" autocomplete="off" {
                (token())
                (Field::text("words", &fill("leave.type_words", &[("words", &text("leave.words"))]), "").required().show())
                div.act { button type="submit" { (text("leave.erase_all_now")) } }
            }
        }
    };
    Ok(page::whole(Here::Practice, text("leave.erase_all_title"), main))
}

async fn erase_all(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        if !same_name(&said(&form, "words"), text("leave.words")) {
            return Ok(keep::again(all_page(desk, cabinet, Some(text("leave.other_words")))?));
        }
        cabinet.erase_all()?;
        desk.locked();
        desk.album.forget_all();
        Ok(to("/begin"))
    })
    .await
}
