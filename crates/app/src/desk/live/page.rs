//! The page of the live face, for trying it and for finding a place without a routine; and the view that other pages take in.

use axum::extract::{Request, State};
use axum::response::Response;
use maud::{Markup, PreEscaped, html};
use plan::atlas::{Atlas, Kind, Shown, Target};
use vocab::{Side, Sides};

use super::super::Desk;
use super::super::map_routes::{beside, ok, value};
use super::super::page::{self, Here};
use crate::catalogue::{fill, sentence_case, text};
use crate::own::desk::{Kinds, Upon, by_touch, sheet};
use crate::tell;

/// What stands on the page when nothing was chosen.
const FIRST: &str = "LI20";

/// The page; `target` and `side` of the address say what is drawn.
pub async fn show(State(desk): State<std::sync::Arc<Desk>>, request: Request) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    beside(move || {
        let atlas = desk.atlas();
        let get = |name: &str| value(query.as_bytes(), name);
        let wanted = get("target");
        let chosen = wanted.as_deref().and_then(|id| shown(&atlas).find(|t| t.id == id));
        let chosen = chosen.or_else(|| shown(&atlas).find(|t| t.id == FIRST)).or_else(|| shown(&atlas).next());
        let Some(target) = chosen else { return super::super::reply::lost_page() };
        let side = get("side").and_then(|s| Side::from_word(&s)).filter(|s| *s != Side::Midline).unwrap_or(Side::Left);
        ok(whole(&atlas, target, if target.sides == Sides::Midline { Side::Midline } else { side }))
    })
    .await
}

/// Every target that is for the hand.
fn shown(atlas: &Atlas) -> impl Iterator<Item = &Target> {
    atlas.targets.iter().filter(|t| !matches!(t.shown, Shown::Never(_)))
}

fn whole(atlas: &Atlas, target: &Target, side: Side) -> Markup {
    let midline = side == Side::Midline;
    let says = if midline {
        sentence_case(&target.name)
    } else {
        fill("place.with_side", &[("place", &sentence_case(&target.name)), ("side", &tell::side(side))])
    };
    let main = html! {
        h1 { (text("live.title")) }
        p.lead { (text("live.lead")) }
        div.live-page {
            div.live-left {
                form.live-pick #live-pick method="get" action="/live" {
                    label for="live-target" { (text("live.target")) }
                    select #live-target name="target" { (options(atlas, target)) }
                    fieldset #live-sides {
                        legend { (text("live.side")) }
                        @for one in [Side::Left, Side::Right, Side::Both] {
                            label.live-side {
                                input type="radio" name="side" value=(one.word()) checked[one == side || midline && one == Side::Left];
                                (tell::side(one))
                            }
                        }
                    }
                    button.quiet #live-show type="submit" { (text("live.show")) }
                }
                (view())
            }
            div #live-shown data-target=(target.id) data-side=(side.word()) {
                h2 { (says) }
                p { (target.find) }
                @if let Some(caution) = &target.caution { p.clearance.dotted { (caution) } }
                @if target.kind == Kind::Point && by_touch(atlas, &target.id) { p.hint { (text("live.on_drawing")) } }
                (drawn(atlas, target, side))
            }
        }
    };
    page::whole(Here::Live, text("live.title"), main)
}

/// The drawn face with the target on it: what stays when there is no camera.
fn drawn(atlas: &Atlas, target: &Target, side: Side) -> Markup {
    let kinds = Kinds { points: false, zones: false, lines: false };
    html! { div.live-drawn { (PreEscaped(sheet(atlas, None, Upon::Map(kinds, Some((&target.id, side))), "live-drawn"))) } }
}

fn options(atlas: &Atlas, chosen: &Target) -> Markup {
    let kinds = [(Kind::Point, "live.points"), (Kind::Line, "live.lines"), (Kind::Zone, "live.zones")];
    html! {
        @for (kind, label) in kinds {
            optgroup label=(text(label)) {
                @for target in shown(atlas).filter(|t| t.kind == kind) {
                    option value=(target.id) selected[target.id == chosen.id] {
                        (sentence_case(&target.name)) @if kind == Kind::Point { " (" (target.id) ")" }
                    }
                }
            }
        }
    }
}

/// The camera's picture with what is drawn on it, closed until its button is pressed. Its script is `assets/live.js`; the page that holds
/// it calls `Live.start` with the elements found here by `data-live`.
pub fn view() -> Markup {
    html! {
        div.live data-live="root" data-frame="/live/frame" data-end="/live/end" data-denied=(text("live.denied"))
            data-none=(text("live.none")) data-gone=(text("live.gone")) data-left=(text("live.left")) data-wait=(text("live.wait"))
            data-numbers=(text("live.numbers")) {
            noscript { p.hint { (text("live.no_script")) } }
            p.live-promise { (text("live.promise")) }
            button.go data-live="on" type="button" hidden { (text("live.on")) }
            p data-live="said" role="status" {}
            div.live-stage data-live="stage" hidden {
                div.live-frame data-live="frame" {
                    video data-live="video" autoplay muted playsinline aria-label=(text("live.video")) {}
                    svg data-live="overlay" aria-hidden="true" focusable="false" {}
                }
                p.live-sides aria-hidden="true" {
                    span data-live="side-left" { (text("live.your_left")) }
                    span data-live="side-right" { (text("live.your_right")) }
                }
                p.live-says data-live="says" role="status" {}
                button.quiet data-live="off" type="button" { (text("live.off")) }
                details.live-numbers {
                    summary { (text("live.numbers_title")) }
                    p data-live="stats" {}
                }
            }
        }
    }
}
