//! Texts and what they claim: typed or brought, checked as one writes, kept, and checked again when the rules change.

mod consent;
mod kept;
mod list;
mod news;
mod page;
mod take;
mod typed;

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{Cabinet, Error, PublicText, TextId};
use maud::html;
use publish::timed::{Format, MOST_BYTES, read};

use self::page::Page;
use self::typed::{Looked, Typed, look};
pub use self::typed::{MOST_LETTERS, Sent, most, said};
use super::standing::Standing;
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{PATIENCE, ok, to};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/publish", get(list::show))
        .route("/publish/texts/new", get(blank).post(send_new))
        .route("/publish/texts/{id}", get(show).post(send))
        .layer(DefaultBodyLimit::max(MOST_BYTES * PATIENCE))
        .route("/publish/texts/look", post(look_only))
        .route("/publish/texts/{id}/seen", post(seen))
        .route("/publish/texts/{id}/file", get(file))
        .route("/publish/texts/{id}/gone", get(ask_gone).post(gone))
}

/// The number of an address.
fn id(said: &str) -> Option<TextId> {
    said.parse().ok().map(TextId::from_number)
}

async fn blank(State(desk): Shared) -> Response {
    answer(desk, |_, cabinet| {
        let standing = cabinet.read(Standing::read)?;
        let typed = Typed::blank(&standing);
        Ok(ok(plain(&standing, &typed).show()))
    })
    .await
}

fn plain<'p>(standing: &'p Standing, typed: &'p Typed) -> Page<'p> {
    Page { standing, typed, kept: None, looked: None, wrong: &[], note: None, before: None }
}

async fn show(State(desk): Shared, Path(number): Path<String>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let (standing, kept) = kept::one(cabinet, id, keep::now(desk))?;
        let typed = Typed::kept(&kept, &standing);
        // What was found when it was checked last, with the rules of now: the store has it, for the list as well.
        let spoken = read(&typed.file, &typed.body);
        let named = cabinet.read(|r| consent::named(r, &typed.title, &typed.body))?;
        let looked = spoken.ok().map(|spoken| Looked { spoken, claims: kept::from_json(&kept.findings), named });
        let note = query.split('&').any(|q| q == "done=saved").then(|| text("texts.saved"));
        Ok(ok(Page { kept: Some(&kept), looked: looked.as_ref(), note, ..plain(&standing, &typed) }.show()))
    })
    .await
}

async fn send_new(State(desk): Shared, request: Request) -> Response {
    let sent = match Sent::read(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let standing = cabinet.read(Standing::read)?;
        taken(desk, cabinet, &standing, None, &sent)
    })
    .await
}

async fn send(State(desk): Shared, Path(number): Path<String>, request: Request) -> Response {
    let sent = match Sent::read(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let (standing, kept) = kept::one(cabinet, id, keep::now(desk))?;
        taken(desk, cabinet, &standing, Some(&kept), &sent)
    })
    .await
}

/// What a button of the form does.
fn taken(
    desk: &Desk,
    cabinet: &Cabinet,
    standing: &Standing,
    kept: Option<&PublicText>,
    sent: &Sent,
) -> Result<Response, Error> {
    let mut typed = Typed::read(sent, standing);
    let bring = sent.of("do") == "bring";
    let before = typed.body.clone();
    let refused = if bring { brought(&mut typed, sent) } else { left_behind(&typed, sent) };
    if let Err(wrong) = refused {
        return Ok(keep::again(Page { kept, wrong: &wrong, ..plain(standing, &typed) }.show()));
    }
    let mut looked = match look(&typed, standing) {
        Ok(looked) => looked,
        Err(wrong) => return Ok(keep::again(Page { kept, wrong: &wrong, ..plain(standing, &typed) }.show())),
    };
    let mut note = bring.then(|| fill("texts.brought", &[("file", &typed.file)]));
    let wanted = sent.of("take");
    if !wanted.is_empty() {
        match take_over(&mut typed, &looked, wanted) {
            true => {
                note = Some(text("texts.taken").to_owned());
                looked = match look(&typed, standing) {
                    Ok(looked) => looked,
                    Err(wrong) => {
                        return Ok(keep::again(Page { kept, wrong: &wrong, ..plain(standing, &typed) }.show()));
                    }
                };
            }
            false => {
                let wrong = [text("texts.not_taken").to_owned()];
                let page = Page { kept, wrong: &wrong, looked: Some(&looked), ..plain(standing, &typed) };
                return Ok(keep::again(page.show()));
            }
        }
    } else if sent.of("do") == "keep" {
        let (title, sum) = (typed.named(), standing.rules.sum());
        let findings = kept::to_json(&looked.claims)?;
        let new = typed.to_keep(&title, &sum, &findings);
        let id = cabinet.write(keep::now(desk), |w| match kept {
            None => w.add_text(&new),
            Some(kept) => w.change_text(kept.id, &new).map(|()| kept.id),
        })?;
        return Ok(to(&format!("/publish/texts/{id}?done=saved")));
    }
    looked.named = cabinet.read(|r| consent::named(r, &typed.title, &typed.body))?;
    let before = Some(before.as_str()).filter(|b| bring && !b.trim().is_empty() && *b != typed.body);
    let page = Page { kept, looked: Some(&looked), note: note.as_deref(), before, ..plain(standing, &typed) };
    Ok(ok(page.show()))
}

