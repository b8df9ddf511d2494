use super::*;

fn spoken(text: &str) -> Spoken {
    read("x", text).unwrap_or_else(|e| panic!("{text}: {e:?}"))
}

/// Text and seconds of each piece.
fn pieces(text: &str) -> Vec<(String, Option<f64>, Option<f64>)> {
    spoken(text).pieces.into_iter().map(|p| (p.text, p.from, p.to)).collect()
}

fn sentences(text: &str) -> Vec<String> {
    spoken(text).sentences().into_iter().map(|s| s.text).collect()
}

fn notes(text: &str) -> Vec<String> {
    spoken(text).notes.iter().map(|n| format!("{}: {}", n.line, n.message)).collect()
}

fn refused(text: &str) -> String {
    let findings = read("x", text).expect_err(text);
    findings.iter().map(|f| format!("{f}\n")).collect()
}

#[test]
fn webvtt_as_the_specification_has_it() {
    let file = "\u{feff}WEBVTT - a title\r\nKind: captions\r\n\r\nNOTE not said\r\n\r\nSTYLE\r\n::cue { color: red }\r\n\r\nREGION\r\nid:a\r\n\r\nintro\r\n00:01.000 --> 00:04.500 align:start line:0\r\n<v Anna>Rest &amp; <i>breathe</i></v>\r\nslowly\r\n\r\n1:00:02.250 --> 1:00:03.000\r\n<c.yellow><00:00:01.200>Then</c> on\r\n";
    let read = spoken(file);
    assert_eq!(read.format, Format::WebVtt);
    assert_eq!(
        pieces(file),
        [
            (String::from("Rest & breathe slowly"), Some(1.0), Some(4.5)),
            (String::from("Then on"), Some(3602.25), Some(3603.0))
        ]
    );
    assert!(read.notes.is_empty(), "{:?}", read.notes);
}

#[test]
fn srt_with_and_without_numbers() {
    let both = [(String::from("One two"), Some(1.0), Some(2.5)), (String::from("3 times"), Some(3.0), Some(4.0))];
    let numbered = "1\n00:00:01,000 --> 00:00:02,500\n<font color=\"red\">One</font>\n{\\an8}two\n\n2\n00:00:03,000 --> 00:00:04,000\n3 times\n";
    assert_eq!(pieces(numbered), both);
    assert_eq!(spoken(numbered).format, Format::Srt);
    let bare = "00:00:01,000 --> 00:00:02,500\nOne\ntwo\n00:00:03,000 --> 00:00:04,000\n3 times\n";
    assert_eq!(pieces(bare), both);
    // A number that is said.
    assert_eq!(pieces("1\n00:00:01,000 --> 00:00:02,500\n3\n\n2\n00:00:03,000 --> 00:00:04,000\n2\n").len(), 2);
}

#[test]
fn plain_timed_text_in_its_many_forms() {
    for (line, from, to) in [
        ("0:15 words", 15.0, None),
        ("1:02:03 words", 3723.0, None),
        ("[00:15] words", 15.0, None),
        ("(0:15) words", 15.0, None),
        ("0:15 - 0:20 words", 15.0, Some(20.0)),
        ("00:00:15.500 words", 15.5, None),
        ("0:15: words", 15.0, None),
        ("0:15 \u{2013} words", 15.0, None),
        ("[0:15 - 0:20] words", 15.0, Some(20.0)),
        ("0:15\nwords", 15.0, None),
        ("0:00:15.000,0:00:20.000\nwords", 15.0, Some(20.0)),
        ("75:20 words", 4520.0, None),
    ] {
        let file = format!("0:01 before\n{line}\n");
        let read = spoken(&file);
        assert_eq!(read.format, Format::PlainTimed, "{line}");
        assert_eq!(pieces(&file)[1], (String::from("words"), Some(from), to), "{line}");
    }
}

