//! The routes of the map: choosing a face, looking at it, correcting it, printing it, forgetting it.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::extract::multipart::{Field, MultipartRejection};
use axum::extract::{DefaultBodyLimit, Multipart, Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::Response;
use axum::routing::{get, post};
use maud::Markup;
use vision::{Care, Limits};

use super::album::{Face, Onto};
use super::form::Ask;
use super::looking::Looking;
use super::own_face::{self, Shown};
use super::reply::{self, html};
use super::visits::bound::Bound;
use super::whose::{self, Note};
use super::{Desk, hands, page, paper, routine};
use crate::catalogue::{fill, text};
use crate::own::{self, Reading};

/// The most a small form may send, in bytes.
const MOST_BYTES: usize = 128 * 1024;
/// A photograph that is too large is read to its end, so that the browser hears why it was refused, up to so many times the limit.
pub const PATIENCE: usize = 4;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    let most = Limits::default().most_bytes * PATIENCE;
    Router::new()
        .route("/map", get(ask_whose).post(receive).layer(DefaultBodyLimit::max(most)))
        .route("/map/choose", post(choose))
        .route("/map/routine", post(onto))
        .route("/map/{id}", get(look))
        .route("/map/{id}/photo.jpg", get(photo))
        .route("/map/{id}/print", get(print))
        .route("/map/{id}/hands", post(correct))
        .route("/map/{id}/undo", post(undo))
        .route("/map/{id}/forget", post(forget))
        .route("/people/{name}", get(small))
}

/// Runs what computes beside the server's one thread, so that other requests are answered meanwhile.
pub async fn beside(work: impl FnOnce() -> Response + Send + 'static) -> Response {
    match tokio::task::spawn_blocking(super::visitor::carried(work)).await {
        Ok(response) => response,
        Err(_) => html(StatusCode::INTERNAL_SERVER_ERROR, page::fault()),
    }
}

pub fn ok(markup: Markup) -> Response {
    html(StatusCode::OK, markup)
}

pub fn to(address: &str) -> Response {
    let mut response = Response::new(Body::empty());
    *response.status_mut() = StatusCode::SEE_OTHER;
    if let Ok(value) = HeaderValue::from_str(address) {
        response.headers_mut().insert(header::LOCATION, value);
    }
    response
}

/// A picture that no cache keeps.
pub fn jpeg(bytes: Vec<u8>) -> Response {
    let mut response = Response::new(Body::from(bytes));
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("image/jpeg"));
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

async fn ask_whose(State(desk): Shared, uri: Uri) -> Response {
    let query = uri.query().unwrap_or_default();
    let said = |name: &str| form_urlencoded::parse(query.as_bytes()).any(|(n, v)| n == name && v == "1");
    let note = if said("forgotten") {
        Note::Forgotten
    } else if said("gone") {
        Note::Gone
    } else {
        Note::None
    };
    ok(whose::page(&desk.album, Looking::read(query).routine, false, &note))
}

/// What a form with a photograph says.
#[derive(Default)]
struct Brought {
    photo: Vec<u8>,
    named: bool,
    too_large: bool,
    mirrored: bool,
    routine: Option<u64>,
}

async fn receive(State(desk): Shared, sent: Result<Multipart, MultipartRejection>) -> Response {
    let Ok(sent) = sent else { return html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()) };
    let Some(brought) = read_form(sent).await else { return html(StatusCode::BAD_REQUEST, page::unreadable()) };
    beside(move || keep(&desk, brought)).await
}

async fn read_form(mut sent: Multipart) -> Option<Brought> {
    let mut brought = Brought::default();
    while let Some(field) = sent.next_field().await.ok()? {
        match field.name().unwrap_or_default() {
            "photo" => {
                brought.named = field.file_name().is_some_and(|n| !n.is_empty());
                let (bytes, whole) = up_to(field, Limits::default().most_bytes).await?;
                brought.photo = bytes;
                brought.too_large = !whole;
            }
            "mirrored" => brought.mirrored = up_to(field, 64).await?.0 == b"yes",
            "routine" => brought.routine = String::from_utf8(up_to(field, 64).await?.0).ok()?.parse().ok(),
            _ => {
                up_to(field, 0).await?;
            }
        }
    }
    Some(brought)
}

