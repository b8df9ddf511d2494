//! Routines: written by hand with the checker looking on, drafted by the planner, kept in versions, looked at and run.

mod hand;
pub mod page;
pub mod ready;
pub mod remembered;
pub mod runnable;
mod versions;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{Cabinet, ClientId, Error, ErrorKind, Reader, RoutineId, Toml, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::screening::Clearance;
use vocab::{Date, Movement};

use self::hand::Hand;
use self::page::{View, Whose};
use self::runnable::Runnable;
use super::clients::{form, said};
use super::form::Ask;
use super::keep::{self, answer, day_in_words};
use super::map_routes::{ok, to, value};
use super::page::Here;
use super::person::Person;
use super::reply::html as answer_html;
use super::{Desk, page as frame, routine};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/routines", get(list))
        .route("/routines/new", get(new))
        .route("/routines/edit", post(edit).get(list))
        .route("/routines/keep", post(take_up).get(list))
        .route("/routines/{id}", get(open))
        .route("/routines/{id}/ready", get(ready::show))
        .route("/routines/{id}/print", get(ready::show))
        .route("/routines/{id}/versions", get(versions::show))
}

/// For whom a routine is: its client with today's clearance, or whoever listens.
///
/// # Errors
/// There is no such client, or no consent to care.
pub fn whose(
    r: &Reader<'_>,
    atlas: &Atlas,
    client: Option<ClientId>,
    today: Date,
) -> Result<(Whose, Option<Person>), Error> {
    let Some(id) = client else {
        let nobody = Whose {
            client: None,
            clearance: Clearance::audience(atlas),
            one_hand: None,
            felt: plan::session::Memory::default(),
        };
        return Ok((nobody, None));
    };
    let person = Person::to_work_with(r, atlas, id, today)?;
    let one_hand = match person.client.details.hands {
        cabinet::Hands::Both => None,
        cabinet::Hands::Left => Some(text("editor.left_hand")),
        cabinet::Hands::Right => Some(text("editor.right_hand")),
    };
    let name = person.client.details.name.clone();
    let felt = remembered::of(r, atlas, id)?;
    Ok((Whose { client: Some((id, name)), clearance: person.clearance.clone(), one_hand, felt }, Some(person)))
}

/// A version's routine; none where the atlas there is no longer knows what it names.
pub fn read(atlas: &Atlas, version: &Version) -> Option<RoutineFile> {
    RoutineFile::parse("routine", version.body.as_str(), atlas).ok()
}

/// The routines of a client, on the client's page.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, atlas: &Atlas, person: &Person) -> Result<Markup, Error> {
    let id = person.client.id;
    let routines = r.routines(Some(id))?;
    let mut rows = Vec::new();
    for routine in &routines {
        let last = chosen(r, routine.id, None)?;
        let ready = last.as_ref().is_some_and(|v| Runnable::for_client(atlas, person, routine, v).is_ok());
        rows.push((routine, last.map(|v| v.at), ready));
    }
    Ok(html! {
        section.part #routines aria-labelledby="routines-title" {
            h2 #routines-title { (text("client.routines")) }
            @if rows.is_empty() { p { (text("editor.none")) } }
            (names(&rows, true))
            div.act { a.button href={ "/routines/new?client=" (id) } { (text("editor.new")) } }
        }
    })
}

/// Routines by name; what can't be run today says so.
fn names(rows: &[(&cabinet::Routine, Option<cabinet::Time>, bool)], guided: bool) -> Markup {
    html! {
        @if !rows.is_empty() {
            ul.names.guided[guided] {
                @for (routine, at, ready) in rows {
                    li { a.row href={ "/routines/" (routine.id) } {
                        span.who { (routine.name) }
                        span.hint { (fill("editor.version", &[("n", &routine.versions)])) }
                        @if !ready { span.hint.ed-not { (text("editor.not_yet")) } }
                        span.hint.when { @if let Some(at) = at { (day_in_words(*at)) } }
                    }
                    @if guided && *ready {
                        a.button href={ "/routines/" (routine.id) "/session" } { (text("session.to")) span.unseen { ": " (routine.name) } }
                    } }
                }
            }
        }
    }
}

