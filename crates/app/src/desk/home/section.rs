//! Home, on the client's page: what was given to take along, what came back, how it was.

use cabinet::{ClientId, Error, Reader};
use maud::{Markup, html};
use plan::atlas::Atlas;
use serde_json::Value;

use crate::catalogue::{fill, text};
use crate::desk::due;
use crate::desk::keep::date_in_words;

/// So many days are shown.
const SHOWN: usize = 7;

/// How they were before and after, by the word in files: relaxed, stress, well-being, sleep.
const LEVELS: [&str; 4] = ["home.relaxed", "home.stress", "home.wellbeing", "home.sleep"];

/// The section.
///
/// # Errors
/// Of the store.
pub fn section(r: &Reader<'_>, atlas: &Atlas, id: ClientId) -> Result<Markup, Error> {
    let (given, notes) = (r.takehomes(id)?, r.home_notes(id)?);
    Ok(html! {
        section.part #home aria-labelledby="home-title" {
            h2 #home-title { (text("homenotes.section")) }
            @match given.last() {
                None => p { (text("homenotes.none_given")) },
                Some(last) => p {
                    (fill("homenotes.last_given", &[("day", &date_in_words(last.day)), ("code", &last.code)]))
                    @if given.len() > 1 { " " (fill("homenotes.n_given", &[("n", &given.len())])) }
                },
            }
            @if notes.is_empty() { p { (text("homenotes.none")) } }
            @if !notes.is_empty() {
                p { (fill("homenotes.n", &[("n", &notes.len()), ("done", &notes.iter().filter(|n| done(n)).count())])) }
                ul.log { @for note in notes.iter().rev().take(SHOWN) { (one(atlas, note)) } }
            }
            div.act { a.button href={ "/clients/" (id) "/notes-home" } { (text("homenotes.take_in")) } }
        }
    })
}

fn body(note: &cabinet::HomeNote) -> Value {
    serde_json::from_str(note.body.as_str()).unwrap_or_default()
}

fn done(note: &cabinet::HomeNote) -> bool {
    body(note).get("done").and_then(Value::as_bool) == Some(true)
}

fn one(atlas: &Atlas, note: &cabinet::HomeNote) -> Markup {
    let body = body(note);
    let minutes = body.get("minutes").and_then(Value::as_u64).unwrap_or(0);
    let day = date_in_words(note.day);
    let felt = body.get("felt").and_then(|f| due::felt_words(atlas, f));
    let levels: Vec<String> =
        body.get("sessions").and_then(Value::as_array).into_iter().flatten().filter_map(levels).collect();
    html! {
        li {
            p {
                @if done(note) { (fill("homenotes.day_done", &[("day", &day), ("minutes", &minutes)])) }
                @else { (fill("homenotes.day_not", &[("day", &day)])) }
            }
            @for levels in &levels { p.hint { (levels) } }
            @if let Some(felt) = felt { p.words { (felt) } }
        }
    }
}

/// Before and after of one session.
fn levels(session: &Value) -> Option<String> {
    let said = |when: &str, i: usize| session.get(when)?.get(i)?.as_u64();
    let mut parts = Vec::new();
    for (i, key) in LEVELS.iter().enumerate() {
        let (was, is) = (said("before", i), said("after", i));
        let number = |n: Option<u64>| n.map_or_else(|| text("homenotes.not_said").to_owned(), |n| n.to_string());
        if was.is_none() && is.is_none() {
            continue;
        }
        let name = level_name(key);
        parts.push(if i == 3 {
            fill("homenotes.level_once", &[("name", &name), ("before", &number(was))])
        } else {
            fill("homenotes.level", &[("name", &name), ("before", &number(was)), ("after", &number(is))])
        });
    }
    (!parts.is_empty()).then(|| parts.join(" · "))
}

fn level_name(key: &str) -> &'static str {
    match key {
        "home.relaxed" => text("home.relaxed"),
        "home.stress" => text("home.stress"),
        "home.wellbeing" => text("home.wellbeing"),
        _ => text("home.sleep"),
    }
}