/// Takes the file that was brought.
fn brought(typed: &mut Typed, sent: &Sent) -> Result<(), Vec<String>> {
    if sent.too_large {
        return Err(vec![fill("texts.file_too_large", &[("most", &(MOST_BYTES / 1_048_576))])]);
    }
    let Some((name, bytes)) = &sent.file else { return Err(vec![text("texts.no_file").to_owned()]) };
    typed.bring(name, bytes)
}

/// A file that was chosen and not brought is not what is checked: that is said rather than guessed.
fn left_behind(typed: &Typed, sent: &Sent) -> Result<(), Vec<String>> {
    let nothing = typed.body.trim().is_empty();
    if nothing && sent.only_named() { Err(vec![text("texts.bring_first").to_owned()]) } else { Ok(()) }
}

/// Puts a safer wording in the place of its sentence; false where the text is another by now.
fn take_over(typed: &mut Typed, looked: &Looked, wanted: &str) -> bool {
    let mut parts = wanted.splitn(5, ',');
    let mut next = || parts.next().unwrap_or_default();
    let (start, end, kind, topic, instead) = (next(), next(), next(), next(), next());
    let same = |c: &&publish::claims::Claim| {
        c.start.to_string() == start && c.end.to_string() == end && c.kind == kind && c.topic == topic
    };
    let offered = looked.claims.iter().filter(same).find(|c| c.instead.as_deref() == Some(instead));
    let body: Vec<char> = typed.body.chars().collect();
    let edits = offered.and_then(|c| take::edits(&body, &take::Sentences::of(&looked.spoken), c.start, instead));
    if let Some(edits) = &edits {
        typed.body = take::made(&body, edits);
    }
    edits.is_some()
}

/// The part of the page that changes while one types.
async fn look_only(State(desk): Shared, request: Request) -> Response {
    let sent = match Sent::read(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    answer(desk, move |_, cabinet| {
        let standing = cabinet.read(Standing::read)?;
        let typed = Typed::read(&sent, &standing);
        let mut looked = look(&typed, &standing);
        if let Ok(looked) = &mut looked {
            looked.named = cabinet.read(|r| consent::named(r, &typed.title, &typed.body))?;
        }
        let wrong = looked.as_ref().err().cloned().unwrap_or_default();
        let page = Page { looked: looked.as_ref().ok(), wrong: &wrong, ..plain(&standing, &typed) };
        Ok(ok(page.result()))
    })
    .await
}

async fn seen(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        cabinet.write(keep::now(desk), |w| w.seen_text(id))?;
        Ok(to(&format!("/publish/texts/{id}")))
    })
    .await
}

/// The text as a file, with the ending of its kind.
async fn file(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |_, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let kept = cabinet.read(|r| r.text(id))?;
        let format = read(&kept.file, &kept.body).map_or(Format::Text, |s| s.format);
        let (ending, media) = match format {
            Format::WebVtt => ("vtt", "text/vtt; charset=utf-8"),
            Format::Srt => ("srt", "application/x-subrip; charset=utf-8"),
            Format::Text | Format::PlainTimed => ("txt", "text/plain; charset=utf-8"),
        };
        let mut response = Response::new(Body::from(kept.body));
        response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(media));
        let name = format!("attachment; filename=\"text-{id}.{ending}\"");
        if let Ok(name) = HeaderValue::from_str(&name) {
            response.headers_mut().insert(header::CONTENT_DISPOSITION, name);
        }
        Ok(response)
    })
    .await
}

async fn ask_gone(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |_, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        let kept = cabinet.read(|r| r.text(id))?;
        let main = html! {
            div.short {
                h1 { (text("texts.gone_title")) }
                p { (fill("texts.gone_ask", &[("title", &kept.title)])) }
                form method="post" action={ "/publish/texts/" (id) "/gone" } {
                    (token())
                    div.act { button.go type="submit" { (text("texts.gone_yes")) } a.button href={ "/publish/texts/" (id) } { (text("texts.gone_no")) } }
                }
            }
        };
        Ok(ok(whole(Here::Publish, text("texts.gone_title"), main)))
    })
    .await
}

async fn gone(State(desk): Shared, Path(number): Path<String>) -> Response {
    answer(desk, move |desk, cabinet| {
        let Some(id) = id(&number) else { return keep::lost() };
        cabinet.write(keep::now(desk), |w| w.remove_text(id))?;
        Ok(to("/publish?done=gone"))
    })
    .await
}
