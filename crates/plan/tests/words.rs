//! The German texts of the atlas: complete, of the same shape as the English ones, and only ever put on what they translate.

use std::collections::BTreeSet;

use plan::atlas::{Atlas, Kind, Shown, TextPlace, Wording};

/// German texts that are spelled as the English ones.
const ALIKE: &[&str] = &["Asthma"];

#[test]
fn every_text_of_the_atlas_has_its_german() {
    let atlas = Atlas::built_in();
    let wording = Wording::german();
    let left: Vec<_> = wording.left_as_they_are(&atlas);
    assert!(left.is_empty(), "{} texts have no German: {left:?}", left.len());
    let pairs: Vec<_> = wording.pairs().collect();
    assert!(pairs.len() > 700, "only {} texts", pairs.len());
    for (place, english, german) in pairs {
        let same = english == german;
        assert_eq!(same, ALIKE.contains(&german), "{place:?}: {german}");
    }
}

#[test]
fn nothing_but_texts_changes() {
    let english = Atlas::built_in();
    let german = Wording::german().put_on(&english);
    // Every text is replaced by one and the same word on both sides; what is left must be equal.
    let bare = |atlas: &Atlas| {
        let mut atlas = atlas.clone();
        let blank = |text: &mut String| text.clear();
        for z in &mut atlas.zones {
            blank(&mut z.name);
        }
        for s in &mut atlas.zone_sets {
            blank(&mut s.name);
        }
        for t in &mut atlas.targets {
            blank(&mut t.name);
            blank(&mut t.find);
            t.rule.iter_mut().for_each(blank);
            t.caution.iter_mut().for_each(blank);
            t.direction.iter_mut().for_each(blank);
            t.dwell.iter_mut().for_each(blank);
            if let Shown::Never(because) = &mut t.shown {
                blank(because);
            }
        }
        for t in &mut atlas.techniques {
            blank(&mut t.name);
            blank(&mut t.says);
            blank(&mut t.direction);
            t.support.iter_mut().for_each(blank);
            t.other_hand.iter_mut().for_each(blank);
            t.never.iter_mut().for_each(blank);
        }
        for t in &mut atlas.tools {
            blank(&mut t.name);
            blank(&mut t.care);
        }
        for c in &mut atlas.concerns {
            blank(&mut c.name);
            blank(&mut c.known);
            c.links.iter_mut().for_each(|l| blank(&mut l.source));
        }
        for g in &mut atlas.groups {
            blank(&mut g.question);
            blank(&mut g.think_of);
        }
        for c in &mut atlas.conditions {
            for text in [&mut c.name, &mut c.question, &mut c.reason, &mut c.action, &mut c.spoken] {
                blank(text);
            }
        }
        for s in &mut atlas.warning_signs {
            blank(&mut s.sign);
            blank(&mut s.action);
        }
        atlas.checklists.iter_mut().for_each(|c| blank(&mut c.text));
        format!("{atlas:#?}")
    };
    assert_eq!(bare(&english), bare(&german));
    // And put on twice it is no different from put on once.
    assert_eq!(format!("{german:?}"), format!("{:?}", Wording::german().put_on(&german)));
}

/// The numbers of a text in their order; the German decimal comma counts as a point, "zu" between two numbers as "over".
fn numbers(text: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let chars: Vec<char> = text.chars().collect();
    for (i, c) in chars.iter().enumerate() {
        let digit = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
        let inside = ".,".contains(*c) && i > 0 && digit(chars.get(i - 1)) && digit(chars.get(i + 1));
        let last = found.len() - 1;
        if c.is_ascii_digit() {
            found[last].push(*c);
        } else if inside {
            found[last].push('.');
        } else if !found[last].is_empty() {
            found.push(String::new());
        }
    }
    found.retain(|n| !n.is_empty());
    found
}

/// Standard codes in a text, as in `EX-HN5`.
fn codes(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_ascii_alphanumeric() && c != '-');
    let code = |w: &&str| {
        w.bytes().next().is_some_and(|b| b.is_ascii_uppercase())
            && w.bytes().filter(u8::is_ascii_uppercase).count() >= 2
            && w.bytes().last().is_some_and(|b| b.is_ascii_digit())
    };
    words.filter(code).map(str::to_owned).collect()
}

#[test]
fn numbers_and_codes_are_kept() {
    assert_eq!(numbers("0,5 B-Cun, 4.5 und 25 %, 2026."), ["0.5", "4.5", "25", "2026"]);
    for (place, english, german) in Wording::german().pairs() {
        let (mut e, mut g) = (numbers(english), numbers(german));
        e.sort();
        g.sort();
        assert_eq!(e, g, "{place:?}\n{english}\n{german}");
        let (mut e, mut g) = (codes(english), codes(german));
        e.sort();
        g.sort();
        assert_eq!(e, g, "{place:?}\n{english}\n{german}");
    }
}

