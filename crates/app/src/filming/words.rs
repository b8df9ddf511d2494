//! What is said, in the language's own sentences.

use plan::atlas::{Atlas, Kind};
use plan::reading::{HANDS, RoutineFile};
use plan::routine::{Step, What, transition_s};
use publish::script::{Act, Held};
use vocab::{Pressure, Side};

use super::minds::{Cautions, twins};
use super::options::{On, Options};
use crate::catalogue::{fill, full_stop, listed, seconds, sentence_case, text};
use crate::desk::editor::runnable::Runnable;
use crate::desk::routine::checks;
use crate::tell;

/// All that is said, without times.
pub struct Said {
    /// Before the first step.
    pub opening: Vec<String>,
    /// Which of these is the first that says who leaves it out.
    pub who_from: usize,
    /// The steps; `from` is nothing, `to` how long the hand is there.
    pub acts: Vec<Act>,
    /// Seconds for the change of hands before each.
    pub changes: Vec<f64>,
    /// After the last step.
    pub closing: Vec<String>,
}

/// What is said of a routine.
pub fn said(atlas: &Atlas, name: &str, runnable: &Runnable, options: &Options, cautions: &Cautions) -> Said {
    let (steps, draft) = (runnable.steps(), runnable.timed(atlas));
    let (hello, sides) = match options.on {
        On::Mirror => ("say.hello", "say.sides_mirror"),
        On::Own => ("say.hello", "say.sides_own"),
        On::Model => ("say.hello_model", "say.sides_model"),
        On::ModelMirrored => ("say.hello_model", "say.sides_model_mirrored"),
    };
    let minutes = draft.total_s.div_ceil(60) * 60;
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("name", &name), ("n", &steps.len()), ("length", &seconds(minutes))];
    let mut opening = vec![fill(hello, &values), text(sides).to_owned()];
    if steps.iter().all(|s| s.pressure == Pressure::Featherlight) {
        opening.push(text("say.featherlight").to_owned());
    }
    opening.push(format!("{} {}", text("say.no_advice"), text("page.not_reviewed")));
    let mut needs: Vec<String> = Vec::new();
    let tools = tools(atlas, steps);
    if !tools.is_empty() {
        needs.push(fill("say.tools", &[("tools", &listed(&tools))]));
    }
    if steps.iter().any(|s| s.what == What::Oil) {
        needs.push(text("say.oil").to_owned());
    }
    needs.extend(checks(atlas, &draft, "before").into_iter().map(full_stop));
    opening.push(needs.join(" "));
    let who_from = opening.len();
    opening.extend(cautions.opening.iter().cloned());
    opening.push(text("say.hurts").to_owned());
    opening.push(text("say.halt").to_owned());
    let mut ways: Vec<&str> = Vec::new();
    let acts = (0..steps.len()).map(|at| act(atlas, steps, at, options, cautions, &mut ways)).collect();
    let changes = (0..steps.len()).map(|at| match at.checked_sub(1) {
        Some(before) => f64::from(transition_s(atlas, &steps[before], &steps[at])),
        None => 0.0,
    });
    let mut closing = vec![text("say.end").to_owned()];
    closing.extend(checks(atlas, &draft, "after").into_iter().map(full_stop));
    Said { opening, who_from, acts, changes: changes.collect(), closing }
}

