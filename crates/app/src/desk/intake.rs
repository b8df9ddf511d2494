//! The intake: the safety questions of one client, all of them, with where and since when.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::get;
use cabinet::{ClientId, ConsentKind, Document, Error, Reader, Toml};
use maud::{Markup, html};
use plan::atlas::{Atlas, ConditionIx, GroupIx};
use plan::screening::Answers;
use vocab::Date;

use super::clients::form;
use super::form::{Ask, OwnAsk, SignAsk};
use super::keep::{self, answer};
use super::map_routes::{ok, to};
use super::page::{self, Here};
use super::person::Person;
use super::reply::html as answer_html;
use super::visitor::token;
use super::{Desk, questions};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/clients/{id}/intake", get(show).post(keep_answers))
}

async fn show(State(desk): Shared, Path(id): Path<i64>) -> Response {
    let id = ClientId::from_number(id);
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let person = cabinet.read(|r| Person::to_work_with(r, &atlas, id, today))?;
        let ask = asked(&atlas, &person.answers);
        Ok(ok(intake_page(&atlas, &person.client.details.name, id, &ask, false)))
    })
    .await
}

fn intake_page(atlas: &Atlas, name: &str, id: ClientId, ask: &Ask, again: bool) -> Markup {
    let open = (ask.open_groups().len(), ask.open_conditions(atlas).len());
    let title = fill("intake.title", &[("name", &name)]);
    let main = html! {
        div.narrow.intake {
            h1 { (title) }
            p.lead { (text("intake.lead")) }
            @if again && (open.0 > 0 || open.1 > 0) {
                div.missing role="alert" {
                    p { (text("intake.missing")) }
                    ul {
                        @for g in ask.open_groups() { li { a href={ "#group-" (atlas.groups[g.0].id) } { (atlas.groups[g.0].question) } } }
                        @for c in ask.open_conditions(atlas) { li { a href={ "#own-" (atlas.conditions[c.0].id) } { (atlas.conditions[c.0].question) } } }
                    }
                }
            }
            form #intake method="post" action={ "/clients/" (id) "/intake" } {
                (token())
                (questions::all(atlas, ask, again))
                div.act {
                    button.go type="submit" { (text("intake.keep")) }
                    @if again { button.quiet type="submit" name="open" value="yes" { (text("intake.keep_open")) } }
                }
            }
        }
    };
    page::whole(Here::Clients, &title, main)
}

/// The form as the answers on record fill it. Signs of a day gone by are asked again.
fn asked(atlas: &Atlas, answers: &Answers) -> Ask {
    let mut ask = Ask::empty(atlas);
    for g in 0..atlas.groups.len() {
        ask.groups[g] = answers.group(GroupIx(g));
    }
    let each = |c: usize| answers.own(ConditionIx(c));
    ask.full = (0..atlas.conditions.len()).all(|c| each(c).is_some());
    for c in 0..atlas.conditions.len() {
        if let Some(own) = each(c) {
            ask.own[c] =
                OwnAsk { answer: Some(own.answer), places: own.places.clone(), side: own.side, since: own.since };
        }
    }
    ask.signs = vec![SignAsk::default(); atlas.warning_signs.len()];
    ask
}

async fn keep_answers(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let id = ClientId::from_number(id);
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let ask = Ask::read(&atlas, &form);
        let kept_open = super::clients::said(&form, "open") == "yes";
        let whole = ask.open_groups().is_empty() && ask.open_conditions(&atlas).is_empty();
        if !whole && !kept_open {
            let name = cabinet.read(|r| Ok(r.client(id)?.details.name))?;
            return Ok(keep::again(intake_page(&atlas, &name, id, &ask, true)));
        }
        let answers = ask.answers(&atlas, today);
        cabinet.write(keep::now(desk), |w| keep_intake(w, &atlas, id, &answers))?;
        Ok(to(&format!("/clients/{id}?done=saved#screening")))
    })
    .await
}

/// Keeps answers as a client's intake, with the day on which they have to be asked again.
///
/// # Errors
/// There is no such client, or no consent to care.
pub fn keep_intake(w: &cabinet::Writer<'_>, atlas: &Atlas, id: ClientId, answers: &Answers) -> Result<(), Error> {
    let r: &Reader<'_> = w;
    r.require(id, ConsentKind::Care)?;
    let until: Option<Date> = answers.ask_again(atlas);
    w.add_intake(id, &Document::Toml(Toml::new(answers.to_toml(atlas))?), until)?;
    Ok(())
}
