//! What a person takes home: a page that runs the routine, a printed guide, a calendar.
//!
//! All of it is made of a [`Given`], whose steps come out of [`Runnable`], the one gate. Nothing here screens anything anew.

pub mod page;
mod page_parts;
mod page_script;

use face::OwnMap;
use plan::atlas::{Atlas, ConditionIx};
use plan::draft::Draft;
use plan::reading::RoutineFile;
use plan::routine::{Step, What};
use plan::screening::{Answer, Answers, Clearance, Own};
use sha2::{Digest, Sha256};
use vocab::Date;

use crate::catalogue::{Language, fill};
use crate::desk::editor::runnable::Runnable;
use crate::tell;

pub mod calendar;
pub mod guide;

/// Everything that a take-home is made of.
#[derive(Clone, Copy)]
pub struct Given<'a> {
    /// The atlas, in the language of the take-home.
    pub atlas: &'a Atlas,
    /// What the routine is called.
    pub name: &'a str,
    /// The routine as it was written, with what is left out.
    pub file: &'a RoutineFile,
    /// What of it may be done: the only steps that go into a take-home.
    pub runnable: &'a Runnable,
    /// What the answers clear.
    pub clearance: &'a Clearance,
    /// The last day on which the answers give these steps; none: nothing ends within a year, or nobody was asked (an audience).
    pub until: Option<Date>,
    /// What is asked again before each session, by the page and on paper ([`each_time`]).
    pub each_time: &'a [ConditionIx],
    /// This person's own face, where there is a photograph of it.
    pub face: Option<&'a OwnMap>,
    /// What it is written in.
    pub language: Language,
    /// By which a home note says what it belongs to: letters and digits.
    pub code: &'a str,
    /// The day it was made.
    pub day: Date,
}

impl Given<'_> {
    /// The steps with their times.
    pub fn draft(&self) -> Draft {
        self.runnable.timed(self.atlas)
    }

    /// The places that the routine has and this person leaves out, each once, as words.
    pub fn left_out(&self) -> Vec<String> {
        let mut places: Vec<String> = Vec::new();
        let out = self.runnable.left_out().iter().filter_map(|i| self.file.steps.get(*i));
        for place in out.map(|step| place(self.atlas, step)) {
            if !places.contains(&place) {
                places.push(place);
            }
        }
        places
    }

    /// Whether it is for many at once, whom nobody can screen.
    pub fn audience(&self) -> bool {
        self.file.audience
    }

    /// The questions that are asked before each session: one *yes* or *not sure*, and there is none.
    pub fn questions(&self) -> Vec<&str> {
        self.each_time.iter().map(|ix| self.atlas.conditions[ix.0].question.as_str()).collect()
    }

    /// Whether the hand glides anywhere, so that there is oil.
    pub fn oil(&self) -> bool {
        self.runnable.steps().iter().any(|s| s.what == What::Oil)
    }
}

/// Where a step is done, with its side.
fn place(atlas: &Atlas, step: &Step) -> String {
    let said = tell::step(atlas, step);
    if said.side.is_empty() {
        return said.place;
    }
    fill("place.with_side", &[("place", &said.place), ("side", &said.side)])
}

/// How far ahead answers are looked at, in days.
const AHEAD: i64 = 366;

/// An answer that holds for so many days or fewer is asked again before each session, by the take-home itself.
const SOON_DAYS: u32 = 14;

/// The conditions that a take-home asks about before each session, of whoever holds it: those whose answers change within days. What
/// applies already is not asked: the steps are made for it.
pub fn each_time(atlas: &Atlas, answers: Option<&Answers>, today: Date) -> Vec<ConditionIx> {
    let soon = |ix: &ConditionIx| atlas.conditions[ix.0].ask_again_days.is_some_and(|days| days <= SOON_DAYS);
    let applies = |ix: &ConditionIx| answers.is_some_and(|a| a.stands(atlas, *ix, today) == Answer::Yes);
    (0..atlas.conditions.len()).map(ConditionIx).filter(|ix| soon(ix) && !applies(ix)).collect()
}

