//! The clients: in the order of their names, under a search as one types, a new one, and what is known of one.

use std::sync::Arc;

use axum::Router;
use axum::body::to_bytes;
use axum::extract::{Path, Request, State};
use axum::response::Response;
use axum::routing::get;
use cabinet::{Birth, ClientId, Details, ErrorKind, Hands, Line};
use maud::{Markup, html};

use super::fields::{Field, choice, done, lines, wrong};
use super::inside::MOST_FORM_BYTES;
use super::keep::{self, answer};
use super::map_routes::{ok, to, value};
use super::page::{self, Here};
use super::reply::html as answer_html;
use super::visitor::token;
use super::{Desk, fields};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// So many names stand on a page.
const A_PAGE: u32 = 60;
/// So many names answer a search.
const FOUND: u32 = 30;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/clients", get(list))
        .route("/clients/new", get(blank).post(add))
        .route("/clients/{id}/details", get(details).post(change))
}

/// A form of the practice, whole.
///
/// # Errors
/// The page that says it is too long.
pub async fn form(request: Request) -> Result<Vec<u8>, Response> {
    let body = to_bytes(request.into_body(), MOST_FORM_BYTES).await;
    body.map(|b| b.to_vec()).map_err(|_| answer_html(axum::http::StatusCode::PAYLOAD_TOO_LARGE, page::unreadable()))
}

/// A field of a form, without blanks at its ends; empty where it is missing.
pub fn said(form: &[u8], name: &str) -> String {
    value(form, name).unwrap_or_default().trim().replace("\r\n", "\n")
}

async fn list(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    let part = request.headers().contains_key("x-part");
    answer(desk, move |_, cabinet| {
        let typed = said(query.as_bytes(), "find");
        let after = said(query.as_bytes(), "after").parse().ok().map(ClientId::from_number);
        let (found, count) = cabinet.read(|r| {
            let lines = if typed.is_empty() {
                let place = after.map(|id| r.place_of(id)).transpose()?;
                r.clients(place.as_ref(), A_PAGE + 1)?
            } else {
                r.search(&typed, FOUND)?
            };
            Ok((lines, r.client_count()?))
        })?;
        if part {
            return Ok(ok(found_list(&found, &typed)));
        }
        Ok(ok(list_page(&found, &typed, count, &query)))
    })
    .await
}

fn list_page(found: &[Line], typed: &str, count: u64, query: &str) -> Markup {
    let main = html! {
        div.heading {
            div {
                h1 { (text("clients.title")) }
                p.lead { (if count == 1 { text("clients.one").to_owned() } else { fill("clients.count", &[("n", &count)]) }) }
            }
            div.act {
                a.button.go href="/clients/new" { (text("clients.new")) }
                a.button href="/practice/import" { (text("clients.import")) }
            }
        }
        (done(query))
        form #find-form method="get" action="/clients" role="search" {
            div.field.find {
                label for="find" { (text("clients.find")) }
                input #find type="search" name="find" value=(typed) autocomplete="off" aria-controls="found";
                button.quiet type="submit" { (text("clients.search")) }
            }
        }
        p.unseen #found-told role="status" data-none=(text("clients.none")) data-one=(text("clients.found_one")) data-many=(text("clients.found")) {}
        div #found { (found_list(found, typed)) }
    };
    page::whole(Here::Clients, text("clients.title"), main)
}

fn found_list(found: &[Line], typed: &str) -> Markup {
    let more = typed.is_empty() && found.len() > A_PAGE as usize;
    let shown = &found[..found.len().min(A_PAGE as usize)];
    html! {
        @if shown.is_empty() {
            p { (if typed.is_empty() { text("clients.empty") } else { text("clients.none") }) }
        }
        ul.names {
            @for line in shown {
                li {
                    a href={ "/clients/" (line.id) } {
                        span.who { (line.name) }
                        span.hint { (fields::born(line.birth)) }
                        span.hint.when {
                            @match line.last_visit {
                                Some(at) => (fill("clients.last", &[("day", &keep::day_in_words(at))])),
                                None => (text("clients.no_visit")),
                            }
                        }
                    }
                }
            }
        }
        @if let (true, Some(last)) = (more, shown.last()) {
            p { a.button href={ "/clients?after=" (last.id) } { (text("clients.more")) } }
        }
    }
}

