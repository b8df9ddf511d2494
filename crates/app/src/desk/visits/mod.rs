//! The visits of a client: photographs brought or taken, what they say, keep or retake; and the client's own map.
//!
//! A photograph that nobody has decided on is in memory alone. What is kept is kept in the cabinet: the file as it was taken, the
//! measurement as `measure --json` prints it, corrections by hand. Pages are made from what is kept, without measuring again.

mod ask;
pub mod bound;
mod client_map;
mod frame;
pub mod memory;
mod receive;
mod remove;
mod show;
mod work;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use cabinet::{Cabinet, ClientId, ConsentKind, Error, ErrorKind, Photograph, PhotographId, Reader, Visit, VisitId};
use maud::{Markup, html};
use vision::Limits;

use ask::{CONDITIONS, LIGHTS};

pub use self::work::media;
use super::Desk;
use super::album::Face;
use super::keep::day_in_words;
use super::map_routes::PATIENCE;
use crate::catalogue::{fill, text};
use crate::json::measured;
use crate::measuring::figures::Figures;
use crate::measuring::words;

/// At most so many photographs of a visit are kept.
pub const MOST_KEPT: usize = 3;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    let most = DefaultBodyLimit::max(Limits::default().most_bytes * PATIENCE);
    Router::new()
        .route("/clients/{id}/visits/new", get(ask::new).post(receive::new).layer(most))
        .route("/clients/{id}/visits/frame", post(frame::look).layer(DefaultBodyLimit::max(frame::MOST_BYTES)))
        .route("/clients/{id}/visits/{visit}", get(show::visit))
        .route("/clients/{id}/visits/{visit}/photographs", post(receive::more).layer(most))
        .route("/clients/{id}/visits/{visit}/shots/{shot}/photo.jpg", get(show::shot_picture))
        .route("/clients/{id}/visits/{visit}/shots/{shot}/keep", post(work::keep))
        .route("/clients/{id}/visits/{visit}/shots/{shot}/retake", post(work::retake))
        .route("/clients/{id}/visits/{visit}/photographs/{photo}/{picture}", get(show::picture))
        .route("/clients/{id}/visits/{visit}/photographs/{photo}/remove", get(remove::ask_photo).post(remove::photo))
        .route("/clients/{id}/visits/{visit}/remove", get(remove::ask_visit).post(remove::visit))
        .merge(client_map::routes())
}

/// A visit under the address of its client.
///
/// # Errors
/// There is no such visit, or it is another client's: to this address both are the same.
pub fn visit_of(r: &Reader<'_>, client: ClientId, visit: VisitId) -> Result<Visit, Error> {
    let found = r.visit(visit)?;
    if found.client == client { Ok(found) } else { Err(ErrorKind::NoSuch(VisitId::WORD, visit.number()).into()) }
}

/// A photograph under the address of its client.
///
/// # Errors
/// There is none, or it is another client's.
pub fn photo_of(r: &Reader<'_>, client: ClientId, id: PhotographId) -> Result<Photograph, Error> {
    let found = r.photograph(id)?;
    let theirs = r.visit(found.visit)?.client == client;
    if theirs { Ok(found) } else { Err(ErrorKind::NoSuch(PhotographId::WORD, id.number()).into()) }
}

/// The face of a client's latest photograph that is kept and gives a map; none: there is no such.
///
/// # Errors
/// Of the store.
pub fn latest_face(desk: &Desk, cabinet: &Cabinet, client: ClientId) -> Result<Option<Arc<Face>>, Error> {
    let last = cabinet.read(|r| {
        for visit in r.visits(client)?.into_iter().rev() {
            if let Some(photo) = r.photographs(visit.id)?.last() {
                return Ok(Some(photo.id));
            }
        }
        Ok(None)
    })?;
    Ok(match last {
        Some(photo) => work::face(desk, cabinet, client, photo)?.ok(),
        None => None,
    })
}

/// The address of a client's visit.
pub fn address(client: ClientId, visit: VisitId) -> String {
    format!("/clients/{client}/visits/{visit}")
}

/// Under which conditions a visit was, as far as they were said: each one's name, what it is called, and what was said.
pub fn conditions(visit: &Visit) -> Vec<(&'static str, &'static str, String)> {
    let json: serde_json::Value = serde_json::from_str(visit.conditions.as_str()).unwrap_or_default();
    let said = |name: &str| json[name].as_str().filter(|v| !v.is_empty()).map(str::to_owned);
    let word = |name: &str, value: String| {
        let light = LIGHTS.iter().find(|l| name == "light" && l.0 == value);
        light.map_or(value, |l| text(l.1).to_owned())
    };
    CONDITIONS.iter().filter_map(|(name, key)| Some((*name, text(key), word(name, said(name)?)))).collect()
}

/// A kept photograph with what was found in it and what a hand set right; why not, in words.
///
/// # Errors
/// Of the store.
pub fn face_of(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    photograph: PhotographId,
) -> Result<Result<Arc<Face>, String>, Error> {
    work::face(desk, cabinet, client, photograph)
}

/// The latest measurement of a visit's photographs together.
///
/// # Errors
/// Of the store.
pub fn figures(r: &Reader<'_>, visit: VisitId) -> Result<Option<Figures>, Error> {
    let all = r.measurements(visit)?;
    Ok(all.iter().rev().find(|m| m.photograph.is_none()).and_then(|m| measured::visit(m.body.as_str())))
}

/// The visits of a client, on the client's page.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, id: ClientId) -> Result<Markup, Error> {
    let mut rows = Vec::new();
    for visit in r.visits(id)?.into_iter().rev() {
        let (photos, figures) = (r.photographs(visit.id)?, figures(r, visit.id)?);
        rows.push((visit, photos, figures));
    }
    let photographs = r.consents_to(id, ConsentKind::Photographs)?;
    Ok(html! {
        section.part #visits aria-labelledby="visits-title" {
            h2 #visits-title { (text("visit.section")) }
            @if rows.is_empty() { p { (text("visit.none")) } }
            @if !photographs { p.hint { (text("visit.no_consent_short")) } }
            ol.visit-list {
                @for (visit, photos, figures) in &rows {
                    li {
                        p.visit-day { a href=(address(id, visit.id)) { (fill("visit.of", &[("day", &day_in_words(visit.at))])) } }
                        @if !photos.is_empty() {
                            p.visit-small {
                                @for (n, photo) in photos.iter().enumerate() {
                                    img src={ (address(id, visit.id)) "/photographs/" (photo.id) "/small.jpg" }
                                        alt=(fill("visit.small_alt", &[("n", &(n + 1))])) height="96" loading="lazy";
                                }
                            }
                        }
                        p { (sentence(figures.as_ref(), photos.len())) }
                    }
                }
            }
            div.act {
                a.button href={ "/clients/" (id) "/visits/new" } { (text("visit.new")) }
                a.button href={ "/clients/" (id) "/map" } { (text("visit.map")) }
            }
        }
    })
}

/// What a visit says in one sentence.
fn sentence(figures: Option<&Figures>, photos: usize) -> String {
    match figures {
        Some(f) => fill(
            "visit.values",
            &[("left", &words::value(f.sides[1].shadow.de, 1)), ("right", &words::value(f.sides[0].shadow.de, 1))],
        ),
        None if photos == 0 => text("visit.no_photographs").to_owned(),
        None => text("visit.no_values").to_owned(),
    }
}
