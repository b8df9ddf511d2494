//! What goes in comes out, also after the cabinet was closed; and what must not go in does not.

mod common;

use cabinet::*;
use common::{Folder, json, made, named, now, photograph, toml, visited, words};
use vocab::Date;

fn day(text: &str) -> Date {
    Date::parse(text).expect("a day")
}

#[test]
fn everything_comes_back_after_a_restart() {
    let folder = Folder::new("round");
    let cabinet = made(&folder);
    let details = Details {
        name: "Zoë Müller-Łukasz".into(),
        birth: Some(Birth::Day(day("1971-02-28"))),
        language: "de-AT".into(),
        email: "zoe@example.org".into(),
        phone: "+43 1 000".into(),
        address: "Gasse 1\n1010 Wien".into(),
        notes: "quiet; \"no talk\", please\r\n🙂".into(),
        hands: Hands::Left,
    };
    let pixels: Vec<u8> = (0..300_000u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let later = now().plus(3600);
    let (client, visit, photo, version) = cabinet
        .write(now(), |w| {
            let client = w.add_client(&details)?;
            for kind in ConsentKind::EACH {
                w.record_consent(client, kind, true, now(), "v3")?;
            }
            w.record_consent(client, ConsentKind::Publication, false, later, "v3")?;
            w.fix_tone(client, "brown", Some(-12.5))?;
            w.add_intake(client, &Document::Toml(toml("[conditions]\nfiller = \"no\"\n")), Some(day("2024-05-01")))?;
            let word = NewWord {
                condition: "age60_neck",
                place: "neck",
                who: "Dr Example (invented)",
                said: day("2023-11-01"),
                until: day("2024-11-01"),
            };
            w.add_clinician_word(client, &word)?;
            let visit = w.add_visit(client, now(), &json("{\"light\": \"window\"}"))?;
            let photo = w.add_photograph(visit, &photograph(&pixels))?;
            assert_eq!(w.add_photograph(visit, &photograph(&pixels))?, photo, "the same once more");
            w.add_measurement(visit, Some(photo), &json("{\"shadow\": [1.5, 0.2]}"))?;
            w.add_correction(photo, &json("[1]"))?;
            w.add_correction(photo, &json("[2]"))?;
            w.save_atlas("points", &toml("a = 1"))?;
            w.save_atlas("points", &toml("a = 2"))?;
            let routine = w.add_routine(Some(client), "Jaw, evening")?;
            let version = w.add_version(routine, &toml("minutes = 8"))?;
            assert_eq!(w.add_version(routine, &toml("minutes = 8"))?, version, "the same is no new version");
            w.add_version(routine, &toml("minutes = 9"))?;
            w.add_session(Some(client), version, later, &json("[\"done\"]"), &json("{\"jaw\": \"tender\"}"))?;
            w.add_note(client, Some(visit), NoteKind::Note, "slept badly")?;
            w.add_note(client, None, NoteKind::Incident, "a bruise on the left forearm")?;
            let weeks = w.add_weeks(client, Some(version), day("2023-11-15"), 14, &json("{\"every\": 1}"))?;
            w.add_home_note(client, Some(weeks), day("2023-11-16"), &json("{\"felt\": \"easy\"}"))?;
            w.set("language", Some("en"))?;
            Ok((client, visit, photo, version))
        })
        .expect("written");
    drop(cabinet);

    let cabinet = Cabinet::open(&folder.cabinet(), &words(), later).expect("opens again");
    assert_eq!(cabinet.checked(), Some(Checked::Whole));
    cabinet
        .read(|r| {
            let known = r.client(client)?;
            assert_eq!(known.details, details);
            assert_eq!(known.tone, Some(OwnTone { class: "brown".into(), ita: Some(-12.5), at: now() }));
            assert_eq!((known.created, known.changed), (now(), now()));
            assert_eq!(r.consents(client)?.len(), 4);
            assert!(r.consents_to(client, ConsentKind::Care)? && r.consents_to(client, ConsentKind::Photographs)?);
            assert!(!r.consents_to(client, ConsentKind::Publication)?, "withdrawn");
            let intake = r.intake(client)?.expect("answers");
            assert_eq!(intake.answers.as_str(), "[conditions]\nfiller = \"no\"\n");
            assert_eq!(intake.until, Some(day("2024-05-01")));
            let word = &r.clinician_words(client)?[0];
            assert_eq!((word.who.as_str(), word.place.as_str()), ("Dr Example (invented)", "neck"));
            for (on, holds) in
                [("2023-10-31", false), ("2023-11-01", true), ("2024-11-01", true), ("2024-11-02", false)]
            {
                assert_eq!(word.holds_on(day(on)), holds, "{on}");
            }
            assert_eq!(r.photograph_bytes(photo)?, pixels);
            let known = r.photograph(photo)?;
            assert_eq!((known.visit, known.size, known.width, known.height), (visit, 300_000, 4, 3));
            assert_eq!(r.measurements(visit)?[0].body.as_str(), "{\"shadow\": [1.5, 0.2]}");
            assert_eq!(r.corrections(photo)?.last().expect("one").body.as_str(), "[2]");
            assert_eq!(r.atlas()?[0].body.as_str(), "a = 2");
            assert_eq!(r.atlas_history("points")?.len(), 2);
            let routine = &r.routines(Some(client))?[0];
            assert_eq!((routine.versions, r.versions(routine.id)?.len()), (2, 2));
            let session = r.last_session(client)?.expect("one");
            assert_eq!((session.version, session.at), (version, later));
            assert_eq!(r.version(session.version)?.body.as_str(), "minutes = 8");
            let notes = r.notes(client)?;
            assert_eq!((notes[0].visit, notes[1].kind), (Some(visit), NoteKind::Incident));
            assert_eq!(r.weeks(client)?[0].days, 14);
            assert_eq!(r.home_notes(client)?[0].day, day("2023-11-16"));
            assert_eq!(r.setting("language")?.as_deref(), Some("en"));
            let log = r.changes(0, 100)?;
            assert_eq!(
                (log[0].kind.as_str(), log[0].item, log[0].done),
                ("client", Some(client.number()), Done::Added)
            );
            assert!(log.len() >= 20, "{} lines", log.len());
            Ok(())
        })
        .expect("read");
    cabinet.check().expect("whole");
}

#[test]
fn a_change_is_whole_or_not_there() {
    let folder = Folder::new("whole");
    let cabinet = made(&folder);
    let failed = cabinet.write(now(), |w| {
        w.add_client(&named("Half One"))?;
        w.add_client(&named("  "))
    });
    assert_eq!(failed.expect_err("no name").key(), "cabinet.bad_value");
    let count = || cabinet.read(|r| Ok((r.client_count()?, r.changes(0, 9)?.len()))).expect("read");
    assert_eq!(count(), (0, 0));
    let thrown = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        let _ = cabinet.write(now(), |w| {
            w.add_client(&named("Half Two"))?;
            assert!(w.client_count()? > 9, "thrown on purpose");
            Ok(())
        });
    }));
    assert!(thrown.is_err());
    assert_eq!(count(), (0, 0));
    visited(&cabinet, "Whole One");
    assert_eq!(count().0, 1);
}

