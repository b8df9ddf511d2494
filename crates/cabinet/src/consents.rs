//! The three consents: care, photographs, publication. Each giving and withdrawing is kept; the latest one holds.

use crate::access::{Reader, Writer, choice, time, word_of};
use crate::error::{Error, ErrorKind};
use crate::id::{ClientId, ConsentId};
use crate::text::{quiet, said};
use crate::time::Time;

quiet!(Consent);

/// What is consented to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ConsentKind {
    /// Being worked on, and records of it.
    Care,
    /// Photographs, and what is measured on them.
    Photographs,
    /// Showing them to others.
    Publication,
}

impl ConsentKind {
    const ALL: [(ConsentKind, &'static str); 3] = [
        (ConsentKind::Care, "care"),
        (ConsentKind::Photographs, "photographs"),
        (ConsentKind::Publication, "publication"),
    ];

    /// All three.
    pub const EACH: [ConsentKind; 3] = [ConsentKind::Care, ConsentKind::Photographs, ConsentKind::Publication];

    /// The word in files and in "consent to …".
    pub fn words(self) -> &'static str {
        word_of(&ConsentKind::ALL, self)
    }
}

/// One giving or withdrawing.
#[derive(Clone, PartialEq, Eq)]
pub struct Consent {
    /// Its number.
    pub id: ConsentId,
    /// To what.
    pub kind: ConsentKind,
    /// Given, or withdrawn.
    pub given: bool,
    /// When.
    pub at: Time,
    /// Which version of the text was read.
    pub wording: String,
}

impl Reader<'_> {
    /// Everything a client consented to or withdrew, oldest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn consents(&self, client: ClientId) -> Result<Vec<Consent>, Error> {
        let sql = "SELECT id, kind, given, at, wording FROM consents WHERE client = ?1 ORDER BY id";
        self.all(sql, [client], |row| {
            let kind = choice(&ConsentKind::ALL, row, 1)?;
            Ok(Consent { id: row.get(0)?, kind, given: row.get(2)?, at: time(row, 3)?, wording: row.get(4)? })
        })
    }

    /// Whether a consent holds now: it was given, and not withdrawn since. What was recorded last holds.
    ///
    /// # Errors
    /// Of the store.
    pub fn consents_to(&self, client: ClientId, kind: ConsentKind) -> Result<bool, Error> {
        let sql = "SELECT given FROM consents WHERE client = ?1 AND kind = ?2 ORDER BY id DESC LIMIT 1";
        Ok(self.first(sql, (client, kind.words()), |row| row.get(0))?.unwrap_or(false))
    }

    /// Refuses what needs a consent that does not hold.
    ///
    /// # Errors
    /// [`ErrorKind::NoConsent`].
    pub fn require(&self, client: ClientId, kind: ConsentKind) -> Result<(), Error> {
        if self.consents_to(client, kind)? { Ok(()) } else { Err(ErrorKind::NoConsent(kind).into()) }
    }
}

impl Writer<'_> {
    /// Records that a consent was given or withdrawn at `at`; what is recorded last holds. `wording` names the version of the text that was read.
    ///
    /// # Errors
    /// There is no such client, or `wording` is empty.
    pub fn record_consent(
        &self,
        client: ClientId,
        kind: ConsentKind,
        given: bool,
        at: Time,
        wording: &str,
    ) -> Result<ConsentId, Error> {
        said("version of the consent's wording", wording)?;
        self.must_have("clients", ClientId::WORD, client.0)?;
        let sql = "INSERT INTO consents (client, kind, given, at, wording) VALUES (?1, ?2, ?3, ?4, ?5)";
        let row = (client, kind.words(), given, at.unix(), wording);
        self.add(ConsentId::WORD, Some(client.0), sql, row).map(ConsentId)
    }
}
