//! The routes, and the way from a request to an answer.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::{self, Next};
use axum::response::Response;
use axum::routing::{get, post};
use maud::Markup;

use super::form::Ask;
use super::practice::devices_net::Over;
use super::{Desk, assets, guard, page, routine, start, token, visitor};

/// The most a form may send, in bytes: every question answered with every place ticked is far below.
const MOST_BYTES: usize = 128 * 1024;

type Shared = State<Arc<Desk>>;

/// Every route, behind the guard; those of the practice behind its door as well.
pub fn router(desk: Arc<Desk>) -> Router {
    let practice = Router::new()
        .merge(super::due::routes())
        .merge(super::clients::routes())
        .merge(super::client::routes())
        .merge(super::intake::routes())
        .merge(super::visits::routes())
        .merge(super::live::routes())
        .merge(super::editor::routes())
        .merge(super::practice::routes())
        .merge(super::product::routes())
        .merge(super::home::routes())
        .merge(super::session::routes())
        .merge(super::weeks::routes())
        .merge(super::report::routes())
        .merge(super::courses::routes())
        .merge(super::publish::routes())
        .route_layer(middleware::from_fn_with_state(desk.clone(), super::inside::watched));
    Router::new()
        .route("/", get(show_start))
        .route("/routine", post(make_routine).get(back_to_start))
        .route("/assets/{name}", get(asset))
        .merge(super::map_routes::routes())
        .merge(super::measure_routes::routes())
        .merge(super::inside::routes())
        .merge(super::practice::before_the_door())
        .merge(practice)
        .fallback(lost)
        .layer(middleware::from_fn_with_state(desk.clone(), guarded))
        .with_state(desk)
}

async fn guarded(State(desk): Shared, request: Request, next: Next) -> Response {
    let over = request.extensions().get::<Over>().map(|over| over.0);
    let allowed = over.map_or_else(|| guard::allows(&request, desk.port), |at| guard::allows_over(&request, at));
    let mut response =
        if allowed { known(&desk, request, next).await } else { html(StatusCode::FORBIDDEN, page::refused()) };
    guard::harden(&mut response);
    response
}

/// Answers a visitor; a change without their token is refused.
async fn known(desk: &Arc<Desk>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    // Fonts, styles and scripts are the same for everybody.
    if parts.uri.path().starts_with("/assets/") {
        return next.run(Request::from_parts(parts, body)).await;
    }
    let over = parts.extensions.get::<Over>().map(|over| over.0);
    let port = over.map_or(desk.port, |at| at.port());
    let Some((mut visitor, new)) = desk.visitors.of(&parts.headers, port, over.is_some()) else {
        return html(StatusCode::INTERNAL_SERVER_ERROR, page::fault());
    };
    let refused = over.and_then(|_| super::practice::devices::refused(desk, &visitor, parts.uri.path()));
    if over.is_some() {
        visitor.inside = refused.is_none() && desk.practice.devices.knows(&visitor);
        if visitor.inside {
            // Strangers can't push it out.
            desk.visitors.let_in(&visitor);
        }
    }
    visitor.demo = desk.keep.is_demo().then(|| super::demo::Told { progress: super::demo::progress(desk) });
    visitor.locks_in = visitor.inside.then(|| super::keep::locks_in(desk)).flatten();
    let cookie = if new { super::visitor::set_cookie(&visitor, port) } else { None };
    let reads = parts.method == Method::GET || parts.method == Method::HEAD;
    let mut response = if let Some(refused) = refused {
        refused
    } else if reads {
        visitor::with(visitor, ours(next, Request::from_parts(parts, body))).await
    } else {
        let (right, body) = token::proven(&parts, body, &visitor).await;
        visitor::with(visitor, async {
            if right {
                ours(next, Request::from_parts(parts, body)).await
            } else {
                html(StatusCode::FORBIDDEN, page::stale())
            }
        })
        .await
    };
    if let Some(cookie) = cookie {
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
    response
}

/// The answer; an address whose number is none is answered by a page of ours, not by the library's bare words, which repeat it.
async fn ours(next: Next, request: Request) -> Response {
    let response = next.run(request).await;
    let bare = response.headers().get(header::CONTENT_TYPE).is_some_and(|m| m.as_bytes().starts_with(b"text/plain"));
    if bare && response.status() == StatusCode::BAD_REQUEST { lost_page() } else { response }
}

async fn show_start(State(desk): Shared, request: Request) -> Response {
    let ask = Ask::read(&desk.atlas(), request.uri().query().unwrap_or_default().as_bytes()).wishes_only(&desk.atlas());
    html(StatusCode::OK, start::page(&desk.atlas(), &ask, false))
}

/// An address typed or reloaded without a form.
async fn back_to_start() -> Response {
    let mut response = Response::new(Body::empty());
    *response.status_mut() = StatusCode::SEE_OTHER;
    response.headers_mut().insert(header::LOCATION, HeaderValue::from_static("/"));
    response
}

async fn make_routine(State(desk): Shared, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let form = HeaderValue::from_static("application/x-www-form-urlencoded");
    let media = parts.headers.get(header::CONTENT_TYPE);
    if !media.is_some_and(|m| m.as_bytes().starts_with(form.as_bytes())) {
        return html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable());
    }
    let Ok(body) = to_bytes(body, MOST_BYTES).await else {
        return html(StatusCode::PAYLOAD_TOO_LARGE, page::unreadable());
    };
    let Some(today) = desk.today() else {
        return html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock());
    };
    // The script asks for the part that changes; a form without script for the whole page.
    let part = parts.headers.contains_key("x-part");
    let answered = tokio::task::spawn_blocking(visitor::carried(move || {
        let ask = Ask::read(&desk.atlas(), &body);
        routine::answer(&desk.atlas(), &ask, today, part)
    }));
    match answered.await {
        Ok(markup) => html(StatusCode::OK, markup),
        Err(_) => html(StatusCode::INTERNAL_SERVER_ERROR, page::fault()),
    }
}

async fn asset(Path(name): Path<String>) -> Response {
    let Some(asset) = assets::named(&name) else { return lost(Method::GET).await };
    let mut response = Response::new(Body::from(asset.bytes));
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(asset.media));
    // Fonts never change under their name; style and script do with each version.
    let keep = if name.ends_with(".woff2") { "public, max-age=31536000, immutable" } else { "no-cache" };
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    response
}

async fn lost(_: Method) -> Response {
    lost_page()
}

/// There is no such page.
pub fn lost_page() -> Response {
    html(StatusCode::NOT_FOUND, page::lost())
}

/// A page or a part of one.
pub fn html(status: StatusCode, markup: Markup) -> Response {
    let mut response = Response::new(Body::from(markup.into_string()));
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"));
    response
}
