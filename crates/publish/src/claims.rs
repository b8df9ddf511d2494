//! The claims check: what statements of a text mean by country. Guidance, not legal advice. English.

use vocab::Finding;

use crate::timed::Spoken;

/// What a statement is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Not to be said.
    Avoid,
    /// Only with trials of this very treatment on this very matter.
    NeedsTrial,
    /// Only with a disclosure beside it.
    NeedsDisclosure,
    /// It may be said.
    Ok,
}

/// One statement in one country.
#[derive(Clone, Debug, PartialEq)]
pub struct Claim {
    /// Where its words begin in the file, in Unicode code points.
    pub start: usize,
    /// Where they end.
    pub end: usize,
    /// When it is said, in seconds.
    pub time: Option<f64>,
    /// The words.
    pub text: String,
    /// The country's code, lower case: `us`, `eu`, `uk` or a practice's own.
    pub country: String,
    /// Which kind of statement: `disease`, `body`, `promise` ... (data/words/claims/verdicts.csv).
    pub kind: String,
    /// About what: `collagen`, `pain` ...
    pub topic: String,
    /// What is to be done with it.
    pub verdict: Verdict,
    /// How sure, 0 to 1.
    pub confidence: f64,
    /// The rules it stands on, the leading one first.
    pub rules: Vec<String>,
    /// Why, in a sentence.
    pub reason: String,
    /// The leading rule's source.
    pub source: String,
    /// A safer wording of the whole sentence that keeps the speaker's voice.
    pub instead: Option<String>,
}

/// The rules and words that ship, and those of a practice.
#[derive(Clone, Debug)]
pub struct Rules {}

impl Rules {
    /// Those that ship.
    pub fn shipped() -> Rules {
        Rules {}
    }

    /// With a practice's own country or words added (TOML).
    ///
    /// # Errors
    /// Each with its line and what to do.
    pub fn with(self, name: &str, toml: &str) -> Result<Rules, Vec<Finding>> {
        let _ = (name, toml);
        Ok(self)
    }

    /// A sum over all of them: whether a text that was checked earlier is to be checked again.
    pub fn sum(&self) -> String {
        String::new()
    }

    /// The countries' codes with their names.
    pub fn countries(&self) -> Vec<(String, String)> {
        Vec::new()
    }
}

/// The claims of a text in these countries, in the order of the text, countries in the order asked.
pub fn check(rules: &Rules, spoken: &Spoken, countries: &[String]) -> Vec<Claim> {
    let _ = (rules, spoken, countries);
    Vec::new()
}
