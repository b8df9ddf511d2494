//! Clients from elsewhere: a CSV table or vCards, looked at before anything is kept.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{DefaultBodyLimit, Multipart, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use cabinet::{ClientId, Doubles, MOST_IMPORT_BYTES, Problem, Reading, read_csv, read_vcards};
use maud::{Markup, html};

use super::super::clients::{form, said};
use super::super::fields::{lines, wrong};
use super::super::keep::{self, answer};
use super::super::map_routes::{PATIENCE, ok, up_to};
use super::super::page::{self, Here};
use super::super::reply::html as answer_html;
use super::super::visitor::token;
use super::{Desk, hold};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// So many names are shown before importing, and so many problems.
const SHOWN: usize = 100;
/// Readings that wait for a word; the oldest goes first.
const MOST_WAITING: usize = 3;

/// What was read and waits to be imported, in memory only, until the practice locks.
#[derive(Default)]
pub struct Waiting(Mutex<Vec<(u64, Arc<Reading>)>>);

impl Waiting {
    fn put(&self, reading: Arc<Reading>) -> u64 {
        static NEXT: AtomicU64 = AtomicU64::new(1);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let mut all = hold(&self.0);
        all.push((number, reading));
        if all.len() > MOST_WAITING {
            all.remove(0);
        }
        number
    }

    fn take(&self, number: u64) -> Option<Arc<Reading>> {
        let mut all = hold(&self.0);
        let at = all.iter().position(|(n, _)| *n == number)?;
        Some(all.remove(at).1)
    }

    /// The practice was locked.
    pub fn forget(&self) {
        hold(&self.0).clear();
    }
}

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/import", get(ask).post(read))
        .layer(DefaultBodyLimit::max(MOST_IMPORT_BYTES * PATIENCE))
        .route("/practice/import/now", post(import).get(ask))
}

async fn ask() -> Response {
    ok(ask_page("", None))
}

fn ask_page(pasted: &str, why: Option<&str>) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("bring.title")) }
            p.lead { (text("bring.lead")) }
            (wrong(why))
            form method="post" action="/practice/import" enctype="multipart/form-data" {
                (token())
                div.field {
                    label for="file" { (text("bring.file")) }
                    input #file type="file" name="file" accept=".csv,.txt,.tsv,.vcf,.vcard,text/csv,text/vcard" aria-describedby="file-hint";
                    p.hint #file-hint { (text("bring.file_hint")) }
                }
                (lines("pasted", text("bring.pasted"), pasted, 6, Some(text("bring.pasted_hint"))))
                div.act { button.go type="submit" { (text("bring.look")) } }
            }
        }
    };
    page::whole(Here::Practice, text("bring.title"), main)
}

async fn read(State(desk): Shared, sent: Result<Multipart, MultipartRejection>) -> Response {
    let Ok(mut sent) = sent else { return answer_html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()) };
    let (mut file, mut pasted, mut too_long) = (Vec::new(), Vec::new(), false);
    loop {
        let field = match sent.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(_) => return answer_html(StatusCode::BAD_REQUEST, page::unreadable()),
        };
        let into = match field.name().unwrap_or_default() {
            "file" => &mut file,
            "pasted" => &mut pasted,
            _ => &mut Vec::new(),
        };
        let Some((bytes, whole)) = up_to(field, MOST_IMPORT_BYTES).await else {
            return answer_html(StatusCode::BAD_REQUEST, page::unreadable());
        };
        *into = bytes;
        too_long |= !whole;
    }
    answer(desk, move |desk, cabinet| {
        let typed = String::from_utf8_lossy(&pasted).into_owned();
        let again = |why: &str| Ok(keep::again(ask_page(&typed, Some(why))));
        if too_long {
            return again(&fill("bring.too_long", &[("most", &(MOST_IMPORT_BYTES / 1_000_000))]));
        }
        let bytes = if file.is_empty() { &pasted } else { &file };
        if bytes.iter().all(u8::is_ascii_whitespace) {
            return again(text("bring.empty"));
        }
        let reading = if is_vcards(bytes) { read_vcards(bytes) } else { read_csv(bytes) };
        let doubles = cabinet.read(|r| r.doubles(&reading))?;
        let reading = Arc::new(reading);
        let number = desk.practice.imports.put(reading.clone());
        Ok(ok(look_page(&reading, &doubles, number)))
    })
    .await
}

/// Whether these are vCards rather than a table.
fn is_vcards(bytes: &[u8]) -> bool {
    // A file in two-byte letters has a zero beside each.
    let first: Vec<u8> = bytes.iter().copied().filter(|b| *b != 0).take(400).collect();
    String::from_utf8_lossy(&first).to_uppercase().contains("BEGIN:VCARD")
}

