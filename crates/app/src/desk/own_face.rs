//! The page of one face: the list of places or steps, and the face beside it.

use face::{HairlineSource, ScaleSource};
use maud::{Markup, PreEscaped, html};
use plan::atlas::Atlas;
use sketch::Handle;

use super::album::{Face, Held, Onto};
use super::looking::Looking;
use super::page::{self, Here};
use super::visitor::token;
use super::visits::bound::Bound;
use super::{hands, onto, places};
use crate::catalogue::{fill, text};
use crate::own::desk::{self, Kinds, Upon};

/// A face as a page shows it: one with a photograph, or the drawn one.
pub struct Shown<'a> {
    /// The face and what is held of it; none: the drawn face.
    pub of: Option<(&'a Face, &'a Held)>,
    /// The routine upon it.
    pub routine: Option<&'a Onto>,
    /// The client whose face it is, where it is a client's.
    pub bound: Option<&'a Bound>,
    /// What went wrong with what was asked last, in words.
    pub alert: Option<&'a str>,
}

impl Shown<'_> {
    /// The address without its query.
    pub fn address(&self) -> String {
        if let Some(bound) = self.bound {
            return bound.address.clone();
        }
        self.of.map_or_else(|| "/map/drawn".to_owned(), |(face, _)| format!("/map/{}", face.id))
    }

    fn held(&self) -> Option<&Held> {
        self.of.map(|(_, held)| held)
    }
}

/// The whole page.
pub fn page(atlas: &Atlas, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let main = html! { div #map { (part(atlas, shown, looking)) } p.unseen #map-told role="status" {} };
    page::whole(if shown.bound.is_some() { Here::Visit } else { Here::Map }, &title(shown), main)
}

fn title(shown: &Shown<'_>) -> String {
    if let Some(bound) = shown.bound {
        return fill("clientmap.title", &[("name", &bound.name)]);
    }
    match shown.of {
        _ if shown.routine.is_some() => shown.routine.map_or("", |r| r.title.as_str()).to_owned(),
        None => text("mappage.title_drawn").to_owned(),
        Some((face, _)) if face.invented.is_some() => text("mappage.title_invented").to_owned(),
        Some(_) => text("mappage.title").to_owned(),
    }
}

/// On whose face a routine is, and that an invented one is invented.
fn lead(shown: &Shown<'_>) -> Option<&'static str> {
    let invented = shown.of.is_some_and(|(face, _)| face.invented.is_some());
    match (shown.routine.is_some(), shown.of.is_some(), invented) {
        (true, false, _) => Some(text("mappage.routine_drawn")),
        (true, _, true) => Some(text("mappage.routine_invented")),
        (true, _, false) => Some(text("mappage.routine_own")),
        (false, _, true) => Some(text("mappage.invented_lead")),
        (false, ..) => None,
    }
}

/// What changes with a choice or a correction.
pub fn part(atlas: &Atlas, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let correct = looking.correct && shown.of.is_some();
    // Handles are for the photograph.
    let looking = Looking { drawing: looking.drawing && !correct, correct, ..looking.clone() };
    let looking = &looking;
    html! {
        div.heading {
            div {
                h1 { (title(shown)) }
                @if let Some(lead) = lead(shown) { p.lead { (lead) } }
                @if let Some(bound) = shown.bound { (bound.lead(shown.of.is_some())) }
            }
        }
        @if let Some(alert) = shown.alert { div.missing role="alert" { p { (alert) } } }
        @if let Some(held) = shown.held() { (warnings(held)) }
        div.face-work {
            (picture(atlas, shown, looking))
            (actions(shown, looking))
            div.face-list #list {
                @if correct { (hands::how(shown.held(), &format!("{}/undo{}", shown.address(), looking.query()))) }
                @if let Some(held) = shown.held() { (measure(held)) } @else { p { (text("mappage.drawn_places")) } }
                @match shown.routine {
                    Some(routine) => (onto::steps(atlas, routine, &left_out(atlas, shown))),
                    None => (places::all(atlas, shown, looking)),
                }
            }
        }
    }
}

/// The steps of the routine that the photograph does not show.
fn left_out(atlas: &Atlas, shown: &Shown<'_>) -> Vec<usize> {
    match (shown.held(), shown.routine) {
        (Some(held), Some(onto)) => {
            desk::photograph(atlas, &held.seen, Upon::Routine(&onto.draft), "", &[], "none").left_out
        }
        _ => Vec::new(),
    }
}

fn upon<'a>(shown: &'a Shown<'_>, looking: &'a Looking) -> Upon<'a> {
    match shown.routine {
        Some(routine) => Upon::Routine(&routine.draft),
        None => {
            // Beneath the handles only the chosen place is drawn: what is to be set right must be seen.
            let none = Kinds { points: false, zones: false, lines: false };
            let kinds = if looking.correct { none } else { looking.kinds };
            Upon::Map(kinds, looking.chosen.as_ref().map(|(p, s)| (p.as_str(), *s)))
        }
    }
}

fn actions(shown: &Shown<'_>, looking: &Looking) -> Markup {
    let address = shown.address();
    let to = |l: Looking| format!("{address}{}", l.query());
    let plain = Looking { correct: false, ..looking.clone() };
    html! {
        div.act.face-act {
            @if shown.of.is_some() {
                @if looking.correct {
                    a.button.go href=(to(plain.clone())) { (text("mappage.correct_done")) }
                } @else {
                    a.button.go href=(to(Looking { correct: true, drawing: false, ..looking.clone() })) { (text("mappage.correct")) }
                }
            }
            a.button href={ (address) "/print" (plain.query()) } { (text("mappage.print")) }
            @if let Some(bound) = shown.bound {
                a.button href=(bound.back) { (text("clientmap.back")) }
            } @else {
                a.button href={ "/map" @if let Some(r) = looking.routine { "?routine=" (r) } } { (text("mappage.other")) }
            }
            @if shown.of.is_some() && shown.bound.is_none() {
                form method="post" action={ (address) "/forget" } {
                    (token())
                    button.quiet type="submit" { (text("mappage.forget")) }
                }
            }
        }
    }
}

