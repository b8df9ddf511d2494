use std::collections::BTreeSet;
use std::sync::OnceLock;

use plan::atlas::{Atlas, ConcernIx, ConditionIx, ToolIx};
use plan::request::{Asked, Request};
use plan::routine::{Step, What};
use plan::solve::Outcome;
use publish::captions::{MOST_LETTERS, MOST_RATE};
use vocab::Class;

use super::*;
use crate::catalogue::german_tests::{english_words, german_claims_in, in_german};
use crate::catalogue::tests::claims_in;

/// Routines for an audience: every concern, short with the hands and longer with every tool, both hands or one.
fn routines(atlas: &Atlas) -> &'static [(String, RoutineFile)] {
    static ROUTINES: OnceLock<Vec<(String, RoutineFile)>> = OnceLock::new();
    ROUTINES.get_or_init(|| drafted(atlas))
}

fn drafted(atlas: &Atlas) -> Vec<(String, RoutineFile)> {
    let tools: Vec<ToolIx> = (0..atlas.tools.len()).map(ToolIx).collect();
    let audience = Clearance::audience(atlas);
    let mut all = Vec::new();
    for (ix, concern) in atlas.concerns.iter().enumerate() {
        for (minutes, tools, both) in [(5, &tools[..1], false), (12, &tools[..], true)] {
            let mut request = Request::plain(minutes, vec![Asked { concern: ConcernIx(ix), priority: 3 }], tools[0]);
            (request.tools, request.both, request.audience) = (tools.to_vec(), both, true);
            if let Outcome::Draft(draft) = plan::solve::draft(atlas, &request, &audience) {
                let steps = draft.steps.into_iter().map(|s| s.step).collect();
                let file = RoutineFile { minutes, tools: tools.to_vec(), audience: true, answers: None, steps };
                all.push((format!("{} in {minutes}", concern.name), file));
            }
        }
    }
    assert!(all.len() >= 20, "only {} routines", all.len());
    all
}

fn kit(
    atlas: &Atlas,
    name: &str,
    file: &RoutineFile,
    language: Language,
    options: &Options,
    times: Option<&[f64]>,
) -> Kit {
    let runnable = Runnable::from_file(atlas, file, &Clearance::audience(atlas)).expect("it may be done");
    Kit::new(atlas, name, file, &runnable, language, options, times).unwrap_or_else(|why| panic!("{name}: {why}"))
}

fn options() -> Vec<Options> {
    let plain = Options::default();
    vec![
        plain.clone(),
        Options { on: On::Own, count: true, pace: pace("13").expect("a pace"), ..plain.clone() },
        Options { on: On::Model, quiet: true, pace: pace("17").expect("a pace"), ..plain.clone() },
        Options { on: On::ModelMirrored, count: true, quiet: true, ..plain },
    ]
}

fn words_of(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}

/// All bounds, of many routines in both languages.
#[test]
fn captions_and_chapters_of_every_routine_keep_their_bounds() {
    let atlas = Atlas::built_in();
    let mut read = 0;
    for (number, (name, file)) in routines(&atlas).iter().enumerate() {
        for language in Language::ALL {
            let options = &options()[number % 4];
            let kit = kit(&atlas, name, file, language, options, None);
            let mut before = 0.0;
            for cue in &kit.cues {
                let letters = cue.lines.join(" ").chars().count() as f64;
                assert!(cue.lines.len() <= 2 && cue.lines.iter().all(|l| l.chars().count() <= MOST_LETTERS), "{cue:?}");
                let long = cue.to - cue.from;
                assert!((1.0 - 1e-9..=7.0 + 1e-9).contains(&long) && letters / long <= MOST_RATE + 1e-6, "{cue:?}");
                assert!(cue.from >= before - 1e-9, "{cue:?} overlaps");
                before = cue.to;
            }
            let said: Vec<String> = kit.script.iter().flat_map(|l| words_of(&l.says)).collect();
            let shown: Vec<String> = kit.cues.iter().flat_map(|c| words_of(&c.lines.join(" "))).collect();
            assert_eq!(said, shown, "{name}");
            assert!(kit.chapters.len() >= 3 && kit.chapters[0].from == 0, "{name}: {:?}", kit.chapters);
            let ends = kit.chapters.iter().skip(1).map(|c| c.from).chain([kit.length as u64]);
            assert!(kit.chapters.iter().zip(ends).all(|(c, end)| end >= c.from + 10), "{name}: {:?}", kit.chapters);
            assert!(
                kit.description.chars().count() <= describe::MOST,
                "{name} in {language}: {}",
                kit.description.chars().count()
            );
            assert!(!kit.told.iter().any(|t| t.contains("run over")), "{:?}", kit.told);
            read += said.len();
        }
    }
    assert!(read > 40_000, "only {read} words were read");
}

