use std::collections::BTreeSet;

use plan::request::Asked;
use plan::screening::Clearance;
use plan::session::Score;

use super::panes::LETTERS;
use crate::catalogue::{Language, in_language};
use super::*;

fn routine() -> (Atlas, Draft) {
    let atlas = Atlas::built_in();
    let concern = plan::atlas::ConcernIx(0);
    let hands = atlas.tool_named(plan::reading::HANDS).expect("hands");
    let request = plan::request::Request::plain(8, vec![Asked { concern, priority: 3 }], hands);
    match plan::solve::draft(&atlas, &request, &Clearance::audience(&atlas)) {
        plan::solve::Outcome::Draft(draft) => (atlas, *draft),
        plan::solve::Outcome::None(_) => panic!("a routine"),
    }
}

fn page(view: View) -> String {
    let (atlas, draft) = routine();
    let steps: Vec<Step> = draft.steps.iter().map(|s| s.step.clone()).collect();
    let score = Score::new(&atlas, &steps, 8, 0).json();
    let spoken = vec![vec!["</script><b>".to_owned()]];
    let drawing = drawn(&atlas, &draft);
    let (ready, after) = (html! {}, html! {});
    let play = Play {
        atlas: &atlas,
        steps: &steps,
        score: &score,
        spoken: &spoken,
        drawing,
        view,
        language: "en",
        ready,
        after,
    };
    stage(&play).into_string()
}

fn block(page: &str) -> Value {
    let (_, rest) = page.split_once("data-play=\"data\">").expect("the data");
    let (data, _) = rest.split_once("</script>").expect("its end");
    serde_json::from_str(data).expect("JSON")
}

#[test]
fn each_letter_does_one_thing() {
    for language in [Language::English, Language::German] {
        let letters: BTreeSet<&str> =
            in_language(language, || LETTERS.iter().map(|(_, letter, _)| text(letter)).collect());
        assert_eq!(letters.len(), LETTERS.len(), "two share a letter: {letters:?}");
        assert!(letters.iter().all(|l| l.chars().count() == 1 && l.to_lowercase() == **l), "{letters:?}");
    }
}

#[test]
fn the_data_has_a_row_for_each_step_of_the_score_and_can_t_break_out_of_its_block() {
    let page = page(View::Mirror);
    let data = block(&page);
    let (steps, score) = (data["steps"].as_array().expect("steps"), data["score"]["steps"].as_array().expect("holds"));
    assert!(steps.len() > 4);
    assert_eq!(steps.len(), score.len());
    assert_eq!(steps[0]["spoken"], "</script><b>");
    assert!(!page.contains("</script><b>"));
    for step in steps {
        assert!(
            ["part", "does", "place", "at", "tool"].iter().all(|k| !step[k].as_str().unwrap_or_default().is_empty()),
            "{step}"
        );
    }
    assert_eq!(data["words"]["pressures"].as_array().map(Vec::len), Some(3));
    assert!(!page.contains(" style=") && !page.contains("onclick"));
}

#[test]
fn sides_are_the_person_s_own_and_the_words_say_whose() {
    let own = block(&page(View::Mirror));
    let theirs = block(&page(View::Head));
    let side = |data: &Value| {
        data["steps"].as_array().expect("steps").iter().map(|s| s["side"].to_string()).collect::<BTreeSet<_>>()
    };
    assert!(side(&own).contains("\"your left\""), "{:?}", side(&own));
    assert!(
        side(&theirs).contains("\"their left\"") && !side(&theirs).contains("\"your left\""),
        "{:?}",
        side(&theirs)
    );
}

#[test]
fn every_word_that_the_script_asks_for_is_there() {
    let script = include_str!("../../assets/player.js");
    let words = words::for_script(View::Mirror);
    let mut asked = BTreeSet::new();
    for (at, _) in script.match_indices("words.") {
        if script[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let name: String = script[at + 6..].chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
        if !name.is_empty() {
            asked.insert(name);
        }
    }
    assert!(asked.len() > 20, "{asked:?}");
    for name in asked {
        assert!(words.get(&name).is_some(), "the script asks for {name:?}");
    }
    for name in ["whole", "early", "sign", "dizzy", "numb"] {
        assert!(words.get(format!("{name}_aloud")).is_some(), "{name}");
    }
}
