//! Texts, films and own rules: what goes in comes out; what must not go in does not; an export holds them, an erasure leaves them.

mod common;

use std::fs;

use cabinet::*;
use common::{Folder, json, made, now, toml, visited};
use serde_json::Value;

const WORDS: &str = "1\n00:00:01,000 --> 00:00:02,000\r\nA <i>tight</i> jaw, \"quoted\" 🙂\n";

fn a_text<'t>(findings: &'t Json, countries: &'t [String]) -> NewText<'t> {
    NewText { title: "Evening", kind: "captions", file: "e.srt", body: WORDS, countries, rules: "s1", findings }
}

#[test]
fn a_text_is_kept_as_it_was_and_what_the_rules_changed_is_told_until_it_is_looked_at() {
    let folder = Folder::new("texts");
    let cabinet = made(&folder);
    let (first, second, third) = (json("[1]"), json("[2]"), json("[3]"));
    let countries = ["us".to_owned(), "x1".to_owned()];
    let id = cabinet.write(now(), |w| w.add_text(&a_text(&first, &countries))).expect("kept");
    let read = || cabinet.read(|r| r.text(id)).expect("there");
    let kept = read();
    assert_eq!((kept.title.as_str(), kept.kind.as_str(), kept.file.as_str()), ("Evening", "captions", "e.srt"));
    assert_eq!((kept.body.as_str(), kept.countries.as_slice(), kept.before), (WORDS, &countries[..], None));
    assert_eq!((kept.made, kept.changed, kept.checked), (now(), now(), now()));
    // The rules change twice before anybody looks: what is compared with is what was found the first time.
    let later = now().plus(60);
    cabinet.write(later, |w| w.recheck_text(id, "s2", &second)).expect("checked again");
    cabinet.write(later, |w| w.recheck_text(id, "s3", &third)).expect("checked again");
    let kept = read();
    assert_eq!((kept.rules.as_str(), kept.findings, kept.before), ("s3", third, Some(first.clone())));
    assert_eq!((kept.changed, kept.checked), (now(), later), "the words are as they were");
    // Back to what it was: nothing is new.
    cabinet.write(later, |w| w.recheck_text(id, "s1", &first)).expect("checked again");
    assert_eq!((read().findings, read().before), (first.clone(), None));
    cabinet.write(later, |w| w.recheck_text(id, "s2", &second)).expect("checked again");
    assert_eq!(read().before, Some(first.clone()));
    cabinet.write(later, |w| w.seen_text(id)).expect("looked at");
    assert_eq!((read().findings, read().before), (second.clone(), None));
    // A new state of the text is a look at it as well.
    cabinet.write(later, |w| w.recheck_text(id, "s1", &first)).expect("checked again");
    let new = NewText { title: "Morning", kind: "post", file: "", body: "New words", ..a_text(&second, &[]) };
    cabinet.write(later, |w| w.change_text(id, &new)).expect("changed");
    let kept = read();
    assert_eq!((kept.title.as_str(), kept.body.as_str(), kept.countries.len()), ("Morning", "New words", 0));
    assert_eq!((kept.made, kept.changed, &kept.before), (now(), later, &None));
    let other = cabinet.write(later.plus(1), |w| w.add_text(&a_text(&first, &[]))).expect("kept");
    let order: Vec<_> = cabinet.read(|r| r.texts()).expect("read").into_iter().map(|t| t.id).collect();
    assert_eq!(order, [other, id], "the latest change first");
    cabinet.write(later, |w| w.remove_text(other)).expect("removed");
    let gone = |error: Error| assert_eq!(error.key(), "cabinet.no_such");
    gone(cabinet.read(|r| r.text(other)).expect_err("gone"));
    gone(cabinet.write(now(), |w| w.change_text(other, &new)).expect_err("gone"));
    gone(cabinet.write(now(), |w| w.recheck_text(other, "s", &first)).expect_err("gone"));
    gone(cabinet.write(now(), |w| w.seen_text(other)).expect_err("gone"));
    gone(cabinet.write(now(), |w| w.remove_text(other)).expect_err("gone"));
    assert!(format!("{kept:?}{new:?}").len() < 60, "nothing of it gets into a log");
}

#[test]
fn what_is_empty_or_too_long_is_refused() {
    let folder = Folder::new("texts-bad");
    let cabinet = made(&folder);
    let (found, long) = (json("[]"), "x".repeat(MOST_BYTES + 1));
    let comma = ["a,b".to_owned()];
    for bad in [
        NewText { title: " ", ..a_text(&found, &[]) },
        NewText { kind: "", ..a_text(&found, &[]) },
        NewText { body: "\n", ..a_text(&found, &[]) },
        NewText { body: &long, ..a_text(&found, &[]) },
        NewText { file: &long, ..a_text(&found, &[]) },
        a_text(&found, &comma),
    ] {
        let refused = cabinet.write(now(), |w| w.add_text(&bad)).expect_err("refused");
        assert_eq!(refused.key(), "cabinet.bad_value");
    }
    let refused = cabinet.write(now(), |w| w.add_own_rules(" ", &toml("a = 1"))).expect_err("refused");
    assert_eq!(refused.key(), "cabinet.bad_value");
    assert_eq!(cabinet.read(|r| Ok((r.texts()?.len(), r.own_rules()?.len()))).expect("read"), (0, 0));
}

