//! Old recordings: a caption file as a draft, for correction; kept through the editor as any routine, and nothing before.

mod page;
mod rows;

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::response::Response;
use axum::routing::get;
use cabinet::{Cabinet, Error};
use publish::claims;
use publish::timed::{MOST_BYTES, decode};
use vocab::{Date, Finding};

use self::page::{Page, Result};
use self::rows::Row;
use super::standing::Standing;
use super::texts::{MOST_LETTERS, Sent, most};
use crate::catalogue::{fill, sentence_case, text};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{PATIENCE, ok};
use crate::desk::{Desk, editor};
use crate::recorded::Recorded;

type Shared = State<Arc<Desk>>;

/// The longest name of a routine, in letters.
const LONGEST_NAME: usize = 120;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/publish/recordings", get(blank).post(send))
        .layer(DefaultBodyLimit::max(MOST_BYTES * PATIENCE))
}

/// What was brought: the captions, and the name of their file.
#[derive(Default)]
pub struct Brought {
    /// The file's name; empty: pasted.
    pub file: String,
    /// The captions.
    pub words: String,
    /// What the routine is called.
    pub name: String,
}

async fn blank() -> Response {
    ok(Page { brought: &Brought::default(), wrong: &[], result: None }.show())
}

async fn send(State(desk): Shared, request: Request) -> Response {
    let sent = match Sent::read(request).await {
        Ok(sent) => sent,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return editor::no_clock() };
    answer(desk, move |desk, cabinet| sent_in(desk, cabinet, &sent, today)).await
}

fn sent_in(desk: &Desk, cabinet: &Cabinet, sent: &Sent, today: Date) -> std::result::Result<Response, Error> {
    let mut brought = Brought {
        file: sent.of("named").to_owned(),
        words: sent.of("words").replace("\r\n", "\n"),
        name: sent.of("name").trim().chars().take(LONGEST_NAME).collect(),
    };
    let atlas = desk.atlas();
    // What was corrected needs the atlas alone: it stays, whatever became of the captions.
    let (mut rows, mut wrong) = rows::read(&atlas, sent);
    let going_on = sent.of("do") == "edit" && sent.file.is_none();
    if going_on {
        if rows::all_out(&rows) {
            wrong.push(text("recordings.all_out").to_owned());
        }
        if !rows.is_empty() && wrong.is_empty() {
            let name = if brought.name.is_empty() { usual_name(&brought.file) } else { brought.name };
            return editor::go_on(desk, cabinet, &rows::form(&atlas, &rows, &name), today);
        }
    }
    let recorded = take_file(&mut brought, sent).and_then(|()| {
        let file = if brought.file.is_empty() { "captions" } else { brought.file.as_str() };
        Recorded::new(&atlas, file, &brought.words).map_err(|why| why.iter().map(told).collect::<Vec<_>>())
    });
    let recorded = match recorded {
        Ok(recorded) => {
            let corrected = going_on || sent.of("do") == "check" && sent.file.is_none();
            if !corrected {
                // Read anew: nothing of what stood there is asked about.
                wrong.clear();
            }
            if !corrected || rows.is_empty() {
                rows = Row::all(&recorded);
            }
            Some(recorded)
        }
        Err(why) => {
            wrong.extend(why);
            if rows.is_empty() {
                return Ok(keep::again(Page { brought: &brought, wrong: &wrong, result: None }.show()));
            }
            wrong.push(text("recordings.stays").to_owned());
            None
        }
    };
    if brought.name.is_empty() {
        brought.name = usual_name(&brought.file);
    }
    let standing = cabinet.read(Standing::read)?;
    let claims = recorded.as_ref().map(|r| claims::check(&standing.rules, &r.spoken, &standing.codes()));
    let result = Result {
        atlas: &atlas,
        recorded: recorded.as_ref(),
        rows: &rows,
        claims: claims.as_deref().unwrap_or_default(),
        standing: &standing,
    };
    let page = Page { brought: &brought, wrong: &wrong, result: Some(&result) };
    Ok(if wrong.is_empty() { ok(page.show()) } else { keep::again(page.show()) })
}

/// Takes what was brought as a file, else what was pasted.
fn take_file(brought: &mut Brought, sent: &Sent) -> std::result::Result<(), Vec<String>> {
    if sent.too_large {
        return Err(vec![fill("recordings.too_large", &[("most", &(MOST_BYTES / 1_048_576))])]);
    }
    if let Some((name, bytes)) = &sent.file {
        let name = name.rsplit(['/', '\\']).next().unwrap_or_default();
        brought.words = decode(name, bytes).map_err(|why| why.iter().map(told).collect::<Vec<_>>())?;
        brought.file = name.chars().take(LONGEST_NAME).collect();
        brought.name = usual_name(&brought.file);
    }
    let letters = brought.words.chars().count();
    if letters > MOST_LETTERS {
        return Err(vec![fill("recordings.too_long", &[("n", &letters), ("most", &most())])]);
    }
    if brought.words.trim().is_empty() {
        return Err(vec![text("recordings.empty").to_owned()]);
    }
    Ok(())
}

/// What is wrong, as a sentence; the line where there is one.
fn told(why: &Finding) -> String {
    let said = sentence_case(&why.message);
    if why.line == 0 { said } else { format!("{}: {}", why.line, said) }
}

/// A routine's name from its file's.
fn usual_name(file: &str) -> String {
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem).replace(['_', '-'], " ");
    if stem.trim().is_empty() { text("recordings.title").to_owned() } else { sentence_case(stem.trim()) }
}
