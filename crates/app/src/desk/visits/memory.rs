//! What is held in memory of clients' photographs: shots that nobody has decided on yet, pictures made for pages, faces with their
//! maps. All of it goes when the practice locks, and none of it is ever written down.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use cabinet::{ClientId, PhotographId, VisitId};
use face::Signature;

use super::super::album::Face;
use crate::following::pair::Made;
use crate::measuring::Taken;

/// At most so many shots wait to be kept, of all clients together; the oldest is forgotten.
const MOST_SHOTS: usize = 9;
/// At most so many faces are held with their pixels.
const MOST_FACES: usize = 2;
/// At most so many bytes of pictures for pages.
const MOST_PICTURES: usize = 64 << 20;
/// At most so many pairs of pictures.
const MOST_PAIRS: usize = 4;
/// At most so many measurements, without pixels.
const MOST_TAKEN: usize = 64;

/// A photograph that was brought or taken, and is not kept yet.
pub struct Shot {
    /// Its number in addresses.
    pub id: u64,
    /// Of which visit.
    pub visit: VisitId,
    /// What its file is called.
    pub name: String,
    /// The file, as taken.
    pub bytes: Vec<u8>,
    /// Its media type.
    pub media: &'static str,
    /// The picture for a page: nothing of the file but pixels.
    pub jpeg: Vec<u8>,
    /// A small one.
    pub small: Vec<u8>,
    /// What it says.
    pub taken: Taken,
}

/// A picture made for a page, large or small.
type Picture = ((PhotographId, bool), Arc<Vec<u8>>);

/// First and latest laid over each other: of which photographs, with how many corrections each.
pub type PairKey = [(PhotographId, usize); 2];

#[derive(Default)]
struct Inner {
    epoch: u64,
    last: u64,
    shots: VecDeque<Arc<Shot>>,
    notes: HashMap<VisitId, Vec<String>>,
    pictures: VecDeque<Picture>,
    faces: VecDeque<(PhotographId, Arc<Face>)>,
    taken: VecDeque<(PhotographId, Arc<Taken>)>,
    firsts: HashMap<ClientId, (PhotographId, Signature)>,
    pairs: VecDeque<(PairKey, Arc<Made>)>,
}

/// A word for the time between two locks: what was begun before a lock is not held after it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Epoch(u64);

/// All of it.
#[derive(Default)]
pub struct Memory(Mutex<Inner>);

impl Memory {
    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The time now, to be given back with what is to be held.
    pub fn epoch(&self) -> Epoch {
        Epoch(self.inner().epoch)
    }

