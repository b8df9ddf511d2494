//! From the scenario to a practice: everybody on their days, in the order in which it would have happened.

use std::collections::BTreeSet;

use cabinet::{
    Cabinet, ClientId, ConsentKind, Error, Json, NewWord, NoteKind, RoutineId, Time, Toml, VersionId, VisitId, WeeksId,
    Writer,
};
use plan::atlas::{Atlas, ConditionIx};
use plan::reading::write_routine;
use plan::request::{Asked, Request};
use plan::routine::{Step, total_s};
use plan::screening::{Answer, Answers, Clearance, Cleared, Own, SignToday};
use plan::solve;
use serde_json::json;
use vocab::Date;

use super::scenario::{Invented, Levels, Weeks};
use crate::catalogue::{fill as filled, listed, lower_first, sentence_case};
use crate::desk::client::WORDING;
use crate::desk::intake::keep_intake;
use crate::desk::keep::at_noon;
use crate::following::body::{Body, Fixed};

/// Answers that can change within so many days are asked again today; the whole was asked at most this long ago.
const ASKED_AGAIN_DAYS: i64 = 28;

/// What is known of somebody while their days go by.
#[derive(Default)]
struct Known {
    id: Option<ClientId>,
    routine: Option<RoutineId>,
    version: Option<(VersionId, Vec<Step>)>,
    weeks: Option<WeeksId>,
    visits: Vec<VisitId>,
}

/// The practice, filled day by day; the clients in the order of the scenario, each with their visits.
///
/// # Errors
/// Of the cabinet.
pub fn all(
    cabinet: &Cabinet,
    atlas: &Atlas,
    people: &[Invented],
    today: Date,
    now: Time,
) -> Result<Vec<(ClientId, Vec<VisitId>)>, Error> {
    let mut known: Vec<Known> = people.iter().map(|_| Known::default()).collect();
    let days: BTreeSet<i64> = people.iter().flat_map(days_of).collect();
    for ago in days.into_iter().rev() {
        cabinet.write(moment(today, now, ago), |w| {
            for (p, k) in people.iter().zip(&mut known) {
                Day { atlas, p, today, now, ago }.write(w, k)?;
            }
            Ok(())
        })?;
    }
    Ok(known.into_iter().filter_map(|k| Some((k.id?, k.visits))).collect())
}

/// Noon of a day so many days ago; today it is now.
pub fn moment(today: Date, now: Time, ago: i64) -> Time {
    if ago == 0 { now } else { at_noon(day(today, ago)) }
}

fn day(today: Date, ago: i64) -> Date {
    today.plus(-ago).unwrap_or(today)
}

/// The days on which something happens, in days ago.
fn days_of(p: &Invented) -> Vec<i64> {
    let mut days = vec![p.since, 0];
    days.extend(p.photographs.1);
    days.extend(p.yes.iter().filter_map(|y| y.word.as_ref()).flat_map(|w| [w.1, w.2 - 1]));
    days.extend(p.weeks.as_ref().map(|w| w.ago + before(w)));
    days.extend(p.weeks.as_ref().map(|w| w.ago));
    days.extend(p.visits.iter().map(|v| v.ago));
    days.extend(p.sessions.iter().map(|s| s.ago));
    days.extend(p.written.iter().map(|w| w.ago));
    days.extend(p.home.iter().flat_map(|h| (h.until..=h.from).filter(|ago| home_comes(h.from, h.until, *ago))));
    days.retain(|ago| *ago <= p.since);
    days
}

/// A plan is fixed so many days before its first: its baseline lies between.
fn before(weeks: &Weeks) -> i64 {
    weeks.plan.map_or(0, |(_, baseline)| i64::from(baseline))
}

/// Home notes come once a week, and on the last day.
fn home_comes(from: i64, until: i64, ago: i64) -> bool {
    (from - ago) % 7 == 6 || ago == until
}

/// One day of one person.
struct Day<'a> {
    atlas: &'a Atlas,
    p: &'a Invented,
    today: Date,
    now: Time,
    ago: i64,
}

