//! Journeys of `tragion words`: every kind of file, the JSON contract, places in code points, countries, own rules, and bad input.

mod house;

use house::{Folder, Said, run, run_with};
use serde_json::Value;

const CAPTIONS: &str = "WEBVTT\n\n00:15.000 --> 00:18.000\n\u{1f44b}\u{1f3fd} Gr\u{fc}ezi! This massage erases <i>wrinkles</i> and also\n\n\
00:18.000 --> 00:21.000\ncures migraine. It does not replace a doctor.\n";

fn words(name: &str, file: &str, text: impl AsRef<[u8]>, more: &[&str]) -> Said {
    let folder = Folder::new(&house::unique(name));
    let file = folder.write(file, text);
    run(&[&["words", &file], more].concat())
}

fn answer(name: &str, file: &str, text: &str, more: &[&str]) -> Value {
    let said = words(name, file, text, &[&["--json"], more].concat());
    assert_eq!(said.code, 0, "{name}: {}", said.err);
    said.json()
}

fn claims(answer: &Value) -> &Vec<Value> {
    answer["claims"].as_array().expect("claims")
}

/// What stands between two places of a text, in code points.
fn slice(text: &str, claim: &Value) -> String {
    let place = |key: &str| usize::try_from(claim[key].as_u64().expect("a place")).expect("a place");
    text.chars().skip(place("start")).take(place("end") - place("start")).collect()
}

#[test]
fn captions_with_places_times_and_all_keys() {
    let said = answer("vtt", "a.vtt", CAPTIONS, &[]);
    assert_eq!(said["format"], "webvtt");
    assert_eq!(said["countries"], serde_json::json!(["us", "eu", "uk"]));
    assert_eq!(said["english"], true);
    assert!(said["file"].as_str().expect("a name").ends_with("a.vtt"));
    assert!(said["notice"].as_str().is_some_and(|n| n.contains("no legal advice")), "{}", said["notice"]);
    let keys = [
        "start",
        "end",
        "line",
        "time",
        "text",
        "country",
        "type",
        "topic",
        "verdict",
        "confidence",
        "rule",
        "rules",
        "reason",
        "source",
        "instead",
    ];
    assert!(!claims(&said).is_empty());
    for claim in claims(&said) {
        let has: Vec<&String> = claim.as_object().expect("an object").keys().collect();
        assert!(keys.iter().all(|k| has.iter().any(|h| h == k)) && has.len() == keys.len(), "{has:?}");
        assert!(
            ["avoid", "needs_trial", "needs_disclosure", "ok"].contains(&claim["verdict"].as_str().expect("a word"))
        );
        let sure = claim["confidence"].as_f64().expect("a number");
        assert!((0.0..=1.0).contains(&sure));
        assert!(
            !claim["reason"].as_str().expect("why").is_empty()
                && !claim["source"].as_str().expect("a source").is_empty()
        );
        assert_eq!(claim["rules"][0], claim["rule"]);
        let there = slice(CAPTIONS, claim).replace("<i>", "").replace("</i>", "");
        assert_eq!(there.split_whitespace().collect::<Vec<_>>().join(" "), claim["text"].as_str().expect("words"));
    }
    let of = |word: &str| {
        claims(&said)
            .iter()
            .find(|c| c["text"].as_str().is_some_and(|t| t.contains(word)))
            .unwrap_or_else(|| panic!("{word}: {said}"))
    };
    let (wrinkles, migraine) = (of("wrinkles"), of("migraine"));
    assert_eq!((&wrinkles["type"], &wrinkles["time"], &wrinkles["line"]), (&"body".into(), &15.0.into(), &4.into()));
    assert_eq!((&migraine["type"], &migraine["verdict"]), (&"disease".into(), &"avoid".into()));
    assert!(
        !claims(&said).iter().any(|c| c["text"].as_str().is_some_and(|t| t.contains("doctor"))),
        "a caution is no claim: {said}"
    );
}

