use proptest::prelude::*;

use super::*;
use crate::script::Part;

fn line(from: f64, to: f64, says: &str) -> Line {
    Line { from, to, says: says.to_owned(), act: None, part: Part::Opening }
}

/// The letters without what parts words: a word longer than a line goes on in the next one.
fn run_together(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && !c.is_control()).collect()
}

fn words_of(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect()
}

/// Every bound that captions have, measured on the cues alone.
pub(crate) fn within_bounds(cues: &[Cue]) -> Result<(), String> {
    let mut before = 0.0;
    for (i, cue) in cues.iter().enumerate() {
        let whole = |s: f64| (s * 1000.0 - (s * 1000.0).round()).abs() < 1e-6;
        let (seconds, gap) = (cue.to - cue.from, cue.from - before);
        let letters: usize = cue.lines.iter().map(|l| l.chars().count()).sum::<usize>() + cue.lines.len() - 1;
        let wrong = |what: &str| Err(format!("cue {i}: {what}: {cue:?} after {before}"));
        if !(1..=2).contains(&cue.lines.len()) || cue.lines.iter().any(|l| l.trim().is_empty() || l.trim() != l) {
            return wrong("lines");
        }
        if cue.lines.iter().any(|l| l.chars().count() > 42) {
            return wrong("a line of more than 42 characters");
        }
        if !(1.0 - 1e-9..=7.0 + 1e-9).contains(&seconds) {
            return wrong("shorter than a second or longer than seven");
        }
        if letters as f64 / seconds > 17.0 + 1e-6 {
            return wrong("more than 17 characters a second");
        }
        if gap < -1e-9 || (i > 0 && gap > 1e-9 && gap < 0.08 - 1e-9) {
            return wrong("overlaps, or a gap of less than two frames");
        }
        if !whole(cue.from) || !whole(cue.to) {
            return wrong("no whole milliseconds");
        }
        before = cue.to;
    }
    Ok(())
}

/// Words of people: plain, long, German, with marks, with letters that are several code points.
fn word() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => "[a-zA-Z]{1,12}[.,;:?]?",
        2 => prop::sample::select(vec![
            "the", "a", "and", "with", "15 seconds", "der", "die", "Schläfenschlagader", "über", "10 %", "0.5", "—", "&", "<b>", "-->",
            "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen", "👩🏽‍⚕️", "👨‍👩‍👧‍👦👨‍👩‍👧‍👦👨‍👩‍👧‍👦👨‍👩‍👧‍👦👨‍👩‍👧‍👦👨‍👩‍👧‍👦👨‍👩‍👧‍👦", "e\u{301}", "…",
        ]).prop_map(str::to_owned),
        1 => "\\PC{1,60}",
        1 => ".{0,30}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn any_words_at_any_times_keep_every_bound_and_none_is_lost(
        says in prop::collection::vec((prop::collection::vec(word(), 0..40), 0_u32..4000, 0_u32..40_000), 1..8),
        german in any::<bool>(),
    ) {
        let tongue = if german { &tongue::GERMAN } else { &tongue::ENGLISH };
        let mut now = 0.0;
        let lines: Vec<Line> = says
            .into_iter()
            .map(|(words, gap, long)| {
                let from = now + f64::from(gap) / 1000.0;
                now = from + f64::from(long) / 1000.0;
                line(from, now, &words.join(" "))
            })
            .collect();
        let (cues, late) = cues(&lines, tongue);
        prop_assert_eq!(within_bounds(&cues), Ok(()));
        // What is said, line by line, in order, with nothing left out and nothing new.
        for (at, line) in lines.iter().enumerate() {
            let shown: Vec<&str> = cues.iter().filter(|c| c.line == at).flat_map(|c| c.lines.iter().map(String::as_str)).collect();
            prop_assert_eq!(run_together(&shown.join(" ")), run_together(&line.says));
            if words_of(&line.says).iter().all(|w| w.chars().count() <= MOST_LETTERS) {
                let joined = shown.join(" ");
                prop_assert_eq!(words_of(&joined), words_of(&line.says));
            }
        }
        prop_assert!(cues.windows(2).all(|w| w[0].line <= w[1].line));
        // A line is late exactly when its captions end after it, or began after it.
        for (at, line) in lines.iter().enumerate() {
            let end = cues.iter().rfind(|c| c.line == at).map_or(0.0, |c| c.to);
            prop_assert!(late.contains(&at) || end <= line.to + 0.0011, "line {} ends at {} instead of {}", at, end, line.to);
        }
    }

    #[test]
    fn as_long_as_was_asked_for_is_long_enough(words in prop::collection::vec(word(), 1..60), rate in 12.5_f64..17.0) {
        let text = words.join(" ");
        let need = least_ms(&text, rate, &tongue::ENGLISH) as f64 / 1000.0;
        let (cues, late) = cues(&[line(3.0, 3.0 + need, &text)], &tongue::ENGLISH);
        prop_assert_eq!(within_bounds(&cues), Ok(()));
        prop_assert!(late.is_empty(), "late in {} s: {}", need, text);
    }
}

