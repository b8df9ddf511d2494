//! The product check: an ingredient list, read against the table and against what a client answered. Nothing of it is kept.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::get;
use cabinet::{Cabinet, ClientId, Error};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::product::{Judged, MOST_CHARS, Product, Reason, Row};
use vocab::{Class, Date};

use super::Desk;
use super::clients::{form, said};
use super::fields::{Field, lines, wrong};
use super::keep::{self, answer};
use super::map_routes::ok;
use super::page::{self, Here};
use super::person::Person;
use super::reply::html as answer_html;
use super::visitor::token;
use crate::catalogue::{fill, text};
use crate::tell::product as tell;

/// The longest name of a product, in letters.
const LONGEST_NAME: usize = 120;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/product", get(blank).post(check))
}

/// What was typed.
#[derive(Default)]
struct Typed {
    name: String,
    list: String,
}

async fn blank(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let Some(person) = person(desk, cabinet, query.as_bytes(), today)? else { return keep::lost() };
        Ok(ok(product_page(person.as_ref(), &Typed::default(), None, html! {})))
    })
    .await
}

/// The client of an address or a form; `Some(None)`: nobody is named; `None`: no number.
fn person(desk: &Desk, cabinet: &Cabinet, form: &[u8], today: Date) -> Result<Option<Option<Person>>, Error> {
    let named = said(form, "client");
    if named.is_empty() {
        return Ok(Some(None));
    }
    let Ok(id) = named.parse() else { return Ok(None) };
    let read = cabinet.read(|r| Person::to_work_with(r, &desk.atlas(), ClientId::from_number(id), today))?;
    Ok(Some(Some(read)))
}

async fn check(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let Some(person) = person(desk, cabinet, &form, today)? else { return keep::lost() };
        let typed = Typed { name: said(&form, "product"), list: said(&form, "list") };
        let again = |why: String| Ok(keep::again(product_page(person.as_ref(), &typed, Some(&why), html! {})));
        let (letters, chars) = (typed.name.chars().count(), typed.list.chars().count());
        if letters > LONGEST_NAME {
            return again(fill("product.name_too_long", &[("n", &letters), ("most", &LONGEST_NAME)]));
        }
        if chars > MOST_CHARS {
            return again(fill("product.too_long", &[("n", &chars), ("most", &MOST_CHARS)]));
        }
        let atlas = desk.atlas();
        let product = Product::read(&atlas, &typed.list);
        if product.names == 0 {
            return again(text("product.empty").to_owned());
        }
        let judged = Judged::new(&atlas, &product, person.as_ref().map(|p| (&p.answers, today)));
        let result = result(&atlas, person.as_ref(), &typed.name, &product, &judged);
        Ok(ok(product_page(person.as_ref(), &typed, None, result)))
    })
    .await
}

fn product_page(person: Option<&Person>, typed: &Typed, why: Option<&str>, result: Markup) -> Markup {
    let name = person.map(|p| p.client.details.name.as_str());
    let title = name.map_or_else(|| text("product.title").to_owned(), |n| fill("product.title_for", &[("name", &n)]));
    let main = html! {
        div.narrow.product {
            h1 { (title) }
            p.lead { (text("product.lead")) @if let Some(n) = name { " " (fill("product.lead_for", &[("name", &n)])) } }
            @if let Some(p) = person {
                p { a href={ "/clients/" (p.client.id) "#screening" } { (fill("product.client", &[("name", &p.client.details.name)])) } }
            } @else { p.hint { (text("product.nobody")) } }
            (wrong(why))
            (result)
            form method="post" action="/product" {
                (token())
                @if let Some(p) = person { input type="hidden" name="client" value=(p.client.id); }
                (lines("list", text("product.list"), &typed.list, 10, Some(&fill("product.list_hint", &[("most", &MOST_CHARS)]))))
                (Field::text("product", text("product.name"), &typed.name).show())
                div.act { button.go type="submit" { (text("product.check")) } }
            }
        }
    };
    page::whole(Here::Product, &title, main)
}

/// What came out: in words first, then what leads to it, grouped by what to do, then what was not judged.
fn result(atlas: &Atlas, person: Option<&Person>, name: &str, product: &Product, judged: &Judged) -> Markup {
    let reasons = judged.reasons();
    let title = if name.is_empty() {
        text("product.result").to_owned()
    } else {
        fill("product.result_of", &[("product", &name)])
    };
    html! {
        section.result aria-labelledby="result" {
            h2 #result { (title) }
            p.verdict class=(pattern(judged.class)) role="status" { (tell::verdict(judged.class)) }
            p { (tell::counted(product)) " " (text("product.limits")) }
            @if let Some(p) = person { @if p.asked.is_none() { p { (fill("product.never_asked", &[("name", &p.client.details.name)])) } } }
            @for class in [Class::LeaveOut, Class::AskFirst, Class::Gently] { (group(atlas, product, judged, &reasons, class)) }
            @if !product.unknown.is_empty() {
                h3 { (text("product.unknown_title")) }
                p.hint { (text("product.unknown")) }
                ul.unknown { @for name in &product.unknown { li { (name) } } }
            }
            @if !product.remarks.is_empty() {
                h3 { (text("product.remarks")) }
                ul.unknown { @for words in &product.remarks { li { (words) } } }
            }
        }
    }
}

fn group(atlas: &Atlas, product: &Product, judged: &Judged, reasons: &[Reason], class: Class) -> Markup {
    let because: Vec<&Reason> = reasons.iter().filter(|r| r.class == class).collect();
    let rows: Vec<&Row> = judged.rows.iter().filter(|r| r.class == class).collect();
    html! {
        @if !because.is_empty() || !rows.is_empty() {
            h3 { (tell::heading(class)) }
            @if !because.is_empty() {
                ul.because {
                    @for reason in because { li { p { (tell::reason(atlas, reason)) } p.hint { (tell::names(product, reason)) } } }
                }
            }
            @if !rows.is_empty() {
                dl.answered {
                    @for row in rows {
                        @let found = &product.found[row.found];
                        @let ingredient = &atlas.ingredients[found.ingredient];
                        div class=(pattern(class)) {
                            dt { (ingredient.name) }
                            dd {
                                p { (tell::about(atlas, found, row)) }
                                p.hint { (tell::place(atlas, found)) ". " (fill("product.source", &[("source", &ingredient.source)])) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn pattern(class: Class) -> &'static str {
    match class {
        Class::Stop | Class::LeaveOut => "struck",
        Class::AskFirst => "dashed",
        Class::Gently => "dotted",
        Class::Go => "clear",
    }
}
