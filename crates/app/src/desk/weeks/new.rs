//! A plan of weeks set up, or changed while it may be; with the planning aid beside it.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, Error, ErrorKind, Json, Reader, Weeks, WeeksId};
use follow::{VALUES, Value};
use maud::{Markup, html};
use vocab::Date;

use super::aid::Aid;
use super::ask::{self, Ask, Routines, Wrong};
use super::stand::{self, weeks_of};
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::clients::{form, said};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::desk::visitor::token;
use crate::following::body::Body;
use crate::following::many::practice_prior;

type Shared = State<Arc<Desk>>;

/// Everything that the page shows.
struct Shown {
    client: ClientId,
    name: String,
    /// The plan that is changed; none: a new one.
    weeks: Option<WeeksId>,
    ask: Ask,
    wrong: Vec<Wrong>,
    routines: Routines,
    aid: Option<Aid>,
    /// Another plan runs over the same days.
    other: bool,
}

impl Shown {
    fn read(
        r: &Reader<'_>,
        client: ClientId,
        weeks: Option<WeeksId>,
        ask: Ask,
        today: Date,
    ) -> Result<(Shown, Option<Body>), Error> {
        let name = r.client(client)?.details.name;
        r.require(client, ConsentKind::Care)?;
        let routines = ask::routines(r, client)?;
        let (body, wrong) = match ask.body(today) {
            Ok(body) => (Some(body), Vec::new()),
            Err(wrong) => (None, wrong),
        };
        let aid = match &body {
            Some(body) => Aid::of(r, client, body, today)?,
            None => None,
        };
        let other = match &body {
            Some(body) => r.weeks(client)?.iter().any(|w| Some(w.id) != weeks && overlaps(w, body)),
            None => false,
        };
        Ok((Shown { client, name, weeks, ask, wrong, routines, aid, other }, body))
    }

    fn page(&self) -> Markup {
        let (at, title) = match self.weeks {
            None => (format!("/clients/{}/weeks/new", self.client), fill("weeks.new_title", &[("name", &self.name)])),
            Some(id) => (
                format!("/clients/{}/weeks/{id}/change", self.client),
                fill("weeks.change_title", &[("name", &self.name)]),
            ),
        };
        let main = html! {
            h1 { (title) }
            p.lead { (text("weeks.new_lead")) }
            (ask::all_wrong(&self.wrong))
            @if self.other { p.gently { (text("weeks.other")) } }
            div.plan-and-aid {
                form.plan method="post" action=(at) {
                    (token())
                    (self.ask.fields(&self.wrong, &self.routines))
                    div.act {
                        button.go type="submit" name="do" value="keep" { (text("weeks.keep")) }
                        button type="submit" name="do" value="look" formaction={ (at) "#aid-title" } { (text("weeks.look")) }
                    }
                    p.hint { (text("weeks.fixed_hint")) }
                }
                @match &self.aid {
                    Some(aid) => (aid.show()),
                    None => section.aid { p.hint { (text("aid.after")) } },
                }
            }
            p { a href={ "/clients/" (self.client) "#weeks" } { (text("client.to")) } }
        };
        page::whole(Here::Weeks, &title, main)
    }
}

/// Whether weeks that are kept run over days of a plan.
fn overlaps(weeks: &Weeks, body: &Body) -> bool {
    let last = weeks.ended.as_ref().map_or_else(|| Body::read(weeks).date(i32::from(weeks.days)), |e| e.day);
    weeks.first <= body.date(body.end()) && last >= body.first
}

pub async fn show(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let client = ClientId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |_, cabinet| {
        let ask =
            if said(query.as_bytes(), "first").is_empty() { Ask::first(today) } else { Ask::read(query.as_bytes()) };
        let (shown, _) = cabinet.read(|r| Shown::read(r, client, None, ask, today))?;
        Ok(ok(shown.page()))
    })
    .await
}

pub async fn change(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |_, cabinet| {
        let (shown, _) = cabinet.read(|r| {
            let row = weeks_of(r, client, weeks)?;
            must_be_open(r, client, &row, today)?;
            Shown::read(r, client, Some(weeks), Ask::of(&Body::read(&row), row.version), today)
        })?;
        Ok(ok(shown.page()))
    })
    .await
}

/// Only a plan that has not begun may be another.
fn must_be_open(r: &Reader<'_>, client: ClientId, row: &Weeks, today: Date) -> Result<(), Error> {
    if stand::is_open(r, client, row, today)? { Ok(()) } else { Err(ErrorKind::Unchangeable("plan of weeks").into()) }
}

pub async fn keep_or_look(desk: Shared, Path(id): Path<i64>, request: Request) -> Response {
    kept(desk, ClientId::from_number(id), None, request).await
}

pub async fn keep_change(desk: Shared, Path((id, weeks)): Path<(i64, i64)>, request: Request) -> Response {
    kept(desk, ClientId::from_number(id), Some(WeeksId::from_number(weeks)), request).await
}

/// Looks what the plan would find, or keeps it.
async fn kept(State(desk): Shared, client: ClientId, weeks: Option<WeeksId>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let ask = Ask::read(&form);
        let (shown, body) = cabinet.read(|r| Shown::read(r, client, weeks, ask, today))?;
        let Some(mut body) = body else { return Ok(keep::again(shown.page())) };
        if said(&form, "do") != "keep" {
            return Ok(ok(shown.page()));
        }
        cabinet.read(|r| note_noise(r, &mut body))?;
        let json = Json::new(body.json())?;
        let version = shown.ask.version(&shown.routines);
        let id = cabinet.write(keep::now(desk), |w| {
            w.require(client, ConsentKind::Care)?;
            match weeks {
                None => w.add_weeks(client, version, body.first, body.days, &json),
                Some(id) => {
                    let row = weeks_of(w, client, id)?;
                    must_be_open(w, client, &row, today)?;
                    w.change_weeks(id, body.first, body.days, &json)?;
                    Ok(id)
                }
            }
        })?;
        Ok(to(&format!("/clients/{client}/weeks/{id}?done=saved")))
    })
    .await
}

/// Notes with the plan what the practice knows of the noise today: it is fixed with it.
fn note_noise(r: &Reader<'_>, body: &mut Body) -> Result<(), Error> {
    let Some(fixed) = &mut body.fixed else { return Ok(()) };
    fixed.noise.clear();
    let looked_at = |v: &&'static Value| v.said || v.name == fixed.value.name || fixed.others.iter().any(|o| o.name == v.name);
    let values: Vec<&'static Value> = VALUES.iter().filter(looked_at).collect();
    for value in values {
        fixed.note(value, &practice_prior(r, value)?);
    }
    Ok(())
}
