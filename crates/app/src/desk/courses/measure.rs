//! Photographs that came in by the folder are measured beside the work: two at a time, visit by visit, from the cabinet into the cabinet.
//! What waits is known by the cabinet itself, so that a program that was cut off goes on where it was.

use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use cabinet::{Cabinet, ClientId, ConsentKind, Error, ErrorKind, Json, PhotographId, Reader, Time, VisitId};
use colour::Tone;
use face::Signature;
use vision::Finder;

use super::report::State;
use crate::catalogue::{fill, text};
use crate::desk::keep::day_in_words;
use crate::following::readings;
use crate::json::measure::{PhotoOut, RefusedOut, VisitOut};
use crate::measuring::visit::Gathering;
use crate::measuring::{Taken, Told, measure_file};
use crate::own::{self, Refused};

/// So many photographs are measured at once.
const WORKERS: usize = 2;

/// Begins as many workers as are missing, where something waits.
pub fn beside(state: State, cabinet: Arc<Cabinet>, now: Time) {
    let waits = cabinet.read(|r| r.unmeasured(1)).is_ok_and(|(visits, _)| !visits.is_empty());
    let mut measuring = state.measuring();
    if measuring.workers == 0 {
        // What was passed over the last time is looked at once more.
        measuring.taken.clear();
    }
    while waits && measuring.workers < WORKERS {
        measuring.workers += 1;
        let (state, cabinet) = (state.clone(), cabinet.clone());
        std::thread::spawn(move || {
            let _running = Running(&state);
            let worker = Worker { state: &state, cabinet: &cabinet, now, firsts: HashMap::new() };
            if let Err(error) = worker.run()
                && !matches!(error.kind(), ErrorKind::Locked)
            {
                eprintln!("{}", error.key());
            }
        });
    }
}

/// A worker that runs, until it is over, be it by a fault.
struct Running<'a>(&'a State);

impl Drop for Running<'_> {
    fn drop(&mut self) {
        self.0.measuring().workers -= 1;
    }
}

/// A visit in hand, until its worker lets go of it, be it by a fault.
struct InHand<'a> {
    state: &'a State,
    visit: VisitId,
    /// Nobody takes it up again in this run.
    passed_over: bool,
}

impl Drop for InHand<'_> {
    fn drop(&mut self) {
        if !self.passed_over {
            self.state.measuring().taken.remove(&self.visit);
        }
    }
}

