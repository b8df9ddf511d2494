//! A practice's own countries and words: kept as the TOML that the check reads, written by a form or brought as a file.

mod form;
mod own;

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{Cabinet, Error, OwnRules, OwnRulesId, Toml};
use maud::{Markup, html};
use publish::timed::{MOST_BYTES, decode};

use self::own::Own;
use super::found;
use super::standing::Standing;
use super::texts::{Sent, said};
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::clients;
use crate::desk::fields::{done, lines};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{PATIENCE, ok, to, value};
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/publish/countries", get(list))
        .route("/publish/countries/new", get(blank).post(send_new))
        .route("/publish/countries/bring", post(bring).get(list))
        .layer(DefaultBodyLimit::max(MOST_BYTES * PATIENCE))
        .route("/publish/countries/{id}", get(show).post(send))
        .route("/publish/countries/{id}/toml", post(send_file))
        .route("/publish/countries/{id}/file", get(file))
        .route("/publish/countries/{id}/gone", get(ask_gone).post(gone))
}

fn id(said: &str) -> Option<OwnRulesId> {
    said.parse().ok().map(OwnRulesId::from_number)
}

/// The rules as they stand but for one file, and that file.
fn but(all: &[OwnRules], id: Option<OwnRulesId>) -> Standing {
    Standing::new(all.iter().filter(|o| Some(o.id) != id).map(|o| (o.name.as_str(), o.body.as_str())))
}

/// Keeps a file of rules that the check can read.
///
/// # Errors
/// Of the store. `Ok(Err)`: what is wrong with it, as sentences with its line.
fn kept(
    desk: &Desk,
    cabinet: &Cabinet,
    id: Option<OwnRulesId>,
    (name, toml): (&str, &str),
    lines: bool,
) -> Result<Result<OwnRulesId, Vec<String>>, Error> {
    let all = cabinet.read(|r| r.own_rules())?;
    let standing = but(&all, id);
    if let Err(findings) = standing.rules.into_owned().with(name, toml) {
        return Ok(Err(form::sentences(&findings, lines)));
    }
    let body = match Toml::new(toml) {
        Ok(body) => body,
        Err(error) => return Ok(Err(vec![error.to_string()])),
    };
    let id = cabinet.write(keep::now(desk), |w| match id {
        None => w.add_own_rules(name, &body),
        Some(id) => w.change_own_rules(id, name, &body).map(|()| id),
    })?;
    Ok(Ok(id))
}

async fn list(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |_, cabinet| Ok(ok(list_page(cabinet, &query, &[])?))).await
}

fn list_page(cabinet: &Cabinet, query: &str, wrong: &[String]) -> Result<Markup, Error> {
    let all = cabinet.read(|r| r.own_rules())?;
    let standing = but(&all, None);
    let main = html! {
        div.heading.pub-heading {
            div { h1 { (text("countries.title")) } p.lead { (text("countries.lead")) } }
            div.act { a.button.go href="/publish/countries/new" { (text("countries.new")) } }
        }
        (done(query))
        (form::told(wrong))
        (found::notice())
        section.part aria-labelledby="own-title" {
            h2 #own-title { (text("countries.yours")) }
            @if all.is_empty() { p { (text("countries.none")) } }
            @else { ul.names.texts { @for own in &all { (row(own, &standing)) } } }
        }
        section.part aria-labelledby="bring-title" {
            h2 #bring-title { (text("countries.bring_title")) }
            form method="post" action="/publish/countries/bring" enctype="multipart/form-data" {
                (token())
                div.field {
                    label for="file" { (text("countries.file")) }
                    input #file type="file" name="file" accept=".toml,text/plain" aria-describedby="file-hint";
                    p.hint #file-hint { (text("countries.file_hint")) }
                }
                div.act { button type="submit" { (text("countries.bring")) } }
            }
        }
        p.text-ways { a href="/publish/rules" { (text("texts.to_rules")) } a href="/publish" { (text("texts.back")) } }
    };
    Ok(page::whole(Here::Publish, text("countries.title"), main))
}

