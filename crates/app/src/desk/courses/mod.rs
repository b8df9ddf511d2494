//! Courses: many clients with one plan; their notes and photographs taken in at once, and everybody's change in one go.

mod bundle;
mod into;
mod leave;
mod measure;
mod members;
mod new;
mod photos;
mod picture;
mod report;
mod show;
mod take;
mod words;

use std::sync::Arc;

use axum::Router;
use axum::extract::State as Given;
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::get;
use cabinet::{Course, Error};
use maud::{Markup, html};
use vocab::Date;

pub use self::report::State;
use super::Desk;
use super::keep::{answer, date_in_words};
use super::map_routes::ok;
use super::page::{self, Here};
use super::reply::html as answer_html;
use crate::catalogue::{fill, text};
use crate::following::body::Body;

type Shared = Given<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    into::routes()
        .route("/courses", get(list))
        .route("/courses/new", get(new::ask).post(new::keep))
        .route("/courses/{id}", get(show::show))
        .route("/courses/{id}/members", get(members::ask).post(members::add))
        .route("/courses/{id}/leave-out", get(leave::ask).post(leave::keep))
}

/// Today; without a clock a page that says so.
#[expect(clippy::result_large_err, reason = "an answer is an answer")]
fn today(desk: &Desk) -> Result<Date, Response> {
    desk.today().ok_or_else(|| answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()))
}

/// A course's body.
fn body(course: &Course) -> Body {
    Body::parse(course.first, course.days, course.body.as_str())
}

/// Where in its days a course is.
fn when(course: &Course, today: Date) -> String {
    let body = body(course);
    let (day, first) = (body.number(today), date_in_words(course.first));
    if day > body.end() {
        fill("course.over", &[("first", &first), ("last", &date_in_words(body.date(body.end())))])
    } else if day >= 1 {
        fill("course.day_of", &[("day", &day), ("days", &course.days), ("first", &first)])
    } else {
        fill("course.ahead", &[("first", &first), ("days", &course.days)])
    }
}

async fn list(Given(desk): Shared) -> Response {
    let today = match today(&desk) {
        Ok(today) => today,
        Err(response) => return response,
    };
    answer(desk, move |_, cabinet| {
        let courses = cabinet.read(|r| {
            r.courses()?.into_iter().map(|c| Ok((r.course_size(c.id)?, c))).collect::<Result<Vec<_>, Error>>()
        })?;
        Ok(ok(list_page(&courses, today)))
    })
    .await
}

fn list_page(courses: &[(u64, Course)], today: Date) -> Markup {
    let main = html! {
        div.heading {
            div {
                h1 { (text("course.title")) }
                p.lead { (text("course.lead")) }
            }
            div.act { a.button.go href="/courses/new" { (text("course.new")) } }
        }
        @if courses.is_empty() { p { (text("course.none")) } }
        @else {
            ul.names {
                @for (size, course) in courses {
                    li { a href={ "/courses/" (course.id) } {
                        span.who { (course.name) }
                        span.hint { (words::people(usize::try_from(*size).unwrap_or(usize::MAX))) }
                        span.hint.when { (when(course, today)) }
                    } }
                }
            }
        }
        p { a href="/weeks" { (text("course.to_weeks")) } }
    };
    page::whole(Here::Courses, text("course.title"), main)
}
