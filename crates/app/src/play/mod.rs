//! The player: a routine step by step, full screen, at the desk and at home.
//!
//! Here is what stands on the page and what the script reads; `assets/player.js` runs it, on the machine of `assets/engine.js`. The
//! page that holds it brings both scripts, `assets/player.css` and the drawing's rules, and stores what happens.

mod panes;
mod words;

use maud::{Markup, PreEscaped, html};
use plan::atlas::Atlas;
use plan::draft::Draft;
use plan::routine::{Step, What};
use serde_json::{Value, json};
use vocab::Side;

use crate::catalogue::{lower_first, sentence_case, text};
pub use crate::desk::sign_list;
use crate::tell;

/// From where a face is looked at. Left and right are the person's own in each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// On oneself, in a mirror.
    Mirror,
    /// On somebody, facing them.
    Facing,
    /// On somebody who lies, from the head of the table.
    Head,
}

impl View {
    /// Each with its word in files and forms.
    pub const ALL: [(View, &'static str); 3] =
        [(View::Mirror, "mirror"), (View::Facing, "facing"), (View::Head, "head")];

    /// Its word.
    pub fn word(self) -> &'static str {
        View::ALL.iter().find(|(v, _)| *v == self).map_or("mirror", |(_, word)| word)
    }

    /// Of a word.
    pub fn from_word(word: &str) -> Option<View> {
        View::ALL.iter().find(|(_, w)| *w == word).map(|(v, _)| *v)
    }

    /// A side as it is said here: one's own, or theirs.
    fn side(self, side: Side) -> &'static str {
        match (self, side) {
            (View::Mirror, side) => tell::side(side),
            (_, Side::Left) => text("play.their_left"),
            (_, Side::Right) => text("play.their_right"),
            (_, side) => tell::side(side),
        }
    }
}

/// A routine to be played. The steps come out of the gate; nothing here looks at a clearance.
pub struct Play<'a> {
    /// The words of the steps.
    pub atlas: &'a Atlas,
    /// The steps, in order.
    pub steps: &'a [Step],
    /// The steps as the engine needs them (`Score::json`).
    pub score: &'a str,
    /// What is said to many before a step: by step; empty for one person.
    pub spoken: &'a [Vec<String>],
    /// The figure with each step on it (`sketch::stage`).
    pub drawing: Markup,
    /// From where the figure is looked at.
    pub view: View,
    /// A language tag (BCP 47): of the voice.
    pub language: &'a str,
    /// Stands above the button that begins.
    pub ready: Markup,
    /// Stands below what is said when it is over, whole or early.
    pub after: Markup,
}

/// The player, closed until its script runs, and its data.
pub fn stage(play: &Play<'_>) -> Markup {
    html! {
        section.play data-play="root" data-view=(play.view.word()) data-light="night" data-phase="ready" lang=(play.language)
            tabindex="-1" aria-label=(text("play.title")) {
            div.play-head data-play="under" {
                p.play-part data-play="part" {}
                p.play-count data-play="count" {}
                progress data-play="progress" max="1" value="0" aria-label=(text("play.progress")) {}
            }
            div.play-alarm data-play="under" { (press("sign", "play.sign", "sign")) }
            (now(play))
            (controls())
            p.unseen data-play="told" role="status" {}
            (panes::all(play))
            (data(play))
        }
    }
}

/// What is done now, and where.
fn now(play: &Play<'_>) -> Markup {
    html! {
        div.play-body data-play="body" {
            div.play-now data-play="now" {
                h2.play-what data-play="what" {}
                p.play-how data-play="how" {}
                p.play-clock {
                    span.play-seconds data-play="seconds" role="timer" {}
                    span.play-state data-play="state" {}
                }
                p.play-caution data-play="caution" hidden {}
                p.play-spoken data-play="spoken" hidden {}
                p.play-note data-play="note" hidden {}
                p.play-next data-play="next" {}
            }
            (figure(play))
        }
    }
}

