//! What the page of a take-home says, script or not.

use maud::{Markup, PreEscaped, html};
use plan::atlas::Atlas;
use plan::draft::Draft;
use plan::routine::Step;
use sketch::{Ground, MarkedStep, Options, Person};

use super::Given;
use super::page::drawn;
use crate::catalogue::{fill, seconds, sentence_case, text};
use crate::desk::{routine as desk_routine, steps as desk_steps};
use crate::{drawing, own, tell};

/// What comes before everything else.
pub fn cautions(given: &Given<'_>, draft: &Draft) -> Markup {
    let many = given.file.audience;
    html! {
        section.part #cautions aria-labelledby="cautions-title" {
            h2 #cautions-title { (text("home.cautions")) }
            ul {
                li { (text(if many { "home.for_many" } else { "home.yours" })) }
                @if given.until.is_none() && many { li { (text("home.no_day")) } }
                li { (text("home.changed")) }
                li { strong { (text("home.never_hurts")) } }
                li { (text("home.eyes")) }
                @if tell::door_holds(draft) { li { (text("routine.door")) } }
                @if !draft.blocked.is_empty() { li { (tell::blocked(given.atlas, draft)) } }
            }
            h3 { (text("home.felt_title")) }
            ul.felt {
                @for felt in ["home.felt_tender", "home.felt_red", "home.felt_painful", "home.felt_dizzy"] { li { (text(felt)) } }
            }
        }
    }
}

/// What is asked before each session.
pub fn each_time(given: &Given<'_>) -> Markup {
    html! {
        section.part #each-time aria-labelledby="each-time-title" {
            h2 #each-time-title { (text("home.each_time")) }
            p { (text("home.each_time_lead")) }
            ul { @for question in given.questions() { li { (question) } } }
        }
    }
}

/// The warning signs, the most urgent first.
pub fn stop(atlas: &Atlas) -> Markup {
    html! {
        section.part #stop aria-labelledby="stop-title" {
            h2 #stop-title { (text("home.stop")) }
            p { (text("home.stop_lead")) }
            (desk_routine::sign_list(atlas))
        }
    }
}

/// The places that stay alone.
pub fn left_out(given: &Given<'_>) -> Markup {
    let places = given.left_out();
    html! {
        section.part #left-out aria-labelledby="left-out-title" {
            h2 #left-out-title { (text(if given.file.audience { "home.left_out_many" } else { "home.left_out" })) }
            @if places.is_empty() {
                p { (text("home.nothing_left_out")) }
            } @else {
                p { (text("home.left_out_lead")) }
                ul.struck { @for place in &places { li { (place) } } }
            }
        }
    }
}

/// What goes on the skin.
pub fn product(given: &Given<'_>) -> Markup {
    html! {
        section.part #product aria-labelledby="product-title" {
            h2 #product-title { (text("home.product")) }
            @if given.oil() {
                p { (text("editor.product")) }
                p { (text("oil.caution")) }
            } @else { p { (text("home.no_product")) } }
        }
    }
}

/// What to do before, or after.
pub fn checklist(atlas: &Atlas, draft: &Draft, when: &str, heading: &str) -> Markup {
    let id = format!("{when}-title");
    html! {
        section.part #(when) aria-labelledby=(id) {
            h2 #(id) { (heading) }
            ul { @for item in desk_routine::checks(atlas, draft, when) { li { (item) } } }
        }
    }
}

/// Does the work with whose figure it is: this person's own, or the drawn one.
fn on_figure<T>(given: &Given<'_>, draw: impl FnOnce(&Person<'_>) -> T) -> T {
    match given.face {
        Some(map) => own::draw::on_sheet(map, |person| draw(person)),
        None => draw(&Person::drawn()),
    }
}

/// The figure with every step on it, for the player.
pub fn figure(given: &Given<'_>, draft: &Draft) -> Markup {
    with_marks(given, draft, |marked| {
        let words = drawing::words(text("drawing.title"), text("drawing.desc"));
        let options = Options { ground: Ground::Page, id: "stage", words, numerals: false };
        PreEscaped(on_figure(given, |person| sketch::stage_for(drawing::places(), person, marked, &options)))
    })
}