fn warnings(held: &Held) -> Markup {
    html! {
        @if !held.seen.warnings.is_empty() {
            ul.face-warnings aria-label=(text("mappage.warnings")) {
                @for warning in &held.seen.warnings { li { (warning) } }
            }
        }
    }
}

/// Scale, pose and hairline, a sentence each.
fn measure(held: &Held) -> Markup {
    let map = &held.seen.map;
    let pose = map.pose();
    let from = match map.scale.source {
        ScaleSource::Iris => text("mappage.scale_iris"),
        ScaleSource::IrisPoints => text("mappage.scale_iris_points"),
        ScaleSource::Interpupillary => text("mappage.scale_pupils"),
        ScaleSource::Hand => text("mappage.scale_hand"),
    };
    let hairline = match map.head.hairline.source {
        HairlineSource::Seen => text("mappage.hairline_seen"),
        HairlineSource::Proportion => text("mappage.hairline_proportion"),
        HairlineSource::Hand => text("mappage.hairline_hand"),
    };
    let percent = (100.0 * map.scale.u95 / map.scale.mm_per_px).ceil();
    let turn = |degrees: f64, more: &'static str, less: &'static str| {
        let whole = degrees.abs().round();
        let way = if degrees > 0.0 { text(more) } else { text(less) };
        (whole >= 1.0).then(|| fill("mappage.turn", &[("degrees", &format!("{whole:.0}")), ("way", &way)]))
    };
    let turns: Vec<String> = [
        turn(pose.yaw, "mappage.yaw_left", "mappage.yaw_right"),
        turn(pose.pitch, "mappage.pitch_up", "mappage.pitch_down"),
        turn(pose.roll, "mappage.roll_left", "mappage.roll_right"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let pose = if turns.is_empty() {
        text("mappage.straight").to_owned()
    } else {
        fill("mappage.turned", &[("turns", &crate::catalogue::listed(&turns))])
    };
    html! {
        p.measure { (fill("mappage.scale", &[("from", &from), ("percent", &format!("{percent:.0}"))])) " " (pose) }
        p.measure { (hairline) " " (text("mappage.sure")) }
    }
}

/// The face, and how it is looked at.
fn picture(atlas: &Atlas, shown: &Shown<'_>, looking: &Looking) -> Markup {
    let photograph = shown.held().filter(|_| !looking.drawing);
    let handles = photograph.filter(|_| looking.correct).map(|held| hands::handles(held)).unwrap_or_default();
    let drawn = match photograph {
        Some(held) => {
            let href = format!("{}/photo.jpg", shown.address());
            let handles: Vec<Handle<'_>> =
                handles.iter().map(|(name, label, at)| Handle { name, label, at: *at }).collect();
            desk::photograph(atlas, &held.seen, upon(shown, looking), &href, &handles, "face").svg
        }
        None => desk::sheet(atlas, shown.held().map(|h| &h.seen.map), upon(shown, looking), "face"),
    };
    html! {
        div.face-picture #face data-address=(shown.address()) data-query=(looking.query()) {
            @if shown.of.is_some() && !looking.correct { (tabs(shown, looking)) }
            @if photograph.is_some() {
                (PreEscaped(drawn))
            } @else {
                div.drawn tabindex="0" role="region" aria-label=(text("mappage.drawing")) { (PreEscaped(drawn)) }
            }
            @if shown.routine.is_none() && !looking.correct { (kinds(shown, looking)) }
            p.legend {
                @if shown.routine.is_some() {
                    (text("mappage.legend_routine"))
                } @else if photograph.is_some() {
                    (text("mappage.legend_photograph"))
                } @else {
                    (text("mappage.legend_drawing"))
                }
            }
        }
    }
}

fn tabs(shown: &Shown<'_>, looking: &Looking) -> Markup {
    html! {
        nav.views aria-label=(text("mappage.views")) {
            @for (drawing, label) in [(false, text("mappage.photograph")), (true, text("mappage.drawing"))] {
                a href={ (shown.address()) (Looking { drawing, ..looking.clone() }.query()) }
                    aria-current=[(drawing == looking.drawing).then_some("true")] { (label) }
            }
        }
    }
}

/// Which sorts of places are shown.
fn kinds(shown: &Shown<'_>, looking: &Looking) -> Markup {
    let k = looking.kinds;
    html! {
        form.kinds method="get" action=(shown.address()) {
            @for (name, value) in looking.hidden() { input type="hidden" name=(name) value=(value); }
            input type="hidden" name="kinds" value="1";
            fieldset {
                legend.unseen { (text("mappage.kinds")) }
                @for (value, label, on) in [
                    ("points", text("mappage.points"), k.points),
                    ("zones", text("mappage.zones"), k.zones),
                    ("lines", text("mappage.lines"), k.lines),
                ] {
                    @let id = format!("kind-{value}");
                    label.choice for=(id) {
                        input #(id) type="checkbox" name="kind" value=(value) checked[on];
                        span { (label) }
                    }
                }
                button.quiet type="submit" { (text("mappage.show")) }
            }
        }
    }
}
