//! The safety questions: five groups, each group's own questions, and the warning signs.
//!
//! A group's own questions are always in the page and shown by the style sheet once its answer is *yes* or *not
//! sure*, so that they need neither script nor a second page.

use maud::{Markup, html};
use plan::atlas::{Atlas, Condition, ConditionIx, Group, GroupIx, RuleZones, WarningSign, ZoneIx};
use plan::screening::Answer;
use vocab::Side;

use super::form::Ask;
use crate::catalogue::{fill, sentence_case, text};

/// All questions. `again`: those without an answer say so.
pub fn all(atlas: &Atlas, ask: &Ask, again: bool) -> Markup {
    html! {
        fieldset.safety {
            legend { (text("ask.title")) }
            p.hint { (text("ask.hint")) }
            @for (g, group) in atlas.groups.iter().enumerate() {
                (one_group(atlas, ask, GroupIx(g), group, again))
            }
            div.full {
                label.choice for="full" {
                    input #full type="checkbox" name="full" value="yes" checked[ask.full];
                    span { (text("ask.full")) }
                }
                p.hint { (text("ask.full_hint")) }
            }
            (signs(atlas, ask))
        }
    }
}

fn one_group(atlas: &Atlas, ask: &Ask, ix: GroupIx, group: &Group, again: bool) -> Markup {
    let answer = ask.groups[ix.0];
    let hint = format!("hint-{}", group.id);
    let missing = again && answer.is_none() && !ask.full;
    html! {
        fieldset.group #{ "group-" (group.id) } aria-describedby=(hint) {
            legend { (group.question) }
            p.hint #(hint) { (group.think_of) }
            @if missing { p.please { (text("ask.please")) } }
            (answers(&format!("group.{}", group.id), answer))
            div.own {
                p.hint { (text("ask.own")) }
                @for (c, condition) in atlas.conditions.iter().enumerate().filter(|(_, c)| c.group == ix) {
                    (one_condition(atlas, ask, ConditionIx(c), condition, again))
                }
                @let id = format!("rest-{}", group.id);
                label.choice.rest for=(id) {
                    input #(id) type="checkbox" name={ "rest." (group.id) } value="no" checked[ask.rest[ix.0]];
                    span { (text("ask.rest")) }
                }
            }
        }
    }
}

/// Three radios: no, yes, not sure.
fn answers(name: &str, chosen: Option<Answer>) -> Markup {
    html! {
        div.row.answers {
            @for (word, answer) in Answer::WORDS {
                @let id = format!("{name}.{word}");
                label.choice for=(id) {
                    input #(id) class=(word) type="radio" name=(name) value=(word) checked[chosen == Some(*answer)];
                    span { (answer_word(*answer)) }
                }
            }
        }
    }
}

fn answer_word(answer: Answer) -> &'static str {
    match answer {
        Answer::No => text("ask.no"),
        Answer::Yes => text("ask.yes"),
        Answer::Unknown => text("ask.unknown"),
    }
}

fn one_condition(atlas: &Atlas, ask: &Ask, ix: ConditionIx, condition: &Condition, again: bool) -> Markup {
    let own = &ask.own[ix.0];
    let missing = again && own.answer.is_none() && ask.group_open(condition.group) && !ask.rest[condition.group.0];
    let asks_more = !condition.places.is_empty() || condition.asks_side || condition.asks_since;
    html! {
        fieldset.condition #{ "own-" (condition.id) } {
            legend { (condition.question) }
            @if missing { p.please { (text("ask.please")) } }
            (answers(&format!("own.{}", condition.id), own.answer))
            @if asks_more {
                div.more {
                    @if !condition.places.is_empty() {
                        (places(atlas, &format!("where.{}", condition.id), &condition.places, &own.places))
                    }
                    @if condition.asks_side { (sides(&format!("side.{}", condition.id), own.side)) }
                    @if condition.asks_since {
                        @let id = format!("since.{}", condition.id);
                        label.date for=(id) {
                            span { (text("ask.since")) }
                            input #(id) type="date" name=(id) value=[own.since];
                        }
                    }
                }
            }
        }
    }
}

/// Where: every place offered; none ticked counts as everywhere.
fn places(atlas: &Atlas, name: &str, offered: &[ZoneIx], ticked: &[ZoneIx]) -> Markup {
    html! {
        fieldset.where {
            legend { (text("ask.where")) }
            div.places {
                @for zone in offered {
                    @let id = format!("{name}.{}", atlas.zone(*zone).id);
                    label.choice for=(id) {
                        input #(id) type="checkbox" name=(name) value=(atlas.zone(*zone).id) checked[ticked.contains(zone)];
                        span { (sentence_case(&atlas.zone(*zone).name)) }
                    }
                }
            }
        }
    }
}

fn sides(name: &str, chosen: Option<Side>) -> Markup {
    html! {
        fieldset.where {
            legend { (text("ask.side")) }
            div.row {
                @for (side, label) in [
                    (Side::Left, text("ask.left")),
                    (Side::Right, text("ask.right")),
                    (Side::Both, text("ask.both")),
                ] {
                    @let id = format!("{name}.{side}");
                    label.choice for=(id) {
                        input #(id) type="radio" name=(name) value=(side) checked[chosen == Some(side)];
                        span { (label) }
                    }
                }
            }
        }
    }
}

fn signs(atlas: &Atlas, ask: &Ask) -> Markup {
    html! {
        details.signs open[ask.signs.iter().any(|s| s.today)] {
            summary { (text("ask.signs")) }
            p.hint { (text("ask.signs_hint")) }
            @for (ix, sign) in atlas.warning_signs.iter().enumerate() { (one_sign(atlas, ask, ix, sign)) }
        }
    }
}

fn one_sign(atlas: &Atlas, ask: &Ask, ix: usize, sign: &WarningSign) -> Markup {
    let said = &ask.signs[ix];
    let id = format!("sign-{}", sign.id);
    html! {
        div.sign {
            label.choice for=(id) {
                input #(id).yes type="checkbox" name={ "sign." (sign.id) } value="yes" checked[said.today];
                span { (sentence_case(&sign.sign)) }
            }
            @if sign.zones == RuleZones::Where && !sign.places.is_empty() {
                div.more role="group" aria-label=(fill("ask.where_of", &[("what", &sign.sign)])) {
                    (places(atlas, &format!("sign_where.{}", sign.id), &sign.places, &said.places))
                    (sides(&format!("sign_side.{}", sign.id), said.side))
                }
            }
        }
    }
}
