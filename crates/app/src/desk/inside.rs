//! The door of the practice: making it the first time, unlocking, locking, and the watch that everything behind it is under.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{ErrorKind, Passphrase};
use maud::{Markup, html};

use super::map_routes::{beside, ok, to, value};
use super::page::{self, Here};
use super::reply::html as answer_html;
use super::visitor::{self, me, same};
use super::{Desk, demo, keep};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// The most bytes of a form of the practice: a long note with every question answered is far below.
pub const MOST_FORM_BYTES: usize = 4 * 1024 * 1024;

/// The routes before the door.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/begin", get(begin).post(make))
        .route("/unlock", get(ask).post(unlock))
        .route("/lock", post(lock))
        .route("/touch", post(touch))
        .route("/open/{key}", get(open))
}

/// Lets through to the practice who has given its passphrase. What a form held that comes too late is handed back.
pub async fn watched(State(desk): Shared, request: Request, next: Next) -> Response {
    let path = request.uri().path_and_query().map_or_else(|| "/due".to_owned(), |p| p.as_str().to_owned());
    if !desk.keep.is_there() {
        return to("/begin");
    }
    let inside = me().is_some_and(|m| m.inside);
    if inside && desk.keep.cabinet().touch(keep::now(&desk)).is_ok() {
        return next.run(request).await;
    }
    if inside {
        desk.locked();
    }
    let reads = request.method() == Method::GET || request.method() == Method::HEAD;
    if reads { to(&locked_address(&path)) } else { late(request).await }
}

fn locked_address(back: &str) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    query.append_pair("to", back);
    format!("/unlock?{}", query.finish())
}

/// Sends to the door, and back here afterwards.
pub fn locked(back: &str) -> Response {
    to(&locked_address(back))
}

/// A form that came after the practice was locked: it stands there again, to be sent once more.
async fn late(request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let media = parts.headers.get(header::CONTENT_TYPE).and_then(|m| m.to_str().ok()).unwrap_or_default();
    let form = media.starts_with("application/x-www-form-urlencoded");
    let body = if form { to_bytes(body, MOST_FORM_BYTES).await.unwrap_or_default() } else { axum::body::Bytes::new() };
    let fields: Vec<(String, String)> = form_urlencoded::parse(&body)
        .filter(|(name, _)| name != visitor::TOKEN)
        .map(|(n, v)| (n.into_owned(), v.into_owned()))
        .collect();
    let main = html! {
        div.short {
            h1 { (text("keep.late_title")) }
            p { (text(if form { "keep.late" } else { "keep.late_files" })) }
            p { a.button href="/unlock?to=/unlocked" target="_blank" { (text("keep.unlock")) } }
            @if form {
                form method="post" action=(parts.uri.path()) {
                    (visitor::token())
                    @for (name, value) in &fields { input type="hidden" name=(name) value=(value); }
                    div.act { button.go type="submit" { (text("keep.send_again")) } }
                }
            }
        }
    };
    answer_html(StatusCode::FORBIDDEN, page::whole(Here::Elsewhere, text("keep.late_title"), main))
}

/// The first time: which practice.
async fn begin(State(desk): Shared) -> Response {
    if desk.keep.is_demo() {
        return ok(demo::leave_page());
    }
    if desk.keep.is_there() { to("/due") } else { ok(begin_page(&desk, None)) }
}

fn begin_page(desk: &Desk, wrong: Option<&str>) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("keep.begin_title")) }
            p.lead { (text("keep.begin_lead")) }
            @if let Some(wrong) = wrong { div.missing role="alert" { p { (wrong) } } }
            section.plain aria-labelledby="own-title" {
                h2 #own-title { (text("keep.own_title")) }
                p { (text("keep.own")) }
                form method="post" action="/begin" autocomplete="off" {
                    (visitor::token())
                    input type="hidden" name="which" value="own";
                    (passphrase("passphrase", text("keep.passphrase"), "new-password", Some(text("keep.passphrase_hint"))))
                    (passphrase("again", text("keep.passphrase_again"), "new-password", None))
                    p.gently { (text("keep.no_way_back")) }
                    div.act { button.go type="submit" { (text("keep.make")) } }
                    p.hint { (fill("keep.where", &[("folder", &desk.keep.folder().display())])) }
                }
            }
            (demo::offer())
            section.plain aria-labelledby="none-title" {
                h2 #none-title { (text("keep.none_title")) }
                p { (text("keep.none")) " " a href="/" { (text("keep.first_minute")) } }
            }
            section.plain aria-labelledby="restore-title" {
                h2 #restore-title { (text("keep.restore_title")) }
                p { a href="/begin/restore" { (text("keep.to_restore")) } }
            }
        }
    };
    page::whole(Here::Elsewhere, text("keep.begin_title"), main)
}

