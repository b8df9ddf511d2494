//! What a client gets, in German: nothing is missing, nothing stays English, nothing claims anything.

use std::collections::{BTreeMap, BTreeSet};

use plan::atlas::{Atlas, ConcernIx, ToolIx, Wording};
use plan::reading::RoutineFile;
use plan::request::{Asked, Request};
use plan::screening::{Answer, Answers, Clearance, Own};
use plan::solve::Outcome;

use super::tests::ASKED_IN_VAIN;
use super::*;
use crate::desk::editor::runnable::Runnable;
use crate::desk::{routine, steps};
use crate::takehome::{self, Given, calendar, guide, page};
use crate::{drawing, tell};

/// Does the work in German; what was made, and the keys that had no German.
pub(crate) fn in_german<T>(work: impl FnOnce() -> T) -> (T, BTreeSet<String>) {
    ASKED_IN_VAIN.with_borrow_mut(BTreeSet::clear);
    let made = in_language(Language::German, work);
    (made, ASKED_IN_VAIN.with_borrow(Clone::clone))
}

/// Whom routines are drafted for: an audience, all said no to group by group and one by one, and somebody with much to mind.
fn people(atlas: &Atlas) -> Vec<Clearance> {
    let today = vocab::Date::parse("2026-03-02").expect("a day");
    let condition = |id: &str| atlas.condition_named(id).expect(id);
    let mut much = Answers::all_no(atlas).asked_on(today);
    for id in ["pregnancy", "anticoagulant", "filler", "hypotension"] {
        let mut own = Own::new(Answer::Yes);
        own.since = today.plus(-20);
        much = much.with(condition(id), own);
    }
    vec![
        Clearance::audience(atlas),
        Clearance::new(atlas, &Answers::by_groups(atlas, Answer::No).asked_on(today), today),
        Clearance::new(atlas, &Answers::all_no(atlas).asked_on(today), today),
        Clearance::new(atlas, &much, today),
    ]
}

/// The routines that are drafted: for each of these people every concern, shortly with hands or longer with every tool; of all these every
/// so-manyth, since drafting takes its time. First of each: whether it is for an audience.
fn drafts(atlas: &Atlas, every: usize) -> Vec<(bool, Clearance, plan::draft::Draft)> {
    let all: Vec<ToolIx> = (0..atlas.tools.len()).map(ToolIx).collect();
    let (mut made, mut number) = (Vec::new(), 0);
    for (person, clearance) in people(atlas).into_iter().enumerate() {
        for concern in (0..atlas.concerns.len()).map(ConcernIx) {
            for (minutes, tools, both) in [(6, &all[..1], true), (15, &all[..], false)] {
                number += 1;
                if number % every != 1 % every {
                    continue;
                }
                let mut request = Request::plain(minutes, vec![Asked { concern, priority: 3 }], all[0]);
                (request.tools, request.both) = (tools.to_vec(), both);
                if let Outcome::Draft(draft) = plan::solve::draft(atlas, &request, &clearance) {
                    made.push((person == 0, clearance.clone(), *draft));
                }
            }
        }
    }
    made
}

#[test]
fn german_keys_are_english_keys_with_the_same_places() {
    let places = |text: &str| -> BTreeSet<String> {
        text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name.to_owned()).collect()
    };
    assert_eq!(places("{a} und {b}, {a}"), ["a", "b"].map(str::to_owned).into());
    let german = all_in(Language::German);
    assert!(german.len() > 100, "the German catalogue did not load: {} texts", german.len());
    for (key, text) in german {
        let english = all().get(key).unwrap_or_else(|| panic!("`{key}` is no key of the English catalogue"));
        assert_eq!(places(english), places(text), "{key}: {text}");
    }
}