fn broken(text: &str, tongue: &Tongue) -> Vec<Vec<String>> {
    parts::parts(text, tongue)
}

#[test]
fn captions_are_broken_at_sense() {
    let check = |text: &str, tongue: &Tongue, expected: &[&[&str]]| {
        let found = broken(text, tongue);
        assert_eq!(
            found.iter().map(|l| l.iter().map(String::as_str).collect::<Vec<_>>()).collect::<Vec<_>>(),
            expected,
            "{text}"
        );
    };
    let english = &tongue::ENGLISH;
    check("Lay the flat of your hand there.", english, &[&["Lay the flat of your hand there."]]);
    check(
        "Lay the flat of your hand there and let its own weight and warmth rest, without pressing.",
        english,
        &[&["Lay the flat of your hand there", "and let its own weight and warmth rest,"], &["without pressing."]],
    );
    check(
        "Tie your hair back, and open the collar so that the collarbones are free.",
        english,
        &[&["Tie your hair back, and open the collar", "so that the collarbones are free."]],
    );
    check(
        "Binden Sie das Haar zurück und öffnen Sie den Kragen, so dass die Schlüsselbeine frei sind.",
        &tongue::GERMAN,
        &[&["Binden Sie das Haar zurück", "und öffnen Sie den Kragen,"], &["so dass die Schlüsselbeine frei sind."]],
    );
}

#[test]
fn no_article_is_parted_from_its_noun_and_no_number_from_its_unit() {
    let text = "The soft hollow above the inner half of the collarbone is held for 15 seconds by the pad of one finger, and the \
                other side for 10 seconds more, until the hand comes back to the lap and rests there for a minute or two minutes.";
    let text = text.split_whitespace().collect::<Vec<_>>();
    // Begun at each word, so that the breaks fall everywhere.
    let mut ends = 0;
    for from in 0..text.len() - 12 {
        for cue in broken(&text[from..].join(" "), &tongue::ENGLISH) {
            for line in cue {
                ends += 1;
                let last = line.rsplit(' ').next().unwrap_or_default();
                assert!(!["The", "the", "a", "one"].contains(&last), "{line}");
                assert!(!last.chars().all(|c| c.is_ascii_digit()), "{line}");
            }
        }
    }
    assert!(ends > 100, "only {ends} lines");
}

#[test]
fn files_are_written_as_their_formats_have_it() {
    let says = "Fish & chips <b>never</b> --> pressed.";
    let (cues, late) = cues(&[line(3661.5, 3665.5, says), line(3665.9, 3667.0, "Rest.")], &tongue::ENGLISH);
    assert!(late.is_empty());
    assert_eq!(
        webvtt(&cues),
        "WEBVTT\n\n1\n01:01:01.500 --> 01:01:05.500\nFish &amp; chips &lt;b&gt;never&lt;/b&gt; --&gt; pressed.\n\n2\n01:01:05.900 --> \
         01:01:07.000\nRest.\n"
    );
    assert_eq!(
        srt(&cues),
        "1\n01:01:01,500 --> 01:01:05,500\nFish & chips ‹b›never‹/b› --› pressed.\n\n2\n01:01:05,900 --> 01:01:07,000\nRest.\n"
    );
    assert_eq!((webvtt(&[]), srt(&[])), ("WEBVTT\n".to_owned(), String::new()));
}

#[test]
fn a_line_without_time_is_told_and_stands_long_enough_all_the_same() {
    let long = "Nothing in it may hurt. Where it does, go lighter; where it still hurts, leave that place out today.";
    let (cues, late) = cues(&[line(0.0, 1.0, long), line(1.4, 3.0, "Rest.")], &tongue::ENGLISH);
    assert_eq!(within_bounds(&cues), Ok(()));
    assert_eq!(late, [0, 1]);
}