/// Everybody whom the class session speaks of is spoken of here, before the first step or before the hand is at a place that touches them.
#[test]
fn everybody_whom_a_class_hears_of_is_named_before_the_hand_is_there() {
    let atlas = Atlas::built_in();
    let clearance = Clearance::audience(&atlas);
    let (mut looked, mut dropped) = (0, BTreeSet::new());
    for (name, file) in routines(&atlas) {
        let kit = kit(&atlas, name, file, Language::English, &Options::default(), None);
        let opening: String = kit
            .script
            .iter()
            .filter(|l| l.part == Part::Opening)
            .map(|l| l.says.as_str())
            .collect::<Vec<_>>()
            .join(" ");
        for spoken in clearance.spoken_first(&atlas) {
            assert!(opening.contains(&atlas.conditions[spoken.condition.0].spoken), "{name}");
        }
        // By condition: at which places it was named.
        let mut named: Vec<(ConditionIx, usize)> = Vec::new();
        for (at, step) in file.steps.iter().enumerate() {
            let What::Target(target, technique) = step.what else { continue };
            let said: String = kit
                .script
                .iter()
                .filter(|l| l.act == Some(at) && l.part != Part::Holds)
                .map(|l| l.says.as_str())
                .collect::<Vec<_>>()
                .join(" ");
            let mine = minds::who(&atlas, step);
            for spoken in clearance.spoken(&atlas, target, step.side, technique) {
                looked += 1;
                let condition = &atlas.conditions[spoken.condition.0];
                if !mine.iter().any(|w| w.condition == spoken.condition) {
                    // Only what is about tools that this technique is never done with.
                    assert!(
                        condition.rules.iter().any(|r| !r.tools.is_empty()),
                        "{name}: {} is not spoken",
                        condition.id
                    );
                    dropped.insert(condition.id.clone());
                    continue;
                }
                if said.contains(&condition.spoken) {
                    named.push((spoken.condition, target.0));
                    continue;
                }
                let everywhere = opening.contains(&condition.spoken);
                let before: Vec<usize> =
                    named.iter().filter(|(c, _)| *c == spoken.condition).map(|(_, t)| *t).collect();
                // How it is at this place, nobody knows from another one.
                let here = mine.iter().any(|w| w.condition == spoken.condition && w.here);
                let pointed = before
                    .iter()
                    .any(|t| *t == target.0 || (!here && said.contains(&atlas.target(plan::atlas::TargetIx(*t)).name)));
                let twin = at > 0 && minds::twins(&file.steps[at - 1], step);
                assert!(
                    everywhere || pointed || twin,
                    "{name}, step {}: nobody hears of {}: {said}",
                    at + 1,
                    condition.id
                );
                if !everywhere && !twin {
                    assert!(
                        said.contains("left out") || said.contains("left it out"),
                        "{name}, step {}: {said}",
                        at + 1
                    );
                }
            }
            // Our own reading of who it is never is laxer than the class's.
            for who in &mine {
                let class = clearance
                    .spoken(&atlas, target, step.side, technique)
                    .iter()
                    .find(|s| s.condition == who.condition)
                    .map(|s| s.class);
                assert!(class.is_some_and(|c| c >= who.class), "{name}: {who:?} {class:?}");
            }
        }
    }
    assert!(looked > 3000, "only {looked}");
    assert!(
        dropped
            .iter()
            .all(|id| matches!(id.as_str(), "metal_allergy" | "anticoagulant" | "petechiae" | "isotretinoin")),
        "{dropped:?}"
    );
}

