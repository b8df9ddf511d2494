//! Random work against a plain model in memory, with closing, locking, backups, failed changes and erasures in between.

mod common;

use std::collections::BTreeMap;

use cabinet::*;
use common::{Folder, json, made, named, now, photograph, toml, words};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Op {
    Add(String),
    Rename(usize, String),
    Consent(usize, usize, bool),
    Intake(usize, u8),
    Visit(usize, i64),
    Photograph(usize, Vec<u8>),
    RemovePhotograph(usize),
    RemoveVisit(usize),
    Note(usize, String),
    ChangeNote(usize, String),
    Routine(Option<usize>, u8),
    Version(usize, u8),
    Session(usize, usize),
    HomeNote(usize, u8),
    Reading(usize, u8),
    Join(usize),
    Out(usize, String),
    Set(u8, Option<String>),
    Erase(usize),
    Fail(String),
    Reopen,
    Lock,
    BackUpAndRestore,
}

/// A routine: whose, and its versions with what they say.
type Kept = (Option<ClientId>, Vec<(VersionId, u8)>);

/// What the cabinet must hold. Ids are the cabinet's own.
#[derive(Clone, Default)]
struct Model {
    clients: BTreeMap<ClientId, String>,
    consents: Vec<(ClientId, ConsentKind, bool)>,
    intakes: Vec<(ClientId, u8)>,
    visits: BTreeMap<VisitId, (ClientId, i64)>,
    photographs: BTreeMap<PhotographId, (VisitId, Vec<u8>)>,
    notes: BTreeMap<NoteId, (ClientId, String)>,
    routines: BTreeMap<RoutineId, Kept>,
    sessions: Vec<(SessionId, ClientId, VersionId)>,
    home: Vec<(ClientId, u8)>,
    readings: BTreeMap<VisitId, u8>,
    course: Option<CourseId>,
    /// Each member with everything that was said of them; an odd number of words: left out.
    members: BTreeMap<ClientId, Vec<String>>,
    erased_members: u32,
    settings: BTreeMap<String, String>,
    erased: usize,
}

fn pick<K: Copy, V>(map: &BTreeMap<K, V>, n: usize) -> Option<K> {
    map.keys().nth(n % map.len().max(1)).copied()
}

fn ops() -> impl Strategy<Value = Vec<Op>> {
    let name = "[A-Zé][a-zäß' -]{0,8}[a-z]";
    let any_n = 0..64usize;
    let bytes = prop_oneof![proptest::collection::vec(any::<u8>(), 1..40), (1..20_000usize).prop_map(|n| vec![7; n])];
    let op = prop_oneof![
        6 => name.prop_map(Op::Add),
        2 => (any_n.clone(), name).prop_map(|(n, s)| Op::Rename(n, s)),
        4 => (any_n.clone(), 0..3usize, any::<bool>()).prop_map(|(n, k, g)| Op::Consent(n, k, g)),
        2 => (any_n.clone(), any::<u8>()).prop_map(|(n, a)| Op::Intake(n, a)),
        4 => (any_n.clone(), 0..9i64).prop_map(|(n, at)| Op::Visit(n, at)),
        5 => (any_n.clone(), bytes).prop_map(|(n, b)| Op::Photograph(n, b)),
        1 => any_n.clone().prop_map(Op::RemovePhotograph),
        1 => any_n.clone().prop_map(Op::RemoveVisit),
        2 => (any_n.clone(), name).prop_map(|(n, s)| Op::Note(n, s)),
        1 => (any_n.clone(), name).prop_map(|(n, s)| Op::ChangeNote(n, s)),
        2 => (proptest::option::of(any_n.clone()), any::<u8>()).prop_map(|(n, v)| Op::Routine(n, v)),
        2 => (any_n.clone(), 0..3u8).prop_map(|(n, v)| Op::Version(n, v)),
        3 => (any_n.clone(), any_n.clone()).prop_map(|(n, v)| Op::Session(n, v)),
        3 => (any_n.clone(), 0..11u8).prop_map(|(n, v)| Op::HomeNote(n, v)),
        3 => (any_n.clone(), any::<u8>()).prop_map(|(n, v)| Op::Reading(n, v)),
        3 => any_n.clone().prop_map(Op::Join),
        3 => (any_n.clone(), prop_oneof![name, Just(" ".to_owned())]).prop_map(|(n, s)| Op::Out(n, s)),
        1 => (0..3u8, proptest::option::of(name)).prop_map(|(n, s)| Op::Set(n, s)),
        1 => any_n.prop_map(Op::Erase),
        2 => name.prop_map(Op::Fail),
        1 => Just(Op::Reopen),
        1 => Just(Op::Lock),
        1 => Just(Op::BackUpAndRestore),
    ];
    proptest::collection::vec(op, 1..60)
}

