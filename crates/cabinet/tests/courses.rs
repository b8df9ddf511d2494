//! Courses: nobody leaves the numbers without words; readings and days of a whole course; weeks that end early.

mod common;

use cabinet::*;
use common::{Folder, json, made, named, now, visited};
use vocab::Date;

fn day(text: &str) -> Date {
    Date::parse(text).expect("a day")
}

fn course_of(w: &Writer<'_>, names: &[&str]) -> Result<(CourseId, Vec<ClientId>), Error> {
    let course = w.add_course("Winding down", day("2023-11-15"), 28, &json("{}"))?;
    let clients: Vec<ClientId> = names.iter().map(|n| w.add_client(&named(n))).collect::<Result<_, _>>()?;
    for client in &clients {
        assert!(w.join_course(course, *client)?);
        assert!(!w.join_course(course, *client)?, "once");
    }
    Ok((course, clients))
}

#[test]
fn who_is_left_out_has_words_and_both_they_and_the_taking_back_stay_on_record() {
    let folder = Folder::new("left-out");
    let cabinet = made(&folder);
    let (course, clients) = cabinet.write(now(), |w| course_of(w, &["Ana", "Bo", "Cy"])).expect("written");
    let refused =
        |run: &dyn Fn(&Writer<'_>) -> Result<(), Error>| cabinet.write(now(), run).expect_err("refused").key();
    for words in ["", "  ", "\n\t "] {
        assert_eq!(refused(&|w| w.leave_out(course, clients[0], words)), "cabinet.bad_value", "{words:?}");
    }
    assert_eq!(refused(&|w| w.leave_out(course, ClientId::from_number(99), "why")), "cabinet.no_such");
    assert_eq!(refused(&|w| w.take_back(course, clients[0], "why")), "cabinet.unchangeable");
    cabinet.write(now().plus(5), |w| w.leave_out(course, clients[0], " a new filler ")).expect("left out");
    assert_eq!(refused(&|w| w.leave_out(course, clients[0], "again")), "cabinet.unchangeable");
    let members = cabinet.read(|r| r.course_members(course)).expect("read");
    let out: Vec<_> = members.iter().map(|m| m.left_out.as_ref().map(|l| (l.at, l.reason.as_str()))).collect();
    assert_eq!(out, [Some((now().plus(5), "a new filler")), None, None]);
    cabinet.write(now().plus(9), |w| w.take_back(course, clients[0], "it was a mix-up")).expect("taken back");
    cabinet
        .read(|r| {
            assert!(r.course_members(course)?.iter().all(|m| m.left_out.is_none()));
            let words: Vec<_> = r.course_words(course)?.into_iter().map(|w| (w.left_out, w.reason)).collect();
            assert_eq!(words, [(true, "a new filler".to_owned()), (false, "it was a mix-up".to_owned())]);
            Ok(())
        })
        .expect("read");
    assert_eq!(refused(&|w| w.remove_course(course)), "cabinet.unchangeable");
    // An erasure takes the words along; the course says how many there were.
    cabinet.erase_client(clients[0], now()).expect("erased");
    cabinet
        .read(|r| {
            assert_eq!((r.course_size(course)?, r.course(course)?.erased, r.course_words(course)?.len()), (2, 1, 0));
            Ok(())
        })
        .expect("read");
    cabinet.check().expect("whole");
}

#[test]
fn a_course_that_nobody_joined_can_be_changed_and_taken_out() {
    let folder = Folder::new("empty-course");
    let cabinet = made(&folder);
    let course = cabinet.write(now(), |w| w.add_course("One", day("2023-11-15"), 28, &json("1"))).expect("added");
    cabinet.write(now(), |w| w.change_course(course, "Two", day("2023-11-16"), 14, &json("2"))).expect("changed");
    let known = cabinet.read(|r| r.course(course)).expect("read");
    assert_eq!(
        (known.name.as_str(), known.first, known.days, known.body.as_str()),
        ("Two", day("2023-11-16"), 14, "2")
    );
    for (name, days) in [(" ", 14), ("x", 0), ("x", 367)] {
        let error = cabinet.write(now(), |w| w.add_course(name, known.first, days, &json("1"))).expect_err("refused");
        assert_eq!(error.key(), "cabinet.bad_value");
    }
    cabinet.write(now(), |w| w.remove_course(course)).expect("removed");
    assert!(cabinet.read(|r| r.courses()).expect("read").is_empty());
}

#[test]
fn readings_and_days_of_a_course_come_by_client_and_day() {
    let folder = Folder::new("course-readings");
    let cabinet = made(&folder);
    let (ana, visit) = visited(&cabinet, "Ana");
    let (bo, other) = visited(&cabinet, "Bo");
    let of = |name, side, mean| NewReading { name, side, mean, count: 2, ss: 0.5 };
    let (course, earlier) = cabinet
        .write(now(), |w| {
            let course = w.add_course("Winding down", day("2023-11-15"), 28, &json("{}"))?;
            w.join_course(course, ana)?;
            let earlier = w.add_visit(ana, now().plus(-86_400), &json("{}"))?;
            w.set_readings(visit, &[of("dE00", ReadingSide::Face, 3.0), of("dE00", ReadingSide::Left, 2.0)])?;
            w.set_readings(earlier, &[of("dE00", ReadingSide::Face, 4.0), of("dL", ReadingSide::Face, 1.0)])?;
            w.set_readings(other, &[of("dE00", ReadingSide::Face, 9.0)])?;
            w.add_home_note(ana, None, day("2023-11-16"), &json(r#"{"done":true,"minutes":7,"levels":[1,2,3,4]}"#))?;
            w.add_home_note(bo, None, day("2023-11-16"), &json(r#"{"done":true,"minutes":8}"#))?;
            w.add_home_note(ana, None, day("2023-11-30"), &json(r#"{"done":false,"minutes":0}"#))?;
            Ok((course, earlier))
        })
        .expect("written");
    cabinet
        .read(|r| {
            let all = r.course_readings(course, "dE00", ReadingSide::Face)?;
            assert_eq!(all.iter().map(|f| (f.client, f.mean)).collect::<Vec<_>>(), [(ana, 4.0), (ana, 3.0)]);
            assert_eq!(r.readings_of("dE00", ReadingSide::Face)?.len(), 3);
            let theirs: Vec<_> = r.readings(ana)?.into_iter().map(|m| (m.visit, m.name, m.side)).collect();
            assert_eq!(theirs.len(), 4);
            assert_eq!(theirs[0], (earlier, "dE00".to_owned(), ReadingSide::Face));
            let days = r.course_days(course, day("2023-11-15"), day("2023-11-29"))?;
            assert_eq!(
                days.iter().map(|d| (d.client, d.minutes, d.levels[3])).collect::<Vec<_>>(),
                [(ana, 7, Some(4))]
            );
            Ok(())
        })
        .expect("read");
    // Replaced whole; nonsense keeps what was there.
    cabinet.write(now(), |w| w.set_readings(visit, &[of("dE00", ReadingSide::Face, 1.5)])).expect("replaced");
    for bad in [
        vec![of("", ReadingSide::Face, 1.0)],
        vec![of("dE00", ReadingSide::Face, f64::NAN)],
        vec![of("a", ReadingSide::Left, 1.0); 2],
    ] {
        assert_eq!(
            cabinet.write(now(), |w| w.set_readings(visit, &bad)).expect_err("refused").key(),
            "cabinet.bad_value"
        );
    }
    assert_eq!(cabinet.read(|r| Ok(r.readings(ana)?.len())).expect("read"), 3);
    cabinet.write(now(), |w| w.remove_visit(visit)).expect("removed");
    assert_eq!(cabinet.read(|r| Ok(r.readings(ana)?.len())).expect("read"), 2);
}

#[test]
fn numbers_of_a_home_note_follow_its_words() {
    let folder = Folder::new("home-days");
    let cabinet = made(&folder);
    let (ana, note) = cabinet
        .write(now(), |w| {
            let ana = w.add_client(&named("Ana"))?;
            Ok((ana, w.add_home_note(ana, None, day("2023-11-16"), &json(r#"{"done":false,"minutes":0}"#))?))
        })
        .expect("written");
    cabinet.write(now(), |w| w.change_home_note(note, &json(r#"{"done":true,"minutes":5}"#))).expect("changed");
    let days = cabinet.read(|r| r.home_days(ana)).expect("read");
    assert_eq!(days.iter().map(|d| (d.done, d.minutes)).collect::<Vec<_>>(), [(true, 5)]);
    cabinet.write(now(), |w| w.remove_home_note(note)).expect("removed");
    assert!(cabinet.read(|r| r.home_days(ana)).expect("read").is_empty());
}

#[test]
fn weeks_end_early_once_with_a_reason_and_count_as_running_no_more() {
    let folder = Folder::new("ended");
    let cabinet = made(&folder);
    let (first, today) = (day("2023-11-15"), day("2023-11-20"));
    let (ana, weeks) = cabinet
        .write(now(), |w| {
            let ana = w.add_client(&named("Ana"))?;
            Ok((ana, w.add_weeks(ana, None, first, 28, &json("1"))?))
        })
        .expect("written");
    cabinet.write(now(), |w| w.change_weeks(weeks, first, 27, &json("2"))).expect("changed");
    let due = || cabinet.read(|r| r.due(&DueRule { today, visit_before: now() }, 9)).expect("read");
    assert!(due()[0].home_note, "they run");
    let refused =
        |reason: &str, day: Date| cabinet.write(now(), |w| w.end_weeks(weeks, day, reason)).expect_err("no").key();
    assert_eq!(refused(" ", today), "cabinet.bad_value");
    assert_eq!(refused("why", day("2023-12-12")), "cabinet.bad_value", "the day after the last");
    cabinet.write(now(), |w| w.end_weeks(weeks, day("2023-11-18"), "a holiday")).expect("ended");
    assert_eq!(refused("again", day("2023-11-17")), "cabinet.unchangeable");
    let changed = cabinet.write(now(), |w| w.change_weeks(weeks, first, 28, &json("3")));
    assert_eq!(changed.expect_err("ended").key(), "cabinet.unchangeable");
    assert!(!due()[0].home_note, "ended");
    cabinet
        .read(|r| {
            let kept = r.weeks_of(weeks)?;
            let ended = kept.ended.expect("ended");
            assert_eq!((ended.day, ended.reason.as_str(), kept.days), (day("2023-11-18"), "a holiday", 27));
            assert_eq!(r.weeks_between(today, today)?.len(), 0);
            assert_eq!(r.weeks_between(day("2023-11-18"), today)?.len(), 1);
            assert_eq!(r.weeks_between(day("2023-11-01"), day("2023-11-14"))?.len(), 0);
            assert_eq!((r.latest_weeks(9)?.len(), r.latest_weeks(0)?.len()), (1, 0));
            assert_eq!(r.weeks(ana)?.len(), 1);
            Ok(())
        })
        .expect("read");
}