/// A field for a passphrase.
pub fn passphrase(name: &str, label: &str, complete: &str, hint: Option<&str>) -> Markup {
    let hint_id = format!("{name}-hint");
    html! {
        div.field {
            label for=(name) { (label) }
            input #(name) type="password" name=(name) autocomplete=(complete) required
                aria-describedby=[hint.map(|_| hint_id.as_str())];
            @if let Some(hint) = hint { p.hint #(hint_id) { (hint) } }
        }
    }
}

async fn form(request: Request) -> Result<Vec<u8>, Response> {
    let body = to_bytes(request.into_body(), MOST_FORM_BYTES).await;
    body.map(|b| b.to_vec()).map_err(|_| answer_html(StatusCode::PAYLOAD_TOO_LARGE, page::unreadable()))
}

async fn make(State(desk): Shared, request: Request) -> Response {
    let body = match form(request).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    beside(move || {
        match value(&body, "which").as_deref() {
            Some("demo") => return demo::open(&desk).unwrap_or_else(|error| keep::told(&desk, &error)),
            Some("leave") => return demo::leave(&desk),
            _ => {}
        }
        if desk.keep.is_demo() {
            return to("/begin");
        }
        let typed = value(&body, "passphrase").unwrap_or_default();
        if value(&body, "again").as_deref() != Some(&typed) {
            return keep::again(begin_page(&desk, Some(text("keep.not_the_same"))));
        }
        match desk.keep.create(&Passphrase::new(typed), keep::now(&desk)) {
            Ok(()) => {
                super::practice::opened(&desk);
                let_in(&desk, "/clients")
            }
            Err(error) => match error.kind() {
                ErrorKind::PassphraseTooShort(_) => keep::again(begin_page(&desk, Some(&error.to_string()))),
                _ => keep::told(&desk, &error),
            },
        }
    })
    .await
}

/// This browser is inside now.
pub fn let_in(desk: &Desk, address: &str) -> Response {
    if let Some(me) = me() {
        desk.visitors.let_in(&me);
    }
    to(address)
}

/// Where to go after unlocking: a page of ours.
fn back(said: Option<String>) -> String {
    let ours =
        |to: &String| to.starts_with('/') && !to.starts_with("//") && !to.contains(['\\', '\r', '\n']) && to.is_ascii();
    said.filter(ours).unwrap_or_else(|| "/due".to_owned())
}

async fn ask(State(desk): Shared, request: Request) -> Response {
    let said = value(request.uri().query().unwrap_or_default().as_bytes(), "to");
    if !desk.keep.is_there() {
        return to("/begin");
    }
    let here = back(said);
    // Nothing in the demo is anybody's: its door stands open until it is locked.
    if desk.keep.is_demo() && desk.keep.cabinet().is_unlocked() && desk.visitors.never_locked() {
        return let_in(&desk, &here);
    }
    if here == "/unlocked" && me().is_some_and(|m| m.inside) {
        return ok(page::whole(
            Here::Elsewhere,
            text("keep.unlocked"),
            html! { div.short { h1 { (text("keep.unlocked")) } p { (text("keep.close_this")) } } },
        ));
    }
    ok(ask_page(&desk, &here, None))
}

fn ask_page(desk: &Desk, back: &str, wrong: Option<&str>) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("keep.locked_title")) }
            p.lead { (text("keep.locked_lead")) }
            @if desk.keep.is_demo() { p.gently { (fill("keep.demo_passphrase", &[("passphrase", &keep::DEMO_PASSPHRASE)])) } }
            @if let Some(wrong) = wrong { div.missing role="alert" { p { (wrong) } } }
            form method="post" action="/unlock" {
                (visitor::token())
                input type="hidden" name="to" value=(back);
                (passphrase("passphrase", text("keep.passphrase"), "current-password", None))
                div.act { button.go type="submit" { (text("keep.unlock")) } }
            }
            p.hint { (text("keep.forgotten")) }
        }
    };
    page::whole(Here::Elsewhere, text("keep.locked_title"), main)
}