/// A second screen: the same without anything to press. The script of the page shows on it what the first one shows.
pub fn screen(play: &Play<'_>) -> Markup {
    html! {
        section.play.play-screen data-play="root" data-on data-view=(play.view.word()) data-light="night" data-phase="ready"
            lang=(play.language) aria-label=(text("play.title")) {
            div.play-head {
                p.play-part data-play="part" {}
                p.play-count data-play="count" {}
                progress data-play="progress" max="1" value="0" aria-label=(text("play.progress")) {}
            }
            (now(play))
            (data(play))
        }
    }
}

/// The picture with the sides written where the eye finds them.
fn figure(play: &Play<'_>) -> Markup {
    let side = |side: Side| html! { span class={ "play-side-" (side.word()) } { (play.view.side(side)) } };
    html! {
        div.play-figure data-play="figure" aria-hidden="true" {
            (play.drawing)
            p.play-sides { (side(Side::Left)) (side(Side::Right)) }
            p.play-through { (text("play.through")) }
        }
    }
}

/// A button that does something to the session.
fn press(what: &str, label: &'static str, class: &str) -> Markup {
    html! { button class=(class) type="button" data-do=(what) { (text(label)) } }
}

fn controls() -> Markup {
    html! {
        div.play-foot data-play="under" {
            div.play-flow role="group" aria-label=(text("play.flow")) {
                (press("back", "play.back", "back"))
                button.go type="button" data-do="pause" data-play="pause" { (text("play.pause")) }
                (press("next", "play.forward", "next"))
                (press("longer", "play.longer", "longer"))
                button.opens type="button" data-opens="felt" aria-expanded="false" { (text("play.felt")) }
                button.opens type="button" data-opens="more" aria-expanded="false" { (text("play.more")) }
            }
            div.play-felt role="group" aria-label=(text("play.felt_what")) {
                @for (what, label) in panes::FELT { (press(what, label, if matches!(what, "dizzy" | "numb") { "ends" } else { "felt" })) }
            }
            div.play-more role="group" aria-label=(text("play.more")) {
                (press("skip", "play.skip", "other"))
                (press("swap", "play.swap", "other"))
                (press("end", "play.end", "other"))
                button.other type="button" data-play="set-open" { (text("play.set")) }
            }
        }
    }
}

/// Score, steps and words, for the script. A block of data is no script: the policy of the desk lets it stand.
fn data(play: &Play<'_>) -> Markup {
    let score: Value = serde_json::from_str(play.score).unwrap_or_default();
    let value = json!({
        "score": score,
        "steps": play.steps.iter().enumerate().map(|(i, step)| step_data(play, i, step)).collect::<Vec<_>>(),
        "words": words::for_script(play.view),
        "language": play.language,
    });
    // Nothing in it may look like the end of the block.
    let safe = value.to_string().replace('<', "\\u003c");
    html! { script type="application/json" data-play="data" { (PreEscaped(safe)) } }
}

fn step_data(play: &Play<'_>, i: usize, step: &Step) -> Value {
    let said = tell::step(play.atlas, step);
    json!({
        "part": tell::movement(step.movement),
        "does": sentence_case(said.does),
        "place": said.place,
        // In the middle of a sentence.
        "at": match step.what {
            What::Oil => lower_first(&said.place),
            What::Target(target, _) => play.atlas.target(target).name.clone(),
        },
        // What exists once has no side to be named.
        "side": if said.side.is_empty() { "" } else { play.view.side(step.side) },
        "target": step.target_id(play.atlas),
        "mark": said.mark,
        "tool": said.tool,
        "says": said.says,
        "find": said.find,
        "caution": said.caution.unwrap_or_default(),
        "spoken": play.spoken.get(i).map(|lines| lines.join(" ")).unwrap_or_default(),
    })
}

/// The figure on the drawn face, with each step of a routine on it.
pub fn drawn(atlas: &Atlas, draft: &Draft) -> Markup {
    crate::drawing::stage(atlas, draft)
}

#[cfg(test)]
mod tests;