async fn list(State(desk): Shared) -> Response {
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let routines = cabinet.read(|r| {
            let mut rows = Vec::new();
            for routine in r.routines(None)? {
                let last = chosen(r, routine.id, None)?;
                let ready = last.as_ref().is_some_and(|v| Runnable::for_audience(&atlas, &routine, v).is_ok());
                rows.push((routine, last.map(|v| v.at), ready));
            }
            Ok(rows)
        })?;
        let rows: Vec<_> = routines.iter().map(|(routine, at, ready)| (routine, *at, *ready)).collect();
        let main = html! {
            div.heading {
                div { h1 { (text("editor.title")) } p.lead { (text("editor.lead")) } }
                div.act { a.button.go href="/routines/new" { (text("editor.new")) } }
            }
            @if rows.is_empty() { p { (text("editor.none_for_all")) } }
            (names(&rows, false))
        };
        Ok(ok(frame::whole(Here::Routines, text("editor.title"), main)))
    })
    .await
}

pub fn no_clock() -> Response {
    answer_html(StatusCode::SERVICE_UNAVAILABLE, frame::no_clock())
}

async fn new(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let client = said(query.as_bytes(), "client").parse().ok().map(ClientId::from_number);
        let (whose, _) = cabinet.read(|r| whose(r, &atlas, client, today))?;
        let hand = Hand::empty(&atlas);
        let view =
            View { atlas: &atlas, whose: &whose, routine: None, older: None, hand: &hand, drafted: None, query: "" };
        Ok(ok(page::whole(&view)))
    })
    .await
}

/// A kept routine to go on with, its latest version or an earlier one.
async fn open(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let number: Option<u32> = said(query.as_bytes(), "version").parse().ok();
        let (routine, version, whose) = cabinet.read(|r| {
            let routine = r.routine(id)?;
            let version = chosen(r, id, number)?;
            let (whose, _) = whose(r, &atlas, routine.client, today)?;
            Ok((routine, version, whose))
        })?;
        let mut hand = Hand::empty(&atlas);
        if let Some(version) = &version {
            match read(&atlas, version) {
                Some(file) => hand = Hand::of(&routine.name, file),
                None => hand.wrong = Some(text("editor.unreadable").to_owned()),
            }
        }
        hand.name = routine.name.clone();
        let older = version.map(|v| v.number).filter(|n| *n < routine.versions);
        let kept = Some((id, routine.versions));
        let view =
            View { atlas: &atlas, whose: &whose, routine: kept, older, hand: &hand, drafted: None, query: &query };
        Ok(ok(page::whole(&view)))
    })
    .await
}

/// The version of this number, or the latest.
pub fn chosen(r: &Reader<'_>, id: RoutineId, number: Option<u32>) -> Result<Option<Version>, Error> {
    let mut all = r.versions(id)?;
    match number {
        None => Ok(all.pop()),
        Some(n) => match all.into_iter().find(|v| v.number == n) {
            Some(found) => Ok(Some(found)),
            None => Err(ErrorKind::NoSuch(cabinet::VersionId::WORD, i64::from(n)).into()),
        },
    }
}

/// A routine of the first minute, to be gone on with and kept. The answers it was made from are not kept: it is for whoever listens,
/// and what goes beyond that stands there to be mended.
async fn take_up(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let ask = Ask::read(&atlas, &form);
        let Some((title, draft)) = routine::drafted_for(&atlas, &ask, today) else {
            return Ok(ok(routine::answer(&atlas, &ask, today, false)));
        };
        let (whose, _) = cabinet.read(|r| whose(r, &atlas, None, today))?;
        let mut hand = Hand::empty(&atlas);
        hand.name = title;
        hand.minutes = ask.minutes_or_usual();
        hand.both = ask.both;
        hand.concerns.clone_from(&ask.concerns);
        hand.tools.extend(ask.tools.iter().filter(|t| !hand.tools.contains(t)).copied().collect::<Vec<_>>());
        hand.tools.sort_unstable();
        hand.steps = draft.steps.into_iter().map(|s| s.step).collect();
        let view =
            View { atlas: &atlas, whose: &whose, routine: None, older: None, hand: &hand, drafted: None, query: "" };
        Ok(ok(page::whole(&view)))
    })
    .await
}

