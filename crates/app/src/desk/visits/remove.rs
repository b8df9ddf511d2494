//! Taking out a photograph or a visit: a page asks first.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::{ClientId, ErrorKind, PhotographId, VisitId};
use maud::{Markup, html};

use super::super::Desk;
use super::super::keep::{self, day_in_words};
use super::super::map_routes::{ok, to};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::{address, photo_of, visit_of, work};
use crate::catalogue::{fill, text};

fn page(title: &str, said: &str, action: &str, back: &str) -> Markup {
    let main = html! {
        div.short {
            h1 { (title) }
            p { (said) }
            form method="post" action=(action) {
                (token())
                div.act {
                    button.go type="submit" { (text("visit.remove_yes")) }
                    a.button href=(back) { (text("visit.remove_no")) }
                }
            }
        }
    };
    page::whole(Here::Visit, title, main)
}

pub async fn ask_photo(State(desk): State<Arc<Desk>>, Path((id, visit, photo)): Path<(i64, i64, i64)>) -> Response {
    let (id, visit, photo) = (ClientId::from_number(id), VisitId::from_number(visit), PhotographId::from_number(photo));
    keep::answer(desk, move |_, cabinet| {
        cabinet.read(|r| match photo_of(r, id, photo)?.visit == visit {
            true => Ok(()),
            false => Err(ErrorKind::NoSuch(PhotographId::WORD, photo.number()).into()),
        })?;
        let back = address(id, visit);
        let action = format!("{back}/photographs/{photo}/remove");
        Ok(ok(page(text("visit.remove_photo_title"), text("visit.remove_photo_said"), &action, &back)))
    })
    .await
}

pub async fn photo(State(desk): State<Arc<Desk>>, Path((id, visit, photo)): Path<(i64, i64, i64)>) -> Response {
    let (id, visit, photo) = (ClientId::from_number(id), VisitId::from_number(visit), PhotographId::from_number(photo));
    keep::answer(desk, move |desk, cabinet| {
        cabinet.write(keep::now(desk), |w| {
            if photo_of(w, id, photo)?.visit != visit {
                return Err(ErrorKind::NoSuch(PhotographId::WORD, photo.number()).into());
            }
            w.remove_photograph(photo)
        })?;
        desk.album.practice.forget_photograph(photo);
        work::measure_visit(desk, cabinet, id, visit)?;
        Ok(to(&format!("{}?done=gone", address(id, visit))))
    })
    .await
}

pub async fn ask_visit(State(desk): State<Arc<Desk>>, Path((id, visit)): Path<(i64, i64)>) -> Response {
    let (id, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    keep::answer(desk, move |_, cabinet| {
        let (found, photos) = cabinet.read(|r| Ok((visit_of(r, id, visit)?, r.photographs(visit)?.len())))?;
        let back = address(id, visit);
        let said = fill("visit.remove_said", &[("day", &day_in_words(found.at)), ("n", &photos)]);
        Ok(ok(page(text("visit.remove_title"), &said, &format!("{back}/remove"), &back)))
    })
    .await
}

pub async fn visit(State(desk): State<Arc<Desk>>, Path((id, visit)): Path<(i64, i64)>) -> Response {
    let (id, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    keep::answer(desk, move |desk, cabinet| {
        let photos = cabinet.write(keep::now(desk), |w| {
            visit_of(w, id, visit)?;
            let photos = w.photographs(visit)?;
            w.remove_visit(visit)?;
            Ok(photos)
        })?;
        let memory = &desk.album.practice;
        photos.iter().for_each(|p| memory.forget_photograph(p.id));
        memory.drop_shots(visit);
        Ok(to(&format!("/clients/{id}?done=gone#visits")))
    })
    .await
}