#[test]
fn what_can_not_be_kept_is_refused_with_its_reason() {
    let folder = Folder::new("refused");
    let cabinet = made(&folder);
    let (ana, visit) = visited(&cabinet, "Ana");
    let (bo, other) = visited(&cabinet, "Bo");
    let (photo, theirs) = cabinet
        .write(now(), |w| {
            let photo = w.add_photograph(visit, &photograph(b"x"))?;
            let routine = w.add_routine(Some(ana), "hers")?;
            Ok((photo, w.add_version(routine, &toml(""))?))
        })
        .expect("written");
    type Try<'t> = &'t dyn Fn(&Writer<'_>) -> Result<(), Error>;
    let nobody = ClientId::from_number(99);
    let long = "x".repeat(MOST_BYTES + 1);
    let new = |client: &Details| client.clone();
    let tries: [(&str, &str, Try<'_>); 19] = [
        ("no such client", "cabinet.no_such", &|w| w.change_client(nobody, &named("X"))),
        ("no such client", "cabinet.no_such", &|w| w.add_visit(nobody, now(), &json("1")).map(drop)),
        ("no such client", "cabinet.no_such", &|w| w.add_routine(Some(nobody), "r").map(drop)),
        ("no such photograph", "cabinet.no_such", &|w| w.remove_photograph(PhotographId::from_number(99))),
        ("long name", "cabinet.bad_value", &|w| w.add_client(&named(&"n".repeat(LONGEST_NAME + 1))).map(drop)),
        ("long notes", "cabinet.bad_value", &|w| {
            w.add_client(&Details { notes: long.clone(), ..new(&named("X")) }).map(drop)
        }),
        ("no language", "cabinet.bad_value", &|w| {
            w.add_client(&Details { language: "German!".into(), ..new(&named("X")) }).map(drop)
        }),
        ("no wording", "cabinet.bad_value", &|w| w.record_consent(ana, ConsentKind::Care, true, now(), " ").map(drop)),
        ("another's visit", "cabinet.bad_value", &|w| w.add_note(ana, Some(other), NoteKind::Note, "x").map(drop)),
        ("another's photograph", "cabinet.bad_value", &|w| w.add_measurement(other, Some(photo), &json("1")).map(drop)),
        ("no pixels", "cabinet.bad_value", &|w| w.add_photograph(visit, &photograph(b"")).map(drop)),
        ("another's routine", "cabinet.not_theirs", &|w| {
            w.add_session(Some(bo), theirs, now(), &json("1"), &json("1")).map(drop)
        }),
        ("another's routine, for nobody", "cabinet.not_theirs", &|w| {
            w.add_session(None, theirs, now(), &json("1"), &json("1")).map(drop)
        }),
        ("another's routine, planned", "cabinet.not_theirs", &|w| {
            w.add_weeks(bo, Some(theirs), day("2024-01-01"), 7, &json("1")).map(drop)
        }),
        ("no days", "cabinet.bad_value", &|w| w.add_weeks(bo, None, day("2024-01-01"), 0, &json("1")).map(drop)),
        ("an angle", "cabinet.bad_value", &|w| w.fix_tone(ana, "brown", Some(f64::NAN))),
        ("a fixed tone", "cabinet.unchangeable", &|w| {
            w.fix_tone(ana, "brown", None)?;
            w.fix_tone(ana, "dark", None)
        }),
        ("an incident", "cabinet.unchangeable", &|w| {
            let id = w.add_note(ana, None, NoteKind::Incident, "fell asleep")?;
            w.change_note(id, "did not")
        }),
        ("consent withdrawn", "cabinet.no_consent", &|w| {
            w.record_consent(ana, ConsentKind::Photographs, false, now(), "v1")?;
            w.add_photograph(visit, &photograph(b"y")).map(drop)
        }),
    ];
    for (what, key, attempt) in tries {
        let error = cabinet.write(now(), |w| attempt(w)).expect_err(what);
        assert_eq!(error.key(), key, "{what}: {error}");
    }
    let word = |said: &str, until: &str| {
        let word = NewWord { condition: "c", place: "", who: "Dr E", said: day(said), until: day(until) };
        cabinet.write(now(), |w| w.add_clinician_word(ana, &word)).map(drop)
    };
    assert_eq!(word("2023-12-24", "2024-12-24").expect_err("tomorrow's word").key(), "cabinet.bad_value");
    assert_eq!(word("2023-11-01", "2023-10-31").expect_err("over before").key(), "cabinet.bad_value");
    for bad in ["", "{", "{\"a\": 1,}", "nul"] {
        assert_eq!(Json::new(bad).expect_err(bad).key(), "cabinet.bad_value");
    }
    assert!(Toml::new("a = ").expect_err("no TOML").to_string().contains("line 1"));
    // Nothing of all that was kept.
    cabinet
        .read(|r| {
            assert_eq!((r.client_count()?, r.notes(ana)?.len(), r.client(ana)?.tone.is_some()), (2, 0, false));
            assert!(r.consents_to(ana, ConsentKind::Photographs)?);
            Ok(())
        })
        .expect("read");
}

#[test]
fn search_finds_any_part_of_a_name_and_the_list_goes_on() {
    let folder = Folder::new("search");
    let cabinet = made(&folder);
    let names = ["Zoë Müller", "Anna Zoeller", "Bert O'Hara", "Łucja Zoé", "Müller, Hans", "Anna Bert"];
    cabinet.write(now(), |w| names.iter().try_for_each(|n| w.add_client(&named(n)).map(drop))).expect("written");
    let check = |typed: &str, expected: &[&str]| {
        let found = cabinet.read(|r| r.search(typed, 10)).expect("found");
        let found: Vec<&str> = found.iter().map(|l| l.name.as_str()).collect();
        assert_eq!(found, expected, "{typed:?}");
    };
    check("zoe", &["Zoë Müller", "Anna Zoeller", "Łucja Zoé"]);
    check("ZOÉ mu", &["Zoë Müller"]);
    check("müll", &["Müller, Hans", "Zoë Müller"]);
    check("ohar", &["Bert O'Hara"]);
    check("er", &["Anna Bert", "Anna Zoeller", "Bert O'Hara", "Müller, Hans", "Zoë Müller"]);
    check("bert", &["Bert O'Hara", "Anna Bert"]);
    check("luc", &["Łucja Zoé"]);
    check("a b e r t", &["Anna Bert", "Bert O'Hara"]);
    check("%", &[]);
    check("' OR 1=1 --", &[]);
    check("", &[]);
    let (mut seen, mut after) = (Vec::new(), None);
    loop {
        let page = cabinet.read(|r| r.clients(after.as_ref(), 4)).expect("a page");
        let Some(last) = page.last() else { break };
        after = Some(last.place.clone());
        seen.extend(page.into_iter().map(|l| l.name));
    }
    assert_eq!(seen, ["Anna Bert", "Anna Zoeller", "Bert O'Hara", "Łucja Zoé", "Müller, Hans", "Zoë Müller"]);
}

#[test]
fn who_is_due_is_told_with_the_reason() {
    let folder = Folder::new("due");
    let cabinet = made(&folder);
    let answers = Document::Toml(toml(""));
    let days = |n: i64| now().plus(n * 86_400);
    let add = |name: &str, visit: i64, until: Option<&str>, care: &[bool]| {
        cabinet
            .write(days(-400), |w| {
                let client = w.add_client(&named(name))?;
                w.add_visit(client, days(visit), &json("{}"))?;
                w.add_intake(client, &answers, until.map(day))?;
                care.iter()
                    .try_for_each(|given| w.record_consent(client, ConsentKind::Care, *given, now(), "v1").map(drop))?;
                Ok(client)
            })
            .expect("written")
    };
    add("Fine", -10, Some("2024-01-01"), &[true]);
    add("Fine for ever", -10, None, &[false, true]);
    add("Long ago", -90, None, &[true]);
    add("Asked again today", -5, Some("2023-11-14"), &[true]);
    add("Withdrew", -5, None, &[true, false]);
    let planned = add("Planned", -6, None, &[true]);
    let heard = add("Heard from", -6, None, &[true]);
    let over = add("Over", -6, None, &[true]);
    cabinet
        .write(now(), |w| {
            w.add_weeks(planned, None, day("2023-11-01"), 14, &json("{}"))?;
            w.add_weeks(heard, None, day("2023-11-01"), 14, &json("{}"))?;
            w.add_weeks(over, None, day("2023-11-01"), 13, &json("{}"))?;
            w.add_home_note(planned, None, day("2023-11-06"), &json("{}"))?;
            w.add_home_note(heard, None, day("2023-11-07"), &json("{}")).map(drop)
        })
        .expect("written");
    let rule = DueRule { today: day("2023-11-14"), visit_before: days(-42) };
    let due = cabinet.read(|r| r.due(&rule, 50)).expect("due");
    let told: Vec<(&str, [bool; 4])> =
        due.iter().map(|d| (d.name.as_str(), [d.visit, d.screening, d.consent, d.home_note])).collect();
    assert_eq!(
        told,
        [
            ("Long ago", [true, false, false, false]),
            ("Planned", [false, false, false, true]),
            ("Asked again today", [false, true, false, false]),
            ("Withdrew", [false, false, true, false]),
        ]
    );
    assert_eq!(due[0].last_visit, Some(days(-90)));
}

#[test]
fn one_thing_is_taken_out_with_what_hangs_on_it_and_the_log_says_so() {
    let folder = Folder::new("remove");
    let cabinet = made(&folder);
    let (client, visit) = visited(&cabinet, "Ana");
    let (first, second, note) = cabinet
        .write(now(), |w| {
            let first = w.add_photograph(visit, &photograph(b"one"))?;
            let second = w.add_photograph(visit, &photograph(b"two"))?;
            w.add_measurement(visit, Some(first), &json("1"))?;
            w.add_measurement(visit, None, &json("2"))?;
            Ok((first, second, w.add_note(client, Some(visit), NoteKind::Note, "on the visit")?))
        })
        .expect("written");
    let (session, weeks, home) = cabinet
        .write(now(), |w| {
            let routine = w.add_routine(Some(client), "Jaw")?;
            w.rename_routine(routine, "Jaw, evening")?;
            let version = w.add_version(routine, &toml(""))?;
            let session = w.add_session(Some(client), version, now(), &json("1"), &json("1"))?;
            let weeks = w.add_weeks(client, Some(version), day("2023-11-14"), 7, &json("1"))?;
            Ok((session, weeks, w.add_home_note(client, Some(weeks), day("2023-11-15"), &json("1"))?))
        })
        .expect("written");
    cabinet.write(now(), |w| w.remove_session(session).and_then(|()| w.remove_weeks(weeks))).expect("removed");
    cabinet
        .read(|r| {
            assert_eq!(r.routines(Some(client))?[0].name, "Jaw, evening");
            assert_eq!((r.sessions(Some(client))?.len(), r.weeks(client)?.len()), (0, 0));
            assert_eq!(r.home_notes(client)?[0].weeks, None, "the home note stays, with the client");
            Ok(())
        })
        .expect("read");
    cabinet.write(now(), |w| w.remove_home_note(home)).expect("removed");
    assert_eq!(cabinet.write(now(), |w| w.remove_home_note(home)).expect_err("twice").key(), "cabinet.no_such");
    let from = cabinet.read(|r| Ok(r.latest_changes(1)?[0].number)).expect("read");
    cabinet.write(now(), |w| w.remove_photograph(first)).expect("removed");
    cabinet
        .read(|r| {
            assert_eq!(r.photograph_bytes(first).expect_err("gone").key(), "cabinet.no_such");
            assert_eq!((r.photographs(visit)?.len(), r.measurements(visit)?.len()), (1, 1));
            Ok(())
        })
        .expect("read");
    cabinet.write(now(), |w| w.remove_visit(visit)).expect("removed");
    cabinet
        .read(|r| {
            assert_eq!(r.photograph(second).expect_err("gone").key(), "cabinet.no_such");
            assert_eq!((r.note(note)?.visit, r.visits(client)?.len()), (None, 0), "the note stays, with the client");
            Ok(())
        })
        .expect("read");
    cabinet.write(now(), |w| w.change_note(note, "changed").and_then(|()| w.remove_note(note))).expect("removed");
    let log = cabinet.read(|r| r.changes(from, 99)).expect("read");
    let log: Vec<_> = log.iter().map(|c| (c.done, c.kind.as_str(), c.item)).collect();
    assert_eq!(
        log,
        [
            (Done::Removed, "photograph", Some(first.number())),
            (Done::Removed, "visit", Some(visit.number())),
            (Done::Changed, "note", Some(note.number())),
            (Done::Removed, "note", Some(note.number())),
        ]
    );
}
