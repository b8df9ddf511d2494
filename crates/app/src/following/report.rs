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
    #[cfg(test)]
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

#[cfg(test)]
#[allow(dead_code)]
#[path = "../../tests/weeks/filled.rs"]
mod filled;

#[cfg(test)]
mod tests {
    use super::filled::{Story, fill, plan};
    use super::*;
    use crate::following::one::must;
    use cabinet::{Cabinet, ErrorKind, Passphrase, Time};
    use serde_json::json;

    const PASSPHRASE: &str = "horse lamp river seven";

    /// A practice in which these weeks have run until the day.
    struct Practice {
        folder: std::path::PathBuf,
        cabinet: Cabinet,
        clients: Vec<ClientId>,
        today: Date,
    }

    impl Practice {
        fn of(name: &str, stories: &[Story]) -> Practice {
            let folder = std::env::temp_dir().join(format!("tragion-report-{name}-{}", std::process::id()));
            let _ = std::fs::remove_dir_all(&folder);
            let today = Date::parse("2026-03-01").expect("a day");
            let clients = fill(&folder, PASSPHRASE, today, stories).expect("a practice");
            let cabinet = Cabinet::at(&folder);
            let now = Time::parse("2026-03-01T12:00:00Z").expect("a moment");
            cabinet.unlock(&Passphrase::new(PASSPHRASE), now).expect("it opens");
            Practice { folder, cabinet, clients, today }
        }

        fn followed(&self, at: usize) -> Followed {
            let client = self.clients[at];
            let weeks = |r: &Reader<'_>| must(r, client, r.weeks(client)?[0].id, self.today);
            self.cabinet.read(weeks).expect("weeks")
        }

        fn consent(&self, at: usize, kind: ConsentKind, given: bool) {
            let now = Time::parse("2026-03-01T12:00:00Z").expect("a moment");
            let client = self.clients[at];
            self.cabinet
                .write(now, |w| w.record_consent(client, kind, given, w.now(), "1").map(drop))
                .expect("recorded");
        }

        fn consented(&self, at: usize, photographs: bool) -> Result<Consented, ConsentKind> {
            let read = self.cabinet.read(|r| Consented::read(r, self.clients[at], photographs));
            read.map_err(|e| match e.kind() {
                ErrorKind::NoConsent(kind) => *kind,
                other => panic!("another error: {other:?}"),
            })
        }
    }

    impl Drop for Practice {
        fn drop(&mut self) {
            let _ = std::fs::remove_dir_all(&self.folder);
        }
    }

