//! The routes of the measurement: bringing the photographs of a visit, looking at what they say, forgetting them.

use std::sync::Arc;

use axum::Router;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{DefaultBodyLimit, Multipart, Path, Request, State};
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use axum::routing::{get, post};
use colour::Tone;
use face::Signature;
use vision::{Limits, Photograph};

use super::album::PEOPLE;
use super::map_routes::{PATIENCE, beside, form, ok, to, up_to, value};
use super::measure_ask::{self, Note};
use super::measure_shown::{self, Photo};
use super::measure_store::{MOST_PHOTOGRAPHS, Visit, demo};
use super::reply::{self, html};
use super::{Desk, page};
use crate::catalogue::{fill, text};
use crate::measuring::figures::{Figures, Looked};
use crate::measuring::visit::Gathering;
use crate::measuring::{Told, measure_photo};
use crate::own::{self, Reading};

type Shared = State<Arc<Desk>>;

/// The routes.
pub fn routes() -> Router<Arc<Desk>> {
    let most = Limits::default().most_bytes * PATIENCE;
    Router::new()
        .route("/measure", get(ask).post(receive).layer(DefaultBodyLimit::max(most)))
        .route("/measure/choose", post(choose))
        .route("/measure/{id}", get(look))
        .route("/measure/{id}/tone", post(retone))
        .route("/measure/{id}/forget", post(forget))
}

async fn ask(uri: Uri) -> Response {
    let query = uri.query().unwrap_or_default();
    let said = |name: &str| form_urlencoded::parse(query.as_bytes()).any(|(n, v)| n == name && v == "1");
    let note = match (said("forgotten"), said("gone")) {
        (true, _) => Note::Forgotten,
        (_, true) => Note::Gone,
        _ => Note::None,
    };
    ok(measure_ask::page(None, false, &note))
}

/// What the form says.
#[derive(Default)]
struct Brought {
    /// Each file; none where it is larger than any photograph.
    photos: Vec<Option<Vec<u8>>>,
    more: bool,
    tone: Option<Tone>,
    mirrored: bool,
}

async fn receive(State(desk): Shared, sent: Result<Multipart, MultipartRejection>) -> Response {
    let Ok(sent) = sent else { return html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()) };
    let Some(brought) = read_form(sent).await else { return html(StatusCode::BAD_REQUEST, page::unreadable()) };
    beside(move || keep(&desk, brought)).await
}

async fn read_form(mut sent: Multipart) -> Option<Brought> {
    let mut brought = Brought::default();
    while let Some(field) = sent.next_field().await.ok()? {
        match field.name().unwrap_or_default() {
            "photo" => {
                let named = field.file_name().is_some_and(|n| !n.is_empty());
                let most = if brought.photos.len() < MOST_PHOTOGRAPHS { Limits::default().most_bytes } else { 0 };
                let (bytes, whole) = up_to(field, most).await?;
                // A browser sends a field without name and bytes where no file was chosen.
                if named || !bytes.is_empty() {
                    let beyond = brought.photos.len() == MOST_PHOTOGRAPHS;
                    brought.more |= beyond;
                    brought.photos.extend((!beyond).then_some(whole.then_some(bytes)));
                }
            }
            "mirrored" => brought.mirrored = up_to(field, 64).await?.0 == b"yes",
            "tone" => brought.tone = std::str::from_utf8(&up_to(field, 64).await?.0).ok().and_then(Tone::parse),
            _ => {
                up_to(field, 0).await?;
            }
        }
    }
    Some(brought)
}

