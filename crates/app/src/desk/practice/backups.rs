//! The backups of the practice: made, taken along, looked at, restored, deleted.

use std::fs::File;
use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{BackupInfo, Cabinet, ErrorKind, Passphrase};
use maud::{Markup, html};

use super::super::clients::{form, said};
use super::super::fields::{done, wrong};
use super::super::inside::{let_in, passphrase};
use super::super::keep::{self, USUAL_LOCK_MINUTES, answer, day_in_words};
use super::super::map_routes::{ok, to, value};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::{Desk, send};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// Backups that are together larger than this are read whole only when somebody asks.
const READ_AT_ONCE: u64 = 256 * 1024 * 1024;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/backups", get(list).post(make))
        .route("/practice/backups/take", post(take))
        .route("/practice/backups/restore", post(restore))
        .route("/practice/backups/delete", post(delete))
        .route("/practice/backups/{name}", get(one))
}

/// The name of a backup's file: what the list chooses by. It is looked up, never made into a path.
pub fn name(backup: &BackupInfo) -> String {
    backup.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// The backup of this name in the practice's folder.
pub fn named(cabinet: &Cabinet, said: &str) -> Option<BackupInfo> {
    cabinet.backups().into_iter().find(|b| name(b) == said)
}

/// A size as people say it.
pub fn size(bytes: u64) -> String {
    #[expect(clippy::cast_precision_loss, reason = "one decimal is shown")]
    let mega = bytes as f64 / 1e6;
    if mega < 1000.0 {
        fill("safe.megabytes", &[("n", &format!("{mega:.1}"))])
    } else {
        fill("safe.gigabytes", &[("n", &format!("{:.1}", mega / 1e3))])
    }
}

async fn list(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |_, cabinet| Ok(ok(list_page(cabinet, &query, None)))).await
}

fn list_page(cabinet: &Cabinet, query: &str, why: Option<&str>) -> Markup {
    let mut backups = cabinet.backups();
    backups.reverse();
    let all: u64 = backups.iter().map(|b| b.size).sum();
    let look = all <= READ_AT_ONCE || value(query.as_bytes(), "look").is_some();
    let main = html! {
        h1 { (text("safe.title")) }
        p.lead { (text("safe.lead")) }
        (done(query))
        (wrong(why))
        div.act {
            form method="post" action="/practice/backups/take" { (token()) button.go type="submit" { (text("safe.take")) } }
            form method="post" action="/practice/backups" { (token()) button type="submit" { (text("safe.make")) } }
        }
        p.hint { (text("safe.elsewhere")) }
        section.part aria-labelledby="list-title" {
            h2 #list-title { (text("safe.list")) }
            @if backups.is_empty() { p { (text("prac.no_backup")) } }
            @if !look { p { a.button href="/practice/backups?look=1" { (text("safe.look")) } } }
            ul.backups {
                @for backup in &backups {
                    @let file = name(backup);
                    li {
                        h3 { (day_in_words(backup.made)) }
                        p.hint {
                            (clock(backup)) " · " (size(backup.size)) " · "
                            @if !look { (text("safe.not_looked")) }
                            @else if backup.is_whole() { (text("safe.whole")) }
                            @else { strong { (text("safe.not_whole")) } }
                        }
                        div.act {
                            a.button href={ "/practice/backups/" (file) } { (text("safe.download")) }
                            details.add {
                                summary { (text("safe.restore")) }
                                form method="post" action="/practice/backups/restore" {
                                    (token())
                                    input type="hidden" name="backup" value=(file);
                                    p { (text("safe.restore_what")) }
                                    (restore_field(&file))
                                    div.act { button type="submit" { (text("safe.restore_now")) } }
                                }
                            }
                            details.add {
                                summary { (text("safe.delete")) }
                                form method="post" action="/practice/backups/delete" {
                                    (token())
                                    input type="hidden" name="backup" value=(file);
                                    p { (text("safe.delete_what")) }
                                    div.act { button type="submit" { (text("safe.delete_now")) } }
                                }
                            }
                        }
                    }
                }
            }
        }
        @let aside = cabinet.kept_aside();
        @if !aside.is_empty() {
            section.part aria-labelledby="aside-title" {
                h2 #aside-title { (text("safe.aside")) }
                p { (text("safe.aside_what")) }
                ul { @for folder in &aside { li { code { (folder.display()) } } } }
            }
        }
    };
    page::whole(Here::Practice, text("safe.title"), main)
}