    fn asked(atlas: &Atlas, language: Language) -> Asked<'_> {
        let day = Date::parse("2026-03-01").expect("a day");
        Asked { language, atlas, concerns: vec![ConcernIx(0)], by: "Somebody".to_owned(), day }
    }

    fn photographs() -> Photographs {
        let visit = cabinet::Visit {
            id: cabinet::VisitId::from_number(1),
            client: ClientId::from_number(1),
            at: Time::from_unix(0),
            conditions: cabinet::Json::new("{}").expect("JSON"),
        };
        let chosen = Chosen { visit, photograph: cabinet::PhotographId::from_number(1), day: -11, corrections: 0 };
        let made = pair::Made { jpeg: [Vec::new(), Vec::new()], colours: pair::Colours::NoCard, closer: false };
        Photographs { chosen: [chosen.clone(), Chosen { day: 28, ..chosen }], made }
    }

    // proves: report_needs_verdict_and_consent
    #[test]
    fn there_is_no_report_without_its_verdict_nor_without_consent() {
        let usual =
            |name, ago, more| Story { name, ago, plan: plan(more), baseline: 5, change: -3.0, stress: 0.0, skip: 6, odd: None };
        let practice = Practice::of(
            "gate",
            &[
                usual("whole", 29, json!({})),
                usual("running", 11, json!({})),
                Story { baseline: 2, ..usual("few", 29, json!({})) },
                usual("later", 29, json!({ "measure_later": true })),
                Story { plan: json!(null), ..usual("unplanned", 29, json!({})) },
            ],
        );
        let atlas = Atlas::built_in();
        let whole = practice.followed(0);
        let consent = practice.consented(0, false).expect("consent to care");

        // Without a verdict.
        for (at, why) in [
            (1, Refused::BeforeLook(28)),
            (2, Refused::NoVerdict(NoVerdict::FewBaseline(2))),
            (3, Refused::NoVerdict(NoVerdict::MeasureLater)),
            (4, Refused::NoPlan),
        ] {
            let consent = practice.consented(at, false).expect("consent to care");
            for language in Language::ALL {
                let refused = make(&practice.followed(at), consent, &asked(&atlas, language), None).err();
                assert_eq!(refused, Some(why), "{at}");
            }
            assert!(why.words(whole.body.first).len() > 80, "what to do is said: {why:?}");
        }

        // With it: the sentence is in every report, and under the photographs.
        for language in Language::ALL {
            let sentence = in_language(language, || Verdict::of(&whole).map(|v| v.sentence().to_owned()));
            let report = make(&whole, consent, &asked(&atlas, language), None).unwrap_or_else(|e| panic!("{e:?}"));
            assert_eq!(Ok(report.words().verdict().sentence().to_owned()), sentence);
            assert!(report.words().verdict().sentence().contains("dE00"));
        }
        assert_eq!(press::report::Verdict::new(" "), None, "a verdict that says nothing is none");

        // Without consent: to care, to photographs, to publication, each withdrawn again.
        assert_eq!(practice.consented(0, true).err(), Some(ConsentKind::Publication));
        practice.consent(0, ConsentKind::Publication, true);
        let both = practice.consented(0, true).expect("all three");
        for kind in [ConsentKind::Publication, ConsentKind::Photographs] {
            practice.consent(0, kind, false);
            assert_eq!(practice.consented(0, true).err(), Some(kind));
            assert!(practice.consented(0, false).is_ok(), "without photographs care is enough");
            practice.consent(0, kind, true);
        }
        practice.consent(0, ConsentKind::Care, false);
        assert_eq!(practice.consented(0, false).err(), Some(ConsentKind::Care));
        assert_eq!(practice.consented(0, true).err(), Some(ConsentKind::Care));

        // What was consented to without photographs prints none, and another client's consent is none.
        let given = asked(&atlas, Language::English);
        let pictures = photographs();
        let printed = |consent| make(&whole, consent, &given, Some(&pictures)).map(|r| r.words().pair.is_some());
        assert_eq!(printed(consent), Ok(false));
        assert_eq!(printed(both), Ok(true));
        let other = practice.consented(1, false).expect("consent to care");
        assert_eq!(printed(other), Err(Refused::NotTheirs));
    }

    /// Every text of a report but names of sources, and what people wrote.
    fn texts(report: &press::report::Report) -> Vec<String> {
        let mut all = vec![report.chart.title.clone(), report.chart.described.clone(), report.verdict_title.clone()];
        all.push(report.verdict().sentence().to_owned());
        all.extend(report.lead.iter().chain(&report.chart.caption).chain(&report.verdict_more).cloned());
        for part in report.first.iter().chain(&report.beneath).chain(&report.after) {
            all.push(part.title.clone());
            let pieces = part.paragraphs.iter().chain(&part.items).flatten();
            all.extend(pieces.map(|p| p.text.clone()).filter(|t| !t.starts_with('(') && !t.contains("bruise")));
        }
        if let Some(pair) = &report.pair {
            all.push(pair.title.clone());
            all.extend(pair.how.iter().cloned());
            all.extend(pair.photographs.iter().flat_map(|p| p.caption.iter().chain([&p.described]).cloned()));
        }
        all
    }

    #[test]
    fn a_report_in_german_is_german_throughout() {
        let usual = |name, change, more| Story {
            name,
            ago: 29,
            plan: plan(more),
            baseline: 5,
            change,
            stress: change,
            skip: 6,
            odd: None,
        };
        let practice = Practice::of(
            "words",
            &[
                usual("clear", -3.0, json!({})),
                usual("none", 0.0, json!({ "others": ["brow", "sleep"] })),
                usual("side", -3.0, json!({ "side": "left", "looks": 2 })),
                usual("sleep", 1.0, json!({ "value": "sleep", "others": ["stress"] })),
            ],
        );
        let atlas = Atlas::built_in();
        let pictures = photographs();
        for at in 0..4 {
            practice.consent(at, ConsentKind::Publication, true);
            let consent = practice.consented(at, true).expect("all three");
            let f = practice.followed(at);
            for language in Language::ALL {
                let work = || {
                    let mut asked = asked(&atlas, language);
                    asked.concerns = (0..atlas.concerns.len()).map(ConcernIx).collect();
                    make(&f, consent, &asked, Some(&pictures)).map(|r| texts(r.words()))
                };
                let (said, missing) = match language {
                    Language::German => crate::catalogue::german_tests::in_german(work),
                    Language::English => (work(), Default::default()),
                };
                let said = said.expect("a report");
                assert!(missing.is_empty(), "keys without German: {missing:?}");
                assert!(said.len() > 60, "only {} texts", said.len());
                for text in said {
                    assert!(!text.contains('{') && !text.contains("report."), "{text}");
                    if language == Language::German {
                        let english = crate::catalogue::german_tests::english_words(&text);
                        assert!(english.is_empty(), "{english:?} in {text}");
                    }
                }
            }
        }
    }
}
