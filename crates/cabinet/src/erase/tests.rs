//! Whether erased words are really overwritten. An encrypted file can't show that, so the same schema, settings and statements
//! run on a store without a key, whose bytes are searched.

use rusqlite::Connection;

use super::*;
use crate::access::{Reader, Writer};
use crate::clients::Details;
use crate::consents::ConsentKind;
use crate::notes::NoteKind;
use crate::readings::{NewReading, ReadingSide};
use crate::text::{Document, Json, Toml};
use crate::visits::NewPhotograph;
use crate::{conn, migrate};

const MARK: &str = "Quagga-Zephyrine";

fn filled(w: &Writer<'_>, name: &str, length: usize) -> ClientId {
    let run = || {
        let words = format!("{name} ").repeat(length);
        let details = Details { name: name.into(), notes: words.clone(), email: name.into(), ..Details::default() };
        let client = w.add_client(&details)?;
        w.record_consent(client, ConsentKind::Photographs, true, w.now(), name)?;
        w.add_intake(client, &Document::Toml(Toml::new(format!("a = \"{words}\""))?), None)?;
        for n in 0..6 {
            let json = || Json::new(format!("\"{words}{n}\""));
            let visit = w.add_visit(client, w.now(), &json()?)?;
            let bytes = words.repeat(1 + n).into_bytes();
            let new = NewPhotograph { shot: name, media: name, width: 1, height: 1, bytes: &bytes };
            let photo = w.add_photograph(visit, &new)?;
            w.add_measurement(visit, Some(photo), &json()?)?;
            w.add_note(client, Some(visit), NoteKind::Note, &words)?;
            let routine = w.add_routine(Some(client), name)?;
            let version = w.add_version(routine, &Toml::new(format!("b = \"{words}\""))?)?;
            w.add_session(Some(client), version, w.now(), &json()?, &json()?)?;
            let new = NewReading { name: "dE00", side: ReadingSide::Face, mean: 1.0, count: 1, ss: 0.0 };
            w.set_readings(visit, &[new])?;
            let weeks = w.add_weeks(client, None, w.now().date(), 9, &json()?)?;
            w.add_home_note(client, Some(weeks), w.now().date(), &json()?)?;
            w.end_weeks(weeks, w.now().date(), &words)?;
            let course = w.add_course("course", w.now().date(), 9, &Json::new("1")?)?;
            w.join_course(course, client)?;
            w.leave_out(course, client, &words)?;
        }
        Ok::<_, Error>(client)
    };
    run().expect("written")
}

/// How often the mark stands in the file, in any case and with its hyphen or a blank.
fn marks(path: &std::path::Path) -> usize {
    let bytes = fs::read(path).expect("the store").to_ascii_lowercase();
    [&b"quagga-zephyrine"[..], b"quagga zephyrine"]
        .iter()
        .map(|m| bytes.windows(m.len()).filter(|w| w == m).count())
        .sum()
}

#[test]
fn erased_words_stand_nowhere_in_the_file_before_it_is_even_written_anew() {
    let folder = std::env::temp_dir().join(format!("cabinet-overwritten-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder");
    for (round, secure) in [(1, true), (2, true), (3, true), (4, false)] {
        let store = folder.join(format!("plain-{round}.db"));
        let mut plain = Connection::open(&store).expect("opens");
        conn::settings(&plain).expect("settings");
        if !secure {
            conn::pragma(&plain, "PRAGMA secure_delete = OFF").expect("set");
        }
        migrate::to_latest(&mut plain, &store).expect("migrated");
        let now = Time::from_unix(0);
        let mut change = |run: &dyn Fn(&Writer<'_>)| {
            let all = plain.transaction().expect("begins");
            run(&Writer::new(&all, now));
            all.commit().expect("commits");
        };
        // Others before, between and after, of many lengths, so that pages split and rows move.
        for n in 0..20 {
            change(&|w| {
                filled(w, &format!("Other {n}"), 1 + n * 13 % 40);
            });
            if n % 4 == round % 4 {
                change(&|w| {
                    filled(w, MARK, 1 + n * 29 % 90);
                });
            }
        }
        let ids: Vec<ClientId> =
            Reader::new(&plain).all("SELECT id FROM clients WHERE name = ?1", [MARK], |r| r.get(0)).expect("read");
        assert_eq!(ids.len(), 5);
        conn::pragma(&plain, "PRAGMA wal_checkpoint(TRUNCATE)").expect("checkpoint");
        assert!(marks(&store) > 500, "{}", marks(&store));
        for id in ids {
            let all = plain.transaction().expect("begins");
            erase(&Writer::new(&all, now), id).expect("erased");
            all.commit().expect("commits");
        }
        conn::pragma(&plain, "PRAGMA wal_checkpoint(TRUNCATE)").expect("checkpoint");
        let (before, _) = (marks(&store), conn::pragma(&plain, "VACUUM").expect("anew"));
        conn::pragma(&plain, "PRAGMA wal_checkpoint(TRUNCATE)").expect("checkpoint");
        assert_eq!(marks(&store), 0, "round {round}");
        if secure {
            assert_eq!(before, 0, "round {round}: before it is written anew");
        } else {
            assert!(before > 100, "without overwriting they would still be there, so this test can fail");
        }
    }
    fs::remove_dir_all(&folder).expect("removed");
}
