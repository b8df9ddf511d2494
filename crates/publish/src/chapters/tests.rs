use proptest::prelude::*;

use super::*;

fn mark(from: f64, part: &str, place: &str) -> Mark {
    Mark { from, part: part.to_owned(), place: place.to_owned() }
}

fn told(marks: &[Mark], length: f64) -> String {
    list(&chapters(marks, length))
}

#[test]
fn places_within_a_part_are_called_after_themselves() {
    let marks = [
        mark(0.0, "Before you begin", ""),
        mark(60.4, "From the collarbone", "side of the neck"),
        mark(80.0, "From the collarbone", "before the ear"),
        mark(120.0, "The work", "temple"),
        mark(160.0, "The work", "temple"),
        mark(200.0, "The work", "ear"),
        mark(3700.0, "The work", "forehead"),
        mark(3705.0, "After the last step", ""),
    ];
    assert_eq!(
        told(&marks, 3800.0),
        "0:00 Before you begin\n1:00 From the collarbone: side of the neck, before the ear\n2:00 The work: temple\n3:20 Ear\n1:01:40 The \
         work · After the last step: forehead\n"
    );
}

#[test]
fn what_is_too_short_at_the_end_joins_what_is_before_it_and_too_few_are_none() {
    let marks = [mark(0.0, "A", ""), mark(12.0, "B", "x"), mark(24.0, "C", "y"), mark(36.0, "D", "z")];
    assert_eq!(told(&marks, 40.0), "0:00 A\n0:12 B: x\n0:24 C · D: y, z\n");
    assert_eq!(told(&marks, 46.0), "0:00 A\n0:12 B: x\n0:24 C: y\n0:36 D: z\n");
    assert_eq!(told(&marks[..2], 40.0), "", "two are no list");
    assert_eq!(told(&marks, 8.0), "");
}

#[test]
fn long_names_are_cut() {
    let name = "a".repeat(100);
    let marks = [
        mark(0.0, &name, &name),
        mark(60.0, "B", &name),
        mark(120.0, "B", &name.replace('a', "b")),
        mark(180.0, "C", ""),
    ];
    let all = chapters(&marks, 240.0);
    assert_eq!(all.len(), 4);
    assert!(all.iter().all(|c| c.title.chars().count() <= MOST_TITLE && !c.title.is_empty()), "{all:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn any_marks_give_chapters_within_the_bounds(
        steps in prop::collection::vec((0.0_f64..90.0, 0_usize..4, 0_usize..5), 0..40),
        tail in 0.0_f64..60.0,
    ) {
        let (mut now, mut marks) = (0.0, vec![mark(0.0, "Before", "")]);
        for (gap, part, place) in steps {
            now += gap;
            marks.push(mark(now, ["Open", "Work", "Close", "After"][part], ["ear", "brow", "neck", "temple", ""][place]));
        }
        let length = now + tail;
        let all = chapters(&marks, length);
        prop_assert!(all.is_empty() || all.len() >= 3);
        if let Some(first) = all.first() {
            prop_assert_eq!(first.from, 0);
        }
        let ends = all.iter().skip(1).map(|c| c.from).chain([length as u64]);
        for (chapter, end) in all.iter().zip(ends) {
            prop_assert!(end >= chapter.from + 10, "{:?} ends at {}", chapter, end);
            prop_assert!(!chapter.title.is_empty() && chapter.title.chars().count() <= MOST_TITLE);
        }
        // There is a list whenever three marks of something new lie ten seconds apart or more, and ten seconds before the end.
        let mut apart = 0;
        let mut last = -10.0_f64;
        for (i, m) in marks.iter().enumerate() {
            let same = i > 0 && (&marks[i - 1].part, &marks[i - 1].place) == (&m.part, &m.place);
            if !same
                && m.from.floor() >= last.floor() + 10.0 && m.from.floor() + 10.0 <= length.floor() {
                (apart, last) = (apart + 1, m.from);
            }
        }
        prop_assert!(apart < 3 || !all.is_empty(), "{} marks and no list", apart);
    }
}