#[test]
fn a_text_with_a_time_of_day_is_a_text() {
    for text in [
        "7:30 am we begin.\n8:15 pm we end.",
        "Ratio 3:15 of oil\nand more",
        "Come at 10:30.\n",
        "1:1 talks\n2:1 talks",
    ] {
        assert_eq!(spoken(text).format, Format::Text, "{text}");
    }
}

#[test]
fn paragraphs_headings_and_items_each_open() {
    let text = "# A title\nA short line\nAnother one\n\n- one\n- two goes\n  on here\n1. first\n\nA long line that was broken by the window where it ended\nGoes on. It ends.\n---\n\u{1f449} buy";
    let expected = [
        "A title",
        "A short line",
        "Another one",
        "one",
        "two goes on here",
        "first",
        "A long line that was broken by the window where it ended Goes on. It ends.",
        "buy",
    ];
    assert_eq!(pieces(text).into_iter().map(|p| p.0).collect::<Vec<_>>(), expected);
    let opens: Vec<bool> = spoken(text).sentences().iter().map(|s| s.opens).collect();
    assert_eq!(opens, [true, true, true, true, true, true, true, false, true]);
}

#[test]
fn sentences_end_where_they_end() {
    for (text, expected) in [
        ("Ask Dr. Smith. He knows.", vec!["Ask Dr. Smith.", "He knows."]),
        ("Use oil, e.g. Jojoba. Wait 0.5 s.", vec!["Use oil, e.g. Jojoba.", "Wait 0.5 s."]),
        ("Ready? \u{201c}Yes!\u{201d} she said. Go!", vec!["Ready?", "\u{201c}Yes!\u{201d} she said.", "Go!"]),
        ("It just... melts away. Wow\u{2026} Nice.", vec!["It just... melts away.", "Wow\u{2026}", "Nice."]),
        ("It fades.It goes (really.) Then on", vec!["It fades.", "It goes (really.)", "Then on"]),
        ("Bye lines \u{1f44b} Hello glow", vec!["Bye lines \u{1f44b}", "Hello glow"]),
        ("At 9 a.m. we start. In the U.S. it is so.", vec!["At 9 a.m. we start.", "In the U.S. it is so."]),
        ("soft. it is soft. so soft.", vec!["soft.", "it is soft.", "so soft."]),
        ("[Music] hello there [Applause] bye", vec!["[Music]", "hello there", "[Applause]", "bye"]),
    ] {
        assert_eq!(sentences(text), expected, "{text}");
    }
}

#[test]
fn a_sentence_runs_across_cues_and_knows_its_times() {
    let file = "WEBVTT\n\n00:01.000 --> 00:02.000\nPress below\n\n00:02.000 --> 00:03.000\nthe cheek. Then rest.\n";
    let found = spoken(file).sentences();
    assert_eq!(found[0].text, "Press below the cheek.");
    assert_eq!((found[0].time[0], found[0].time[11], found[0].time[12]), (1.0, 1.0, 2.0));
    let chars: Vec<char> = file.chars().collect();
    assert_eq!(
        chars[found[1].at[0]..found[1].at[found[1].text.chars().count()]].iter().collect::<String>(),
        "Then rest."
    );
}

#[test]
fn rolling_captions_are_read_once() {
    let file = "WEBVTT\n\n00:00.000 --> 00:02.000\nhello and welcome to\n\n00:02.000 --> 00:02.010\nhello and welcome to\n\n00:02.010 --> 00:04.000\nhello and welcome to\nthis<00:00:03.000><c> little routine</c>\n\n00:04.000 --> 00:04.010\nthis little routine\n\n00:04.010 --> 00:06.000\nthis little routine\nfor the jaw\n";
    assert_eq!(
        pieces(file).into_iter().map(|p| p.0).collect::<Vec<_>>(),
        ["hello and welcome to", "this little routine", "for the jaw"]
    );
    // Whoever says a thing twice said it twice.
    let twice = "WEBVTT\n\n00:00.000 --> 00:02.000\npress and hold\n\n00:02.000 --> 00:03.000\nand hold it\n\n00:03.000 --> 00:04.000\nnow the left\n\n00:04.000 --> 00:05.000\nslowly there\n\n00:05.000 --> 00:06.000\nand rest\n";
    assert_eq!(pieces(twice).len(), 5);
}

