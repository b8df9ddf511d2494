//! What the desk keeps in memory while it runs: faces and routines to be seen on them. Nothing of it is written down.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use face::Hands;
use phantom::{Person, Shot};
use plan::atlas::Atlas;
use plan::draft::Draft;
use vision::Photograph;

use super::visits::memory::Memory;
use crate::own::{self, Reading, Refused, Seen, invented};

/// At most so many faces are kept; the oldest is forgotten.
pub const MOST_FACES: usize = 8;
/// At most so many routines wait for a face.
const MOST_ROUTINES: usize = 4;
/// The longer side of a photograph as a page shows it, in pixels.
pub const SHOWN_PX: u32 = 1600;
/// The longer side of a small picture, in pixels.
pub const SMALL_PX: u32 = 360;

/// The demo's people: the seed of each, and how they turn toward the camera, in degrees (yaw, pitch, roll).
pub const PEOPLE: [(u64, [f64; 3]); 6] = [
    (11, [2.0, 0.0, 1.0]),
    (4, [-4.0, 2.0, -2.0]),
    (7, [0.0, -2.0, 0.0]),
    (22, [6.0, 1.0, 3.0]),
    (15, [-2.0, 3.0, 2.0]),
    (31, [3.0, -3.0, -3.0]),
];

/// A face with its photograph.
pub struct Face {
    /// Its number in addresses.
    pub id: u64,
    /// Which of the demo's people it is.
    pub invented: Option<usize>,
    /// The photograph for a page: no place, no time, no camera in it.
    pub jpeg: Vec<u8>,
    held: Mutex<Held>,
}

/// What was found in a photograph, and what a hand set right.
pub struct Held {
    /// What was found, and the map.
    pub seen: Seen,
    /// The corrections.
    pub hands: Hands,
}

impl Face {
    /// A face as it was found, under a number.
    ///
    /// # Errors
    /// Its picture can't be written for a page.
    pub fn new(id: u64, invented: Option<usize>, seen: Seen, hands: Hands) -> Result<Face, Refused> {
        let broken = |_| Refused(crate::catalogue::text("photo.broken").to_owned());
        let jpeg = seen.photo.jpeg(SHOWN_PX, 88).map_err(broken)?;
        Ok(Face { id, invented, jpeg, held: Mutex::new(Held { seen, hands }) })
    }

    /// The map, for as long as the guard lives.
    pub fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A routine that is to be seen on a face. The answers it was made from are not kept.
pub struct Onto {
    /// Its number in addresses.
    pub id: u64,
    /// What it is called.
    pub title: String,
    /// The routine.
    pub draft: Draft,
}

/// One of the demo's people, rendered.
struct Drawn {
    photo: Photograph,
    small: Vec<u8>,
}

#[derive(Default)]
struct Kept {
    last: u64,
    faces: VecDeque<Arc<Face>>,
    routines: VecDeque<Arc<Onto>>,
}

/// Everything that is kept in memory.
#[derive(Default)]
pub struct Album {
    kept: Mutex<Kept>,
    people: [OnceLock<Option<Drawn>>; PEOPLE.len()],
    /// What is behind the practice's door.
    pub practice: Memory,
}

impl Album {
    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn drawn(&self, person: usize) -> Option<&Drawn> {
        let (cell, (seed, [yaw, pitch, roll])) = (self.people.get(person)?, *PEOPLE.get(person)?);
        cell.get_or_init(|| {
            let plain = Shot { width: 720, height: 900, yaw, pitch, roll, seed, ..Shot::plain() };
            let shot = Shot { gaze: [-yaw, -pitch], ..plain };
            let photo = invented::picture(&Person::invented(seed), &shot).0?;
            let small = photo.jpeg(SMALL_PX, 82).ok()?;
            Some(Drawn { photo, small })
        })
        .as_ref()
    }

    /// The small picture of one of the demo's people; it is rendered when first asked for.
    pub fn small(&self, person: usize) -> Option<&[u8]> {
        self.drawn(person).map(|d| d.small.as_slice())
    }

    /// One of the demo's people as a face with a map.
    pub fn person(&self, atlas: &Atlas, person: usize) -> Option<Result<Arc<Face>, Refused>> {
        let known = self.kept().faces.iter().find(|f| f.invented == Some(person)).cloned();
        if let Some(face) = known {
            return Some(Ok(face));
        }
        let photo = self.drawn(person)?.photo.clone();
        Some(self.keep(atlas, photo, &Reading::default(), Some(person)))
    }

    /// Finds the face in a photograph and keeps it.
    pub fn keep(
        &self,
        atlas: &Atlas,
        photo: Photograph,
        reading: &Reading,
        invented: Option<usize>,
    ) -> Result<Arc<Face>, Refused> {
        let seen = own::read(atlas, own::places(), photo, reading)?;
        let face = Face::new(0, invented, seen, Hands::default())?;
        let mut kept = self.kept();
        kept.last += 1;
        let face = Arc::new(Face { id: kept.last, ..face });
        kept.faces.push_back(face.clone());
        while kept.faces.len() > MOST_FACES {
            kept.faces.pop_front();
        }
        Ok(face)
    }

    /// A face that is kept.
    pub fn face(&self, id: u64) -> Option<Arc<Face>> {
        self.kept().faces.iter().find(|f| f.id == id).cloned()
    }

    /// The photographs that were brought, the latest first.
    pub fn brought(&self) -> Vec<Arc<Face>> {
        self.kept().faces.iter().rev().filter(|f| f.invented.is_none()).cloned().collect()
    }

    /// Forgets every face and routine.
    pub fn forget_all(&self) {
        self.practice.forget();
        let mut kept = self.kept();
        kept.faces.clear();
        kept.routines.clear();
    }

    /// Forgets a face.
    pub fn forget(&self, id: u64) {
        self.kept().faces.retain(|f| f.id != id);
    }

    /// Keeps a routine for a face.
    pub fn onto(&self, title: String, draft: Draft) -> u64 {
        let mut kept = self.kept();
        kept.last += 1;
        let id = kept.last;
        kept.routines.push_back(Arc::new(Onto { id, title, draft }));
        while kept.routines.len() > MOST_ROUTINES {
            kept.routines.pop_front();
        }
        id
    }

    /// A routine that is kept.
    pub fn routine(&self, id: u64) -> Option<Arc<Onto>> {
        self.kept().routines.iter().find(|r| r.id == id).cloned()
    }
}
