use proptest::prelude::*;

use super::*;

#[test]
fn times_are_read_as_people_write_them() {
    for (word, seconds_) in [
        ("83.5", 83.5),
        ("83,5", 83.5),
        ("0", 0.0),
        ("1:23.5", 83.5),
        ("01:02:03", 3723.0),
        (" 12:00 ", 720.0),
        ("90:00", 5400.0),
    ] {
        assert_eq!(seconds(word), Some(seconds_), "{word}");
    }
    for word in ["", "x", "-3", "1:60", "1:2:3:4", "1.5:20", "1:75:00", "1e3", "NaN", "inf", ":", "1:", "99999999", "٣"]
    {
        assert_eq!(seconds(word), None, "{word}");
    }
}

#[test]
fn a_list_is_written_and_read_again_and_edited_lists_are_read_too() {
    let names = ["temple, your left".to_owned(), "a \"quoted\"\nname".to_owned(), "ear".to_owned()];
    let file = write(&[3.0, 10.25, 1e3], &names);
    assert_eq!(
        file,
        "step,starts,name\n1,3,\"temple, your left\"\n2,10.25,\"a \"\"quoted\"\" name\"\n3,1000,\"ear\"\n"
    );
    assert_eq!(read(&file, 3), Ok(vec![Some(3.0), Some(10.25), Some(1e3)]));
    // As spreadsheets write it, with what was not tapped left empty or out.
    let other = "\u{feff}Step;Starts;Name\r\n3;1:00,5;ear\r\n;;\r\n1;;\"temple; left\"\r\n";
    assert_eq!(read(other, 3), Ok(vec![None, None, Some(60.5)]));
    assert_eq!(read("name\tstarts\tstep\nx\t4\t2\n", 2), Ok(vec![None, Some(4.0)]));
}

#[test]
fn no_name_in_a_list_is_a_formula() {
    for name in ["=1+2, your left", "+1", "-1", "@sum", "\t=1", "\r\n=1", "  -1", "＝1", "＋1", "－1", "＠x"] {
        let file = write(&[3.0], &[name.to_owned()]);
        let cell = file.lines().nth(1).and_then(|l| l.strip_prefix("1,3,\"")).unwrap_or_default();
        assert!(cell.starts_with('\''), "{file}");
        assert_eq!(read(&file, 1), Ok(vec![Some(3.0)]));
    }
    assert_eq!(write(&[3.0], &["a = b - c".to_owned()]), "step,starts,name\n1,3,\"a = b - c\"\n");
}

#[test]
fn what_is_wrong_in_a_list_is_named_with_its_line() {
    let check = |text: &str, wrong: &[Wrong]| assert_eq!(read(text, 2), Err(wrong.to_vec()), "{text}");
    check("", &[Wrong::Head]);
    check("1,2\n", &[Wrong::Head]);
    check(
        "step,starts\n1,soon\n3,4\nx,5\n",
        &[Wrong::Time(2, "soon".to_owned()), Wrong::Step(3, "3".to_owned(), 2), Wrong::Step(4, "x".to_owned(), 2)],
    );
    check("step,starts\n1,2\n1,3\n", &[Wrong::Twice(3, 1)]);
    check("step,starts\n1\n", &[Wrong::Line(2)]);
}

#[test]
fn gaps_are_filled_in_proportion_and_wrong_taps_are_named() {
    let planned = [10.0, 20.0, 40.0, 50.0];
    let taps = |t: [i32; 4]| t.map(|t| (t >= 0).then_some(f64::from(t))).to_vec();
    let check =
        |t: [i32; 4], expected: [f64; 4]| assert_eq!(filled(&taps(t), &planned), Ok(expected.to_vec()), "{t:?}");
    check([10, 20, 40, 50], [10.0, 20.0, 40.0, 50.0]);
    check([100, -1, -1, 180], [100.0, 120.0, 160.0, 180.0]);
    check([-1, 30, -1, -1], [20.0, 30.0, 50.0, 60.0]);
    // Before the first tap there is less time than planned.
    check([-1, -1, 15, -1], [0.0, 5.0, 15.0, 25.0]);
    let wrong =
        |t: &[Option<f64>], expected: &[Wrong]| assert_eq!(filled(t, &planned), Err(expected.to_vec()), "{t:?}");
    wrong(&taps([10, 30, 20, 50]), &[Wrong::Order(3, 20.0, 2, 30.0)]);
    wrong(&[Some(10.0), Some(10.4), None, None], &[Wrong::Double(2, 10.4)]);
    // No room for those that were not tapped.
    wrong(&taps([-1, -1, 0, -1]), &[Wrong::Room(3, 0.0, 2)]);
    wrong(&[None, Some(0.4), None, None], &[Wrong::Room(2, 0.4, 1)]);
    wrong(&taps([10, -1, -1, 12]), &[Wrong::Room(4, 12.0, 2)]);
    check([10, -1, -1, 13], [10.0, 10.75, 12.25, 13.0]);
    wrong(&[Some(1.0); 5], &[Wrong::Many(5, 4)]);
    wrong(&[None, None, None, None], &[Wrong::None]);
    wrong(&[], &[Wrong::None]);
    wrong(&[Some(f64::NAN)], &[Wrong::Time(0, "NaN (step 1)".to_owned())]);
    // Fewer taps than steps: the first ones.
    assert_eq!(filled(&[Some(20.0), Some(30.0)], &planned), Ok(vec![20.0, 30.0, 50.0, 60.0]));
}

proptest! {
    #[test]
    fn filled_times_rise_and_keep_what_was_tapped(
        plan in prop::collection::vec(1.0_f64..60.0, 1..30),
        start in 0.0_f64..100.0,
        kept in prop::collection::vec((any::<bool>(), 1.0_f64..90.0), 30),
    ) {
        let mut now = start;
        let planned: Vec<f64> = plan.iter().map(|gap| { now += gap; now }).collect();
        let mut tap = 0.0;
        let taps: Vec<Option<f64>> = planned.iter().zip(&kept).map(|(_, (keep, gap))| {
            tap += gap;
            keep.then_some((tap * 1000.0).round() / 1000.0)
        }).collect();
        match filled(&taps, &planned) {
            Ok(times) => {
                prop_assert_eq!(times.len(), planned.len());
                prop_assert!(times.windows(2).all(|w| w[0] < w[1]), "{:?}", times);
                prop_assert!(times[0] >= 0.0);
                for (time, tap) in times.iter().zip(&taps) {
                    prop_assert!(tap.is_none_or(|tap| (tap - time).abs() < 1e-9));
                }
                let names = vec!["x".to_owned(); times.len()];
                let again = read(&write(&times, &names), times.len());
                prop_assert_eq!(again, Ok(times.into_iter().map(Some).collect()));
            }
            Err(wrong) => prop_assert!(taps.iter().all(Option::is_none), "{:?} {:?}", wrong, taps),
        }
    }

    #[test]
    fn nothing_that_is_given_to_read_panics(text in ".{0,300}", lines in "(step,starts\n)?([0-9:.,;\"\n]{0,60})") {
        let _ = (read(&text, 3), read(&lines, 3), seconds(&text));
    }
}
