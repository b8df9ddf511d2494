//! Clients from elsewhere: CSV tables and vCards. A row that can't be taken is named with its line, what is wrong and what
//! to do, and its text is handed back, so that nothing is lost.

mod csv;
mod text;
mod vcard;

use crate::access::{Reader, Writer};
use crate::clients::Details;
use crate::error::Error;
use crate::id::ClientId;

pub use self::csv::read_csv;
pub use self::vcard::read_vcards;
use crate::text::quiet;

quiet!(ReadClient, Problem, Reading);

/// The most bytes of a file that is read.
pub const MOST_IMPORT_BYTES: usize = 64 * 1024 * 1024;

/// What a file holds.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Reading {
    /// Clients that can be taken, in the order of the file.
    pub clients: Vec<ReadClient>,
    /// What can't be taken, or was taken otherwise than it stood there.
    pub problems: Vec<Problem>,
}

/// A client as a file tells of them.
#[derive(Clone, PartialEq, Eq)]
pub struct ReadClient {
    /// The line on which they begin, from 1.
    pub line: usize,
    /// What is known. What the store has no field for stands in the notes, with its heading.
    pub details: Details,
}

/// Something in a file that needs a person.
#[derive(Clone, PartialEq, Eq)]
pub struct Problem {
    /// The line, from 1; 0: the whole file.
    pub line: usize,
    /// Whether the client of this line was left out; otherwise they are among the clients, and this is how they were read.
    pub left_out: bool,
    /// What is wrong, and what to do. Holds nothing of the file's contents but headings.
    pub message: String,
    /// The text that was not taken.
    pub text: String,
}

/// What importing came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Clients that were added, by line.
    pub added: Vec<(usize, ClientId)>,
    /// Lines that were not added since there is somebody of that name and birth, with who that is.
    pub doubles: Vec<(usize, ClientId)>,
}

/// What to do with somebody whose name and birth are there already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubles {
    /// Leave them out, and say who they seem to be.
    LeaveOut,
    /// Add them as another person.
    Add,
}

impl Reading {
    pub(crate) fn left_out(&mut self, line: usize, message: impl Into<String>, text: impl Into<String>) {
        self.problems.push(Problem { line, left_out: true, message: message.into(), text: text.into() });
    }

    pub(crate) fn otherwise(&mut self, line: usize, message: impl Into<String>, text: impl Into<String>) {
        self.problems.push(Problem { line, left_out: false, message: message.into(), text: text.into() });
    }

    /// Takes a client whose fields can be kept, names the first that can't.
    pub(crate) fn take(&mut self, line: usize, mut details: Details, text: &str) {
        if let Err(error) = details.check() {
            // What is not a language is worth a note, not a client.
            let language = std::mem::take(&mut details.language);
            if !language.is_empty() && details.check().is_ok() {
                note(&mut details, "language", &language);
                self.otherwise(line, "the language is no language tag (as `en`): it was put into the notes", language);
            } else {
                self.left_out(line, format!("{error} Mend this line and import it again."), text);
                return;
            }
        }
        self.clients.push(ReadClient { line, details });
    }

    /// In the order of the lines.
    pub(crate) fn sorted(mut self) -> Reading {
        self.problems.sort_by_key(|p| p.line);
        self
    }
}

/// Adds a line to the notes: what there is no field for.
pub(crate) fn note(details: &mut Details, heading: &str, value: &str) {
    if !details.notes.is_empty() {
        details.notes.push('\n');
    }
    details.notes.push_str(heading);
    details.notes.push_str(": ");
    details.notes.push_str(value);
}

impl Reader<'_> {
    /// Which clients of a reading seem to be there already, by line: to be shown before importing.
    ///
    /// # Errors
    /// Of the store.
    pub fn doubles(&self, reading: &Reading) -> Result<Vec<(usize, ClientId)>, Error> {
        let mut found = Vec::new();
        for client in &reading.clients {
            found.extend(self.doubles_of(&client.details)?.first().map(|id| (client.line, *id)));
        }
        Ok(found)
    }
}

impl Writer<'_> {
    /// Adds the clients of a reading, all or, on an error, none.
    ///
    /// # Errors
    /// Of the store.
    pub fn import(&self, reading: &Reading, doubles: Doubles) -> Result<Imported, Error> {
        let mut imported = Imported::default();
        for client in &reading.clients {
            let double = match doubles {
                Doubles::LeaveOut => self.doubles_of(&client.details)?.first().copied(),
                Doubles::Add => None,
            };
            match double {
                Some(id) => imported.doubles.push((client.line, id)),
                None => imported.added.push((client.line, self.add_client(&client.details)?)),
            }
        }
        Ok(imported)
    }
}
