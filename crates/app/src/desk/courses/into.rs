//! Taking in by the thousand: home notes and photographs from home, a whole folder at once. Files are read as they come in and kept some
//! hundred at a time, each time in one transaction, so that what was taken in stays whatever happens; the same again costs nothing.

use std::sync::Arc;

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{DefaultBodyLimit, Multipart, Path, Request, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{Cabinet, ClientId, Course, CourseId, Error, Reader};
use maud::{Markup, html};
use vision::Limits;

use super::report::{Lines, Report};
use super::{bundle, photos, take, today};
use crate::catalogue::{fill, text};
use crate::desk::clients::{form, said};
use crate::desk::keep::{self, answer, date_in_words};
use crate::desk::map_routes::{ok, to, up_to};
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::desk::visitor::token;
use crate::desk::{Desk, fields};

type Shared = State<Arc<Desk>>;

/// So many bytes come in with one request.
const MOST_SENT: usize = 2 * 1024 * 1024 * 1024;
/// So many files, or bytes, are kept in one transaction.
const AT_ONCE: (usize, usize) = (200, 16 * 1024 * 1024);
/// So many photographs.
const PHOTOS_AT_ONCE: (usize, usize) = (4, 16 * 1024 * 1024);
/// So many clients whose name holds what was typed are looked at.
const MOST_OF_A_NAME: u32 = 5000;
/// So many notes that wait for a hand stand on the page.
const SHOWN: usize = 50;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    let most = DefaultBodyLimit::max(MOST_SENT);
    Router::new()
        .route("/courses/{id}/in", get(ask).post(take_notes).layer(most))
        .route("/courses/{id}/in/photographs", post(take_photographs).get(ask).layer(most))
        .route("/courses/{id}/in/whose", post(whose).get(ask))
        .route("/weeks/in", get(ask_all).post(take_all_notes).layer(most))
        .route("/weeks/in/photographs", post(take_all_photographs).get(ask_all).layer(most))
        .route("/weeks/in/whose", post(whose_of_all).get(ask_all))
}

/// Stands for everybody: notes and photographs that belong to no course.
const ALL: i64 = 0;

/// The address, and the course; none: everybody.
fn place(r: &Reader<'_>, id: CourseId) -> Result<(String, Option<Course>), Error> {
    if id.number() == ALL { Ok((address(id), None)) } else { Ok((address(id), Some(r.course(id)?))) }
}

fn address(id: CourseId) -> String {
    if id.number() == ALL { "/weeks/in".to_owned() } else { format!("/courses/{id}/in") }
}

async fn ask_all(desk: Shared, request: Request) -> Response {
    ask(desk, Path(ALL), request).await
}

async fn take_all_notes(desk: Shared, headers: HeaderMap, sent: Result<Multipart, MultipartRejection>) -> Response {
    take_notes(desk, Path(ALL), headers, sent).await
}

async fn take_all_photographs(
    desk: Shared,
    headers: HeaderMap,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    take_photographs(desk, Path(ALL), headers, sent).await
}

async fn whose_of_all(desk: Shared, request: Request) -> Response {
    whose(desk, Path(ALL), request).await
}

/// What is taken in.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Notes,
    Photographs,
}

async fn ask(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let part = request.headers().contains_key("x-part");
    answer(desk, move |desk, cabinet| {
        let id = CourseId::from_number(id);
        cabinet.read(|r| place(r, id))?;
        Ok(ok(if part { told(desk, cabinet, id)? } else { whole(desk, cabinet, id, None)? }))
    })
    .await
}