/// What a step's side is called, from whom it is said.
pub fn side(step: &Step, on: On, said: &'static str) -> &'static str {
    match (on.model(), step.side) {
        _ if said.is_empty() => "",
        (true, Side::Left) => text("play.their_left"),
        (true, Side::Right) => text("play.their_right"),
        _ => said,
    }
}

fn act<'a>(
    atlas: &'a Atlas,
    steps: &[Step],
    at: usize,
    options: &Options,
    cautions: &Cautions,
    ways: &mut Vec<&'a str>,
) -> Act {
    let step = &steps[at];
    let words = tell::step(atlas, step);
    let before = at.checked_sub(1).map(|i| &steps[i]);
    let side = side(step, options.on, words.side);
    let movement = tell::movement(step.movement);
    let (length, pressure) = (seconds(step.seconds), tell::pressure(step.pressure));
    let same_place = |a: &Step| match (a.what, step.what) {
        (What::Target(a, _), What::Target(b, _)) => a == b,
        _ => false,
    };
    let mut says: Vec<String> = Vec::new();
    if before.is_none_or(|b| b.movement != step.movement) {
        says.push(full_stop(movement));
    }
    let place = match step.what {
        What::Oil => words.place.clone(),
        What::Target(target, _) => atlas.target(target).name.clone(),
    };
    let fresh = !steps[..at].iter().any(same_place);
    let twin = before.is_some_and(|b| twins(b, step));
    if twin {
        let lighter = before.is_some_and(|b| b.pressure != step.pressure);
        let values: [(&str, &dyn std::fmt::Display); 3] =
            [("side", &side), ("length", &length), ("pressure", &pressure)];
        says.push(if lighter { fill("say.same_pressure", &values) } else { fill("say.same", &values[..2]) });
        // So little that it is said in one breath.
        says.extend(cautions.steps[at].iter().cloned());
    } else {
        let stays = before.is_some_and(|b| same_place(b) && b.side == step.side);
        let key = match (stays, side.is_empty()) {
            (false, false) => "say.next",
            (false, true) => "say.next_once",
            (true, false) => "say.stay",
            (true, true) => "say.stay_once",
        };
        let values: [(&str, &dyn std::fmt::Display); 2] = [("place", &place), ("side", &side)];
        says.push(fill(key, if side.is_empty() { &values[..1] } else { &values }));
        if fresh && !words.find.is_empty() {
            says.push(full_stop(words.find));
        }
        let tooled = atlas.tool(step.tool).id != HANDS;
        let does = sentence_case(words.does);
        let values: [(&str, &dyn std::fmt::Display); 4] =
            [("does", &does), ("pressure", &pressure), ("length", &length), ("tool", &words.tool)];
        says.push(if tooled { fill("say.does_with", &values) } else { fill("say.does", &values[..3]) });
    }
    let mut holds = Vec::new();
    let spoken_before = ways.contains(&words.does);
    if let What::Target(target, _) = step.what
        && let Some(direction) = atlas.target(target).direction.as_ref().filter(|_| !twin)
        && atlas.target(target).kind == Kind::Line
    {
        holds.push(Held { says: full_stop(&fill("say.way", &[("direction", direction)])), spare: false });
    }
    if !spoken_before {
        ways.push(words.does);
        holds.push(Held { says: words.says.to_owned(), spare: false });
        if let Some(support) = words.support {
            holds.push(Held { says: support.to_owned(), spare: true });
        }
    }
    Act {
        movement: movement.to_owned(),
        says: says.join(" "),
        minds: if twin { Vec::new() } else { cautions.steps[at].clone() },
        holds,
        short: twin,
        place,
        side: side.to_owned(),
        from: 0.0,
        to: f64::from(step.seconds),
    }
}

/// What is held in the hand, each once.
pub fn tools<'a>(atlas: &'a Atlas, steps: &[Step]) -> Vec<&'a str> {
    let mut tools: Vec<&str> = Vec::new();
    for tool in steps.iter().map(|s| atlas.tool(s.tool)).filter(|t| t.id != HANDS) {
        if !tools.contains(&tool.name.as_str()) {
            tools.push(&tool.name);
        }
    }
    tools
}

/// The places that are left out, each once.
pub fn left_out(atlas: &Atlas, file: &RoutineFile, runnable: &Runnable) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    for step in runnable.left_out().iter().filter_map(|i| file.steps.get(*i)) {
        let said = tell::step(atlas, step);
        let place = match said.side {
            "" => said.place,
            side => fill("place.with_side", &[("place", &said.place), ("side", &side)]),
        };
        if !places.contains(&place) {
            places.push(place);
        }
    }
    places
}
