//! One frame in, what to draw on it out. The frame is dropped with the answer.

use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::Response;
use plan::atlas::{Atlas, Kind};
use serde::Serialize;
use vision::{Followed, Limits, View, decode};
use vocab::Side;

use super::super::map_routes::beside;
use super::super::{Desk, visitor};
use super::ask::{Ask, Asked};
use super::draw::{self, Drawn};
use super::running::Wait;
use crate::catalogue::text;
use crate::own;

/// The most bytes of a frame: bare pixels of 640 by 480 in four bytes each.
pub const MOST_BYTES: usize = 640 * 480 * 4;
/// The longest and the shortest side of a frame, px.
const SIDES: (usize, usize) = (640, 64);

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

/// Looks at one frame: a JPEG, or bare pixels (red, green, blue, unused) with their size in the address.
pub async fn look(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let Ok(bytes) = to_bytes(body, MOST_BYTES).await else {
        return told(StatusCode::PAYLOAD_TOO_LARGE, "live.too_large");
    };
    let query = parts.uri.query().unwrap_or_default().to_owned();
    beside(move || answer(&desk, &parts.headers, &query, &bytes)).await
}

fn answer(desk: &Desk, headers: &HeaderMap, query: &str, bytes: &Bytes) -> Response {
    let atlas = desk.atlas();
    let Ok(ask) = Ask::read(&atlas, query) else { return told(StatusCode::UNPROCESSABLE_ENTITY, "live.unknown") };
    let Some((width, height, rgb)) = pixels(headers, ask.size, bytes) else {
        return told(StatusCode::UNSUPPORTED_MEDIA_TYPE, "live.no_frame");
    };
    let Some(view) = View::new(width, height, &rgb) else {
        return told(StatusCode::UNSUPPORTED_MEDIA_TYPE, "live.no_frame");
    };
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

/// The frame's own pixels. None where it is none, or not of a size that is looked at.
fn pixels(headers: &HeaderMap, size: Option<(usize, usize)>, bytes: &[u8]) -> Option<(usize, usize, Vec<u8>)> {
    let (longest, shortest) = SIDES;
    let right = |w: usize, h: usize| w.max(h) <= longest && w.min(h) >= shortest;
    let media = headers.get(header::CONTENT_TYPE).and_then(|m| m.to_str().ok()).unwrap_or_default();
    if media.starts_with("application/octet-stream") {
        let (w, h) = size.filter(|(w, h)| right(*w, *h) && bytes.len() == 4 * w * h)?;
        return Some((w, h, bytes.chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect()));
    }
    let side = longest as u32;
    let limits = Limits { most_bytes: MOST_BYTES, most_pixels: u64::from(side) * u64::from(side), most_side: side };
    let photo = decode(bytes, &limits).ok()?;
    let (w, h) = (photo.width as usize, photo.height as usize);
    right(w, h).then(|| (w, h, photo.rgb8().into_owned()))
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
