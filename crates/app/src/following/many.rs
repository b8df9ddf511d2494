//! A course: everybody's change in one go, how they felt, who dropped out, who is left out and why; and the practice's own prior.

use std::collections::{BTreeSet, HashMap};

use cabinet::{ClientId, ConsentKind, Course, CourseId, Error, HomeDay, Reader, ReadingSide, Time};
use follow::stats::student_quantile;
use follow::{
    Change, Design, Group, Member, Plan, Prior, Reason, Standing, TooEarly, Value, Verdict, Visit, change, interval,
    power, summarise,
};
use jiff::tz::TimeZone;
use vocab::{Date, Side};

use super::body::Body;
use super::days::days;

/// The four levels, in the order of the home notes, as values.
const LEVELS: [&str; 4] = ["relaxed", "stress", "wellbeing", "sleep"];
/// Whoever was not heard of for so many days is spoken of, and stays in.
const SILENT: i32 = 14;
/// The practice's prior is taken from so many of the latest plans at most.
const MOST_PLANS: usize = 300;
/// A change is found in so many of 100, over 100, before "within the noise" is said; as `follow` has it.
const POWER: f64 = 0.8;

/// One member's line.
#[derive(Clone, Debug)]
pub struct Line {
    /// Who.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// How it stands; in the place of the course's member.
    pub member: Member,
    /// Visits of the value, the baseline's and the others.
    pub visits: [usize; 2],
    /// The last day that anything was heard of them; none: never.
    pub last: Option<i32>,
    /// Whether they joined after the course's first day.
    pub late: bool,
    /// Whether their consent to care does not hold: nothing that was said or measured of them is read then.
    pub withdrawn: bool,
}

impl Line {
    /// Whether they stand as withdrawn: still counted, and not left out with a reason of its own.
    pub fn stands_withdrawn(&self) -> bool {
        self.withdrawn && !matches!(self.member.standing, Standing::LeftOut(_))
    }
}

/// How they felt: one level.
#[derive(Clone, Copy, Debug)]
pub struct Felt {
    /// Which.
    pub value: &'static Value,
    /// So many members said it on three baseline days at least; once the course has come to its look, also in the last seven days.
    pub members: usize,
    /// The mean of their baselines, with its 95 % interval over members.
    pub baseline: Change,
    /// The mean of their last seven days, and that of their own differences; none before the course's look.
    pub later: Option<[Change; 2]>,
}

/// A course in numbers.
pub struct Many {
    /// The course.
    pub course: Course,
    /// Its plan.
    pub body: Body,
    /// The plan of its value; none: nothing was fixed.
    pub plan: Option<Plan>,
    /// Today's number.
    pub today: i32,
    /// The prior of the noise.
    pub prior: Prior,
    /// The members, in the order of their numbers.
    pub lines: Vec<Line>,
    /// Everybody together.
    pub group: Group,
    /// How they felt, in the order of the home notes.
    pub felt: Vec<Felt>,
    /// Running members who were not heard of for two weeks.
    pub silent: usize,
    /// The number of the day on which the course's plan was written down.
    pub written: i32,
}

impl Many {
    /// The day on which the plan was written down, where that was after the first day.
    pub fn written_late(&self) -> Option<i32> {
        (self.written > 1).then_some(self.written)
    }

    /// Members who joined after the first day.
    pub fn late(&self) -> usize {
        self.lines.iter().filter(|l| l.late).count()
    }

    /// Those of them whose change is in the mean.
    pub fn late_assessed(&self) -> usize {
        let assessed = |l: &&Line| l.late && matches!(l.member.standing, Standing::Assessed { .. });
        self.lines.iter().filter(assessed).count()
    }

    /// Members whose consent to care does not hold, and who are not left out with a reason.
    pub fn withdrawn(&self) -> usize {
        self.lines.iter().filter(|l| l.stands_withdrawn()).count()
    }

    /// Whether the course's day of the verdict has come.
    pub fn over(&self) -> bool {
        self.today >= self.body.end()
    }
}

