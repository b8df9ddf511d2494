//! Another passphrase, and the look at the whole store.

use std::sync::{Arc, Mutex};

use axum::Router;
use axum::extract::{Request, State};
use axum::response::Response;
use axum::routing::get;
use cabinet::{Checked, Cost, ErrorKind, Passphrase};
use maud::{Markup, html};

use super::super::clients::form;
use super::super::fields::wrong;
use super::super::inside::passphrase;
use super::super::keep::{self, answer};
use super::super::map_routes::{ok, to, value};
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::backups::why_not;
use super::{Desk, hold};
use crate::catalogue::text;

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/passphrase", get(ask).post(change))
        .route("/practice/check", get(check_page).post(check))
}

/// What the look at the whole store came to.
#[derive(Clone, Default)]
enum Look {
    #[default]
    None,
    Running,
    Whole,
    Damaged(String),
}

/// The latest look at the whole store since it was unlocked.
#[derive(Default)]
pub struct Told(Mutex<Look>);

impl Told {
    /// What there is to say of it.
    pub fn shown(&self) -> Markup {
        html! {
            @match hold(&self.0).clone() {
                Look::None => {}
                Look::Running => p.said role="status" { (text("secret.checking")) },
                Look::Whole => p.said role="status" { (text("secret.whole")) },
                Look::Damaged(said) => div.missing role="alert" {
                    p { (said) }
                    p { a.button href="/practice/backups" { (text("safe.to_backups")) } }
                },
            }
        }
    }

    /// The practice was locked.
    pub fn forget(&self) {
        *hold(&self.0) = Look::None;
    }

    fn look(&self, cabinet: &cabinet::Cabinet) {
        let look = match cabinet.check() {
            Ok(()) => Look::Whole,
            Err(error) if matches!(error.kind(), ErrorKind::Locked) => Look::None,
            Err(error) => Look::Damaged(error.to_string()),
        };
        *hold(&self.0) = look;
    }
}

/// Looks beside the work at a store that was too large to be looked at while it was opened.
pub fn check_when_large(desk: &Desk) {
    let cabinet = desk.keep.cabinet();
    if cabinet.checked() != Some(Checked::Start) {
        return;
    }
    let told = desk.practice.check.clone();
    *hold(&told.0) = Look::Running;
    std::thread::spawn(move || told.look(&cabinet));
}

async fn check_page(State(desk): Shared) -> Response {
    answer(desk, |desk, _| {
        let main = html! {
            div.narrow {
                h1 { (text("secret.check_title")) }
                p.lead { (text("secret.check_what")) }
                (desk.practice.check.shown())
                form method="post" action="/practice/check" { (token()) div.act { button.go type="submit" { (text("secret.check_now")) } } }
            }
        };
        Ok(ok(page::whole(Here::Practice, text("secret.check_title"), main)))
    })
    .await
}

async fn check(State(desk): Shared) -> Response {
    answer(desk, |desk, cabinet| {
        desk.practice.check.look(cabinet);
        Ok(to("/practice/check"))
    })
    .await
}

async fn ask() -> Response {
    ok(ask_page(None))
}

fn ask_page(why: Option<&str>) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("secret.title")) }
            p.lead { (text("secret.lead")) }
            (wrong(why))
            form method="post" action="/practice/passphrase" autocomplete="off" {
                (token())
                (passphrase("old", text("secret.old"), "current-password", None))
                (passphrase("new", text("secret.new"), "new-password", Some(text("keep.passphrase_hint"))))
                (passphrase("again", text("keep.passphrase_again"), "new-password", None))
                p.gently { (text("keep.no_way_back")) }
                p { (text("secret.backups")) }
                div.act { button.go type="submit" { (text("secret.change")) } }
            }
        }
    };
    page::whole(Here::Practice, text("secret.title"), main)
}

async fn change(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    answer(desk, move |desk, cabinet| {
        let typed = |name: &str| value(&form, name).unwrap_or_default();
        if typed("new") != typed("again") {
            return Ok(keep::again(ask_page(Some(text("secret.not_the_same")))));
        }
        let (old, new) = (Passphrase::new(typed("old")), Passphrase::new(typed("new")));
        match cabinet.change_passphrase(&old, &new, Cost::STANDARD, keep::now(desk)) {
            Ok(()) => Ok(to("/practice?done=saved")),
            Err(error) => match error.kind() {
                ErrorKind::PassphraseTooShort(_) => Ok(keep::again(ask_page(Some(&error.to_string())))),
                ErrorKind::WrongPassphrase { .. } => Ok(keep::again(ask_page(Some(text("secret.wrong"))))),
                _ => match why_not(desk, &error) {
                    Some(why) => Ok(keep::again(ask_page(Some(&why)))),
                    None => Err(error),
                },
            },
        }
    })
    .await
}