    fn since(&self, epoch: Epoch) -> Option<MutexGuard<'_, Inner>> {
        Some(self.inner()).filter(|i| i.epoch == epoch.0)
    }

    /// Forgets everything.
    pub fn forget(&self) {
        let mut inner = self.inner();
        *inner = Inner { epoch: inner.epoch + 1, last: inner.last, ..Inner::default() };
    }

    /// Holds a shot until it is kept or dropped.
    pub fn add_shot(&self, epoch: Epoch, shot: Shot) {
        let Some(mut inner) = self.since(epoch) else { return };
        inner.last += 1;
        let id = inner.last;
        inner.shots.push_back(Arc::new(Shot { id, ..shot }));
        while inner.shots.len() > MOST_SHOTS {
            inner.shots.pop_front();
        }
    }

    /// The shots of a visit, in the order they came.
    pub fn shots(&self, visit: VisitId) -> Vec<Arc<Shot>> {
        self.inner().shots.iter().filter(|s| s.visit == visit).cloned().collect()
    }

    /// Drops a shot.
    pub fn drop_shot(&self, id: u64) {
        self.inner().shots.retain(|s| s.id != id);
    }

    /// Drops every shot of a visit.
    pub fn drop_shots(&self, visit: VisitId) {
        self.inner().shots.retain(|s| s.visit != visit);
    }

    /// What is to be said of what was brought, until it is brought anew.
    pub fn note(&self, epoch: Epoch, visit: VisitId, notes: Vec<String>) {
        if let Some(mut inner) = self.since(epoch) {
            inner.notes.insert(visit, notes);
        }
    }

    /// What is to be said; it is said once.
    pub fn take_notes(&self, visit: VisitId) -> Vec<String> {
        self.inner().notes.remove(&visit).unwrap_or_default()
    }

    /// A picture for a page.
    pub fn picture(&self, id: PhotographId, small: bool) -> Option<Arc<Vec<u8>>> {
        self.inner().pictures.iter().find(|p| p.0 == (id, small)).map(|p| p.1.clone())
    }

    /// Holds a picture for a page.
    pub fn hold_picture(&self, epoch: Epoch, id: PhotographId, small: bool, jpeg: Vec<u8>) {
        let Some(mut inner) = self.since(epoch) else { return };
        inner.pictures.retain(|p| p.0 != (id, small));
        inner.pictures.push_back(((id, small), Arc::new(jpeg)));
        let mut bytes: usize = inner.pictures.iter().map(|p| p.1.len()).sum();
        while bytes > MOST_PICTURES {
            bytes -= inner.pictures.pop_front().map_or(bytes, |p| p.1.len());
        }
    }

    /// A face with its map.
    pub fn face(&self, id: PhotographId) -> Option<Arc<Face>> {
        self.inner().faces.iter().find(|f| f.0 == id).map(|f| f.1.clone())
    }

    /// Holds a face.
    pub fn hold_face(&self, epoch: Epoch, id: PhotographId, face: &Arc<Face>) {
        let Some(mut inner) = self.since(epoch) else { return };
        inner.faces.retain(|f| f.0 != id);
        inner.faces.push_back((id, face.clone()));
        while inner.faces.len() > MOST_FACES {
            inner.faces.pop_front();
        }
    }

    /// What was measured on a photograph.
    pub fn taken(&self, id: PhotographId) -> Option<Arc<Taken>> {
        self.inner().taken.iter().find(|t| t.0 == id).map(|t| t.1.clone())
    }

    /// Holds what was measured.
    pub fn hold_taken(&self, epoch: Epoch, id: PhotographId, taken: &Arc<Taken>) {
        let Some(mut inner) = self.since(epoch) else { return };
        inner.taken.retain(|t| t.0 != id);
        inner.taken.push_back((id, taken.clone()));
        while inner.taken.len() > MOST_TAKEN {
            inner.taken.pop_front();
        }
    }

    /// Forgets what was measured on a photograph: it is to be measured anew.
    pub fn forget_taken(&self, id: PhotographId) {
        self.inner().taken.retain(|t| t.0 != id);
    }

    /// The shape of a client's first photograph, if it is still this one.
    pub fn first(&self, client: ClientId, photograph: PhotographId) -> Option<Signature> {
        self.inner().firsts.get(&client).filter(|f| f.0 == photograph).map(|f| f.1.clone())
    }

    /// Holds the shape of a client's first photograph.
    pub fn hold_first(&self, epoch: Epoch, client: ClientId, photograph: PhotographId, shape: Signature) {
        if let Some(mut inner) = self.since(epoch) {
            inner.firsts.insert(client, (photograph, shape));
        }
    }

    /// First and latest, if they were made before.
    pub fn pair(&self, key: &PairKey) -> Option<Arc<Made>> {
        self.inner().pairs.iter().find(|p| p.0 == *key).map(|p| p.1.clone())
    }

    /// Holds first and latest.
    pub fn hold_pair(&self, epoch: Epoch, key: PairKey, made: &Arc<Made>) {
        let Some(mut inner) = self.since(epoch) else { return };
        inner.pairs.retain(|p| p.0 != key);
        inner.pairs.push_back((key, made.clone()));
        while inner.pairs.len() > MOST_PAIRS {
            inner.pairs.pop_front();
        }
    }

    /// Forgets a photograph.
    pub fn forget_photograph(&self, id: PhotographId) {
        let mut inner = self.inner();
        inner.pictures.retain(|p| p.0.0 != id);
        inner.faces.retain(|f| f.0 != id);
        inner.taken.retain(|t| t.0 != id);
        inner.firsts.retain(|_, f| f.0 != id);
        inner.pairs.retain(|p| p.0.iter().all(|k| k.0 != id));
    }
}
