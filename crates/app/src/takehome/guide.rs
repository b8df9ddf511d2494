//! The words and the drawing of the printed guide.

use plan::atlas::{Atlas, Urgency};
use plan::draft::Draft;
use plan::reading::HANDS;
use plan::routine::Step;
use press::Paper;
use press::guide::{Face, Guide, Made, Movement, Part, Piece};
use sketch::{Ground, Mark, Options};
use vocab::Class;

use super::Given;
use crate::catalogue::{clock, fill, full_stop, in_language, listed, seconds, sentence_case, text};
use crate::desk::keep::date_in_words;
use crate::desk::routine;
use crate::desk::steps::{self, Row};
use crate::own::draw;
use crate::{drawing, tell};

/// The guide as a PDF file, in the language of the take-home.
///
/// # Errors
/// What kept it from being made, for a log; nothing that a person gives leads there.
pub fn guide(given: &Given<'_>, paper: Paper) -> Result<Made, String> {
    in_language(given.language, || press::guide::guide(paper, &words(given)).map_err(|e| e.to_string()))
}

/// The drawing of the guide, as SVG.
pub fn drawing(given: &Given<'_>) -> String {
    in_language(given.language, || face(given, &given.draft()).svg)
}

/// Every word of it.
pub fn words(given: &Given<'_>) -> Guide {
    let draft = given.draft();
    let rows = steps::rows(given.atlas, given.clearance, &draft);
    Guide {
        language: given.language.tag().to_owned(),
        title: given.name.to_owned(),
        lead: lead(given, &draft),
        first: vec![first(given, &draft), each_time(given), before(given, &draft), stop(given.atlas)],
        face: face(given, &draft),
        steps: text("guide.steps").to_owned(),
        movements: movements(given, &rows),
        after: vec![list(text("routine.after"), routine::checks(given.atlas, &draft, "after"))],
        page: text("guide.page").to_owned(),
        goes_on: text("guide.goes_on").to_owned(),
    }
}

fn lead(given: &Given<'_>, draft: &Draft) -> Vec<String> {
    let sum = fill("guide.sum", &[("n", &draft.steps.len()), ("length", &seconds(draft.total_s))]);
    let made = fill("guide.made", &[("day", &date_in_words(given.day))]);
    let holds = match given.until {
        Some(day) => fill("guide.until", &[("day", &date_in_words(day))]),
        None if given.audience() => text("guide.audience").to_owned(),
        None => text("guide.open").to_owned(),
    };
    vec![format!("{sum} {made}"), holds]
}

/// What is read before anything else.
fn first(given: &Given<'_>, draft: &Draft) -> Part {
    let mut said: Vec<String> =
        ["guide.hurts", "guide.halt", "guide.sides"].into_iter().map(|key| text(key).to_owned()).collect();
    let left_out = given.left_out();
    if !left_out.is_empty() {
        said.push(fill("guide.left_out", &[("places", &listed(&left_out))]));
    }
    if !given.clearance.by_group.is_empty() {
        said.push(text("routine.door").to_owned());
    }
    if !draft.blocked.is_empty() {
        said.push(tell::blocked(given.atlas, draft));
    }
    said.push(text("page.not_reviewed").to_owned());
    let paragraphs = said.into_iter().map(|sentence| vec![Piece::plain(sentence)]).collect();
    Part { title: text("guide.first").to_owned(), paragraphs, items: Vec::new() }
}

/// What is asked before each session.
fn each_time(given: &Given<'_>) -> Part {
    let part = list(text("home.each_time"), given.questions());
    Part { paragraphs: vec![vec![Piece::plain(text("home.each_time_lead"))]], ..part }
}

fn before(given: &Given<'_>, draft: &Draft) -> Part {
    let mut part = list(text("routine.before"), routine::checks(given.atlas, draft, "before"));
    if given.oil() {
        part.items.push(vec![Piece::plain(text("guide.oil"))]);
    }
    part
}

fn list(title: &str, items: Vec<&str>) -> Part {
    let items = items.into_iter().map(|item| vec![Piece::plain(item)]).collect();
    Part { title: title.to_owned(), paragraphs: Vec::new(), items }
}

/// Every sign that is for a clinician, the most urgent first.
fn stop(atlas: &Atlas) -> Part {
    let mut signs: Vec<_> = atlas.warning_signs.iter().collect();
    signs.sort_by_key(|s| match s.urgency {
        Urgency::Emergency => 0,
        Urgency::SameDay => 1,
        Urgency::Doctor => 2,
    });
    // What asks for the same is said once, with all its signs.
    let mut items: Vec<Vec<Piece>> = Vec::new();
    for sign in signs {
        let said = Piece::plain(fill("guide.sign", &[("sign", &sign.sign)]));
        match items.iter_mut().find(|item| item.first().is_some_and(|action| action.text == sign.action)) {
            Some(item) => item.push(said),
            None => items.push(vec![Piece::bold(&sign.action), said]),
        }
    }
    Part { title: text("guide.stop").to_owned(), paragraphs: vec![vec![Piece::plain(text("guide.stop_lead"))]], items }
}

