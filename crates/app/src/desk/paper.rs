//! The page to print: the face at true scale with a bar to measure, or as large as the page allows.

use maud::{Markup, PreEscaped, html};
use plan::atlas::Atlas;
use sketch::Scale;

use super::looking::Looking;
use super::own_face::Shown;
use super::page::{self, Here};
use crate::catalogue::{fill, text};
use crate::own::desk::{self, Upon};

/// The page.
pub fn page(atlas: &Atlas, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let upon = match shown.routine {
        Some(routine) => Upon::Routine(&routine.draft),
        None => Upon::Map(looking.kinds, looking.chosen.as_ref().map(|(p, s)| (p.as_str(), *s))),
    };
    let scale = if looking.fit { Scale::Fit } else { Scale::True };
    let printed = desk::print(atlas, shown.of.map(|(_, held)| &held.seen.map), upon, scale, "paper");
    let address = shown.address();
    let other = Looking { fit: !looking.fit, ..looking.clone() };
    let main = html! {
        div.paper-head {
            h1 { @if looking.fit { (text("mappage.print_fit_title")) } @else { (text("mappage.print_true_title")) } }
            p.lead { @if looking.fit { (text("mappage.print_fit_how")) } @else { (text("mappage.print_true_how")) } }
            @if shown.of.is_none() && !looking.fit { p.gently { (text("mappage.print_drawn")) } }
            @if shown.routine.is_some() && !printed.left_out.is_empty() {
                p.gently { (fill("mappage.not_on_paper", &[("n", &printed.left_out.len())])) }
            }
            div.act {
                button.go #print-map type="button" hidden { (text("mappage.print_now")) }
                a.button href={ (address) "/print" (other.query()) } {
                    @if looking.fit { (text("mappage.print_true")) } @else { (text("mappage.print_fit")) }
                }
                a.button href={ (address) (Looking { fit: false, ..looking.clone() }.query()) } { (text("mappage.back")) }
            }
        }
        @if let Some(bound) = shown.bound { (bound.on_paper(atlas)) }
        div.paper tabindex="0" role="region" aria-label=(text("mappage.paper")) { (PreEscaped(printed.svg)) }
    };
    page::whole(Here::Paper, text("mappage.print"), main)
}
