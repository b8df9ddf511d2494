//! No routine: kindly why, whom to ask, and what would change it.

use maud::{Markup, html};
use plan::atlas::Atlas;
use plan::draft::{NoDraft, NoReason, Release};
use plan::screening::{Clearance, DOOR, RuleRef};

use crate::catalogue::{Catalogue, text};
use crate::tell;

/// Why there is none and what to do, for the place where the routine would stand.
pub fn halt(atlas: &Atlas, clearance: &Clearance, none: &NoDraft) -> Markup {
    let signs: Vec<usize> = clearance.warning_signs.clone();
    let (title, lead) = match (&none.reason, signs.is_empty()) {
        (_, false) => (text("halt.sign_title"), text("halt.sign_lead")),
        (NoReason::Stop { .. }, _) => (text("halt.stop_title"), text("halt.stop_lead")),
        (NoReason::Unanswered { .. }, _) => (text("halt.ask_title"), text("halt.ask_lead")),
        (NoReason::NothingAllowed { .. }, _) => (text("halt.nothing_title"), text("halt.nothing_lead")),
        (NoReason::TooShort { .. } | NoReason::LockedTooLong { .. }, _) => {
            (text("halt.short_title"), text("halt.short_lead"))
        }
        (NoReason::LockedNotAllowed, _) => (text("halt.locked_title"), text("halt.locked_lead")),
    };
    html! {
        section.halt aria-labelledby="halt" {
            h1 #halt { (title) }
            p.lead { (lead) }
            @for ix in &signs {
                @let sign = &atlas.warning_signs[*ix];
                p.sign-action {
                    strong { (tell::urgency(sign.urgency)) } " "
                    (sign.action)
                }
            }
            @if signs.is_empty() {
                ul.reasons { @for reason in reasons(atlas, clearance, none) { li { (reason) } } }
            }
            @let releases = tell::releases(atlas, none);
            @if signs.is_empty() && !releases.is_empty() {
                h2 { (text("halt.what_now")) }
                ul { @for (release, said) in none.release.iter().zip(&releases) { li { (to_let_go(atlas, release, said)) } } }
            }
            p.review { (text("halt.not_a_diagnosis")) }
        }
    }
}

/// One thing that would change it; questions stand one on each line.
fn to_let_go(atlas: &Atlas, release: &Release, said: &str) -> Markup {
    match release {
        Release::Answer(questions) => html! {
            (text("release.answer_these"))
            ul { @for id in questions { li { (tell::question(atlas, id)) } } }
        },
        _ => html! { (said) },
    }
}

/// Each condition or question once, in its own words.
fn reasons(atlas: &Atlas, clearance: &Clearance, none: &NoDraft) -> Vec<String> {
    let rules = match &none.reason {
        NoReason::Stop { rules } | NoReason::NothingAllowed { rules } => rules,
        _ => return vec![tell::no_draft(atlas, clearance, none)],
    };
    let mut seen = Vec::new();
    let mut said = Vec::new();
    // That only five questions are answered is no reason beside one of the person's own.
    let own = rules.iter().any(|id| id != DOOR);
    for id in rules.iter().filter(|id| !own || *id != DOOR) {
        let about = match RuleRef::from_id(atlas, id) {
            Some(RuleRef::Condition(c, _) | RuleRef::Unanswered(c)) => atlas.conditions[c.0].id.clone(),
            _ => id.clone(),
        };
        if !seen.contains(&about) {
            seen.push(about);
            said.push(clearance.reason(&Catalogue, atlas, id));
        }
    }
    said
}