fn movements(given: &Given<'_>, rows: &[Row<'_>]) -> Vec<Movement> {
    let mut told = Told::default();
    let mut movements: Vec<(vocab::Movement, Movement)> = Vec::new();
    for row in rows {
        let step = step(given, row, &mut told);
        match movements.last_mut().filter(|(of, _)| *of == row.movement) {
            Some((_, movement)) => movement.steps.push(step),
            None => {
                let title = tell::movement(row.movement).to_owned();
                movements.push((row.movement, Movement { title, steps: vec![step] }));
            }
        }
    }
    movements.into_iter().map(|(_, movement)| movement).collect()
}

/// What was said at an earlier step, with its number, and is not said again.
#[derive(Default)]
struct Told {
    places: Vec<(String, usize)>,
    ways: Vec<String>,
}

fn step(given: &Given<'_>, row: &Row<'_>, told: &mut Told) -> press::guide::Step {
    let (said, first) = (&row.said, row.steps.first().copied().unwrap_or_default());
    let mut how: Vec<String> = Vec::new();
    if !row.side.is_empty() {
        how.push(row.side.clone());
    }
    how.push(row.pressure.to_owned());
    // With hands alone there is nothing to tell apart.
    if given.runnable.steps().iter().any(|s| given.atlas.tool(s.tool).id != HANDS) {
        how.push(said.tool.to_owned());
    }
    match said.laps {
        Some(1) => how.push(text("step.one_lap").to_owned()),
        Some(laps) => how.push(fill("step.laps", &[("laps", &laps)])),
        None => {}
    }
    let length = fill("guide.s", &[("s", &row.seconds)]);
    how.push(if row.steps.len() > 1 { fill("guide.each", &[("length", &length)]) } else { length });
    let mut paragraphs = vec![
        vec![Piece::bold(sentence_case(said.does)), Piece::plain(said.place.clone())],
        vec![Piece::plain(sentence_case(&how.join(" · ")))],
    ];
    // Run in, so that a long routine stays on two pages.
    let mut more: Vec<Piece> = Vec::new();
    let mut with =
        |lead: &'static str, words: &str| more.extend([Piece::bold(text(lead)), Piece::plain(full_stop(words))]);
    let earlier = told.places.iter().find(|(place, _)| *place == said.place).map(|(_, number)| *number);
    if earlier.is_none() && !said.find.is_empty() {
        with("step.find", said.find);
    }
    // How it is done stands at the first of its kind.
    if !told.ways.iter().any(|way| way == said.does) {
        with("step.do", said.says);
        told.ways.push(said.does.to_owned());
        if let Some(support) = said.support {
            with("step.other_hand", support);
        }
    }
    match (earlier, said.caution) {
        (Some(number), Some(_)) => more.push(Piece::plain(fill("guide.as_before_mind", &[("n", &number)]))),
        (Some(number), None) => more.push(Piece::plain(fill("guide.as_before", &[("n", &number)]))),
        (None, Some(caution)) => with("step.mind", caution),
        (None, None) => {}
    }
    if given.audience()
        && let Some(step) = given.runnable.steps().get(first)
    {
        for sentence in tell::spoken(given.atlas, given.clearance, step) {
            more.extend([Piece::bold(text("step.mind")), Piece::plain(sentence)]);
        }
    }
    if earlier.is_none() {
        told.places.push((said.place.clone(), first + 1));
    }
    if !more.is_empty() {
        paragraphs.push(more);
    }
    let numbers: Vec<String> = row.steps.iter().map(|i| (i + 1).to_string()).collect();
    let mark = Mark::from_word(said.mark).unwrap_or(Mark::Hold);
    let mark = sketch::mark_svg(mark, row.hand_side, row.hand_pressure, Class::Go, 48, "");
    let at = fill("guide.at", &[("clock", &clock(row.start_s))]);
    press::guide::Step { label: numbers.join(", "), mark, at, paragraphs }
}

/// Their own face, or the drawn one, with the steps on it, to print.
fn face(given: &Given<'_>, draft: &Draft) -> Face {
    let steps: Vec<Step> = draft.steps.iter().map(|s| s.step.clone()).collect();
    let titles = drawing::step_titles(given.atlas, &steps);
    let marked = drawing::marked_steps(given.atlas, &steps, &titles, &|_| Class::Go);
    let words = drawing::words(text("drawing.title"), text("drawing.desc"));
    let options = Options { ground: Ground::Print, id: "guide", words, numerals: true };
    let sheet = |person: &sketch::Person<'_>| {
        sketch::sheet_with(drawing::places(), person, &marked, &options, press::guide::NUMERALS)
    };
    let svg = match given.face {
        None => sheet(&sketch::Person::drawn()),
        Some(map) => draw::on_sheet(map, |person| sheet(person)),
    };
    let key = if given.face.is_some() { "guide.drawing_own" } else { "guide.drawing_drawn" };
    let mut described = fill(key, &[("n", &steps.len())]);
    if svg.contains("sk-back") {
        described = format!("{described} {}", text("guide.drawing_behind"));
    }
    let mut caption = vec![text("guide.caption").to_owned()];
    if given.face.is_some() {
        caption.push(text("guide.caption_own").to_owned());
    }
    Face { svg, described, caption }
}
