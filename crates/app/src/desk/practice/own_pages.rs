//! The pages of the practice's own points, lines, techniques, tools and products.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{AtlasPart, Cabinet, Error};
use maud::{Markup, html};

use super::super::clients::{form, said};
use super::super::fields::{done, wrong};
use super::super::keep::{self, answer, day_in_words};
use super::super::map_routes::{ok, to};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::Desk;
use super::own::{self, Part, Row, Rows, Wrong};
use super::own_form::{fields, typed};
use crate::catalogue::{fill, sentence_case, text};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/own/{part}", get(list))
        .route("/practice/own/{part}/new", get(blank).post(add))
        .route("/practice/own/{part}/back", post(go_back))
        .route("/practice/own/{part}/row/{id}", get(edit).post(change))
        .route("/practice/own/{part}/row/{id}/delete", post(delete))
}

fn title(part: Part) -> &'static str {
    text(match part {
        Part::Points => "ownmap.points",
        Part::Lines => "ownmap.lines",
        Part::Techniques => "ownmap.techniques",
        Part::Tools => "ownmap.tools",
        Part::Products => "ownmap.products",
    })
}

fn new_one(part: Part) -> &'static str {
    text(match part {
        Part::Points => "ownmap.new_points",
        Part::Lines => "ownmap.new_lines",
        Part::Techniques => "ownmap.new_techniques",
        Part::Tools => "ownmap.new_tools",
        Part::Products => "ownmap.new_products",
    })
}

fn lead(part: Part) -> &'static str {
    text(match part {
        Part::Points => "ownmap.points_what",
        Part::Lines => "ownmap.lines_what",
        Part::Techniques => "ownmap.techniques_what",
        Part::Tools => "ownmap.tools_what",
        Part::Products => "ownmap.products_what",
    })
}

async fn list(State(desk): Shared, Path(part): Path<String>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |_, cabinet| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        Ok(ok(list_page(cabinet, part, &query, None)?))
    })
    .await
}

fn list_page(cabinet: &Cabinet, part: Part, query: &str, why: Option<&str>) -> Result<Markup, Error> {
    let (rows, mut history) = cabinet.read(|r| Ok((own::kept(r)?, r.atlas_history(part.word())?)))?;
    let rows = own::of(&rows, part);
    // The last one is what counts now.
    history.pop();
    history.reverse();
    let at = format!("/practice/own/{}", part.word());
    let main = html! {
        div.heading {
            div { h1 { (title(part)) } p.lead { (lead(part)) } }
            div.act { a.button.go href={ (at) "/new" } { (text("ownmap.add")) } }
        }
        (done(query))
        (wrong(why))
        @if rows.is_empty() { p { (text("ownmap.none")) } }
        ul.own-rows {
            @for row in rows {
                li {
                    h2 { a href={ (at) "/row/" (row.id) } { (sentence_case(row.one("name"))) } }
                    p.hint { (first_of(row)) }
                    div.act {
                        @if part == Part::Products {
                            form method="post" action="/product" {
                                (token())
                                input type="hidden" name="product" value=(row.one("name"));
                                input type="hidden" name="list" value=(row.one("ingredients"));
                                button type="submit" aria-label={ (text("ownmap.to_check")) ": " (row.one("name")) } { (text("ownmap.to_check")) }
                            }
                        }
                        form method="post" action={ (at) "/row/" (row.id) "/delete" } {
                            (token())
                            button.quiet type="submit" aria-label={ (text("ownmap.take_out")) ": " (row.one("name")) } { (text("ownmap.take_out")) }
                        }
                    }
                }
            }
        }
        (earlier(part, &history))
        p { a href="/practice" { (text("ownmap.to_practice")) } }
    };
    Ok(page::whole(Here::Practice, title(part), main))
}

/// A word about a row, for the list.
fn first_of(row: &Row) -> String {
    let said = ["find", "says", "care", "ingredients"]
        .iter()
        .map(|key| row.one(key))
        .find(|t| !t.is_empty())
        .unwrap_or_default();
    let short: String = said.chars().take(140).collect();
    if short.len() < said.len() { format!("{short}…") } else { short }
}

/// Earlier states, newest first.
fn earlier(part: Part, history: &[AtlasPart]) -> Markup {
    html! {
        @if !history.is_empty() {
            details.add {
                summary { (text("ownmap.earlier")) }
                p.hint { (text("ownmap.earlier_what")) }
                ul { @for state in history.iter().take(20) {
                    @let names: Vec<String> = own::read(part, state.body.as_str()).iter().map(|r| r.one("name").to_owned()).collect();
                    li {
                        (day_in_words(state.at)) ": "
                        (if names.is_empty() { text("ownmap.empty").to_owned() } else { names.join(", ") })
                        form method="post" action={ "/practice/own/" (part.word()) "/back" } {
                            (token())
                            input type="hidden" name="state" value=(state.id);
                            button.quiet type="submit" { (text("ownmap.go_back")) }
                        }
                    }
                } }
            }
        }
    }
}

async fn blank(State(desk): Shared, Path(part): Path<String>) -> Response {
    answer(desk, move |desk, _| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        let mut row = Row::default();
        row.values.insert("source", vec![text("ownmap.own").to_owned()]);
        Ok(ok(row_page(desk, part, &row, true, &[])))
    })
    .await
}

async fn edit(State(desk): Shared, Path((part, id)): Path<(String, String)>) -> Response {
    answer(desk, move |desk, cabinet| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        let rows = cabinet.read(own::kept)?;
        match own::of(&rows, part).iter().find(|row| row.id == id) {
            Some(row) => Ok(ok(row_page(desk, part, row, false, &[]))),
            None => keep::lost(),
        }
    })
    .await
}