fn step(cabinet: &Cabinet, m: &mut Model, op: &Op) -> Result<(), Error> {
    let client = |m: &Model, n: usize| pick(&m.clients, n);
    match op {
        Op::Add(name) => {
            let id = cabinet.write(now(), |w| w.add_client(&named(name)))?;
            m.clients.insert(id, name.clone());
        }
        Op::Rename(n, name) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            cabinet.write(now(), |w| w.change_client(id, &named(name)))?;
            m.clients.insert(id, name.clone());
        }
        Op::Consent(n, kind, given) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            let kind = ConsentKind::EACH[*kind];
            cabinet.write(now(), |w| w.record_consent(id, kind, *given, now(), "v1"))?;
            m.consents.push((id, kind, *given));
        }
        Op::Intake(n, a) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            cabinet.write(now(), |w| w.add_intake(id, &Document::Json(json(&a.to_string())), None))?;
            m.intakes.push((id, *a));
        }
        Op::Visit(n, at) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            let visit = cabinet.write(now(), |w| w.add_visit(id, now().plus(*at), &json("0")))?;
            m.visits.insert(visit, (id, *at));
        }
        Op::Photograph(n, bytes) => {
            let Some(visit) = pick(&m.visits, *n) else { return Ok(()) };
            let added = cabinet.write(now(), |w| w.add_photograph(visit, &photograph(bytes)));
            let holds =
                |c: &(ClientId, ConsentKind, bool)| (c.0, c.1) == (m.visits[&visit].0, ConsentKind::Photographs);
            if m.consents.iter().rev().find(|c| holds(c)).is_some_and(|c| c.2) {
                let added = added?;
                let same = m.photographs.iter().find(|(_, p)| **p == (visit, bytes.clone())).map(|(id, _)| *id);
                assert!(same.is_none_or(|id| id == added), "the same bytes once");
                m.photographs.insert(added, (visit, bytes.clone()));
            } else {
                assert_eq!(added.expect_err("no consent").key(), "cabinet.no_consent");
            }
        }
        Op::RemovePhotograph(n) => {
            let Some(id) = pick(&m.photographs, *n) else { return Ok(()) };
            cabinet.write(now(), |w| w.remove_photograph(id))?;
            m.photographs.remove(&id);
        }
        Op::RemoveVisit(n) => {
            let Some(id) = pick(&m.visits, *n) else { return Ok(()) };
            cabinet.write(now(), |w| w.remove_visit(id))?;
            m.visits.remove(&id);
            m.readings.remove(&id);
            m.photographs.retain(|_, p| p.0 != id);
        }
        Op::Note(n, text) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            let note = cabinet.write(now(), |w| w.add_note(id, None, NoteKind::Note, text))?;
            m.notes.insert(note, (id, text.clone()));
        }
        Op::ChangeNote(n, text) => {
            let Some(note) = pick(&m.notes, *n) else { return Ok(()) };
            cabinet.write(now(), |w| w.change_note(note, text))?;
            m.notes.entry(note).and_modify(|n| n.1.clone_from(text));
        }
        Op::Routine(n, body) => {
            let whose = n.and_then(|n| client(m, n));
            let (routine, version) = cabinet.write(now(), |w| {
                let routine = w.add_routine(whose, "r")?;
                Ok((routine, w.add_version(routine, &toml(&format!("b = {body}")))?))
            })?;
            m.routines.insert(routine, (whose, vec![(version, *body)]));
        }
        Op::Version(n, body) => {
            let Some(routine) = pick(&m.routines, *n) else { return Ok(()) };
            let version = cabinet.write(now(), |w| w.add_version(routine, &toml(&format!("b = {body}"))))?;
            let versions = &mut m.routines.get_mut(&routine).expect("known").1;
            if versions.last().expect("one").1 == *body {
                assert_eq!(version, versions.last().expect("one").0);
            } else {
                versions.push((version, *body));
            }
        }
        Op::Session(n, v) => {
            let (Some(id), Some(routine)) = (client(m, *n), pick(&m.routines, *v)) else { return Ok(()) };
            let (whose, versions) = &m.routines[&routine];
            let version = versions[v % versions.len()].0;
            let added = cabinet.write(now(), |w| w.add_session(Some(id), version, now(), &json("1"), &json("2")));
            if whose.is_none_or(|w| w == id) {
                m.sessions.push((added?, id, version));
            } else {
                assert_eq!(added.expect_err("another's").key(), "cabinet.not_theirs");
            }
        }
        Op::HomeNote(n, level) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            let body = json(&format!("{{\"done\":true,\"minutes\":3,\"levels\":[{level},null,null,null]}}"));
            cabinet.write(now(), |w| w.add_home_note(id, None, now().date(), &body))?;
            m.home.push((id, *level));
        }
        Op::Reading(n, mean) => {
            let Some(visit) = pick(&m.visits, *n) else { return Ok(()) };
            let new = NewReading { name: "dE00", side: ReadingSide::Face, mean: f64::from(*mean), count: 2, ss: 0.1 };
            cabinet.write(now(), |w| w.set_readings(visit, &[new]))?;
            m.readings.insert(visit, *mean);
        }
        Op::Join(n) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            let course = cabinet.write(now(), |w| {
                let course = match m.course {
                    Some(course) => course,
                    None => w.add_course("c", now().date(), 28, &json("1"))?,
                };
                assert_eq!(w.join_course(course, id)?, !m.members.contains_key(&id));
                Ok(course)
            })?;
            m.course = Some(course);
            m.members.entry(id).or_default();
        }
        Op::Out(n, reason) => {
            let (Some(id), Some(course)) = (pick(&m.members, *n), m.course) else { return Ok(()) };
            let out = m.members[&id].len() % 2 == 1;
            let said = cabinet.write(now(), |w| match out {
                true => w.take_back(course, id, reason),
                false => w.leave_out(course, id, reason),
            });
            if reason.trim().is_empty() {
                assert_eq!(said.expect_err("no words").key(), "cabinet.bad_value");
            } else {
                said?;
                m.members.entry(id).or_default().push(reason.clone());
            }
        }
        Op::Set(n, value) => {
            let name = format!("s{n}");
            cabinet.write(now(), |w| w.set(&name, value.as_deref()))?;
            match value {
                Some(value) => drop(m.settings.insert(name, value.clone())),
                None => drop(m.settings.remove(&name)),
            }
        }
        Op::Erase(n) => {
            let Some(id) = client(m, *n) else { return Ok(()) };
            cabinet.erase_client(id, now())?;
            m.clients.remove(&id);
            m.consents.retain(|c| c.0 != id);
            m.intakes.retain(|i| i.0 != id);
            m.visits.retain(|_, v| v.0 != id);
            let visits = m.visits.clone();
            m.photographs.retain(|_, p| visits.contains_key(&p.0));
            m.readings.retain(|visit, _| visits.contains_key(visit));
            m.home.retain(|h| h.0 != id);
            m.erased_members += u32::from(m.members.remove(&id).is_some());
            m.notes.retain(|_, n| n.0 != id);
            m.routines.retain(|_, r| r.0 != Some(id));
            m.sessions.retain(|s| s.1 != id);
            m.erased += 1;
        }
        Op::Fail(name) => {
            let failed = cabinet.write(now(), |w| {
                let id = w.add_client(&named(name))?;
                w.record_consent(id, ConsentKind::Photographs, true, now(), "v1")?;
                let visit = w.add_visit(id, now(), &json("0"))?;
                w.add_photograph(visit, &photograph(&[1; 9000]))?;
                w.client(ClientId::from_number(1_000_000))
            });
            assert_eq!(failed.expect_err("on purpose").key(), "cabinet.no_such");
        }
        Op::Reopen | Op::Lock | Op::BackUpAndRestore => unreachable!("done outside"),
    }
    Ok(())
}