/// The papers of one routine as a client reads them: everything around the steps, and the steps themselves.
fn papers(atlas: &Atlas, clearance: &Clearance, draft: &plan::draft::Draft) -> Vec<String> {
    let steps_only: Vec<_> = draft.steps.iter().map(|s| s.step.clone()).collect();
    let rows = steps::rows(atlas, clearance, draft);
    let mut said = vec![
        steps::list(&rows).into_string(),
        routine::notices(atlas, draft).into_string(),
        routine::checklist(atlas, draft, "before", text("routine.before")).into_string(),
        routine::checklist(atlas, draft, "after", text("routine.after")).into_string(),
        routine::left_out(atlas, clearance, draft).into_string(),
        routine::warning_signs(atlas).into_string(),
        drawing::routine(atlas, draft).into_string(),
        drawing::bare().into_string(),
    ];
    said.extend(drawing::step_titles(atlas, &steps_only));
    for step in &steps_only {
        let words = tell::step(atlas, step);
        said.push(steps::aloud(&words, words.side, tell::pressure(step.pressure), step.seconds));
        said.extend(tell::spoken(atlas, clearance, step));
    }
    said.extend(clearance.spoken_first(atlas).iter().map(|s| s.sentences(&Catalogue, atlas)));
    said
}

/// The words of a page without its tags, styles and scripts, attributes that are read out kept.
fn visible(page: &str) -> String {
    let mut words = String::new();
    let mut rest = page;
    while let Some((before, after)) = rest.split_once('<') {
        words.push_str(before);
        words.push(' ');
        let Some((tag, mut after)) = after.split_once('>') else { break };
        if let Some(block) = ["script", "style"].into_iter().find(|b| tag.starts_with(b) && !tag.ends_with('/')) {
            after = after.split_once(&format!("</{block}")).map_or("", |(_, after)| after);
        }
        for attribute in ["title=\"", "aria-label=\"", "alt=\""] {
            if let Some(value) = tag.split_once(attribute).and_then(|(_, v)| v.split_once('"')) {
                words.push_str(value.0);
                words.push(' ');
            }
        }
        rest = after;
    }
    words.push_str(rest);
    words
}

/// Words that are English and never German.
const ENGLISH_WORDS: &[&str] = &[
    "the", "and", "of", "with", "your", "you", "is", "are", "for", "from", "left", "right", "then", "both", "sides",
    "each", "seconds", "minutes", "steps", "until", "never", "not", "or", "to", "at", "on", "by", "it", "this", "that",
    "be",
];

/// The English words in a German text; titles of publications are named as they are.
pub(crate) fn english_words(text: &str) -> Vec<String> {
    let titles = ["Evid Based Complement Alternat Med", "Complement Ther Med", "J Cosmet Dermatol", "Biomed Res"];
    let text = titles.iter().fold(text.to_owned(), |text, title| text.replace(title, ""));
    // Names of places that the script fills are no words.
    let text =
        text.split('{').map(|part| part.split_once('}').map_or(part, |(_, rest)| rest)).collect::<Vec<_>>().join(" ");
    let words = text.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
    words.filter(|w| ENGLISH_WORDS.contains(&w.as_str())).collect()
}

#[test]
fn english_words_are_noticed() {
    assert_eq!(english_words("Die Hand, then the face"), ["then", "the"]);
    assert!(english_words("Legen Sie die flache Hand auf die Stirn.").is_empty());
    assert_eq!(
        visible("<p class=\"x\">Hand<b title=\"oben\">!</b></p>").split_whitespace().collect::<Vec<_>>(),
        ["Hand", "oben", "!"]
    );
}

#[test]
fn papers_of_many_routines_are_german_throughout() {
    let english = Atlas::built_in();
    let german = atlas_in(Language::German, &english);
    let drafts = drafts(&english, 1);
    assert!(drafts.len() > 60, "only {} routines", drafts.len());
    let (read, missing) = in_german(|| {
        let mut read = 0;
        for (_, clearance, draft) in &drafts {
            for page in papers(&german, clearance, draft) {
                let words = visible(&page);
                let found = english_words(&words);
                assert!(found.is_empty(), "{found:?} in: {words}");
                read += words.split_whitespace().count();
            }
        }
        read
    });
    assert_eq!(missing, BTreeSet::new(), "keys without German");
    assert!(read > 50_000, "only {read} words were read");
}

