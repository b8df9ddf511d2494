//! Photographs that came in by the folder are measured beside the work: two at a time, visit by visit, from the cabinet into the cabinet.
//! What waits is known by the cabinet itself, so that a program that was cut off goes on where it was.

use std::collections::HashMap;
use std::sync::Arc;

use cabinet::{Cabinet, ClientId, Error, ErrorKind, Json, PhotographId, Time, VisitId};
use colour::Tone;
use face::Signature;
use vision::Finder;

use super::report::State;
use crate::catalogue::fill;
use crate::desk::keep::day_in_words;
use crate::following::readings;
use crate::json::measure::{PhotoOut, VisitOut};
use crate::measuring::visit::Gathering;
use crate::measuring::{Taken, Told, measure_file};
use crate::own;

/// So many photographs are measured at once.
const WORKERS: usize = 2;

/// Begins as many workers as are missing, where something waits.
pub fn beside(state: State, cabinet: Arc<Cabinet>, now: Time) {
    let waits = cabinet.read(|r| r.unmeasured(1)).is_ok_and(|(visits, _)| !visits.is_empty());
    let mut measuring = state.measuring();
    while waits && measuring.workers < WORKERS {
        measuring.workers += 1;
        let (state, cabinet) = (state.clone(), cabinet.clone());
        std::thread::spawn(move || {
            let worker = Worker { state: &state, cabinet: &cabinet, now, firsts: HashMap::new() };
            if let Err(error) = worker.run()
                && !matches!(error.kind(), ErrorKind::Locked)
            {
                eprintln!("{}", error.key());
            }
            state.measuring().workers -= 1;
        });
    }
}

struct Worker<'a> {
    state: &'a State,
    cabinet: &'a Cabinet,
    now: Time,
    /// The shape of a client's first photograph.
    firsts: HashMap<ClientId, (PhotographId, Option<Signature>)>,
}

impl Worker<'_> {
    fn run(mut self) -> Result<(), Error> {
        let Ok(finder) = Finder::new().map(|f| f.beside()) else { return Ok(()) };
        while let Some(visit) = self.next()? {
            let done = self.visit(&finder, visit);
            self.state.measuring().taken.remove(&visit);
            done?;
        }
        Ok(())
    }

    /// A visit that no other worker has in hand.
    fn next(&self) -> Result<Option<VisitId>, Error> {
        let mut measuring = self.state.measuring();
        let (waiting, _) = self.cabinet.read(|r| r.unmeasured(WORKERS as u32))?;
        let next = waiting.into_iter().find(|v| !measuring.taken.contains(v));
        measuring.taken.extend(next);
        Ok(next)
    }

    /// Measures all photographs of a visit and keeps what they say, with the visit's own answer, in one transaction. One that can't be
    /// measured is taken out again, and told.
    fn visit(&mut self, finder: &Finder, id: VisitId) -> Result<(), Error> {
        let (client, name, tone, photos) = self.cabinet.read(|r| {
            let visit = r.visit(id)?;
            let client = r.client(visit.client)?;
            let tone = client.tone.and_then(|t| Tone::parse(&t.class));
            Ok((visit.client, (client.details.name, day_in_words(visit.at)), tone, r.photographs(id)?))
        })?;
        let mut gathering = Gathering::default();
        let mut measured: Vec<(PhotographId, String, Result<Taken, String>)> = Vec::new();
        for photo in &photos {
            let first = self.first(client, photo.id)?;
            let bytes = self.cabinet.read(|r| r.photograph_bytes(photo.id))?;
            let told = Told { tone, first, ..Told::default() };
            let taken = measure_file(&bytes, finder, &told).map_err(|why| why.0);
            if let Ok(taken) = &taken {
                gathering.add(taken);
            }
            measured.push((photo.id, photo.shot.clone(), taken));
        }
        let all = match gathering.combined() {
            Some(combined) => json(&VisitOut::new(&combined))?,
            None => Json::new("{}")?,
        };
        self.cabinet.write(self.now, |w| {
            let known: Vec<PhotographId> = w.photographs(id)?.iter().map(|p| p.id).collect();
            let measured_before = w.measurements(id)?;
            for (photo, shot, taken) in &measured {
                // Somebody may have taken it out meanwhile; what was measured before stays as it was.
                if !known.contains(photo) || measured_before.iter().any(|m| m.photograph == Some(*photo)) {
                    continue;
                }
                match taken {
                    Ok(taken) => drop(w.add_measurement(id, Some(*photo), &json(&PhotoOut::new(shot, taken))?)?),
                    Err(_) => w.remove_photograph(*photo)?,
                }
            }
            if w.photographs(id)?.is_empty() {
                return w.remove_visit(id);
            }
            w.add_measurement(id, None, &all)?;
            readings::keep(w, id)
        })?;
        let mut measuring = self.state.measuring();
        measuring.done += measured.iter().filter(|m| m.2.is_ok()).count();
        for (_, _, taken) in measured {
            if let Err(why) = taken {
                let said = fill("coursein.not_measured", &[("name", &name.0), ("day", &name.1), ("why", &why)]);
                measuring.refused.add(said);
            }
        }
        Ok(())
    }

    /// The shape of the client's first photograph, unless this is the first.
    fn first(&mut self, client: ClientId, not: PhotographId) -> Result<Option<Signature>, Error> {
        if let Some((id, shape)) = self.firsts.get(&client) {
            return Ok(shape.clone().filter(|_| *id != not));
        }
        let found = self.cabinet.read(|r| {
            for visit in r.visits(client)? {
                if let Some(photo) = r.photographs(visit.id)?.first() {
                    return Ok(Some((photo.id, r.photograph_bytes(photo.id)?)));
                }
            }
            Ok(None)
        })?;
        let Some((id, bytes)) = found else { return Ok(None) };
        let shape = own::signature(&bytes).ok();
        self.firsts.insert(client, (id, shape.clone()));
        Ok(shape.filter(|_| id != not))
    }
}

fn json(of: &impl serde::Serialize) -> Result<Json, Error> {
    Json::new(serde_json::to_string(of).unwrap_or_default())
}
