//! The routine: as a list, as notation on the drawing, with what is left out and the curve of minutes.

use maud::{Markup, html};
use plan::atlas::{Atlas, Urgency};
use plan::draft::{Draft, NoReason, OutReason};
use plan::request::Request;
use plan::routine::What;
use plan::screening::Clearance;
use plan::solve::Outcome;
use vocab::{Class, Date};

use super::form::{Ask, MINUTES};
use super::steps;
use super::{curve, halt, page, run, start, visitor};
use crate::catalogue::{fill, listed, lower_first, seconds, sentence_case, text};
use crate::drawing;
use crate::tell;

/// Answers the form: the routine, why there is none, or what is still to be said.
pub fn answer(atlas: &Atlas, ask: &Ask, today: Date, part: bool) -> Markup {
    let open = ask.concerns.is_empty() || !ask.open_groups().is_empty() || !ask.open_conditions(atlas).is_empty();
    let (false, Some(request)) = (open, ask.request(atlas)) else {
        return start::page(atlas, ask, true);
    };
    let clearance = Clearance::new(atlas, &ask.answers(atlas, today), today);
    let outcome = plan::solve::draft(atlas, &request, &clearance);
    // Where other minutes would change nothing there is no slider; the form then has its own.
    let (parts, slides) = match &outcome {
        Outcome::Draft(draft) => (drafted(atlas, ask, &request, &clearance, draft), true),
        Outcome::None(none) => {
            let slides = matches!(none.reason, NoReason::TooShort { .. } | NoReason::LockedTooLong { .. });
            let empty = || html! {};
            (Parts { head: empty(), gain: empty(), rest: halt::halt(atlas, &clearance, none) }, slides)
        }
    };
    if part {
        return html! {
            div #head { (parts.head) }
            div #gain { (parts.gain) }
            div #part { (parts.rest) }
        };
    }
    let main = html! {
        div.made {
            div #head { (parts.head) }
            @if slides {
                section.gain aria-label=(text("routine.curve")) {
                    (minutes(ask))
                    div #gain { (parts.gain) }
                }
            }
            div #part { (parts.rest) }
            details.change open[!slides] {
                summary { (text("routine.change")) }
                @if slides { (start::form_again(atlas, ask)) } @else { (start::form(atlas, ask, false)) }
            }
        }
    };
    page::whole(page::Here::Start, &title(atlas, ask), main)
}

/// The routine of a form with what it is called, where it has one.
pub fn drafted_for(atlas: &Atlas, ask: &Ask, today: Date) -> Option<(String, Draft)> {
    let open = ask.concerns.is_empty() || !ask.open_groups().is_empty() || !ask.open_conditions(atlas).is_empty();
    let request = ask.request(atlas).filter(|_| !open)?;
    let clearance = Clearance::new(atlas, &ask.answers(atlas, today), today);
    match plan::solve::draft(atlas, &request, &clearance) {
        Outcome::Draft(draft) => Some((title(atlas, ask), *draft)),
        Outcome::None(_) => None,
    }
}

/// What the slider redraws, around itself.
struct Parts {
    /// What it is, and the one action.
    head: Markup,
    /// The curve under the slider.
    gain: Markup,
    /// Everything else.
    rest: Markup,
}

fn title(atlas: &Atlas, ask: &Ask) -> String {
    let names: Vec<&str> = ask.concerns.iter().map(|c| atlas.concerns[c.0].name.as_str()).collect();
    let names: Vec<String> = names.iter().map(|n| lower_first(n)).collect();
    fill("routine.title", &[("concerns", &sentence_case(&listed(&names))), ("minutes", &ask.minutes_or_usual())])
}

/// The slider. It belongs to the form, and has a button of its own for when there is no script.
fn minutes(ask: &Ask) -> Markup {
    html! {
        div.minutes {
            // The slider stands before its form, and the token is the first field of whatever is sent.
            @if let Some(me) = visitor::me() { input type="hidden" name=(visitor::TOKEN) value=(me.token) form="ask"; }
            label for="minutes" { (text("routine.minutes")) }
            input #minutes type="range" name="minutes" form="ask" step="1"
                min=(MINUTES.start()) max=(MINUTES.end()) value=(ask.minutes_or_usual());
            output #minutes-now for="minutes" { (ask.minutes_or_usual()) }
            button.quiet #redraw type="submit" form="ask" { (text("routine.redraw")) }
            p.unseen #told role="status" {}
        }
    }
}

fn drafted(atlas: &Atlas, ask: &Ask, request: &Request, clearance: &Clearance, draft: &Draft) -> Parts {
    let rows = steps::rows(atlas, clearance, draft);
    let head = html! {
        div.heading {
            div {
                h1 { (title(atlas, ask)) }
                p.lead #summary { (summary(atlas, request, draft)) }
            }
            div.act {
                button.go #start-run type="button" hidden { (text("routine.run")) }
                button.quiet #on-face type="submit" form="ask" formaction="/map/routine" { (text("mappage.see_on_face")) }
                @if visitor::me().is_some_and(|m| m.inside) {
                    button.quiet #keep-routine type="submit" form="ask" formaction="/routines/keep" { (text("routine.keep")) }
                }
                button.quiet #print type="button" hidden { (text("routine.print")) }
            }
        }
    };
    let gain = html! {
        (curve::curve(&draft.curve, request.minutes))
        div.gain-words {
            p { (curve::says(&draft.curve, request.minutes)) }
            p.hint { (proof(draft)) " " (text("routine.gain_is")) }
        }
    };
    let rest = html! {
        (notices(atlas, draft))
        div.work {
            div.sheet { (drawing::routine(atlas, draft)) }
            div.score {
                (checklist(atlas, draft, "before", text("routine.before")))
                (steps::list(&rows))
                (checklist(atlas, draft, "after", text("routine.after")))
            }
        }
        (known(atlas, ask))
        (left_out(atlas, clearance, draft))
        (warning_signs(atlas))
        (run::dialog(atlas, draft))
    };
    Parts { head, gain, rest }
}

