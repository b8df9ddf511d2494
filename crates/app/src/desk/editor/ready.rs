//! A routine as it is used: looked at, run, printed. Only what may be run comes here.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{RoutineId, Version};
use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::RoutineFile;

use vocab::Side;

use super::page::Whose;
use super::runnable::{Refused, Runnable};
use super::{chosen, no_clock, read, whose};
use crate::catalogue::{Catalogue, fill, seconds, text};
use crate::desk::clients::said;
use crate::desk::keep::{answer, day_in_words};
use crate::desk::map_routes::ok;
use crate::desk::page::{Here, whole};
use crate::desk::{Desk, routine, steps};
use crate::{drawing, tell};

/// The page.
pub async fn show(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, request: Request) -> Response {
    let id = RoutineId::from_number(id);
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return no_clock() };
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let number: Option<u32> = said(query.as_bytes(), "version").parse().ok();
        let (kept, version, whose, person) = cabinet.read(|r| {
            let kept = r.routine(id)?;
            let version = chosen(r, id, number)?;
            let (whose, person) = whose(r, &atlas, kept.client, today)?;
            Ok((kept, version, whose, person))
        })?;
        let file = version.as_ref().and_then(|v| read(&atlas, v));
        let made = version.as_ref().map(|version| match &person {
            Some(person) => Runnable::for_client(&atlas, person, &kept, version),
            None => Runnable::for_audience(&atlas, &kept, version),
        });
        let main = match (&file, made) {
            (Some(file), Some(Ok(made))) => shown(&atlas, &kept, version.as_ref(), &whose, file, &made),
            (_, made) => refused(&atlas, &kept, &whose, made.and_then(Result::err).as_ref()),
        };
        Ok(ok(whole(Here::Routines, &kept.name, main)))
    })
    .await
}

fn shown(
    atlas: &Atlas,
    kept: &cabinet::Routine,
    version: Option<&Version>,
    whose: &Whose,
    file: &RoutineFile,
    made: &Runnable,
) -> Markup {
    let draft = made.timed(atlas);
    let rows = steps::rows(atlas, &whose.clearance, &draft);
    let out: Vec<String> = made
        .left_out()
        .iter()
        .filter_map(|i| file.steps.get(*i))
        .filter(|s| whose.one_hand.is_none() || s.side != Side::Both)
        .map(|s| {
            let said = tell::step(atlas, s);
            if said.side.is_empty() {
                said.place
            } else {
                fill("place.with_side", &[("place", &said.place), ("side", &said.side)])
            }
        })
        .collect();
    html! {
        div.heading {
            div {
                h1 { (kept.name) }
                p.lead {
                    @match &whose.client {
                        Some((_, name)) => (fill("editor.ready_for", &[("name", name)])),
                        None => (text("editor.for_all")),
                    }
                    " " (fill("editor.ready_sum", &[("n", &draft.steps.len()), ("s", &seconds(draft.total_s))]))
                    @if let Some(v) = version { span.hint { " " (fill("editor.ready_version", &[("n", &v.number), ("day", &day_in_words(v.at))])) } }
                }
            }
            div.act {
                a.button.go href={ "/routines/" (kept.id) "/session" @if let Some(v) = version { "?version=" (v.number) } } { (text("session.to")) }
                button.quiet #print type="button" hidden { (text("routine.print")) }
                a.button href={ "/routines/" (kept.id) "/takehome" @if let Some(v) = version { "?version=" (v.number) } } { (text("takehomes.link")) }
                @if whose.client.is_none() { a.button href={ "/publish/films/new?routine=" (kept.id) } { (text("film.of_routine")) } }
                a.button href={ "/routines/" (kept.id) } { (text("editor.to_editor")) }
            }
        }
        @if let Some(hands) = whose.one_hand {
            @let twos = made.left_out().iter().filter(|i| file.steps.get(**i).is_some_and(|s| s.side == Side::Both)).count();
            p.gently { (hands) @if twos > 0 { " " (fill("editor.two_hands_out", &[("n", &twos)])) } }
        }
        (routine::notices(atlas, &draft))
        @if !out.is_empty() {
            p.gently { (fill("editor.left_out_today", &[("places", &crate::catalogue::listed(&out))])) }
        }
        div.work {
            div.sheet { (drawing::routine(atlas, &draft)) }
            div.score {
                (routine::checklist(atlas, &draft, "before", text("routine.before")))
                (steps::list(&rows))
                (routine::checklist(atlas, &draft, "after", text("routine.after")))
            }
        }
        p.ed-product { (text("editor.product")) }
        @if whose.client.is_none() { (spoken(atlas, whose, made)) }
        (routine::warning_signs(atlas))
    }
}

/// What is said to many at once: who leaves a step out.
fn spoken(atlas: &Atlas, whose: &Whose, made: &Runnable) -> Markup {
    let lines: Vec<(usize, Vec<String>)> = made
        .steps()
        .iter()
        .enumerate()
        .map(|(i, step)| (i, tell::spoken(atlas, &whose.clearance, step)))
        .filter(|(_, said)| !said.is_empty())
        .collect();
    html! {
        @if !lines.is_empty() {
            section.left-out aria-labelledby="spoken-title" {
                h2 #spoken-title { (text("editor.spoken")) }
                dl { @for (i, said) in &lines { div { dt { (fill("editor.step_n", &[("n", &(i + 1))])) } dd { (said.join(" ")) } } } }
            }
        }
    }
}

/// Why it can't be run, and where to mend it.
pub fn refused(atlas: &Atlas, kept: &cabinet::Routine, whose: &Whose, why: Option<&Refused>) -> Markup {
    let clearance = &whose.clearance;
    html! {
        div.short {
            h1 { (kept.name) }
            div.missing role="alert" {
                @match why {
                    None | Some(Refused::Unreadable) => { p { (text("editor.unreadable")) } }
                    Some(Refused::NotTheirs) => { p { (text("editor.not_theirs")) } }
                    Some(Refused::Stop(rules)) => {
                        p { (text("editor.stop")) }
                        @for ix in &clearance.warning_signs {
                            p.plainly { strong { (tell::urgency(atlas.warning_signs[*ix].urgency)) } " " (atlas.warning_signs[*ix].action) }
                        }
                        ul { @for rule in rules { li { (clearance.reason(&Catalogue, atlas, &rule.id(atlas))) } } }
                    }
                    Some(Refused::Nothing) => {
                        p { (text("editor.nothing_left")) }
                        @if !clearance.unanswered.is_empty() { p.plainly { (fill("editor.unanswered", &[("n", &clearance.unanswered.len())])) } }
                    }
                    Some(Refused::Breaches(breaches, steps)) => {
                        p { (text("editor.not_ready")) }
                        ul { @for b in breaches { li { (b.message(&Catalogue, atlas, clearance, steps)) } } }
                    }
                }
            }
            p { a.button.go href={ "/routines/" (kept.id) } { (text("editor.to_editor")) } }
            @if let Some((id, _)) = &whose.client { p { a href={ "/clients/" (id) } { (text("client.to")) } } }
        }
    }
}