/// Every text in a block of data: of the steps, and of the words that the script puts together.
fn data_texts(value: &serde_json::Value, told: bool, texts: &mut Vec<String>) {
    match value {
        serde_json::Value::String(text) if told => texts.push(text.clone()),
        serde_json::Value::Array(all) => all.iter().for_each(|v| data_texts(v, told, texts)),
        serde_json::Value::Object(all) => {
            for (key, v) in all {
                // The letters are keys, what they do is a word of the script; the score speaks to the engine; a target is an id.
                let told = (told || matches!(key.as_str(), "words" | "steps"))
                    && !matches!(key.as_str(), "letters" | "score" | "target");
                if key != "score" {
                    data_texts(v, told, texts);
                }
            }
        }
        _ => {}
    }
}

fn blocks(page: &str) -> Vec<serde_json::Value> {
    let blocks = page.split("type=\"application/json\"").skip(1);
    let bodies = blocks.filter_map(|b| b.split_once('>').and_then(|(_, b)| b.split_once("</script")));
    bodies.map(|(body, _)| serde_json::from_str(body).expect("a block of data")).collect()
}

/// The printed guide: every word of it, and once that its type has every letter.
fn printed(given: &Given<'_>, whole: bool) {
    let (guide, missing) = in_german(|| guide::words(given));
    assert_eq!(missing, BTreeSet::new(), "keys without German");
    assert_eq!(guide.language, "de");
    let mut texts = vec![guide.steps, guide.page, guide.goes_on, guide.face.described];
    texts.extend(guide.lead.into_iter().chain(guide.face.caption));
    let mut paragraphs = Vec::new();
    for part in guide.first.into_iter().chain(guide.after) {
        texts.push(part.title);
        paragraphs.extend(part.paragraphs.into_iter().chain(part.items));
    }
    for movement in guide.movements {
        texts.push(movement.title);
        paragraphs.extend(movement.steps.into_iter().flat_map(|s| s.paragraphs));
    }
    texts.extend(paragraphs.into_iter().flatten().map(|piece| piece.text));
    assert!(texts.len() > 60, "only {} texts", texts.len());
    for text in &texts {
        assert_eq!(english_words(text), Vec::<String>::new(), "{text}");
    }
    if whole {
        let made = guide::guide(given, press::Paper::A4).expect("a guide");
        assert!(made.missing.is_empty() && made.pages > 0, "the type lacks {:?}", made.missing);
    }
}

/// The calendar's texts.
fn dated(given: &Given<'_>) {
    let at = calendar::At::parse("21:30").expect("a time");
    let zone = calendar::zone("Europe/Berlin").expect("a zone");
    let when = calendar::When { start: given.day, days: 2, at: vec![at], zone };
    let (made, missing) =
        in_german(|| calendar::calendar(given, &when, jiff::Timestamp::UNIX_EPOCH).expect("a calendar"));
    assert_eq!(missing, BTreeSet::new(), "keys without German");
    let file = made.file.replace("\r\n ", "").replace("\\n", " ");
    let said: Vec<&str> = file.lines().filter(|l| l.starts_with("DESCRIPTION") || l.starts_with("SUMMARY")).collect();
    assert!(said.len() >= 4, "{file}");
    for line in said {
        let words = line.split_once(':').map_or("", |(_, words)| words);
        assert_eq!(english_words(words), Vec::<String>::new(), "{line}");
    }
}

