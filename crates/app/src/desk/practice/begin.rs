//! A backup restored before the door: on a new machine, or where the practice is damaged.

use std::sync::Arc;

use axum::Router;
use axum::extract::multipart::{Field, MultipartRejection};
use axum::extract::{DefaultBodyLimit, Multipart, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::get;
use cabinet::{BackupInfo, Error, Incoming, Passphrase};
use maud::{Markup, html};
use tokio::sync::mpsc::channel;

use super::super::fields::wrong;
use super::super::inside::let_in;
use super::super::keep::{self, day_in_words};
use super::super::map_routes::{beside, ok, to, up_to};
use super::super::page::{self, Here};
use super::super::reply::html as answer_html;
use super::super::visitor::{me, token};
use super::Desk;
use super::backups::{clock, its_passphrase, name, named, put_in_place, size, why_not};
use crate::catalogue::text;

type Shared = State<Arc<Desk>>;

/// The route. A backup may have gigabytes: it is never in memory whole.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/begin/restore", get(ask).post(restore)).layer(DefaultBodyLimit::disable())
}

/// A practice that is open restores from its own page; over the network nobody does from here.
fn elsewhere(desk: &Desk) -> Option<Response> {
    if me().is_some_and(|m| m.remote) {
        return Some(answer_html(StatusCode::FORBIDDEN, page::refused()));
    }
    desk.keep.cabinet().is_unlocked().then(|| to("/practice/backups"))
}

async fn ask(State(desk): Shared) -> Response {
    match elsewhere(&desk) {
        Some(response) => response,
        None => beside(move || ok(ask_page(&desk, None))).await,
    }
}

fn ask_page(desk: &Desk, why: Option<&str>) -> Markup {
    let mut backups = desk.keep.cabinet().backups();
    backups.reverse();
    let main = html! {
        div.narrow {
            h1 { (text("safe.begin_title")) }
            p.lead { (text(if desk.keep.is_there() { "safe.begin_over" } else { "safe.begin_new" })) }
            (wrong(why))
            form method="post" action="/begin/restore" enctype="multipart/form-data" autocomplete="off" {
                (token())
                @if !backups.is_empty() {
                    fieldset.field {
                        legend { (text("safe.which")) }
                        @for (i, backup) in backups.iter().enumerate() {
                            @let id = format!("which-{i}");
                            label.choice for=(id) {
                                input #(id) type="radio" name="which" value=(name(backup)) checked[i == 0];
                                span { (day_in_words(backup.made)) ", " (clock(backup)) ", " (size(backup.size)) }
                            }
                        }
                        label.choice for="which-file" {
                            input #which-file type="radio" name="which" value="";
                            span { (text("safe.from_file")) }
                        }
                    }
                }
                (its_passphrase())
                div.field {
                    label for="file" { (text("safe.file")) }
                    input #file type="file" name="file" accept=".tragion-backup" aria-describedby="file-hint";
                    p.hint #file-hint { (text("safe.file_hint")) }
                }
                div.act { button.go type="submit" { (text("safe.restore_now")) } }
            }
        }
    };
    page::whole(Here::Elsewhere, text("safe.begin_title"), main)
}

async fn restore(State(desk): Shared, sent: Result<Multipart, MultipartRejection>) -> Response {
    if let Some(response) = elsewhere(&desk) {
        return response;
    }
    let Ok(mut sent) = sent else { return answer_html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()) };
    let (mut typed, mut which, mut taken) = (String::new(), String::new(), None);
    loop {
        let field = match sent.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(_) => return answer_html(StatusCode::BAD_REQUEST, page::unreadable()),
        };
        match field.name().unwrap_or_default() {
            "passphrase" => typed = short(field).await,
            "which" => which = short(field).await,
            "file" if field.file_name().is_some_and(|n| !n.is_empty()) => taken = Some(take(&desk, field).await),
            _ => drop(up_to(field, 0).await),
        }
    }
    beside(move || {
        let cabinet = desk.keep.cabinet();
        let chosen = match taken {
            Some(Err(error)) => Err(error),
            Some(Ok(backup)) => Ok(Some(backup)),
            None => Ok(named(&cabinet, &which)),
        };
        let restored = match chosen {
            Ok(None) => return keep::again(ask_page(&desk, Some(text("safe.none_chosen")))),
            Ok(Some(backup)) => put_in_place(&desk, &backup, &Passphrase::new(typed)),
            Err(error) => Err(error),
        };
        match restored {
            Ok(()) => let_in(&desk, "/practice?done=restored"),
            Err(error) => match why_not(&desk, &error) {
                Some(why) => keep::again(ask_page(&desk, Some(&why))),
                None => keep::told(&desk, &error),
            },
        }
    })
    .await
}

async fn short(field: Field<'_>) -> String {
    up_to(field, 4096).await.and_then(|(bytes, _)| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Takes a backup into the practice's own folder as it comes. What is none is refused at its head; the rest of it is let run past, so
/// that the browser hears why.
async fn take(desk: &Arc<Desk>, mut field: Field<'_>) -> Result<BackupInfo, Error> {
    let (pieces, mut coming) = channel::<axum::body::Bytes>(8);
    let (folder, now) = (desk.keep.folder().to_owned(), keep::now(desk));
    let taking = tokio::task::spawn_blocking(move || {
        let mut incoming = Incoming::begin(&folder, now)?;
        let mut whole = false;
        while let Some(piece) = coming.blocking_recv() {
            // An empty piece says that all of it came: a connection that broke off does not.
            whole = piece.is_empty();
            incoming.take(&piece)?;
        }
        if whole { incoming.finish() } else { Err(cabinet::ErrorKind::BadBackup(folder).into()) }
    });
    let mut refused = false;
    loop {
        match field.chunk().await {
            Ok(Some(piece)) if !refused && !piece.is_empty() => refused = pieces.send(piece).await.is_err(),
            Ok(Some(_)) => {}
            Ok(None) => {
                let _ = pieces.send(axum::body::Bytes::new()).await;
                break;
            }
            Err(_) => break,
        }
    }
    drop(pieces);
    taking.await.unwrap_or_else(|_| Err(cabinet::ErrorKind::Busy.into()))
}
