//! What the forms of a visit bring: conditions, and photographs.

use std::sync::Arc;

use axum::extract::multipart::{Field, MultipartRejection};
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{Client, ClientId, ConsentKind, Error, Json, VisitId};
use colour::Tone;
use vision::Limits;

use super::super::keep::{self, again};
use super::super::map_routes::{to, up_to};
use super::super::reply::html;
use super::super::{Desk, page};
use super::ask::{self, CONDITIONS, Form};
use super::{MOST_KEPT, address, visit_of, work};
use crate::catalogue::{fill, text};

/// The longest condition, in bytes.
const MOST_WORDS: usize = 4096;

/// What a form brought.
#[derive(Default)]
pub struct Brought {
    form: Form,
    /// Each file that may be a picture: its name and its bytes.
    pub files: Vec<(String, Vec<u8>)>,
    /// What was not taken, and why, in words.
    pub refused: Vec<String>,
    too_long: bool,
}

/// Whether a file begins as the pictures do that are read here: JPEG (ITU-T T.81), PNG, RIFF WebP, ISO base media (HEIC).
fn begins_as_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, 0xd8, 0xff])
        || bytes.starts_with(b"\x89PNG\r\n\x1a\n")
        || (bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP"))
        || bytes.get(4..8) == Some(b"ftyp")
}

/// A name as it may stand on a page: the last part of a path, not too long.
fn name_of(field: &Field<'_>) -> String {
    let name = field.file_name().unwrap_or_default();
    name.rsplit(['/', '\\']).next().unwrap_or_default().chars().filter(|c| !c.is_control()).take(80).collect()
}

async fn read(mut sent: Multipart) -> Option<Brought> {
    let mut brought = Brought::default();
    while let Some(field) = sent.next_field().await.ok()? {
        let name = field.name().unwrap_or_default().to_owned();
        if name == "photo" {
            file(&mut brought, field).await?;
            continue;
        }
        let (bytes, whole) = up_to(field, MOST_WORDS).await?;
        let said = String::from_utf8_lossy(&bytes).trim().replace("\r\n", "\n");
        match name.as_str() {
            "mirrored" => brought.form.mirrored = said == "yes",
            "tone" => brought.form.tone = Tone::parse(&said),
            name => {
                if let Some(k) = CONDITIONS.iter().position(|c| c.0 == name) {
                    brought.too_long |= !whole;
                    brought.form.conditions[k] = said;
                }
            }
        }
    }
    Some(brought)
}

async fn file(brought: &mut Brought, field: Field<'_>) -> Option<()> {
    let name = name_of(&field);
    let full = brought.files.len() >= MOST_KEPT;
    let most = Limits::default().most_bytes;
    // Beyond the last place a file is only looked at as far as is needed to say what it is.
    let (bytes, whole) = up_to(field, if full { 0 } else { most }).await?;
    if name.is_empty() && bytes.is_empty() && whole {
        return Some(());
    }
    let shown = if name.is_empty() { text("visit.nameless").to_owned() } else { name };
    let refuse = |why: &str| fill("visit.refused", &[("name", &shown), ("why", &why)]);
    if full {
        brought.refused.push(refuse(&fill("visit.no_room", &[("most", &MOST_KEPT)])));
    } else if !whole {
        brought.refused.push(refuse(&fill("photo.too_many_bytes", &[("most", &(most / 1_000_000))])));
    } else if bytes.is_empty() {
        brought.refused.push(refuse(text("photo.empty")));
    } else if !begins_as_picture(&bytes) {
        brought.refused.push(refuse(text("photo.not_an_image")));
    } else if brought.files.iter().any(|(_, known)| *known == bytes) {
        brought.refused.push(refuse(text("visit.twice")));
    } else {
        brought.files.push((shown, bytes));
    }
    Some(())
}

