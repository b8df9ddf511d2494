//! A look at a frame of the camera while the face is put in place. The frame is small, is never stored, and what is said of it comes from
//! the gates of the measurement, as far as a small frame can show them.

use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::extract::{Path, Request, State};
use axum::http::{StatusCode, header};
use axum::response::Response;
use cabinet::{ClientId, ConsentKind};
use measure::{Gate, GateName};
use serde::Serialize;
use vision::{Care, Limits, decode};

use super::super::map_routes::value;
use super::super::{Desk, keep, page, reply};
use crate::catalogue::{fill, text};
use crate::measuring::{Told, measure_photo, words};
use crate::own;

/// The most bytes of a frame.
pub const MOST_BYTES: usize = 512 * 1024;
/// The longest side of a frame, in pixels.
const MOST_SIDE: u32 = 1280;
/// What a small frame can't show: how sharp the lashes are, what was left out of skin, the card's own errors and the light's colour.
const NEEDS_ALL: [GateName; 6] =
    [GateName::Sharpness, GateName::LeftOut, GateName::Skin, GateName::Cast, GateName::CardFlat, GateName::CardFit];
/// A face whose box is longer than this share of the frame's longer side stands too near: its chin or forehead is soon cut off.
const TOO_NEAR: f64 = 0.72;

/// What is said of one thing.
#[derive(Serialize)]
struct Told1 {
    name: &'static str,
    passed: bool,
    says: String,
}

#[derive(Serialize)]
struct Answer {
    face: bool,
    card: bool,
    ready: bool,
    says: String,
    gates: Vec<Told1>,
}

/// Looks at one frame. The query's `scale` says how many times wider the camera's own picture is.
pub async fn look(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, request: Request) -> Response {
    let scale =
        value(request.uri().query().unwrap_or_default().as_bytes(), "scale").and_then(|s| s.parse::<f64>().ok());
    let scale = scale.filter(|s| (0.1..=40.0).contains(s)).unwrap_or(1.0);
    let Ok(bytes) = to_bytes(request.into_body(), MOST_BYTES).await else {
        return reply::html(StatusCode::PAYLOAD_TOO_LARGE, page::unreadable());
    };
    keep::answer(desk, move |_, cabinet| {
        cabinet.read(|r| {
            r.require(ClientId::from_number(id), ConsentKind::Care)?;
            r.require(ClientId::from_number(id), ConsentKind::Photographs)
        })?;
        let limits = Limits { most_bytes: MOST_BYTES, most_pixels: u64::from(MOST_SIDE).pow(2), most_side: MOST_SIDE };
        let Ok(photo) = decode(&bytes, &limits) else {
            return Ok(reply::html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()));
        };
        let said = answer_for(&photo, scale);
        let mut response = Response::new(Body::from(serde_json::to_vec(&said).unwrap_or_default()));
        let json = axum::http::HeaderValue::from_static("application/json");
        response.headers_mut().insert(header::CONTENT_TYPE, json);
        Ok(response)
    })
    .await
}

fn answer_for(photo: &vision::Photograph, scale: f64) -> Answer {
    let none = |says: &str| Answer { face: false, card: false, ready: false, says: says.to_owned(), gates: Vec::new() };
    let Ok(found) = own::find(photo, Care::ONE_PASS) else { return none(text("camera.no_face")) };
    let Ok(taken) = measure_photo(photo, &found, &Told::default()) else { return none(text("camera.no_face")) };
    let mut gates: Vec<Told1> = Vec::new();
    let mut say = |name: &'static str, passed: bool, says: String| gates.push(Told1 { name, passed, says });
    let near = found.share > TOO_NEAR;
    for gate in taken.measured.gates.iter().filter(|g| !NEEDS_ALL.contains(&g.name)) {
        // The iris is as wide as the camera's own picture has it.
        let gate = if gate.name == GateName::IrisPx { Gate::of(gate.name, gate.value * scale) } else { *gate };
        if gate.name == GateName::IrisPx {
            let passed = gate.passed && !near;
            let key = if near {
                "camera.near"
            } else if passed {
                "camera.distance"
            } else {
                "camera.far"
            };
            say("distance", passed, text(key).to_owned());
        } else {
            let title = words::gate_title(gate.name);
            let says = if gate.passed {
                fill("camera.fine", &[("what", &title)])
            } else {
                format!("{title}: {}", words::advice(gate.name))
            };
            say(gate.name.name(), gate.passed, says);
        }
    }
    let card = !taken.patches.is_empty();
    let ready = gates.iter().all(|g| g.passed) && found.faces == 1;
    let first = gates.iter().find(|g| !g.passed).map(|g| g.says.clone());
    let several = (found.faces > 1).then(|| text("camera.several").to_owned());
    let mut says = several.or(first).unwrap_or_else(|| text("camera.ready").to_owned());
    says.push(' ');
    says.push_str(text(if card { "camera.card" } else { "camera.no_card" }));
    Answer { face: true, card, ready, says, gates }
}
