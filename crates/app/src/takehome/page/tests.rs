use plan::atlas::Atlas;
use plan::reading::RoutineFile;
use plan::screening::{Answers, Clearance};
use vocab::Date;

use super::*;

/// The most bytes of a page.
const MOST_BYTES: usize = 2_000_000;

use crate::catalogue::Language;
use crate::desk::editor::runnable::Runnable;

/// The page of the example routine for somebody whom nothing concerns.
pub fn example(language: Language, more: &More) -> String {
    let english = Atlas::built_in();
    let atlas = crate::catalogue::atlas_in(language, &english);
    let text = include_str!("../../../../../examples/routine.toml");
    let file = RoutineFile::parse("routine.toml", text, &atlas).expect("the example");
    let day = Date::parse("2026-03-01").expect("a day");
    let clearance = Clearance::new(&atlas, &Answers::all_no(&atlas).asked_on(day), day);
    let runnable = Runnable::from_file(&atlas, &file, &clearance).expect("it may be done");
    let each_time = crate::takehome::each_time(&atlas, None, day);
    let given = Given {
        atlas: &atlas,
        name: "Jaw & <sleep>",
        file: &file,
        runnable: &runnable,
        clearance: &clearance,
        until: day.plus(30),
        each_time: &each_time,
        face: None,
        language,
        code: "k7p2w9x4ab",
        day,
    };
    page(&given, more)
}

#[test]
fn one_file_that_asks_for_nothing() {
    let page = example(Language::English, &More { who: Some("Ana".into()), photographs: true, hour: None });
    if let Some(folder) = std::env::var_os("PAGE_OUT") {
        std::fs::write(std::path::Path::new(&folder).join("routine.html"), &page).expect("written");
    }
    assert!(page.len() < MOST_BYTES, "{} bytes", page.len());
    // No address of anywhere but the name spaces of the drawing, and nothing that is loaded by name.
    let rest = page.replace("http://www.w3.org/2000/svg", "");
    let body = &rest[rest.find("<body").expect("a body")..rest.find("<script").expect("scripts")];
    assert!(!body.contains("http:") && !body.contains("https:") && !body.contains("src="), "an address in the page");
    assert!(!rest.contains("<link") && !rest.contains("@import") && !body.contains("style=\""));
    assert!(page.contains("Jaw &amp; &lt;sleep&gt;") && page.contains("For Ana."));
    assert_eq!(page.matches("<script").count(), 2 + script::SCRIPTS.len(), "a script that is not ours");
    for script in script::SCRIPTS {
        assert!(!script.contains("</script") && !script.contains("<!--"), "it would end its own block");
    }
}

#[test]
fn everything_is_there_without_the_script() {
    let atlas = Atlas::built_in();
    let text = include_str!("../../../../../examples/routine.toml");
    let file = RoutineFile::parse("routine.toml", text, &atlas).expect("the example");
    let page = example(Language::English, &More::default());
    let body = &page[page.find("<body").expect("a body")..page.find("<script").expect("scripts")];
    let escaped = |t: &str| t.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
    for step in &file.steps {
        let said = crate::tell::step(&atlas, step);
        for words in [said.says, said.find, said.caution.unwrap_or_default(), said.place.as_str()] {
            assert!(body.contains(&escaped(words)), "not there: {words}");
        }
    }
    for sign in &atlas.warning_signs {
        assert!(body.contains(&escaped(&sign.sign)) && body.contains(&escaped(&sign.action)), "{}", sign.sign);
    }
    assert!(!body.contains("For you") && !body.contains("Ana"), "nobody was named");
    // Cautions come before the first step.
    let at = |what: &str| body.find(what).unwrap_or_else(|| panic!("{what} is not there"));
    assert!(at("id=\"cautions\"") < at("id=\"stop\"") && at("id=\"stop\"") < at("id=\"routine\""));
}
