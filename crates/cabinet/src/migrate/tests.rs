//! A store of every version that was ever written opens, with all that is in it; a later one is refused and left as it is.

use std::fs;
use std::path::PathBuf;

use sha2::{Digest, Sha256};

use super::*;
use crate::cabinet::close;
use crate::header::{Header, hex, store_name};
use crate::place::Place;
use crate::*;

/// The rows that each version's fixture holds, as that version wrote them.
const ROWS: [&str; LATEST as usize] = [
    include_str!("fixtures/rows_v1.sql"),
    include_str!("fixtures/rows_v2.sql"),
    include_str!("fixtures/rows_v3.sql"),
    include_str!("fixtures/rows_v4.sql"),
    include_str!("fixtures/rows_v5.sql"),
];

fn words() -> Passphrase {
    Passphrase::new("horse lamp river seven")
}

fn folder(name: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("cabinet-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&path);
    path
}

/// The maker of fixtures: a closed cabinet whose store has this version, filled with that version's rows.
fn fixture(folder: &Path, version: u32) {
    let place = Place::new(folder);
    place.make().expect("a folder");
    let (recipe, key) = key::fresh(&words(), Cost::FOR_TESTS).expect("a key");
    let header = Header { store: store_name(1), recipe, replaced: None };
    let store = place.store(&header.store);
    let mut conn = conn::open(&store, &key, true).expect("a store");
    to(&mut conn, &store, version).expect("that version");
    conn.execute_batch(ROWS[version as usize - 1]).expect("its rows");
    close(conn, &store).expect("closed");
    place.write_header(&header).expect("a header");
}

fn schema(cabinet: &Cabinet) -> Vec<(String, String)> {
    let sql = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name";
    cabinet.read(|r| r.all(sql, [], |row| Ok((row.get(0)?, row.get(1)?)))).expect("read")
}

fn must_hold_everything(cabinet: &Cabinet, version: u32) {
    let ana = ClientId::from_number(1);
    cabinet
        .read(|r| {
            let known = r.client(ana)?;
            assert_eq!((known.details.name.as_str(), known.details.hands), ("Zoë Müller", Hands::Left));
            assert_eq!(known.details.birth.map(|b| b.to_string()).as_deref(), Some("1971-02-28"));
            assert_eq!(known.tone.map(|t| (t.class, t.ita)), Some(("brown".into(), Some(-12.5))));
            assert_eq!((r.search("mull", 9)?.len(), r.clients(None, 9)?.len()), (1, 2));
            assert_eq!(r.consents(ana)?.len(), 3);
            assert!(r.consents_to(ana, ConsentKind::Care)? && !r.consents_to(ana, ConsentKind::Photographs)?);
            assert_eq!(r.intake(ana)?.map(|i| i.answers.as_str().to_owned()).as_deref(), Some("a = 1"));
            assert_eq!(r.clinician_words(ana)?[0].who, "Dr E");
            let visit = &r.visits(ana)?[0];
            assert_eq!(r.photograph_bytes(r.photographs(visit.id)?[0].id)?, b"abc");
            assert_eq!(r.measurements(visit.id)?[0].body.as_str(), "[1]");
            assert_eq!(r.corrections(PhotographId::from_number(7))?[0].body.as_str(), "[2]");
            assert_eq!(r.atlas()?[0].body.as_str(), "b = 2");
            assert_eq!((r.routines(Some(ana))?.len(), r.routines(None)?.len()), (1, 1));
            let session = &r.sessions(Some(ana))?[0];
            assert_eq!(r.version(session.version)?.body.as_str(), "c = 3");
            assert_eq!(r.notes(ana)?[0].kind, NoteKind::Incident);
            assert_eq!(r.home_notes(ana)?[0].weeks, Some(r.weeks(ana)?[0].id));
            let given: Vec<_> = r.takehomes(ana)?.into_iter().map(|t| (t.version, t.language)).collect();
            let one = vec![(VersionId::from_number(9), "de".to_owned())];
            assert_eq!(given, if version < 3 { Vec::new() } else { one });
            let for_all = r.takehome_with("m3n8r5t6")?.map(|t| t.client);
            assert_eq!(for_all, if version < 3 { None } else { Some(None) });
            // A note of any version has its numbers; the body of the first three versions' says nothing of them.
            let told: Vec<_> =
                r.home_days(ana)?.into_iter().map(|d| (d.day.to_string(), d.done, d.minutes, d.levels)).collect();
            let numbers = if version < 4 { (false, 0, [None; 4]) } else { (true, 9, [Some(4), None, None, None]) };
            assert_eq!(told, [("1970-01-02".to_owned(), numbers.0, numbers.1, numbers.2)]);
            let ended = r.weeks(ana)?[0].ended.clone().map(|e| (e.day.to_string(), e.reason));
            let of_v4 = Some(("1970-01-09".to_owned(), "moved away".to_owned()));
            assert_eq!(ended, if version < 4 { None } else { of_v4 });
            let readings: Vec<_> = r.readings(ana)?.into_iter().map(|m| (m.visit, m.name, m.side, m.mean)).collect();
            let one = (VisitId::from_number(5), "dE00".to_owned(), ReadingSide::Face, 4.5);
            assert_eq!(readings, if version < 4 { vec![] } else { vec![one] });
            let courses = r.courses()?;
            assert_eq!(courses.len(), if version < 4 { 0 } else { 1 });
            for course in courses {
                let members = r.course_members(course.id)?;
                let out: Vec<_> = members.iter().map(|m| m.left_out.as_ref().map(|l| l.reason.as_str())).collect();
                assert_eq!((out, course.erased), (vec![Some("a new filler"), None], 1));
                assert_eq!(r.course_words(course.id)?.len(), 1);
            }
            let texts: Vec<_> = r.texts()?.into_iter().map(|t| (t.title, t.kind, t.body, t.countries)).collect();
            let one =
                ("Evening".to_owned(), "title".to_owned(), "A tight jaw".to_owned(), vec!["us".into(), "x1".into()]);
            assert_eq!(texts, if version < 5 { vec![] } else { vec![one] });
            let found: Vec<_> = r.texts()?.into_iter().map(|t| (t.file, t.rules, t.findings, t.before)).collect();
            let one = ("a.vtt".to_owned(), "s1".to_owned(), Json::new("[8]")?, Some(Json::new("[9]")?));
            assert_eq!(found, if version < 5 { vec![] } else { vec![one] });
            let films: Vec<_> =
                r.films()?.into_iter().map(|f| (f.routine, f.version, f.name, f.language, f.body)).collect();
            let routine = (RoutineId::from_number(4), VersionId::from_number(10));
            let one = (routine.0, routine.1, "A film".to_owned(), "en".to_owned(), Json::new("[10]")?);
            assert_eq!(films, if version < 5 { vec![] } else { vec![one] });
            let own: Vec<_> = r.own_rules()?.into_iter().map(|o| (o.name, o.body)).collect();
            assert_eq!(own, if version < 5 { vec![] } else { vec![("x1".to_owned(), Toml::new("e = 5")?)] });
            assert_eq!(r.setting("language")?.as_deref(), Some("en"));
            assert_eq!(r.changes(0, 9)?.last().map(|c| c.done), Some(Done::Erased));
            let rule = DueRule { today: Time::from_unix(0).date(), visit_before: Time::from_unix(0) };
            assert_eq!(r.due(&rule, 9)?.len(), 1, "Bo has no consent and no answers");
            Ok(())
        })
        .expect("read");
    // And it can be gone on with.
    let next =
        cabinet.write(Time::from_unix(99), |w| w.add_client(&Details { name: "New".into(), ..Details::default() }));
    assert_eq!(next.expect("written").number(), 4);
    cabinet.check().expect("whole");
}

#[test]
fn a_store_of_every_version_opens_with_everything_in_it() {
    let now = Time::from_unix(1_700_000_000);
    let new = folder("new");
    let fresh = Cabinet::create(&new, &words(), Cost::FOR_TESTS, now).expect("made");
    for version in 1..=LATEST {
        let folder = folder(&format!("from-{version}"));
        fixture(&folder, version);
        let cabinet = Cabinet::open(&folder, &words(), now).unwrap_or_else(|e| panic!("version {version}: {e}"));
        assert_eq!(schema(&cabinet), schema(&fresh), "version {version}: the same schema as a new one");
        must_hold_everything(&cabinet, version);
        let backups = cabinet.backups();
        drop(cabinet);
        if version < LATEST {
            // It was backed up as it was, and that backup opens too.
            assert_eq!(backups.iter().map(|b| b.version).collect::<Vec<_>>(), [version]);
            let restored = Cabinet::restore(&backups[0].path, &folder, &words(), now).expect("restored");
            must_hold_everything(&restored, version);
        } else {
            assert!(backups.is_empty());
        }
        fs::remove_dir_all(&folder).expect("removed");
    }
    drop(fresh);
    fs::remove_dir_all(&new).expect("removed");
}

#[test]
fn a_later_version_is_refused_with_words_and_left_as_it_is() {
    let now = Time::from_unix(1_700_000_000);
    let folder = folder("later");
    fixture(&folder, LATEST);
    let place = Place::new(&folder);
    let header = place.read_header().expect("a header");
    let key = key::open(&words(), &header.recipe).expect("derived").expect("opens");
    let store = place.store(&header.store);
    let conn = conn::open(&store, &key, false).expect("opens");
    conn.pragma_update(None, "user_version", LATEST + 1).expect("set");
    close(conn, &store).expect("closed");
    let before = fs::read(&store).expect("the store");
    let error = Cabinet::open(&folder, &words(), now).expect_err("later");
    assert_eq!(error.kind(), &ErrorKind::Newer { found: LATEST + 1, known: LATEST });
    assert!(error.to_string().contains("later version of the program"), "{error}");
    assert!(fs::read(&store).expect("the store") == before);
    fs::remove_dir_all(&folder).expect("removed");
}

/// A schema that was released is in people's files; a change to its text would make two kinds of the same version.
#[test]
fn what_was_released_never_changes() {
    let sums = [
        include_str!("../schema/v1.sql"),
        include_str!("../schema/v2.sql"),
        include_str!("../schema/v3.sql"),
        include_str!("../schema/v4.sql"),
        include_str!("../schema/v5.sql"),
    ]
    .map(|text| hex(&Sha256::digest(text.as_bytes())[..8]));
    let released = ["86e9309118220490", "c2227cc03e7f407e", "cf6917218a1fe79e", "5fe869e051453bf3", "2d83cef65b25c0ce"];
    assert_eq!(sums, released);
    steps().validate().expect("they run");
}