/// Days of moments where this machine stands, without asking for the zone each time.
struct Clock(TimeZone);

impl Clock {
    fn number(&self, at: Time, first: Date) -> i32 {
        let here = jiff::Timestamp::from_second(at.unix()).map(|t| self.0.to_datetime(t).date());
        let day = here
            .ok()
            .and_then(|d| Date::new(i32::from(d.year()), u8::try_from(d.month()).ok()?, u8::try_from(d.day()).ok()?));
        number(day.unwrap_or_else(|| at.date()), first)
    }
}

fn number(day: Date, first: Date) -> i32 {
    i32::try_from(day.days_since(first) + 1).unwrap_or(i32::MAX)
}

/// Visits of one day as one.
fn push(visits: &mut Vec<Visit>, new: Visit) {
    match visits.last_mut() {
        Some(last) if last.day == new.day => {
            let (n, m) = (f64::from(last.count), f64::from(new.count));
            let mean = (n * last.mean + m * new.mean) / (n + m);
            let ss = last.ss + new.ss + n * (last.mean - mean).powi(2) + m * (new.mean - mean).powi(2);
            *last = Visit { day: last.day, mean, count: last.count + new.count, ss };
        }
        _ => visits.push(new),
    }
}

/// What is known of a member.
#[derive(Default)]
struct Known {
    visits: Vec<Visit>,
    /// The levels, a day each.
    levels: [Vec<Visit>; 4],
    done: u32,
    last_done: Option<i32>,
    last: Option<i32>,
}

impl Known {
    fn heard(&mut self, day: i32) {
        self.last = Some(self.last.map_or(day, |l| l.max(day)));
    }

    fn worked(&mut self, day: i32, within: std::ops::RangeInclusive<i32>) {
        if within.contains(&day) && self.last_done.is_none_or(|l| l < day) {
            self.done += 1;
            self.last_done = Some(day);
        }
    }
}

/// A course on a day.
///
/// # Errors
/// There is no such course; of the store.
pub fn many(r: &Reader<'_>, id: CourseId, today: Date) -> Result<Many, Error> {
    let course = r.course(id)?;
    let body = Body::parse(course.first, course.days, course.body.as_str());
    let plan = body.plan(None);
    let now = body.number(today);
    let members = r.course_members(id)?;
    let consents = members.iter().map(|m| r.consents_to(m.client, ConsentKind::Care));
    let consents: Vec<bool> = consents.collect::<Result<_, Error>>()?;
    // Whoever took their consent back keeps a line, and has no place for anything that is known of them.
    let consenting = members.iter().enumerate().filter(|(i, _)| consents[*i]);
    let place: HashMap<ClientId, usize> = consenting.map(|(i, m)| (m.client, i)).collect();
    let mut known: Vec<Known> = (0..members.len()).map(|_| Known::default()).collect();
    let within = body.earliest()..=now.min(body.end());
    let worked = 1..=now.min(body.end());
    for day in r.course_days(id, body.date(*within.start()), body.date(*within.end()))? {
        if let Some(at) = place.get(&day.client) {
            home_day(&mut known[*at], &day, body.number(day.day), worked.clone());
        }
    }
    let clock = Clock(TimeZone::system());
    desk_sessions(r, &course, &body, &clock, &place, &mut known, &within)?;
    if let Some(plan) = &plan {
        if let Some(k) = LEVELS.iter().position(|name| *name == plan.value.name) {
            known.iter_mut().for_each(|k_of| k_of.visits.clone_from(&k_of.levels[k]));
        } else {
            for read in r.course_readings(id, plan.value.name, side(&body))? {
                let day = clock.number(read.at, body.first);
                if let Some(at) = place.get(&read.client).filter(|_| within.contains(&day)) {
                    known[*at].heard(day);
                    push(&mut known[*at].visits, Visit { day, mean: read.mean, count: read.count, ss: read.ss });
                }
            }
        }
    }
    let prior = match &plan {
        Some(plan) => body.prior(plan.value),
        None => Prior::stated(Value::usual()),
    };
    let asked = body.asked_until(now);
    let standings = standings(plan.as_ref(), &prior, &known, now, body.end());
    let mut lines = Vec::with_capacity(members.len());
    for (((member, of), standing), consents) in members.into_iter().zip(&known).zip(standings).zip(consents) {
        let standing = if consents { standing } else { Standing::NotMeasured };
        let asked = if consents { asked } else { 0 };
        let out = member.left_out.and_then(|l| Reason::new(&l.reason));
        let standing = out.map_or(standing, Standing::LeftOut);
        let before = of.visits.iter().filter(|v| v.day <= 0).count();
        lines.push(Line {
            client: member.client,
            name: member.name,
            member: Member { standing, done: of.done, asked },
            visits: [before, of.visits.len() - before],
            last: of.last,
            late: clock.number(member.joined, body.first) > 1,
            withdrawn: !consents,
        });
    }
    let members: Vec<Member> = lines.iter().map(|l| l.member.clone()).collect();
    let group = summarise(&members);
    let counted: Vec<&Known> = known
        .iter()
        .zip(&lines)
        .filter(|(_, l)| !matches!(l.member.standing, Standing::LeftOut(_)))
        .map(|(k, _)| k)
        .collect();
    let look = (now >= body.end()).then_some(body.end());
    let felt = LEVELS.iter().enumerate().filter_map(|(k, name)| felt(&counted, k, Value::named(name)?, look));
    let felt = felt.collect();
    let gone =
        |l: &&Line| l.member.standing == Standing::Running && now > SILENT && l.last.is_none_or(|d| d <= now - SILENT);
    let silent = lines.iter().filter(gone).count();
    let written = clock.number(course.at, body.first);
    Ok(Many { course, body, plan, today: now, prior, lines, group, felt, silent, written })
}

