//! One frame in, what to draw on it out. The frame is dropped with the answer.

use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;
use plan::atlas::{Atlas, Kind};
use serde::Serialize;
use vision::{Followed, Limits, Photograph, View, decode};
use vocab::Side;

use super::super::map_routes::beside;
use super::super::{Desk, visitor};
use super::ask::{Ask, Asked};
use super::draw::{self, Drawn};
use super::running::Wait;
use crate::catalogue::text;
use crate::own;

/// The most bytes of a frame; a page's own are a twentieth of it.
pub const MOST_BYTES: usize = 256 * 1024;
/// The longest and the shortest side of a frame, px.
const SIDES: (u32, u32) = (640, 64);

/// How the head is turned, degrees; more than 0 to the person's own left, chin up, to their own left shoulder.
#[derive(Serialize)]
struct Turn {
    yaw: f64,
    pitch: f64,
    roll: f64,
}

/// What a frame shows.
#[derive(Default, Serialize)]
struct Answer {
    /// Width and height of the frame, px.
    size: [usize; 2],
    /// Whether a face is followed in it.
    seen: bool,
    /// Why nothing is drawn: `no_face`, `dark`, `several`, `turned`, `drawing` (the target is on the drawing alone), `hidden`.
    why: Option<&'static str>,
    /// The same in words; empty where all is well.
    says: &'static str,
    turn: Option<Turn>,
    mm_per_px: Option<f64>,
    now: Option<Drawn>,
    next: Option<Drawn>,
}

/// Looks at one frame: a small picture, JPEG as the page sends it. Bare pixels would spare the encoding (2 ms of a page) and cost more
/// on the way, fifty times as many bytes.
pub async fn look(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let Ok(bytes) = to_bytes(body, MOST_BYTES).await else {
        return told(StatusCode::PAYLOAD_TOO_LARGE, "live.too_large");
    };
    let query = parts.uri.query().unwrap_or_default().to_owned();
    beside(move || answer(&desk, &query, &bytes)).await
}

fn answer(desk: &Desk, query: &str, bytes: &Bytes) -> Response {
    let atlas = desk.atlas();
    let Ok(ask) = Ask::read(&atlas, query) else { return told(StatusCode::UNPROCESSABLE_ENTITY, "live.unknown") };
    let unreadable = || told(StatusCode::UNSUPPORTED_MEDIA_TYPE, "live.no_frame");
    let Some(photo) = picture(bytes) else { return unreadable() };
    let (width, height, rgb) = (photo.width as usize, photo.height as usize, photo.rgb8());
    let Some(view) = View::new(width, height, &rgb) else { return unreadable() };
    let Some(me) = visitor::me() else { return told(StatusCode::FORBIDDEN, "live.no_frame") };
    let wanted: Vec<(&str, Side)> = ask.now.iter().chain(&ask.next).flat_map(|s| points(&atlas, s)).collect();
    let followed = desk.live.next(me.cookie(), own::follower, |follower| follower.next(&view, own::places(), &wanted));
    match followed {
        Err(_) | Ok(Ok(Err(_))) => told(StatusCode::INTERNAL_SERVER_ERROR, "live.fault"),
        Ok(Err(Wait::Busy | Wait::Soon)) => told(StatusCode::TOO_MANY_REQUESTS, "live.busy"),
        Ok(Ok(Ok(followed))) => json(StatusCode::OK, &say(&atlas, &ask, [width, height], &followed)),
    }
}

/// The points that a step asks for.
fn points<'a>(atlas: &Atlas, asked: &Asked<'a>) -> Vec<(&'a str, Side)> {
    let target = asked.target;
    if target.kind != Kind::Point || !draw::carried(atlas, asked) {
        return Vec::new();
    }
    draw::sides(asked).iter().map(|side| (target.id.as_str(), *side)).collect()
}

fn say(atlas: &Atlas, ask: &Ask<'_>, size: [usize; 2], followed: &Followed) -> Answer {
    let none = |why: &'static str, says: &'static str| Answer { size, why: Some(why), says, ..Answer::default() };
    let map = match followed {
        Followed::Face(map) => map,
        Followed::NoFace => return none("no_face", text("live.no_face")),
        Followed::Dark => return none("dark", text("live.dark")),
        Followed::Several(_) => return none("several", text("live.several")),
        Followed::Turned(_) => return none("turned", text("live.turned")),
    };
    let pose = map.pose();
    let tenth = |v: f64| (v * 10.0).round() / 10.0;
    let on = |asked: &Option<Asked<'_>>, id| {
        asked.as_ref().filter(|a| draw::carried(atlas, a)).map(|a| draw::on(a, map, id)).filter(|d| d.drawn())
    };
    let now = on(&ask.now, "live-now");
    let (why, says) = match (&ask.now, &now) {
        (Some(_), None) => (Some("drawing"), text("live.on_drawing")),
        (_, Some(drawn)) if drawn.hidden() => (Some("hidden"), text("live.hidden")),
        _ => (None, ""),
    };
    Answer {
        size,
        seen: true,
        why,
        says,
        turn: Some(Turn { yaw: tenth(pose.yaw), pitch: tenth(pose.pitch), roll: tenth(pose.roll) }),
        mm_per_px: Some((map.scale.mm_per_px * 1e4).round() / 1e4),
        now,
        next: on(&ask.next, "live-next"),
    }
}

/// The frame. None where it is no picture, or not of a size that is looked at.
fn picture(bytes: &[u8]) -> Option<Photograph> {
    let (longest, shortest) = SIDES;
    let limits = Limits { most_bytes: MOST_BYTES, most_pixels: u64::from(longest).pow(2), most_side: longest };
    decode(bytes, &limits).ok().filter(|photo| photo.width.min(photo.height) >= shortest)
}

/// The page closes its camera: what is known of the face is forgotten at once.
pub async fn end(State(desk): State<Arc<Desk>>) -> Response {
    if let Some(me) = visitor::me() {
        desk.live.end(me.cookie());
    }
    json(StatusCode::OK, &Answer::default())
}

/// Why a frame was not looked at.
fn told(status: StatusCode, key: &'static str) -> Response {
    json(status, &Answer { why: Some("refused"), says: text(key), ..Answer::default() })
}

fn json(status: StatusCode, answer: &Answer) -> Response {
    let mut response = Response::new(Body::from(serde_json::to_vec(answer).unwrap_or_default()));
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    response
}
