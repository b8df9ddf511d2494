//! The steps as a list to read like a score: what the hand does, where, how long, how hard, what to mind.

use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::draft::{Draft, DraftStep};
use plan::screening::Clearance;
use vocab::{Movement, Pressure, Side};

use crate::catalogue::{clock, fill, seconds, sentence_case, text};
use crate::drawing;
use crate::tell::{self, Said};

/// One row: a step, or left and right of the same done one after the other.
pub struct Row<'a> {
    /// The movement.
    pub movement: Movement,
    /// Its target's id.
    pub target: &'a str,
    /// The indices of its steps.
    pub steps: Vec<usize>,
    /// When it begins.
    pub start_s: u32,
    /// Seconds of each step.
    pub seconds: u32,
    /// The step in words; of the first, when there are two.
    pub said: Said<'a>,
    /// The side, or both in their order.
    pub side: String,
    /// How hard, in words.
    pub pressure: &'static str,
    /// The side that its mark is drawn for.
    pub hand_side: Side,
    /// How hard, for the weight of its mark.
    pub hand_pressure: Pressure,
    /// Why, each reason once.
    pub why: Vec<String>,
}

/// Joins a left step and the right step that follows it and is the same otherwise.
pub fn rows<'a>(atlas: &'a Atlas, clearance: &Clearance, draft: &Draft) -> Vec<Row<'a>> {
    let mut rows: Vec<Row> = Vec::new();
    for (i, drafted) in draft.steps.iter().enumerate() {
        let step = &drafted.step;
        let before = i.checked_sub(1).map(|p| &draft.steps[p]);
        let twin = before.is_some_and(|b| is_twin(b, drafted)) && rows.last().is_some_and(|r| r.steps.len() == 1);
        if twin && let Some(row) = rows.last_mut() {
            row.steps.push(i);
            row.side = text("side.left_then_right").to_owned();
            add_reasons(atlas, clearance, drafted, &mut row.why);
            continue;
        }
        let said = tell::step(atlas, step);
        let mut why = Vec::new();
        add_reasons(atlas, clearance, drafted, &mut why);
        rows.push(Row {
            movement: step.movement,
            target: step.target_id(atlas),
            steps: vec![i],
            start_s: drafted.start_s,
            seconds: step.seconds,
            side: said.side.to_owned(),
            said,
            pressure: tell::pressure(step.pressure),
            hand_side: step.side,
            hand_pressure: step.pressure,
            why,
        });
    }
    rows
}

fn is_twin(left: &DraftStep, right: &DraftStep) -> bool {
    let (l, r) = (&left.step, &right.step);
    (l.side, r.side) == (Side::Left, Side::Right)
        && (l.movement, l.what, l.tool, l.pressure, l.seconds) == (r.movement, r.what, r.tool, r.pressure, r.seconds)
}

fn add_reasons(atlas: &Atlas, clearance: &Clearance, step: &DraftStep, reasons: &mut Vec<String>) {
    for why in &step.why {
        let said = tell::why(atlas, clearance, &step.step, why);
        if !reasons.contains(&said) {
            reasons.push(said);
        }
    }
}

/// The list, a heading for each movement.
pub fn list(rows: &[Row]) -> Markup {
    html! {
        @for movement in Movement::ALL {
            @let part: Vec<&Row> = rows.iter().filter(|r| r.movement == *movement).collect();
            @if !part.is_empty() {
                section class={ "movement part-" (movement) } {
                    h2 { (tell::movement(*movement)) }
                    ol.steps { @for row in part { (one(row)) } }
                }
            }
        }
    }
}

fn one(row: &Row) -> Markup {
    let said = &row.said;
    let steps = row.steps.iter().map(|i| (i + 1).to_string()).collect::<Vec<_>>().join(" ");
    html! {
        li.step data-steps=(steps) data-target=(row.target) {
            span.mark aria-hidden="true" { (drawing::mark(said.mark, row.hand_side, row.hand_pressure)) }
            p.time {
                span.seconds { (row.seconds) " " span.unit { (text("step.seconds_unit")) } }
                @if row.steps.len() > 1 { span.each { (text("step.each")) } }
                span.at { span.unseen { (text("step.begins")) } (clock(row.start_s)) }
            }
            div.what {
                p.does {
                    strong { (sentence_case(said.does)) } " "
                    span.place { (said.place) }
                }
                p.how {
                    @if !row.side.is_empty() { span.side { (row.side) } " · " }
                    (how(row))
                }
                @if let Some(caution) = said.caution { p.caution { strong { (text("step.mind")) } " " (caution) } }
                details {
                    summary { (text("step.more")) span.unseen { (fill("step.of", &[("place", &said.place)])) } }
                    @if !said.find.is_empty() { p { strong { (text("step.find")) } " " (said.find) } }
                    p { strong { (text("step.do")) } " " (said.says) }
                    @if let Some(support) = said.support { p { strong { (text("step.other_hand")) } " " (support) } }
                    @if !row.why.is_empty() {
                        p.why-head { strong { (text("step.why")) } }
                        ul { @for why in &row.why { li { (why) } } }
                    }
                }
            }
        }
    }
}

/// How hard, with what, how many laps.
pub fn how(row: &Row) -> String {
    let mut parts = vec![row.pressure.to_owned(), row.said.tool.to_owned()];
    match row.said.laps {
        Some(1) => parts.push(text("step.one_lap").to_owned()),
        Some(laps) => parts.push(fill("step.laps", &[("laps", &laps)])),
        None => {}
    }
    parts.join(" · ")
}

/// What is read aloud at a step.
pub fn aloud(said: &Said, side: &str, pressure: &str, s: u32) -> String {
    let place = if side.is_empty() { said.place.clone() } else { listed_with_comma(&said.place, side) };
    let mut words = fill(
        "step.aloud",
        &[
            ("does", &sentence_case(said.does)),
            ("place", &place),
            ("pressure", &sentence_case(pressure)),
            ("seconds", &seconds(s)),
        ],
    );
    if let Some(caution) = said.caution {
        words.push(' ');
        words.push_str(caution);
    }
    words
}

fn listed_with_comma(place: &str, side: &str) -> String {
    fill("place.with_side", &[("place", &place), ("side", &side)])
}