/// The caution of a place is spoken in full at the first step of each movement there, before the hand is there, and is in the captions.
#[test]
fn the_caution_of_a_place_is_said_before_the_hand_is_there() {
    let atlas = Atlas::built_in();
    let mut looked = 0;
    for (name, file) in routines(&atlas) {
        let kit = kit(&atlas, name, file, Language::English, &Options::default(), None);
        let shown: String = kit.cues.iter().map(|c| c.lines.join(" ")).collect::<Vec<_>>().join(" ");
        let mut told = BTreeSet::new();
        for (at, step) in file.steps.iter().enumerate() {
            let What::Target(target, _) = step.what else { continue };
            let Some(caution) = atlas.target(target).caution.as_deref() else { continue };
            let before = kit.script.iter().filter(|l| l.act == Some(at) && l.to <= kit.acts[at].from + 1e-6);
            let before: String = before.map(|l| l.says.as_str()).collect::<Vec<_>>().join(" ");
            if told.insert((target.0, step.movement)) {
                assert!(before.contains(caution), "{name}, step {}: {before}", at + 1);
                looked += 1;
            } else {
                assert!(before.contains("Mind the same"), "{name}, step {}: {before}", at + 1);
            }
            assert!(shown.contains(caution), "{name}: not in the captions");
        }
    }
    assert!(looked > 200, "only {looked}");
}

/// No word of ours claims anything; all German is German; nothing shouts.
#[test]
fn no_kit_claims_anything_and_german_kits_are_german() {
    let english = Atlas::built_in();
    let mut read = 0;
    for (number, (name, file)) in routines(&english).iter().enumerate() {
        let options = &options()[number % 4];
        for language in Language::ALL {
            let name = if language == Language::German { "Abends" } else { name.as_str() };
            let (made, missing) = match language {
                Language::English => (kit(&english, name, file, language, options, None), BTreeSet::new()),
                Language::German => in_german(|| kit(&english, name, file, language, options, None)),
            };
            assert_eq!(missing, BTreeSet::new(), "keys without German");
            for (file, text) in made.texts() {
                if file == "shots.csv" {
                    continue;
                }
                // Names of illnesses and procedures stand in what is for a clinician; what is known tells what was looked at.
                let known = if language == Language::German { "Was man weiß" } else { "What is known" };
                for line in text
                    .split(known)
                    .next()
                    .unwrap_or_default()
                    .lines()
                    .filter(|l| !l.contains("if ") && !l.contains("wenn "))
                {
                    if file == "description.txt" && line.starts_with("- ") {
                        continue;
                    }
                    let found = if language == Language::German { german_claims_in(line) } else { claims_in(line) };
                    assert!(found.is_empty(), "{file}: {found:?} in {line}");
                    assert!(!line.contains('!'), "{line}");
                }
                if language == Language::German && file != "times.csv" {
                    // Names of files are no words.
                    let words: Vec<&str> = text.lines().filter(|l| !l.contains("step-") && *l != "WEBVTT").collect();
                    let words = words.join("\n");
                    let known = words.split(known).next().unwrap_or_default();
                    assert_eq!(english_words(known), Vec::<String>::new(), "{file}");
                }
                read += text.len();
            }
        }
    }
    assert!(read > 500_000, "only {read}");
}

fn jaw(atlas: &Atlas) -> (Runnable, RoutineFile) {
    let (_, file) = routines(atlas).first().cloned().expect("a routine");
    (Runnable::from_file(atlas, &file, &Clearance::audience(atlas)).expect("it may be done"), file)
}

#[test]
fn a_routine_of_somebody_is_refused() {
    let atlas = Atlas::built_in();
    let (runnable, mut file) = jaw(&atlas);
    file.audience = false;
    let refused = Kit::new(&atlas, "Jaw", &file, &runnable, Language::English, &Options::default(), None);
    assert!(refused.is_err_and(|why| why.contains("audience = true")));
}

#[test]
fn what_is_not_for_everybody_is_left_out_and_named() {
    let atlas = Atlas::built_in();
    let (_, mut file) = jaw(&atlas);
    // A point that only a full intake opens.
    let closed = atlas.targets.iter().position(|t| !atlas.zone(t.zone).door && !t.techniques.is_empty());
    let target = plan::atlas::TargetIx(closed.expect("a place that the door does not open"));
    let work = file.steps.iter().position(|s| s.movement == vocab::Movement::Work).expect("work");
    let technique = atlas.target(target).techniques[0];
    let step = Step { what: What::Target(target, technique), ..file.steps[work].clone() };
    file.steps.insert(work, step);
    let kit = kit(&atlas, "Jaw", &file, Language::German, &Options::default(), None);
    assert_eq!(kit.left_out.len(), 1);
    assert!(kit.left_out[0].to_lowercase().contains(&atlas.target(target).name.to_lowercase()), "{:?}", kit.left_out);
    assert_eq!(kit.acts.len(), file.steps.len() - 1);
}