fn row(own: &OwnRules, standing: &Standing) -> Markup {
    let held = Own::read(own.body.as_str());
    let broken = standing.broken.iter().any(|f| f.file == own.name);
    html! {
        li { a href={ "/publish/countries/" (own.id) } {
            span.who { (own.name) }
            span.hint {
                @match &held {
                    Some(o) if o.based_on == form::NO_BASE => (text("countries.on_nothing")),
                    Some(o) => (fill("countries.on", &[("country", &standing.name(&o.based_on))])),
                    None => (text("countries.as_file")),
                }
            }
            span.hint.when { (fill("texts.changed", &[("day", &keep::day_in_words(own.changed))])) }
            @if broken { span.what { (text("texts.broken_rules")) } }
        } }
    }
}

async fn blank(State(desk): Shared) -> Response {
    answer(desk, |_, cabinet| {
        let standing = cabinet.read(Standing::read)?;
        Ok(ok(form_page(None, &Own { based_on: "eu".into(), ..Own::default() }, &standing, &[])))
    })
    .await
}

fn form_page(kept: Option<&OwnRules>, own: &Own, standing: &Standing, wrong: &[String]) -> Markup {
    let title = kept.map_or_else(|| text("countries.new").to_owned(), |k| k.name.clone());
    let action = kept.map_or_else(|| "/publish/countries/new".to_owned(), |k| format!("/publish/countries/{}", k.id));
    let main = html! {
        div.pub-head { h1 { (title) } p.lead { (text("countries.new_lead")) } }
        (form::told(wrong))
        form.country-form method="post" action=(action) {
            (token())
            (form::fields(own, standing))
            div.act { button.go type="submit" { (text("countries.keep")) } }
        }
        @if let Some(kept) = kept { (file_part(kept, kept.body.as_str())) }
        (ways(kept))
    };
    page::whole(Here::Publish, &title, main)
}

/// The file itself: to take along, or to change where the form is too small for it.
fn file_part(kept: &OwnRules, typed: &str) -> Markup {
    html! {
        details.add.country-file open[Own::read(kept.body.as_str()).is_none()] {
            summary { (text("countries.the_file")) }
            form method="post" action={ "/publish/countries/" (kept.id) "/toml" } {
                (token())
                (lines("toml", text("countries.toml"), typed, 14, Some(text("countries.toml_hint"))))
                div.act { button type="submit" { (text("countries.keep_file")) } }
            }
        }
    }
}

fn ways(kept: Option<&OwnRules>) -> Markup {
    html! { p.text-ways {
        @if let Some(kept) = kept {
            a href={ "/publish/countries/" (kept.id) "/file" } { (text("countries.download")) }
            a href={ "/publish/countries/" (kept.id) "/gone" } { (text("countries.take_out")) }
        }
        a href="/publish/countries" { (text("texts.to_countries")) }
        a href="/publish" { (text("texts.back")) }
    } }
}

/// The page of a file that the form can't hold.
fn file_page(kept: &OwnRules, typed: &str, wrong: &[String]) -> Markup {
    let main = html! {
        div.pub-head { h1 { (kept.name) } p.lead { (text("countries.file_lead")) } }
        (form::told(wrong))
        form.country-form method="post" action={ "/publish/countries/" (kept.id) "/toml" } {
            (token())
            (lines("toml", text("countries.toml"), typed, 20, Some(text("countries.toml_hint"))))
            div.act { button.go type="submit" { (text("countries.keep_file")) } }
        }
        (ways(Some(kept)))
    };
    page::whole(Here::Publish, &kept.name, main)
}

async fn show(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |_, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let (kept, all) = cabinet.read(|r| Ok((r.own_rule(id)?, r.own_rules()?)))?;
        let standing = but(&all, Some(id));
        let wrong = standing.rules.clone().into_owned().with(&kept.name, kept.body.as_str()).err().unwrap_or_default();
        let wrong = form::sentences(&wrong, true);
        Ok(ok(match Own::read(kept.body.as_str()) {
            Some(own) => form_page(Some(&kept), &own, &standing, &wrong),
            None => file_page(&kept, kept.body.as_str(), &wrong),
        }))
    })
    .await
}

async fn send_new(State(desk): Shared, request: Request) -> Response {
    sent(desk, None, request).await
}

async fn send(State(desk): Shared, Path(number): Path<String>, request: Request) -> Response {
    sent(desk, Some(number), request).await
}

