//! The run-through: full screen, large type, what the hand does now and what comes next.
//!
//! The script fills it step by step from the data here; without script it stays closed and the list serves.

use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::draft::Draft;
use vocab::Side;

use super::{routine, steps};
use crate::catalogue::{sentence_case, text};
use crate::drawing;
use crate::tell;

/// The dialog and its data.
pub fn dialog(atlas: &Atlas, draft: &Draft) -> Markup {
    html! {
        dialog #run aria-label=(text("run.title")) {
            div.run-head {
                p.run-movement #run-movement {}
                p.run-count #run-count {}
                label.choice for="run-voice" {
                    input #run-voice type="checkbox" checked;
                    span { (text("run.voice")) }
                }
                button.quiet #run-leave type="button" { (text("run.leave")) }
            }
            div.run-body #run-now-area {
                div.run-now {
                    p.run-what #run-what aria-live="polite" {}
                    p.run-how #run-how {}
                    p.run-seconds { span #run-seconds role="timer" {} }
                    p.run-caution #run-caution {}
                    p.run-next { span.run-next-word { (text("run.next")) } " " span #run-next {} }
                    progress #run-progress max="1" value="0" aria-label=(text("run.progress")) {}
                }
                div.run-sheet #run-sheet aria-hidden="true" { (drawing::stage(atlas, draft)) }
            }
            div.run-foot {
                button #run-back type="button" { (text("run.back")) }
                button.go #run-pause type="button" data-pause=(text("run.pause")) data-on=(text("run.on")) {
                    (text("run.pause"))
                }
                button #run-forward type="button" { (text("run.forward")) }
                button.hurts #run-hurts type="button" { (text("run.hurts")) }
                button.sign #run-sign type="button" { (text("run.sign")) }
            }
            (before(atlas, draft))
            (hurts())
            (sign(atlas))
            (after(atlas, draft))
            (data(atlas, draft))
        }
    }
}

fn before(atlas: &Atlas, draft: &Draft) -> Markup {
    html! {
        div.run-pane #run-before hidden {
            h2 { (text("routine.before")) }
            ul { @for item in routine::checks(atlas, draft, "before") { li { (item) } } }
            p.hint #run-no-voice hidden { (text("run.no_voice")) }
            p.hint { (text("run.keys")) }
            div.run-foot {
                button.go #run-begin type="button" { (text("run.begin")) }
                button data-leave type="button" { (text("run.leave")) }
            }
        }
    }
}

fn hurts() -> Markup {
    html! {
        div.run-pane #run-hurts-pane hidden role="alertdialog" aria-labelledby="run-hurts-title" {
            h2 #run-hurts-title { (text("run.hurts_title")) }
            p { (text("run.hurts_do")) }
            p #run-hurts-way hidden { (text("run.hurts_way")) }
            p { (text("run.hurts_stays")) }
            div.run-foot {
                button.go #run-hurts-on type="button" { (text("run.hurts_on")) }
                button data-leave type="button" { (text("run.stop_here")) }
            }
        }
    }
}

fn sign(atlas: &Atlas) -> Markup {
    html! {
        div.run-pane #run-sign-pane hidden role="alertdialog" aria-labelledby="run-sign-title" {
            h2 #run-sign-title { (text("run.sign_title")) }
            p { (text("run.sign_do")) }
            (routine::sign_list(atlas))
            div.run-foot { button.go data-leave type="button" { (text("run.close")) } }
        }
    }
}

fn after(atlas: &Atlas, draft: &Draft) -> Markup {
    html! {
        div.run-pane #run-after hidden {
            h2 { (text("run.done")) }
            ul { @for item in routine::checks(atlas, draft, "after") { li { (item) } } }
            div.run-foot { button.go data-leave type="button" { (text("run.close")) } }
        }
    }
}

/// Every step as data, and the change before it in words.
fn data(atlas: &Atlas, draft: &Draft) -> Markup {
    html! {
        ol #run-steps hidden data-of=(text("run.of")) data-last=(text("run.last")) data-ready=(text("run.get_ready")) {
            @for (i, drafted) in draft.steps.iter().enumerate() {
                @let step = &drafted.step;
                @let said = tell::step(atlas, step);
                @let pressure = tell::pressure(step.pressure);
                @let change = i.checked_sub(1).map_or(0, |p| drafted.start_s - draft.steps[p].end_s);
                li data-part=(step.movement) data-movement=(tell::movement(step.movement))
                    data-does=(sentence_case(said.does)) data-place=(said.place) data-side=(said.side)
                    data-how={ (pressure) " · " (said.tool) } data-seconds=(step.seconds) data-change=(change)
                    data-caution=(said.caution.unwrap_or_default()) data-target=(step.target_id(atlas))
                    data-say=(steps::aloud(&said, said.side, pressure, step.seconds))
                    data-change-say=(change_words(atlas, draft, i)) {}
            }
        }
    }
}

/// What changes before this step: the tool, the side.
fn change_words(atlas: &Atlas, draft: &Draft, i: usize) -> String {
    let Some(before) = i.checked_sub(1).map(|p| &draft.steps[p].step) else { return String::new() };
    let now = &draft.steps[i].step;
    let mut words = Vec::new();
    if before.tool != now.tool {
        words.push(crate::catalogue::fill("run.change_tool", &[("tool", &atlas.tool(now.tool).name)]));
    }
    match (before.side, now.side) {
        (Side::Left, Side::Right) => words.push(text("run.change_right").to_owned()),
        (Side::Right, Side::Left) => words.push(text("run.change_left").to_owned()),
        _ => {}
    }
    words.join(" ")
}