fn side(body: &Body) -> ReadingSide {
    match body.fixed.as_ref().and_then(|f| f.side) {
        Some(Side::Left) => ReadingSide::Left,
        Some(Side::Right) => ReadingSide::Right,
        _ => ReadingSide::Face,
    }
}

fn home_day(known: &mut Known, day: &HomeDay, number: i32, worked: std::ops::RangeInclusive<i32>) {
    known.heard(number);
    if day.done {
        known.worked(number, worked);
    }
    for (levels, said) in known.levels.iter_mut().zip(day.levels) {
        if let Some(said) = said {
            push(levels, Visit { day: number, mean: f64::from(said), count: 1, ss: 0.0 });
        }
    }
}

/// Whoever had a session at the desk: their days as their own page reads them, from desk and home together, so that both pages say the
/// same of them.
fn desk_sessions(
    r: &Reader<'_>,
    course: &Course,
    body: &Body,
    clock: &Clock,
    place: &HashMap<ClientId, usize>,
    known: &mut [Known],
    within: &std::ops::RangeInclusive<i32>,
) -> Result<(), Error> {
    let noon = |day: Date| Time::parse(&format!("{day}T12:00:00Z")).unwrap_or_else(|| Time::from_unix(0));
    // A day on either side, for the zone; the days themselves are told by this machine's.
    let (from, to) = (noon(body.date(*within.start() - 1)), noon(body.date(*within.end() + 1)));
    let sessions = r.course_sessions(course.id, from, to)?.into_iter();
    let there = sessions.filter(|(_, at)| within.contains(&clock.number(*at, body.first)));
    let clients: BTreeSet<ClientId> = there.map(|(client, _)| client).collect();
    for client in clients {
        let Some(of) = place.get(&client).and_then(|at| known.get_mut(*at)) else { continue };
        *of = Known::default();
        for (number, day) in days(r, client, body)?.into_iter().filter(|(number, _)| within.contains(number)) {
            if day.noted {
                of.heard(number);
            }
            if day.done {
                of.worked(number, 1..=*within.end());
            }
            for (k, levels) in of.levels.iter_mut().enumerate() {
                if let Some(said) = day.level(k) {
                    push(levels, Visit { day: number, mean: said, count: 1, ss: 0.0 });
                }
            }
        }
    }
    Ok(())
}