impl Day<'_> {
    fn date(&self) -> Date {
        day(self.today, self.ago)
    }

    fn write(&self, w: &Writer<'_>, k: &mut Known) -> Result<(), Error> {
        let (p, ago) = (self.p, self.ago);
        if ago == p.since {
            self.first_day(w, k)?;
        }
        let Some(id) = k.id else { return Ok(()) };
        if p.photographs.1 == Some(ago) {
            record(w, id, ConsentKind::Photographs, false)?;
        }
        for (condition, (who, said, until)) in p.yes.iter().filter_map(|y| Some((y.condition, y.word.as_ref()?))) {
            if *said == ago {
                let condition = &self.atlas.conditions[condition.0].id;
                let (said, until) = (self.date(), day(self.today, *until));
                w.add_clinician_word(id, &NewWord { condition, place: "", who, said, until })?;
            }
        }
        if p.unasked {
            return Ok(());
        }
        if ago == 0 {
            keep_intake(w, self.atlas, id, &answers(self.atlas, p, self.today, self.today))?;
        }
        for visit in p.visits.iter().filter(|v| v.ago == ago) {
            let conditions = json!({ "light": visit.light.1, "card": visit.card, "invented": true });
            k.visits.push(w.add_visit(id, w.now(), &json(&conditions)?)?);
        }
        self.routine(w, id, k)?;
        if let Some(weeks) = p.weeks.as_ref().filter(|weeks| weeks.ago + before(weeks) == ago) {
            let body = Json::new(self.plan(weeks).json())?;
            let version = k.version.as_ref().map(|v| v.0);
            k.weeks = Some(w.add_weeks(id, version, day(self.today, weeks.ago), weeks.days, &body)?);
        }
        if p.weeks.as_ref().is_some_and(|weeks| weeks.ago == ago) {
            self.baseline(w, id)?;
        }
        self.sessions(w, id, k)?;
        self.home_notes(w, id, k)?;
        for note in p.written.iter().filter(|n| n.ago == ago) {
            let kind = if note.incident { NoteKind::Incident } else { NoteKind::Note };
            w.add_note(id, None, kind, &note.words)?;
        }
        Ok(())
    }

    fn first_day(&self, w: &Writer<'_>, k: &mut Known) -> Result<(), Error> {
        let p = self.p;
        let id = w.add_client(&p.details)?;
        k.id = Some(id);
        if p.unasked {
            return Ok(());
        }
        record(w, id, ConsentKind::Care, true)?;
        if p.photographs.0.is_some() {
            record(w, id, ConsentKind::Photographs, true)?;
        }
        if p.publication.is_some() {
            record(w, id, ConsentKind::Publication, true)?;
        }
        w.fix_tone(id, phantom::Person::invented(p.seed).tone.name(), None)?;
        if self.ago > 0 {
            keep_intake(w, self.atlas, id, &answers(self.atlas, p, self.date(), self.today))?;
        }
        Ok(())
    }

    /// A routine on the first day, another version when the weeks begin, and one when a clinician's word has run out.
    fn routine(&self, w: &Writer<'_>, id: ClientId, k: &mut Known) -> Result<(), Error> {
        let (p, ago) = (self.p, self.ago);
        let began = p.weeks.as_ref().map(|weeks| weeks.ago);
        let ran_out = p.yes.iter().any(|y| y.word.as_ref().is_some_and(|word| word.2 - 1 == ago));
        if ago != p.since && Some(ago) != began && !ran_out {
            return Ok(());
        }
        let minutes = p.minutes[usize::from(ago != p.since)];
        // A sign that is there today was not there when the routine was made.
        let clearance = Clearance::new(
            self.atlas,
            &with_words(answers(self.atlas, p, self.date(), self.today), p, self.today),
            self.date(),
        );
        let Some(steps) = drafted(self.atlas, p, minutes, &clearance) else { return Ok(()) };
        let routine = match k.routine {
            Some(routine) => routine,
            None => w.add_routine(Some(id), &name(self.atlas, p, minutes))?,
        };
        k.routine = Some(routine);
        w.rename_routine(routine, &name(self.atlas, p, minutes))?;
        let body = Toml::new(write_routine(self.atlas, minutes, false, None, &steps))?;
        k.version = Some((w.add_version(routine, &body)?, steps));
        Ok(())
    }

    fn sessions(&self, w: &Writer<'_>, id: ClientId, k: &Known) -> Result<(), Error> {
        let Some((version, steps)) = &k.version else { return Ok(()) };
        for session in self.p.sessions.iter().filter(|s| s.ago == self.ago) {
            let done = if session.stopped { &steps[..steps.len() * 2 / 3] } else { &steps[..] };
            let step = |s: &Step| json!({ "target": s.target_id(self.atlas), "side": s.side.word(), "technique": s.technique_id(self.atlas), "seconds": s.seconds });
            let log = json!({
                "seconds": total_s(self.atlas, done),
                "ended": if session.stopped { "early" } else { "whole" },
                "steps": done.iter().map(step).collect::<Vec<_>>(),
            });
            let places: Vec<_> = session
                .felt
                .iter()
                .map(|[target, side, felt]| json!({ "target": target, "side": side, "felt": felt }))
                .collect();
            let felt = json!({ "words": session.words, "places": places });
            let at = if self.ago == 0 { self.now } else { w.now().plus(1800) };
            w.add_session(Some(id), *version, at, &json(&log)?, &json(&felt)?)?;
        }
        Ok(())
    }

    fn plan(&self, weeks: &Weeks) -> Body {
        let fixed = weeks.plan.map(|(value, baseline)| Fixed {
            value,
            others: Vec::new(),
            size: value.size,
            baseline,
            every: 1,
            photographs: 2,
            looks: follow::Looks::One,
            side: None,
            measure_later: false,
            noise: Vec::new(),
        });
        let days_a_week = u8::try_from(weeks.week).unwrap_or(7);
        Body { first: day(self.today, weeks.ago), days: weeks.days, times: weeks.times.clone(), days_a_week, fixed }
    }

    /// What they said on the days before the first: they come with it.
    fn baseline(&self, w: &Writer<'_>, id: ClientId) -> Result<(), Error> {
        let (Some(weeks), Some(levels)) = (&self.p.weeks, &self.p.levels) else { return Ok(()) };
        for back in (1..=before(weeks)).rev() {
            let felt = json!({ "words": "", "places": [] });
            let said = self.said(levels, weeks, weeks.ago + back);
            let body = json!({ "done": false, "minutes": 0, "felt": felt, "levels": said });
            w.add_home_note(id, None, day(self.today, weeks.ago + back), &json(&body)?)?;
        }
        Ok(())
    }

    /// What they say of a day so many days ago: on the way from one level to the other, give or take one.
    fn said(&self, levels: &Levels, weeks: &Weeks, ago: i64) -> [u8; 4] {
        let share = ((weeks.ago - ago).max(0) as f64 / f64::from(weeks.days.max(1))).min(1.0);
        let mut at = 0;
        [0, 1, 2, 3].map(|i| {
            at += 7;
            // No two neighbours alike, and the same on every demo.
            let give = ((ago * 31 + at * 17 + self.p.draw * 5) % 5 - 2) as f64 / 2.0;
            (levels.from[i] + (levels.to[i] - levels.from[i]) * share + give).round().clamp(0.0, 10.0) as u8
        })
    }

    fn home_notes(&self, w: &Writer<'_>, id: ClientId, k: &Known) -> Result<(), Error> {
        let Some(home) = &self.p.home else { return Ok(()) };
        let in_plan = self.ago <= home.from && self.ago >= home.until;
        if !in_plan || !home_comes(home.from, home.until, self.ago) {
            return Ok(());
        }
        let minutes = self.p.minutes[1];
        let first = (home.from - self.ago) / 7 * 7;
        for n in first..=(home.from - self.ago) {
            if n % home.skip == home.skip - 1 {
                continue;
            }
            let words = home.words.get(usize::try_from(n).unwrap_or(0) % home.words.len().max(1));
            let felt = json!({ "words": words, "places": [] });
            let mut body = json!({ "done": true, "minutes": minutes, "felt": felt });
            if let (Some(levels), Some(weeks)) = (&self.p.levels, &self.p.weeks) {
                let before = self.said(levels, weeks, home.from - n);
                let moved = |i: usize, by: &f64| (f64::from(before[i]) + by).clamp(0.0, 10.0) as u8;
                let after = [0, 1, 2, 3].map(|i| levels.after.get(i).map(|by| moved(i, by)));
                body["sessions"] = json!([{
                    "at": null, "seconds": minutes * 60, "ended": "whole", "felt": [],
                    "before": before, "after": after, "words": "",
                }]);
            }
            w.add_home_note(id, k.weeks, day(self.today, home.from - n), &json(&body)?)?;
        }
        Ok(())
    }
}

