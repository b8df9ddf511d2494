//! What of a routine may be started, printed or sent: the one gate, for a client, for an audience and for a file.
//!
//! The session, the take-home, the print view and every copy that leaves take their steps from a [`Runnable`] and from nowhere else.
//! Its fields are private: there is no other way to get one than from a kept version of their own routine (or of one that belongs to
//! nobody), or from a file that somebody holds, through the screening of today. A client's routine comes out for that client alone.

use cabinet::{Client, Hands, Routine, Version};
use plan::atlas::Atlas;
use plan::check::{self, Breach};
use plan::draft::{Draft, DraftStep};
use plan::reading::RoutineFile;
use plan::routine::{Step, What, timeline, total_s};
use plan::screening::{Clearance, RuleRef};
use vocab::{Class, Side};

use crate::desk::person::Person;

/// Steps that may be run for one person, or for an audience, today.
pub struct Runnable {
    steps: Vec<Step>,
    left_out: Vec<usize>,
    blocked: Vec<(String, Side)>,
}

/// Why a routine can't be run, printed or sent.
#[derive(Debug)]
pub enum Refused {
    /// The routine belongs to another client, or the version to another routine.
    NotTheirs,
    /// The version names what the atlas no longer knows.
    Unreadable,
    /// Screening says stop.
    Stop(Vec<RuleRef>),
    /// Nothing is left of it for this person today.
    Nothing,
    /// What is left does what it must not; these are the breaches of the steps that are left.
    Breaches(Vec<Breach>, Vec<Step>),
}

/// Whether a step asks for two hands of a client who works with one.
pub fn needs_both(client: &Client, step: &Step) -> bool {
    client.details.hands != Hands::Both && step.side == Side::Both
}

/// What clearance makes of a step. Of the oil: nothing by itself; the glides that need it are looked at.
pub fn class(atlas: &Atlas, clearance: &Clearance, step: &Step) -> (Class, Vec<RuleRef>) {
    match step.what {
        What::Oil => (Class::Go, Vec::new()),
        What::Target(target, technique) => {
            let verdict = clearance.of(atlas, target, step.side, technique, step.tool);
            (verdict.class, verdict.rules)
        }
    }
}

/// What a version of this routine holds.
fn file_of(atlas: &Atlas, routine: &Routine, version: &Version) -> Result<RoutineFile, Refused> {
    if version.routine != routine.id {
        return Err(Refused::NotTheirs);
    }
    super::read(atlas, version).ok_or(Refused::Unreadable)
}

impl Runnable {
    /// For a client, with the clearance of today: a version of their own routine, or of one that belongs to nobody. What asks for two
    /// hands is left out where they work with one.
    ///
    /// # Errors
    /// The routine is another client's; the version can't be read; screening says stop; nothing is left; what is left has a breach.
    pub fn for_client(
        atlas: &Atlas,
        person: &Person,
        routine: &Routine,
        version: &Version,
    ) -> Result<Runnable, Refused> {
        if routine.client.is_some_and(|whose| whose != person.client.id) {
            return Err(Refused::NotTheirs);
        }
        let file = file_of(atlas, routine, version)?;
        Runnable::new(atlas, &person.clearance, &file, |step| needs_both(&person.client, step))
    }

    /// For whoever listens or watches: nobody can be screened, so only what the door opens.
    ///
    /// # Errors
    /// As [`Runnable::for_client`].
    pub fn for_audience(atlas: &Atlas, routine: &Routine, version: &Version) -> Result<Runnable, Refused> {
        if routine.client.is_some() {
            return Err(Refused::NotTheirs);
        }
        Runnable::new(atlas, &Clearance::audience(atlas), &file_of(atlas, routine, version)?, |_| false)
    }

    /// For whoever holds a routine file, with the clearance that their answers give: the command line, where no practice is open.
    ///
    /// # Errors
    /// As [`Runnable::for_client`]; a file belongs to nobody.
    pub fn from_file(atlas: &Atlas, file: &RoutineFile, clearance: &Clearance) -> Result<Runnable, Refused> {
        Runnable::new(atlas, clearance, file, |_| false)
    }

