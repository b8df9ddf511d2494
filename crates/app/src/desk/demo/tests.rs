use std::collections::BTreeSet;
use std::path::PathBuf;

use cabinet::{Cabinet, ConsentKind, Cost, Passphrase};
use plan::atlas::Atlas;
use plan::check::check;
use plan::reading::RoutineFile;
use vision::Finder;
use vocab::Date;

use super::pictures::{SHOTS, taken};
use super::scenario::{self, Invented};
use super::{fill, keep};
use crate::desk::person::Person;

fn people() -> (Atlas, Vec<Invented>) {
    let atlas = Atlas::built_in();
    let people = scenario::read(&atlas).unwrap_or_else(|f| panic!("{f:?}"));
    (atlas, people)
}

/// A folder that goes with its guard.
struct Folder(PathBuf);

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// The demo on a day, without photographs.
fn made(name: &str, today: Date) -> (Folder, Cabinet, Atlas, Vec<Invented>, Vec<cabinet::ClientId>) {
    let folder = Folder(std::env::temp_dir().join(format!("tragion-demo-{name}-{}", std::process::id())));
    let now = keep::at_noon(today);
    let cabinet =
        Cabinet::create(&folder.0, &Passphrase::new(keep::DEMO_PASSPHRASE), Cost::FOR_TESTS, now).expect("a cabinet");
    let (atlas, people) = people();
    let clients =
        fill::all(&cabinet, &atlas, &people, today, now).expect("a demo").into_iter().map(|(id, _)| id).collect();
    (folder, cabinet, atlas, people, clients)
}

fn day(said: &str) -> Date {
    Date::parse(said).expect("a day")
}

#[test]
fn twelve_people_each_said_to_be_invented() {
    let (_, people) = people();
    assert_eq!(people.len(), 12);
    let names: BTreeSet<&str> = people.iter().map(|p| p.details.name.as_str()).collect();
    let seeds: BTreeSet<u64> = people.iter().map(|p| p.seed).collect();
    let draws: BTreeSet<i64> = people.iter().map(|p| p.draw).collect();
    assert_eq!((names.len(), seeds.len(), draws), (12, 12, (1..=12).collect()));
    let tones: BTreeSet<u64> = people.iter().map(|p| p.seed % 6).collect();
    assert_eq!(tones.len(), 6, "every class of skin");
    for p in &people {
        let d = &p.details;
        assert!(d.notes.starts_with("Invented for the demo."), "{}", d.name);
        // RFC 2606, and Ofcom's numbers for drama.
        assert!(d.email.ends_with("@example.org") && d.phone.starts_with("01632 960"), "{}", d.name);
        assert!(p.visits.windows(2).all(|v| v[0].ago > v[1].ago), "{}", d.name);
    }
    let jaw_or_sleep = people.iter().filter(|p| p.concerns.iter().any(|c| matches!(c.0, 0 | 9))).count();
    assert!(jaw_or_sleep >= 11, "{jaw_or_sleep}");
}

#[test]
fn what_was_felt_last_is_heeded_in_the_next_draft() {
    let (_folder, cabinet, atlas, people, clients) = made("heeded", day("2026-03-02"));
    let mut heeded = 0;
    for (p, id) in people.iter().zip(&clients) {
        let Some(last) = p.sessions.iter().min_by_key(|s| s.ago) else { continue };
        let memory = cabinet.read(|r| crate::desk::editor::remembered::of(r, &atlas, *id)).expect("read");
        for [target, _, felt] in &last.felt {
            let target = atlas.target_named(target).expect("a target");
            let stronger = last
                .felt
                .iter()
                .any(|[t, _, f]| atlas.target_named(t) == Some(target) && matches!(f.as_str(), "red" | "painful"));
            match felt.as_str() {
                "tender" | "tight" if !stronger => {
                    assert!(memory.tender.contains(&target), "{}: {felt}", p.details.name)
                }
                "red" | "painful" => assert!(memory.softer.contains(&target), "{}: {felt}", p.details.name),
                _ => continue,
            }
            heeded += 1;
        }
    }
    assert!(heeded >= 5, "{heeded}");
}

#[test]
fn no_word_of_the_demo_claims_anything() {
    let (_, people) = people();
    for p in &people {
        let mut said = vec![p.details.notes.as_str()];
        said.extend(p.sessions.iter().map(|s| s.words.as_str()));
        said.extend(p.written.iter().map(|n| n.words.as_str()));
        said.extend(p.home.iter().flat_map(|h| h.words.iter().map(String::as_str)));
        for words in said {
            let claims = crate::catalogue::tests::claims_in(words);
            assert!(claims.is_empty(), "{}: {claims:?} in {words}", p.details.name);
        }
    }
}

