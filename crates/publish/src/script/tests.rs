use proptest::prelude::*;

use super::*;
use crate::captions::{self, tongue};

fn act(says: &str, minds: &[&str], holds: &[(&str, bool)], seconds: f64, short: bool) -> Act {
    Act {
        movement: "Work".to_owned(),
        says: says.to_owned(),
        minds: minds.iter().map(|m| (*m).to_owned()).collect(),
        holds: holds.iter().map(|(says, spare)| Held { says: (*says).to_owned(), spare: *spare }).collect(),
        short,
        place: "ear".to_owned(),
        side: "your left".to_owned(),
        from: 0.0,
        to: seconds,
    }
}

fn given<'a>(opening: &'a [String], acts: &'a [Act], changes: &'a [f64], closing: &'a [String]) -> Given<'a> {
    let pace = Pace::default();
    Given { opening, acts, changes, closing, count: None, quiet: false, pace, tongue: &tongue::ENGLISH }
}

fn told(take: &Take) -> Vec<(f64, f64, Part, Option<usize>)> {
    take.lines.iter().map(|l| (l.from, l.to, l.part, l.act)).collect()
}

#[test]
fn words_come_before_the_hand_and_the_next_ones_in_the_silence_of_a_hold() {
    // At 15 characters a second these take two seconds each.
    let words = "Thirty letters are said there.";
    assert_eq!(words.chars().count(), 30);
    let acts = [
        act(words, &[words], &[(words, false)], 20.0, false),
        act(words, &[], &[], 10.0, false),
        act(words, &[], &[], 10.0, true),
    ];
    let opening = [words.to_owned()];
    let take = timed(&given(&opening, &acts, &[0.0, 2.0, 3.0], &opening));
    let starts: Vec<(f64, f64)> = take.acts.iter().map(|a| (a.from, a.to)).collect();
    assert_eq!(starts, [(7.8, 27.8), (29.8, 39.8), (42.8, 52.8)]);
    assert_eq!(
        told(&take),
        [
            (0.6, 2.6, Part::Opening, None),
            (3.0, 5.0, Part::Says, Some(0)),
            (5.4, 7.4, Part::Minds, Some(0)),
            (8.2, 10.2, Part::Holds, Some(0)),
            (10.6, 12.6, Part::Says, Some(1)),
            // What is short waits for the change of hands.
            (39.8, 41.8, Part::Says, Some(2)),
            (53.2, 55.2, Part::Closing, None),
        ]
    );
    assert_eq!(take.told, [Told::Later(0, 7.8 - 3.0)]);
    assert_eq!(take.length, 56.2);
    // Quiet holds: the words wait for the change, and the hand for the words.
    let quiet = timed(&Given { quiet: true, ..given(&opening, &acts, &[0.0, 1.0, 3.0], &opening) });
    assert_eq!(quiet.lines[4].from, 27.8);
    assert_eq!(quiet.acts[1].from, 30.2);
}

#[test]
fn what_does_not_fit_into_a_hold_is_spared_or_said_before() {
    let long = "These words take about four seconds to say at the usual pace.";
    let acts = [act("Next comes the ear.", &[], &[(long, false), ("Steady it.", true)], 5.0, false)];
    let take = timed(&given(&[], &acts, &[0.0], &[]));
    assert_eq!(take.told[0], Told::Spared(0, "Steady it.".to_owned()));
    let said: Vec<(&str, Part)> = take.lines.iter().map(|l| (l.says.as_str(), l.part)).collect();
    assert_eq!(said, [("Next comes the ear.", Part::Says), (long, Part::Holds)]);
    let acts = [act("Next comes the ear.", &["Mind it."], &[(long, false)], 4.0, false)];
    let take = timed(&given(&[], &acts, &[0.0], &[]));
    assert_eq!(take.told[0], Told::Earlier(0, long.to_owned()));
    let said: Vec<(&str, Part)> = take.lines.iter().map(|l| (l.says.as_str(), l.part)).collect();
    assert_eq!(said, [("Next comes the ear.", Part::Says), (long, Part::Says), ("Mind it.", Part::Minds)]);
    assert!(take.lines.iter().all(|l| l.to <= take.acts[0].from));
}

#[test]
fn a_count_ends_with_the_hold_and_no_words_meet_it() {
    let words = "Thirty letters are said there.";
    let acts = [
        act(words, &[], &[], 12.0, false),
        act(words, &[words, words, words], &[], 12.0, false),
        act(words, &[], &[], 4.0, false),
    ];
    let counted = Given { count: Some("Five. Four. Three. Two. One."), ..given(&[], &acts, &[0.0, 2.0, 2.0], &[]) };
    let take = timed(&counted);
    let counts: Vec<(f64, f64)> =
        take.lines.iter().filter(|l| l.part == Part::Counts).map(|l| (l.from, l.to)).collect();
    let ends: Vec<(f64, f64)> =
        take.acts[..2].iter().map(|a| (((a.to - 5.0) * 1000.0).round() / 1000.0, a.to)).collect();
    assert_eq!(counts, ends, "the last hold is too short to be counted");
    assert!(take.lines.windows(2).all(|w| w[0].to <= w[1].from), "{:?}", told(&take));
}

