//! The page of a visit: what its photographs say, and how far that can be trusted.

use maud::{Markup, PreEscaped, html};
use measure::{Gate, Leading, Mode, Value};

use super::measure_ask::tones;
use super::measure_bars::Quantity;
use super::measure_store::Visit;
use super::page::{self, Here};
use super::visitor::token;
use crate::catalogue::{fill, listed, text};
use crate::measuring::visit::Combined;
use crate::measuring::{Taken, overlay, words};

/// A photograph of the visit: its number in the album, and what was measured; or why not, in words.
pub type Photo = (u64, Result<Taken, String>);

/// The whole page.
pub fn page(visit: &Visit, photos: &[Photo], combined: Option<&Combined>) -> Markup {
    let title = text(if visit.invented { "measpage.title_invented" } else { "measpage.title_visit" });
    let main = html! {
        div.heading { div {
            h1 { (title) }
            p.lead { (lead(visit, photos, combined)) }
        } }
        @for why in &visit.refused { div.missing role="alert" { p { (why) } } }
        div.face-work.me-work {
            div.face-picture.me-pictures {
                @for (n, (face, photo)) in photos.iter().enumerate() { (picture(n + 1, *face, photo)) }
            }
            div.face-list {
                @if let Some(combined) = combined {
                    (values(combined))
                    (leading(combined))
                    (more(combined))
                    (trust(combined, photos))
                }
                (class(visit))
                (actions(visit))
            }
        }
    };
    page::whole(Here::Measure, title, main)
}

fn lead(visit: &Visit, photos: &[Photo], combined: Option<&Combined>) -> String {
    let invented = if visit.invented { format!("{} ", text("mappage.invented_lead")) } else { String::new() };
    let said = match combined {
        None => text("measpage.nothing").to_owned(),
        Some(c) if c.visit.photographs == 1 => text("measpage.from_one").to_owned(),
        Some(c) => fill("measpage.from", &[("n", &c.visit.photographs), ("all", &photos.len())]),
    };
    format!("{invented}{said}")
}

/// One photograph with what was averaged drawn over it, and its conditions.
fn picture(n: usize, face: u64, photo: &Result<Taken, String>) -> Markup {
    let title = fill("mappage.brought_one", &[("n", &n)]);
    html! {
        figure.me-photo id={ "photo-" (n) } {
            figcaption { h2 { (title) } }
            @match photo {
                Err(why) => { div.missing { p { (why) } } }
                Ok(taken) => {
                    (PreEscaped(overlay::svg(taken, &format!("/map/{face}/photo.jpg"), &format!("p{n}"))))
                    p.legend { (text(if taken.patches.is_empty() { "measpage.legend" } else { "measpage.legend_card" })) }
                    (gates(taken))
                    @if !taken.warnings.is_empty() {
                        ul.me-mind aria-label=(text("mappage.warnings")) { @for w in &taken.warnings { li { (w) } } }
                    }
                }
            }
            p { a.button href={ "/map/" (face) "?correct=1" } { (text("measpage.correct")) } }
        }
    }
}

/// What failed, with what to do; what was passed, folded.
fn gates(taken: &Taken) -> Markup {
    let (passed, failed): (Vec<&Gate>, Vec<&Gate>) = taken.measured.gates.iter().partition(|g| g.passed);
    html! {
        @if !failed.is_empty() {
            div.missing.me-gates {
                p { (text("measpage.failed")) }
                ul {
                    @for gate in &failed {
                        li {
                            strong { (words::gate_title(gate.name)) } ": " (words::gate_value(gate)) ". "
                            (words::advice(gate.name))
                        }
                    }
                }
            }
        }
        details.me-passed {
            summary { (fill("measpage.passed", &[("n", &passed.len()), ("all", &taken.measured.gates.len())])) }
            ul { @for gate in &passed { li { (words::gate_title(gate.name)) ": " (words::gate_value(gate)) } } }
        }
    }
}