fn json(value: &serde_json::Value) -> Result<Json, Error> {
    Json::new(value.to_string())
}

fn record(w: &Writer<'_>, id: ClientId, kind: ConsentKind, given: bool) -> Result<(), Error> {
    w.record_consent(id, kind, given, w.now(), &format!("{} {WORDING}", kind.words())).map(|_| ())
}

/// The answers of a day: on the demo's own day the questions that change soon are asked again, and a sign of today is there.
pub fn answers(atlas: &Atlas, p: &Invented, on: Date, today: Date) -> Answers {
    let full = if on == today { day(today, p.since.min(ASKED_AGAIN_DAYS - 1)) } else { on };
    let mut answers = Answers::unknown(atlas).asked_on(full);
    for (i, condition) in atlas.conditions.iter().enumerate() {
        let ix = ConditionIx(i);
        if p.open.contains(&ix) {
            continue;
        }
        let yes = p.yes.iter().find(|y| y.condition == ix);
        let mut own = Own::new(if yes.is_some() { Answer::Yes } else { Answer::No });
        own.places = yes.map(|y| y.places.clone()).unwrap_or_default();
        let soon = condition.ask_again_days.is_some_and(|days| i64::from(days) <= ASKED_AGAIN_DAYS);
        own.asked = (soon && on != full).then_some(on);
        answers = answers.with(ix, own);
    }
    match p.sign {
        Some((sign, side)) if on == today => {
            answers.with_sign(SignToday { sign, places: Vec::new(), side: Some(side) })
        }
        _ => answers,
    }
}