fn whole(desk: &Desk, cabinet: &Cabinet, id: CourseId, why: Option<&str>) -> Result<Markup, Error> {
    let (at, course) = cabinet.read(|r| place(r, id))?;
    let title = match &course {
        Some(course) => fill("coursein.title", &[("name", &course.name)]),
        None => text("coursein.title_all").to_owned(),
    };
    let main = html! {
        h1 { (title) }
        p.lead { (text("coursein.lead")) }
        (fields::wrong(why))
        p.unseen #in-words data-going=(text("coursein.going")) data-stopped=(text("coursein.stopped")) data-done=(text("coursein.done")) data-none=(text("coursein.choose_first")) {}
        section.part aria-labelledby="notes-title" {
            h2 #notes-title { (text("coursein.notes")) }
            form.in-form method="post" action=(at) enctype="multipart/form-data" data-most="200" {
                (token())
                label.choice for="newest" { input #newest type="checkbox" name="newest" value="yes"; span { (text("coursein.newest")) } }
                (chooser("note", "note-folder", text("coursein.folder"), true, None))
                (chooser("note", "note-files", text("coursein.files"), false, Some(text("coursein.files_hint"))))
                div.act { button.go type="submit" { (text("coursein.take_notes")) } }
                p.progress role="status" {}
            }
        }
        section.part aria-labelledby="photographs-title" {
            h2 #photographs-title { (text("coursein.photographs")) }
            p { (text("coursein.photographs_said")) }
            form.in-form method="post" action={ (at) "/photographs" } enctype="multipart/form-data" data-most="8" {
                (token())
                (chooser("photo", "photo-folder", text("coursein.photo_folder"), true, None))
                (chooser("photo", "photo-files", text("coursein.photo_files"), false, None))
                div.act { button type="submit" { (text("coursein.take_photographs")) } }
                p.progress role="status" {}
            }
        }
        div #report data-from=(at) { (told(desk, cabinet, id)?) }
        @if course.is_some() {
            p { a href={ "/courses/" (id) } { (text("course.to_course")) } }
        } @else {
            p { a href="/weeks" { (text("coursein.to_weeks")) } }
        }
    };
    Ok(page::whole(Here::Courses, &title, main))
}

fn chooser(name: &str, id: &str, label: &str, folder: bool, hint: Option<&str>) -> Markup {
    let hint_id = format!("{id}-hint");
    html! {
        div.field {
            label for=(id) { (label) }
            input #(id) type="file" name=(name) multiple webkitdirectory[folder] aria-describedby=[hint.map(|_| hint_id.as_str())];
            @if let Some(hint) = hint { p.hint #(hint_id) { (hint) } }
        }
    }
}

/// What came in so far, and what is being measured.
fn told(desk: &Desk, cabinet: &Cabinet, id: CourseId) -> Result<Markup, Error> {
    let report = desk.courses.with(id, |r| r.clone());
    let (_, waiting) = cabinet.read(|r| r.unmeasured(1))?;
    let (refused, done) = {
        let measuring = desk.courses.measuring();
        (measuring.refused.clone(), measuring.done)
    };
    if report.is_empty() && waiting == 0 && done == 0 && refused.all.is_empty() {
        return Ok(html! {});
    }
    let days = [
        (report.days[0], "coursein.days_new"),
        (report.days[1], "coursein.days_replaced"),
        (report.days[2], "coursein.days_same"),
        (report.days[3], "coursein.days_left"),
    ];
    Ok(html! {
        section.part aria-labelledby="report-title" data-waiting=(waiting) {
            h2 #report-title { (text("coursein.report")) }
            p { (fill("coursein.read", &[("files", &report.files), ("notes", &report.notes), ("broken", &(report.broken.all.len() + report.broken.more))])) }
            @if report.notes > 0 {
                ul.plain-list {
                    @for (n, key) in days { @if n > 0 || key == "coursein.days_new" { li { (day_words(key, n)) } } }
                    @if report.outside > 0 { li { (fill("coursein.outside", &[("n", &report.outside)])) } }
                }
            }
            @if report.photographs != [0, 0] { p { (fill("coursein.photos_in", &[("n", &report.photographs[0]), ("same", &report.photographs[1])])) } }
            @if waiting > 0 || done > 0 { p.measuring { (fill("coursein.measuring", &[("done", &done), ("waiting", &waiting)])) } }
            (lines("broken", text("coursein.broken"), &report.broken))
            (lines("unmeasured", text("coursein.unmeasured"), &refused))
            (lines("differ", text("coursein.differ"), &report.differ))
            (hands(id, &report))
        }
    })
}

fn day_words(key: &str, n: usize) -> String {
    match key {
        "coursein.days_new" => fill("coursein.days_new", &[("n", &n)]),
        "coursein.days_replaced" => fill("coursein.days_replaced", &[("n", &n)]),
        "coursein.days_same" => fill("coursein.days_same", &[("n", &n)]),
        _ => fill("coursein.days_left", &[("n", &n)]),
    }
}

fn lines(id: &str, title: &str, lines: &Lines) -> Markup {
    html! {
        @if !lines.all.is_empty() {
            h3 #(id) { (title) }
            ul.problems tabindex="0" aria-labelledby=(id) { @for line in &lines.all { li { (line) } } }
            @if lines.more > 0 { p.hint { (fill("coursein.more", &[("n", &lines.more)])) } }
        }
    }
}

/// Notes whose code names nobody: a hand says whose they are.
fn hands(id: CourseId, report: &Report) -> Markup {
    html! {
        @if !report.waiting.is_empty() {
            h3 #whose { (text("coursein.whose")) }
            p { (fill("coursein.whose_said", &[("n", &report.waiting.len())])) }
            ul.problems {
                @for (i, wait) in report.waiting.iter().take(SHOWN).enumerate() {
                    li {
                        p { (wait.name) " · " (fill("homenotes.from", &[("name", &wait.note.language), ("code", &wait.note.code), ("made", &date_in_words(wait.note.made))])) }
                        form.whose method="post" action={ (address(id)) "/whose" } {
                            (token())
                            input type="hidden" name="at" value=(i);
                            input type="hidden" name="code" value=(wait.note.code);
                            input type="hidden" name="file" value=(wait.name);
                            @let field = format!("whose-{i}");
                            label for=(field) { (text("coursein.whose_name")) span.unseen { ": " (wait.name) } }
                            input #(field) type="text" name="client" autocomplete="off";
                            button type="submit" { (text("coursein.whose_keep")) }
                        }
                    }
                }
            }
            @if report.waiting.len() > SHOWN { p.hint { (fill("coursein.more", &[("n", &(report.waiting.len() - SHOWN))])) } }
        }
    }
}

async fn take_notes(
    desk: Shared,
    Path(id): Path<i64>,
    headers: HeaderMap,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    take_in(desk, CourseId::from_number(id), Kind::Notes, headers.contains_key("x-part"), sent).await
}

async fn take_photographs(
    desk: Shared,
    Path(id): Path<i64>,
    headers: HeaderMap,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    take_in(desk, CourseId::from_number(id), Kind::Photographs, headers.contains_key("x-part"), sent).await
}

/// Reads files as they come and keeps them in steps.
async fn take_in(
    State(desk): Shared,
    id: CourseId,
    kind: Kind,
    part: bool,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    let unreadable = |status| answer_html(status, page::unreadable());
    let Ok(mut sent) = sent else { return unreadable(StatusCode::UNSUPPORTED_MEDIA_TYPE) };
    let (most_files, most_bytes) = if kind == Kind::Notes { AT_ONCE } else { PHOTOS_AT_ONCE };
    let (mut newest, mut came, mut size, mut any) = (false, Vec::new(), 0, false);
    let mut too_long = Vec::new();
    loop {
        let field = match sent.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            // Cut off in the middle: what is kept stays, and the report says how far it was.
            Err(_) => return unreadable(StatusCode::BAD_REQUEST),
        };
        match field.name().unwrap_or_default() {
            "newest" => newest = up_to(field, 64).await.is_some_and(|(v, _)| v == b"yes"),
            "note" | "photo" => {
                let name = name_of(field.file_name().unwrap_or_default());
                let most = if bundle::may_be(&name) { bundle::MOST_BUNDLE } else { Limits::default().most_bytes };
                let Some((bytes, all)) = up_to(field, most).await else { return unreadable(StatusCode::BAD_REQUEST) };
                if (name.is_empty() && bytes.is_empty()) || bundle::is_hidden(&name) {
                    continue;
                }
                any = true;
                if !all {
                    let why = fill("photo.too_many_bytes", &[("most", &(most / 1_000_000))]);
                    let said = fill("homenotes.refused", &[("name", &name), ("why", &why)]);
                    too_long.push(said);
                    continue;
                }
                size += bytes.len();
                came.push((name, bytes));
                if came.len() >= most_files || size >= most_bytes {
                    size = 0;
                    if let Err(response) = keep_these(&desk, id, kind, newest, std::mem::take(&mut came)).await {
                        return response;
                    }
                }
            }
            _ => drop(up_to(field, 1024).await),
        }
    }
    if !came.is_empty()
        && let Err(response) = keep_these(&desk, id, kind, newest, came).await
    {
        return response;
    }
    answer(desk, move |desk, cabinet| {
        cabinet.read(|r| place(r, id))?;
        if !too_long.is_empty() {
            let mut step = desk.courses.step(id);
            step.report.files += too_long.len();
            too_long.into_iter().for_each(|said| step.report.broken.add(said));
            step.put();
        }
        if !any {
            return Ok(keep::again(whole(desk, cabinet, id, Some(text("coursein.choose_first")))?));
        }
        if kind == Kind::Photographs {
            desk.courses.go_on(desk.keep.cabinet(), keep::now(desk));
        }
        Ok(if part { ok(told(desk, cabinet, id)?) } else { to(&format!("{}#report", address(id))) })
    })
    .await
}

/// A path as it may stand on a page.
fn name_of(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(200).collect()
}

/// Keeps some files in one transaction; the report counts them when they are on the disk, and not before.
async fn keep_these(
    desk: &Arc<Desk>,
    id: CourseId,
    kind: Kind,
    newest: bool,
    came: Vec<(String, Vec<u8>)>,
) -> Result<(), Response> {
    let day = today(desk)?;
    let response = answer(desk.clone(), move |desk, cabinet| {
        // Whoever takes in a long folder is at work.
        cabinet.touch(keep::now(desk))?;
        cabinet.read(|r| place(r, id))?;
        let mut step = desk.courses.step(id);
        match kind {
            Kind::Notes => {
                // A zip or a file of lines may hold thousands: those too go in steps.
                for some in take::read(came, &mut step.report).chunks(AT_ONCE.0) {
                    cabinet.write(keep::now(desk), |w| take::keep(w, id, some, newest, &mut step.report))?;
                    step.put();
                }
            }
            Kind::Photographs => {
                cabinet.write(keep::now(desk), |w| {
                    came.iter().try_for_each(|(name, bytes)| photos::keep(w, name, bytes, day, &mut step.report))
                })?;
            }
        }
        step.put();
        Ok(to("/"))
    })
    .await;
    if response.status() == StatusCode::SEE_OTHER { Ok(()) } else { Err(response) }
}

/// A hand says whose a note is.
async fn whose(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let id = CourseId::from_number(id);
        cabinet.read(|r| place(r, id))?;
        let (code, file, typed) = (said(&form, "code"), said(&form, "file"), said(&form, "client"));
        let waits =
            desk.courses.with(id, |r| r.waiting.iter().find(|w| w.note.code == code && w.name == file).cloned());
        let Some(waits) = waits else { return Ok(to(&format!("{}#report", address(id)))) };
        let found = cabinet.read(|r| member_named(r, id, &typed))?;
        let [client] = found.as_slice() else {
            let key = if found.is_empty() { "coursein.nobody_named" } else { "coursein.several_named" };
            let why = fill(key, &[("name", &typed)]);
            return Ok(keep::again(whole(desk, cabinet, id, Some(&why))?));
        };
        let mut step = desk.courses.step(id);
        let before = step.report.broken.count();
        cabinet.write(keep::now(desk), |w| {
            take::one(w, id, &waits.name, &waits.note, (*client, false), &mut step.report)
        })?;
        // One that was refused is kept nowhere: it goes on waiting, and the reason stands on the page.
        if step.report.broken.count() == before {
            step.report.waiting.retain(|w| !(w.note == waits.note && w.name == waits.name));
        }
        step.put();
        Ok(to(&format!("{}#whose", address(id))))
    })
    .await
}

/// Members, or clients where it is nobody's course, of this name, in any case, or with this number.
fn member_named(r: &Reader<'_>, id: CourseId, typed: &str) -> Result<Vec<ClientId>, Error> {
    let wanted = typed.trim().to_lowercase();
    if id.number() == ALL {
        let found = r.search(typed.trim(), MOST_OF_A_NAME)?;
        let mut all: Vec<ClientId> =
            found.iter().filter(|l| l.name.trim().to_lowercase() == wanted).map(|l| l.id).collect();
        if let Some(id) = wanted.parse().ok().map(ClientId::from_number)
            && !all.contains(&id)
            && r.client(id).is_ok()
        {
            all.push(id);
        }
        return Ok(all);
    }
    let members = r.course_members(id)?;
    let by_name = members.iter().filter(|m| m.name.trim().to_lowercase() == wanted || m.client.to_string() == wanted);
    Ok(by_name.map(|m| m.client).collect())
}
