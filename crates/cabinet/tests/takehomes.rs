//! What was given to take home is found by its code, goes with its client, and is exported with them.

mod common;

use cabinet::*;
use common::{Folder, json, made, named, now, words};

fn version(w: &Writer<'_>, client: Option<ClientId>, name: &str) -> Result<VersionId, Error> {
    let routine = w.add_routine(client, name)?;
    w.add_version(routine, &Toml::new("minutes = 5").expect("TOML"))
}

#[test]
fn a_code_finds_what_was_given_and_to_whom() {
    let folder = Folder::new("takehomes");
    let cabinet = made(&folder);
    let day = vocab::Date::parse("2023-11-15").expect("a day");
    let (ana, bo, hers, for_all) = cabinet
        .write(now(), |w| {
            let (ana, bo) = (w.add_client(&named("Ana"))?, w.add_client(&named("Bo"))?);
            let (hers, for_all) = (version(w, Some(ana), "Hers")?, version(w, None, "For all")?);
            w.add_takehome(Some(ana), hers, "k7p2w9x4", day, "de")?;
            w.add_takehome(None, for_all, "m3n8r5t6", day, "en")?;
            Ok((ana, bo, hers, for_all))
        })
        .expect("written");
    let bad = |code: &str, client: Option<ClientId>, version: VersionId| {
        cabinet.write(now(), |w| w.add_takehome(client, version, code, day, "en")).expect_err(code).key()
    };
    assert_eq!(bad("k7p2w9x4", Some(ana), hers), "cabinet.bad_value", "a code is given once");
    assert_eq!(bad(" ", Some(ana), hers), "cabinet.bad_value");
    assert_eq!(bad("aaaabbbb", Some(bo), hers), "cabinet.not_theirs");
    assert_eq!(bad("aaaabbbb", None, hers), "cabinet.not_theirs");
    assert_eq!(bad("aaaabbbb", Some(ClientId::from_number(99)), for_all), "cabinet.no_such");
    cabinet.lock();
    cabinet.unlock(&words(), now()).expect("opens");
    cabinet
        .read(|r| {
            let found = r.takehome_with("k7p2w9x4")?.expect("given");
            assert_eq!((found.client, found.version, found.day, found.at), (Some(ana), hers, day, now()));
            assert_eq!(found.language, "de");
            assert_eq!(r.takehome_with("m3n8r5t6")?.map(|t| t.client), Some(None));
            assert_eq!(r.takehome_with("k7p2w9x")?, None);
            assert_eq!((r.takehomes(ana)?.len(), r.takehomes(bo)?.len(), r.takehomes_for_all()?.len()), (1, 0, 1));
            Ok(())
        })
        .expect("read");
    // Exported with the client, and gone with them.
    let out = folder.path().join("export");
    cabinet.export_client(&out, ana).expect("exported");
    let files: String = walk(&out).iter().filter_map(|p| std::fs::read_to_string(p).ok()).collect();
    assert!(files.contains("k7p2w9x4") && !files.contains("m3n8r5t6"), "{files}");
    cabinet.erase_client(ana, now()).expect("erased");
    cabinet
        .read(|r| {
            assert_eq!(r.takehome_with("k7p2w9x4")?, None);
            assert_eq!(r.takehomes_for_all()?.len(), 1);
            Ok(())
        })
        .expect("read");
    cabinet.check().expect("whole");
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() { found.extend(walk(&path)) } else { found.push(path) }
    }
    found
}

#[test]
fn a_home_note_is_replaced_on_its_day() {
    let folder = Folder::new("home-note");
    let cabinet = made(&folder);
    let day = vocab::Date::parse("2023-11-15").expect("a day");
    let (ana, note) = cabinet
        .write(now(), |w| {
            let ana = w.add_client(&named("Ana"))?;
            Ok((ana, w.add_home_note(ana, None, day, &json("{\"done\": false}"))?))
        })
        .expect("written");
    cabinet.write(now().plus(9), |w| w.change_home_note(note, &json("{\"done\": true}"))).expect("changed");
    let missing = cabinet.write(now(), |w| w.change_home_note(HomeNoteId::from_number(99), &json("{}")));
    assert_eq!(missing.expect_err("none").key(), "cabinet.no_such");
    cabinet
        .read(|r| {
            let notes = r.home_notes(ana)?;
            assert_eq!((notes.len(), notes[0].day, notes[0].body.as_str()), (1, day, "{\"done\": true}"));
            assert_eq!((notes[0].at, &notes[0]), (now().plus(9), &r.home_note(note)?));
            Ok(())
        })
        .expect("read");
}