#[test]
fn without_full_stops_sentences_end_at_pauses_and_clauses() {
    let mut file = String::from("WEBVTT\n");
    let lines = [
        "so today i want to show you something for",
        "the jaw because i know that many of you",
        "sit at a desk all day and then you clench",
        "your teeth without even noticing that you do",
        "but first put a drop of oil on your hands",
        "and warm it up between them",
    ];
    for (i, line) in lines.iter().enumerate() {
        file.push_str(&format!("\n00:{:02}.000 --> 00:{:02}.000\n{line}\n", i * 4, i * 4 + 4));
    }
    // After a long silence.
    file.push_str("\n00:40.000 --> 00:44.000\nnow place your hands on the cheeks\n");
    let found = sentences(&file);
    assert!(found.iter().all(|s| (3..=22).contains(&s.split(' ').count())), "{found:#?}");
    assert!(found.iter().any(|s| s.starts_with("but first")), "{found:#?}");
    assert_eq!(found.last().map(String::as_str), Some("now place your hands on the cheeks"));
    for word in ["without", "the", "your", "i"] {
        assert!(!found.iter().any(|s| s.ends_with(&format!(" {word}"))), "{found:#?}");
    }
}

#[test]
fn what_is_odd_is_noted_with_its_line() {
    let check = |text: &str, line: usize, part: &str| {
        let all = notes(text);
        assert!(all.iter().any(|n| n.starts_with(&format!("{line}: ")) && n.contains(part)), "{text}: {all:?}");
    };
    check("00:01.000 --> 00:02.000\nwords\n", 1, "the first line must be WEBVTT");
    check("webvtt\n\n00:01.000 --> 00:02.000\nwords\n", 1, "capital letters");
    check("WEBVTT\n\n00:05.000 --> 00:02.000\nwords\n", 3, "ends before it begins");
    check("WEBVTT\n\n00:05.000 --> 00:06.000\na\n\n00:01.000 --> 00:02.000\nb\n", 6, "before the time above");
    check(
        "WEBVTT\n\n00:01.000 --> 00:04.000\na\n\n00:03.000 --> 00:05.000\nb\n",
        6,
        "before the one above it has ended",
    );
    check("WEBVTT\n\n00:01.000 --> 00:04.000\n\n00:05.000 --> 00:06.000\nb\n", 3, "no words under this time");
    check("WEBVTT\n\n00:01.000 --> 00:04.000\na\n\nlost words\n", 6, "under no time");
    check("WEBVTT\n\n00:00:01,000 --> 00:00:04,000\na\n", 3, "comma");
    check("1\n00:00:05,000 --> 00:00:02,000\nwords\n", 2, "ends before it begins");
    check("0:15 a\n0:10 b\n", 2, "before the time above");
    let many: String = (0..50).map(|i| format!("0:{:02} a{i}\n", 59 - i)).collect();
    assert_eq!(notes(&many).len(), 21);
    assert!(notes(&many)[20].contains("29 more"));
}

