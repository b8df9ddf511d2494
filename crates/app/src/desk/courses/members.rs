//! Who is in a course: picked from the clients, all of them, or by a list of names and take-home codes.

use std::collections::HashMap;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, Course, CourseId, Error, Line, Reader};
use maud::{Markup, html};

use super::{Shared, words};
use crate::catalogue::{fill, text};
use crate::desk::clients::{form, said};
use crate::desk::fields::{lines, wrong};
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;

/// So many names stand on the page.
const SHOWN: u32 = 60;
/// So many names are read at once when all are asked for.
const AT_ONCE: u32 = 1000;

/// What was added, who was not because their consent to care does not hold, and which lines named nobody.
#[derive(Default)]
struct Told {
    added: usize,
    there: usize,
    without: Vec<(ClientId, String)>,
    unknown: Vec<String>,
    several: Vec<String>,
}

struct Shown {
    course: Course,
    size: u64,
    count: u64,
    find: String,
    found: Vec<(Line, bool)>,
}

fn shown(r: &Reader<'_>, id: CourseId, find: String) -> Result<Shown, Error> {
    let lines = if find.is_empty() { r.clients(None, SHOWN)? } else { r.search(&find, SHOWN)? };
    let found = lines.into_iter().map(|l| Ok((r.is_in_course(id, l.id)?, l))).map(|l| l.map(|(is, l)| (l, is)));
    Ok(Shown {
        course: r.course(id)?,
        size: r.course_size(id)?,
        count: r.client_count()?,
        found: found.collect::<Result<_, Error>>()?,
        find,
    })
}

pub async fn ask(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let find = said(request.uri().query().unwrap_or_default().as_bytes(), "find");
    answer(desk, move |_, cabinet| {
        let shown = cabinet.read(|r| shown(r, CourseId::from_number(id), find))?;
        Ok(ok(asked(&shown, None, "", None)))
    })
    .await
}