#[test]
fn form_and_length_are_those_of_the_english() {
    let mut shouts = Vec::new();
    for (place, english, german) in Wording::german().pairs() {
        let say = |what: &str| format!("{place:?} {what}\n{english}\n{german}");
        let (e, g) = (english.chars().count(), german.chars().count());
        assert!(g <= e * 2 + 45 && e <= g * 2 + 20, "{}", say("has another length"));
        assert!(g <= 900, "{}", say("is too long"));
        assert_eq!(english.ends_with('.'), german.ends_with('.'), "{}", say("ends otherwise"));
        assert_eq!(english.ends_with('?'), german.ends_with('?'), "{}", say("asks otherwise"));
        assert_eq!(german.trim(), german, "{}", say("has spaces around it"));
        assert!(!german.contains("  ") && !german.contains('\n'), "{}", say("has odd spaces"));
        if german.contains(['!', '"', '“', '”', '’', '\'']) && !german.contains('„') {
            shouts.push(say("has marks that German does not use"));
        }
    }
    assert!(shouts.is_empty(), "{}", shouts.join("\n"));
}

/// What the person must do at once is said as strongly; who is named, is named.
#[test]
fn safety_words_are_matched() {
    // In English, and what one of must be in the German.
    let pairs: &[(&str, &[&str])] = &[
        ("at once", &["sofort", "zugleich"]),
        ("emergency number", &["Notruf"]),
        ("emergency department", &["otaufnahme"]),
        ("emergency", &["Notruf", "otaufnahme", "Notfall"]),
        (" now", &["jetzt", "gerade", "nun"]),
        ("never", &["nie"]),
        ("Never", &["Nie", "nie"]),
        (" only", &["nur", "Nur", "bloß"]),
        ("today", &["heute"]),
        ("featherlight", &["federleicht"]),
        ("Featherlight", &["Federleicht", "federleicht"]),
        ("pulse", &["uls"]),
        ("both sides", &["beide Seiten", "beiden Seiten"]),
        ("one side", &["eine Seite", "einer Seite"]),
        ("doctor", &["rzt", "rztin", "ärztlich", "rztpraxis"]),
        ("dentist", &["ahnarzt", "zahnärztlich"]),
        ("midwife", &["Hebamme"]),
        ("Leave", &["auslassen", "Auslassen", "assen Sie", "Verzichten"]),
        ("dizzy", &["schwindlig"]),
        ("faint", &["hnm", "schwarz vor Augen"]),
        (" not ", &["nicht", "kein", "Kein", "nie", "Nie", "Nicht", "weder", "ohne"]),
        ("Stop", &["ören Sie"]),
        ("cold sore", &["ippenherpes"]),
        ("bone", &["nochen", "knöchern", "bein", "Jochbog", "Stirnhöhle"]),
    ];
    let (mut seen, mut unsaid) = (BTreeSet::new(), Vec::new());
    for (place, english, german) in Wording::german().pairs() {
        for (word, one_of) in pairs {
            if english.contains(word) {
                seen.insert(*word);
                if !one_of.iter().any(|g| german.contains(g)) {
                    unsaid.push(format!("{place:?}: `{word}` is not said\n{english}\n{german}"));
                }
            }
        }
        // No number to call is named where the English names none.
        assert_eq!(english.contains("112"), german.contains("112"), "{place:?}");
    }
    assert!(unsaid.is_empty(), "{}", unsaid.join("\n"));
    assert_eq!(seen.len(), pairs.len(), "a word of the list is in no text: {seen:?}");
}