/// A photograph: its shot, and what it says or why it could not be measured.
type One = (PhotographId, String, Result<Taken, String>);

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
            let mut hand = InHand { state: self.state, visit, passed_over: false };
            match self.visit(&finder, visit) {
                Ok(allowed) => hand.passed_over = !allowed,
                // The client was erased, or the visit taken out meanwhile.
                Err(error) if is_gone(&error) => hand.passed_over = true,
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }

    /// A visit that no worker has in hand, and that was not passed over.
    fn next(&self) -> Result<Option<VisitId>, Error> {
        let mut measuring = self.state.measuring();
        let most = u32::try_from(measuring.taken.len() + 1).unwrap_or(u32::MAX);
        let (waiting, _) = self.cabinet.read(|r| r.unmeasured(most))?;
        let next = waiting.into_iter().find(|v| !measuring.taken.contains(v));
        measuring.taken.extend(next);
        Ok(next)
    }

    /// Measures all photographs of a visit and keeps what they say; whether that was allowed.
    fn visit(&mut self, finder: &Finder, id: VisitId) -> Result<bool, Error> {
        let (client, name, day, tone, photos, allowed) = self.cabinet.read(|r| {
            let visit = r.visit(id)?;
            let client = r.client(visit.client)?;
            let tone = client.tone.and_then(|t| Tone::parse(&t.class));
            let allowed = consents(r, visit.client)?;
            Ok((visit.client, client.details.name, day_in_words(visit.at), tone, r.photographs(id)?, allowed))
        })?;
        if !allowed {
            self.tell_no_consent(&name, &day);
            return Ok(false);
        }
        let mut measured: Vec<One> = Vec::new();
        for photo in &photos {
            let first = self.first(client, photo.id)?;
            let bytes = match self.cabinet.read(|r| r.photograph_bytes(photo.id)) {
                Ok(bytes) => bytes,
                // Somebody took it out meanwhile.
                Err(error) if is_gone(&error) => continue,
                Err(error) => return Err(error),
            };
            let told = Told { tone, first, ..Told::default() };
            // A fault of ours in one photograph must not take the others with it.
            let taken = catch_unwind(AssertUnwindSafe(|| measure_file(&bytes, finder, &told)))
                .unwrap_or_else(|_| Err(Refused(text("measure.fault").to_owned())));
            measured.push((photo.id, photo.shot.clone(), taken.map_err(|why| why.0)));
        }
        let Some((new, refused)) = keep(self.cabinet, self.now, (client, id), &measured)? else {
            self.tell_no_consent(&name, &day);
            return Ok(false);
        };
        let mut measuring = self.state.measuring();
        measuring.done += new;
        for why in refused {
            measuring.refused.add(not_measured(&name, &day, &why));
        }
        Ok(true)
    }

    /// Nothing of a visit may be measured. Told once, however often it is met.
    fn tell_no_consent(&self, name: &str, day: &str) {
        let said = not_measured(name, day, &fill("coursein.no_consent", &[("name", &name)]));
        let mut measuring = self.state.measuring();
        if !measuring.refused.all.contains(&said) {
            measuring.refused.add(said);
        }
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
        let shape = catch_unwind(|| own::signature(&bytes).ok()).unwrap_or_default();
        self.firsts.insert(client, (id, shape.clone()));
        Ok(shape.filter(|_| id != not))
    }
}

/// Whether what was worked on is not there any more.
fn is_gone(error: &Error) -> bool {
    matches!(error.kind(), ErrorKind::NoSuch(..))
}

/// Whether photographs of a client may be measured.
fn consents(r: &Reader<'_>, client: ClientId) -> Result<bool, Error> {
    Ok(r.consents_to(client, ConsentKind::Care)? && r.consents_to(client, ConsentKind::Photographs)?)
}

fn not_measured(name: &str, day: &str, why: &str) -> String {
    fill("coursein.not_measured", &[("name", &name), ("day", &day), ("why", &why)])
}

/// Keeps what the photographs of a visit say, with the visit's own answer, in one transaction. One that can't be measured stays, with
/// the reason for its answer. How many were measured, and the reasons; none where a consent was taken back meanwhile.
fn keep(
    cabinet: &Cabinet,
    now: Time,
    (client, id): (ClientId, VisitId),
    measured: &[One],
) -> Result<Option<(usize, Vec<String>)>, Error> {
    cabinet.write(now, |w| {
        w.visit(id)?;
        if !consents(w, client)? {
            return Ok(None);
        }
        let known: Vec<PhotographId> = w.photographs(id)?.iter().map(|p| p.id).collect();
        let before = w.measurements(id)?;
        let (mut gathering, mut new, mut refused) = (Gathering::default(), 0, Vec::new());
        // Somebody may have taken one out meanwhile.
        for (photo, shot, taken) in measured.iter().filter(|one| known.contains(&one.0)) {
            let answer = match taken {
                Ok(taken) => {
                    gathering.add(taken);
                    json(&PhotoOut::new(shot, taken))?
                }
                Err(why) => {
                    gathering.add_refused();
                    json(&RefusedOut::new(shot, why))?
                }
            };
            // What was measured before stays as it was.
            if before.iter().any(|m| m.photograph == Some(*photo)) {
                continue;
            }
            w.add_measurement(id, Some(*photo), &answer)?;
            match taken {
                Ok(_) => new += 1,
                Err(why) => refused.push(why.clone()),
            }
        }
        if new == 0 && refused.is_empty() {
            return Ok(Some((new, refused)));
        }
        let all = match gathering.combined() {
            Some(combined) => json(&VisitOut::new(&combined))?,
            None => Json::new("{}")?,
        };
        w.add_measurement(id, None, &all)?;
        readings::keep(w, id)?;
        Ok(Some((new, refused)))
    })
}