/// On the demo's day every routine that may be started passes the checker for its own person; who has a warning sign, no
/// consent or questions open has none that may be.
#[test]
fn every_routine_passes_for_its_own_person_today() {
    for today in ["2026-03-01", "2024-02-29", "2026-12-31"] {
        let today = day(today);
        let (_folder, cabinet, atlas, people, clients) = made("routines", today);
        let mut running = 0;
        for (p, id) in people.iter().zip(&clients) {
            let name = &p.details.name;
            cabinet
                .read(|r| {
                    let person = Person::read(r, &atlas, *id, today)?;
                    let routines = r.routines(Some(*id))?;
                    if p.unasked || !p.open.is_empty() {
                        assert!(routines.is_empty(), "{name}");
                        assert_eq!(r.consents_to(*id, ConsentKind::Care)?, !p.unasked);
                        return Ok(());
                    }
                    assert_eq!(routines.len(), 1, "{name}");
                    let versions = r.versions(routines[0].id)?;
                    let latest = versions.last().expect("a version");
                    let routine = RoutineFile::parse("latest", latest.body.as_str(), &atlas)
                        .unwrap_or_else(|f| panic!("{name}: {f:?}"));
                    let breaches = check(&atlas, &routine, &person.clearance);
                    if p.sign.is_some() {
                        assert!(!person.clearance.stop.is_empty(), "{name}");
                        assert!(
                            matches!(
                                breaches[..],
                                [plan::check::Breach { kind: plan::check::BreachKind::Stop(_), .. }]
                            ),
                            "{name}"
                        );
                        return Ok(());
                    }
                    assert!(person.clearance.stop.is_empty() && person.clearance.unanswered.is_empty(), "{name}");
                    assert!(breaches.is_empty(), "{name}: {breaches:?}");
                    running += 1;
                    Ok(())
                })
                .expect("a reading");
        }
        assert_eq!(running, 9);
    }
}

/// What was felt was felt where the routine of that day worked.
#[test]
fn what_was_felt_lies_in_the_routine_that_ran() {
    let (_folder, cabinet, atlas, people, clients) = made("felt", day("2026-03-01"));
    let mut wrong = Vec::new();
    for (p, id) in people.iter().zip(&clients) {
        cabinet
            .read(|r| {
                let sessions = r.sessions(Some(*id))?;
                assert_eq!(sessions.len(), p.sessions.len(), "{}", p.details.name);
                for (session, told) in sessions.iter().zip(&p.sessions) {
                    let body = r.version(session.version)?.body;
                    let routine = RoutineFile::parse("ran", body.as_str(), &atlas).expect("a routine");
                    for [target, side, _] in &told.felt {
                        let worked = |s: &plan::routine::Step| {
                            s.target_id(&atlas) == target && (s.side.word() == side || s.side.word() == "both")
                        };
                        if !routine.steps.iter().any(worked) {
                            let has: BTreeSet<&str> = routine.steps.iter().map(|s| s.target_id(&atlas)).collect();
                            wrong
                                .push(format!("{} {}: {target} {side} is not among {has:?}", p.details.name, told.ago));
                        }
                    }
                }
                Ok(())
            })
            .expect("a reading");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Every photograph of the demo passes every gate, and every visit gives values.
#[test]
fn every_photograph_passes_its_gates() {
    let (_, people) = people();
    let finder = Finder::new().expect("the networks");
    let all: Vec<(usize, usize)> =
        people.iter().enumerate().flat_map(|(i, p)| (0..p.visits.len()).map(move |n| (i, n))).collect();
    assert!(SHOTS * all.len() >= 50, "{}", all.len());
    std::thread::scope(|scope| {
        let halves = all.chunks(all.len().div_ceil(2)).map(|part| {
            let (finder, people) = (finder.beside(), &people);
            scope.spawn(move || {
                let mut wrong = Vec::new();
                for (i, n) in part {
                    let shown = taken(&people[*i], *n, &finder);
                    let failed = shown.iter().flat_map(|s| s.taken.measured.gates.iter().filter(|g| !g.passed));
                    let failed: Vec<_> = failed.map(|g| g.name.name()).collect();
                    let usable = shown.iter().filter(|s| s.taken.measured.usable && s.taken.sides().is_some()).count();
                    if usable != SHOTS || !failed.is_empty() {
                        wrong.push(format!("{} {n}: {usable} usable, {failed:?}", people[*i].details.name));
                    }
                }
                wrong
            })
        });
        let halves: Vec<_> = halves.collect();
        let wrong: Vec<String> = halves.into_iter().flat_map(|h| h.join().expect("a half")).collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    });
}

/// Of the three who have a plan one has changed, of one it can't be told, one has not come to the day of the look; everybody
/// else's weeks are a schedule without a verdict.
#[test]
fn the_plans_of_the_demo_come_to_different_verdicts() {
    use crate::following::one::one;
    use follow::{TooEarly, Verdict};

    let today = day("2026-03-01");
    let (_folder, cabinet, _, people, clients) = made("verdicts", today);
    let mut said = Vec::new();
    for (p, id) in people.iter().zip(&clients) {
        cabinet
            .read(|r| {
                for weeks in r.weeks(*id)? {
                    let f = one(r, *id, weeks.id, today)?.expect("their weeks");
                    assert_eq!(f.plan.is_some(), p.levels.is_some(), "{}", p.details.name);
                    if f.plan.is_some() {
                        said.push((p.details.name.as_str(), f.series[0].assessment.as_ref().and_then(|a| a.verdict)));
                    }
                }
                Ok(())
            })
            .expect("a reading");
    }
    let before = Verdict::TooEarly(TooEarly::BeforeLook(56));
    let expected = [
        ("Ilse Varnholt", Some(before)),
        ("Yuna Haramori", Some(Verdict::ClearChange)),
        ("Noor Sadiqat", Some(Verdict::TooEarly(TooEarly::Unsure))),
    ];
    assert_eq!(said, expected);
}