/// The last day, from `today` on, on which these answers let the same steps be done; none: nothing changes within a year. Every later day
/// is screened like today, so that answers that grow old, a clinician's word that ends and rules that begin with time are all seen. What
/// is asked before each session counts as answered *no* on that day: otherwise there is no session.
pub fn until(
    atlas: &Atlas,
    file: &RoutineFile,
    runnable: &Runnable,
    answers: &Answers,
    each_time: &[ConditionIx],
    today: Date,
) -> Option<Date> {
    let rest = RoutineFile { steps: runnable.steps().to_vec(), ..file.clone() };
    let holds = |day: Date| {
        let asked = each_time.iter().filter(|ix| answers.stands(atlas, **ix, today) == Answer::No);
        let then = asked.fold(answers.clone(), |answers, ix| {
            let own = answers.own(*ix).cloned().unwrap_or_else(|| Own::new(Answer::No));
            answers.with(*ix, Own { asked: Some(day), ..own })
        });
        let clearance = Clearance::new(atlas, &then, day);
        Runnable::from_file(atlas, &rest, &clearance).is_ok_and(|then| then.steps() == runnable.steps())
    };
    let days = (1..=AHEAD).map_while(|n| today.plus(n));
    let first_not = days.into_iter().find(|day| !holds(*day))?;
    first_not.plus(-1)
}

/// The code of a take-home that no practice keeps: the same name and routine, the same code. Ten letters and digits that are not mistaken
/// for each other (no i, l, o, u).
pub fn code_of(atlas: &Atlas, name: &str, file: &RoutineFile) -> String {
    const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
    let mut sum = Sha256::new();
    sum.update(name.as_bytes());
    sum.update([0]);
    sum.update(file.to_toml(atlas).as_bytes());
    sum.finalize().iter().take(10).map(|byte| char::from(LETTERS[usize::from(byte % 32)])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        Date::parse(text).expect("a day")
    }

    fn jaw(atlas: &Atlas) -> RoutineFile {
        let text = include_str!("../../../../examples/routine.toml");
        RoutineFile::parse("routine.toml", text, atlas).expect("the example")
    }

    /// The last day as the answers' own book-keeping has it: a second way to the same number.
    #[test]
    fn answers_hold_until_one_of_them_is_to_be_asked_again() {
        let atlas = Atlas::built_in();
        let (file, asked) = (jaw(&atlas), day("2026-03-01"));
        let text = include_str!("../../../../examples/answers_full.toml");
        let answers = Answers::parse("answers_full.toml", text, &atlas).expect("the example").asked_on(asked);
        let clearance = Clearance::new(&atlas, &answers, asked);
        let runnable = Runnable::from_file(&atlas, &file, &clearance).expect("it may be done");
        let daily = each_time(&atlas, Some(&answers), asked);
        let said = until(&atlas, &file, &runnable, &answers, &daily, asked);
        // By hand: the questions of the day are asked at home, and the next to grow old are those of four weeks.
        let spans: Vec<u32> =
            atlas.conditions.iter().filter_map(|c| c.ask_again_days).filter(|d| *d > SOON_DAYS).collect();
        let least = spans.iter().min().copied().expect("some answers grow old");
        assert_eq!(least, 28);
        // What is asked again may touch nothing of this routine; never the other way round.
        assert!(said.is_some_and(|last| last >= day("2026-03-28")), "{said:?}");
        // Were nothing asked at home, the answers would be over with the day.
        assert_eq!(until(&atlas, &file, &runnable, &answers, &[], asked), Some(asked));
        let groups = Answers::by_groups(&atlas, Answer::No).asked_on(asked);
        assert_ne!(until(&atlas, &file, &runnable, &groups, &daily, asked), said, "other answers, another day");
    }

    #[test]
    fn what_changes_within_days_is_asked_at_home_unless_it_applies() {
        let (atlas, asked) = (Atlas::built_in(), day("2026-03-01"));
        let named = |id: &str| atlas.condition_named(id).expect("a condition");
        let (infection, lenses, glaucoma) = (named("acute_infection"), named("contact_lens"), named("glaucoma"));
        let answers = Answers::all_no(&atlas).asked_on(asked).with(lenses, Own::new(Answer::Yes));
        let daily = each_time(&atlas, Some(&answers), asked);
        assert!(daily.contains(&infection) && !daily.contains(&lenses) && !daily.contains(&glaucoma));
        assert!(each_time(&atlas, None, asked).contains(&lenses), "nobody was asked, so everybody is");
    }

    #[test]
    fn the_code_follows_name_and_routine_alone() {
        let atlas = Atlas::built_in();
        let file = jaw(&atlas);
        let code = code_of(&atlas, "Jaw", &file);
        assert_eq!(code, code_of(&atlas, "Jaw", &file));
        assert!(code.len() == 10 && code.bytes().all(|b| b.is_ascii_alphanumeric()));
        assert_ne!(code, code_of(&atlas, "Sleep", &file));
        let mut shorter = file.clone();
        shorter.steps.pop();
        assert_ne!(code, code_of(&atlas, "Jaw", &shorter));
    }
}