fn json(of: &impl serde::Serialize) -> Result<Json, Error> {
    Json::new(serde_json::to_string(of).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use cabinet::{Cost, Details, NewPhotograph, Passphrase};

    use super::*;
    use crate::json::measured;

    #[test]
    fn what_cannot_be_measured_stays_with_the_reason_and_nothing_is_kept_without_consent() {
        let folder = std::env::temp_dir().join(format!("beside-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        let now = Time::from_unix(0);
        let words = Passphrase::new("horse lamp river seven");
        let store = Cabinet::create(&folder, &words, Cost::FOR_TESTS, now).expect("made");
        let new = |shot: &'static str, bytes: &'static [u8]| NewPhotograph {
            shot,
            media: "image/jpeg",
            width: 1,
            height: 1,
            bytes,
        };
        let made = store.write(now, |w| {
            let client = w.add_client(&Details { name: "Ana".into(), ..Default::default() })?;
            for kind in [ConsentKind::Care, ConsentKind::Photographs] {
                w.record_consent(client, kind, true, now, "1")?;
            }
            let visit = w.add_visit(client, now, &Json::new("{}")?)?;
            Ok((client, visit, w.add_photograph(visit, &new("front 1", &[1]))?))
        });
        let (client, visit, photo) = made.expect("written");
        let none: [One; 1] = [(photo, "front 1".to_owned(), Err("No face.".to_owned()))];
        let told = keep(&store, now, (client, visit), &none).expect("kept");
        assert_eq!(told, Some((0, vec!["No face.".to_owned()])));
        let look = || store.read(|r| Ok((r.photographs(visit)?.len(), r.unmeasured(9)?.1, r.measurements(visit)?)));
        let (photographs, waiting, answers) = look().expect("read");
        assert_eq!((photographs, waiting), (1, 0));
        let answer = answers.iter().find(|m| m.photograph == Some(photo)).expect("an answer");
        let why = measured::photo(answer.body.as_str()).and_then(|p| p.looked.err());
        assert_eq!(why.as_deref(), Some("No face."));

        let second = store.write(now, |w| {
            let photo = w.add_photograph(visit, &new("front 2", &[2]))?;
            w.record_consent(client, ConsentKind::Photographs, false, now, "1")?;
            Ok(photo)
        });
        let second: [One; 1] = [(second.expect("written"), "front 2".to_owned(), Err("No face.".to_owned()))];
        assert_eq!(keep(&store, now, (client, visit), &second).expect("asked"), None);
        let (photographs, waiting, answers) = look().expect("read");
        assert_eq!((photographs, waiting, answers.len()), (2, 1, 2));

        store.write(now, |w| w.remove_visit(visit)).expect("removed");
        let gone = keep(&store, now, (client, visit), &second).expect_err("there is no such visit");
        assert!(is_gone(&gone));
        std::fs::remove_dir_all(&folder).expect("removed");
    }

    #[test]
    fn a_fault_leaves_no_worker_and_no_visit_taken() {
        let state = State::default();
        let visit = VisitId::from_number(7);
        let work = |passed_over: bool| {
            state.measuring().workers += 1;
            state.measuring().taken.insert(visit);
            let fault: Result<(), _> = catch_unwind(AssertUnwindSafe(|| {
                let _running = Running(&state);
                let _hand = InHand { state: &state, visit, passed_over };
                std::panic::resume_unwind(Box::new("a fault"));
            }));
            assert!(fault.is_err());
            let measuring = state.measuring();
            (measuring.workers, measuring.taken.len())
        };
        assert_eq!(work(false), (0, 0));
        assert_eq!(work(true), (0, 1), "what was passed over stays so");
    }
}