/// The time of a backup beside its day: several may be of one day.
pub fn clock(backup: &BackupInfo) -> String {
    let zoned =
        jiff::Timestamp::from_second(backup.made.unix()).map(|t| t.to_zoned_datetime(jiff::tz::TimeZone::system()));
    zoned.map_or_else(|_| backup.made.to_string(), |z| format!("{:02}:{:02}", z.hour(), z.minute()))
}

fn restore_field(file: &str) -> Markup {
    passphrase_named(&format!("passphrase-{file}"))
}

/// A field for the passphrase of a backup, with an id of its own.
fn passphrase_named(id: &str) -> Markup {
    html! {
        div.field {
            label for=(id) { (text("safe.its_passphrase")) }
            input #(id) type="password" name="passphrase" autocomplete="off" required;
        }
    }
}

async fn make(State(desk): Shared) -> Response {
    answer(desk, move |desk, cabinet| {
        cabinet.backup(usize::MAX, keep::now(desk))?;
        Ok(to("/practice/backups?done=saved"))
    })
    .await
}

async fn take(State(desk): Shared) -> Response {
    answer(desk, move |desk, cabinet| sent(&cabinet.backup(usize::MAX, keep::now(desk))?)).await
}

async fn one(State(desk): Shared, Path(said): Path<String>) -> Response {
    answer(desk, move |_, cabinet| match named(cabinet, &said) {
        Some(backup) => sent(&backup),
        None => keep::lost(),
    })
    .await
}

fn sent(backup: &BackupInfo) -> Result<Response, cabinet::Error> {
    let file = File::open(&backup.path).map_err(|e| cabinet::Error::io(&backup.path, &e))?;
    Ok(send::file(&name(backup), file))
}

async fn delete(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |_, cabinet| {
        let Some(backup) = named(cabinet, &said(&form, "backup")) else { return keep::lost() };
        std::fs::remove_file(&backup.path).map_err(|e| cabinet::Error::io(&backup.path, &e))?;
        Ok(to("/practice/backups?done=gone"))
    })
    .await
}

async fn restore(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let Some(backup) = named(cabinet, &said(&form, "backup")) else { return keep::lost() };
        let typed = Passphrase::new(value(&form, "passphrase").unwrap_or_default());
        // While the practice is still open: a word mistyped closes nothing.
        let tried = cabinet.try_backup(&backup.path, &typed, keep::now(desk));
        if let Err(error) = tried {
            return match why_not(desk, &error) {
                Some(why) => Ok(keep::again(list_page(cabinet, "", Some(&why)))),
                None => Err(error),
            };
        }
        cabinet.lock();
        desk.locked();
        put_in_place(desk, &backup, &typed)?;
        Ok(let_in(desk, "/practice?done=restored"))
    })
    .await
}

/// Restores a backup into the practice's folder and goes on with it: opened anew, looked at whole.
///
/// # Errors
/// Of the cabinet.
pub fn put_in_place(desk: &Desk, backup: &BackupInfo, typed: &Passphrase) -> Result<(), cabinet::Error> {
    let restored = Cabinet::restore(&backup.path, &desk.keep.folder(), typed, keep::now(desk))?;
    restored.check()?;
    restored.lock_after(Some(60 * USUAL_LOCK_MINUTES));
    desk.keep.replace(restored);
    super::opened(desk);
    Ok(())
}

/// What is said at the form; `None` where it needs a page of its own.
pub fn why_not(desk: &Desk, error: &cabinet::Error) -> Option<String> {
    let now = keep::now(desk);
    let wait = |until: cabinet::Time| fill("keep.wait", &[("s", &(until.unix() - now.unix()).max(0))]);
    Some(match error.kind() {
        ErrorKind::WrongPassphrase { wait_until } if *wait_until > now => {
            format!("{} {}", text("safe.wrong"), wait(*wait_until))
        }
        ErrorKind::WrongPassphrase { .. } => text("safe.wrong").to_owned(),
        ErrorKind::TooSoon { wait_until } => format!("{} {}", text("keep.too_soon"), wait(*wait_until)),
        ErrorKind::BadBackup(_) => text("safe.no_backup").to_owned(),
        ErrorKind::InUse(_) | ErrorKind::Newer { .. } | ErrorKind::DiskFull(_) | ErrorKind::NotEmpty(_) => {
            error.to_string()
        }
        _ => return None,
    })
}

/// The passphrase of a backup, on the page before the door.
pub fn its_passphrase() -> Markup {
    passphrase("passphrase", text("safe.its_passphrase"), "off", None)
}
