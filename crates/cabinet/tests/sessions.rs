//! A session that goes on: written again and again, read back whole, one line in the change log.

mod common;

use cabinet::*;
use common::{Folder, json, made, named, now, toml};

#[test]
fn a_session_that_goes_on_is_replaced_and_nothing_else_is() {
    let folder = Folder::new("session");
    let cabinet = made(&folder);
    let (one, other, of_nobody, client) = cabinet
        .write(now(), |w| {
            let client = w.add_client(&named("Ana"))?;
            let theirs = w.add_routine(Some(client), "Jaw")?;
            let version = w.add_version(theirs, &toml("a = 1"))?;
            let free = w.add_routine(None, "Class")?;
            let for_all = w.add_version(free, &toml("a = 2"))?;
            let one = w.add_session(Some(client), version, now(), &json("[]"), &json("{}"))?;
            let other = w.add_session(Some(client), version, now().plus(5), &json("[7]"), &json("{}"))?;
            Ok((one, other, w.add_session(None, for_all, now(), &json("[]"), &json("{}"))?, client))
        })
        .expect("written");
    let from = cabinet.read(|r| Ok(r.latest_changes(1)?[0].number)).expect("read");
    for n in 1..=20_i64 {
        let log = json(&format!("[{n}]"));
        for id in [one, of_nobody] {
            cabinet.write(now().plus(n), |w| w.update_session(id, &log, &json("{\"words\": \"calm\"}"))).expect("kept");
        }
    }
    cabinet.lock();
    cabinet.unlock(&common::words(), now().plus(30)).expect("unlocked");
    cabinet
        .read(|r| {
            for id in [one, of_nobody] {
                let kept = r.session(id)?;
                assert_eq!((kept.log.as_str(), kept.felt.as_str()), ("[20]", "{\"words\": \"calm\"}"));
                assert_eq!(kept.at, now(), "when it began stays");
            }
            assert_eq!(r.session(other)?.log.as_str(), "[7]", "another session is left as it was");
            assert_eq!(r.sessions(Some(client))?.len(), 2);
            let log: Vec<_> = r.changes(from, 99)?.into_iter().map(|c| (c.done, c.kind, c.item, c.at)).collect();
            let line = |id: SessionId| (Done::Changed, "session".to_owned(), Some(id.number()), now().plus(20));
            assert_eq!(log, [line(one), line(of_nobody)], "one line each, with the last time");
            Ok(())
        })
        .expect("read");
    let gone = SessionId::from_number(99);
    let refused = cabinet.write(now(), |w| w.update_session(gone, &json("1"), &json("1")));
    assert_eq!(refused.expect_err("there is none").key(), "cabinet.no_such");
    assert_eq!(cabinet.read(|r| r.session(gone).map(drop)).expect_err("there is none").key(), "cabinet.no_such");
}
