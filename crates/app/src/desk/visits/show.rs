//! The page of a visit, made from what is kept; and its pictures.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::response::Response;
use cabinet::{Client, ClientId, ConsentKind, Photograph, PhotographId, Visit, VisitId};
use maud::{Markup, html};

use super::super::album::{SHOWN_PX, SMALL_PX};
use super::super::fields::done;
use super::super::keep::{self, day_in_words};
use super::super::map_routes::{jpeg, ok};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::super::{Desk, measure_shown};
use super::ask::{self, Form};
use super::memory::Shot;
use super::{MOST_KEPT, address, photo_of, visit_of};
use crate::catalogue::{fill, text};
use crate::json::measured;
use crate::measuring::figures::{Figures, Looked};
use crate::own;

/// Everything that the page shows.
struct Shown {
    client: Client,
    visit: Visit,
    photographs: bool,
    kept: Vec<(Photograph, Result<Looked, String>)>,
    figures: Option<Figures>,
    shots: Vec<Arc<Shot>>,
    notes: Vec<String>,
}

pub async fn visit(State(desk): State<Arc<Desk>>, Path((id, visit)): Path<(i64, i64)>, request: Request) -> Response {
    let (id, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    let query = request.uri().query().unwrap_or_default().to_owned();
    keep::answer(desk, move |desk, cabinet| {
        let memory = &desk.album.practice;
        let shown = cabinet.read(|r| {
            let visit = visit_of(r, id, visit)?;
            let measurements = r.measurements(visit.id)?;
            let looked = |photo: &Photograph| {
                let last = measurements.iter().rev().find(|m| m.photograph == Some(photo.id));
                last.and_then(|m| measured::photo(m.body.as_str()))
                    .map_or_else(|| Err(text("visit.unreadable").to_owned()), |p| p.looked)
            };
            Ok(Shown {
                client: r.client(id)?,
                photographs: r.consents_to(id, ConsentKind::Photographs)? && r.consents_to(id, ConsentKind::Care)?,
                kept: r.photographs(visit.id)?.into_iter().map(|p| (p.clone(), looked(&p))).collect(),
                figures: super::figures(r, visit.id)?,
                shots: memory.shots(visit.id),
                notes: memory.take_notes(visit.id),
                visit,
            })
        })?;
        Ok(ok(whole(&shown, &query)))
    })
    .await
}

fn whole(s: &Shown, query: &str) -> Markup {
    let at = address(s.client.id, s.visit.id);
    let title = fill("visit.of", &[("day", &day_in_words(s.visit.at))]);
    let assumed = s.kept.iter().any(|k| k.1.as_ref().is_ok_and(|l| l.profile_assumed));
    let main = html! {
        div.heading { div {
            h1 { (title) }
            p.lead { a href={ "/clients/" (s.client.id) } { (s.client.details.name) } " · " (lead(s)) }
        } }
        (done(query))
        @if !s.notes.is_empty() { div.missing role="alert" { @for why in &s.notes { p { (why) } } } }
        @if !s.shots.is_empty() { (undecided(&at, s)) }
        (conditions(s))
        @if !s.kept.is_empty() {
            div.face-work.me-work {
                div.face-picture.me-pictures {
                    @for (n, (photo, looked)) in s.kept.iter().enumerate() {
                        (measure_shown::picture(n + 1, &format!("{at}/photographs/{}/shown.jpg", photo.id), looked, &beneath(s, &at, photo)))
                    }
                }
                div.face-list {
                    @if let Some(figures) = &s.figures {
                        (measure_shown::values(figures))
                        (measure_shown::leading(figures))
                        (measure_shown::more(figures))
                        (measure_shown::trust(figures, assumed))
                    }
                }
            }
        }
        (more(&at, s))
        div.act {
            a.button href={ "/clients/" (s.client.id) "/map" } { (text("visit.map")) }
            a.button href={ (at) "/remove" } { (text("visit.remove")) }
        }
    };
    page::whole(Here::Visit, &title, main)
}

fn lead(s: &Shown) -> String {
    match &s.figures {
        _ if s.kept.is_empty() => text("visit.no_photographs").to_owned(),
        None => text("measpage.nothing").to_owned(),
        Some(f) if f.photographs == 1 => text("measpage.from_one").to_owned(),
        Some(f) => fill("measpage.from", &[("n", &f.photographs), ("all", &s.kept.len())]),
    }
}

/// The shots that nobody has decided on: each with its gates, what was averaged, its values; keep or retake.
fn undecided(at: &str, s: &Shown) -> Markup {
    html! {
        section.shots #shots aria-labelledby="shots-title" {
            h2 #shots-title { (text("visit.decide")) }
            p.hint { (text("visit.decide_hint")) }
            div.shot-list {
                @for (n, shot) in s.shots.iter().enumerate() {
                    @let looked = Looked::of(&shot.taken);
                    @let beneath = html! {
                        p.shot-name { (shot.name) " " (text(if looked.usable() { "visit.usable" } else { "visit.unusable" })) }
                        div.act {
                            form method="post" action={ (at) "/shots/" (shot.id) "/keep" } {
                                (token())
                                button.go[n == 0 && looked.usable()] type="submit" { (text("visit.keep")) span.unseen { " " (shot.name) } }
                            }
                            form method="post" action={ (at) "/shots/" (shot.id) "/retake" } {
                                (token())
                                button.quiet type="submit" { (text("visit.retake")) span.unseen { " " (shot.name) } }
                            }
                        }
                    };
                    // Numbers of their own, so that no two drawings of the page share an id.
                    (measure_shown::picture(s.kept.len() + n + 1, &format!("{at}/shots/{}/photo.jpg", shot.id), &Ok(looked), &beneath))
                }
            }
        }
    }
}