fn summary(atlas: &Atlas, request: &Request, draft: &Draft) -> String {
    let tools: Vec<&str> = request
        .tools
        .iter()
        .filter(|t| draft.steps.iter().any(|s| s.step.tool == **t))
        .map(|t| atlas.tool(*t).name.as_str())
        .collect();
    let values: [(&str, &dyn std::fmt::Display); 4] = [
        ("length", &seconds(draft.total_s)),
        ("asked", &request.minutes),
        ("steps", &draft.steps.len()),
        ("tools", &listed(&tools)),
    ];
    fill("routine.summary", &values)
}

/// What must be known before the first step: kept featherlight, a blocked way.
pub fn notices(atlas: &Atlas, draft: &Draft) -> Markup {
    html! {
        div.notices {
            @if tell::door_holds(draft) { p.gently { (text("routine.door")) } }
            @if !draft.blocked.is_empty() { p.gently { (tell::blocked(atlas, draft)) } }
            p.review { (text("page.not_reviewed")) }
        }
    }
}

/// The sentences of a list that apply to this routine.
pub fn checks<'a>(atlas: &'a Atlas, draft: &Draft, when: &str) -> Vec<&'a str> {
    let oil = draft.steps.iter().any(|s| s.step.what == What::Oil);
    let tool = draft.steps.iter().any(|s| atlas.tool(s.step.tool).id != plan::reading::HANDS);
    let applies = |only: Option<&str>| match only {
        Some("oil") => oil,
        Some("tool") => tool,
        _ => true,
    };
    let items = atlas.checklists.iter().filter(|c| c.when == when && applies(c.only.as_deref()));
    items.map(|c| c.text.as_str()).collect()
}

/// A list of sentences, folded.
pub fn checklist(atlas: &Atlas, draft: &Draft, when: &str, heading: &str) -> Markup {
    let items = checks(atlas, draft, when);
    html! {
        details.checks #(when) {
            summary { h2 { (heading) } " " span.count { (fill("routine.count", &[("n", &items.len())])) } }
            ul { @for item in &items { li { (item) } } }
        }
    }
}

fn proof(draft: &Draft) -> String {
    if draft.proven_best {
        return text("routine.proven").to_owned();
    }
    let gap = draft.bound.saturating_sub(draft.gain) as f64 / draft.bound.max(1) as f64 * 100.0;
    fill("routine.gap", &[("percent", &format!("{gap:.1}"))])
}

/// What is honestly known of the concerns.
fn known(atlas: &Atlas, ask: &Ask) -> Markup {
    html! {
        section.known aria-labelledby="known" {
            h2 #known { (text("routine.known")) }
            @for c in &ask.concerns {
                @let concern = &atlas.concerns[c.0];
                p { strong { (crate::catalogue::sentence_case(&concern.name)) ". " } (concern.known) }
            }
        }
    }
}

/// What serves the concerns and is not in, each reason once with its places.
pub fn left_out(atlas: &Atlas, clearance: &Clearance, draft: &Draft) -> Markup {
    let mut grouped: Vec<(String, Vec<String>, &str)> = Vec::new();
    for out in &draft.left_out {
        let reason = tell::left_out(atlas, clearance, out);
        let place = tell::place_left_out(atlas, out.target, out.side);
        match grouped.iter_mut().find(|(known, ..)| *known == reason) {
            Some((_, places, _)) => places.push(place),
            None => grouped.push((reason, vec![place], line_pattern(&out.reason))),
        }
    }
    html! {
        section.left-out aria-labelledby="left-out" {
            h2 #left-out { (text("routine.left_out")) }
            @if grouped.is_empty() { p { (text("routine.nothing_left_out")) } }
            dl {
                @for (reason, places, pattern) in &grouped {
                    div class=(pattern) {
                        dt { (crate::catalogue::sentence_case(&places.join(" · "))) }
                        dd { (reason) }
                    }
                }
            }
        }
    }
}

/// The line pattern of a reason: struck for what must be left out, dashed for what has to be asked first.
fn line_pattern(reason: &OutReason) -> &'static str {
    match reason {
        OutReason::Screening { class: Class::AskFirst, .. } => "dashed",
        OutReason::Screening { .. } | OutReason::Never(_) | OutReason::Pressure { .. } => "struck",
        _ => "plain",
    }
}

/// What to do when a warning sign shows, the most urgent first.
pub fn warning_signs(atlas: &Atlas) -> Markup {
    html! {
        section.warnings aria-labelledby="warnings" {
            h2 #warnings { (text("routine.warnings")) }
            p { (text("routine.warnings_lead")) }
            details {
                summary { (text("routine.warnings_list")) }
                (sign_list(atlas))
            }
        }
    }
}

/// Every warning sign with what to do, the most urgent first.
pub fn sign_list(atlas: &Atlas) -> Markup {
    let mut signs: Vec<_> = atlas.warning_signs.iter().collect();
    signs.sort_by_key(|s| match s.urgency {
        Urgency::Emergency => 0,
        Urgency::SameDay => 1,
        Urgency::Doctor => 2,
    });
    html! {
        dl.sign-list {
            @for sign in &signs {
                div { dt { (sign.sign) } dd { strong { (tell::urgency(sign.urgency)) } " " (sign.action) } }
            }
        }
    }
}
