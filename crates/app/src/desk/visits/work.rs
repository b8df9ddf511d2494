//! Measuring the photographs of a client's visit, keeping them, and what they say together.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::{Cabinet, ClientId, ConsentKind, Error, ErrorKind, Json, NewPhotograph, PhotographId, VisitId};
use colour::Tone;
use face::{Hands, Pixel, Signature};
use vision::{Care, Format};

use super::super::Desk;
use super::super::album::{Face, SHOWN_PX, SMALL_PX};
use super::super::keep;
use super::super::map_routes::to;
use super::memory::{Epoch, Shot};
use super::{MOST_KEPT, address, photo_of, visit_of};
use crate::catalogue::{fill, text};
use crate::following::readings;
use crate::json::measure::{PhotoOut, VisitOut};
use crate::json::measured;
use crate::measuring::visit::Gathering;
use crate::measuring::{Taken, Told, measure_photo};
use crate::own::{self, Refused};

pub fn media(format: Format) -> &'static str {
    match format {
        Format::Jpeg => "image/jpeg",
        Format::Png => "image/png",
        Format::WebP => "image/webp",
        Format::Heic => "image/heic",
    }
}

/// Measures one file.
fn look_at(name: String, bytes: Vec<u8>, told: &Told, visit: VisitId) -> Result<Shot, Refused> {
    let photo = own::photograph(&bytes)?;
    let media = media(photo.format);
    let photo = if told.mirrored { own::turned_over(photo) } else { photo };
    let found = own::find(&photo, Care::PHOTOGRAPH)?;
    let taken = measure_photo(&photo, &found, told)?;
    let broken = |_| Refused(text("photo.broken").to_owned());
    let (jpeg, small) = (photo.jpeg(SHOWN_PX, 88).map_err(broken)?, photo.jpeg(SMALL_PX, 82).map_err(broken)?);
    Ok(Shot { id: 0, visit, name, bytes, media, jpeg, small, taken })
}

/// Measures files and holds them as shots, as far as there is room; what is refused is said by name.
///
/// # Errors
/// Of the store.
pub fn look_at_all(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    visit: VisitId,
    files: Vec<(String, Vec<u8>)>,
    (tone, mirrored): (Option<Tone>, bool),
    refused: &mut Vec<String>,
) -> Result<(), Error> {
    let memory = &desk.album.practice;
    let epoch = memory.epoch();
    let mut first = first(desk, cabinet, client, None, epoch)?;
    for (name, bytes) in files {
        let kept = cabinet.read(|r| Ok((r.photographs(visit)?.len(), r.photograph_of(visit, &bytes)?)))?;
        let shots = memory.shots(visit);
        let refuse = |why: &str| fill("visit.refused", &[("name", &name), ("why", &why)]);
        if kept.1.is_some() || shots.iter().any(|s| s.bytes == bytes) {
            refused.push(refuse(text("visit.twice")));
        } else if kept.0 + shots.len() >= MOST_KEPT {
            refused.push(refuse(&fill("visit.no_room", &[("most", &MOST_KEPT)])));
        } else {
            let told = Told { tone, mirrored, first: first.clone(), ..Told::default() };
            match look_at(name.clone(), bytes, &told, visit) {
                Ok(shot) => {
                    first = first.or_else(|| own::signature_of(&shot.taken.landmarks));
                    memory.add_shot(epoch, shot);
                }
                Err(why) => refused.push(refuse(&why.0)),
            }
        }
    }
    memory.note(epoch, visit, std::mem::take(refused));
    Ok(())
}

/// The shape of a client's first photograph; none where there is none, or it is `not`.
fn first(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    not: Option<PhotographId>,
    epoch: Epoch,
) -> Result<Option<Signature>, Error> {
    let memory = &desk.album.practice;
    let found = cabinet.read(|r| {
        for visit in r.visits(client)? {
            if let Some(photo) = r.photographs(visit.id)?.first() {
                return Ok(Some(photo.id));
            }
        }
        Ok(None)
    })?;
    let Some(id) = found.filter(|id| Some(*id) != not) else { return Ok(None) };
    if let Some(known) = memory.first(client, id) {
        return Ok(Some(known));
    }
    let Ok(face) = face(desk, cabinet, client, id)? else { return Ok(None) };
    let shape = own::signature_of(&face.held().seen.map.landmarks);
    if let Some(shape) = &shape {
        memory.hold_first(epoch, client, id, shape.clone());
    }
    Ok(shape)
}

