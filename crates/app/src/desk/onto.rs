//! The steps of a routine beside a face.

use maud::{Markup, html};
use plan::atlas::Atlas;
use vocab::Movement;

use super::album::Onto;
use super::routine;
use crate::catalogue::{fill, seconds, sentence_case, text};
use crate::drawing;
use crate::tell;

/// The steps by movement; those of `left_out` are said to be on the drawing only.
pub fn steps(atlas: &Atlas, onto: &Onto, left_out: &[usize]) -> Markup {
    let steps = &onto.draft.steps;
    html! {
        (routine::notices(atlas, &onto.draft))
        @if !left_out.is_empty() { p.gently { (fill("mappage.not_on_photo", &[("n", &left_out.len())])) } }
        @for movement in Movement::ALL {
            @if steps.iter().any(|s| s.step.movement == *movement) {
                section.movement {
                    h2 { (tell::movement(*movement)) }
                    ol.steps.onto-steps {
                        @for (i, drafted) in steps.iter().enumerate().filter(|(_, s)| s.step.movement == *movement) {
                            @let step = &drafted.step;
                            @let said = tell::step(atlas, step);
                            li.step data-steps=(i + 1) {
                                span.mark aria-hidden="true" { (drawing::mark(said.mark, step.side, step.pressure)) }
                                p.time { span.seconds { (i + 1) } span.at { (seconds(step.seconds)) } }
                                div.what {
                                    p.does { strong { (sentence_case(said.does)) } " " span.place { (said.place) } }
                                    p.how {
                                        @if !said.side.is_empty() { span.side { (said.side) } " · " }
                                        (tell::pressure(step.pressure)) " · " (said.tool)
                                    }
                                    @if let Some(caution) = said.caution { p.caution { strong { (text("step.mind")) } " " (caution) } }
                                    @if left_out.contains(&i) { p.hint { (text("mappage.step_not_on_photo")) } }
                                }
                            }
                        }
                    }
                }
            }
        }
        (routine::warning_signs(atlas))
    }
}