/// Keeps what can be used, or says on the same page why nothing can.
fn keep(desk: &Desk, brought: Brought) -> Response {
    let Brought { photos, more, tone, mirrored } = brought;
    let refuse = |why: &[String]| ok(measure_ask::page(tone, mirrored, &Note::Refused(why)));
    if photos.is_empty() {
        return refuse(&[text("measpage.choose_first").to_owned()]);
    }
    let (mut faces, mut refused) = (Vec::new(), Vec::new());
    let reading = Reading { mirrored, ..Reading::default() };
    let several = photos.len() > 1;
    for (i, photo) in photos.into_iter().enumerate() {
        let made = match photo {
            None => Err(fill("photo.too_many_bytes", &[("most", &(Limits::default().most_bytes / 1_000_000))])),
            Some(bytes) => own::photograph(&bytes)
                .and_then(|photo| desk.album.keep(&desk.atlas(), photo, &reading, None))
                .map_err(|why| why.0),
        };
        match made {
            Ok(face) => faces.push(face.id),
            Err(why) if several => refused.push(fill("measpage.refused", &[("n", &(i + 1)), ("why", &why)])),
            Err(why) => refused.push(why),
        }
    }
    if faces.is_empty() {
        return refuse(&refused);
    }
    if more {
        refused.push(fill("measpage.too_many", &[("most", &MOST_PHOTOGRAPHS)]));
    }
    shown(desk, Visit { id: 0, faces, tone, mirrored, invented: false, refused })
}

fn shown(desk: &Desk, visit: Visit) -> Response {
    to(&format!("/measure/{}", desk.visits.keep(visit)))
}

async fn choose(State(desk): Shared, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    let person = value(&body, "person").and_then(|p| p.parse::<usize>().ok()).filter(|p| *p < PEOPLE.len());
    beside(move || {
        let Some(person) = person else { return reply::lost_page() };
        let Some((photos, tone)) = demo(person) else { return html(StatusCode::INTERNAL_SERVER_ERROR, page::fault()) };
        // A number of its own: the map shows this person in another photograph.
        let number = Some(PEOPLE.len() + person);
        let kept = |photo: Photograph| desk.album.keep(&desk.atlas(), photo, &Reading::default(), number);
        let faces: Result<Vec<u64>, own::Refused> = photos.into_iter().map(|p| Ok(kept(p)?.id)).collect();
        match faces {
            Ok(faces) => {
                let (mirrored, invented, refused) = (false, true, Vec::new());
                shown(&desk, Visit { id: 0, faces, tone: Some(tone), mirrored, invented, refused })
            }
            Err(why) => ok(measure_ask::page(None, false, &Note::Refused(&[why.0]))),
        }
    })
    .await
}

/// Measures the photographs of a visit as they are now, corrections by hand included.
async fn look(State(desk): Shared, Path(id): Path<u64>) -> Response {
    beside(move || {
        let Some(visit) = desk.visits.visit(id) else { return to("/measure?gone=1") };
        let mut photos: Vec<Photo> = Vec::new();
        let (mut first, mut gathering): (Option<Signature>, _) = (None, Gathering::default());
        for face in visit.faces.iter().filter_map(|id| desk.album.face(*id)) {
            let held = face.held();
            let seen = &held.seen;
            let mut told = Told { tone: visit.tone, first: first.clone(), mirrored: visit.mirrored, ..Told::default() };
            // Corrections are kept on the unmirrored picture, and told as on the one that was sent.
            let width = f64::from(seen.photo.width);
            told.hands = if visit.mirrored { own::over(&held.hands, width) } else { held.hands.clone() };
            let taken = measure_photo(&seen.photo, &seen.found, &told);
            match &taken {
                Ok(taken) => gathering.add(taken),
                Err(_) => gathering.add_refused(),
            }
            first = first.or_else(|| Some(Signature::of(&seen.map.head)));
            photos.push((face.id, taken.map(|t| Looked::of(&t)).map_err(|why| why.0)));
        }
        if photos.is_empty() {
            desk.visits.forget(id);
            return to("/measure?gone=1");
        }
        let combined = gathering.combined().map(|c| Figures::of(&c));
        ok(measure_shown::page(&visit, &photos, combined.as_ref()))
    })
    .await
}

async fn retone(State(desk): Shared, Path(id): Path<u64>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let body = match form(&parts.headers, body).await {
        Ok(body) => body,
        Err(response) => return response,
    };
    desk.visits.retone(id, value(&body, "tone").as_deref().and_then(Tone::parse));
    to(&format!("/measure/{id}"))
}

async fn forget(State(desk): Shared, Path(id): Path<u64>) -> Response {
    for face in desk.visits.forget(id) {
        desk.album.forget(face);
    }
    to("/measure?forgotten=1")
}