/// Where the silence has room for the next words and the count, counting costs a breath a step at most, planned or filmed.
#[test]
fn the_next_words_begin_in_a_counted_hold_before_the_count() {
    let words = "Thirty letters are said there.";
    let acts: Vec<Act> = (0..6).map(|_| act(words, &[words], &[(words, false)], 20.0, false)).collect();
    let changes = [2.0; 6];
    let plain = given(&[], &acts, &changes, &[]);
    let counted = Given { count: Some("Five. Four. Three. Two. One."), ..plain };
    let (slow, fast) = (timed(&counted), timed(&plain));
    let parts: Vec<Part> = slow.lines.iter().filter(|l| l.from < slow.acts[1].from).map(|l| l.part).collect();
    let (says, minds) = (Part::Says, Part::Minds);
    assert_eq!(parts, [says, minds, Part::Holds, says, minds, Part::Counts]);
    let count = slow.lines.iter().filter(|l| l.part == Part::Counts).count();
    assert_eq!(count, 6);
    assert!(slow.acts.iter().zip(&fast.acts).enumerate().all(|(n, (a, b))| a.from - b.from <= 0.4 * n as f64 + 1e-6));
    assert!((0.0..=0.4 * 6.0).contains(&(slow.length - fast.length)), "{} and {}", slow.length, fast.length);
    // With quiet holds nothing but the count is said after a hold's own words.
    let quiet = timed(&Given { quiet: true, ..counted });
    let parts: Vec<Part> = quiet.lines.iter().filter(|l| l.from < quiet.acts[1].from).map(|l| l.part).collect();
    assert_eq!(parts, [says, minds, Part::Holds, Part::Counts, says, minds]);
    // Filmed along the plain plan: what has no room after the count is said before it, and nothing runs over.
    let starts: Vec<f64> = fast.acts.iter().map(|a| a.from).collect();
    let filmed = retimed(&counted, &starts, Some(fast.length + 60.0));
    assert_eq!(filmed.told, []);
    assert_eq!(filmed.lines.iter().filter(|l| l.part == Part::Counts).count(), 6);
    assert!(filmed.lines.windows(2).all(|w| w[0].to <= w[1].from), "{:?}", told(&filmed));
}

#[test]
fn a_pace_has_bounds() {
    assert_eq!(Pace::new(12.4).or(Pace::new(17.1)).or(Pace::new(f64::NAN)), None);
    assert_eq!(Pace::new(17.0).map(Pace::rate), Some(17.0));
}

#[test]
fn a_finished_video_with_too_little_time_is_told_line_by_line() {
    let words = "Thirty letters are said there.";
    let acts = [act(words, &[words], &[], 10.0, false), act(words, &[words], &[], 10.0, false)];
    let changes = [0.0, 2.0];
    let g = given(&[], &acts, &changes, &[]);
    // From a breath after 6.0 on, two lines of 1.765 seconds (30 characters, 17 a second) with a breath between are over at 10.33.
    let take = retimed(&g, &[6.0, 9.0], Some(19.0));
    assert!(matches!(take.told[..], [Told::Over(3, by)] if (by - 1.33).abs() < 0.01), "{:?}", take.told);
    let take = retimed(&g, &[6.0, 12.0], Some(19.0));
    assert!(matches!(take.told[..], [Told::Beyond(by)] if (by - 3.0).abs() < 1e-9), "{:?}", take.told);
    assert_eq!(take.length, 19.0);
    let take = retimed(&g, &[6.0, 30.0], Some(60.0));
    assert_eq!((take.told.len(), take.lines[2].to < 30.0, take.lines[3].to < 30.0), (0, true, true));
}

/// A sentence of so many words.
fn sentence() -> impl Strategy<Value = String> {
    prop::collection::vec("[a-z]{1,9}", 0..25).prop_map(|words| words.join(" "))
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let held = (sentence(), any::<bool>());
    let one = (
        sentence(),
        prop::collection::vec(sentence(), 0..3),
        prop::collection::vec(held, 0..3),
        5_u32..40,
        any::<bool>(),
    );
    prop::collection::vec(one, 1..12).prop_map(|all| {
        all.into_iter()
            .map(|(says, minds, holds, seconds, short)| Act {
                minds,
                holds: holds.into_iter().map(|(says, spare)| Held { says, spare }).collect(),
                ..act(&says, &[], &[], f64::from(seconds), short)
            })
            .collect()
    })
}