async fn all(sent: Result<Multipart, MultipartRejection>) -> Result<Brought, Response> {
    let sent = sent.map_err(|_| html(StatusCode::UNSUPPORTED_MEDIA_TYPE, page::unreadable()))?;
    read(sent).await.ok_or_else(|| html(StatusCode::BAD_REQUEST, page::unreadable()))
}

fn conditions(form: &Form) -> Result<Json, Error> {
    let said = CONDITIONS.iter().zip(&form.conditions).filter(|(_, v)| !v.is_empty());
    let map: serde_json::Map<String, serde_json::Value> =
        said.map(|((name, _), v)| ((*name).to_owned(), v.clone().into())).collect();
    Json::new(serde_json::Value::Object(map).to_string())
}

/// A new visit, with the photographs that came with it.
pub async fn new(
    State(desk): State<Arc<Desk>>,
    Path(id): Path<i64>,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    let id = ClientId::from_number(id);
    let brought = match all(sent).await {
        Ok(brought) => brought,
        Err(response) => return response,
    };
    keep::answer(desk, move |desk, cabinet| {
        let (client, photographs) = cabinet.read(|r| {
            let client = r.client(id)?;
            r.require(id, ConsentKind::Care)?;
            Ok((client, r.consents_to(id, ConsentKind::Photographs)?))
        })?;
        if brought.too_long {
            let why = [fill("visit.too_long", &[("most", &MOST_WORDS)])];
            return Ok(again(ask::page(&client, photographs, &brought.form, &why)));
        }
        if !photographs && !brought.files.is_empty() {
            let why = [text("visit.no_consent").to_owned()];
            let mut response = again(ask::page(&client, photographs, &brought.form, &why));
            *response.status_mut() = StatusCode::CONFLICT;
            return Ok(response);
        }
        // Only files came, and none is a picture: nothing is begun, and what was typed stands.
        if brought.files.is_empty() && !brought.refused.is_empty() {
            return Ok(again(ask::page(&client, photographs, &brought.form, &brought.refused)));
        }
        let now = keep::now(desk);
        let said = conditions(&brought.form)?;
        let visit = cabinet.write(now, |w| {
            w.require(id, ConsentKind::Care)?;
            w.add_visit(id, now, &said)
        })?;
        taken_in(desk, cabinet, &client, visit, brought)?;
        Ok(to(&address(id, visit)))
    })
    .await
}

/// More photographs of a visit.
pub async fn more(
    State(desk): State<Arc<Desk>>,
    Path((id, visit)): Path<(i64, i64)>,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    let (id, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    let mut brought = match all(sent).await {
        Ok(brought) => brought,
        Err(response) => return response,
    };
    keep::answer(desk, move |desk, cabinet| {
        let client = cabinet.read(|r| {
            visit_of(r, id, visit)?;
            r.require(id, ConsentKind::Care)?;
            r.require(id, ConsentKind::Photographs)?;
            r.client(id)
        })?;
        if brought.files.is_empty() && brought.refused.is_empty() {
            brought.refused.push(text("measpage.choose_first").to_owned());
        }
        taken_in(desk, cabinet, &client, visit, brought)?;
        Ok(to(&address(id, visit)))
    })
    .await
}

/// Fixes the tone, measures each file, and holds it as a shot.
fn taken_in(
    desk: &Desk,
    cabinet: &cabinet::Cabinet,
    client: &Client,
    visit: VisitId,
    brought: Brought,
) -> Result<(), Error> {
    let Brought { form, files, mut refused, .. } = brought;
    if let (None, Some(tone), false) = (&client.tone, form.tone, files.is_empty()) {
        cabinet.write(keep::now(desk), |w| w.fix_tone(client.id, tone.name(), None))?;
    }
    let tone = client.tone.as_ref().and_then(|t| Tone::parse(&t.class)).or(form.tone);
    work::look_at_all(desk, cabinet, client.id, visit, files, (tone, form.mirrored), &mut refused)
}
