//! The page of a new visit: its conditions, and its photographs where they are consented to.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::{Client, ClientId, ConsentKind};
use colour::Tone;
use maud::{Markup, html};

use super::super::Desk;
use super::super::fields::{Field, choice, lines};
use super::super::keep;
use super::super::map_routes::ok;
use super::super::measure_ask;
use super::super::page::{self, Here};
use super::super::visitor::token;
use super::MOST_KEPT;
use crate::catalogue::{fill, text};

/// What a visit was made under: each condition's name and what it asks.
pub const CONDITIONS: [(&str, &str); 5] = [
    ("light", "visit.light"),
    ("place", "visit.place"),
    ("hour", "visit.hour"),
    ("slept", "visit.slept"),
    ("notes", "visit.notes"),
];

/// Each light and how it is called.
pub const LIGHTS: [(&str, &str); 4] =
    [("window", "visit.window"), ("lamp", "visit.lamp"), ("mixed", "visit.mixed"), ("outdoors", "visit.outdoors")];

/// The form as it stands.
#[derive(Default)]
pub struct Form {
    /// The conditions, in the order of [`CONDITIONS`].
    pub conditions: [String; 5],
    /// The chosen tone.
    pub tone: Option<Tone>,
    /// Whether the pictures are mirror images.
    pub mirrored: bool,
}

pub async fn new(State(desk): State<Arc<Desk>>, Path(id): Path<i64>) -> Response {
    let id = ClientId::from_number(id);
    keep::answer(desk, move |_, cabinet| {
        let (client, photographs) = cabinet.read(|r| {
            let client = r.client(id)?;
            r.require(id, ConsentKind::Care)?;
            Ok((client, r.consents_to(id, ConsentKind::Photographs)?))
        })?;
        Ok(ok(page(&client, photographs, &Form::default(), &[])))
    })
    .await
}

/// The page.
pub fn page(client: &Client, photographs: bool, form: &Form, wrong: &[String]) -> Markup {
    let at = format!("/clients/{}", client.id);
    let [light, place, hour, slept, notes] = &form.conditions;
    let lights: Vec<(&str, &str)> = LIGHTS.iter().map(|(value, key)| (*value, text(key))).collect();
    let main = html! {
        div.heading { div {
            h1 { (text("visit.new")) }
            p.lead { (fill("visit.new_lead", &[("name", &client.details.name)])) }
        } }
        @if !wrong.is_empty() { div.missing role="alert" { @for why in wrong { p { (why) } } } }
        form.visit-form #visit-form method="post" action={ (at) "/visits/new" } enctype="multipart/form-data" {
            (token())
            section aria-labelledby="conditions-title" {
                h2 #conditions-title { (text("visit.conditions")) }
                p.hint { (text("visit.conditions_hint")) }
                (choice("light", text("visit.light"), &lights, light))
                (Field::text("place", text("visit.place"), place).show())
                (Field::text("hour", text("visit.hour"), hour).kind("time").show())
                (Field::text("slept", text("visit.slept"), slept).show())
                (lines("notes", text("visit.notes"), notes, 3, None))
            }
            section aria-labelledby="photos-title" {
                h2 #photos-title { (text("visit.photographs")) }
                @if photographs {
                    (bring(client, MOST_KEPT, form))
                } @else {
                    p.gently { (text("visit.no_consent")) " " a href={ (at) "#consents" } { (text("visit.to_consents")) } }
                }
            }
            div.act {
                button.go type="submit" { (text("visit.make")) }
                p.hint #measuring role="status" data-busy=(text("measpage.busy")) {}
                a href=(at) { (text("visit.back")) }
            }
        }
    };
    page::whole(Here::Visit, text("visit.new"), main)
}

/// The camera, and files or a folder. It works without script; with script they can be dropped, and the camera shows itself.
pub fn bring(client: &Client, room: usize, form: &Form) -> Markup {
    html! {
        (camera(client.id))
        div.drop #visit-drop {
            label for="photos" { (text("visit.files")) }
            input #photos type="file" name="photo" multiple data-room=(room)
                accept="image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif";
            label for="folder" { (text("visit.folder")) }
            input #folder type="file" name="photo" webkitdirectory multiple;
            p.hint { (fill("visit.room", &[("most", &MOST_KEPT), ("room", &room)])) }
            p.hint.dropping hidden { (text("visit.drop_hint")) }
            p.hint #chosen role="status" data-one=(text("measpage.chosen_one")) data-many=(text("measpage.chosen")) {}
        }
        @if client.tone.is_none() {
            (measure_ask::tones(form.tone))
            p.hint { (text("visit.tone_hint")) }
        }
        label.choice for="mirrored" {
            input #mirrored type="checkbox" name="mirrored" value="yes" checked[form.mirrored];
            span { (text("mappage.mirrored")) }
        }
        p.hint { (text("mappage.mirrored_hint")) }
        (measure_ask::conventions())
    }
}

/// The camera: hidden until the script finds one.
fn camera(client: ClientId) -> Markup {
    html! {
        div.camera #camera hidden data-frame={ "/clients/" (client) "/visits/frame" } data-none=(text("camera.none"))
            data-denied=(text("camera.denied")) data-taken=(text("camera.taken")) data-busy=(text("measpage.busy")) data-wait=(text("camera.wait")) {
            button #camera-on type="button" { (text("camera.on")) }
            p.hint #camera-said role="status" {}
            div #camera-view hidden {
                div.camera-frame {
                    video #camera-video autoplay muted playsinline aria-label=(text("camera.video")) {}
                    svg.camera-outline viewBox="0 0 300 400" preserveAspectRatio="xMidYMid meet" aria-hidden="true" {
                        ellipse cx="150" cy="195" rx="92" ry="128" {}
                        line x1="58" x2="242" y1="180" y2="180" {}
                    }
                }
                p.camera-ready #camera-ready role="status" { (text("camera.wait")) }
                ul.camera-gates #camera-gates {}
                p.hint { (text("camera.later")) }
                div.act {
                    button.shutter #shutter type="button" { (text("camera.shutter")) }
                    button.quiet #camera-off type="button" { (text("camera.off")) }
                }
                p.hint { (text("camera.keys")) }
            }
        }
    }
}
