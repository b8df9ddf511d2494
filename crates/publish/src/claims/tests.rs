//! What must hold of the check whatever its words are.

use super::*;

/// The claims of a plain text.
pub(super) fn found(rules: &Rules, text: &str, countries: &[&str]) -> Vec<Claim> {
    let countries: Vec<String> = countries.iter().map(|c| (*c).to_owned()).collect();
    match crate::timed::read("words.txt", text) {
        Ok(spoken) => check(rules, &spoken, &countries),
        Err(findings) => panic!("{text:?} was not read: {findings:?}"),
    }
}

#[test]
fn the_words_that_ship_are_read_whole() {
    let mut wrong = Vec::new();
    Rules::read(&mut wrong);
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn every_row_of_words_has_a_source_and_every_statement_a_reason() {
    for (name, text) in [
        ("effects", EFFECTS),
        ("topics", TOPICS),
        ("context", CONTEXT),
        ("pairs", PAIRS),
        ("frames", FRAMES),
        ("reasons", REASONS),
    ] {
        let rows = lexicon::rows(text);
        assert!(rows.len() > 15, "{name}: {} rows", rows.len());
        for row in rows {
            assert!(row.last().is_some_and(|source| source.len() > 3), "{name}: {row:?}");
        }
    }
    let rules = Rules::shipped();
    for (_, country) in &rules.countries {
        for (key, meant) in &country.meant {
            assert!(rules.reasons.contains_key(key), "{key:?} has no reason");
            assert!(
                meant.verdict.is_none() || rules.rules.contains_key(&meant.rule),
                "{key:?}: no rule {}",
                meant.rule
            );
        }
    }
}

#[test]
fn places_point_to_exactly_the_words() {
    let rules = Rules::shipped();
    let text = "Hello, Zoë 😀! This massage cures TMJ.\n\nIt’s simple: say goodbye to crow’s feet. #NoMoreWrinkles\n";
    let chars: Vec<char> = text.chars().collect();
    let claims = found(&rules, text, &["us"]);
    assert!(claims.len() >= 3, "{claims:?}");
    for claim in claims {
        let there: String = chars[claim.start..claim.end].iter().collect();
        assert_eq!(there, claim.text);
    }
    let claims = found(
        &rules,
        "WEBVTT\n\n00:01.000 --> 00:03.000\nNow breathe out.\n\n00:04.000 --> 00:06.000\nThis drains the lymph.\n",
        &["us"],
    );
    assert_eq!((claims[0].text.as_str(), claims[0].time), ("drains the lymph", Some(4.0)));
}

#[test]
fn the_sum_is_of_the_data_alone() {
    assert_eq!(Rules::shipped().sum(), Rules::shipped().sum());
    assert_eq!(Rules::shipped().sum().len(), 16);
}

#[test]
fn surroundings_decide_how_it_is_meant() {
    let rules = Rules::shipped();
    let kinds = |text: &str| -> Vec<String> {
        let claims = found(&rules, text, &["us"]);
        claims.into_iter().filter(|c| c.verdict != Verdict::Ok).map(|c| format!("{}/{}", c.kind, c.topic)).collect()
    };
    for (text, expected) in [
        ("It removes wrinkles.", "body/wrinkles"),
        ("It does not remove wrinkles.", ""),
        ("No massage can remove wrinkles.", ""),
        ("You'll never see wrinkles again.", "body/wrinkles"),
        ("Does it remove wrinkles?", ""),
        ("Ready to erase your wrinkles?", "body/wrinkles"),
        ("Does it help with migraine? Yes, it does.", "disease/pain"),
        ("Does it help with migraine? No.", ""),
        ("It reduces the look of fine lines for a while.", ""),
        ("\"It melts fat\" is a myth.", ""),
        ("If you have rosacea, ask your doctor first.", ""),
        ("The frontalis lifts the eyebrows.", ""),
        ("Lift the stone at the ear.", ""),
        ("What is known: this erases wrinkles.", "body/wrinkles"),
        ("What is known is that this massage erases wrinkles.", "body/wrinkles"),
        ("What is known is very little: one small study with fifteen people.", ""),
        ("What is lymph and where does it go?", ""),
        ("We're treating your tinnitus now, okay?", "disease/condition"),
        ("Have a glass of water, because we've just released a lot of toxins.", "body/toxins"),
        ("Marionette lines? Deleted.", "body/wrinkles"),
        ("The nose tip, which droops with age, is tilted up by this tap.", "body/lift"),
        ("Your forehead lines are butter and your palms are the hot knife.", "body/wrinkles"),
        ("You won't look ten years younger after my course.", ""),
        ("With age, fat pads in the cheek get smaller.", ""),
        ("Leave that side alone until the dentist agrees.", ""),
        ("If your headache comes with a stiff neck and a fever, that's an emergency.", ""),
        ("Use my code GLOW15.", "selling/undisclosed"),
        ("This is an ad. Use my code GLOW15.", ""),
    ] {
        assert_eq!(kinds(text).join(" "), expected, "{text}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 64, failure_persistence: None, ..Default::default() })]

    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,200}", parts in proptest::collection::vec("(no|not|never|cures|wrinkles|lymph|#[a-zA-Z]{1,20}|it's|😀|before:|after|you|don't|will|80%|\\?|\\.|,|“|ß|İ|ﬁ) ?", 0..30)) {
        static RULES: std::sync::LazyLock<Rules> = std::sync::LazyLock::new(Rules::shipped);
        for text in [text, parts.concat()] {
            if let Ok(spoken) = crate::timed::read("t.txt", &text) {
                let chars = text.chars().count();
                for claim in check(&RULES, &spoken, &["us".into(), "eu".into(), "uk".into()]) {
                    proptest::prop_assert!(claim.start < claim.end && claim.end <= chars, "{claim:?}");
                    proptest::prop_assert!((0.0..=1.0).contains(&claim.confidence));
                }
            }
        }
    }

    #[test]
    fn an_own_file_never_makes_it_panic(text in "\\PC{0,120}", kind in "(body|disease|bodi)", word in "[ a-z@*#^$/=?'-]{0,12}") {
        let _ = Rules::shipped().with("own.toml", &text);
        let toml = format!("[[words]]\ntype = \"{kind}\"\ntopic = \"lymph\"\nwords = [\"{word}\"]\nsource = \"s\"\n");
        let _ = Rules::shipped().with("own.toml", &toml);
    }
}
