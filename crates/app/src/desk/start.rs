//! The Start page: what for, how long, with what, and the questions.

use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::reading::HANDS;

use super::form::{Ask, MINUTES, USUAL_MINUTES};
use super::visitor::{self, token};
use super::{page, questions};
use crate::catalogue::{sentence_case, text};
use crate::drawing;

/// The whole page. `again`: something was sent that can't be worked with yet.
pub fn page(atlas: &Atlas, ask: &Ask, again: bool) -> Markup {
    let main = html! {
        div.start {
            div.ask {
                h1 { (text("start.title")) }
                p.lead { (text("start.lead")) }
                @if !visitor::me().is_some_and(|m| m.inside) {
                    p.hint.offer { (text("start.practice")) " " a href="/due" { (text("start.to_practice")) } }
                }
                @if again { (missing(atlas, ask)) }
                (form(atlas, ask, again))
            }
            div.sheet { (drawing::bare()) p.legend { (text("start.sheet")) } }
        }
    };
    page::whole(page::Here::Start, text("start.page"), main)
}

/// What is still to be said, with links to it.
fn missing(atlas: &Atlas, ask: &Ask) -> Markup {
    let groups = ask.open_groups();
    let conditions = ask.open_conditions(atlas);
    html! {
        div.missing role="alert" {
            p { (text("start.missing")) }
            ul {
                @if ask.concerns.is_empty() { li { a href="#what-for" { (text("start.missing_concern")) } } }
                @for g in &groups {
                    li { a href={ "#group-" (atlas.groups[g.0].id) } { (atlas.groups[g.0].question) } }
                }
                @for c in &conditions {
                    li { a href={ "#own-" (atlas.conditions[c.0].id) } { (atlas.conditions[c.0].question) } }
                }
            }
        }
    }
}

/// The form with minutes of its own. `again`: what is unanswered says so.
pub fn form(atlas: &Atlas, ask: &Ask, again: bool) -> Markup {
    html! {
        form #ask method="post" action="/routine" {
            (token())
            (concerns(atlas, ask))
            (minutes(ask))
            (hands(atlas, ask))
            (questions::all(atlas, ask, again))
            div.act {
                button.go type="submit" { (text("start.make")) }
                p.hint { (text("start.make_hint")) }
            }
        }
    }
}

/// The form without minutes: on the routine's page the slider gives them.
pub fn form_again(atlas: &Atlas, ask: &Ask) -> Markup {
    html! {
        form #ask method="post" action="/routine" {
            (token())
            (concerns(atlas, ask))
            (hands(atlas, ask))
            (questions::all(atlas, ask, false))
            div.act { button.quiet type="submit" { (text("start.make_again")) } }
        }
    }
}

fn concerns(atlas: &Atlas, ask: &Ask) -> Markup {
    html! {
        fieldset #what-for {
            legend { (text("start.what_for")) }
            p.hint { (text("start.what_for_hint")) }
            div.choices {
                @for (ix, concern) in atlas.concerns.iter().enumerate() {
                    @let id = format!("concern-{}", concern.id);
                    label.choice for=(id) {
                        input #(id) type="checkbox" name="concern" value=(concern.id)
                            checked[ask.concerns.iter().any(|c| c.0 == ix)];
                        span { (sentence_case(&concern.name)) }
                    }
                }
            }
        }
    }
}

fn minutes(ask: &Ask) -> Markup {
    let chosen = ask.minutes_or_usual();
    let usual = USUAL_MINUTES.contains(&chosen);
    html! {
        fieldset {
            legend { (text("start.minutes")) }
            div.row {
                @for m in USUAL_MINUTES {
                    @let id = format!("minutes-{m}");
                    label.choice for=(id) {
                        input #(id) type="radio" name="minutes" value=(m) checked[chosen == m];
                        span { (m) }
                    }
                }
                label.choice for="minutes-other" {
                    input #minutes-other type="radio" name="minutes" value="other" checked[!usual];
                    span { (text("start.other")) }
                }
                label.number for="other" {
                    span.unseen { (text("start.other_label")) }
                    input #other type="number" name="other" inputmode="numeric"
                        min=(MINUTES.start()) max=(MINUTES.end()) value=(if usual { 10 } else { chosen });
                    span { (text("start.minutes_unit")) }
                }
            }
        }
    }
}

fn hands(atlas: &Atlas, ask: &Ask) -> Markup {
    html! {
        fieldset {
            legend { (text("start.with")) }
            p.hint { (text("start.with_hint")) }
            div.choices {
                @for (ix, tool) in atlas.tools.iter().enumerate().filter(|(_, t)| t.id != HANDS) {
                    @let id = format!("tool-{}", tool.id);
                    label.choice for=(id) {
                        input #(id) type="checkbox" name="tool" value=(tool.id)
                            checked[ask.tools.iter().any(|t| t.0 == ix)];
                        span { (sentence_case(&tool.name)) }
                    }
                }
            }
            fieldset.inner {
                legend { (text("start.hands")) }
                div.row {
                    @for (value, label, on) in [
                        ("one", text("start.one_hand"), !ask.both),
                        ("both", text("start.both_hands"), ask.both),
                    ] {
                        @let id = format!("hands-{value}");
                        label.choice for=(id) {
                            input #(id) type="radio" name="hands" value=(value) checked[on];
                            span { (label) }
                        }
                    }
                }
                p.hint { (text("start.sitting")) }
            }
        }
    }
}