#[test]
fn disclosures_stand_in_front_and_contradictions_are_refused() {
    let atlas = Atlas::built_in();
    let (runnable, file) = jaw(&atlas);
    let make = |disclosed: Disclosed| {
        let options = Options { disclosed, ..Options::default() };
        Kit::new(&atlas, "Jaw", &file, &runnable, Language::English, &options, None)
    };
    let said = Disclosed {
        paid: "Stone & Co".into(),
        gifted: "the oil".into(),
        own: vec!["my stone, https://example.org/stone".into()],
        commission: vec!["https://example.org/oil".into()],
        unpaid: false,
    };
    let text = make(said.clone()).expect("a kit").description;
    let paragraphs: Vec<&str> = text.split("\n\n").collect();
    assert_eq!(
        paragraphs[1],
        "Advertisement: this video was paid for by Stone & Co.\nAdvertisement: I was given this for free: the oil.\nMy own product, which \
         I sell: my stone, https://example.org/stone\nAdvertisement: I earn a commission when you buy through this link: \
         https://example.org/oil"
    );
    assert!(make(Disclosed { unpaid: true, ..said }).is_err_and(|why| why.contains("beside a payment")));
    let plain = make(Disclosed::default()).expect("a kit").description;
    assert!(!plain.contains("Nobody paid") && !plain.contains("Advertisement"));
    assert!(
        make(Disclosed { unpaid: true, ..Disclosed::default() }).expect("a kit").description.contains("Nobody paid")
    );
}

