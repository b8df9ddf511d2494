//! A course: how they felt first, who is in it and what became of them, everybody's change, who is left out and why.

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{ClientId, CourseId, CourseWord};
use follow::{Standing, Value};
use maud::{Markup, html};

use super::{Shared, picture, today, when, words};
use crate::catalogue::{fill, text};
use crate::desk::clients::said;
use crate::desk::fields::done;
use crate::desk::keep::{answer, date_in_words, day_in_words};
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};
use crate::following::many::{Line, Many, many};
use crate::following::words::value_name;

/// So many members stand on a page.
const A_PAGE: usize = 50;
/// So many words about leaving out stand on a page.
const MOST_WORDS: usize = 300;

/// Which members are asked for.
struct Wanted {
    find: String,
    only: String,
    page: usize,
}

pub async fn show(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    let today = match today(&desk) {
        Ok(today) => today,
        Err(response) => return response,
    };
    answer(desk, move |_, cabinet| {
        let id = CourseId::from_number(id);
        let (all, history) = cabinet.read(|r| Ok((many(r, id, today)?, r.course_words(id)?)))?;
        let of = |name: &str| said(query.as_bytes(), name);
        let wanted = Wanted { find: of("find"), only: of("only"), page: of("page").parse().unwrap_or(1).max(1) };
        let value = all.plan.as_ref().map_or(Value::usual(), |p| p.value);
        let main = html! {
            div.heading {
                div {
                    h1 { (all.course.name) }
                    p.lead { (words::people(all.group.members)) ". " (when(&all.course, today)) }
                }
                div.act {
                    a.button.go href={ "/courses/" (id) "/in" } { (text("course.take_in")) }
                    a.button href={ "/courses/" (id) "/members" } { (text("course.add")) }
                }
            }
            (done(&query))
            @if let Some(plan) = &all.plan { p { (words::plan(&all.course, plan)) } }
            @if all.written_late().is_some() { p.gently { (text("course.late")) } }
            (felt(&all))
            (who(&all))
            (change(&all, value))
            (left_out(&all, &history))
            (members(&all, value, &wanted))
            p { a href="/courses" { (text("course.title")) } }
        };
        Ok(ok(page::whole(Here::Courses, &all.course.name, main)))
    })
    .await
}

fn felt(all: &Many) -> Markup {
    html! {
        section.part #felt aria-labelledby="felt-title" {
            h2 #felt-title { (text("course.felt")) }
            @if all.felt.is_empty() { p { (text(if all.over() { "course.felt_none" } else { "course.felt_none_running" })) } }
            @else {
                p.hint {
                    @if all.over() { (text("course.felt_said")) }
                    @else { (fill("course.felt_said_running", &[("day", &date_in_words(all.body.date(all.body.end())))])) }
                }
                div.wide-table tabindex="0" role="region" aria-label=(text("course.felt_table")) {
                    table.numbers {
                        thead { tr {
                            th scope="col" { (text("course.level")) }
                            th scope="col" { (text("course.before")) }
                            @if all.over() {
                                th scope="col" { (text("course.now")) }
                                th scope="col" { (text("course.difference")) }
                            }
                            th scope="col" { (text("course.said_by")) }
                        } }
                        tbody { @for level in &all.felt {
                            tr {
                                th scope="row" { (value_name(level.value)) }
                                @for said in words::felt(level) { td { (said) } }
                                td { (words::people(level.members)) }
                            }
                        } }
                    }
                }
            }
        }
    }
}

fn who(all: &Many) -> Markup {
    html! {
        section.part #who aria-labelledby="who-title" {
            h2 #who-title { (text("course.who")) }
            p { (fill("course.joined", &[("people", &words::people(all.group.members + all.course.erased as usize))])) }
            dl.counts {
                @for (said, count) in words::standings(all) { div { dt { (said) } dd { (count) } } }
            }
            @if all.late() > 0 { p { (fill("course.late_joined", &[("people", &words::people(all.late()))])) } }
            @if all.withdrawn() > 0 { p { (text("course.withdrawn_said")) } }
            @if all.silent > 0 { p { (fill("course.silent", &[("people", &words::people(all.silent))])) } }
            p { (words::sessions(all)) }
        }
    }
}

fn change(all: &Many, value: &Value) -> Markup {
    html! {
        section.part.values #change aria-labelledby="change-title" {
            h2 #change-title { (text("course.change")) }
            @match &all.plan {
                None => p { (text("course.no_plan")) },
                Some(plan) => {
                    @for (i, sentence) in words::change(all, plan).into_iter().enumerate() {
                        p.verdict[i == 0] { (sentence) }
                    }
                    (picture::picture(all, value))
                    p { (text("course.no_control")) }
                    p { (text("course.regression")) }
                    p.hint { (text("course.method")) " " (prior(all)) }
                }
            }
        }
    }
}

fn prior(all: &Many) -> String {
    match all.prior.source {
        follow::PriorSource::Practice(n) => fill("course.prior_practice", &[("n", &n)]),
        _ => text("course.prior_stated").to_owned(),
    }
}