#[test]
fn what_cannot_be_read_is_refused_with_what_to_do() {
    let check = |text: &str, part: &str| {
        let said = refused(text);
        assert!(said.contains(part), "{text:?}: {said}");
    };
    check("", "there are no words");
    check(" \n\u{feff}\n", "there are no words");
    check("WEBVTT\n\n", "there are no words");
    check("WEBVTT\n\n00:61.000 --> 01:00.000\nx\n", "x:3: the times of this line cannot be read");
    check("1\n00:00:01,000 -> 00:00:02,000\nx\n\n2\n00:00:03,000 --> 00:00:99,000\ny\n", "x:6: the times of this line");
    check("a\u{0}b", "no text file");
    check("{\\rtf1 x}", "rich text");
    check("<?xml version=\"1.0\"?><tt/>", "WebVTT or SRT");
    check("[Script Info]\nTitle: x\n", "SubStation");
    check("<!DOCTYPE html><p>x", "web page");
    check(&"a ".repeat(MOST_BYTES), "in parts");
}

#[test]
fn bytes_become_text_or_say_why_not() {
    let check = |bytes: &[u8], part: &str| {
        let said = decode("x", bytes).expect_err(part);
        assert!(said[0].to_string().contains(part), "{said:?}");
    };
    check(b"one\ntwo \xe4\n", "x:2: this line is not encoded as UTF-8");
    check(b"\xff\xfea\0", "UTF-16");
    check(b"%PDF-1.7", "PDF");
    check(b"PK\x03\x04zzz", "Word");
    check(b"\0\0\0\x18ftypmp42", "video");
    check(b"\x80\0\0\x01", "no text file");
    assert_eq!(decode("x", "gr\u{fc}n".as_bytes()).expect("text"), "gr\u{fc}n");
}

/// What holds of every text that is read.
fn held(text: &str) {
    let Ok(spoken) = read("x", text) else { return };
    let chars: Vec<char> = text.chars().collect();
    let place = |words: &str, at: &[usize]| {
        assert_eq!(at.len(), words.chars().count() + 1, "{text:?}");
        assert!(at.windows(2).all(|w| w[0] < w[1]), "rising: {at:?} in {text:?}");
        assert!(at.last().is_some_and(|end| *end <= chars.len()), "inside: {text:?}");
        assert!(!words.is_empty() && words.trim() == words && !words.contains("  "), "{words:?}");
        for (c, at) in words.chars().zip(at) {
            let there = chars[*at];
            let same = c == there || there == '&' || (c == ' ' && (there.is_whitespace() || there.is_control()));
            // Between two cues the blank stands where the first one ended.
            assert!(same || c == ' ', "{c:?} is {there:?} in {text:?}");
        }
    };
    assert!(!spoken.pieces.is_empty());
    for piece in &spoken.pieces {
        place(&piece.text, &piece.at);
        assert_eq!(piece.from.is_some(), spoken.format != Format::Text);
        assert!(piece.from.is_none_or(|s| s.is_finite() && s >= 0.0));
    }
    let before = |a: &[usize], b: &[usize]| a.last() <= b.first();
    assert!(spoken.pieces.windows(2).all(|w| before(&w[0].at, &w[1].at)), "in order: {text:?}");
    let sentences = spoken.sentences();
    for sentence in &sentences {
        place(&sentence.text, &sentence.at);
        let times = if spoken.format == Format::Text { 0 } else { sentence.text.chars().count() };
        assert_eq!(sentence.time.len(), times, "{text:?}");
    }
    assert!(sentences.windows(2).all(|w| before(&w[0].at, &w[1].at)), "in order: {text:?}");
    // Every word of the pieces is in a sentence, and no other.
    let all = |texts: Vec<&str>| texts.concat().replace(' ', "");
    let said = all(sentences.iter().map(|s| s.text.as_str()).collect());
    assert_eq!(said, all(spoken.pieces.iter().map(|p| p.text.as_str()).collect()), "{text:?}");
}

