//! Guiding a session: begun from a routine, run by the player, kept from its first moment on.
//!
//! Steps come from the gate, screened again when a session begins and when it is gone on with. What happens is sent event by event and
//! replayed here before it is kept (`log`). `start` asks before, `run` is the page of the player, `after` asks what was felt.

mod after;
mod log;
mod run;
mod scale;
mod start;

use std::sync::Arc;

use axum::Router;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{ClientId, Error, ErrorKind, Reader, RoutineId, Session, SessionId, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use vocab::Date;

use self::log::Log;
use super::editor::page::Whose;
use super::editor::runnable::{Refused, Runnable};
use super::editor::{chosen, read, whose};
use super::keep::day_in_words;
use super::person::Person;
use super::reply::html as answer_html;
use super::visitor::token;
use super::{Desk, due, page};
use crate::catalogue::{clock, fill, text};

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/routines/{id}/session", get(start::show).post(start::begin))
        .route("/routines/{id}/session/screen", get(run::screen))
        .route("/routines/{id}/session/{session}", get(run::show))
        .route("/routines/{id}/session/{session}/events", post(run::events))
        .route("/routines/{id}/session/{session}/close", post(after::close))
        .route("/routines/{id}/session/{session}/after", get(after::show).post(after::keep))
}

fn no_clock() -> Response {
    answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock())
}

/// A routine with what of it may be run today, for whom.
struct Chosen {
    kept: cabinet::Routine,
    version: Option<Version>,
    file: Option<RoutineFile>,
    whose: Whose,
    person: Option<Person>,
    made: Option<Result<Runnable, Refused>>,
}

impl Chosen {
    /// Reads it: the latest version or the one of this number; for its client, or of a routine that belongs to nobody for this one.
    ///
    /// # Errors
    /// There is no such routine, version or client; no consent to care; the routine is another client's.
    fn read(
        r: &Reader<'_>,
        atlas: &Atlas,
        id: RoutineId,
        number: Option<u32>,
        client: Option<ClientId>,
        today: Date,
    ) -> Result<Chosen, Error> {
        let kept = r.routine(id)?;
        if kept.client.is_some() && client.is_some() && client != kept.client {
            return Err(ErrorKind::NotTheirs.into());
        }
        let version = chosen(r, id, number)?;
        let (whose, person) = whose(r, atlas, kept.client.or(client), today)?;
        let made = version.as_ref().map(|version| match &person {
            Some(person) => Runnable::for_client(atlas, person, &kept, version),
            None => Runnable::for_audience(atlas, &kept, version),
        });
        let file = version.as_ref().and_then(|v| read(atlas, v));
        Ok(Chosen { kept, version, file, whose, person, made })
    }
}

/// A session under the address of its routine.
///
/// # Errors
/// There is none, or it ran another routine: to this address both are the same.
fn session_of(r: &Reader<'_>, id: RoutineId, session: SessionId) -> Result<(Session, Version), Error> {
    let found = r.session(session)?;
    let version = r.version(found.version)?;
    if version.routine == id {
        Ok((found, version))
    } else {
        Err(ErrorKind::NoSuch(SessionId::WORD, session.number()).into())
    }
}

/// The address of a session.
fn address(routine: RoutineId, session: SessionId) -> String {
    format!("/routines/{routine}/session/{session}")
}

/// The sessions of a client, on the client's page: what is under way first, then what was felt, the latest five.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, atlas: &Atlas, client: ClientId) -> Result<Markup, Error> {
    let sessions = r.sessions(Some(client))?;
    let mut open = Vec::new();
    for session in &sessions {
        if let Some(log) = Log::read(&session.log).filter(|log| log.ended().is_none()) {
            open.push((session, r.version(session.version)?.routine, log));
        }
    }
    let closed = |s: &&Session| !open.iter().any(|(o, ..)| o.id == s.id);
    let done: Vec<&Session> = sessions.iter().filter(closed).collect();
    Ok(html! {
        section.part #sessions aria-labelledby="sessions-title" {
            h2 #sessions-title { (text("client.sessions")) }
            @for (session, routine, log) in &open { (under_way(session, *routine, log)) }
            @if sessions.is_empty() { p { (text("client.no_sessions")) } }
            @if !done.is_empty() {
                p { (if done.len() == 1 { text("client.one_session").to_owned() } else { fill("client.n_sessions", &[("n", &done.len())]) }) }
                ul.log { @for session in done.iter().rev().take(5) { li { (one(atlas, session)) } } }
            }
        }
    })
}

/// Of a routine, for whom it is about to be run: the sessions that were not ended, to be gone on with or closed.
///
/// # Errors
/// Of the store.
fn unfinished(r: &Reader<'_>, routine: RoutineId, client: Option<ClientId>) -> Result<Markup, Error> {
    let mut open = Vec::new();
    for session in r.sessions(client)? {
        let Some(log) = Log::read(&session.log).filter(|log| log.ended().is_none()) else { continue };
        if r.version(session.version)?.routine == routine {
            open.push((session, log));
        }
    }
    Ok(html! { @for (session, log) in open.iter().rev().take(3) { (under_way(session, routine, log)) } })
}

/// One session in words: what was felt, how it ended where that matters, before and after.
fn one(atlas: &Atlas, session: &Session) -> Markup {
    let ended = serde_json::from_str::<serde_json::Value>(session.log.as_str()).ok();
    let ended = ended.as_ref().and_then(|l| l.get("ended")?.as_str());
    html! {
        (due::felt(atlas, session).unwrap_or_else(|| fill("client.session", &[("day", &day_in_words(session.at))])))
        @match ended {
            Some("sign") => { " " strong { (text("session.ended_sign")) } }
            Some("dizzy") => { " " strong { (text("session.ended_dizzy")) } }
            Some("numb") => { " " strong { (text("session.ended_numb")) } }
            Some("early") => { " " (text("session.ended_early")) }
            _ => {}
        }
        @if let Some(said) = scale::before_after(session.felt.as_str()) { " " (said) }
    }
}

/// A session that was not ended.
fn under_way(session: &Session, routine: RoutineId, log: &Log) -> Markup {
    let at = address(routine, session.id);
    let seconds = u32::try_from(log.seen() / 1000).unwrap_or(u32::MAX);
    html! {
        div.under-way {
            p { (fill("session.under_way", &[("day", &day_in_words(session.at)), ("clock", &clock(seconds))])) }
            div.act {
                a.button href=(at) { (text("session.go_on")) }
                form method="post" action={ (at) "/close" } { (token()) button.quiet type="submit" { (text("session.close")) } }
            }
        }
    }
}