/// A kept photograph with what was found in it and what a hand set right; why not, in words.
///
/// # Errors
/// Of the store.
pub fn face(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    id: PhotographId,
) -> Result<Result<Arc<Face>, String>, Error> {
    let memory = &desk.album.practice;
    let epoch = memory.epoch();
    let (bytes, mirrored, hands) = {
        if let Some(face) = memory.face(id) {
            // Whose it is has to be asked all the same.
            cabinet.read(|r| photo_of(r, client, id))?;
            return Ok(Ok(face));
        }
        cabinet.read(|r| {
            let photo = photo_of(r, client, id)?;
            let last = r.measurements(photo.visit)?.into_iter().rev().find(|m| m.photograph == Some(id));
            let mirrored = last.and_then(|m| measured::photo(m.body.as_str())).is_some_and(|p| p.mirrored);
            let hands = r.corrections(id)?.last().map_or_else(Hands::default, |c| hands_of(c.body.as_str()));
            Ok((r.photograph_bytes(id)?, mirrored, hands))
        })?
    };
    let made = || -> Result<Arc<Face>, Refused> {
        let reading = own::Reading { mirrored, ..own::Reading::default() };
        let mut seen = own::read(&desk.atlas(), own::places(), own::photograph(&bytes)?, &reading)?;
        own::desk::correct(&desk.atlas(), &mut seen, &hands)?;
        Ok(Arc::new(Face::new(id.number().unsigned_abs(), None, seen, hands)?))
    };
    Ok(made().map_err(|why| why.0).inspect(|face| memory.hold_face(epoch, id, face)))
}

/// Corrections as they are kept: places in pixels of the unmirrored picture.
///
/// # Errors
/// Of the store: too long.
pub fn hands_json(hands: &Hands) -> Result<Json, Error> {
    let landmarks: Vec<_> = hands.landmarks.iter().map(|(n, p)| serde_json::json!([n, p.x, p.y])).collect();
    let hairline: Vec<_> = hands.hairline.iter().map(|p| [p.x, p.y]).collect();
    Json::new(serde_json::json!({ "landmarks": landmarks, "hairline": hairline }).to_string())
}

/// Corrections read back; what can't be read is passed over.
fn hands_of(text: &str) -> Hands {
    let json: serde_json::Value = serde_json::from_str(text).unwrap_or_default();
    let all = |key: &str| json[key].as_array().cloned().unwrap_or_default();
    let pixel = |x: &serde_json::Value, y: &serde_json::Value| Some(Pixel::new(x.as_f64()?, y.as_f64()?));
    let landmark = |l: &serde_json::Value| Some((usize::try_from(l[0].as_u64()?).ok()?, pixel(&l[1], &l[2])?));
    Hands {
        landmarks: all("landmarks").iter().filter_map(landmark).collect(),
        hairline: all("hairline").iter().filter_map(|p| pixel(&p[0], &p[1])).collect(),
    }
}

/// What a kept photograph says, corrections included: measured anew where it is not held.
fn taken(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    id: PhotographId,
) -> Result<Result<Arc<Taken>, String>, Error> {
    let memory = &desk.album.practice;
    let epoch = memory.epoch();
    if let Some(taken) = memory.taken(id) {
        return Ok(Ok(taken));
    }
    let face = match face(desk, cabinet, client, id)? {
        Ok(face) => face,
        Err(why) => return Ok(Err(why)),
    };
    let (tone, mirrored) = cabinet.read(|r| {
        let tone = r.client(client)?.tone.and_then(|t| Tone::parse(&t.class));
        let photo = photo_of(r, client, id)?;
        let last = r.measurements(photo.visit)?.into_iter().rev().find(|m| m.photograph == Some(id));
        Ok((tone, last.and_then(|m| measured::photo(m.body.as_str())).is_some_and(|p| p.mirrored)))
    })?;
    let first = first(desk, cabinet, client, Some(id), epoch)?;
    let held = face.held();
    let width = f64::from(held.seen.photo.width);
    // Corrections are kept on the unmirrored picture, and told as on the one that was sent.
    let hands = if mirrored { own::over(&held.hands, width) } else { held.hands.clone() };
    let told = Told { tone, mirrored, first, hands, ..Told::default() };
    let taken = measure_photo(&held.seen.photo, &held.seen.found, &told).map(Arc::new).map_err(|why| why.0);
    Ok(taken.inspect(|t| memory.hold_taken(epoch, id, t)))
}

fn json(of: &impl serde::Serialize) -> Result<Json, Error> {
    Json::new(serde_json::to_string(of).unwrap_or_default())
}

/// What all kept photographs of a visit say together, with one more that is about to be kept; an empty object where they say nothing.
fn together(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    visit: VisitId,
    more: Option<&Taken>,
) -> Result<Json, Error> {
    let kept = cabinet.read(|r| r.photographs(visit))?;
    let mut gathering = Gathering::default();
    for photo in kept {
        match taken(desk, cabinet, client, photo.id)? {
            Ok(taken) => gathering.add(&taken),
            Err(_) => gathering.add_refused(),
        }
    }
    if let Some(more) = more {
        gathering.add(more);
    }
    match gathering.combined() {
        Some(combined) => json(&VisitOut::new(&combined)),
        None => Json::new("{}"),
    }
}

