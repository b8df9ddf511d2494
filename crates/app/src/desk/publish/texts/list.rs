//! The one list of what is published: texts with what must be mended, films, recordings, own countries, and the ways in.

use std::collections::BTreeMap;

use axum::extract::{Request, State};
use axum::response::Response;
use cabinet::{Error, Film, OwnRules, PublicText, Reader, Routine, RoutineId};
use maud::{Markup, html};
use publish::claims::Verdict;

use super::super::found::{self, counts};
use super::super::standing::Standing;
use super::kept::{self, from_json};
use super::typed::{kind_name, said};
use super::{Shared, news};
use crate::catalogue::{fill, sentence_case, text};
use crate::desk::fields::done;
use crate::desk::keep::{self, answer};
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};

/// What the page is made of beside the texts.
struct Others {
    films: Vec<Film>,
    /// Routines that belong to no client, by number.
    routines: BTreeMap<i64, Routine>,
    own: Vec<OwnRules>,
}

impl Others {
    fn read(r: &Reader<'_>) -> Result<Others, Error> {
        let routines = r.routines(None)?.into_iter().map(|routine| (routine.id.number(), routine)).collect();
        Ok(Others { films: r.films()?, routines, own: r.own_rules()? })
    }

    fn routine(&self, id: RoutineId) -> &str {
        self.routines.get(&id.number()).map_or("", |r| r.name.as_str())
    }
}

pub async fn show(State(desk): Shared, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let (standing, texts) = kept::all(cabinet, keep::now(desk))?;
        let others = cabinet.read(Others::read)?;
        let main = html! {
            div.heading.pub-heading {
                div { h1 { (text("texts.publish")) } p.lead { (text("texts.publish_lead")) } }
                div.act { a.button.go href="/publish/texts/new" { (text("texts.new")) } }
            }
            (done(&query))
            (broken(&standing))
            (texts_part(&texts, &standing))
            (films_part(&others))
            section.part aria-labelledby="recordings-title" {
                h2 #recordings-title { (text("texts.recordings")) }
                p { (text("texts.recordings_lead")) }
                p { a href="/publish/recordings" { (text("texts.recordings_way")) } }
            }
            (countries_part(&standing, &others.own))
        };
        Ok(ok(page::whole(Here::Publish, text("texts.publish"), main)))
    })
    .await
}

/// Own rules that hold not, since they can't be read any more.
fn broken(standing: &Standing) -> Markup {
    html! { @if !standing.broken.is_empty() {
        div.missing role="alert" {
            p { (text("texts.broken_rules")) }
            ul { @for finding in &standing.broken { li { strong { (finding.file) } ": " (said(finding)) } } }
            p.plainly { a href="/publish/countries" { (text("texts.to_countries")) } }
        }
    } }
}

/// In which group of the list a text stands.
fn group(claims: &[publish::claims::Claim]) -> usize {
    let counts = counts(claims);
    if counts[Verdict::Avoid as usize] > 0 {
        0
    } else if counts[Verdict::NeedsTrial as usize] + counts[Verdict::NeedsDisclosure as usize] > 0 {
        1
    } else {
        2
    }
}

fn texts_part(texts: &[PublicText], standing: &Standing) -> Markup {
    let found: Vec<_> = texts.iter().map(|t| (t, from_json(&t.findings))).collect();
    let groups = ["texts.to_mend", "texts.to_prove", "texts.fine"];
    html! {
        section.part aria-labelledby="texts-title" {
            h2 #texts-title { (text("texts.texts")) }
            @if texts.is_empty() { p { (text("texts.none")) } }
            @for (n, heading) in groups.into_iter().enumerate() {
                @let rows: Vec<_> = found.iter().filter(|(_, claims)| group(claims) == n).collect();
                @if !rows.is_empty() {
                    h3 { (text(heading)) }
                    ul.names.texts { @for (kept, claims) in rows { (row(kept, &found::summary(claims), standing)) } }
                }
            }
            @if !texts.is_empty() { (found::notice()) }
        }
    }
}

fn row(kept: &PublicText, summary: &str, standing: &Standing) -> Markup {
    let told = news::differences(kept, standing);
    html! {
        li {
            a href={ "/publish/texts/" (kept.id) } {
                span.who { (kept.title) }
                span.hint { (kind_name(&kept.kind)) }
                span.hint.when { (fill("texts.checked", &[("day", &keep::day_in_words(kept.checked))])) }
                span.what { (sentence_case(summary)) "." }
            }
            @if !told.is_empty() {
                div.rules-news {
                    p { strong { (text("texts.news")) } }
                    (news::list(&told))
                }
            }
        }
    }
}

fn films_part(others: &Others) -> Markup {
    let ready: Vec<&Routine> = others.routines.values().filter(|r| r.versions > 0).collect();
    html! {
        section.part aria-labelledby="films-title" {
            h2 #films-title { (text("texts.films")) }
            @if others.films.is_empty() { p { (text("texts.no_films")) } }
            @else {
                ul.names.texts { @for film in &others.films {
                    li { a href={ "/publish/films/" (film.id) } {
                        span.who { (film.name) }
                        span.hint { (others.routine(film.routine)) }
                        span.hint.when { (fill("texts.changed", &[("day", &keep::day_in_words(film.changed))])) }
                    } }
                } }
            }
            @if ready.is_empty() { p { a href="/routines" { (text("texts.film_first")) } } }
            @else {
                form.film-way method="get" action="/publish/films/new" {
                    div.field.find {
                        label for="routine" { (text("texts.film_of")) }
                        select #routine name="routine" { @for routine in &ready { option value=(routine.id) { (routine.name) } } }
                        button type="submit" { (text("texts.film")) }
                    }
                }
            }
        }
    }
}

fn countries_part(standing: &Standing, own: &[OwnRules]) -> Markup {
    html! {
        section.part aria-labelledby="countries-title" {
            h2 #countries-title { (text("texts.rules_title")) }
            p { (fill("texts.rules_lead", &[("countries", &crate::catalogue::listed(&standing.countries().iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>()))])) }
            @if !own.is_empty() { ul.plain-list { @for rules in own { li { a href={ "/publish/countries/" (rules.id) } { (rules.name) } } } } }
            p.text-ways {
                a href="/publish/countries" { (text("texts.to_countries")) }
                a href="/publish/rules" { (text("texts.to_rules")) }
            }
        }
    }
}
