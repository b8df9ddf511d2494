//! A client's own map: the page of the map, bound to a client, on a photograph that is kept or on the drawn face.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{Cabinet, ClientId, ConsentKind, Error, PhotographId};

use super::super::looking::Looking;
use super::super::map_routes::{self, Found, answer, form, is_part, jpeg, to};
use super::super::person::Person;
use super::super::reply::html;
use super::super::{Desk, keep, page, paper};
use super::bound::Bound;
use super::{photo_of, work};
use crate::own;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/clients/{id}/map", get(latest))
        .route("/clients/{id}/map/{photo}", get(look))
        .route("/clients/{id}/map/{photo}/photo.jpg", get(photo))
        .route("/clients/{id}/map/{photo}/print", get(print))
        .route("/clients/{id}/map/{photo}/hands", post(correct))
        .route("/clients/{id}/map/{photo}/undo", post(undo))
}

/// The latest photograph that is kept; where there is none, the drawn face.
async fn latest(State(desk): Shared, Path(id): Path<i64>) -> Response {
    let id = ClientId::from_number(id);
    keep::answer(desk, move |_, cabinet| {
        let last = cabinet.read(|r| {
            r.client(id)?;
            for visit in r.visits(id)?.into_iter().rev() {
                if let Some(photo) = r.photographs(visit.id)?.last() {
                    return Ok(Some(photo.id));
                }
            }
            Ok(None)
        })?;
        let name = last.map_or_else(|| "drawn".to_owned(), |p| p.to_string());
        Ok(to(&format!("/clients/{id}/map/{name}")))
    })
    .await
}

/// What is found under an address: the client's map; or the answer that there is none.
fn found(
    desk: &Desk,
    cabinet: &Cabinet,
    id: ClientId,
    name: &str,
) -> Result<Result<(Found, Option<String>), Response>, Error> {
    let Some(today) = desk.today() else {
        return Ok(Err(html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock())));
    };
    let atlas = desk.atlas();
    let person = cabinet.read(|r| Person::to_work_with(r, &atlas, id, today))?;
    let bound = Some(Bound::new(&atlas, &person, format!("/clients/{id}/map/{name}")));
    if name == "drawn" {
        return Ok(Ok((Found { face: None, routine: None, bound }, None)));
    }
    let Ok(number) = name.parse() else { return keep::lost().map(Err) };
    Ok(Ok(match work::face(desk, cabinet, id, PhotographId::from_number(number))? {
        Ok(face) => (Found { face: Some(face), routine: None, bound }, None),
        // A photograph that gives no map today: the drawn face, and why.
        Err(why) => (Found { face: None, routine: None, bound }, Some(why)),
    }))
}

async fn look(State(desk): Shared, Path((id, name)): Path<(i64, String)>, headers: HeaderMap, uri: Uri) -> Response {
    let looking = Looking { routine: None, ..Looking::read(uri.query().unwrap_or_default()) };
    keep::answer(desk, move |desk, cabinet| {
        let (found, alert) = match found(desk, cabinet, ClientId::from_number(id), &name)? {
            Ok(found) => found,
            Err(response) => return Ok(response),
        };
        Ok(found.show(alert.as_deref(), |shown| answer(desk, shown, &looking, is_part(&headers))))
    })
    .await
}

async fn print(State(desk): Shared, Path((id, name)): Path<(i64, String)>, uri: Uri) -> Response {
    let looking = Looking { routine: None, ..Looking::read(uri.query().unwrap_or_default()) };
    keep::answer(desk, move |desk, cabinet| {
        let (found, alert) = match found(desk, cabinet, ClientId::from_number(id), &name)? {
            Ok(found) => found,
            Err(response) => return Ok(response),
        };
        Ok(found.show(alert.as_deref(), |shown| paper::page(&desk.atlas(), shown, &looking)))
    })
    .await
}

async fn photo(State(desk): Shared, Path((id, photo)): Path<(i64, i64)>) -> Response {
    keep::answer(desk, move |desk, cabinet| {
        let face = work::face(desk, cabinet, ClientId::from_number(id), PhotographId::from_number(photo))?;
        face.map_or_else(|_| keep::lost(), |face| Ok(jpeg(face.jpeg.clone())))
    })
    .await
}

/// Changes the corrections of a photograph, keeps them, and answers with the map. What can't be kept is not shown either.
fn change(
    desk: &Desk,
    cabinet: &Cabinet,
    (id, name): (i64, &str),
    (looking, part): (&Looking, bool),
    make: impl FnOnce(&Desk, &super::super::album::Face) -> Result<(), String>,
) -> Result<Response, Error> {
    let id = ClientId::from_number(id);
    let Ok(photo) = name.parse().map(PhotographId::from_number) else { return keep::lost() };
    cabinet.read(|r| {
        photo_of(r, id, photo)?;
        r.require(id, ConsentKind::Photographs)
    })?;
    let (found, mut alert) = match found(desk, cabinet, id, name)? {
        Ok(found) => found,
        Err(response) => return Ok(response),
    };
    if let Some(face) = &found.face {
        alert = make(desk, face).err();
        if alert.is_none() {
            let hands = face.held().hands.clone();
            if let Err(error) = work::correct(desk, cabinet, id, photo, &hands) {
                desk.album.practice.forget_photograph(photo);
                return Err(error);
            }
        }
    }
    Ok(found.show(alert.as_deref(), |shown| answer(desk, shown, looking, part)))
}

async fn correct(State(desk): Shared, Path((id, name)): Path<(i64, String)>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    let read = Looking::read(parts.uri.query().unwrap_or_default());
    let looking = Looking { correct: true, routine: None, ..read };
    keep::answer(desk, move |desk, cabinet| {
        let part = is_part(&parts.headers);
        change(desk, cabinet, (id, &name), (&looking, part), |desk, face| map_routes::drag(desk, face, &body))
    })
    .await
}

async fn undo(State(desk): Shared, Path((id, name)): Path<(i64, String)>, headers: HeaderMap, uri: Uri) -> Response {
    let read = Looking::read(uri.query().unwrap_or_default());
    let looking = Looking { correct: true, routine: None, ..read };
    keep::answer(desk, move |desk, cabinet| {
        let part = is_part(&headers);
        let answered = change(desk, cabinet, (id, &name), (&looking, part), |desk, face| {
            let mut held = face.held();
            let none = face::Hands::default();
            own::desk::correct(&desk.atlas(), &mut held.seen, &none).map_err(|why| why.0)?;
            held.hands = none;
            Ok(())
        })?;
        // Without script the page is asked for anew, so that a reload undoes nothing more.
        let done = !part && answered.status() == StatusCode::OK;
        Ok(if done { to(&format!("/clients/{id}/map/{name}{}", looking.query())) } else { answered })
    })
    .await
}