/// What is taken home, of the same routines: the page with the player in it, and the words that its scripts say.
#[test]
fn take_homes_of_many_routines_are_german_throughout() {
    let atlas = Atlas::built_in();
    let day = vocab::Date::parse("2026-03-02").expect("a day");
    let german = atlas_in(Language::German, &atlas);
    let (mut pages, mut read, mut told) = (0, 0, 0);
    for (number, (audience, clearance, draft)) in drafts(&atlas, 7).into_iter().enumerate() {
        let steps: Vec<_> = draft.steps.iter().map(|s| s.step.clone()).collect();
        let tools = (0..atlas.tools.len()).map(ToolIx).collect();
        let file = RoutineFile { minutes: 30, tools, audience, answers: None, steps };
        let Ok(runnable) = Runnable::from_file(&atlas, &file, &clearance) else { continue };
        let each_time = takehome::each_time(&german, None, day);
        let given = Given {
            atlas: &german,
            name: "Abends",
            file: &file,
            runnable: &runnable,
            clearance: &clearance,
            until: day.plus(30).filter(|_| !audience),
            each_time: &each_time,
            face: None,
            language: Language::German,
            code: "k7p2w9x4ab",
            day,
        };
        printed(&given, number == 0);
        dated(&given);
        // A page takes some seconds, most of them for its type and its sums.
        if number % 2 == 1 {
            continue;
        }
        let more = page::More { who: Some("Ana".to_owned()), photographs: true, hour: Some("21:30".to_owned()) };
        let (page, missing) = in_german(|| page::page(&given, &more));
        assert_eq!(missing, BTreeSet::new(), "keys without German");
        assert!(page.contains("<html lang=\"de\">"));
        let words = visible(&page);
        assert_eq!(english_words(&words), Vec::<String>::new(), "{words}");
        let mut texts = Vec::new();
        blocks(&page).iter().for_each(|b| data_texts(b, false, &mut texts));
        for text in &texts {
            assert_eq!(english_words(text), Vec::<String>::new(), "{text}");
        }
        (pages, read, told) = (pages + 1, read + words.split_whitespace().count(), told + texts.len());
    }
    assert!(pages > 3 && read > 10_000 && told > 2_000, "{pages} pages, {read} words, {told} texts of scripts");
}

/// The reasons that a client's paper gives, of every rule there is.
#[test]
fn every_reason_is_german() {
    let german = Wording::german().put_on(&Atlas::built_in());
    let mut rules = vec![plan::screening::DOOR.to_owned(), plan::screening::NEVER.to_owned()];
    for c in &german.conditions {
        rules.extend((1..=c.rules.len()).map(|n| format!("{}.{n}", c.id)));
        rules.push(format!("unanswered.{}", c.id));
    }
    rules.extend(german.warning_signs.iter().map(|s| format!("warning.{}", s.id)));
    let (_, missing) = in_german(|| {
        for rule in &rules {
            let said = plan::screening::reason(&Catalogue, &german, rule);
            assert_ne!(said, *rule);
            assert_eq!(english_words(&said), Vec::<String>::new(), "{rule}: {said}");
        }
    });
    assert_eq!(missing, BTreeSet::new(), "keys without German");
    assert!(rules.len() > 130, "only {} rules", rules.len());
}

/// Parts of German words that claim an effect on the body, or promise one. German joins words, so a part counts wherever in a word it stands.
const CLAIMS: &[&str] = &[
    "heil",
    "kurier",
    "entgift",
    "entschlack",
    "schlacke",
    "giftstoff",
    "toxin",
    "detox",
    "ableit",
    "abtransport",
    "abfließ",
    "abfluss",
    "drainag",
    "drainier",
    "entstau",
    "entwässer",
    "lymph",
    "behandel",
    "behandl",
    "therapier",
    "linder",
    "anreg",
    "stimulier",
    "aktivier",
    "ankurb",
    "durchblut",
    "stoffwechsel",
    "reinig",
    "beseitig",
    "entfern",
    "befrei",
    "auflös",
    "straff",
    "lift",
    "festig",
    "glätt",
    "verjüng",
    "jünger",
    "regenerier",
    "repar",
    "modellier",
    "konturier",
    "schlank",
    "falten",
    "fältchen",
    "anti-age",
    "anti-aging",
    "boost",
    "garant",
    "wunder",
    "erwiesen",
    "nachweislich",
    "wissenschaftlich",
    "wirksam",
    "hilft",
    "vorbeug",
    "schützt",
    "stärkt",
    "verbesser",
    "schmerzstill",
    "augenblicklich",
    "wirkt gegen",
    "wirkt auf",
    "regt die",
    "regt den",
    "löst verspann",
    "löst spann",
    "löst blockad",
    "lösen verspann",
    "lösen von",
    "sofort sichtbar",
    "öffnet ihr",
    "klärt die haut",
];