#[test]
fn a_film_is_of_a_routine_that_belongs_to_no_client() {
    let folder = Folder::new("films");
    let cabinet = made(&folder);
    let (ana, _) = visited(&cabinet, "Ana");
    let (hers, routine, first, second) = cabinet
        .write(now(), |w| {
            let hers = w.add_version(w.add_routine(Some(ana), "Hers")?, &toml("a = 1"))?;
            let routine = w.add_routine(None, "For all")?;
            Ok((hers, routine, w.add_version(routine, &toml("a = 1"))?, w.add_version(routine, &toml("a = 2"))?))
        })
        .expect("written");
    let body = json("{\"taps\": [1, 2]}");
    let new = NewFilm { version: first, name: "Evening", language: "en", body: &body };
    let id = cabinet.write(now(), |w| w.add_film(&new)).expect("kept");
    let film = cabinet.read(|r| r.film(id)).expect("there");
    assert_eq!((film.routine, film.version, film.name.as_str()), (routine, first, "Evening"));
    assert_eq!((film.language.as_str(), &film.body), ("en", &body));
    let theirs = cabinet.write(now(), |w| w.add_film(&NewFilm { version: hers, ..new })).expect_err("a client's");
    assert_eq!(theirs.kind(), &ErrorKind::NotTheirs);
    let theirs =
        cabinet.write(now(), |w| w.change_film(id, &NewFilm { version: hers, ..new })).expect_err("a client's");
    assert_eq!(theirs.kind(), &ErrorKind::NotTheirs);
    for bad in [NewFilm { name: " ", ..new }, NewFilm { language: "", ..new }] {
        assert_eq!(cabinet.write(now(), |w| w.add_film(&bad)).expect_err("empty").key(), "cabinet.bad_value");
    }
    let changed = NewFilm { version: second, name: "Abend", language: "de", body: &body };
    cabinet.write(now().plus(5), |w| w.change_film(id, &changed)).expect("changed");
    let film = cabinet.read(|r| r.film(id)).expect("there");
    assert_eq!((film.version, film.made, film.changed), (second, now(), now().plus(5)));
    assert_eq!(cabinet.read(|r| Ok((r.films()?.len(), r.films_of(routine)?.len()))).expect("read"), (1, 1));
    cabinet.write(now(), |w| w.remove_film(id)).expect("removed");
    assert_eq!(cabinet.read(|r| r.film(id)).expect_err("gone").key(), "cabinet.no_such");
    assert_eq!(cabinet.write(now(), |w| w.change_film(id, &changed)).expect_err("gone").key(), "cabinet.no_such");
}

#[test]
fn they_are_exported_backed_up_and_left_by_an_erasure() {
    let folder = Folder::new("published");
    let cabinet = made(&folder);
    let (ana, _) = visited(&cabinet, "Ana");
    let found = json("[{\"start\": 1}]");
    cabinet
        .write(now(), |w| {
            let text = w.add_text(&a_text(&json("[]"), &["uk".to_owned()]))?;
            w.recheck_text(text, "s2", &found)?;
            let version = w.add_version(w.add_routine(None, "For all")?, &toml("a = 1"))?;
            w.add_film(&NewFilm { version, name: "Evening", language: "en", body: &json("{\"taps\": [7]}") })?;
            let own = w.add_own_rules("x1", &toml("a = 1"))?;
            w.add_own_rules("x2", &toml("a = 2"))?;
            w.change_own_rules(own, "x1 anew", &toml("a = 3"))
        })
        .expect("written");
    let out = folder.path().join("out");
    cabinet.export(&out).expect("exported");
    let practice: Value = serde_json::from_slice(&fs::read(out.join("practice.json")).expect("a file")).expect("JSON");
    let text = &practice["texts"][0];
    assert_eq!((text["text"].as_str(), text["countries"][0].as_str()), (Some(WORDS), Some("uk")));
    assert_eq!(
        (text["findings"][0]["start"].as_i64(), text["findings_before"].as_array().map(Vec::len)),
        (Some(1), Some(0))
    );
    assert_eq!(practice["films"][0]["film"]["taps"][0], 7);
    let own: Vec<_> = practice["own_rules"].as_array().expect("a list").iter().map(|o| o["toml"].as_str()).collect();
    assert_eq!(own, [Some("a = 3"), Some("a = 2")], "in the order in which they hold");
    let backup = cabinet.backup(3, now()).expect("a backup");
    cabinet.erase_client(ana, now()).expect("erased");
    let count = |c: &Cabinet| c.read(|r| Ok((r.texts()?.len(), r.films()?.len(), r.own_rules()?.len()))).expect("read");
    assert_eq!(count(&cabinet), (1, 1, 2));
    cabinet
        .write(now(), |w| {
            let own = w.own_rules()?[1].id;
            assert_eq!(w.own_rule(own)?.name, "x2");
            w.remove_own_rules(own)
        })
        .expect("removed");
    assert_eq!(count(&cabinet), (1, 1, 1));
    drop(cabinet);
    let restored = Cabinet::restore(&backup.path, &folder.cabinet(), &common::words(), now()).expect("restored");
    assert_eq!(count(&restored), (1, 1, 2));
    assert_eq!(restored.read(|r| Ok(r.texts()?[0].findings.clone())).expect("read"), found);
}
