//! A client as everything about a routine sees them: what they answered, with every clinician's word, and what that clears today.
//!
//! The one way from the cabinet to a clearance. Whoever starts, prints or sends something for a client goes through here.

use cabinet::{ClientId, ConsentKind, Error, Reader, Time};
use plan::atlas::Atlas;
use plan::screening::{Answers, Clearance, Cleared, Own};
use vocab::Date;

/// A client's screening.
pub struct Person {
    /// Who.
    pub client: cabinet::Client,
    /// What they answered last, with the clinicians' words that are on record. Nothing, where nothing is.
    pub answers: Answers,
    /// When they answered; none: never.
    pub asked: Option<Time>,
    /// What may be done today.
    pub clearance: Clearance,
    /// Whether the answers on record can no longer be read with the atlas there is, so that all are asked again.
    pub unreadable: bool,
}

impl Person {
    /// Reads a client. Needs no consent: a page that only shows says so itself; what works for them asks [`Person::to_work_with`].
    ///
    /// # Errors
    /// There is no such client; of the store.
    pub fn read(r: &Reader<'_>, atlas: &Atlas, id: ClientId, today: Date) -> Result<Person, Error> {
        let client = r.client(id)?;
        let intake = r.intake(id)?;
        let asked = intake.as_ref().map(|i| i.at);
        let read = intake.map(|i| Answers::parse("intake", i.answers.as_str(), atlas));
        let unreadable = matches!(read, Some(Err(_)));
        let mut answers = read.and_then(Result::ok).unwrap_or_else(|| Answers::unknown(atlas));
        for word in r.clinician_words(id)? {
            // A word for one place of several is not a word for all of them: it is shown, and opens nothing.
            let Some(condition) = atlas.condition_named(&word.condition) else { continue };
            let holds = word.withdrawn.is_none() && word.place.is_empty();
            if let (true, Some(own)) = (holds, answers.own(condition)) {
                let cleared = Cleared { by: word.who, on: word.said, until: word.until };
                let better =
                    own.cleared.as_ref().is_none_or(|known| !known.holds(today) || cleared.until > known.until);
                if better && cleared.holds(today) {
                    answers = answers.clone().with(condition, Own { cleared: Some(cleared), ..own.clone() });
                }
            }
        }
        let clearance = Clearance::new(atlas, &answers, today);
        Ok(Person { client, answers, asked, clearance, unreadable })
    }

    /// Reads a client to work with: refuses where the consent to care does not hold.
    ///
    /// # Errors
    /// As [`Person::read`]; there is no consent to care.
    pub fn to_work_with(r: &Reader<'_>, atlas: &Atlas, id: ClientId, today: Date) -> Result<Person, Error> {
        // Whoever is not there is not missed for a consent.
        r.client(id)?;
        r.require(id, ConsentKind::Care)?;
        Person::read(r, atlas, id, today)
    }
}