fn row_page(desk: &Desk, part: Part, row: &Row, new: bool, mistakes: &[Wrong]) -> Markup {
    let (here, elsewhere): (Vec<&Wrong>, Vec<&Wrong>) = mistakes.iter().partition(|w| w.part == part && w.id == row.id);
    let at_fields: Vec<(&'static str, String)> = here.iter().filter_map(|w| Some((w.key?, w.said.clone()))).collect();
    let others: Vec<String> = (here.iter().filter(|w| w.key.is_none()))
        .map(|w| w.said.clone())
        .chain(
            elsewhere.iter().map(|w| fill("ownmap.at", &[("part", &w.part.word()), ("id", &w.id), ("said", &w.said)])),
        )
        .collect();
    let end = if new { "new".to_owned() } else { format!("row/{}", row.id) };
    let main = html! {
            div.narrow {
    h1 { @if new { (new_one(part)) } @else { (sentence_case(row.one("name"))) } }
                p.lead { (lead(part)) }
                @if !mistakes.is_empty() {
                    div.missing role="alert" {
                        p { (text("ownmap.mend")) }
                        @if !at_fields.is_empty() { ul { @for (key, said) in &at_fields { li { a href={ "#" (key) } { (said) } } } } }
                        @for said in &others { p { (said) } }
                    }
                }
                form.own-form method="post" action={ "/practice/own/" (part.word()) "/" (end) } {
                    (token())
                    (fields(part, row, &desk.atlas(), &desk.practice.base.atlas, &at_fields))
                    div.act { button.go type="submit" { (text("keep.save")) } }
                }
            }
        };
    page::whole(Here::Practice, title(part), main)
}

async fn add(State(desk): Shared, Path(part): Path<String>, request: Request) -> Response {
    save(desk, part, None, request).await
}

async fn change(State(desk): Shared, Path((part, id)): Path<(String, String)>, request: Request) -> Response {
    save(desk, part, Some(id), request).await
}

async fn save(desk: Arc<Desk>, part: String, id: Option<String>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        let mut rows = cabinet.read(own::kept)?;
        let rank = own::next_rank(&rows);
        let Some((_, of_part)) = rows.iter_mut().find(|(p, _)| *p == part) else { return keep::lost() };
        let place = match &id {
            Some(id) => match of_part.iter().position(|row| row.id == *id) {
                Some(place) => place,
                None => return keep::lost(),
            },
            None => of_part.len(),
        };
        let mut row = typed(part, "", &form);
        row.id = id.clone().unwrap_or_else(|| own::id_for(row.one("name"), of_part));
        let rank = of_part.get(place).map_or(rank, |before| before.one("rank").to_owned());
        row.values.insert("rank", vec![rank]);
        if place == of_part.len() {
            of_part.push(row.clone())
        } else {
            of_part[place] = row.clone()
        }
        match keep_rows(desk, cabinet, part, &rows)? {
            Ok(()) => Ok(to(&format!("/practice/own/{}?done=saved", part.word()))),
            Err(mistakes) => Ok(keep::again(row_page(desk, part, &row, id.is_none(), &mistakes))),
        }
    })
    .await
}

/// Keeps a part and puts it in use; where something is wrong nothing is kept.
fn keep_rows(desk: &Desk, cabinet: &Cabinet, part: Part, rows: &Rows) -> Result<Result<(), Vec<Wrong>>, Error> {
    let base = &desk.practice.base;
    if let Err(mistakes) = own::merged(base, rows) {
        return Ok(Err(mistakes));
    }
    let body = own::body(part, own::of(rows, part), &base.atlas)?;
    cabinet.write(keep::now(desk), |w| w.save_atlas(part.word(), &body))?;
    super::put_anew(desk);
    Ok(Ok(()))
}

async fn delete(State(desk): Shared, Path((part, id)): Path<(String, String)>) -> Response {
    answer(desk, move |desk, cabinet| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        let mut rows = cabinet.read(own::kept)?;
        for (_, rows) in rows.iter_mut().filter(|(p, _)| *p == part) {
            rows.retain(|row| row.id != id);
        }
        settled(desk, cabinet, part, &rows)
    })
    .await
}

async fn go_back(State(desk): Shared, Path(part): Path<String>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let Some(part) = Part::from_word(&part) else { return keep::lost() };
        let (mut rows, history) = cabinet.read(|r| Ok((own::kept(r)?, r.atlas_history(part.word())?)))?;
        let chosen = history.iter().find(|s| s.id.to_string() == said(&form, "state"));
        let Some(state) = chosen else { return keep::lost() };
        for (_, rows) in rows.iter_mut().filter(|(p, _)| *p == part) {
            *rows = own::read(part, state.body.as_str());
        }
        settled(desk, cabinet, part, &rows)
    })
    .await
}

/// Keeps what a button of the list asked for, or says on the list why it can't be.
fn settled(desk: &Desk, cabinet: &Cabinet, part: Part, rows: &Rows) -> Result<Response, Error> {
    match keep_rows(desk, cabinet, part, rows)? {
        Ok(()) => Ok(to(&format!("/practice/own/{}?done=saved", part.word()))),
        Err(mistakes) => {
            let said: Vec<String> = mistakes
                .iter()
                .map(|w| fill("ownmap.at", &[("part", &w.part.word()), ("id", &w.id), ("said", &w.said)]))
                .collect();
            let why = format!("{} {}", text("ownmap.still_used"), said.join(" "));
            Ok(keep::again(list_page(cabinet, part, "", Some(&why))?))
        }
    }
}
