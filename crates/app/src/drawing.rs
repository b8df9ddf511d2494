//! From a draft to the drawing: which mark each step has, and the words around it.

use face::Drawing;
use maud::{Markup, PreEscaped};
use plan::atlas::Atlas;
use plan::draft::{Draft, DraftStep};
use plan::routine::{Step, What};
use sketch::{Ground, Mark, MarkedStep, Options, Person, Words};
use vocab::{Class, Pressure, Side};

use crate::catalogue::{fill, seconds, text};
use crate::tell;

/// Where each place lies, the practitioner's own points among them.
pub fn places() -> &'static Drawing {
    crate::own::drawn()
}

/// The words around a drawing.
pub fn words<'a>(title: &'a str, desc: &'a str) -> Words<'a> {
    Words {
        title,
        desc,
        your_left: text("drawing.left"),
        your_right: text("drawing.right"),
        from_behind: text("drawing.behind"),
    }
}

/// The mark of this name in the atlas.
fn mark_named(name: &str) -> Mark {
    Mark::from_word(name).unwrap_or(Mark::Hold)
}

/// The title of each step's mark: what the hand does there, and how long.
fn titles(atlas: &Atlas, draft: &Draft) -> Vec<String> {
    step_titles(atlas, &steps(draft))
}

fn steps(draft: &Draft) -> Vec<Step> {
    draft.steps.iter().map(|s| s.step.clone()).collect()
}

/// The title of each step's mark: what the hand does there, and how long.
pub fn step_titles(atlas: &Atlas, steps: &[Step]) -> Vec<String> {
    let title = |step: &Step| {
        let said = tell::step(atlas, step);
        let side = if said.side.is_empty() { String::new() } else { format!(", {}", said.side) };
        fill(
            "drawing.step",
            &[("does", &said.does), ("place", &said.place), ("side", &side), ("seconds", &seconds(step.seconds))],
        )
    };
    steps.iter().map(title).collect()
}

fn marked<'a>(atlas: &'a Atlas, steps: &'a [Step], draft: &Draft, titles: &'a [String]) -> Vec<MarkedStep<'a>> {
    marked_steps(atlas, steps, titles, &|i| draft.steps.get(i).map_or(Class::Go, class_of))
}

/// Steps as the drawing needs them; `class` says of each what clearance makes of it.
pub fn marked_steps<'a>(
    atlas: &'a Atlas,
    steps: &'a [Step],
    titles: &'a [String],
    class: &dyn Fn(usize) -> Class,
) -> Vec<MarkedStep<'a>> {
    let one = |(i, (step, title)): (usize, (&'a Step, &'a String))| MarkedStep {
        number: i + 1,
        target: step.target_id(atlas),
        side: step.side,
        mark: mark_named(tell::step(atlas, step).mark),
        pressure: step.pressure,
        seconds: step.seconds,
        full_s: match step.what {
            What::Oil => step.seconds,
            What::Target(_, technique) => atlas.technique(technique).seconds.1,
        },
        movement: step.movement,
        class: class(i),
        title,
    };
    steps.iter().zip(titles).enumerate().map(one).collect()
}

/// Gently where a rule softened the step; go otherwise.
pub fn class_of(drafted: &DraftStep) -> Class {
    use plan::draft::Why;
    let softened = drafted.why.iter().any(|w| matches!(w, Why::Softened { .. } | Why::WayBlocked { .. }));
    if softened { Class::Gently } else { Class::Go }
}

/// The whole routine as a file of its own.
pub fn sheet(atlas: &Atlas, draft: &Draft) -> String {
    let titles = titles(atlas, draft);
    let desc = titles.join("; ");
    let words = words(text("drawing.title"), &desc);
    let options = Options { ground: Ground::Linen, id: "tragion", words, numerals: true };
    sketch::sheet(places(), &marked(atlas, &steps(draft), draft, &titles), &options)
}

/// The whole routine for a page.
pub fn routine(atlas: &Atlas, draft: &Draft) -> Markup {
    let titles = titles(atlas, draft);
    let words = words(text("drawing.title"), text("drawing.desc"));
    let options = Options { ground: Ground::Page, id: "sheet", words, numerals: false };
    PreEscaped(sketch::sheet(places(), &marked(atlas, &steps(draft), draft, &titles), &options))
}

/// Steps written by hand, each with what clearance makes of it.
pub fn by_hand(atlas: &Atlas, steps: &[Step], classes: &[Class], options: Options<'_>) -> Markup {
    let titles = step_titles(atlas, steps);
    let class = |i: usize| classes.get(i).copied().unwrap_or(Class::Go);
    PreEscaped(sketch::sheet(places(), &marked_steps(atlas, steps, &titles, &class), &options))
}

/// The figure with every step on it, for the run-through.
pub fn stage(atlas: &Atlas, draft: &Draft) -> Markup {
    let titles = titles(atlas, draft);
    let words = words(text("drawing.title"), text("drawing.desc"));
    let options = Options { ground: Ground::Page, id: "stage", words, numerals: false };
    PreEscaped(sketch::stage(places(), &marked(atlas, &steps(draft), draft, &titles), &options))
}

/// The same on one person's own face.
pub fn stage_for(atlas: &Atlas, draft: &Draft, person: &Person<'_>) -> Markup {
    let titles = titles(atlas, draft);
    let words = words(text("drawing.title"), text("drawing.desc"));
    let options = Options { ground: Ground::Page, id: "stage", words, numerals: false };
    PreEscaped(sketch::stage_for(places(), person, &marked(atlas, &steps(draft), draft, &titles), &options))
}

/// The figure alone.
pub fn bare() -> Markup {
    let words = words(text("drawing.bare_title"), text("drawing.bare_desc"));
    let options = Options { ground: Ground::Page, id: "figure", words, numerals: false };
    PreEscaped(sketch::sheet(places(), &[], &options))
}

/// A mark for the list. It says nothing by itself: the words stand beside it.
pub fn mark(name: &str, side: Side, pressure: Pressure) -> Markup {
    PreEscaped(sketch::mark_svg(mark_named(name), side, pressure, Class::Go, 48, ""))
}