fn asked(s: &Shown, told: Option<&Told>, typed: &str, why: Option<&str>) -> Markup {
    let at = format!("/courses/{}/members", s.course.id);
    let title = fill("course.members_of", &[("name", &s.course.name)]);
    let main = html! {
        h1 { (title) }
        p.lead { (words::people(usize::try_from(s.size).unwrap_or(usize::MAX))) ". " (text("course.stay_in")) }
        (wrong(why))
        @if let Some(told) = told {
            p.said role="status" { (fill("course.added", &[("n", &told.added), ("there", &told.there)])) }
            @if !told.without.is_empty() {
                div.missing role="alert" {
                    p { (text("course.without_consent")) }
                    ul { @for (client, name) in &told.without { li { a href={ "/clients/" (client) } { (name) } } } }
                }
            }
            (named("course.unknown", &told.unknown))
            (named("course.several", &told.several))
        }
        div.act { a.button.go[s.size > 0] href={ "/courses/" (s.course.id) } { (text("course.to_course")) } }
        section.part aria-labelledby="list-title" {
            h2 #list-title { (text("course.by_list")) }
            form method="post" action=(at) {
                (token())
                (lines("list", text("course.list"), typed, 6, Some(text("course.list_hint"))))
                div.act { button.go[s.size == 0] type="submit" { (text("course.add_list")) } }
            }
        }
        section.part aria-labelledby="all-title" {
            h2 #all-title { (text("course.by_all")) }
            form method="post" action=(at) {
                (token())
                input type="hidden" name="all" value="yes";
                p { (fill("course.all_said", &[("n", &s.count)])) }
                div.act { button type="submit" { (text("course.add_all")) } }
            }
        }
        section.part aria-labelledby="pick-title" {
            h2 #pick-title { (text("course.by_name")) }
            form method="get" action=(at) role="search" {
                div.field.find {
                    label for="find" { (text("clients.find")) }
                    input #find type="search" name="find" value=(s.find) autocomplete="off";
                    button.quiet type="submit" { (text("clients.search")) }
                }
            }
            @let free: Vec<&Line> = s.found.iter().filter(|(_, is_in)| !is_in).map(|(line, _)| line).collect();
            @if s.found.is_empty() { p { (text("clients.none")) } }
            @else if free.len() < s.found.len() { p.hint { (fill("course.are_in", &[("n", &(s.found.len() - free.len()))])) } }
            @if !free.is_empty() {
                form method="post" action=(at) {
                    (token())
                    fieldset.field {
                        legend { (text("course.pick")) }
                        div.picked { @for line in free {
                            @let field = format!("client-{}", line.id);
                            label.choice for=(field) { input #(field) type="checkbox" name="client" value=(line.id); span { (line.name) } }
                        } }
                    }
                    div.act { button type="submit" { (text("course.add_picked")) } }
                }
            }
        }
    };
    page::whole(Here::Courses, &title, main)
}

fn named(key: &str, names: &[String]) -> Markup {
    html! {
        @if !names.is_empty() {
            div.missing role="alert" {
                p { (if key == "course.unknown" { text("course.unknown") } else { text("course.several") }) }
                ul { @for name in names.iter().take(200) { li { (name) } } }
            }
        }
    }
}

pub async fn add(State(desk): Shared, Path(id): Path<i64>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let id = CourseId::from_number(id);
        let list = said(&form, "list");
        let picked: Vec<ClientId> = form_urlencoded::parse(&form)
            .filter(|(n, _)| n == "client")
            .filter_map(|(_, v)| v.parse().ok().map(ClientId::from_number))
            .collect();
        let everybody = said(&form, "all") == "yes";
        let told = cabinet.write(keep::now(desk), |w| {
            let mut told = Told::default();
            let mut chosen = picked;
            if everybody {
                chosen.extend(all(w)?);
            }
            listed(w, &list, &mut chosen, &mut told)?;
            chosen.sort_unstable();
            chosen.dedup();
            for client in chosen {
                if w.is_in_course(id, client)? {
                    told.there += 1;
                } else if w.consents_to(client, ConsentKind::Care)? {
                    w.join_course(id, client)?;
                    told.added += 1;
                } else {
                    told.without.push((client, w.client(client)?.details.name));
                }
            }
            Ok(told)
        })?;
        let shown = cabinet.read(|r| shown(r, id, String::new()))?;
        let nobody = told.added + told.there + told.without.len() == 0;
        if nobody && told.unknown.is_empty() && told.several.is_empty() {
            return Ok(keep::again(asked(&shown, None, &list, Some(text("course.choose_first")))));
        }
        // Lines that named nobody stand there again, to be mended.
        let left: Vec<&str> = told.unknown.iter().chain(&told.several).map(String::as_str).collect();
        let page = asked(&shown, Some(&told), &left.join("\n"), None);
        Ok(if left.is_empty() { ok(page) } else { keep::again(page) })
    })
    .await
}

/// Everybody.
fn all(r: &Reader<'_>) -> Result<Vec<ClientId>, Error> {
    let mut found: Vec<ClientId> = Vec::new();
    loop {
        let place = found.last().map(|id| r.place_of(*id)).transpose()?;
        let next = r.clients(place.as_ref(), AT_ONCE)?;
        if next.is_empty() {
            return Ok(found);
        }
        found.extend(next.iter().map(|l| l.id));
    }
}

/// Each line a name as it is kept, in any case, or the code of a take-home.
fn listed(r: &Reader<'_>, list: &str, chosen: &mut Vec<ClientId>, told: &mut Told) -> Result<(), Error> {
    let lines: Vec<&str> = list.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if lines.is_empty() {
        return Ok(());
    }
    let mut by_name: HashMap<String, Vec<ClientId>> = HashMap::new();
    for client in all(r)? {
        by_name.entry(r.client(client)?.details.name.trim().to_lowercase()).or_default().push(client);
    }
    for line in lines {
        let short: String = line.chars().take(cabinet::LONGEST_NAME).collect();
        match by_name.get(&line.to_lowercase()).map(Vec::as_slice) {
            Some([one]) => chosen.push(*one),
            Some(_) => told.several.push(short),
            None => match r.takehome_with(line)?.and_then(|t| t.client) {
                Some(client) => chosen.push(client),
                None => told.unknown.push(short),
            },
        }
    }
    Ok(())
}