/// What is meant otherwise: the key or row, and the word. Names of illnesses, procedures and products, denials, and things rather than bodies.
const MEANT: &[(&str, &str)] = &[
    ("condition botulinum", "toxin"),
    ("condition node_removal", "lymph"),
    ("group long_term", "lymph"),
    ("group skin_and_face", "glätt"),
];

pub(crate) fn german_claims_in(text: &str) -> Vec<&'static str> {
    let text = text.to_lowercase();
    CLAIMS.iter().filter(|claim| text.contains(**claim)).copied().collect()
}

#[test]
fn the_german_words_check_finds_claims() {
    for (text, found) in [
        ("Das entstaut das Gesicht und regt die Lymphe an.", &["entstau", "lymph", "regt die"][..]),
        ("Lindert Schmerz, löst Verspannungen, leitet Giftstoffe aus.", &["giftstoff", "linder", "löst verspann"]),
        ("Strafft und verjüngt die Haut, reinigt die Poren.", &["reinig", "straff", "verjüng"]),
        ("Es heilt, behandelt und stimuliert.", &["heil", "behandel", "stimulier"]),
        ("Die Durchblutung steigt, die Falten werden geglättet.", &["durchblut", "glätt", "falten"]),
    ] {
        assert_eq!(german_claims_in(text), found, "{text}");
    }
    for text in [
        "Legen Sie die flache Hand auf die Wange und lassen Sie sie ruhen.",
        "Ein Teil der Stirn, links, federleicht; hören Sie sofort auf, wenn es schmerzt.",
        "Halten Sie eine kleine Hautfalte zwischen Daumen und Finger.",
        "Die Lachfalte entlang, dann loslassen.",
    ] {
        assert_eq!(german_claims_in(text), Vec::<&str>::new(), "{text}");
    }
}

