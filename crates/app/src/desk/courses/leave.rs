//! Leaving a member out of a course's numbers, which needs a written reason, and taking them back; both stay on record.

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{ClientId, Course, CourseId, CourseMember, Error, ErrorKind, Reader};
use maud::{Markup, html};

use super::Shared;
use crate::catalogue::{fill, text};
use crate::desk::clients::{form, said};
use crate::desk::fields::{lines, wrong};
use crate::desk::keep::{self, answer, day_in_words};
use crate::desk::map_routes::{ok, to};
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;

fn member(r: &Reader<'_>, id: CourseId, client: &str) -> Result<(Course, CourseMember), Error> {
    let number: i64 = client.parse().unwrap_or(0);
    let of = r.courses_of(ClientId::from_number(number))?.into_iter().find(|(c, _)| c.id == id);
    of.ok_or_else(|| ErrorKind::NoSuch("member of the course", number).into())
}

pub async fn ask(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let client = said(request.uri().query().unwrap_or_default().as_bytes(), "client");
    answer(desk, move |_, cabinet| {
        let (course, member) = cabinet.read(|r| member(r, CourseId::from_number(id), &client))?;
        Ok(ok(asked(&course, &member, "", None)))
    })
    .await
}

fn asked(course: &Course, member: &CourseMember, typed: &str, why: Option<&str>) -> Markup {
    let out = member.left_out.is_some();
    let title = fill(if out { "course.take_back_title" } else { "course.leave_out_title" }, &[("name", &member.name)]);
    let main = html! {
        div.narrow {
            h1 { (title) }
            p.lead { (text(if out { "course.take_back_lead" } else { "course.leave_out_lead" })) }
            @if let Some(left) = &member.left_out {
                p { (fill("course.is_out", &[("day", &day_in_words(left.at)), ("reason", &left.reason)])) }
            }
            (wrong(why))
            form method="post" action={ "/courses/" (course.id) "/leave-out" } {
                (token())
                input type="hidden" name="client" value=(member.client);
                (lines("reason", text("course.reason"), typed, 3, Some(text("course.reason_hint"))))
                div.act {
                    button.go type="submit" { (text(if out { "course.take_back" } else { "course.leave_out" })) }
                    a.button href={ "/courses/" (course.id) } { (text("course.not_now")) }
                }
            }
        }
    };
    page::whole(Here::Courses, &title, main)
}

pub async fn keep(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let id = CourseId::from_number(id);
        let reason = said(&form, "reason");
        let (course, member) = cabinet.read(|r| member(r, id, &said(&form, "client")))?;
        if reason.is_empty() {
            return Ok(keep::again(asked(&course, &member, "", Some(text("course.no_reason")))));
        }
        cabinet.write(keep::now(desk), |w| match member.left_out {
            Some(_) => w.take_back(id, member.client, &reason),
            None => w.leave_out(id, member.client, &reason),
        })?;
        Ok(to(&format!("/courses/{id}?done=saved#left-out")))
    })
    .await
}