fn with_marks<T>(given: &Given<'_>, draft: &Draft, work: impl FnOnce(&[MarkedStep<'_>]) -> T) -> T {
    let steps: Vec<Step> = draft.steps.iter().map(|s| s.step.clone()).collect();
    let titles = drawing::step_titles(given.atlas, &steps);
    let class = |i: usize| draft.steps.get(i).map_or(vocab::Class::Go, drawing::class_of);
    let marked = drawing::marked_steps(given.atlas, &steps, &titles, &class);
    work(&marked)
}

/// Everything step by step: the whole on one sheet, then each with its picture.
pub fn routine(given: &Given<'_>, draft: &Draft, rows: &[desk_steps::Row<'_>]) -> Markup {
    with_marks(given, draft, |marked| {
        let words = drawing::words(text("drawing.title"), text("drawing.desc"));
        let options = |id| Options { ground: Ground::Page, id, words, numerals: true };
        let sheet = on_figure(given, |person| sketch::sheet_for(drawing::places(), person, marked, &options("sheet")));
        let groups: Vec<Vec<MarkedStep<'_>>> =
            rows.iter().map(|row| row.steps.iter().map(|i| marked[*i].clone()).collect()).collect();
        let groups: Vec<&[MarkedStep<'_>]> = groups.iter().map(Vec::as_slice).collect();
        let leaflet =
            on_figure(given, |person| sketch::leaflet_for(drawing::places(), person, &groups, &options("leaf")));
        html! {
            section.part #routine aria-labelledby="routine-title" tabindex="-1" {
                h2 #routine-title { (text("home.routine")) }
                p { (drawn(given)) " " (text("home.rest")) }
                figure.sheet { (PreEscaped(sheet)) }
                (PreEscaped(&leaflet.figures))
                @for movement in vocab::Movement::ALL {
                    @let part: Vec<_> = rows.iter().zip(&leaflet.views).filter(|(r, _)| r.movement == *movement).collect();
                    @if !part.is_empty() {
                        h3.movement { (tell::movement(*movement)) }
                        ol.steps { @for (row, view) in part { (step(given, draft, row, view)) } }
                    }
                }
            }
        }
    })
}

/// One step, or left and right of the same.
fn step(given: &Given<'_>, draft: &Draft, row: &desk_steps::Row<'_>, view: &str) -> Markup {
    let said = &row.said;
    let number = row.steps.iter().map(|i| (i + 1).to_string()).collect::<Vec<_>>().join(" · ");
    let long = seconds(row.seconds);
    let spoken: Vec<String> = if given.file.audience {
        row.steps.first().map(|i| tell::spoken(given.atlas, given.clearance, &draft.steps[*i].step)).unwrap_or_default()
    } else {
        Vec::new()
    };
    html! {
        li.step {
            @if !view.is_empty() { div.picture { (PreEscaped(view)) } }
            div.what {
                p.number {
                    span.n { (fill("home.step_n", &[("n", &number)])) }
                    span.mark aria-hidden="true" { (drawing::mark(said.mark, row.hand_side, row.hand_pressure)) }
                }
                p.does {
                    strong { (sentence_case(said.does)) } " "
                    span.place { (said.place) }
                }
                p.how {
                    @if !row.side.is_empty() { strong.side { (sentence_case(&row.side)) } " · " }
                    span.long { (if row.steps.len() > 1 { fill("home.seconds_each", &[("seconds", &long)]) } else { long }) }
                    " · " (desk_steps::how(row))
                }
                @if let Some(caution) = said.caution { p.caution { strong { (text("home.mind")) } " " (caution) } }
                @if !spoken.is_empty() { p.caution { strong { (text("home.who_skips")) } " " (spoken.join(" ")) } }
                p { strong { (text("home.do")) } " " (said.says) }
                @if !said.find.is_empty() { p { strong { (text("home.find")) } " " (said.find) } }
                @if let Some(support) = said.support { p { strong { (text("home.other_hand")) } " " (support) } }
            }
        }
    }
}