#[test]
fn own_and_changed_rows_keep_their_own_words() {
    let own = r#"
[[point]]
id = "my_point"
name = "my own place"
sides = "lateral"
zone = "cheek_front"
techniques = ["hold"]
pressure = "light"
rank = 300
shown = "sketch"
rule = "where I found it"
find = "Look for it."
source = "ours"

[[point]]
id = "ST6"
name = "bulge of the chewing muscle"
sides = "lateral"
zone = "jaw_muscle"
techniques = ["hold"]
pressure = "light"
rank = 20
shown = "sketch"
rule = "another rule"
find = "Clench the teeth: the muscle bulges under your finger. Now let go and stay on that place."
caution = "Only after talking to me."
source = "ours"
"#;
    let mut files = Atlas::built_in_files().to_vec();
    files.push(("own.toml", own));
    let atlas = Atlas::load(&files).expect("an atlas with own points");
    let german = Wording::german().put_on(&atlas);
    let target = |id: &str| german.target(german.target_named(id).expect(id)).clone();
    let mine = target("my_point");
    assert_eq!((mine.name.as_str(), mine.find.as_str()), ("my own place", "Look for it."));
    let changed = target("ST6");
    assert_eq!(changed.name, "Wölbung des Kaumuskels");
    assert!(changed.find.starts_with("Beißen Sie"), "{}", changed.find);
    assert_eq!(changed.caution.as_deref(), Some("Only after talking to me."), "an own caution is never covered");
    assert_eq!(changed.kind, Kind::Point);
    let left: BTreeSet<_> =
        Wording::german().left_as_they_are(&atlas).into_iter().map(|(p, _)| (p.row, p.key)).collect();
    let expected =
        [("ST6", "caution"), ("ST6", "rule"), ("my_point", "find"), ("my_point", "name"), ("my_point", "rule")];
    assert_eq!(left, expected.map(|(row, key)| (row.to_owned(), key)).into());
}

/// The German files with one change each, and what must be found at which line.
#[test]
fn broken_files_are_refused_with_file_and_line() {
    let atlas = Atlas::built_in();
    let check = |file: &str, from: &str, to: &str, expected: &[&str]| {
        let changed: Vec<(&str, String)> = Wording::german_files()
            .iter()
            .map(|(name, text)| {
                let change = name.ends_with(file);
                assert!(!change || text.contains(from), "{name} has no {from}");
                (*name, if change { text.replacen(from, to, 1) } else { (*text).to_owned() })
            })
            .collect();
        let files: Vec<(&str, &str)> = changed.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let found = Wording::load(&files, &atlas).expect_err(to);
        let found: Vec<String> = found.iter().map(ToString::to_string).collect();
        for words in expected {
            assert!(found.iter().any(|f| f.contains(words)), "{from} -> {to}: {found:#?}");
        }
    };
    check(
        "points.toml",
        "id = \"ST6\"",
        "id = \"ST66\"",
        &["words/de/points.toml:", "`ST66`, which is not known; did you mean `ST6`?", "point `ST6` has no texts here"],
    );
    check(
        "zones.toml",
        "find = \"Die weiche",
        "fund = \"Die weiche",
        &["zone `outlet`: `find` is missing", "no `fund`"],
    );
    check("zones.toml", "name = \"Schläfe\"", "name = \" \"", &["zone `temple`: `name` is empty"]);
    check(
        "zones.toml",
        "id = \"chin\"",
        "id = \"chin\"\ncaution = \"x\"",
        &["zone `chin`: the atlas has no `caution`"],
    );
    check("lines.toml", "dwell = [\"Mulde der Schläfe\"]", "dwell = []", &["`dwell` holds 0, and the atlas has 1"]);
    check("lines.toml", "dwell = [\"Mulde der Schläfe\"]", "dwell = [\"\"]", &["a text of `dwell` is empty"]);
    check("techniques.toml", "[[tool]]", "[[tol]]", &["unknown key `tol`", "tool `hands` has no texts"]);
    check(
        "points.toml",
        "id = \"ST7\"",
        "id = \"ST6\"",
        &["point `ST6` has its texts already", "point `ST7` has no texts"],
    );
    check(
        "checklists.toml",
        "english = \"Wash your hands, and",
        "english = \"Wash the hands, and",
        &["check `Wash your hands"],
    );
    check("conditions.toml", "[[condition]]", "[[condition", &["words/de/conditions.toml:", "not valid TOML"]);
    let line = {
        let (name, text) = Wording::german_files()[1];
        let changed = text.replacen("name = \"Schläfe\"", "name = \"\"", 1);
        let line = changed.lines().position(|l| l == "name = \"\"").expect("the line") + 1;
        let mut files = Wording::german_files().to_vec();
        files[1] = (name, &changed);
        let found = Wording::load(&files, &atlas).expect_err("an empty name");
        assert_eq!((found.len(), found[0].line), (1, line), "{found:?}");
        line
    };
    assert!(line > 1);
}

#[test]
fn a_place_names_table_row_and_key() {
    let place = TextPlace { table: "point", row: "ST6".to_owned(), key: "caution", number: 0 };
    let found = Wording::german().pairs().find(|(p, ..)| **p == place).expect("the caution of ST6");
    assert_eq!(found.1, "Teeth apart while you work; stop if the jaw joint hurts.");
    assert!(found.2.contains("Zähne bleiben auseinander"));
}
