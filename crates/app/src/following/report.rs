//! The report of some weeks, and the one way to it: a verdict, and a consent.
//!
//! A [`Report`] is made of a [`Verdict`], which only weeks with a verdict give, and of a [`Consented`], which only the cabinet gives. So
//! there is none without its verdict, none without consent to care, and none with photographs without consent to publication.

use cabinet::{ClientId, ConsentKind, Error, Reader};
use follow::{NoVerdict, TooEarly};
use plan::atlas::{Atlas, ConcernIx};
use press::Paper;
use press::report::Made;
use vocab::Date;

use super::one::Followed;
use super::pair::{self, Chosen};
use super::{report_words, words};
use crate::catalogue::{Language, fill, in_language, text};

/// Why there is no report.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Refused {
    /// No plan was fixed before, so nothing was asked that could be answered.
    NoPlan,
    /// There is no verdict, and there will be none.
    NoVerdict(NoVerdict),
    /// The plan looks at the result on this day, which has not come.
    BeforeLook(i32),
    /// The consent is another client's.
    NotTheirs,
}

impl Refused {
    /// Why, and what to do.
    pub fn words(self, first: Date) -> String {
        match self {
            Refused::NoPlan => text("report.no_plan").to_owned(),
            Refused::NoVerdict(why) => {
                let todo = match why {
                    NoVerdict::NotBegun => text("report.todo_begin"),
                    _ => text("report.todo_baseline"),
                };
                format!("{} {todo}", words::no_verdict(why))
            }
            Refused::BeforeLook(day) => fill("report.before_look", &[("day", &words::day(day, Some(first)))]),
            Refused::NotTheirs => text("report.not_theirs").to_owned(),
        }
    }
}

/// The verdict of one client's weeks, in one sentence of the language in which it was asked for.
#[derive(Debug)]
pub struct Verdict<'f> {
    of: &'f Followed,
    sentence: press::report::Verdict,
}

impl<'f> Verdict<'f> {
    /// The verdict that these weeks have.
    ///
    /// # Errors
    /// They have none, or not yet.
    pub fn of(f: &'f Followed) -> Result<Verdict<'f>, Refused> {
        let primary = f.primary().zip(f.plan.as_ref());
        let Some((assessment, plan)) = primary.and_then(|(s, plan)| Some((s.assessment.as_ref()?, plan))) else {
            return Err(Refused::NoPlan);
        };
        if let Some(why) = assessment.no_verdict {
            return Err(Refused::NoVerdict(why));
        }
        match assessment.verdict {
            None => return Err(Refused::NoVerdict(NoVerdict::NotBegun)),
            Some(follow::Verdict::TooEarly(TooEarly::BeforeLook(day))) => return Err(Refused::BeforeLook(day)),
            Some(_) => {}
        }
        let sentence = words::sentence_from(assessment, plan, Some(f.body.first));
        let sentence = press::report::Verdict::new(sentence).ok_or(Refused::NoVerdict(NoVerdict::NotBegun))?;
        Ok(Verdict { of: f, sentence })
    }

    /// The weeks it is of.
    pub fn weeks(&self) -> &'f Followed {
        self.of
    }

    /// The sentence.
    pub fn sentence(&self) -> &str {
        self.sentence.sentence()
    }
}

/// That a client has consented to what a report needs; only the cabinet says so.
#[derive(Clone, Copy, Debug)]
pub struct Consented {
    client: ClientId,
    photographs: bool,
}

impl Consented {
    /// To a report without photographs: consent to care. With photographs: to photographs and to publication too, since a report leaves the
    /// client's page.
    ///
    /// # Errors
    /// One of them is missing or withdrawn; of the store.
    pub fn read(r: &Reader<'_>, client: ClientId, photographs: bool) -> Result<Consented, Error> {
        r.require(client, ConsentKind::Care)?;
        if photographs {
            r.require(client, ConsentKind::Photographs)?;
            r.require(client, ConsentKind::Publication)?;
        }
        Ok(Consented { client, photographs })
    }
}

/// What is chosen for a report.
pub struct Asked<'a> {
    /// In which language.
    pub language: Language,
    /// The atlas, in English.
    pub atlas: &'a Atlas,
    /// Concerns of which it is told what is known.
    pub concerns: Vec<ConcernIx>,
    /// Who made it, as it was typed.
    pub by: String,
    /// The day it is made.
    pub day: Date,
}

/// The two photographs of a report.
pub struct Photographs {
    /// As the rule chose them.
    pub chosen: [Chosen; 2],
    /// As they were made.
    pub made: pair::Made,
}

/// A report, ready to be printed.
pub struct Report {
    words: press::report::Report,
}

impl Report {
    /// Of a verdict and a consent. Photographs are in it only where the consent is to them.
    ///
    /// # Errors
    /// The consent is another client's.
    pub fn new(
        verdict: Verdict<'_>,
        consent: Consented,
        asked: &Asked<'_>,
        photographs: Option<&Photographs>,
    ) -> Result<Report, Refused> {
        if consent.client != verdict.of.client {
            return Err(Refused::NotTheirs);
        }
        let photographs = photographs.filter(|_| consent.photographs);
        let f = verdict.of;
        Ok(Report { words: report_words::words(press::report::Report::new(verdict.sentence), f, asked, photographs) })
    }

    /// Every word of it.
    pub fn words(&self) -> &press::report::Report {
        &self.words
    }

    /// As a PDF file.
    ///
    /// # Errors
    /// What kept it from being made, for a log; nothing that a person gives leads there.
    pub fn pdf(&self, paper: Paper) -> Result<Made, String> {
        press::report::report(paper, &self.words).map_err(|e| e.to_string())
    }
}

/// The report in the language that is asked for.
///
/// # Errors
/// There is no verdict, or the consent is another client's.
pub fn make(
    f: &Followed,
    consent: Consented,
    asked: &Asked<'_>,
    photographs: Option<&Photographs>,
) -> Result<Report, Refused> {
    in_language(asked.language, || Report::new(Verdict::of(f)?, consent, asked, photographs))
}