/// Steps from elsewhere, to be gone on with and kept: for whoever listens. The form is that of the editor.
///
/// # Errors
/// Of the store.
pub fn go_on(desk: &Desk, cabinet: &Cabinet, form: &[u8], today: Date) -> Result<Response, Error> {
    let atlas = desk.atlas();
    let (whose, _) = cabinet.read(|r| whose(r, &atlas, None, today))?;
    let hand = Hand::read(&atlas, form);
    let view = View { atlas: &atlas, whose: &whose, routine: None, older: None, hand: &hand, drafted: None, query: "" };
    Ok(ok(page::whole(&view)))
}

/// What the form asks for: nothing but a look, a change, a draft, or to be kept.
async fn edit(State(desk): Shared, request: Request) -> Response {
    let part = request.headers().contains_key("x-part");
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| edited(desk, cabinet, &form, today, part)).await
}

fn edited(desk: &Desk, cabinet: &Cabinet, form: &[u8], today: Date, part: bool) -> Result<Response, Error> {
    let atlas = desk.atlas();
    let number = |name: &str| said(form, name).parse::<i64>().ok();
    let client = number("client").map(ClientId::from_number);
    let routine = number("routine").map(RoutineId::from_number);
    let (whose, kept) = cabinet.read(|r| {
        let kept = routine.map(|id| r.routine(id)).transpose()?;
        // A routine belongs to whom it was begun for, whatever a form says.
        if kept.as_ref().is_some_and(|k| k.client != client) {
            return Err(ErrorKind::NotTheirs.into());
        }
        Ok((self::whose(r, &atlas, client, today)?.0, kept))
    })?;
    let mut hand = Hand::read(&atlas, form);
    hand.both &= whose.one_hand.is_none();
    let action = value(form, "do").unwrap_or_default();
    let mut drafted = None;
    match action.as_str() {
        "save" => match save(desk, cabinet, &hand, client, routine)? {
            Ok(id) => return Ok(to(&format!("/routines/{id}?done=saved"))),
            Err(why) => hand.wrong = Some(why),
        },
        "draft" | "take" => {
            if hand.concerns.is_empty() {
                hand.wrong = Some(text("editor.choose_concern").to_owned());
            } else if let Some(mut request) = hand.request(&atlas, whose.audience()) {
                (request.tender, request.softer) = (whose.felt.tender.clone(), whose.felt.softer.clone());
                let outcome = plan::solve::draft(&atlas, &request, &whose.clearance);
                match outcome {
                    plan::solve::Outcome::Draft(draft) if action == "take" => {
                        hand.steps = draft.steps.into_iter().map(|s| s.step).collect();
                    }
                    outcome => drafted = Some(outcome),
                }
            }
        }
        action => {
            let place = value(form, "place").unwrap_or_default();
            hand.act(&atlas, &whose.clearance, whose.audience(), action, &place);
        }
    }
    let routine = kept.map(|k| (k.id, k.versions));
    let view = View { atlas: &atlas, whose: &whose, routine, older: None, hand: &hand, drafted, query: "" };
    let status = if hand.wrong.is_some() && !part { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    Ok(answer_html(status, if part { page::part(&view) } else { page::whole(&view) }))
}

/// Keeps the routine as its next version; in words why not, where something is missing.
fn save(
    desk: &Desk,
    cabinet: &Cabinet,
    hand: &Hand,
    client: Option<ClientId>,
    routine: Option<RoutineId>,
) -> Result<Result<RoutineId, String>, Error> {
    if hand.name.is_empty() {
        return Ok(Err(text("editor.name_first").to_owned()));
    }
    if hand.steps.is_empty() {
        return Ok(Err(text("editor.steps_first").to_owned()));
    }
    let body = Toml::new(hand.file(client.is_none()).to_toml(&desk.atlas()))?;
    let kept = cabinet.write(keep::now(desk), |w| {
        let id = match routine {
            Some(id) => {
                if w.routine(id)?.name != hand.name {
                    w.rename_routine(id, &hand.name)?;
                }
                id
            }
            None => w.add_routine(client, &hand.name)?,
        };
        w.add_version(id, &body)?;
        Ok(id)
    })?;
    Ok(Ok(kept))
}

/// How many steps each movement has, in words: for lists of versions.
pub fn summed(file: &RoutineFile) -> String {
    let work = file.steps.iter().filter(|s| s.movement == Movement::Work).count();
    fill("editor.summed", &[("n", &file.steps.len()), ("work", &work), ("minutes", &file.minutes)])
}
