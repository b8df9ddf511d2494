//! The two pictures, made when they are asked for and held in memory alone.

use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::{Path, State};
use axum::response::Response;
use cabinet::{Cabinet, ClientId, ConsentKind, Error, WeeksId};

use super::super::map_routes::jpeg;
use super::super::{Desk, keep, visits};
use super::chosen;
use crate::catalogue::text;
use crate::following::one::must;
use crate::following::pair::{Chosen, Made, make};

/// One pair is made at a time.
static MAKING: Mutex<()> = Mutex::new(());

/// `first.jpg`.
pub async fn first(state: State<Arc<Desk>>, path: Path<(i64, i64)>) -> Response {
    picture(state, path, 0).await
}

/// `latest.jpg`.
pub async fn latest(state: State<Arc<Desk>>, path: Path<(i64, i64)>) -> Response {
    picture(state, path, 1).await
}

async fn picture(State(desk): State<Arc<Desk>>, Path((id, weeks)): Path<(i64, i64)>, which: usize) -> Response {
    let (id, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    keep::answer(desk, move |desk, cabinet| {
        let Some(today) = desk.today() else { return keep::lost() };
        let both = cabinet.read(|r| {
            let followed = must(r, id, weeks, today)?;
            r.require(id, ConsentKind::Photographs)?;
            chosen(r, &followed)
        })?;
        let Some(both) = both else { return keep::lost() };
        match made(desk, cabinet, id, &both)? {
            Ok(made) => Ok(jpeg(made.jpeg[which].clone())),
            Err(_) => keep::lost(),
        }
    })
    .await
}

/// The two pictures of two photographs; why not, in words.
///
/// # Errors
/// Of the store.
pub fn made(
    desk: &Desk,
    cabinet: &Cabinet,
    client: ClientId,
    both: &[Chosen; 2],
) -> Result<Result<Arc<Made>, String>, Error> {
    let memory = &desk.album.practice;
    let epoch = memory.epoch();
    let key = both.each_ref().map(|c| (c.photograph, c.corrections));
    // A page asks for both at once: the second waits for what the first makes.
    let _one = MAKING.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(made) = memory.pair(&key) {
        return Ok(Ok(made));
    }
    let mut faces = Vec::new();
    for chosen in both {
        match visits::face_of(desk, cabinet, client, chosen.photograph)? {
            Ok(face) => faces.push(face),
            Err(why) => return Ok(Err(why)),
        }
    }
    let [first, latest] = faces.as_slice() else { return Ok(Err(text("photo.broken").to_owned())) };
    let (first, latest) = (first.held(), latest.held());
    let made = make([(&first.seen.photo, &first.seen.map.landmarks), (&latest.seen.photo, &latest.seen.map.landmarks)]);
    Ok(made.map(Arc::new).inspect(|m| memory.hold_pair(epoch, key, m)).ok_or_else(|| text("photo.broken").to_owned()))
}
