use proptest::prelude::*;

use super::plan::SeriesPlan;
use super::read::{MOST_LABEL, Row, RowSide, Why, read};
use super::visits::{Followed, NoSeries, Series};

const HEAD: &str = "date,side,value,visit,photo,worked\n";

fn series(rows: &str) -> Result<Series, NoSeries> {
    let table = read(&format!("{HEAD}{rows}"), [0.0, 60.0]).expect("a table");
    Series::of(&table, &SeriesPlan::none())
}

#[test]
fn both_sides_of_a_photograph_come_together() {
    let all = series(
        "2026-03-01,left,6,,a,no\n2026-03-01,right,4,,a,no\n2026-03-01,left,9,,b,no\n2026-03-02,face,3,,a,yes\n2026-03-02,face,4,,,yes\n",
    )
    .expect("a series");
    assert_eq!(all.of, Followed::Face);
    let visits: Vec<(i32, f64, u32)> = all.visits.iter().map(|l| (l.visit.day, l.visit.mean, l.visit.count)).collect();
    assert_eq!(visits, [(0, 5.0, 1), (1, 3.5, 2)]);
    assert_eq!(all.worked, [1]);
    // Without labels in the order of the rows, visit by visit.
    let bare = series("2026-03-02,right,1,x,,yes\n2026-03-02,left,3,x,,yes\n2026-03-02,left,9,y,,yes\n2026-03-02,right,5,x,,yes\n2026-03-02,left,7,x,,yes\n")
        .expect("a series");
    let visits: Vec<(&str, f64, u32)> =
        bare.visits.iter().map(|l| (l.label.as_str(), l.visit.mean, l.visit.count)).collect();
    assert_eq!(visits, [("x", 4.0, 2)]);
}

#[test]
fn sessions_without_a_value_count_as_days_alone() {
    let all = series("2026-03-01,face,6,,,no\n2026-03-02,face,,,,yes\n2026-03-03,,,,,yes\n2026-03-03,face,5,,,yes\n")
        .expect("a series");
    assert_eq!((all.visits.len(), all.worked), (2, vec![1, 2]));
    assert_eq!(series("2026-03-01,face,6,,,no\n"), Err(NoSeries::NoWorkedDay));
}

#[test]
fn lines_are_those_of_the_file() {
    let text = format!("\u{feff}{HEAD}\r\n2026-03-01,left,6,\"a\nb\",,no\r\n\r\n2026-03-01,left,x,,,no\n");
    let wrong = read(&text, [0.0, 60.0]).expect_err("a bad number");
    assert_eq!((wrong.len(), wrong[0].line, &wrong[0].why), (1, 6, &Why::Number("x".to_owned())));
}

fn cell() -> impl Strategy<Value = String> {
    let known = [
        "2026-03-01",
        "2026-03-02",
        "left",
        "right",
        "face",
        "6.4",
        "1e9",
        "-0",
        "NaN",
        "yes",
        "no",
        "",
        "\"",
        "a\nb",
        "a,b",
    ];
    prop_oneof![proptest::sample::select(known.to_vec()).prop_map(str::to_owned), "\\PC{0,12}"]
}

proptest! {
    /// Any text: no panic, a reason for what is refused, and bounds for what is read.
    #[test]
    fn any_text_is_read_within_bounds_or_refused(
        rows in proptest::collection::vec(proptest::collection::vec(cell(), 0..8), 0..12),
        mark in proptest::sample::select(vec![',', ';']),
        raw in "\\PC{0,200}",
    ) {
        let woven: String = rows.iter().map(|r| r.join(&mark.to_string()) + "\n").collect();
        for text in [format!("{}{woven}", HEAD.replace(',', &mark.to_string())), woven, raw] {
            match read(&text, [0.0, 60.0]) {
                Ok(table) => {
                    prop_assert!(table.rows.iter().any(|r| r.value.is_some()));
                    for row in &table.rows {
                        prop_assert!(row.value.is_none_or(|v| (0.0..=60.0).contains(&v)) && row.line >= 2);
                        prop_assert!(row.visit.chars().count() <= MOST_LABEL);
                    }
                    let _ = Series::of(&table, &SeriesPlan::none());
                }
                Err(wrong) => prop_assert!(!wrong.is_empty()),
            }
        }
    }

    /// What is written is read back, in any order of columns.
    #[test]
    fn what_is_written_is_read(days in proptest::collection::vec((0_i64..300, 0.0..60.0_f64, any::<bool>()), 1..40)) {
        let first = vocab::Date::new(2026, 1, 1).expect("a day");
        let mut worked = std::collections::BTreeMap::new();
        let mut text = "worked,photo,value,date,side\n".to_owned();
        for (n, (day, value, yes)) in days.iter().enumerate() {
            let yes = *worked.entry(*day).or_insert(*yes);
            let date = first.plus(*day).expect("a day");
            text += &format!("{},p{n},{value},{date},left\n", if yes { "yes" } else { "no" });
        }
        let table = read(&text, [0.0, 60.0]).expect("a table");
        prop_assert_eq!(table.rows.len(), days.len());
        for (n, (row, (day, value, _))) in table.rows.iter().zip(&days).enumerate() {
            let label = format!("p{n}");
            let Row { line, date, side, value: read, photo, .. } = row;
            prop_assert_eq!((*line, *side, *read, photo.as_str()), (n + 2, RowSide::Left, Some(*value), label.as_str()));
            prop_assert_eq!(date.days_since(first), *day);
        }
    }
}