fn look_page(reading: &Reading, doubles: &[(usize, ClientId)], number: u64) -> Markup {
    let left_out: Vec<&Problem> = reading.problems.iter().filter(|p| p.left_out).collect();
    let main = html! {
        h1 { (text("bring.look_title")) }
        p.lead { (fill("bring.found", &[("n", &reading.clients.len()), ("out", &left_out.len()), ("doubles", &doubles.len())])) }
        p { (text("bring.nothing_yet")) }
        (problems(&reading.problems))
        @if !reading.clients.is_empty() {
            form method="post" action="/practice/import/now" {
                (token())
                input type="hidden" name="number" value=(number);
                @if !doubles.is_empty() {
                    fieldset.field {
                        legend { (text("bring.doubles")) }
                        p { (text("bring.doubles_what")) }
                        ul { @for (line, id) in doubles.iter().take(SHOWN) {
                            @let name = reading.clients.iter().find(|c| c.line == *line).map_or("", |c| c.details.name.as_str());
                            li { (fill("bring.double", &[("line", line), ("name", &name)])) " " a href={ "/clients/" (id) } { (text("bring.see")) } }
                        } }
                        label.choice for="doubles-out" { input #doubles-out type="radio" name="doubles" value="out" checked; span { (text("bring.leave_out")) } }
                        label.choice for="doubles-add" { input #doubles-add type="radio" name="doubles" value="add"; span { (text("bring.add")) } }
                    }
                }
                div.act {
                    button.go type="submit" { (text("bring.now")) }
                    a.button href="/practice/import" { (text("bring.not")) }
                }
            }
            section.part aria-labelledby="names-title" {
                h2 #names-title { (text("bring.names")) }
                div.wide-table tabindex="0" role="region" aria-label=(text("bring.table")) {
                    table.changes {
                        thead { tr {
                            th scope="col" { (text("bring.line")) }
                            th scope="col" { (text("clients.name")) }
                            th scope="col" { (text("clients.born")) }
                            th scope="col" { (text("clients.email")) }
                            th scope="col" { (text("clients.phone")) }
                        } }
                        tbody { @for client in reading.clients.iter().take(SHOWN) {
                            tr {
                                td { (client.line) }
                                td { (client.details.name) }
                                td { (super::super::fields::born(client.details.birth)) }
                                td { (client.details.email) }
                                td { (client.details.phone) }
                            }
                        } }
                    }
                }
                @if reading.clients.len() > SHOWN { p.hint { (fill("bring.more", &[("n", &(reading.clients.len() - SHOWN))])) } }
            }
        } @else {
            p { a.button.go href="/practice/import" { (text("bring.another")) } }
        }
        (to_mend(&left_out))
    };
    page::whole(Here::Practice, text("bring.look_title"), main)
}

fn problems(problems: &[Problem]) -> Markup {
    html! {
        @if !problems.is_empty() {
            section.part aria-labelledby="problems-title" {
                h2 #problems-title { (text("bring.problems")) }
                ul.problems { @for problem in problems.iter().take(SHOWN) {
                    li {
                        @if problem.line > 0 { strong { (fill("bring.at_line", &[("line", &problem.line)])) } " " }
                        (problem.message)
                    }
                } }
                @if problems.len() > SHOWN { p.hint { (fill("bring.more", &[("n", &(problems.len() - SHOWN))])) } }
            }
        }
    }
}

/// The rows that were not taken, as they stood in the file.
fn to_mend(left_out: &[&Problem]) -> Markup {
    let rows = left_out.iter().map(|p| p.text.trim_end()).filter(|t| !t.is_empty()).collect::<Vec<_>>().join("\n");
    html! {
        @if !rows.is_empty() {
            section.part aria-labelledby="mend-title" {
                h2 #mend-title { (text("bring.mend_title")) }
                (lines("mend", text("bring.mend"), &rows, 8, Some(text("bring.mend_hint"))))
            }
        }
    }
}

async fn import(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let reading = said(&form, "number").parse().ok().and_then(|n| desk.practice.imports.take(n));
        let Some(reading) = reading else { return Ok(keep::again(ask_page("", Some(text("bring.gone"))))) };
        let doubles = if said(&form, "doubles") == "add" { Doubles::Add } else { Doubles::LeaveOut };
        let imported = match cabinet.write(keep::now(desk), |w| w.import(&reading, doubles)) {
            Ok(imported) => imported,
            Err(error) => {
                // Nothing was kept; what was read is not lost either.
                desk.practice.imports.put(reading);
                return Err(error);
            }
        };
        let left_out: Vec<&Problem> = reading.problems.iter().filter(|p| p.left_out).collect();
        let main = html! {
            h1 { (text("bring.done_title")) }
            p.lead role="status" {
                (fill("bring.done", &[("n", &imported.added.len()), ("doubles", &imported.doubles.len()), ("out", &left_out.len())]))
            }
            p { (text("bring.consent_next")) }
            div.act { a.button.go href="/clients" { (text("clients.title")) } }
            (to_mend(&left_out))
        };
        Ok(ok(page::whole(Here::Practice, text("bring.done_title"), main)))
    })
    .await
}
