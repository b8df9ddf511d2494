//! The session under way: the page of the player, what it sends, and a second screen for a class.

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use cabinet::{Cabinet, ConsentKind, Error, Json, RoutineId, Session, SessionId};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::routine::Step;
use plan::session::Score;
use serde_json::{Value, json};
use vocab::Date;

use super::log::{Log, Refused};
use super::{Chosen, address, no_clock, session_of};
use crate::catalogue::{fill, text};
use crate::desk::inside::MOST_FORM_BYTES;
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{Here, full, whole};
use crate::desk::visitor::token;
use crate::desk::{Desk, visits};
use crate::play::{self, Play, View};
use crate::{drawing, own, tell};

/// The language of the desk's pages.
const LANGUAGE: &str = "en";

/// The page of the player.
pub async fn show(State(desk): State<Arc<Desk>>, Path((id, session)): Path<(i64, i64)>) -> Response {
    let (id, session) = (RoutineId::from_number(id), SessionId::from_number(session));
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| shown(desk, cabinet, id, session, today)).await
}

fn shown(desk: &Desk, cabinet: &Cabinet, id: RoutineId, session: SessionId, today: Date) -> Result<Response, Error> {
    let atlas = desk.atlas();
    let (kept, chosen) = cabinet.read(|r| {
        let (kept, version) = session_of(r, id, session)?;
        let chosen = Chosen::read(r, &atlas, id, Some(version.number), kept.client, today)?;
        Ok((kept, chosen))
    })?;
    let at = address(id, session);
    let Some(log) = Log::read(&kept.log) else { return keep::lost() };
    if log.ended().is_some() {
        return Ok(to(&format!("{at}/after")));
    }
    // Screened again: what was cleared when it began may not be any more.
    let talk = log.score().talk;
    let made = match (&chosen.file, &chosen.made) {
        (Some(file), Some(Ok(made))) => Some((made, Score::new(&atlas, made.steps(), file.minutes, talk))),
        _ => None,
    };
    let Some((made, _)) = made.filter(|(_, score)| score == log.score()) else {
        return Ok(ok(whole(Here::Session, &chosen.kept.name, changed(&at, &chosen))));
    };
    let view = View::from_word(log.about("view")).unwrap_or(View::Mirror);
    let class = log.about("whom") == "class";
    let spoken: Vec<Vec<String>> = if class { spoken(&atlas, &chosen, made.steps()) } else { Vec::new() };
    let score = log.score().json();
    let draft = made.timed(&atlas);
    let face = own_face(desk, cabinet, &kept)?;
    let drawing = match &face {
        Some(face) => {
            let held = face.held();
            own::draw::on_sheet(&held.seen.map, |person| drawing::stage_for(&atlas, &draft, person))
        }
        None => play::drawn(&atlas, &draft),
    };
    let ready = html! {
        h2 { (chosen.kept.name) }
        @if let Some((_, name)) = &chosen.whose.client { p { (fill("editor.ready_for", &[("name", name)])) } }
        @if face.is_some() { p.hint { (text("session.own_face")) } }
        @if class {
            p { a.button #second-screen target="_blank" rel="opener"
                href={ "/routines/" (id) "/session/screen?version=" (chosen.version.as_ref().map_or(0, |v| v.number)) "&of=" (session) } {
                (text("session.second_screen"))
            } }
            p.hint { (text("session.second_hint")) }
        }
    };
    let after = html! { p { a.button.go href={ (at) "/after" } { (text("session.to_after")) } } };
    let play = Play {
        atlas: &atlas,
        steps: made.steps(),
        score: &score,
        spoken: &spoken,
        drawing,
        view,
        language: LANGUAGE,
        ready,
        after,
    };
    let main = html! {
        h1.unseen { (chosen.kept.name) }
        div #session data-at=(at) data-session=(session) data-restore=(log.restore())
            data-unsent=(text("session.unsent")) data-refused=(text("session.refused_part")) data-locked=(text("session.locked")) {
            (play::stage(&play))
            (live())
            p.session-told data-session-told hidden role="status" {}
            (locked())
        }
        noscript { div.short { p.gently { (text("session.needs_script")) } p { a href={ "/routines/" (id) "/ready" } { (text("session.to_ready")) } } } }
    };
    Ok(ok(full(&chosen.kept.name, &["engine.js", "player.js", "live.js", "session.js"], main)))
}

/// The camera's picture in place of the drawing, where there is a camera; its script puts it there (`Live`). Nothing of it is kept.
fn live() -> Markup {
    html! {
        template data-session-live data-frame="/live/frame" data-end="/live/end" data-on=(text("session.live_on"))
            data-off=(text("session.live_off")) data-wait=(text("live.wait")) data-denied=(text("live.denied"))
            data-none=(text("live.none")) data-gone=(text("live.gone")) data-left=(text("live.left")) {
            div.play-live {
                video autoplay muted playsinline {}
                svg focusable="false" {}
                p.play-live-says {}
            }
        }
    }
}

/// Lies over everything once the practice is locked: nothing of a client is to be seen then, and nothing is lost.
fn locked() -> Markup {
    html! {
        div.session-locked data-session-locked hidden role="alertdialog" aria-labelledby="session-locked-title" {
            h2 #session-locked-title { (text("session.locked_title")) }
            p { (text("session.locked")) }
            p { a.button.go href="/unlock?to=/unlocked" target="_blank" { (text("keep.unlock")) } }
            p { button.quiet type="button" data-session-retry { (text("session.retry")) } }
        }
    }
}