fn must_agree(cabinet: &Cabinet, m: &Model) {
    cabinet
        .read(|r| {
            let listed = r.clients(None, 1000)?;
            assert_eq!(listed.len(), m.clients.len());
            assert_eq!(r.client_count()?, m.clients.len() as u64);
            for (id, name) in &m.clients {
                assert_eq!(&r.client(*id)?.details.name, name);
                let typed: String = name.chars().take(3).collect();
                let found = r.search(&typed, 1000)?.iter().any(|l| l.id == *id);
                assert!(found || !typed.chars().any(char::is_alphanumeric), "{name:?} by {typed:?}");
                let consents: Vec<_> = r.consents(*id)?.into_iter().map(|c| (*id, c.kind, c.given)).collect();
                assert_eq!(consents, m.consents.iter().filter(|c| c.0 == *id).copied().collect::<Vec<_>>());
                for kind in ConsentKind::EACH {
                    let last = m.consents.iter().rev().find(|c| (c.0, c.1) == (*id, kind));
                    assert_eq!(r.consents_to(*id, kind)?, last.is_some_and(|c| c.2));
                }
                let intakes: Vec<_> = r.intakes(*id)?.iter().map(|i| i.answers.as_str().to_owned()).collect();
                let known = m.intakes.iter().filter(|i| i.0 == *id).map(|i| i.1.to_string());
                assert_eq!(intakes, known.collect::<Vec<_>>());
                let visits: BTreeMap<_, _> =
                    r.visits(*id)?.into_iter().map(|v| (v.id, (v.client, v.at.unix() - now().unix()))).collect();
                assert_eq!(visits, m.visits.iter().filter(|v| v.1.0 == *id).map(|(k, v)| (*k, *v)).collect());
                let notes: BTreeMap<_, _> = r.notes(*id)?.into_iter().map(|n| (n.id, (n.client, n.text))).collect();
                assert_eq!(notes, m.notes.iter().filter(|n| n.1.0 == *id).map(|(k, n)| (*k, n.clone())).collect());
                let home: Vec<_> = r.home_days(*id)?.into_iter().map(|d| (*id, d.levels[0].unwrap_or(99))).collect();
                assert_eq!(home, m.home.iter().filter(|h| h.0 == *id).copied().collect::<Vec<_>>());
                let readings: BTreeMap<_, _> = r.readings(*id)?.into_iter().map(|x| (x.visit, x.mean as u8)).collect();
                let theirs = |visit: &VisitId| m.visits.get(visit).is_some_and(|v| v.0 == *id);
                let known = m.readings.iter().filter(|(visit, _)| theirs(visit)).map(|(k, v)| (*k, *v));
                assert_eq!(readings, known.collect::<BTreeMap<_, _>>());
                let sessions: Vec<_> = r.sessions(Some(*id))?.into_iter().map(|s| (s.id, *id, s.version)).collect();
                assert_eq!(sessions, m.sessions.iter().filter(|s| s.1 == *id).copied().collect::<Vec<_>>());
            }
            for visit in m.visits.keys() {
                let held = r.photographs(*visit)?.len();
                assert_eq!(held, m.photographs.values().filter(|p| p.0 == *visit).count());
            }
            for (id, (_, bytes)) in &m.photographs {
                assert!(r.photograph_bytes(*id)? == *bytes);
            }
            for (id, (whose, versions)) in &m.routines {
                assert_eq!(r.routine(*id)?.client, *whose);
                let known: Vec<_> = r.versions(*id)?.into_iter().map(|v| (v.id, v.body.as_str().to_owned())).collect();
                assert_eq!(known, versions.iter().map(|(v, b)| (*v, format!("b = {b}"))).collect::<Vec<_>>());
            }
            if let Some(course) = m.course {
                let members: BTreeMap<_, _> =
                    r.course_members(course)?.into_iter().map(|c| (c.client, c.left_out.map(|l| l.reason))).collect();
                let out = |said: &Vec<String>| (said.len() % 2 == 1).then(|| said.last().cloned()).flatten();
                assert_eq!(
                    members,
                    m.members.iter().map(|(id, said)| (*id, out(said).map(|s| s.trim().to_owned()))).collect()
                );
                assert_eq!(r.course(course)?.erased, m.erased_members);
                assert_eq!(r.course_words(course)?.len(), m.members.values().map(Vec::len).sum::<usize>());
            }
            for n in 0..3 {
                let name = format!("s{n}");
                assert_eq!(r.setting(&name)?, m.settings.get(&name).cloned());
            }
            let erased = r.changes(0, 10_000)?.iter().filter(|c| c.done == Done::Erased).count();
            assert_eq!(erased, m.erased);
            Ok(())
        })
        .expect("read");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    #[test]
    fn the_cabinet_holds_what_a_plain_model_holds(ops in ops()) {
        let folder = Folder::new("model");
        let mut cabinet = made(&folder);
        let mut model = Model::default();
        for op in &ops {
            match op {
                Op::Reopen => {
                    drop(cabinet);
                    cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens");
                    must_agree(&cabinet, &model);
                }
                Op::Lock => {
                    cabinet.lock();
                    cabinet.unlock(&words(), now()).expect("opens");
                }
                Op::BackUpAndRestore => {
                    let backup = cabinet.backup(1, now()).expect("a backup");
                    let before = model.clone();
                    step(&cabinet, &mut model, &Op::Add("After".into())).expect("written");
                    drop(cabinet);
                    cabinet = Cabinet::restore(&backup.path, &folder.cabinet(), &words(), now()).expect("restored");
                    model = before;
                    must_agree(&cabinet, &model);
                }
                op => step(&cabinet, &mut model, op).unwrap_or_else(|e| panic!("{op:?}: {e}")),
            }
        }
        must_agree(&cabinet, &model);
        drop(cabinet);
        let cabinet = Cabinet::open(&folder.cabinet(), &words(), now()).expect("opens");
        must_agree(&cabinet, &model);
        cabinet.check().expect("whole");
    }
}
