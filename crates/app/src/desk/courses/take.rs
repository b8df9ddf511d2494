//! Home notes by the thousand: each found by its code, looked at and kept as any other, some hundred in one transaction.

use cabinet::{ClientId, CourseId, Error, Writer};
use vocab::Date;

use super::bundle::{self, Came};
use super::report::Report;
use crate::catalogue::fill;
use crate::desk::home::look::{self, State};
use crate::desk::keep::date_in_words;
use crate::notes::{self, HomeNote};

/// Files as they came are read as notes; what is none is told.
pub fn read(files: Vec<(String, Vec<u8>)>, report: &mut Report) -> Vec<(String, HomeNote)> {
    let mut read = Vec::new();
    for (name, bytes) in files {
        for (name, came) in bundle::open(&name, bytes) {
            report.files += 1;
            let came: Came = (name, came);
            match came.1.and_then(|bytes| notes::from_bytes(&bytes)) {
                Ok(note) => read.push((came.0, note)),
                Err(why) => report.broken.add(fill("homenotes.refused", &[("name", &came.0), ("why", &why)])),
            }
        }
    }
    report.notes += read.len();
    read
}

/// Keeps notes, in the caller's transaction. `newest`: a day that is kept with other words takes those of the note that was made later;
/// one that was typed at the desk since then stays.
///
/// # Errors
/// Of the store.
pub fn keep(
    w: &Writer<'_>,
    course: CourseId,
    all: &[(String, HomeNote)],
    newest: bool,
    report: &mut Report,
) -> Result<(), Error> {
    for (name, note) in all {
        match w.takehome_with(&note.code)?.and_then(|t| t.client) {
            Some(client) => one(w, course, name, note, (client, newest), report)?,
            None => {
                let why = fill("coursein.no_room", &[("name", name), ("code", &note.code)]);
                report.wait(name, note.clone(), why);
            }
        }
    }
    Ok(())
}

/// Keeps one note of a client.
///
/// # Errors
/// Of the store.
pub fn one(
    w: &Writer<'_>,
    course: CourseId,
    name: &str,
    note: &HomeNote,
    (client, newest): (ClientId, bool),
    report: &mut Report,
) -> Result<(), Error> {
    let looked = match look::look(w, note, Some(client))? {
        Ok(looked) => looked,
        Err(why) => {
            report.broken.add(fill("homenotes.refused", &[("name", &name), ("why", &why)]));
            return Ok(());
        }
    };
    let mut replace: Vec<Date> = Vec::new();
    for (day, state) in &looked.days {
        let older = report.made.get(&(client, day.day)).is_some_and(|made| *made > note.made);
        match state {
            // Nothing is lost where what is kept is in the note, or stays beside it.
            State::Differs { kept, more } if *more || (newest && !older && !look::typed_since(kept, note.made)) => {
                replace.push(day.day);
            }
            State::Differs { .. } => report.differ.add(fill(
                "coursein.differs",
                &[("name", &name), ("client", &looked.name), ("day", &date_in_words(day.day))],
            )),
            State::New | State::Same => {}
        }
        if matches!(state, State::New) || replace.last() == Some(&day.day) {
            report.made.insert((client, day.day), note.made);
        }
    }
    let done = look::keep(w, &looked, &replace)?;
    for (sum, n) in report.days.iter_mut().zip([done.new, done.replaced, done.same, done.left]) {
        *sum += n;
    }
    // Nobody is outside of what belongs to no course.
    report.outside += usize::from(course.number() != 0 && !w.is_in_course(course, client)?);
    Ok(())
}
