//! The list of places on a face: what it is, where in words and millimetres, how sure, what to mind, from where it is known.

use face::OwnMap;
use maud::{Markup, html};
use plan::atlas::{Atlas, Kind, Shown as How, Target};
use vocab::Side;

use super::looking::Looking;
use super::own_face::Shown;
use crate::catalogue::{fill, full_stop, sentence_case, text};
use crate::own::sides;
use crate::tell;

/// Skin that faces the camera less than this is edge on or hidden.
const SEEN: f64 = 0.1;

/// Every place, in sections.
pub fn all(atlas: &Atlas, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let points = || atlas.targets.iter().filter(|t| t.kind == Kind::Point);
    let of = |wanted: fn(&How) -> bool| points().filter(move |t| wanted(&t.shown)).collect::<Vec<_>>();
    let kind = |kind: Kind| {
        let hand = |t: &&Target| t.kind == kind && !matches!(t.shown, How::Never(_));
        atlas.targets.iter().filter(hand).collect::<Vec<_>>()
    };
    let never = atlas.targets.iter().filter(|t| matches!(t.shown, How::Never(_)));
    let (photo, sketch) = (of(|s| *s == How::Photo), of(|s| *s == How::Sketch));
    html! {
        section.place-list #on-face {
            h2 { (text("mappage.on_face")) }
            (list(&photo, shown, looking))
        }
        (folded("by-touch", text("mappage.by_touch"), text("mappage.by_touch_hint"), &sketch, shown, looking))
        (folded("zones", text("mappage.zones"), text("mappage.zones_hint"), &kind(Kind::Zone), shown, looking))
        (folded("lines", text("mappage.lines"), text("mappage.lines_hint"), &kind(Kind::Line), shown, looking))
        details.place-list.never #never {
            summary { h2 { (text("mappage.never")) } }
            dl {
                @for target in never {
                    @if let How::Never(why) = &target.shown {
                        div { dt { (sentence_case(&target.name)) " " span.code { (target.id) } } dd { (why) } }
                    }
                }
            }
        }
    }
}

/// A section that opens where the chosen place lies in it.
fn folded(id: &str, heading: &str, hint: &str, targets: &[&Target], shown: &Shown<'_>, looking: &Looking) -> Markup {
    let open = looking.chosen.as_ref().is_some_and(|(p, _)| targets.iter().any(|t| t.id == *p));
    html! {
        details.place-list #(id) open[open] {
            summary { h2 { (heading) } span.count { (fill("routine.count", &[("n", &targets.len())])) } }
            p.hint { (hint) }
            (list(targets, shown, looking))
        }
    }
}

fn list(targets: &[&Target], shown: &Shown<'_>, looking: &Looking) -> Markup {
    html! { ul { @for target in targets { (row(target, shown, looking)) } } }
}

fn row(target: &Target, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let map = shown.of.map(|(_, held)| &held.seen.map);
    let chosen = looking.chosen.as_ref().filter(|(p, _)| *p == target.id).map(|(_, s)| *s);
    html! {
        li.place-row.chosen[chosen.is_some()] data-place=(target.id) id={ "p-" (target.id) } {
            p.place-name { strong { (sentence_case(&target.name)) } @if target.kind == Kind::Point { " " span.code { (target.id) } } }
            div.place-sides {
                @for side in sides(target.sides) {
                    @let said = shown.bound.and_then(|b| b.said(&target.id, *side));
                    a.(said.map_or("", |s| s.pattern())) href={ (shown.address()) (to(target, *side, looking).query()) "#p-" (target.id) }
                        data-pick=(target.id) data-side=(side.word())
                        aria-current=[looking.is(&target.id, *side).then_some("true")] {
                        span.unseen { (sentence_case(&target.name)) ", " }
                        (sentence_case(tell::side(*side)))
                        @if let Some(mm) = sure(map, target, *side) { span.sure { ", " (mm) } }
                        @if let Some(said) = said { span.class { ": " (said.word()) } }
                    }
                }
            }
            @if let Some(bound) = shown.bound { (bound.reasons(&target.id, sides(target.sides))) }
            div.place-more {
                @for side in sides(target.sides) {
                    @if let Some(where_mm) = millimetres(map, target, *side) {
                        p.mm data-side=(side.word()) hidden[chosen != Some(*side)] { (where_mm) }
                    }
                }
                @if target.kind == Kind::Point && target.shown == How::Sketch && map.is_some() { p { (text("mappage.touch")) } }
                @if !target.find.is_empty() { p { strong { (text("step.find")) } " " (full_stop(&target.find)) } }
                @if let Some(rule) = &target.rule { p { strong { (text("mappage.rule")) } " " (full_stop(rule)) } }
                @if let Some(way) = &target.direction { p { strong { (text("mappage.way")) } " " (full_stop(&sentence_case(way))) } }
                @if let Some(caution) = &target.caution { p.caution { strong { (text("step.mind")) } " " (caution) } }
                p.to-face { a href="#face" { (text("mappage.to_face")) } }
                p.source { (fill("mappage.source", &[("source", &target.source)])) }
            }
        }
    }
}

/// How the face is looked at with this place chosen: what no photograph can show, on the drawing.
fn to(target: &Target, side: Side, looking: &Looking) -> Looking {
    let by_touch = target.kind == Kind::Point && target.shown == How::Sketch;
    let chosen = looking.with(&target.id, side);
    Looking { drawing: looking.drawing || by_touch && !looking.correct, ..chosen }
}

fn point<'a>(map: Option<&'a OwnMap>, target: &Target, side: Side) -> Option<&'a face::OwnPoint> {
    map?.points.iter().find(|p| p.code == target.id && p.side == side)
}

/// How sure, as it stands in the list.
fn sure(map: Option<&OwnMap>, target: &Target, side: Side) -> Option<String> {
    let found = point(map, target, side)?;
    Some(fill("mappage.within", &[("mm", &format!("{:.0}", found.uncertainty_mm.ceil()))]))
}

/// Where it lies on this face, in millimetres from the middle and from the line of the pupils.
fn millimetres(map: Option<&OwnMap>, target: &Target, side: Side) -> Option<String> {
    let (map, found) = (map?, point(map, target, side)?);
    let eyes = (map.head.pupil(Side::Left)[1] + map.head.pupil(Side::Right)[1]) / 2.0;
    let (across, up) = (found.place[0], found.place[1] - eyes);
    let mm = |value: f64| format!("{:.0}", value.abs());
    let across = if side == Side::Midline {
        text("mappage.on_middle").to_owned()
    } else if across > 0.0 {
        fill("mappage.to_left", &[("mm", &mm(across))])
    } else {
        fill("mappage.to_right", &[("mm", &mm(across))])
    };
    let up =
        if up >= 0.0 { fill("mappage.above", &[("mm", &mm(up))]) } else { fill("mappage.below", &[("mm", &mm(up))]) };
    let within = format!("{:.0}", found.uncertainty_mm.ceil());
    let mut said = fill("mappage.where", &[("across", &across), ("up", &up), ("mm", &within)]);
    if found.facing <= SEEN {
        said.push(' ');
        said.push_str(text("mappage.far_side"));
    }
    Some(said)
}