/// The longer the disclosure, the more is left off below it: lists first, cautions last.
#[test]
fn a_description_that_is_too_long_loses_its_cautions_last() {
    let atlas = Atlas::built_in();
    let (runnable, file) = jaw(&atlas);
    let kit = |letters: usize| {
        let disclosed = Disclosed { paid: "a".repeat(letters), ..Disclosed::default() };
        let options = Options { disclosed, ..Options::default() };
        Kit::new(&atlas, "Jaw", &file, &runnable, Language::English, &options, None).expect("a kit")
    };
    let begins = |key: &'static str| text(key).split('{').next().unwrap_or_default();
    let signs = [begins("describe.soon"), begins("describe.today"), begins("describe.now"), text("describe.who")];
    let (places, chapters_head) = (text("describe.at"), text("describe.chapters"));
    let movements = "Where the hand is, in order";
    let ready = "Wash your hands";
    let mut least = 0;
    for letters in (0..4500).step_by(50) {
        let made = kit(letters);
        let has = |part: &str| made.description.contains(part);
        let all_chapters = has(chapters::list(&made.chapters).trim_end());
        let there = [has(movements), has(ready), all_chapters, has(chapters_head), has(places), has(signs[0])];
        let gone = there.iter().take_while(|there| !**there).count();
        assert!(there[gone..].iter().all(|there| *there), "{letters}: {there:?}");
        assert!(signs[1..].iter().all(|sign| has(sign)), "{letters}");
        assert!(gone >= least, "{letters}: {there:?}");
        // Each of them is told, but chapters within a part where there are none.
        let told = made.told.iter().find(|t| t.contains("the description is without this"));
        let named = told.map_or(0, |t| t.split("; ").filter(|part| part.contains('(')).count());
        assert_eq!(named, if gone >= 4 { gone - 1 } else { gone }, "{letters}: {told:?}");
        least = gone;
    }
    assert_eq!(least, 6, "not all of it was tried");
}

#[test]
fn what_is_known_is_told_of_the_concerns_that_the_name_names_or_that_were_chosen() {
    let atlas = Atlas::built_in();
    let (runnable, file) = jaw(&atlas);
    let text = |name: &str, concerns: &[&str]| {
        let options = Options { concerns: concerns.iter().map(|c| (*c).to_owned()).collect(), ..Options::default() };
        Kit::new(&atlas, name, &file, &runnable, Language::English, &options, None).map(|kit| kit.description)
    };
    let known = |id: &str| atlas.concerns.iter().find(|c| c.id == id).map(|c| c.known.as_str()).expect("a concern");
    assert!(text("A tight jaw, tonight", &[]).is_ok_and(|t| t.contains(known("tight_jaw"))));
    assert!(
        text("Tonight", &[])
            .is_ok_and(|t| !t.contains(known("tight_jaw")) && t.contains("no trial of this very routine"))
    );
    assert!(text("Tonight", &["tired_eyes"]).is_ok_and(|t| t.contains("No trial of massage or acupressure alone")));
    assert!(text("Tonight", &["tired_eye"]).is_err_and(|why| why.contains("`tired_eyes`")));
}

#[test]
fn options_are_kept_and_read_again() {
    for options in options() {
        let options = Options {
            concerns: vec!["tight_jaw".into()],
            length: Some(700.5),
            disclosed: Disclosed { own: vec!["a".into(), "b".into()], unpaid: true, ..Disclosed::default() },
            ..options
        };
        assert_eq!(Options::from_json(&options.json()), options);
    }
    assert_eq!(Options::from_json(&serde_json::json!({"pace": 99, "on": "x"})), Options::default());
    assert!(pace("9").is_err_and(|why| why.contains("12.5") && why.contains("17")) && pace("x").is_err());
}

#[test]
fn times_of_a_finished_video_are_kept_and_wrong_ones_refused() {
    let atlas = Atlas::built_in();
    let (runnable, file) = jaw(&atlas);
    let make = |options: &Options, times: &[f64]| {
        Kit::new(&atlas, "Jaw", &file, &runnable, Language::English, options, Some(times))
    };
    let plain = Options::default();
    let first = kit(&atlas, "Jaw", &file, Language::English, &plain, None);
    let later: Vec<f64> = first.acts.iter().enumerate().map(|(i, a)| a.from + 5.0 + i as f64).collect();
    let again = make(&plain, &later).expect("a kit");
    assert_eq!(again.acts.iter().map(|a| a.from).collect::<Vec<_>>(), later);
    assert!(!again.told.iter().any(|t| t.contains("run over")), "{:?}", again.told);
    assert!(again.times_file().contains(&format!("2,{},", (later[1] * 1000.0).round() / 1000.0)));
    // Half the time: it is told which words can't be read.
    let half: Vec<f64> = first.acts.iter().map(|a| a.from / 3.0).collect();
    let hurried = make(&plain, &half).expect("a kit");
    assert!(hurried.told.iter().any(|t| t.contains("run over by") && t.contains('“')), "{:?}", hurried.told);
    let refused = |times: &[f64]| make(&plain, times).is_err_and(|why| why.contains("every step needs one"));
    assert!(
        refused(&later[1..])
            && refused(&[])
            && refused(&vec![1.0; later.len()])
            && refused(&vec![f64::NAN; later.len()])
    );
    let short = Options { length: Some(10.0), ..plain };
    assert!(make(&short, &later).is_err_and(|why| why.contains("before its last step")));
}

/// A name of a person's own making goes through every file as it is, escaped where the format asks for it.
#[test]
fn any_name_goes_through() {
    let atlas = Atlas::built_in();
    let (runnable, file) = jaw(&atlas);
    for name in [
        "<b>&--></b>",
        "Ruhe 👩🏽‍⚕️ {length} {{n}}",
        "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen am Abend",
        "\"x\", =1+1",
        "a\u{202e}b\r\nc\0d",
    ] {
        for language in Language::ALL {
            let kit = Kit::new(&atlas, name, &file, &runnable, language, &Options::default(), None).expect("a kit");
            let shown: String = kit.cues.iter().map(|c| c.lines.concat()).collect();
            let bare = |t: &str| t.chars().filter(|c| !c.is_whitespace() && !c.is_control()).collect::<String>();
            assert!(bare(&shown).contains(&bare(name)), "{name}");
            assert!(kit.title().chars().count() <= 100);
            let files = kit.texts();
            assert_eq!(files.len(), 8);
            assert!(files.iter().all(|(_, text)| !text.is_empty()));
        }
    }
}

#[test]
fn the_strictest_are_told_first() {
    let atlas = Atlas::built_in();
    let (runnable, _) = jaw(&atlas);
    let said = minds::cautions(&atlas, &Clearance::audience(&atlas), runnable.steps());
    let classes: Vec<Class> = said.named.first.iter().map(|(class, _)| *class).collect();
    assert!(classes.len() >= 3 && classes.windows(2).all(|w| w[0] > w[1]), "{classes:?}");
    assert!(said.opening[0].starts_with("Do not join in today if"));
}