/// How it stands with each, on all cores that there are.
fn standings(plan: Option<&Plan>, prior: &Prior, known: &[Known], today: i32, end: i32) -> Vec<Standing> {
    let of = |k: &Known| standing(plan, prior, &k.visits, k.last, today, end);
    let cores = std::thread::available_parallelism().map_or(1, usize::from).min(4);
    if known.len() < 200 || cores < 2 {
        return known.iter().map(of).collect();
    }
    std::thread::scope(|scope| {
        let parts: Vec<_> = known
            .chunks(known.len().div_ceil(cores))
            .map(|part| scope.spawn(move || part.iter().map(of).collect()))
            .collect();
        // A thread that panicked has told so; its members are counted as not measured rather than lost.
        let joined = parts.into_iter().zip(known.chunks(known.len().div_ceil(cores)));
        joined
            .flat_map(|(part, of)| part.join().unwrap_or_else(|_| vec![Standing::NotMeasured; of.len()]))
            .collect::<Vec<Standing>>()
    })
}

/// How it stands with one member at the end of a course: by the rule of `follow::assess`, without what only one client's page tells.
fn standing(plan: Option<&Plan>, prior: &Prior, visits: &[Visit], last: Option<i32>, today: i32, end: i32) -> Standing {
    let gone =
        || if last.is_some_and(|d| d > end - follow::LAST_WEEK) { Standing::NotMeasured } else { Standing::DroppedOut };
    if today < end {
        return Standing::Running;
    }
    let Some(plan) = plan.filter(|p| p.value.said || !p.measure_later) else { return gone() };
    let Some(look) = plan.looks().last().copied() else { return gone() };
    let before = visits.iter().filter(|v| v.day <= 0).count();
    let now = visits.iter().any(|v| v.day <= look.day && v.day > look.day - follow::LAST_WEEK);
    let fit = change(visits, look.day, prior).filter(|_| now && before >= Plan::LEAST_BASELINE);
    let Some(fit) = fit else { return gone() };
    let found = interval(&fit, look.alpha);
    let verdict = if found.low > 0.0 || found.high < 0.0 {
        Verdict::ClearChange
    } else {
        let used = visits.iter().filter(|v| v.day <= look.day).map(|v| (v.day, v.count)).collect();
        let design = Design { visits: used, end: look.day, sd: fit.sigma, within: fit.within, alpha: look.alpha };
        match power(&design, plan.size, prior) {
            Some(p) if p >= POWER => Verdict::WithinNoise,
            _ => Verdict::TooEarly(TooEarly::Unsure),
        }
    };
    Standing::Assessed { change: found, se: fit.se, verdict }
}

/// How they felt: means over members with Student's t. Before the course's look the baselines alone, of whoever said the level on three
/// baseline days; at the look (its day) of whoever also said it in the last seven days.
fn felt(known: &[&Known], level: usize, value: &'static Value, look: Option<i32>) -> Option<Felt> {
    let mean = |visits: &[Visit], from: i32, to: i32, least: usize| {
        let of: Vec<f64> = visits.iter().filter(|v| v.day >= from && v.day <= to).map(|v| v.mean).collect();
        (of.len() >= least).then(|| of.iter().sum::<f64>() / of.len() as f64)
    };
    let before = |k: &Known| mean(&k.levels[level], i32::MIN, 0, Plan::LEAST_BASELINE);
    let Some(look) = look else {
        let all: Vec<f64> = known.iter().filter_map(|k| before(k)).collect();
        return Some(Felt { value, members: all.len(), baseline: over_members(&all)?, later: None });
    };
    let from = (look - follow::LAST_WEEK + 1).max(1);
    let both = known.iter().filter_map(|k| Some((before(k)?, mean(&k.levels[level], from, look, 1)?)));
    let both: Vec<(f64, f64)> = both.collect();
    let of = |pick: &dyn Fn(&(f64, f64)) -> f64| over_members(&both.iter().map(pick).collect::<Vec<_>>());
    let later = Some([of(&|b| b.1)?, of(&|b| b.1 - b.0)?]);
    Some(Felt { value, members: both.len(), baseline: of(&|b| b.0)?, later })
}