/// The visit measured anew, as it is kept now.
///
/// # Errors
/// Of the store.
pub fn measure_visit(desk: &Desk, cabinet: &Cabinet, client: ClientId, visit: VisitId) -> Result<(), Error> {
    let said = together(desk, cabinet, client, visit, None)?;
    cabinet.write(keep::now(desk), |w| {
        w.add_measurement(visit, None, &said)?;
        readings::keep(w, visit)
    })
}

/// Keeps corrections, and measures the photograph and its visit anew; all or nothing.
///
/// # Errors
/// Of the store.
pub fn correct(desk: &Desk, cabinet: &Cabinet, client: ClientId, id: PhotographId, hands: &Hands) -> Result<(), Error> {
    let memory = &desk.album.practice;
    let (photo, shot) = cabinet.read(|r| photo_of(r, client, id).map(|p| (p.visit, p.shot)))?;
    memory.forget_taken(id);
    let one = match taken(desk, cabinet, client, id)? {
        Ok(taken) => Some(json(&PhotoOut::new(&shot, &taken))?),
        Err(_) => None,
    };
    let all = together(desk, cabinet, client, photo, None)?;
    let hands = hands_json(hands)?;
    cabinet.write(keep::now(desk), |w| {
        w.require(client, ConsentKind::Photographs)?;
        w.add_correction(id, &hands)?;
        if let Some(one) = &one {
            w.add_measurement(photo, Some(id), one)?;
        }
        w.add_measurement(photo, None, &all)?;
        readings::keep(w, photo)
    })
}

/// Keeps a shot: the file as taken, what it says, and what the visit says with it, in one transaction.
pub async fn keep(State(desk): State<Arc<Desk>>, Path((id, visit, shot)): Path<(i64, i64, u64)>) -> Response {
    let (client, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    keep::answer(desk, move |desk, cabinet| {
        let memory = &desk.album.practice;
        let epoch = memory.epoch();
        let kept = cabinet.read(|r| {
            visit_of(r, client, visit)?;
            Ok(r.photographs(visit)?.len())
        })?;
        let back = address(client, visit);
        let Some(shot) = memory.shots(visit).into_iter().find(|s| s.id == shot) else {
            memory.note(epoch, visit, vec![text("visit.shot_gone").to_owned()]);
            return Ok(to(&back));
        };
        if kept >= MOST_KEPT {
            memory.note(epoch, visit, vec![fill("visit.no_room", &[("most", &MOST_KEPT)])]);
            return Ok(to(&back));
        }
        let all = together(desk, cabinet, client, visit, Some(&shot.taken))?;
        let photo = cabinet.write(keep::now(desk), |w| {
            w.require(client, ConsentKind::Care)?;
            if w.photographs(visit)?.len() != kept {
                return Err(ErrorKind::Unchangeable("visit").into());
            }
            let [width, height] = shot.taken.picture;
            let name = (1..=MOST_KEPT).map(|n| format!("front {n}"));
            let known = w.photographs(visit)?;
            let name = name.into_iter().find(|n| known.iter().all(|p| p.shot != *n)).unwrap_or_default();
            let new = NewPhotograph { shot: &name, media: shot.media, width, height, bytes: &shot.bytes };
            let photo = w.add_photograph(visit, &new)?;
            w.add_measurement(visit, Some(photo), &json(&PhotoOut::new(&name, &shot.taken))?)?;
            w.add_measurement(visit, None, &all)?;
            readings::keep(w, visit)?;
            Ok(photo)
        })?;
        memory.hold_taken(epoch, photo, &Arc::new(shot.taken.clone()));
        memory.hold_picture(epoch, photo, false, shot.jpeg.clone());
        memory.hold_picture(epoch, photo, true, shot.small.clone());
        memory.drop_shot(shot.id);
        Ok(to(&format!("{back}?done=saved")))
    })
    .await
}

/// Drops a shot, to take it again.
pub async fn retake(State(desk): State<Arc<Desk>>, Path((id, visit, shot)): Path<(i64, i64, u64)>) -> Response {
    let (client, visit) = (ClientId::from_number(id), VisitId::from_number(visit));
    keep::answer(desk, move |desk, cabinet| {
        cabinet.read(|r| visit_of(r, client, visit))?;
        let memory = &desk.album.practice;
        if memory.shots(visit).iter().any(|s| s.id == shot) {
            memory.drop_shot(shot);
        }
        Ok(to(&format!("{}#more", address(client, visit))))
    })
    .await
}