/// With the clinicians' words, whether or not they still hold.
fn with_words(answers: Answers, p: &Invented, today: Date) -> Answers {
    p.yes.iter().fold(answers, |answers, yes| match (&yes.word, answers.own(yes.condition)) {
        (Some((who, said, until)), Some(own)) => {
            let cleared = Cleared { by: who.clone(), on: day(today, *said), until: day(today, *until) };
            let own = Own { cleared: Some(cleared), ..own.clone() };
            answers.with(yes.condition, own)
        }
        _ => answers,
    })
}

/// The best routine of these minutes, by the planner; none where nothing may be done.
fn drafted(atlas: &Atlas, p: &Invented, minutes: u32, clearance: &Clearance) -> Option<Vec<Step>> {
    let hands = atlas.tool_named(plan::reading::HANDS)?;
    // The first concern above all.
    let concerns =
        p.concerns.iter().enumerate().map(|(i, c)| Asked { concern: *c, priority: if i == 0 { 5 } else { 3 } });
    let mut request = Request::plain(minutes, concerns.collect(), hands);
    request.tools.extend(&p.tools);
    request.tools.sort_unstable();
    let instance = solve::instance(atlas, &request, clearance).ok()?;
    let best = solve::solve(atlas, &instance)?;
    Some(solve::steps_of(atlas, &instance, &best))
}

fn name(atlas: &Atlas, p: &Invented, minutes: u32) -> String {
    let names: Vec<String> = p.concerns.iter().map(|c| lower_first(&atlas.concerns[c.0].name)).collect();
    filled("routine.title", &[("concerns", &sentence_case(&listed(&names))), ("minutes", &minutes)])
}