async fn blank() -> Response {
    ok(details_page(None, &Details::default(), "", None))
}

/// The form of what is known of a client; `born` as it was typed.
fn details_page(id: Option<ClientId>, d: &Details, born: &str, why: Option<&str>) -> Markup {
    let title = if id.is_some() { text("clients.change") } else { text("clients.new") };
    let action = id.map_or_else(|| "/clients/new".to_owned(), |id| format!("/clients/{id}/details"));
    let hands = [
        ("both", text("clients.hands_both")),
        ("left", text("clients.hands_left")),
        ("right", text("clients.hands_right")),
    ];
    let main = html! {
        div.narrow {
            h1 { (title) }
            @if id.is_none() { p.lead { (text("clients.new_lead")) } }
            (wrong(why))
            form method="post" action=(action) {
                (token())
                (Field::text("name", text("clients.name"), &d.name).required().show())
                (Field::text("born", text("clients.born"), born).hint(text("clients.born_hint")).show())
                (Field::text("email", text("clients.email"), &d.email).kind("email").show())
                (Field::text("phone", text("clients.phone"), &d.phone).kind("tel").show())
                (lines("address", text("clients.address"), &d.address, 3, None))
                (Field::text("language", text("clients.language"), &d.language).hint(text("clients.language_hint")).show())
                (choice("hands", text("clients.hands"), &hands, d.hands.word()))
                (lines("notes", text("clients.notes"), &d.notes, 4, Some(text("clients.notes_hint"))))
                div.act { button.go type="submit" { (text("keep.save")) } }
            }
        }
    };
    page::whole(Here::Clients, title, main)
}

/// What a form says of a client, or which field can't be read.
fn read_details(form: &[u8]) -> (Details, String, Option<&'static str>) {
    let born = said(form, "born");
    let birth = Birth::parse(&born);
    let hands = match said(form, "hands").as_str() {
        "left" => Hands::Left,
        "right" => Hands::Right,
        _ => Hands::Both,
    };
    let details = Details {
        name: said(form, "name"),
        birth,
        language: said(form, "language"),
        email: said(form, "email"),
        phone: said(form, "phone"),
        address: said(form, "address"),
        notes: said(form, "notes"),
        hands,
    };
    let why = (birth.is_none() && !born.is_empty()).then(|| text("clients.bad_birth"));
    (details, born, why)
}

async fn add(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let (details, born, why) = read_details(&form);
        if let Some(why) = why {
            return Ok(keep::again(details_page(None, &details, &born, Some(why))));
        }
        match cabinet.write(keep::now(desk), |w| w.add_client(&details)) {
            Ok(id) => Ok(to(&format!("/clients/{id}"))),
            Err(e) if matches!(e.kind(), ErrorKind::BadValue { .. }) => {
                Ok(keep::again(details_page(None, &details, &born, Some(&e.to_string()))))
            }
            Err(e) => Err(e),
        }
    })
    .await
}

async fn details(State(desk): Shared, Path(id): Path<i64>) -> Response {
    let id = ClientId::from_number(id);
    answer(desk, move |_, cabinet| {
        let client = cabinet.read(|r| r.client(id))?;
        let born = client.details.birth.map(|b| b.to_string()).unwrap_or_default();
        Ok(ok(details_page(Some(id), &client.details, &born, None)))
    })
    .await
}

async fn change(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let (details, born, why) = read_details(&form);
        if let Some(why) = why {
            return Ok(keep::again(details_page(Some(id), &details, &born, Some(why))));
        }
        match cabinet.write(keep::now(desk), |w| w.change_client(id, &details)) {
            Ok(()) => Ok(to(&format!("/clients/{id}?done=saved"))),
            Err(e) if matches!(e.kind(), ErrorKind::BadValue { .. }) => {
                Ok(keep::again(details_page(Some(id), &details, &born, Some(&e.to_string()))))
            }
            Err(e) => Err(e),
        }
    })
    .await
}
