//! The practice's settings: when it locks itself, and when a visit is due.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Request, State};
use axum::response::Response;
use axum::routing::post;
use cabinet::{Error, Reader};
use maud::{Markup, html};

use super::super::clients::{form, said};
use super::super::due::{USUAL_VISIT_DAYS, VISIT_DAYS};
use super::super::fields::{Field, wrong};
use super::super::keep::{self, LOCK_MINUTES, USUAL_LOCK_MINUTES, answer};
use super::super::map_routes::to;
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::Desk;
use crate::catalogue::{fill, text};

/// Minutes until it locks itself, from and to.
const MINUTES: (u32, u32) = (1, 240);
/// Days until a visit is due, from and to.
const DAYS: (i64, i64) = (1, 1000);

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/practice/settings", post(save).get(back))
}

async fn back() -> Response {
    to("/practice#settings")
}

/// The settings as they are typed.
pub struct Kept {
    minutes: String,
    days: String,
}

impl Kept {
    /// What is kept, or usual.
    ///
    /// # Errors
    /// Of the store.
    pub fn of(r: &Reader<'_>) -> Result<Kept, Error> {
        let minutes = r.setting(LOCK_MINUTES)?.unwrap_or_else(|| USUAL_LOCK_MINUTES.to_string());
        let days = r.setting(VISIT_DAYS)?.unwrap_or_else(|| USUAL_VISIT_DAYS.to_string());
        Ok(Kept { minutes, days })
    }

    /// The numbers, or which can't be used.
    fn read(&self) -> Result<(u32, i64), String> {
        let minutes = self.minutes.parse().ok().filter(|m| (MINUTES.0..=MINUTES.1).contains(m));
        let days = self.days.parse().ok().filter(|d| (DAYS.0..=DAYS.1).contains(d));
        let whole = |key: &'static str, (least, most): (i64, i64)| fill(key, &[("least", &least), ("most", &most)]);
        let minutes = minutes.ok_or_else(|| whole("prac.bad_minutes", (MINUTES.0.into(), MINUTES.1.into())))?;
        Ok((minutes, days.ok_or_else(|| whole("prac.bad_days", DAYS))?))
    }
}

/// The form.
pub fn section(kept: &Kept, why: Option<&str>) -> Markup {
    html! {
        section.part #settings aria-labelledby="settings-title" {
            h2 #settings-title { (text("prac.settings")) }
            (wrong(why))
            form method="post" action="/practice/settings" {
                (token())
                (Field::text("minutes", text("prac.minutes"), &kept.minutes).hint(text("prac.minutes_hint")).show())
                (Field::text("days", text("prac.days"), &kept.days).hint(text("prac.days_hint")).show())
                div.act { button type="submit" { (text("keep.save")) } }
            }
        }
    }
}

async fn save(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let kept = Kept { minutes: said(&form, "minutes"), days: said(&form, "days") };
        match kept.read() {
            Ok((minutes, days)) => {
                cabinet.write(keep::now(desk), |w| {
                    w.set(LOCK_MINUTES, Some(&minutes.to_string()))?;
                    w.set(VISIT_DAYS, Some(&days.to_string()))
                })?;
                cabinet.lock_after(Some(60 * minutes));
                Ok(to("/practice?done=saved"))
            }
            Err(why) => Ok(keep::again(page::whole(Here::Practice, text("prac.title"), section(&kept, Some(&why))))),
        }
    })
    .await
}