/// A field's bytes up to a limit, and whether that was all; what is beyond is read and dropped.
pub async fn up_to(mut field: Field<'_>, most: usize) -> Option<(Vec<u8>, bool)> {
    let (mut bytes, mut whole) = (Vec::new(), true);
    while let Some(chunk) = field.chunk().await.ok()? {
        whole &= bytes.len() + chunk.len() <= most;
        if whole {
            bytes.extend_from_slice(&chunk);
        }
    }
    Some((if whole { bytes } else { Vec::new() }, whole))
}

/// Makes the map of a photograph that was sent, or says on the same page why there is none.
fn keep(desk: &Desk, brought: Brought) -> Response {
    let refuse = |why: &str| {
        let note = Note::Refused(why);
        ok(whose::page(&desk.album, brought.routine, brought.mirrored, &note))
    };
    if brought.too_large {
        let most = Limits::default().most_bytes / 1_000_000;
        return refuse(&fill("photo.too_many_bytes", &[("most", &most)]));
    }
    if brought.photo.is_empty() && !brought.named {
        return refuse(text("mappage.choose_first"));
    }
    let reading = Reading { care: Care::PHOTOGRAPH, mirrored: brought.mirrored, ..Reading::default() };
    let made = own::photograph(&brought.photo).and_then(|photo| desk.album.keep(&desk.atlas(), photo, &reading, None));
    match made {
        Ok(face) => to(&address(face.id, brought.routine)),
        Err(why) => refuse(&why.0),
    }
}

fn address(id: u64, routine: Option<u64>) -> String {
    let query = routine.map_or_else(String::new, |r| format!("?routine={r}"));
    format!("/map/{id}{query}")
}

/// A small form's body; none where it is no form or too long.
pub async fn form(headers: &HeaderMap, body: Body) -> Result<Bytes, Response> {
    let form = b"application/x-www-form-urlencoded";
    if !headers.get(header::CONTENT_TYPE).is_some_and(|m| m.as_bytes().starts_with(form)) {
        return Err(html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()));
    }
    to_bytes(body, MOST_BYTES).await.map_err(|_| html(StatusCode::PAYLOAD_TOO_LARGE, page::unreadable()))
}

/// The value of a name in a form.
pub fn value(body: &[u8], name: &str) -> Option<String> {
    form_urlencoded::parse(body).find(|(n, _)| n == name).map(|(_, v)| v.into_owned())
}

async fn choose(State(desk): Shared, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    let routine = value(&body, "routine").and_then(|r| r.parse().ok());
    let person = value(&body, "person").and_then(|p| p.parse::<usize>().ok());
    beside(move || match person.and_then(|p| desk.album.person(&desk.atlas(), p)) {
        None => reply::lost_page(),
        Some(Ok(face)) => to(&address(face.id, routine)),
        Some(Err(why)) => ok(whose::page(&desk.album, routine, false, &Note::Refused(&why.0))),
    })
    .await
}

/// A routine's form, to be seen on a face. What gives no routine is answered as on the routine's own page.
async fn onto(State(desk): Shared, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    beside(move || {
        let ask = Ask::read(&desk.atlas(), &body);
        match routine::drafted_for(&desk.atlas(), &ask, today) {
            Some((title, draft)) => to(&format!("/map?routine={}", desk.album.onto(title, draft))),
            None => ok(routine::answer(&desk.atlas(), &ask, today, false)),
        }
    })
    .await
}

/// What a page about a face is made from.
pub struct Found {
    /// The face; none: the drawn one.
    pub face: Option<Arc<Face>>,
    /// The routine upon it.
    pub routine: Option<Arc<Onto>>,
    /// Whose it is, where it is a client's.
    pub bound: Option<Bound>,
}

impl Found {
    fn new(desk: &Desk, id: &str, looking: &Looking) -> Option<Found> {
        let face = match id {
            "drawn" => None,
            id => Some(desk.album.face(id.parse().ok()?)?),
        };
        Some(Found { face, bound: None, routine: looking.routine.and_then(|r| desk.album.routine(r)) })
    }

