//! The versions of a routine, and what changed from each to the next.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::RoutineId;
use maud::html;
use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::routine::Step;

use super::{read, summed};
use crate::catalogue::{fill, seconds, text};
use crate::desk::Desk;
use crate::desk::keep::{answer, day_in_words};
use crate::desk::map_routes::ok;
use crate::desk::page::{Here, whole};
use crate::tell;

/// The page.
pub async fn show(State(desk): State<Arc<Desk>>, Path(id): Path<i64>) -> Response {
    let id = RoutineId::from_number(id);
    answer(desk, move |desk, cabinet| {
        let atlas = desk.atlas();
        let (routine, versions) = cabinet.read(|r| Ok((r.routine(id)?, r.versions(id)?)))?;
        let files: Vec<Option<RoutineFile>> = versions.iter().map(|v| read(&atlas, v)).collect();
        let main = html! {
            div.heading {
                div { h1 { (fill("editor.versions_of", &[("name", &routine.name)])) } p.lead { (text("editor.versions_lead")) } }
                div.act { a.button href={ "/routines/" (id) } { (text("editor.to_editor")) } }
            }
            ol.ed-versions reversed {
                @for (i, version) in versions.iter().enumerate().rev() {
                    li {
                        h2 { (fill("editor.version_of", &[("n", &version.number), ("day", &day_in_words(version.at))])) }
                        @match &files[i] {
                            None => { p { (text("editor.unreadable")) } }
                            Some(file) => {
                                p.hint { (summed(file)) }
                                @if let Some(before) = i.checked_sub(1).and_then(|b| files[b].as_ref()) {
                                    @let changes = changes(&atlas, before, file);
                                    @if changes.is_empty() { p { (text("editor.same_steps")) } }
                                    ul { @for change in &changes { li { (change) } } }
                                }
                            }
                        }
                        div.act {
                            a.button href={ "/routines/" (id) "/ready?version=" (version.number) } { (text("editor.look")) span.unseen { ": " (version.number) } }
                            @if version.number < routine.versions {
                                a.button href={ "/routines/" (id) "?version=" (version.number) } { (text("editor.take_up")) span.unseen { ": " (version.number) } }
                            }
                        }
                    }
                }
            }
        };
        Ok(ok(whole(Here::Routines, &routine.name, main)))
    })
    .await
}

/// What came, what went, what is otherwise: a step is known by its movement, place and side.
pub fn changes(atlas: &Atlas, before: &RoutineFile, after: &RoutineFile) -> Vec<String> {
    let place = |s: &Step| {
        let said = tell::step(atlas, s);
        if said.side.is_empty() {
            said.place
        } else {
            fill("place.with_side", &[("place", &said.place), ("side", &said.side)])
        }
    };
    let key = |s: &Step| (s.movement, s.target_id(atlas).to_owned(), s.side);
    let how = |s: &Step| {
        let said = tell::step(atlas, s);
        format!("{}, {}, {}, {}", said.does, seconds(s.seconds), tell::pressure(s.pressure), said.tool)
    };
    let mut said = Vec::new();
    if before.minutes != after.minutes {
        said.push(fill("editor.minutes_now", &[("before", &before.minutes), ("after", &after.minutes)]));
    }
    for step in &after.steps {
        match before.steps.iter().find(|s| key(s) == key(step)) {
            None => said.push(fill("editor.came", &[("place", &place(step)), ("how", &how(step))])),
            Some(was) if was != step => {
                said.push(fill(
                    "editor.otherwise",
                    &[("place", &place(step)), ("before", &how(was)), ("after", &how(step))],
                ));
            }
            Some(_) => {}
        }
    }
    for step in before.steps.iter().filter(|s| !after.steps.iter().any(|a| key(a) == key(s))) {
        said.push(fill("editor.went", &[("place", &place(step)), ("how", &how(step))]));
    }
    let order = |file: &RoutineFile, other: &RoutineFile| {
        let kept = |s: &&Step| other.steps.iter().any(|o| key(o) == key(s));
        file.steps.iter().filter(kept).map(key).collect::<Vec<_>>()
    };
    if order(before, after) != order(after, before) {
        said.push(text("editor.order").to_owned());
    }
    said
}