#[test]
fn every_kind_of_file_says_the_same_of_the_same_words() {
    let line = "This massage removes wrinkles.";
    let files = [
        ("a.txt", "text", format!("{line}\n"), None),
        ("a.vtt", "webvtt", format!("WEBVTT\n\n00:15.000 --> 00:18.000\n{line}\n"), Some(15.0)),
        ("a.srt", "srt", format!("1\r\n00:00:15,000 --> 00:00:18,000\r\n{line}\r\n"), Some(15.0)),
        ("a.md", "plain_timed", format!("0:15 {line}\n0:20 And rest.\n"), Some(15.0)),
    ];
    let mut said: Vec<Value> = Vec::new();
    for (name, format, text, time) in files {
        let answer = answer("kinds", name, &text, &[]);
        assert_eq!(answer["format"], format);
        let found: Vec<Value> = claims(&answer)
            .iter()
            .map(|claim| {
                assert_eq!(claim["time"].as_f64(), time, "{name}");
                assert_eq!(slice(&text, claim), claim["text"].as_str().expect("words"), "{name}");
                serde_json::json!([claim["text"], claim["country"], claim["type"], claim["verdict"], claim["instead"]])
            })
            .collect();
        assert_eq!(found.len(), 3, "{name}: {answer}");
        said.push(found.into());
    }
    assert!(said.windows(2).all(|w| w[0] == w[1]), "{said:?}");
}

#[test]
fn in_words_by_sentence_with_counts_and_the_notice() {
    let said = words("plain", "a.vtt", CAPTIONS, &[]);
    assert_eq!(said.code, 0, "{}", said.err);
    for part in [
        "captions (WebVTT)",
        "At 0:15 (line 4)",
        "\u{201c}This massage erases wrinkles and also cures migraine.\u{201d}",
        "not to be said",
        "Source:",
        "no legal advice",
    ] {
        assert!(said.out.contains(part), "no {part:?} in:\n{}", said.out);
    }
    // The sentence stands once, whatever was found in it.
    assert_eq!(said.out.matches("\u{201c}This massage erases").count(), 1, "{}", said.out);
    assert!(!said.out.contains("does not replace"), "{}", said.out);
    assert!(said.out.contains("found: ") || said.out.contains("Found: "), "{}", said.out);
}

#[test]
fn countries_are_those_asked_for_in_their_order() {
    let text = "This massage removes wrinkles.";
    let of = |more: &[&str]| {
        let said = answer("countries", "a.txt", text, more);
        let told: Vec<String> =
            claims(&said).iter().map(|c| c["country"].as_str().expect("a code").to_owned()).collect();
        assert_eq!(said["countries"], serde_json::json!(told));
        told
    };
    assert_eq!(of(&["--country", "uk"]), ["uk"]);
    assert_eq!(of(&["--country", "UK, us"]), ["uk", "us"]);
    assert_eq!(of(&["--country", "eu", "--country", "us,eu"]), ["eu", "us"]);
    let said = words("unknown", "a.txt", text, &["--country", "us,ukk"]);
    assert_eq!((said.code, said.out.as_str()), (2, ""));
    assert!(said.err.contains("no country `ukk`") && said.err.contains("us, eu and uk"), "{}", said.err);
}

#[test]
fn a_country_and_words_of_ones_own() {
    let rules = house::example("words_country.toml");
    let text = "This massage drains the lymph.";
    let said = answer("own", "a.txt", text, &["--rules", &rules]);
    assert_eq!(said["countries"], serde_json::json!(["us", "eu", "uk", "lum"]), "without --country all of them");
    let lum = claims(&said).iter().find(|c| c["country"] == "lum" && c["topic"] == "lymph").expect("the own country's");
    assert_eq!(lum["verdict"], "avoid");
    let only = answer("own", "a.txt", text, &["--rules", &rules, "--country", "lum"]);
    assert!(claims(&only).iter().all(|c| c["country"] == "lum"), "{only}");
    let unknown = words("own", "a.txt", text, &["--country", "lum"]);
    assert!(unknown.code == 2 && unknown.err.contains("no country `lum`"), "{}", unknown.err);
    let folder = Folder::new(&house::unique("own-broken"));
    let broken = folder.write("broken.toml", "[country]\ncode = \"xx\"\nname = \"X\"\nbased_on = \"ukk\"\n");
    let said = words("own", "a.txt", text, &["--rules", &broken]);
    assert_eq!((said.code, said.out.as_str()), (2, ""));
    assert!(said.err.contains("broken.toml:4:") && said.err.contains("did you mean `uk`"), "{}", said.err);
}

