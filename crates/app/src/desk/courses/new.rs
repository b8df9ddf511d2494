//! A new course: its name and its plan, which is fixed with it.

use axum::extract::{Request, State};
use axum::response::Response;
use cabinet::Json;
use follow::VALUES;
use maud::{Markup, html};
use vocab::Date;

use super::Shared;
use crate::catalogue::text;
use crate::desk::clients::{form, said};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;
use crate::desk::weeks::ask::{Ask, Wrong, all_wrong, bad, line};
use crate::following::many::note_noise;
use crate::following::words::value_name;

/// What the form holds: a field's name and what was typed.
struct Typed(Vec<(&'static str, String)>);

/// The fields, with what stands there at first.
const FIELDS: [(&str, &str); 9] = [
    ("name", ""),
    ("first", ""),
    ("days", "28"),
    ("days_a_week", "7"),
    ("value", "sleep"),
    ("size", "2"),
    ("baseline", "5"),
    ("every", "3"),
    ("photographs", "2"),
];

impl Typed {
    fn first(today: Date) -> Typed {
        let soon = today.plus(15).unwrap_or(today).to_string();
        Typed(FIELDS.map(|(n, v)| (n, if n == "first" { soon.clone() } else { v.to_owned() })).to_vec())
    }

    fn read(form: &[u8]) -> Typed {
        Typed(FIELDS.map(|(n, _)| (n, said(form, n))).to_vec())
    }

    fn of(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| *n == name).map_or("", |(_, v)| v)
    }
}

pub async fn ask(State(desk): Shared) -> Response {
    match super::today(&desk) {
        Ok(today) => ok(asked(&Typed::first(today), &[])),
        Err(response) => response,
    }
}

fn asked(typed: &Typed, wrong: &[Wrong]) -> Markup {
    let field = |name, label, kind, hint| line(wrong, name, label, (kind, typed.of(name)), hint);
    let main = html! {
        div.narrow {
            h1 { (text("course.new")) }
            p.lead { (text("course.new_lead")) }
            (all_wrong(wrong))
            form.plan method="post" action="/courses/new" {
                (token())
                fieldset {
                    legend { (text("course.what_and_when")) }
                    (field("name", text("course.name"), "text", None))
                    (field("first", text("course.first"), "date", Some(text("course.first_hint"))))
                    (field("days", text("course.days"), "number", None))
                    (field("days_a_week", text("course.days_a_week"), "number", None))
                }
                fieldset {
                    legend { (text("course.looked_at")) }
                    div.field {
                        label for="value" { (text("course.value")) }
                        select #value name="value" aria-describedby="value-hint" {
                            @for value in &VALUES { option value=(value.name) selected[value.name == typed.of("value")] { (value_name(value)) } }
                        }
                        p.hint #value-hint { (bad(wrong, "value")) (text("course.value_hint")) }
                    }
                    (field("size", text("course.size"), "text", Some(text("course.size_hint"))))
                    (field("baseline", text("course.baseline"), "number", Some(text("course.baseline_hint"))))
                    (field("every", text("course.every"), "number", Some(text("course.every_hint"))))
                    input type="hidden" name="photographs" value=(typed.of("photographs"));
                }
                div.act { button.go type="submit" { (text("course.keep")) } }
                p.hint { (text("course.fixed_hint")) }
            }
            p { a href="/courses" { (text("course.title")) } }
        }
    };
    page::whole(Here::Courses, text("course.new"), main)
}

pub async fn keep(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let typed = Typed::read(&form);
        // A course that has begun elsewhere may be entered late; its page says when its plan was.
        let earliest = Date::new(2000, 1, 1).unwrap_or_else(|| keep::now(desk).date());
        let (body, mut wrong) = match Ask::read(&form).body(earliest) {
            Ok(body) => (Some(body), Vec::new()),
            Err(wrong) => (None, wrong),
        };
        if typed.of("name").is_empty() {
            wrong.insert(0, ("name", text("course.no_name").to_owned()));
        }
        let (Some(mut body), true) = (body, wrong.is_empty()) else { return Ok(keep::again(asked(&typed, &wrong))) };
        cabinet.read(|r| note_noise(r, &mut body))?;
        let json = Json::new(body.json())?;
        let id = cabinet.write(keep::now(desk), |w| w.add_course(typed.of("name"), body.first, body.days, &json))?;
        Ok(to(&format!("/courses/{id}/members")))
    })
    .await
}
