//! The page of a visit: what its photographs say, and how far that can be trusted.

use maud::{Markup, PreEscaped, html};
use measure::{Gate, Leading, Mode, Value};

use super::measure_ask::tones;
use super::measure_bars::Quantity;
use super::measure_store::Visit;
use super::page::{self, Here};
use super::visitor::token;
use crate::catalogue::{fill, listed, text};
use crate::measuring::figures::{Figures, Looked, SideFigures};
use crate::measuring::{overlay, words};

/// A photograph of the visit: its number in the album, and what was measured; or why not, in words.
pub type Photo = (u64, Result<Looked, String>);

/// The whole page.
pub fn page(visit: &Visit, photos: &[Photo], combined: Option<&Figures>) -> Markup {
    let title = text(if visit.invented { "measpage.title_invented" } else { "measpage.title_visit" });
    let main = html! {
        div.heading { div {
            h1 { (title) }
            p.lead { (lead(visit, photos, combined)) }
        } }
        @for why in &visit.refused { div.missing role="alert" { p { (why) } } }
        div.face-work.me-work {
            div.face-picture.me-pictures {
                @for (n, (face, photo)) in photos.iter().enumerate() { (picture(n + 1, &format!("/map/{face}/photo.jpg"), photo, &correct(*face))) }
            }
            div.face-list {
                @if let Some(combined) = combined {
                    (values(combined))
                    (leading(combined))
                    (more(combined))
                    (trust(combined, photos.iter().any(|p| p.1.as_ref().is_ok_and(|t| t.profile_assumed))))
                }
                (class(visit))
                (actions(visit))
            }
        }
    };
    page::whole(Here::Measure, title, main)
}

fn lead(visit: &Visit, photos: &[Photo], combined: Option<&Figures>) -> String {
    let invented = if visit.invented { format!("{} ", text("mappage.invented_lead")) } else { String::new() };
    let said = match combined {
        None => text("measpage.nothing").to_owned(),
        Some(c) if c.photographs == 1 => text("measpage.from_one").to_owned(),
        Some(c) => fill("measpage.from", &[("n", &c.photographs), ("all", &photos.len())]),
    };
    format!("{invented}{said}")
}

/// One photograph with what was averaged drawn over it, and its conditions.
/// `href`: the picture's address; `beneath`: what may be done with it.
pub fn picture(n: usize, href: &str, photo: &Result<Looked, String>, beneath: &Markup) -> Markup {
    let title = fill("mappage.brought_one", &[("n", &n)]);
    html! {
        figure.me-photo id={ "photo-" (n) } {
            figcaption { h2 { (title) } }
            @match photo {
                Err(why) => { div.missing { p { (why) } } }
                Ok(taken) => {
                    (PreEscaped(overlay::svg(taken, href, &format!("p{n}"))))
                    p.legend { (text(if taken.patches.is_empty() { "measpage.legend" } else { "measpage.legend_card" })) }
                    (gates(taken))
                    @if !taken.warnings.is_empty() {
                        ul.me-mind aria-label=(text("mappage.warnings")) { @for w in &taken.warnings { li { (w) } } }
                    }
                }
            }
            (beneath)
        }
    }
}

fn correct(face: u64) -> Markup {
    html! { p { a.button href={ "/map/" (face) "?correct=1" } { (text("measpage.correct")) } } }
}

/// What failed, with what to do; what was passed, folded.
fn gates(taken: &Looked) -> Markup {
    let (passed, failed): (Vec<&Gate>, Vec<&Gate>) = taken.gates.iter().partition(|g| g.passed);
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
            summary { (fill("measpage.passed", &[("n", &passed.len()), ("all", &taken.gates.len())])) }
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
pub fn values(combined: &Figures) -> Markup {
    let [right, left] = &combined.sides;
    let both = |pick: &dyn Fn(&SideFigures) -> Option<Value>| [pick(left), pick(right)];
    let colour = [
        quantity("de", ["measpage.de", "measpage.de_hint"], both(&|s| Some(s.shadow.de)), 1, [0.0, 12.0]),
        quantity("dl", ["measpage.dl", "measpage.dl_hint"], both(&|s| Some(s.shadow.l)), 1, [-12.0, 4.0]),
        quantity("da", ["measpage.da", "measpage.da_hint"], both(&|s| Some(s.shadow.a)), 1, [-6.0, 6.0]),
        quantity("db", ["measpage.db", "measpage.db_hint"], both(&|s| Some(s.shadow.b)), 1, [-6.0, 6.0]),
    ];
    let de = combined.apart;
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
pub fn leading(combined: &Figures) -> Markup {
    let [right, left] = &combined.sides;
    let range = [-0.05, 0.15];
    let part = |k: usize| [left.parts[k], right.parts[k]];
    let parts = [
        quantity("brown", ["measpage.brown", "measpage.brown_hint"], part(0), 3, range),
        quantity("blue", ["measpage.blue_red", "measpage.blue_red_hint"], part(1), 3, range),
        quantity("relief", ["measpage.relief", "measpage.relief_hint"], part(2), 3, range),
    ];
    let [r, l] = [right.leading, left.leading];
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
pub fn more(combined: &Figures) -> Markup {
    let [right, left] = &combined.sides;
    let [mr, ml] = [right, left];
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
pub fn trust(combined: &Figures, assumed: bool) -> Markup {
    let spreads: Vec<String> =
        combined.sides.iter().rev().filter_map(|s| s.spread).map(|s| format!("{s:.1}")).collect();
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