/// What was screened has changed since it began: it can't be gone on with, and is not lost.
fn changed(at: &str, chosen: &Chosen) -> Markup {
    html! {
        div.short {
            h1 { (chosen.kept.name) }
            div.missing role="alert" { p { (text("session.changed")) } }
            form method="post" action={ (at) "/close" } { (token()) div.act {
                button.go type="submit" { (text("session.close")) }
                a.button href={ "/routines/" (chosen.kept.id) "/ready" } { (text("session.to_ready")) }
            } }
        }
    }
}

fn spoken(atlas: &Atlas, chosen: &Chosen, steps: &[Step]) -> Vec<Vec<String>> {
    steps.iter().map(|step| tell::spoken(atlas, &chosen.whose.clearance, step)).collect()
}

/// The face of the session's client, where there is a kept photograph and its consent holds.
fn own_face(desk: &Desk, cabinet: &Cabinet, kept: &Session) -> Result<Option<Arc<crate::desk::album::Face>>, Error> {
    let Some(client) = kept.client else { return Ok(None) };
    if !cabinet.read(|r| r.consents_to(client, ConsentKind::Photographs))? {
        return Ok(None);
    }
    visits::latest_face(desk, cabinet, client)
}

fn said(status: StatusCode, body: &Value) -> Response {
    let mut response = Response::new(Body::from(body.to_string()));
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    response
}

/// What the page sends, event by event and every few seconds. It counts as somebody at work, so the practice does not lock meanwhile.
pub async fn events(
    State(desk): State<Arc<Desk>>,
    Path((id, session)): Path<(i64, i64)>,
    request: Request,
) -> Response {
    let (id, session) = (RoutineId::from_number(id), SessionId::from_number(session));
    let Ok(body) = to_bytes(request.into_body(), MOST_FORM_BYTES).await else {
        return said(StatusCode::PAYLOAD_TOO_LARGE, &json!({ "error": text("session.too_long") }));
    };
    answer(desk, move |desk, cabinet| {
        let Ok(sent) = serde_json::from_slice::<Value>(&body) else {
            let error = fill("session.impossible", &[("what", &text("session.no_events"))]);
            return Ok(said(StatusCode::UNPROCESSABLE_ENTITY, &json!({ "error": error })));
        };
        let now = keep::now(desk);
        let taken = cabinet.write(now, |w| {
            let (kept, _) = session_of(w, id, session)?;
            let Some(mut log) = Log::read(&kept.log) else {
                return Ok(Err(Refused::Elsewhere(text("session.is_closed").to_owned())));
            };
            // A day fixed for tests may turn back at midnight: then nothing is known of how long it has been.
            let passed = now.unix() - kept.at.unix();
            let passed = u64::try_from(passed).map_or(u64::MAX, |s| s * 1000);
            if let Err(why) = log.take(&sent, passed) {
                return Ok(Err(why));
            }
            let mut felt: Value = serde_json::from_str(kept.felt.as_str()).unwrap_or_else(|_| json!({}));
            felt["places"] = json!(log.places());
            w.update_session(session, &log.json()?, &Json::new(felt.to_string())?)?;
            Ok(Ok(json!({ "seen": log.seen(), "ended": log.ended() })))
        })?;
        Ok(match taken {
            Ok(body) => said(StatusCode::OK, &body),
            Err(Refused::Elsewhere(why)) => said(StatusCode::CONFLICT, &json!({ "error": why })),
            Err(Refused::Impossible(why)) => said(StatusCode::UNPROCESSABLE_ENTITY, &json!({ "error": why })),
        })
    })
    .await
}

/// A second screen for a class: the steps, large, and nothing of anybody. Only for a routine that belongs to nobody.
pub async fn screen(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let number = crate::desk::clients::said(query.as_bytes(), "version").parse().ok();
        let of = crate::desk::clients::said(query.as_bytes(), "of").parse::<i64>().unwrap_or(0);
        let chosen = cabinet.read(|r| {
            // A client's routine, and its name with it, is for nobody else's eyes.
            if r.routine(id)?.client.is_some() {
                return Err(cabinet::ErrorKind::NotTheirs.into());
            }
            Chosen::read(r, &atlas, id, number, None, today)
        })?;
        let (Some(file), Some(Ok(made))) = (&chosen.file, &chosen.made) else { return keep::lost() };
        let score = Score::new(&atlas, made.steps(), file.minutes, 0).json();
        let spoken = spoken(&atlas, &chosen, made.steps());
        let play = Play {
            atlas: &atlas,
            steps: made.steps(),
            score: &score,
            spoken: &spoken,
            drawing: play::drawn(&atlas, &made.timed(&atlas)),
            view: View::Mirror,
            language: LANGUAGE,
            ready: html! {},
            after: html! {},
        };
        let main = html! {
            h1.unseen { (chosen.kept.name) }
            div #screen data-of=(of) { (play::screen(&play)) p.screen-wait data-screen-wait { (text("session.screen_wait")) } }
        };
        Ok(ok(full(&chosen.kept.name, &["engine.js", "player.js", "session.js"], main)))
    })
    .await
}
