//! The practice itself: its settings, own atlas, backups, clients from files, export, erasure, and devices on the same network.

mod backups;
mod begin;
mod changes;
pub mod devices;
pub mod devices_net;
mod import;
mod leave;
mod own;
mod own_form;
mod own_pages;
mod secret;
mod send;
mod settings;

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::Router;
use axum::extract::{Request, State as Given};
use axum::response::Response;
use axum::routing::get;
use cabinet::ErrorKind;
use maud::{Markup, html};

pub use self::own::Base;
use super::Desk;
use super::fields::done;
use super::keep::{self, answer, day_in_words};
use super::map_routes::ok;
use super::page::{self, Here};
use crate::catalogue::{fill, text};
use crate::following::readings;

/// What the practice's pages keep in memory.
pub struct State {
    base: Base,
    imports: import::Waiting,
    check: Arc<secret::Told>,
    /// Devices on the same network.
    pub devices: devices::Devices,
    /// Why the own atlas is not in use, if it is not.
    trouble: Mutex<Vec<String>>,
}

impl State {
    /// Before anything was unlocked.
    pub fn new(base: Base) -> State {
        State {
            base,
            imports: import::Waiting::default(),
            check: Arc::default(),
            devices: devices::Devices::default(),
            trouble: Mutex::default(),
        }
    }
}

/// The routes behind the door.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice", get(show))
        .merge(settings::routes())
        .merge(own_pages::routes())
        .merge(import::routes())
        .merge(backups::routes())
        .merge(secret::routes())
        .merge(changes::routes())
        .merge(devices::routes())
        .merge(leave::routes())
}

/// The routes before the door.
pub fn before_the_door() -> Router<Arc<Desk>> {
    begin::routes().merge(devices::pairing())
}

/// The practice was unlocked, made or restored: its own atlas counts from now on, and a large store is looked at whole.
pub fn opened(desk: &Desk) {
    put_anew(desk);
    secret::check_when_large(desk);
    catch_up(desk);
    desk.courses.go_on(desk.keep.cabinet(), keep::now(desk));
}

/// Visits that were measured by an earlier version are read for following, beside the work. Locked meanwhile, it goes on the next time.
fn catch_up(desk: &Desk) {
    let (cabinet, now) = (desk.keep.cabinet(), keep::now(desk));
    std::thread::spawn(move || {
        if let Err(error) = readings::catch_up(&cabinet, now)
            && !matches!(error.kind(), ErrorKind::Locked)
        {
            eprintln!("{}", error.key());
        }
    });
}

/// The own atlas was changed: the new one counts at once.
fn put_anew(desk: &Desk) {
    *hold(&desk.practice.trouble) = own::put_in_use(desk).err().unwrap_or_default();
}

/// The practice was locked: its own atlas goes, and what waits to be imported.
pub fn closed(desk: &Desk) {
    if !desk.keep.cabinet().is_unlocked() {
        own::take_out_of_use(desk);
        desk.practice.imports.forget();
        desk.practice.check.forget();
    }
}

/// What a mutex guards, whoever panicked before.
fn hold<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

async fn show(Given(desk): Given<Arc<Desk>>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    answer(desk, move |desk, cabinet| {
        let newest = cabinet.backups().pop();
        let trouble = hold(&desk.practice.trouble).clone();
        let kept = cabinet.read(settings::Kept::of)?;
        let main = html! {
            h1 { (text("prac.title")) }
            (done(&query))
            @if !trouble.is_empty() {
                div.missing role="alert" {
                    p { (text("prac.own_trouble")) }
                    ul { @for said in &trouble { li { (said) } } }
                }
            }
            (desk.practice.check.shown())
            (part("own", text("ownmap.title"), text("prac.own"), &[
                ("/practice/own/points", text("ownmap.points")),
                ("/practice/own/lines", text("ownmap.lines")),
                ("/practice/own/techniques", text("ownmap.techniques")),
                ("/practice/own/tools", text("ownmap.tools")),
                ("/practice/own/products", text("ownmap.products")),
            ]))
            (part("bring", text("bring.title"), text("prac.bring"), &[("/practice/import", text("bring.title"))]))
            section.part #safe aria-labelledby="safe-title" {
                h2 #safe-title { (text("safe.title")) }
                p {
                    @match &newest {
                        Some(b) => (fill("prac.newest", &[("day", &day_in_words(b.made))])),
                        None => (text("prac.no_backup")),
                    }
                }
                div.act {
                    a.button.go href="/practice/backups" { (text("safe.to_backups")) }
                    a.button href="/practice/passphrase" { (text("secret.title")) }
                    a.button href="/practice/check" { (text("secret.check_title")) }
                }
            }
            (part("devices", text("device.title"), text("device.lead"), &[("/practice/devices", text("device.title"))]))
            (settings::section(&kept, None))
            (part("leave", text("leave.title"), text("prac.leave"), &[
                ("/practice/export", text("leave.export_title")),
                ("/practice/changes", text("changes.title")),
                ("/practice/erase", text("leave.erase_all_title")),
            ]))
        };
        Ok(ok(page::whole(Here::Practice, text("prac.title"), main)))
    })
    .await
}

fn part(id: &str, title: &str, said: &str, links: &[(&str, &str)]) -> Markup {
    let title_id = format!("{id}-title");
    html! {
        section.part #(id) aria-labelledby=(title_id) {
            h2 #(title_id) { (title) }
            p { (said) }
            div.act { @for (to, words) in links { a.button href=(to) { (words) } } }
        }
    }
}
