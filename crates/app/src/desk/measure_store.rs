//! The visits that the desk keeps in memory: which photographs belong together, and how they are to be read.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use colour::Tone;
use phantom::{Person, Setting, Shot, Space, UnderEye};
use vision::Photograph;

use super::album::PEOPLE;
use crate::own::invented;

/// A visit takes at most so many photographs.
pub const MOST_PHOTOGRAPHS: usize = 3;
/// At most so many visits are kept; the oldest is forgotten.
const MOST_VISITS: usize = 4;

/// Photographs of one person, taken together.
#[derive(Clone, Debug)]
pub struct Visit {
    /// Its number in addresses.
    pub id: u64,
    /// Their numbers in the album.
    pub faces: Vec<u64>,
    /// The skin class, if it was chosen.
    pub tone: Option<Tone>,
    /// Whether the pictures are mirror images.
    pub mirrored: bool,
    /// Whether the person is invented.
    pub invented: bool,
    /// What could not be used, and why, in words.
    pub refused: Vec<String>,
}

/// All that are kept.
#[derive(Default)]
pub struct Visits(Mutex<(u64, VecDeque<Arc<Visit>>)>);

impl Visits {
    fn kept(&self) -> MutexGuard<'_, (u64, VecDeque<Arc<Visit>>)> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps a visit; its number.
    pub fn keep(&self, visit: Visit) -> u64 {
        let mut kept = self.kept();
        kept.0 += 1;
        let id = kept.0;
        kept.1.push_back(Arc::new(Visit { id, ..visit }));
        while kept.1.len() > MOST_VISITS {
            kept.1.pop_front();
        }
        id
    }

    /// A visit that is kept.
    pub fn visit(&self, id: u64) -> Option<Arc<Visit>> {
        self.kept().1.iter().find(|v| v.id == id).cloned()
    }

    /// The same photographs read with another skin class.
    pub fn retone(&self, id: u64, tone: Option<Tone>) {
        if let Some(visit) = self.kept().1.iter_mut().find(|v| v.id == id) {
            *visit = Arc::new(Visit { tone, ..(**visit).clone() });
        }
    }

    /// Forgets a visit; which photographs it held.
    pub fn forget(&self, id: u64) -> Vec<u64> {
        let mut kept = self.kept();
        let faces = kept.1.iter().find(|v| v.id == id).map(|v| v.faces.clone());
        kept.1.retain(|v| v.id != id);
        faces.unwrap_or_default()
    }
}

/// Two photographs of one of the demo's people, as a visit asks for them, with a shadow under the eyes; and their class.
pub fn demo(person: usize) -> Option<(Vec<Photograph>, Tone)> {
    let (seed, _) = *PEOPLE.get(person)?;
    let who = Person::invented(seed);
    let tone = Tone::parse(who.tone.name())?;
    let under = UnderEye::of_severity(&who, 0.8 + 0.5 * person as f64, seed);
    let shot = |n: u64| Shot {
        jpeg_space: Space::Srgb,
        under_eye: under.clone(),
        ..Shot::measured(seed + 1000 * n, Setting::D65)
    };
    let photos = (1..=2).map(|n| invented::picture(&who, &shot(n)).0).collect::<Option<Vec<_>>>()?;
    Some((photos, tone))
}