/// What holds of any take, whatever its times.
fn sound(take: &Take, acts: &[Act]) -> Result<(), TestCaseError> {
    prop_assert!(take.lines.windows(2).all(|w| w[0].to <= w[1].from + 1e-6), "two lines at once");
    prop_assert!(take.lines.iter().all(|l| l.from < l.to));
    let (cues, late) = captions::cues(&take.lines, &tongue::ENGLISH);
    prop_assert_eq!(captions::tests::within_bounds(&cues), Ok(()));
    prop_assert!(late.is_empty(), "captions come late: {:?}", late);
    // All is said, each once, but what is told to be spared.
    for (at, act) in acts.iter().enumerate() {
        let spared: Vec<&String> = take
            .told
            .iter()
            .filter_map(|t| if let Told::Spared(a, w) = t { (*a == at).then_some(w) } else { None })
            .collect();
        let minds = act.minds.join(" ");
        let mut all: Vec<&str> =
            act.holds.iter().map(|h| h.says.as_str()).chain([act.says.as_str(), minds.as_str()]).collect();
        for words in &spared {
            let found = all.iter().position(|w| *w == words.as_str());
            prop_assert!(found.is_some());
            all.remove(found.unwrap_or_default());
            prop_assert!(act.holds.iter().any(|h| h.spare && h.says == **words), "what must be said was spared");
        }
        all.retain(|w| !w.trim().is_empty());
        all.sort_unstable();
        let of = |l: &&Line| l.act == Some(at) && l.part != Part::Counts;
        let mut said: Vec<&str> = take.lines.iter().filter(of).map(|l| l.says.as_str()).collect();
        said.sort_unstable();
        prop_assert_eq!(said, all);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_said_at_once_or_lost_and_cautions_come_before_the_hand(
        acts in acts(), opening in prop::collection::vec(sentence(), 0..4), count in any::<bool>(), quiet in any::<bool>(),
    ) {
        let changes: Vec<f64> = (0..acts.len()).map(|i| [0.0, 2.0, 3.0, 8.0][i % 4]).collect();
        let count = count.then_some("Five. Four. Three. Two. One.");
        let g = Given { count, quiet, ..given(&opening, &acts, &changes, &opening) };
        let take = timed(&g);
        sound(&take, &acts)?;
        for line in &take.lines {
            let Some(act) = line.act.map(|a| &take.acts[a]) else { continue };
            match line.part {
                Part::Says | Part::Minds => prop_assert!(line.to <= act.from + 1e-6, "words after the hand came"),
                _ => prop_assert!(line.from >= act.from && line.to <= act.to + 1e-6, "not while the hand is there"),
            }
        }
        for (at, now) in take.acts.iter().enumerate() {
            prop_assert!((now.to - now.from - acts[at].to).abs() < 1e-6, "a hold has another length");
            if at > 0 {
                let change = now.from - take.acts[at - 1].to;
                prop_assert!(change >= changes[at] - 1e-6);
                let later = take.told.iter().find_map(|t| if let Told::Later(a, by) = t { (*a == at).then_some(*by) } else { None });
                prop_assert!((change - changes[at] - later.unwrap_or(0.0)).abs() < 0.6, "waits, and it is not told");
            }
        }
        prop_assert!(take.lines.last().is_none_or(|l| l.to <= take.length));
        // In a video that was filmed along it, all is said at the same steps, and nothing runs over.
        let starts: Vec<f64> = take.acts.iter().map(|a| a.from).collect();
        let again = retimed(&g, &starts, Some(take.length + 60.0));
        sound(&again, &acts)?;
        prop_assert!(!again.told.iter().any(|t| matches!(t, Told::Over(..) | Told::Beyond(_))), "{:?}", again.told);
    }

    #[test]
    fn any_times_keep_every_bound_or_the_line_is_told(
        acts in acts(), gaps in prop::collection::vec(1.0_f64..40.0, 12), opening in prop::collection::vec(sentence(), 0..3), count in any::<bool>(),
    ) {
        let mut now = 0.0;
        let starts: Vec<f64> = acts.iter().zip(&gaps).map(|(_, gap)| { now += gap; now }).collect();
        let changes = vec![2.0; acts.len()];
        let count = count.then_some("Five. Four. Three. Two. One.");
        let take = retimed(&Given { count, ..given(&opening, &acts, &changes, &opening) }, &starts, None);
        sound(&take, &acts)?;
        prop_assert!(take.acts.iter().zip(&starts).all(|(a, s)| a.from == *s));
        for (i, line) in take.lines.iter().enumerate() {
            let until = match (line.part, line.act) {
                (Part::Says | Part::Minds, Some(a)) => take.acts[a].from,
                (Part::Holds, Some(a)) => starts.get(a + 1).copied().unwrap_or(f64::INFINITY),
                _ => f64::INFINITY,
            };
            let over = take.told.iter().any(|t| matches!(t, Told::Over(at, _) if *at == i));
            prop_assert_eq!(over, line.to > until + 0.0501, "line {} to {} until {}", i, line.to, until);
        }
    }
}