fn quantity(
    id: &'static str,
    [title, hint]: [&'static str; 2],
    sides: [Option<Value>; 2],
    decimals: usize,
    range: [f64; 2],
) -> Quantity {
    Quantity { id, title: text(title), hint: text(hint), sides, decimals, range }
}

/// The shadow, as bars.
fn values(combined: &Combined) -> Markup {
    let [right, left] = &combined.visit.sides;
    let both = |pick: &dyn Fn(&measure::VisitSide) -> Option<Value>| [pick(left), pick(right)];
    let colour = [
        quantity("de", ["measpage.de", "measpage.de_hint"], both(&|s| Some(s.shadow.de)), 1, [0.0, 12.0]),
        quantity("dl", ["measpage.dl", "measpage.dl_hint"], both(&|s| Some(s.shadow.l)), 1, [-12.0, 4.0]),
        quantity("da", ["measpage.da", "measpage.da_hint"], both(&|s| Some(s.shadow.a)), 1, [-6.0, 6.0]),
        quantity("db", ["measpage.db", "measpage.db_hint"], both(&|s| Some(s.shadow.b)), 1, [-6.0, 6.0]),
    ];
    let [_, de] = combined.visit.difference;
    let apart = if de.value.abs() <= de.u95 {
        "measpage.alike"
    } else if de.value > 0.0 {
        "measpage.left_more"
    } else {
        "measpage.right_more"
    };
    html! {
        section.me-values aria-labelledby="values-title" {
            h2 #values-title { (text("measpage.values")) }
            p { (text("measpage.values_how")) }
            @for q in &colour { (q.row()) }
            p.me-apart { (fill(apart, &[("value", &words::value(de, 1))])) }
        }
    }
}

/// The parts, and what leads.
fn leading(combined: &Combined) -> Markup {
    let [right, left] = &combined.visit.sides;
    let range = [-0.05, 0.15];
    let part = |k: usize| [left.parts[k], right.parts[k]];
    let parts = [
        quantity("brown", ["measpage.brown", "measpage.brown_hint"], part(0), 3, range),
        quantity("blue", ["measpage.blue_red", "measpage.blue_red_hint"], part(1), 3, range),
        quantity("relief", ["measpage.relief", "measpage.relief_hint"], part(2), 3, range),
    ];
    let [r, l] = combined.leading();
    html! {
        section.me-values aria-labelledby="leads-title" {
            h2 #leads-title { (text("measpage.leads")) }
            dl.me-leads {
                div { dt { (text("measure.left")) } dd { (words::leading(l)) } }
                div { dt { (text("measure.right")) } dd { (words::leading(r)) } }
            }
            p { (text("measpage.tests")) }
            ol.me-tests {
                li { (text("measpage.test_stretch")) }
                li { (text("measpage.test_tilt")) }
            }
            p.hint { (text("measure.no_diagnosis")) }
            @if [l, r].contains(&Leading::CannotTell) { p.hint { (text("measpage.untold_why")) } }
            @for q in &parts { (q.row()) }
        }
    }
}

/// The rest, as a table.
fn more(combined: &Combined) -> Markup {
    let [right, left] = &combined.visit.sides;
    let [mr, ml] = &combined.more;
    let said = |v: Option<Value>, decimals| {
        v.map_or_else(|| text("measpage.untold").to_owned(), |v| words::value(v, decimals))
    };
    let mut rows = vec![
        (text("measure.row_ita"), said(left.shadow.ita, 0), said(right.shadow.ita, 0)),
        (text("measpage.plain_de"), said(Some(ml.as_photographed.de), 1), said(Some(mr.as_photographed.de), 1)),
        (text("measpage.plain_l"), said(Some(ml.as_photographed.l), 1), said(Some(mr.as_photographed.l), 1)),
    ];
    for (l, r) in ml.heights.iter().zip(&mr.heights) {
        let key = match l.0 {
            "brow" => text("measure.row_brow"),
            "lid_opening" => text("measure.row_lid_opening"),
            "mouth_corner" => text("measure.row_mouth_corner"),
            _ => text("measure.row_jaw"),
        };
        rows.push((key, said(Some(l.1), 1), said(Some(r.1), 1)));
    }
    if combined.mode == Mode::Referenced {
        for (k, key) in [text("measure.row_redness"), text("measure.row_yellowness")].into_iter().enumerate() {
            rows.push((key, said(ml.sclera.map(|s| s[k]), 1), said(mr.sclera.map(|s| s[k]), 1)));
        }
    }
    html! {
        details.me-more {
            summary { h2 { (text("measpage.more")) } }
            p.hint { (text("measpage.more_hint")) }
            table {
                thead { tr {
                    th scope="col" { (text("measpage.what")) }
                    th scope="col" { (text("measure.left")) }
                    th scope="col" { (text("measure.right")) }
                } }
                tbody { @for (what, l, r) in &rows { tr { th scope="row" { (what) } td { (l) } td { (r) } } } }
            }
        }
    }
}

/// How the colours were read, and what more photographs gain.
fn trust(combined: &Combined, photos: &[Photo]) -> Markup {
    let spreads: Vec<String> =
        combined.visit.sides.iter().rev().filter_map(|s| s.spread).map(|s| format!("{s:.1}")).collect();
    let assumed = photos.iter().any(|p| p.1.as_ref().is_ok_and(|t| t.profile_assumed));
    html! {
        section.me-trust aria-labelledby="trust-title" {
            h2 #trust-title { (text("measpage.trust")) }
            p { (words::mode(combined.mode)) " " (text(if combined.mode == Mode::Relative { "measpage.relative" } else { "measpage.referenced" })) }
            p { (text("measpage.gain")) }
            @if !spreads.is_empty() { p { (fill("measpage.spread", &[("values", &listed(&spreads))])) } }
            @if assumed { p.hint { (text("measpage.assumed")) } }
            @for w in &combined.warnings { p.gently { (w) } }
        }
    }
}

/// The skin class, to be chosen anew.
fn class(visit: &Visit) -> Markup {
    html! {
        details.me-class {
            summary { h2 { (text("measpage.class")) } }
            form method="post" action={ "/measure/" (visit.id) "/tone" } {
                (token())
                (tones(visit.tone))
                div.act { button type="submit" { (text("measpage.again")) } }
            }
        }
    }
}

fn actions(visit: &Visit) -> Markup {
    html! {
        div.act.face-act {
            a.button.go href="/measure" { (text("measpage.others")) }
            form method="post" action={ "/measure/" (visit.id) "/forget" } {
                (token())
                button.quiet type="submit" { (text("measpage.forget")) }
            }
        }
    }
}