fn beneath(s: &Shown, at: &str, photo: &Photograph) -> Markup {
    html! {
        div.act {
            a.button href={ "/clients/" (s.client.id) "/map/" (photo.id) "?correct=1" } { (text("measpage.correct")) }
            a.button href={ (at) "/photographs/" (photo.id) "/remove" } { (text("visit.remove_photo")) }
        }
    }
}

/// Under which conditions it was, as far as they were said.
fn conditions(s: &Shown) -> Markup {
    let rows = super::conditions(&s.visit);
    html! {
        @if !rows.is_empty() {
            section.visit-conditions aria-labelledby="conditions-title" {
                h2 #conditions-title { (text("visit.conditions")) }
                dl { @for (_, what, value) in &rows { div { dt { (what) } dd { (value) } } } }
            }
        }
    }
}

/// More photographs, as long as there is room and consent.
fn more(at: &str, s: &Shown) -> Markup {
    let room = MOST_KEPT.saturating_sub(s.kept.len() + s.shots.len());
    html! {
        section.visit-more #more aria-labelledby="more-title" {
            h2 #more-title { (text("visit.more")) }
            @if !s.photographs {
                p.gently { (text("visit.no_consent")) " " a href={ "/clients/" (s.client.id) "#consents" } { (text("visit.to_consents")) } }
            } @else if room == 0 {
                p { (fill("visit.full", &[("most", &MOST_KEPT)])) }
            } @else {
                form.visit-form #visit-form method="post" action={ (at) "/photographs" } enctype="multipart/form-data" {
                    (token())
                    (ask::bring(&s.client, room, &Form::default()))
                    div.act {
                        button.go[s.shots.is_empty()] type="submit" { (text("visit.look_at")) }
                        p.hint #measuring role="status" data-busy=(text("measpage.busy")) {}
                    }
                }
            }
        }
    }
}

/// A kept photograph for a page: `shown.jpg` or `small.jpg`, without anything of the file but its pixels.
pub async fn picture(
    State(desk): State<Arc<Desk>>,
    Path((id, visit, photo, name)): Path<(i64, i64, i64, String)>,
) -> Response {
    let (id, visit, photo) = (ClientId::from_number(id), VisitId::from_number(visit), PhotographId::from_number(photo));
    keep::answer(desk, move |desk, cabinet| {
        let small = match name.as_str() {
            "shown.jpg" => false,
            "small.jpg" => true,
            _ => return keep::lost(),
        };
        let memory = &desk.album.practice;
        let epoch = memory.epoch();
        let known = memory.picture(photo, small);
        let found = cabinet.read(|r| {
            let found = photo_of(r, id, photo)?;
            if found.visit != visit || known.is_some() {
                return Ok((found.visit, None));
            }
            let last = r.measurements(visit)?.into_iter().rev().find(|m| m.photograph == Some(photo));
            let mirrored = last.and_then(|m| measured::photo(m.body.as_str())).is_some_and(|p| p.mirrored);
            Ok((visit, Some((r.photograph_bytes(photo)?, mirrored))))
        })?;
        if found.0 != visit {
            return keep::lost();
        }
        if let Some(known) = known {
            return Ok(jpeg(known.to_vec()));
        }
        let Some((bytes, mirrored)) = found.1 else { return keep::lost() };
        let Ok(read) = own::photograph(&bytes) else { return keep::lost() };
        let read = if mirrored { own::turned_over(read) } else { read };
        for (small, px, quality) in [(false, SHOWN_PX, 88), (true, SMALL_PX, 82)] {
            if let Ok(made) = read.jpeg(px, quality) {
                memory.hold_picture(epoch, photo, small, made);
            }
        }
        memory.picture(photo, small).map_or_else(keep::lost, |made| Ok(jpeg(made.to_vec())))
    })
    .await
}

/// The picture of a shot that is not kept.
pub async fn shot_picture(State(desk): State<Arc<Desk>>, Path((id, visit, shot)): Path<(i64, i64, u64)>) -> Response {
    let (id, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    keep::answer(desk, move |desk, cabinet| {
        cabinet.read(|r| visit_of(r, id, visit))?;
        let found = desk.album.practice.shots(visit).into_iter().find(|s| s.id == shot);
        found.map_or_else(keep::lost, |s| Ok(jpeg(s.jpeg.clone())))
    })
    .await
}