/// A mean of people with its 95 % interval; none of fewer than two.
fn over_members(all: &[f64]) -> Option<Change> {
    let n = all.len() as f64;
    if all.len() < 2 {
        return None;
    }
    let mean = all.iter().sum::<f64>() / n;
    let sd = (all.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let half = student_quantile(0.975, n - 1.0) * sd / n.sqrt();
    Some(Change { estimate: mean, low: mean - half, high: mean + half, level: 0.95 })
}

/// Notes with a plan what the practice knows of the noise today, of each value that is looked at: it is fixed with the plan.
///
/// # Errors
/// Of the store.
pub fn note_noise(r: &Reader<'_>, body: &mut Body) -> Result<(), Error> {
    let Some(fixed) = &mut body.fixed else { return Ok(()) };
    fixed.noise.clear();
    let (primary, others) = (fixed.value, fixed.others.clone());
    for value in follow::VALUES.iter().filter(|v| v.said || **v == *primary || others.contains(v)) {
        fixed.note(value, &practice_prior(r, value)?);
    }
    Ok(())
}

/// The practice's own prior of a value: from the clients whose plan of weeks was measured to its end; the stated one while they are few.
///
/// # Errors
/// Of the store.
pub fn practice_prior(r: &Reader<'_>, value: &'static Value) -> Result<Prior, Error> {
    let clock = Clock(TimeZone::system());
    let stated = Prior::stated(value);
    let level = LEVELS.iter().position(|name| *name == value.name);
    let mut pooled: Vec<(ClientId, f64)> = Vec::new();
    for weeks in r.latest_weeks(MOST_PLANS as u32)? {
        if pooled.iter().any(|p| p.0 == weeks.client) {
            continue;
        }
        let body = Body::read(&weeks);
        if body.fixed.is_none() {
            continue;
        }
        let end = weeks.ended.as_ref().map_or(body.end(), |e| body.number(e.day));
        let mut visits = Vec::new();
        if let Some(k) = level {
            for day in r.home_days(weeks.client)? {
                if let Some(said) = day.levels[k] {
                    push(&mut visits, Visit { day: body.number(day.day), mean: f64::from(said), count: 1, ss: 0.0 });
                }
            }
        } else {
            for of in r.readings(weeks.client)?.iter().filter(|m| m.name == value.name && m.side == ReadingSide::Face) {
                let day = clock.number(of.at, body.first);
                push(&mut visits, Visit { day, mean: of.mean, count: of.count, ss: of.ss });
            }
        }
        visits.retain(|v| (body.earliest()..=end).contains(&v.day));
        let to_the_end = visits.last().is_some_and(|v| v.day > end - follow::LAST_WEEK);
        let sd = change(&visits, end, &stated).filter(|_| to_the_end).and_then(|fit| fit.pooled);
        pooled.extend(sd.map(|sd| (weeks.client, sd)));
    }
    Ok(Prior::of_practice(value, &pooled.iter().map(|p| p.1).collect::<Vec<_>>()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use follow::{Looks, assess};

    fn visits(seed: u64, days: &[i32], shift: f64) -> Vec<Visit> {
        let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let mut unit = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let value = |d: i32, u: f64| 8.0 + 2.4 * (u - 0.5) + if d >= 1 { shift } else { 0.0 };
        days.iter().map(|d| Visit { day: *d, mean: value(*d, unit()), count: 2, ss: 0.08 * unit() }).collect()
    }

    /// The group's rule is the one of a client's own page: on every series both say the same.
    #[test]
    fn a_member_stands_as_on_their_own_page() {
        let prior = Prior::stated(Value::usual());
        let (mut clear, mut noise, mut unsure) = (0, 0, 0);
        for seed in 0..300 {
            for looks in [Looks::One, Looks::Two] {
                let plan = Plan { looks, ..Plan::usual(Value::usual()) };
                let mut days: Vec<i32> = plan.visit_days();
                days.retain(|d| (d * 31 + seed as i32) % 7 != 0);
                let all = visits(seed, &days, -0.02 * (seed % 150) as f64);
                let own = assess(&plan, &prior, &all, 30);
                match standing(Some(&plan), &prior, &all, Some(28), 30, plan.end()) {
                    Standing::Assessed { change, verdict, se } => {
                        assert_eq!(Some(change), own.change, "seed {seed}");
                        assert!(own.fit.is_some_and(|f| f.se == se));
                        match (verdict, own.verdict) {
                            (Verdict::ClearChange, Some(Verdict::ClearChange)) => clear += 1,
                            (Verdict::WithinNoise, Some(Verdict::WithinNoise)) => noise += 1,
                            (Verdict::TooEarly(a), Some(Verdict::TooEarly(b))) if a == b => unsure += 1,
                            both => panic!("seed {seed}: {both:?}"),
                        }
                    }
                    other => assert!(own.change.is_none(), "seed {seed}: {other:?} against {own:?}"),
                }
            }
        }
        assert!(clear > 50 && noise + unsure > 50, "{clear} {noise} {unsure}");
    }

    #[test]
    fn who_stopped_and_who_was_only_not_measured() {
        let (plan, prior) = (Plan::usual(Value::usual()), Prior::stated(Value::usual()));
        let check = |days: &[i32], last: Option<i32>, today: i32, expected: Standing| {
            let found = standing(Some(&plan), &prior, &visits(3, days, 0.0), last, today, plan.end());
            assert_eq!(found, expected, "{days:?} {last:?} {today}");
        };
        check(&[-6, -3, 0, 25, 28], Some(28), 27, Standing::Running);
        check(&[-6, -3, 0, 1, 4], Some(4), 28, Standing::DroppedOut);
        check(&[], None, 28, Standing::DroppedOut);
        check(&[-6, -3, 0, 1, 4], Some(22), 28, Standing::NotMeasured);
        check(&[-3, 0, 25, 28], Some(28), 28, Standing::NotMeasured);
        let later = Plan { measure_later: true, ..plan.clone() };
        let all = visits(3, &[-6, -3, 0, 25, 28], 0.0);
        assert_eq!(standing(Some(&later), &prior, &all, Some(28), 28, 28), Standing::NotMeasured);
    }

    #[test]
    fn before_the_look_of_how_they_felt_the_baselines_alone_are_told() {
        let said = |shift: f64, after: bool| {
            let mut of = Known::default();
            let days = [(-2, 4.0), (-1, 5.0), (0, 6.0), (26, 7.0), (27, 8.0)];
            for (day, mean) in days.into_iter().filter(|(day, _)| *day <= 0 || after) {
                push(&mut of.levels[3], Visit { day, mean: mean + shift, count: 1, ss: 0.0 });
            }
            of
        };
        let all = [said(0.0, true), said(1.0, true), said(2.0, false)];
        let known: Vec<&Known> = all.iter().collect();
        let sleep = Value::named("sleep").expect("a value");
        let running = felt(&known, 3, sleep, None).expect("baselines");
        assert_eq!((running.members, running.baseline.estimate, running.later), (3, 6.0, None));
        let over = felt(&known, 3, sleep, Some(28)).expect("levels");
        let later = over.later.map(|l| l.map(|c| c.estimate));
        assert_eq!((over.members, over.baseline.estimate, later), (2, 5.5, Some([8.0, 2.5])));
        assert!(felt(&known, 0, sleep, None).is_none(), "nobody said it");
    }

    #[test]
    fn means_over_members_have_students_interval() {
        // 1, 2, 3, 4: mean 2.5, standard error 0.6455, t on 3 degrees of freedom 3.182 (any table).
        let found = over_members(&[1.0, 2.0, 3.0, 4.0]).expect("a mean");
        assert!((found.estimate - 2.5).abs() < 1e-12 && (found.high - 2.5 - 3.182 * 0.6455).abs() < 1e-3, "{found:?}");
        assert_eq!(over_members(&[1.0]), None);
    }
}