    /// Answers with a page or a part about this face.
    pub fn show(&self, alert: Option<&str>, make: impl FnOnce(&Shown<'_>) -> Markup) -> Response {
        let held = self.face.as_ref().map(|f| f.held());
        let of = self.face.as_deref().zip(held.as_deref());
        ok(make(&Shown { of, routine: self.routine.as_deref(), bound: self.bound.as_ref(), alert }))
    }
}

fn gone() -> Response {
    to("/map?gone=1")
}

/// Whether a script asks for the part that changes alone.
pub fn is_part(headers: &HeaderMap) -> bool {
    headers.contains_key("x-part")
}

async fn look(State(desk): Shared, Path(id): Path<String>, headers: HeaderMap, uri: Uri) -> Response {
    let looking = Looking::read(uri.query().unwrap_or_default());
    beside(move || {
        let Some(found) = Found::new(&desk, &id, &looking) else { return gone() };
        let lost = looking.routine.is_some() && found.routine.is_none();
        let alert = lost.then(|| text("mappage.routine_gone"));
        found.show(alert, |shown| answer(&desk, shown, &looking, is_part(&headers)))
    })
    .await
}

/// The page, or its part that changes.
pub fn answer(desk: &Desk, shown: &Shown<'_>, looking: &Looking, part: bool) -> Markup {
    if part { own_face::part(&desk.atlas(), shown, looking) } else { own_face::page(&desk.atlas(), shown, looking) }
}

async fn print(State(desk): Shared, Path(id): Path<String>, uri: Uri) -> Response {
    let looking = Looking::read(uri.query().unwrap_or_default());
    beside(move || {
        let Some(found) = Found::new(&desk, &id, &looking) else { return gone() };
        found.show(None, |shown| paper::page(&desk.atlas(), shown, &looking))
    })
    .await
}

async fn photo(State(desk): Shared, Path(id): Path<u64>) -> Response {
    desk.album.face(id).map_or_else(reply::lost_page, |face| jpeg(face.jpeg.clone()))
}

async fn small(State(desk): Shared, Path(name): Path<String>) -> Response {
    let person = name.strip_suffix(".jpg").and_then(|n| n.parse::<usize>().ok());
    beside(move || match person.and_then(|p| desk.album.small(p)) {
        Some(bytes) => jpeg(bytes.to_vec()),
        None => reply::lost_page(),
    })
    .await
}

/// One handle dragged: the map anew, and everything that follows from it.
async fn correct(State(desk): Shared, Path(id): Path<String>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    let looking = Looking { correct: true, ..Looking::read(parts.uri.query().unwrap_or_default()) };
    beside(move || {
        let Some(found) = Found::new(&desk, &id, &looking) else { return gone() };
        let Some(face) = &found.face else { return gone() };
        let alert = drag(&desk, face, &body).err();
        found.show(alert.as_deref(), |shown| answer(&desk, shown, &looking, is_part(&parts.headers)))
    })
    .await
}

/// Takes every handle that a form names to its place; on a refusal everything stays as it was.
pub fn drag(desk: &Desk, face: &Face, body: &[u8]) -> Result<(), String> {
    let mut held = face.held();
    let mut changed = held.hands.clone();
    for (name, at) in form_urlencoded::parse(body).filter(|(name, _)| name != super::visitor::TOKEN) {
        let place = at.split_once(',').and_then(|(x, y)| hands::place(&held, x, y));
        if !place.is_some_and(|place| own::desk::drag(&held.seen, &mut changed, &name, place)) {
            return Err(text("mappage.no_such_handle").to_owned());
        }
    }
    own::desk::correct(&desk.atlas(), &mut held.seen, &changed).map_err(|why| why.0)?;
    held.hands = changed;
    Ok(())
}

async fn undo(State(desk): Shared, Path(id): Path<String>, headers: HeaderMap, uri: Uri) -> Response {
    let looking = Looking { correct: true, ..Looking::read(uri.query().unwrap_or_default()) };
    beside(move || {
        let Some(found) = Found::new(&desk, &id, &looking) else { return gone() };
        let Some(face) = &found.face else { return gone() };
        let undone = {
            let mut held = face.held();
            let none = face::Hands::default();
            let made = own::desk::correct(&desk.atlas(), &mut held.seen, &none);
            if made.is_ok() {
                held.hands = none;
            }
            made
        };
        if is_part(&headers) || undone.is_err() {
            let alert = undone.err().map(|why| why.0);
            return found.show(alert.as_deref(), |shown| answer(&desk, shown, &looking, is_part(&headers)));
        }
        to(&format!("/map/{id}{}", looking.query()))
    })
    .await
}

async fn forget(State(desk): Shared, Path(id): Path<u64>) -> Response {
    desk.album.forget(id);
    to("/map?forgotten=1")
}
