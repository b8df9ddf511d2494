//! After a session: what to do, how they are now, their own words. And closing one that was not ended.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{Error, Json, Reader, RoutineId, Session, SessionId, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::draft::{Draft, DraftStep};
use serde_json::{Value, json};

use super::log::{Log, is_urgent};
use super::scale::{AFTER, Scale};
use super::{address, session_of};
use crate::catalogue::{fill, seconds, text};
use crate::desk::clients::{form, said};
use crate::desk::editor::read;
use crate::desk::fields::{done, lines};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;
use crate::desk::{Desk, due, routine};
use crate::play::sign_list;

/// Ends a session as far as it came.
pub async fn close(State(desk): State<Arc<Desk>>, Path((id, session)): Path<(i64, i64)>) -> Response {
    let (id, session) = (RoutineId::from_number(id), SessionId::from_number(session));
    answer(desk, move |desk, cabinet| {
        cabinet.write(keep::now(desk), |w| {
            let (kept, _) = session_of(w, id, session)?;
            let Some(mut log) = Log::read(&kept.log) else { return Ok(()) };
            // What never began leaves nothing behind.
            if !log.begun() {
                return w.remove_session(session);
            }
            log.close();
            w.update_session(session, &log.json()?, &kept.felt)
        })?;
        let left = cabinet.read(|r| Ok(r.session(session).is_ok()))?;
        Ok(to(&if left { format!("{}/after", address(id, session)) } else { format!("/routines/{id}/ready") }))
    })
    .await
}

/// Everything that the page shows.
struct Shown {
    session: Session,
    version: Version,
    name: String,
    felt: Value,
    log: Option<Log>,
}

impl Shown {
    fn read(r: &Reader<'_>, id: RoutineId, session: SessionId) -> Result<Shown, Error> {
        let (session, version) = session_of(r, id, session)?;
        let name = r.routine(id)?.name;
        let felt = serde_json::from_str(session.felt.as_str()).unwrap_or_else(|_| json!({}));
        let log = Log::read(&session.log);
        Ok(Shown { session, version, name, felt, log })
    }
}

/// The page.
pub async fn show(State(desk): State<Arc<Desk>>, Path((id, session)): Path<(i64, i64)>, request: Request) -> Response {
    let (id, session) = (RoutineId::from_number(id), SessionId::from_number(session));
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let shown = cabinet.read(|r| Shown::read(r, id, session))?;
        if shown.log.as_ref().is_some_and(|log| log.ended().is_none()) {
            return Ok(to(&address(id, session)));
        }
        let scale = Scale::kept(&AFTER, shown.felt.get("after").unwrap_or(&Value::Null));
        let words = shown.felt.get("words").and_then(Value::as_str).unwrap_or_default().to_owned();
        Ok(ok(whole(Here::Session, &shown.name, page(&desk.atlas(), id, &shown, &scale, &words, &query))))
    })
    .await
}

/// Keeps what was said.
pub async fn keep(State(desk): State<Arc<Desk>>, Path((id, session)): Path<(i64, i64)>, request: Request) -> Response {
    let (id, session) = (RoutineId::from_number(id), SessionId::from_number(session));
    let sent = match form(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let scale = Scale::of_form(&AFTER, &sent);
        let words = said(&sent, "words");
        if !scale.wrong().is_empty() {
            let shown = cabinet.read(|r| Shown::read(r, id, session))?;
            let main = page(&desk.atlas(), id, &shown, &scale, &words, "");
            return Ok(keep::again(whole(Here::Session, &shown.name, main)));
        }
        let client = cabinet.write(keep::now(desk), |w| {
            let shown = Shown::read(w, id, session)?;
            let mut felt = shown.felt;
            felt["words"] = json!(words);
            felt["after"] = Value::Object(scale.json());
            w.update_session(session, &shown.session.log, &Json::new(felt.to_string())?)?;
            Ok(shown.session.client)
        })?;
        Ok(to(&match client {
            Some(client) => format!("/clients/{client}?done=saved#sessions"),
            None => format!("{}/after?done=saved", address(id, session)),
        }))
    })
    .await
}

fn page(atlas: &Atlas, id: RoutineId, shown: &Shown, scale: &Scale, words: &str, query: &str) -> Markup {
    let ended = shown.log.as_ref().and_then(Log::ended).unwrap_or("whole");
    let urgent = is_urgent(ended);
    let length = shown.log.as_ref().map_or(0, |log| u32::try_from(log.state().spent / 1000).unwrap_or(0));
    let steps = read(atlas, &shown.version).map(|file| file.steps).unwrap_or_default();
    let draft = plain(steps);
    html! {
        div.narrow.session-after {
            h1 { (text(match ended { "whole" => "session.after_whole", "early" => "session.after_early", _ => "session.after_stopped" })) }
            p.lead { (shown.name) @if length > 0 { ". " (fill("session.worked", &[("s", &seconds(length))])) } }
            (done(query))
            @if !scale.wrong().is_empty() { div.missing role="alert" { p { (text("session.bad_scale")) } } }
            @if urgent {
                div.missing {
                    @match ended {
                        "dizzy" => { p { (text("play.dizzy_rest")) } p.plainly { (text("play.dizzy_help")) } p.plainly { (text("play.dizzy_later")) } }
                        "numb" => { p { (text("play.numb_rest")) } p.plainly { (text("play.numb_help")) } p.plainly { (text("play.numb_later")) } }
                        _ => { p { (text("play.sign_do")) } }
                    }
                }
                details.checks open { summary { h2 { (text("play.signs")) } } (sign_list(atlas)) }
                @if let Some(client) = shown.session.client {
                    p { (text("session.incident")) " " a href={ "/clients/" (client) "#notes" } { (text("session.to_notes")) } }
                }
            } @else {
                section.session-list aria-labelledby="after-title" {
                    h2 #after-title { (text("routine.after")) }
                    ul { @for item in routine::checks(atlas, &draft, "after") { li { (item) } } }
                }
            }
            @if let Some(felt) = due::felt(atlas, &shown.session) { p { (felt) } }
            form method="post" action={ (address(id, shown.session.id)) "/after" } {
                (token())
                section.session-ask aria-labelledby="now-title" {
                    h2 #now-title { (text("session.after")) }
                    (scale.fields(&AFTER))
                    (lines("words", text("session.words_after"), words, 3, None))
                }
                div.act {
                    button.go type="submit" { (text("session.keep")) }
                    @match shown.session.client {
                        Some(client) => { a.button href={ "/clients/" (client) } { (text("client.to")) } }
                        None => { a.button href={ "/routines/" (id) "/ready" } { (text("session.to_ready")) } }
                    }
                }
            }
        }
    }
}

/// Steps as the lists take them, which ask only for oil and tools.
fn plain(steps: Vec<plan::routine::Step>) -> Draft {
    let steps = steps.into_iter().map(|step| DraftStep { step, start_s: 0, end_s: 0, why: Vec::new() }).collect();
    Draft::by_hand(steps, 0, Vec::new())
}