/// What files are made of, so that chance meets their forms.
const PARTS: &[&str] = &[
    "WEBVTT",
    "NOTE",
    "STYLE",
    "1",
    "2",
    "\n",
    "\r\n",
    "\r",
    "\n\n",
    "00:01.000 --> 00:02.000",
    "00:00:01,000 --> 00:00:02,500",
    "-->",
    "0:15 ",
    "[1:02:03] ",
    "0:15 - 0:20",
    "<v Anna>",
    "</i>",
    "<",
    ">",
    "&amp;",
    "&#x1F44B;",
    "&nbsp;",
    "&",
    ";",
    "{\\an8}",
    "\u{feff}",
    "\u{200b}",
    "\u{a0}",
    "\t",
    "gr\u{fc}n",
    "\u{1f44b}\u{1f3fd}",
    "e\u{301}",
    "hello",
    "hello and welcome",
    "It melts. ",
    "Dr. ",
    "...",
    "?",
    "!\u{201d}",
    ">> ",
    "[Music]",
    "- ",
    "# ",
    "1. ",
    "and",
    "not",
    " ",
    "align:start",
    "\u{2028}",
    "\u{1}",
];

#[test]
fn what_is_read_keeps_its_places() {
    use proptest::prelude::*;
    let parts = prop::collection::vec(prop::sample::select(PARTS), 0..60).prop_map(|p| p.concat());
    let any = prop_oneof![3 => parts, 1 => any::<String>()];
    proptest!(ProptestConfig::with_cases(3000), |(text in any)| held(&text));
}

#[test]
fn long_lines_and_words_take_no_long_time() {
    let begun = std::time::Instant::now();
    for text in [
        "a".repeat(1_000_000),
        "word ".repeat(400_000),
        format!("WEBVTT\n\n00:01.000 --> 00:02.000\n{}", "<".repeat(500_000)),
        format!("WEBVTT\n\n00:01.000 --> 00:02.000\n{}", "&".repeat(500_000)),
        format!("WEBVTT\n\n{}", "00:01.000 --> 00:02.000\na\n\n".repeat(50_000)),
        format!("1\n00:00:01,000 --> 00:00:02,000\n{}", "<b".repeat(500_000)),
        "\n".repeat(1_000_000),
        "0:15\n".repeat(300_000),
        "x. ".repeat(300_000),
    ] {
        held(&text);
    }
    assert!(begun.elapsed().as_secs() < 60, "{:?}", begun.elapsed());
}

#[test]
fn another_language_is_seen() {
    let check = |text: &str, foreign: bool| assert_eq!(spoken(text).seems_foreign(), foreign, "{text}");
    check("Rest your hands on the cheeks and breathe out slowly, then let go.", false);
    check("Legen Sie die H\u{e4}nde auf die Wangen und atmen Sie langsam aus, dann lassen Sie los.", true);
    check("Posez les mains sur les joues et respirez lentement, puis rel\u{e2}chez.", true);
    check("Pon las manos en las mejillas y respira despacio, luego suelta.", true);
    check(
        "\u{41f}\u{43e}\u{43b}\u{43e}\u{436}\u{438}\u{442}\u{435} \u{440}\u{443}\u{43a}\u{438} \u{43d}\u{430} \u{449}\u{451}\u{43a}\u{438}",
        true,
    );
    check("Erase wrinkles fast", false);
    // A list of names and hashtags is no language.
    check("Jaw release #jaw #calm Part 1 Neck Jaw Cheeks Forehead Temples Close", false);
}

#[test]
fn a_pause_within_a_sentence_does_not_tear_it_apart() {
    let of = |second: &str, cue: &str| {
        format!("WEBVTT\n\n00:01.000 --> 00:02.000\nThis does not\n\n{second} --> 00:59.000\n{cue}\n")
    };
    assert_eq!(sentences(&of("00:07.000", "remove lines.")), ["This does not remove lines."]);
    assert_eq!(sentences(&of("00:58.000", "remove lines.")), ["This does not", "remove lines."]);
    let titles = "WEBVTT\n\n00:01.000 --> 00:02.000\nLeft cheek\n\n00:07.000 --> 00:08.000\nRight cheek\n";
    assert_eq!(sentences(titles), ["Left cheek", "Right cheek"]);
}