    fn new(
        atlas: &Atlas,
        clearance: &Clearance,
        routine: &RoutineFile,
        beyond: impl Fn(&Step) -> bool,
    ) -> Result<Runnable, Refused> {
        if !clearance.stop.is_empty() {
            return Err(Refused::Stop(clearance.stop.clone()));
        }
        let out = |step: &Step| beyond(step) || !class(atlas, clearance, step).0.allows();
        let left_out: Vec<usize> = (0..routine.steps.len()).filter(|i| out(&routine.steps[*i])).collect();
        let mut steps: Vec<Step> = routine.steps.iter().filter(|s| !out(s)).cloned().collect();
        // Oil under nothing that glides is oil for nothing.
        let glides = |s: &Step| matches!(s.what, What::Target(_, technique) if atlas.technique(technique).glides);
        if !left_out.is_empty() && !steps.iter().any(glides) {
            steps.retain(|s| s.what != What::Oil);
        }
        if !steps.iter().any(|s| s.movement == vocab::Movement::Work) {
            return Err(Refused::Nothing);
        }
        let rest = RoutineFile { steps, ..routine.clone() };
        let breaches = check::check(atlas, &rest, clearance);
        if !breaches.is_empty() {
            return Err(Refused::Breaches(breaches, rest.steps));
        }
        let blocked = check::skipped(atlas, clearance, &rest);
        Ok(Runnable { steps: rest.steps, left_out, blocked })
    }

    /// The steps, in order.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Which steps of the routine, by their place in it, are left out today.
    pub fn left_out(&self) -> &[usize] {
        &self.left_out
    }

    /// The steps with their times, as the pages that show and run a routine take it. It was written by hand: nothing is said of
    /// gain or of why.
    pub fn timed(&self, atlas: &Atlas) -> Draft {
        let times = timeline(atlas, &self.steps);
        let step = |(step, (start_s, end_s)): (&Step, (u32, u32))| DraftStep {
            step: step.clone(),
            start_s,
            end_s,
            why: Vec::new(),
        };
        let steps = self.steps.iter().zip(times).map(step).collect();
        Draft::by_hand(steps, total_s(atlas, &self.steps), self.blocked.clone())
    }
}

#[cfg(test)]
mod tests {
    use plan::reading::HANDS;
    use plan::screening::{Answer, Answers, Own, Report, SignToday};
    use proptest::prelude::*;
    use vocab::{Date, Movement, Pressure, Sides};

    use super::*;
    use crate::desk::editor::hand::{seconds, sides, techniques};

    fn today() -> Date {
        Date::new(2026, 3, 1).expect("a day")
    }

    /// Answers of somebody: mostly no, here and there yes (with a side) or not known; now and then a warning sign.
    fn answers(atlas: &Atlas, told: &[(usize, u8)], sign: Option<usize>) -> Answers {
        let mut answers = Answers::all_no(atlas).asked_on(today());
        for (at, how) in told {
            let ix = plan::atlas::ConditionIx(at % atlas.conditions.len());
            let mut own = Own::new(if how % 5 == 0 { Answer::Unknown } else { Answer::Yes });
            if atlas.conditions[ix.0].asks_side && own.answer == Answer::Yes {
                own.side = [None, Some(Side::Left), Some(Side::Right), Some(Side::Both)][usize::from(how % 4)];
            }
            answers = answers.with(ix, own);
        }
        if let Some(sign) = sign {
            answers =
                answers.with_sign(SignToday { sign: sign % atlas.warning_signs.len(), places: Vec::new(), side: None });
        }
        answers
    }

    /// Any steps, possible or not.
    fn steps(atlas: &Atlas, rolls: &[(usize, usize, usize, usize)]) -> Vec<Step> {
        let hands = atlas.tool_named(HANDS).expect("hands");
        let one = |&(t, s, k, p): &(usize, usize, usize, usize)| {
            let target = plan::atlas::TargetIx(t % atlas.targets.len());
            let (ways, on) = (techniques(atlas, target), sides(atlas, target));
            // What is not for the hand has no technique.
            if ways.is_empty() {
                return None;
            }
            let technique = ways[k % ways.len()];
            let (tools, lengths) = (&atlas.technique(technique).tools, seconds(atlas, target, technique));
            Some(Step {
                movement: Movement::ALL[p % 4],
                what: What::Target(target, technique),
                side: on[s % on.len()],
                tool: tools.get(p % 2).or(tools.first()).copied().unwrap_or(hands),
                pressure: Pressure::ALL[k % Pressure::ALL.len()],
                seconds: lengths.get(p % lengths.len().max(1)).copied().unwrap_or(20),
            })
        };
        rolls.iter().filter_map(one).collect()
    }