async fn sent(desk: Arc<Desk>, number: Option<String>, request: Request) -> Response {
    let form = match clients::form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let id = match number.as_deref().map(id) {
            Some(None) => return keep::lost(),
            Some(id) => id,
            None => None,
        };
        let (before, all) = cabinet.read(|r| Ok((id.map(|id| r.own_rule(id)).transpose()?, r.own_rules()?)))?;
        let standing = but(&all, id);
        let own = form::read(&form);
        let again = |wrong: &[String]| Ok(keep::again(form_page(before.as_ref(), &own, &standing, wrong)));
        let wrong = form::wrong(&own, &standing);
        if !wrong.is_empty() {
            return again(&wrong);
        }
        match kept(desk, cabinet, id, (&own.name, &own.write()), false)? {
            Ok(_) => Ok(to("/publish/countries?done=saved")),
            Err(wrong) => again(&wrong),
        }
    })
    .await
}

/// What a file of rules calls itself; else its own name.
fn name_of(toml: &str, file: &str) -> String {
    let short = file.rsplit(['/', '\\']).next().unwrap_or_default();
    let short = short.strip_suffix(".toml").unwrap_or(short).trim();
    let document = vocab::read::Document::parse(file, toml).ok();
    let named = document.and_then(|d| d.root().table("country")?.text("name").map(|w| w.text));
    let name = named.filter(|n| !n.trim().is_empty()).unwrap_or_else(|| short.to_owned());
    if name.trim().is_empty() { text("countries.unnamed").to_owned() } else { name.chars().take(120).collect() }
}

async fn send_file(State(desk): Shared, Path(number): Path<String>, request: Request) -> Response {
    let form = match clients::form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let before = cabinet.read(|r| r.own_rule(id))?;
        let typed = value(&form, "toml").unwrap_or_default().replace("\r\n", "\n");
        match kept(desk, cabinet, Some(id), (&name_of(&typed, &before.name), &typed), true)? {
            Ok(_) => Ok(to("/publish/countries?done=saved")),
            Err(wrong) => Ok(keep::again(file_page(&before, &typed, &wrong))),
        }
    })
    .await
}

async fn bring(State(desk): Shared, request: Request) -> Response {
    let sent = match Sent::read(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let again = |wrong: &[String]| Ok(keep::again(list_page(cabinet, "", wrong)?));
        if sent.too_large {
            return again(&[fill("texts.file_too_large", &[("most", &(MOST_BYTES / 1_048_576))])]);
        }
        let Some((name, bytes)) = &sent.file else { return again(&[text("texts.no_file").to_owned()]) };
        let toml = match decode(name, bytes) {
            Ok(toml) => toml.trim_start_matches('\u{feff}').replace("\r\n", "\n"),
            Err(wrong) => return again(&wrong.iter().map(said).collect::<Vec<_>>()),
        };
        match kept(desk, cabinet, None, (&name_of(&toml, name), &toml), true)? {
            Ok(id) => Ok(to(&format!("/publish/countries/{id}"))),
            Err(wrong) => again(&wrong),
        }
    })
    .await
}

async fn file(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |_, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let own = cabinet.read(|r| r.own_rule(id))?;
        let mut response = Response::new(Body::from(own.body.as_str().to_owned()));
        response
            .headers_mut()
            .insert(header::CONTENT_TYPE, HeaderValue::from_static("application/toml; charset=utf-8"));
        if let Ok(name) = HeaderValue::from_str(&format!("attachment; filename=\"rules-{id}.toml\"")) {
            response.headers_mut().insert(header::CONTENT_DISPOSITION, name);
        }
        Ok(response)
    })
    .await
}

async fn ask_gone(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |_, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let own = cabinet.read(|r| r.own_rule(id))?;
        let main = html! {
            div.short {
                h1 { (text("countries.gone_title")) }
                p { (fill("countries.gone_ask", &[("name", &own.name)])) }
                form method="post" action={ "/publish/countries/" (id) "/gone" } {
                    (token())
                    div.act { button.go type="submit" { (text("texts.gone_yes")) } a.button href={ "/publish/countries/" (id) } { (text("texts.gone_no")) } }
                }
            }
        };
        Ok(ok(page::whole(Here::Publish, text("countries.gone_title"), main)))
    })
    .await
}

async fn gone(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        cabinet.write(keep::now(desk), |w| w.remove_own_rules(id))?;
        Ok(to("/publish/countries?done=gone"))
    })
    .await
}