fn left_out(all: &Many, history: &[CourseWord]) -> Markup {
    let name = |id: ClientId| {
        let at = all.lines.binary_search_by_key(&id, |l| l.client);
        at.ok().and_then(|i| all.lines.get(i)).map_or("", |l| l.name.as_str())
    };
    html! {
        section.part #left-out aria-labelledby="left-out-title" {
            h2 #left-out-title { (text("course.left_out")) }
            @if all.group.left_out.is_empty() { p { (text("course.left_out_none")) } }
            @else { p { (fill("course.left_out_said", &[("people", &words::people(all.group.left_out.len()))])) } }
            @if !history.is_empty() {
                ul.log {
                    @for word in history.iter().rev().take(MOST_WORDS) {
                        li {
                            @let said: [(&str, &dyn std::fmt::Display); 2] = [("name", &name(word.client)), ("day", &day_in_words(word.at))];
                            p { (fill(if word.left_out { "course.word_out" } else { "course.word_back" }, &said)) }
                            p.words { (word.reason) }
                        }
                    }
                }
                @if history.len() > MOST_WORDS { p.hint { (fill("course.more_words", &[("n", &(history.len() - MOST_WORDS))])) } }
            }
        }
    }
}

/// The kinds of standing that can be asked for.
const KINDS: [(&str, &str); 7] = [
    ("", "course.only_all"),
    ("clear", "course.only_clear"),
    ("running", "course.n_running"),
    ("dropped", "course.n_dropped_out"),
    ("unmeasured", "course.n_not_measured"),
    ("withdrawn", "course.n_withdrawn"),
    ("out", "course.n_left_out"),
];

fn is_of(line: &Line, only: &str) -> bool {
    match (&line.member.standing, only) {
        (Standing::Assessed { verdict, .. }, "clear") => *verdict == follow::Verdict::ClearChange,
        (Standing::NotMeasured, "unmeasured") => !line.withdrawn,
        (Standing::NotMeasured, "withdrawn") => line.withdrawn,
        (Standing::Running, "running") | (Standing::DroppedOut, "dropped") | (Standing::LeftOut(_), "out") => true,
        (_, only) => !KINDS.iter().any(|(k, _)| !k.is_empty() && *k == only),
    }
}

fn members(all: &Many, value: &Value, wanted: &Wanted) -> Markup {
    let id = all.course.id;
    let find = wanted.find.to_lowercase();
    let mut found: Vec<&Line> =
        all.lines.iter().filter(|l| is_of(l, &wanted.only) && l.name.to_lowercase().contains(&find)).collect();
    found.sort_by_cached_key(|l| (l.name.to_lowercase(), l.client));
    let pages = found.len().div_ceil(A_PAGE).max(1);
    let page = wanted.page.min(pages);
    let there = |page: usize| {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("find", &wanted.find).append_pair("only", &wanted.only);
        format!("/courses/{id}?{}#members", query.append_pair("page", &page.to_string()).finish())
    };
    html! {
        section.part #members aria-labelledby="members-title" {
            h2 #members-title { (text("course.members")) }
            form.member-find method="get" action={ "/courses/" (id) "#members" } role="search" {
                div.field { label for="find" { (text("clients.find")) } input #find type="search" name="find" value=(wanted.find) autocomplete="off"; }
                div.field {
                    label for="only" { (text("course.only")) }
                    select #only name="only" { @for (kind, key) in KINDS { option value=(kind) selected[kind == wanted.only] { (kind_words(key)) } } }
                }
                button.quiet type="submit" { (text("course.find")) }
            }
            @if found.is_empty() { p { (text("course.nobody")) } }
            @else {
                p.hint { (fill("course.shown", &[("n", &found.len()), ("page", &page), ("pages", &pages)])) }
                div.wide-table tabindex="0" role="region" aria-label=(text("course.members_table")) {
                    table.numbers.members {
                        thead { tr {
                            th scope="col" { (text("clients.name")) }
                            th scope="col" { (text("course.stands")) }
                            th scope="col" { (text("course.done_of")) }
                            th scope="col" { (text("course.visits")) }
                            th scope="col" { span.unseen { (text("course.in_numbers")) } }
                        } }
                        tbody { @for line in found.iter().skip((page - 1) * A_PAGE).take(A_PAGE) { (one(line, value, id)) } }
                    }
                }
                @if pages > 1 {
                    nav.pages aria-label=(text("course.pages")) {
                        @if page > 1 { a.button href=(there(page - 1)) { (text("course.page_before")) } }
                        @if page < pages { a.button href=(there(page + 1)) { (text("course.page_next")) } }
                    }
                }
            }
        }
    }
}

fn one(line: &Line, value: &Value, id: CourseId) -> Markup {
    let out = matches!(line.member.standing, Standing::LeftOut(_));
    html! {
        tr {
            th scope="row" { a href={ "/clients/" (line.client) } { (line.name) } }
            td.stands { (words::stands(line, value)) }
            @if line.withdrawn { td { "\u{2013}" } td { "\u{2013}" } }
            @else {
                td { (line.member.done) " / " (line.member.asked) }
                td { (line.visits[0]) " + " (line.visits[1]) }
            }
            td {
                a href={ "/courses/" (id) "/leave-out?client=" (line.client) } {
                    (text(if out { "course.take_back" } else { "course.leave_out" }))
                    span.unseen { ": " (line.name) }
                }
            }
        }
    }
}

fn kind_words(key: &str) -> &'static str {
    match key {
        "course.only_clear" => text("course.only_clear"),
        "course.n_running" => text("course.n_running"),
        "course.n_dropped_out" => text("course.n_dropped_out"),
        "course.n_not_measured" => text("course.n_not_measured"),
        "course.n_withdrawn" => text("course.n_withdrawn"),
        "course.n_left_out" => text("course.n_left_out"),
        _ => text("course.only_all"),
    }
}