    /// A routine of this person or of somebody else: drafted for whom nothing concerns, with any steps thrown in.
    fn routine(atlas: &Atlas, concern: usize, rolls: &[(usize, usize, usize, usize)]) -> RoutineFile {
        let hands = atlas.tool_named(HANDS).expect("hands");
        let concern = plan::atlas::ConcernIx(concern % atlas.concerns.len());
        let mut request = plan::request::Request::plain(10, vec![plan::request::Asked { concern, priority: 3 }], hands);
        request.both = rolls.len().is_multiple_of(2);
        let clear = Clearance::new(atlas, &Answers::all_no(atlas).asked_on(today()), today());
        let mut all: Vec<Step> = match plan::solve::draft(atlas, &request, &clear) {
            plan::solve::Outcome::Draft(draft) => draft.steps.into_iter().map(|s| s.step).collect(),
            plan::solve::Outcome::None(_) => Vec::new(),
        };
        for (i, step) in steps(atlas, rolls).into_iter().enumerate() {
            all.insert((7 * i) % (all.len() + 1), step);
        }
        let tools = (0..atlas.tools.len()).map(plan::atlas::ToolIx).collect();
        RoutineFile { minutes: 60, tools, audience: false, answers: None, steps: all }
    }

    /// What the written-out clearance, which `screen` prints, says of a step: not the function that the gate uses.
    fn allowed_by(report: &Report, atlas: &Atlas, step: &Step) -> bool {
        let What::Target(target, _) = step.what else { return true };
        let needed: &[Side] = match (atlas.target(target).sides, step.side) {
            (Sides::Midline, _) => &[Side::Midline],
            (_, Side::Left) => &[Side::Left],
            (_, Side::Right) => &[Side::Right],
            _ => &[Side::Left, Side::Right],
        };
        let (technique, tool) = (step.technique_id(atlas), &atlas.tool(step.tool).id);
        needed.iter().all(|side| {
            let mut rows = report.clearance.iter().filter(|r| {
                r.target == step.target_id(atlas) && r.side == *side && r.technique == technique && r.tool == *tool
            });
            rows.next().is_some_and(|row| row.class.allows())
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

        // proves: honoured_everywhere
        #[test]
        fn nothing_left_out_ever_comes_out(
            told in prop::collection::vec((0_usize..200, 0_u8..20), 0..5),
            sign in prop::option::weighted(0.1, 0_usize..50),
            concern in 0_usize..40,
            rolls in prop::collection::vec((0_usize..500, 0_usize..3, 0_usize..9, 0_usize..9), 0..3),
        ) {
            let atlas = Atlas::built_in();
            let clearance = Clearance::new(&atlas, &answers(&atlas, &told, sign), today());
            let report = Report::new(&atlas, &clearance);
            let file = routine(&atlas, concern, &rolls);
            // The gate of files; a client's and an audience's lead to the same.
            if let Ok(made) = Runnable::from_file(&atlas, &file, &clearance) {
                prop_assert!(report.stop.is_empty(), "a stop was run past");
                for step in made.steps() {
                    prop_assert!(allowed_by(&report, &atlas, step), "{step:?}");
                    prop_assert!(file.steps.contains(step), "a step that nobody wrote");
                }
                let rest = RoutineFile { steps: made.steps().to_vec(), ..file.clone() };
                prop_assert!(check::check(&atlas, &rest, &clearance).is_empty());
                prop_assert_eq!(made.steps().len() + made.left_out().len() <= file.steps.len(), true);
                let timed = made.timed(&atlas);
                prop_assert_eq!(timed.steps.len(), made.steps().len());
            }
        }
    }

    fn person(atlas: &Atlas, id: i64, hands: Hands) -> Person {
        let answers = Answers::all_no(atlas).asked_on(today());
        let at = cabinet::Time::from_unix(0);
        let details = cabinet::Details { name: "Ana Example".into(), hands, ..cabinet::Details::default() };
        let client = Client { id: cabinet::ClientId::from_number(id), details, tone: None, created: at, changed: at };
        let clearance = Clearance::new(atlas, &answers, today());
        Person { client, answers, asked: None, clearance, unreadable: false }
    }

    fn kept(atlas: &Atlas, client: Option<i64>, file: &RoutineFile) -> (Routine, Version) {
        let (id, at) = (cabinet::RoutineId::from_number(7), cabinet::Time::from_unix(0));
        let body = cabinet::Toml::new(file.to_toml(atlas)).expect("short");
        let client = client.map(cabinet::ClientId::from_number);
        let version = Version { id: cabinet::VersionId::from_number(3), routine: id, number: 1, at, body };
        (Routine { id, client, name: "Jaw".into(), created: at, versions: 1 }, version)
    }

    // proves: theirs_alone
    #[test]
    fn a_routine_of_one_client_comes_out_for_no_one_else() {
        let atlas = Atlas::built_in();
        let (ana, bo) = (person(&atlas, 1, Hands::Both), person(&atlas, 2, Hands::Both));
        let file = routine(&atlas, 0, &[]);
        let (theirs, version) = kept(&atlas, Some(1), &file);
        let made = Runnable::for_client(&atlas, &ana, &theirs, &version).expect("it is hers");
        assert_eq!(made.steps(), file.steps);
        assert!(matches!(Runnable::for_client(&atlas, &bo, &theirs, &version), Err(Refused::NotTheirs)));
        assert!(matches!(Runnable::for_audience(&atlas, &theirs, &version), Err(Refused::NotTheirs)));
        // One that belongs to nobody may be anybody's, as their own screening has it.
        let (for_all, version) = kept(&atlas, None, &file);
        assert!(Runnable::for_client(&atlas, &bo, &for_all, &version).is_ok());
        // A version of another routine is not smuggled in under the name of one's own.
        let other = Version { routine: cabinet::RoutineId::from_number(8), ..version };
        assert!(matches!(Runnable::for_client(&atlas, &bo, &for_all, &other), Err(Refused::NotTheirs)));
        let broken = Version { body: cabinet::Toml::new("minutes = 5").expect("short"), routine: for_all.id, ..other };
        assert!(matches!(Runnable::for_client(&atlas, &bo, &for_all, &broken), Err(Refused::Unreadable)));
    }

    #[test]
    fn who_works_with_one_hand_gets_no_step_of_two() {
        let atlas = Atlas::built_in();
        let mut some = 0;
        for concern in 0..atlas.concerns.len() {
            let file = routine(&atlas, concern, &[]);
            let twos = file.steps.iter().filter(|s| s.side == Side::Both).count();
            let (theirs, version) = kept(&atlas, Some(1), &file);
            let both = Runnable::for_client(&atlas, &person(&atlas, 1, Hands::Both), &theirs, &version).expect("both");
            assert_eq!(both.steps(), file.steps);
            for hands in [Hands::Left, Hands::Right] {
                let one = Runnable::for_client(&atlas, &person(&atlas, 1, hands), &theirs, &version);
                match one {
                    Ok(one) => {
                        assert!(one.steps().iter().all(|s| s.side != Side::Both));
                        assert!(one.left_out().len() >= twos);
                        some += twos;
                    }
                    Err(why) => assert!(twos > 0, "{why:?}"),
                }
            }
        }
        assert!(some > 0, "no routine had a step of two hands and something beside it");
    }

    #[test]
    fn the_gate_lets_some_through_and_leaves_some_out() {
        let atlas = Atlas::built_in();
        let file = routine(&atlas, 0, &[]);
        let all_no = Clearance::new(&atlas, &answers(&atlas, &[], None), today());
        let made = Runnable::from_file(&atlas, &file, &all_no).expect("nothing concerns them");
        assert_eq!((made.steps().len(), made.left_out().len()), (file.steps.len(), 0));
        let nobody_asked = Clearance::new(&atlas, &Answers::unknown(&atlas), today());
        assert!(matches!(Runnable::from_file(&atlas, &file, &nobody_asked), Err(Refused::Nothing)));
        let stop = Clearance::new(&atlas, &answers(&atlas, &[], Some(0)), today());
        assert!(!stop.stop.is_empty() && matches!(Runnable::from_file(&atlas, &file, &stop), Err(Refused::Stop(_))));
        let mut partly = 0;
        for condition in 0..atlas.conditions.len() {
            let own = answers(&atlas, &[(condition, 1)], None);
            let clearance = Clearance::new(&atlas, &own, today());
            partly +=
                usize::from(Runnable::from_file(&atlas, &file, &clearance).is_ok_and(|m| !m.left_out().is_empty()));
        }
        assert!(partly > 2, "only {partly} conditions leave a part of it");
    }
}