async fn unlock(State(desk): Shared, request: Request) -> Response {
    let body = match form(request).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    beside(move || {
        let to = back(value(&body, "to"));
        let typed = Passphrase::new(value(&body, "passphrase").unwrap_or_default());
        let now = keep::now(&desk);
        match desk.keep.unlock(&typed, now) {
            Ok(()) => {
                super::practice::opened(&desk);
                let_in(&desk, if to == "/unlocked" { "/unlock?to=/unlocked" } else { &to })
            }
            Err(error) => {
                let wait = |until: cabinet::Time| fill("keep.wait", &[("s", &(until.unix() - now.unix()).max(0))]);
                let said = match error.kind() {
                    ErrorKind::WrongPassphrase { wait_until } if *wait_until > now => {
                        format!("{} {}", text("keep.wrong"), wait(*wait_until))
                    }
                    ErrorKind::WrongPassphrase { .. } => text("keep.wrong").to_owned(),
                    ErrorKind::TooSoon { wait_until } => {
                        format!("{} {}", text("keep.too_soon"), wait(*wait_until))
                    }
                    _ => return keep::told(&desk, &error),
                };
                answer_html(StatusCode::FORBIDDEN, ask_page(&desk, &to, Some(&said)))
            }
        }
    })
    .await
}

async fn lock(State(desk): Shared) -> Response {
    beside(move || {
        // Downloads break off first: a lock waits for what is being read.
        desk.visitors.locked();
        desk.keep.cabinet().lock();
        desk.locked();
        desk.album.forget_all();
        let mut response = to("/unlock");
        // The browser forgets the pages it keeps for going back.
        response.headers_mut().insert("clear-site-data", HeaderValue::from_static("\"cache\""));
        response
    })
    .await
}

/// Somebody is typing: the practice does not lock under their hands.
async fn touch(State(desk): Shared) -> Response {
    let inside = me().is_some_and(|m| m.inside) && desk.keep.cabinet().touch(keep::now(&desk)).is_ok();
    let mut response = Response::new(Body::empty());
    *response.status_mut() = if inside { StatusCode::NO_CONTENT } else { StatusCode::FORBIDDEN };
    response
}

/// The address that is printed at the start: whoever reads it is the one who started the desk. Where the passphrase came from a
/// file they are inside, until the practice is locked.
async fn open(State(desk): Shared, Path(key): Path<String>) -> Response {
    let known = desk.key.as_deref().is_some_and(|k| same(k, &key));
    if known && desk.unattended && desk.visitors.never_locked() {
        return let_in(&desk, "/due");
    }
    to("/")
}

/// What there is to do before the first request: the demo is made, and a passphrase from a file opens the practice, or makes
/// one where there is none.
///
/// # Errors
/// In words: what went wrong, and what to do.
pub fn at_start(desk: &Desk, passphrase: Option<Passphrase>) -> Result<(), String> {
    let now = keep::now(desk);
    let passphrase = if desk.keep.is_demo() { Some(Passphrase::new(keep::DEMO_PASSPHRASE)) } else { passphrase };
    let Some(passphrase) = passphrase else { return Ok(()) };
    let opened = if desk.keep.is_there() {
        desk.keep.unlock(&passphrase, now)
    } else {
        desk.keep.create(&passphrase, now).and_then(|()| if desk.keep.is_demo() { demo::fill(desk) } else { Ok(()) })
    };
    opened.map_err(|error| error.to_string())?;
    super::practice::opened(desk);
    Ok(())
}