#[test]
fn no_german_text_claims_anything() {
    let mut used = BTreeSet::new();
    let mut found = Vec::new();
    let mut check = |place: &str, text: &str| {
        for claim in german_claims_in(text) {
            match MEANT.iter().position(|(at, word)| place.starts_with(at) && *word == claim) {
                Some(meant) => drop(used.insert(meant)),
                None => found.push(format!("{place}: `{claim}` in {text}")),
            }
        }
    };
    for (key, text) in all_in(Language::German) {
        check(key, text);
        assert!(!text.contains('!'), "{key} shouts: {text}");
    }
    for (place, _, text) in Wording::german().pairs() {
        check(&format!("{} {} {}", place.table, place.row, place.key), text);
        assert!(!text.contains('!'), "{place:?} shouts: {text}");
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
    let idle: Vec<_> = (0..MEANT.len()).filter(|i| !used.contains(i)).map(|i| MEANT[i]).collect();
    assert!(idle.is_empty(), "exceptions that nothing needs: {idle:?}");
}

/// Quotation marks, dashes, spaces, numbers and dates as German has them.
#[test]
fn german_is_set_as_german() {
    for (key, text) in all_in(Language::German) {
        let marks = |open: char, close: char| (text.matches(open).count(), text.matches(close).count());
        let (open, close) = marks('„', '“');
        assert_eq!(open, close, "{key}: {text}");
        assert!(!text.contains(['"', '”', '’', '‘', '\'']), "{key}: {text}");
        assert!(!text.contains("  ") && !text.contains('—'), "{key}: {text}");
        let point = text.as_bytes().windows(3).any(|w| w[0].is_ascii_digit() && w[1] == b'.' && w[2].is_ascii_digit());
        assert!(!point, "{key} has a decimal point: {text}");
    }
    let said = in_german(|| {
        let day = |d| vocab::Date::parse(d).map(crate::desk::keep::date_in_words).unwrap_or_default();
        (
            day("2026-03-02"),
            day("2027-12-31"),
            seconds(1),
            seconds(45),
            seconds(60),
            seconds(465),
            listed(&["a", "b", "c"]),
        )
    });
    let words =
        ("2. März 2026", "31. Dezember 2027", "1 Sekunde", "45 Sekunden", "1 Minute", "7 min 45 s", "a, b und c");
    let (a, b, c, d, e, f, g) = words;
    assert_eq!(said.0, (a.into(), b.into(), c.into(), d.into(), e.into(), f.into(), g.into()));
    assert_eq!(in_language(Language::German, || lower_first("Kaumuskel")), "Kaumuskel");
    assert_eq!(lower_first("Tight jaw"), "tight jaw");
}

/// A German text that is spelled as its English is a leftover, but for places and units.
#[test]
fn words_for_people_are_told_apart() {
    let alike: BTreeMap<_, _> =
        all_in(Language::German).iter().filter(|(key, text)| all().get(*key) == Some(text)).collect();
    // Only places and units.
    let allowed = [
        "drawing.step",
        "follow.clear",
        "month.apr",
        "month.aug",
        "month.nov",
        "month.sep",
        "guide.s",
        "guide.sign",
        "home.session_line",
        "out.screening",
        "place.with_side",
        "play.aloud",
        "play.how",
        "play.letter_dizzy",
        "play.letter_longer",
        "play.letter_red",
        "play.letter_set",
        "play.letter_sign",
        "reason.condition",
        "report.beside",
        "report.chart_up",
        "report.condition",
        "report.source",
        "step.aloud",
        "step.of",
        "step.seconds_unit",
        "time.minutes_seconds",
        "time.one_minute",
    ];
    let unexpected: Vec<_> = alike.keys().filter(|k| !allowed.contains(&k.as_str())).collect();
    assert!(unexpected.is_empty(), "still English? {unexpected:?}");
    let letters: BTreeMap<_, _> = all_in(Language::German)
        .iter()
        .filter(|(key, _)| key.starts_with("play.letter_"))
        .map(|(k, v)| (v, k))
        .collect();
    assert_eq!(letters.len(), 13, "a letter of the player stands for two things: {letters:?}");
}

/// FNV-1a, 32 bit (Fowler, Noll, Vo): tells whether a text is still the one that was read.
fn sum(text: &str) -> String {
    let hash = text.bytes().fold(0x811c_9dc5_u32, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193));
    format!("{hash:08x}")
}

/// Each German text was read against an English one; where that has changed since, the German has to be read again. The list holds a sum
/// of each English text as it was when its German was last read.
#[test]
fn no_english_text_has_changed_since_its_german_was_read() {
    // Test values of the authors: "", "a", "foobar".
    assert_eq!([sum(""), sum("a"), sum("foobar")], ["811c9dc5", "e40c292c", "bf9cf968"]);
    let list = include_str!("../text/de-read.csv");
    let read: BTreeMap<&str, &str> =
        list.lines().filter(|l| !l.starts_with('#')).filter_map(|line| line.rsplit_once(',')).collect();
    let mut now = BTreeMap::new();
    for key in all_in(Language::German).keys() {
        now.insert(key.clone(), sum(all().get(key).map_or("", String::as_str)));
    }
    for (place, english, _) in Wording::german().pairs() {
        // What is named by its English can't change without being missed.
        if !matches!(place.table, "check" | "ground") {
            now.insert(format!("{} {} {} {}", place.table, place.row, place.key, place.number), sum(english));
        }
    }
    let stale: Vec<String> = now
        .iter()
        .filter(|(key, sum)| read.get(key.as_str()) != Some(&sum.as_str()))
        .map(|(key, sum)| format!("{key},{sum}"))
        .collect();
    assert!(stale.is_empty(), "read the German of these again, then put into text/de-read.csv:\n{}", stale.join("\n"));
    let gone: Vec<_> = read.keys().filter(|key| !now.contains_key(**key)).collect();
    assert!(gone.is_empty(), "text/de-read.csv names what is no longer there: {gone:?}");
}