#[test]
fn standard_input_is_read_as_a_file_is() {
    let said = run_with(&["words", "-"], b"This massage cures migraine.\n");
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.starts_with("Standard input: a text, 1 sentence"), "{}", said.out);
}

#[test]
fn silence_is_no_clearance_and_another_language_is_told() {
    let said = words("silent", "a.txt", "Rest your hands on the cheeks, and breathe out slowly.\n", &[]);
    assert_eq!(said.code, 0);
    assert!(said.out.contains("Nothing was found") && said.out.contains("no clearance"), "{}", said.out);
    assert!(!said.out.contains("another language"), "{}", said.out);
    let german = "Legen Sie die H\u{e4}nde auf die Wangen und atmen Sie langsam aus, dann lassen Sie den Kiefer los.";
    let said = words("german", "a.txt", german, &[]);
    assert!(said.out.contains("another language"), "{}", said.out);
    assert_eq!(answer("german", "a.txt", german, &[])["english"], false);
}

#[test]
fn what_is_odd_about_a_file_is_told_and_it_is_read() {
    let text = "00:05.000 --> 00:08.000\nRest.\n\n00:01.000 --> 00:02.000\nThis cures migraine.\n";
    let said = words("odd", "a.vtt", text, &[]);
    assert!(said.out.contains("About the file, line 1: the first line must be WEBVTT"), "{}", said.out);
    assert!(said.out.contains("line 4: its time lies before"), "{}", said.out);
    let json = answer("odd", "a.vtt", text, &[]);
    assert_eq!(json["notes"][0]["line"], 1);
    assert_eq!(json["notes"].as_array().map(Vec::len), Some(2));
}

#[test]
fn what_cannot_be_used_ends_with_two_and_says_what_to_do() {
    let large = "a ".repeat(2 * 1024 * 1024 + 1);
    let files: [(&str, &[u8], &str); 8] = [
        ("empty.txt", b"", "no words in it"),
        ("latin.srt", b"1\n00:00:01,000 --> 00:00:02,000\nGr\xfcezi\n", ":3: this line is not encoded as UTF-8"),
        ("utf16.txt", b"\xff\xfea\0", "UTF-16"),
        ("film.mp4", b"\0\0\0\x18ftypmp42\0", "a video"),
        ("page.html", b"<!doctype html><p>x", "web page"),
        ("times.vtt", b"WEBVTT\n\n00:75.000 --> 00:80.000\nx\n", ":3: the times of this line"),
        ("binary", b"\0\x01\x02", "no text file"),
        ("large.txt", large.as_bytes(), "in parts"),
    ];
    for (name, bytes, part) in files {
        for more in [&[][..], &["--json"]] {
            let said = words("bad", name, bytes, more);
            assert_eq!((said.code, said.out.as_str()), (2, ""), "{name}");
            assert!(said.err.contains(name) && said.err.contains(part), "{name}: {}", said.err);
        }
    }
    let said = run(&["words", "no-such-file.txt"]);
    assert!(said.code == 2 && said.err.contains("no-such-file.txt"), "{}", said.err);
    let said = run(&["words"]);
    assert!(said.code == 2 && said.err.contains("FILE"), "{}", said.err);
}

#[test]
fn the_command_stands_in_help_and_completions() {
    assert!(run(&["--help"]).out.contains("words"));
    let help = run(&["words", "--help"]).out;
    assert!(["--country", "--rules", "--json", "UTF-8"].iter().all(|w| help.contains(w)), "{help}");
    assert!(run(&["completions", "bash"]).out.contains("words"));
}
