//! Who is due: a visit, a home note, a screening that has run out, a consent that is missing; and what was felt last time.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::get;
use cabinet::{Due, DueRule, Session};
use maud::{Markup, html};
use plan::atlas::Atlas;
use serde_json::Value;
use vocab::Side;

use super::keep::{self, answer, day_in_words};
use super::map_routes::ok;
use super::page::{self, Here};
use super::reply::html as answer_html;
use super::{Desk, weeks};
use crate::catalogue::{fill, text};
use crate::tell;

/// So many are shown.
const SHOWN: u32 = 50;
/// A visit counts as due after so many days, unless the practice says otherwise.
pub const USUAL_VISIT_DAYS: i64 = 42;
/// The setting that holds the days.
pub const VISIT_DAYS: &str = "visit_days";

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/due", get(show))
}

async fn show(State(desk): State<Arc<Desk>>) -> Response {
    let Some(today) = desk.today() else {
        return answer_html(axum::http::StatusCode::SERVICE_UNAVAILABLE, page::no_clock());
    };
    answer(desk, move |desk, cabinet| {
        let (due, visits, any) = cabinet.read(|r| {
            let days = r.setting(VISIT_DAYS)?.and_then(|d| d.parse().ok()).unwrap_or(USUAL_VISIT_DAYS);
            let rule = DueRule { today, visit_before: keep::now(desk).plus(-86_400 * days) };
            let mut found = Vec::new();
            for due in r.due(&rule, SHOWN + 1)? {
                let last = r.last_session(due.client)?;
                found.push((due, last));
            }
            Ok((found, weeks::due_visits(r, today)?, r.client_count()?))
        })?;
        Ok(ok(due_page(&desk.atlas(), &due, &visits, any)))
    })
    .await
}

fn due_page(atlas: &Atlas, due: &[(Due, Option<Session>)], visits: &[(cabinet::ClientId, String)], any: u64) -> Markup {
    let main = html! {
        div.heading { div {
            h1 { (text("due.title")) }
            p.lead { (text(if any == 0 { "due.nobody_yet" } else if due.is_empty() && visits.is_empty() { "due.nobody" } else { "due.lead" })) }
        }
        @if any > 0 { div.act { a.button href="/notes-home" { (text("homenotes.take_in_many")) } } }
        }
        @if any == 0 {
            p { a.button.go href="/clients/new" { (text("clients.new")) } }
        }
        @if !visits.is_empty() {
            p { (text("weeks.on_due")) " " @for (i, (id, name)) in visits.iter().enumerate() { @if i > 0 { ", " } a href={ "/clients/" (id) "/visits/new" } { (name) } } "." }
        }
        ul.due {
            @for (due, last) in due.iter().take(SHOWN as usize) {
                li {
                    h2 { a href={ "/clients/" (due.client) } { (due.name) } }
                    ul.why { @for reason in reasons(due) { li { (reason) } } }
                    @if let Some(felt) = last.as_ref().and_then(|s| felt(atlas, s)) { p.hint { (felt) } }
                }
            }
        }
        @if due.len() > SHOWN as usize { p.hint { (fill("due.more", &[("n", &SHOWN)])) } }
    };
    page::whole(Here::Due, text("due.title"), main)
}

/// Whether a word says what can be felt.
pub fn is_felt(word: &str) -> bool {
    FELT.iter().any(|(known, _)| *known == word)
}

/// What can be felt at a step, by its word in files.
const FELT: [(&str, &str); 7] = [
    ("easy", "felt.easy"),
    ("tender", "felt.tender"),
    ("tight", "felt.tight"),
    ("red", "felt.red"),
    ("painful", "felt.painful"),
    ("dizzy", "felt.dizzy"),
    ("numb", "felt.numb"),
];

fn reasons(due: &Due) -> Vec<String> {
    let mut said = Vec::new();
    if due.consent {
        said.push(text("due.consent").to_owned());
    }
    if due.screening {
        said.push(text("due.screening").to_owned());
    }
    if due.visit {
        said.push(match due.last_visit {
            Some(at) => fill("due.visit", &[("day", &day_in_words(at))]),
            None => text("due.first_visit").to_owned(),
        });
    }
    if due.home_note {
        said.push(match due.last_home_note {
            Some(day) => fill("due.home_note", &[("day", &keep::date_in_words(day))]),
            None => text("due.no_home_note").to_owned(),
        });
    }
    said
}

/// What was felt in a session: `places`, each a `target`, a `side` and what was `felt` there, and own `words`.
pub fn felt(atlas: &Atlas, session: &Session) -> Option<String> {
    let felt: Value = serde_json::from_str(session.felt.as_str()).ok()?;
    let said = felt_words(atlas, &felt)?;
    Some(fill("due.felt", &[("day", &day_in_words(session.at)), ("felt", &said)]))
}

/// The same without the day, of a session or of a day at home.
pub fn felt_words(atlas: &Atlas, felt: &Value) -> Option<String> {
    let words = felt.get("words").and_then(Value::as_str).filter(|w| !w.trim().is_empty());
    let tender = felt.get("places").and_then(Value::as_array).map(|all| {
        let place = |v: &Value| {
            let target = atlas.target_named(v.get("target")?.as_str()?)?;
            let side = Side::from_word(v.get("side")?.as_str()?)?;
            let felt = FELT.iter().find(|(word, _)| v.get("felt").and_then(Value::as_str) == Some(word))?.1;
            Some(fill("due.felt_at", &[("place", &tell::place(atlas, target, side)), ("felt", &text(felt))]))
        };
        all.iter().filter_map(place).collect::<Vec<_>>()
    });
    let tender = tender.filter(|t| !t.is_empty()).map(|t| t.join(", "));
    let said = [tender, words.map(|w| w.trim_end_matches('.').to_owned())]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(". ");
    (!said.is_empty()).then_some(said)
}
