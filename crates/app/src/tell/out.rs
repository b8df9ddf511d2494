//! What is not in a routine and why; why there is none, and what would make one.

use plan::atlas::Atlas;
use plan::draft::{LeftOut, NoDraft, NoReason, OutReason, Release};
use plan::screening::{Clearance, RuleRef};
use vocab::Class;

use super::class;
use crate::catalogue::{Catalogue, fill, listed, lower_first, seconds, text};

/// Why a target is left out, in words.
pub fn left_out(atlas: &Atlas, clearance: &Clearance, out: &LeftOut) -> String {
    match &out.reason {
        OutReason::Screening { rules, .. } if rules.iter().all(|r| r == plan::screening::DOOR) => {
            text("out.door").to_owned()
        }
        OutReason::Screening { class: met, rules } => {
            let reasons: Vec<String> = rules.iter().map(|r| clearance.reason(&Catalogue, atlas, r)).collect();
            let lead = if *met == Class::Go { "" } else { class(*met) };
            fill("out.screening", &[("class", &lead), ("reasons", &reasons.join(" "))])
        }
        OutReason::Never(because) => fill("out.never", &[("because", because)]),
        OutReason::Tool { needs } => {
            let tools: Vec<&str> = needs.iter().map(|t| atlas.tool(*t).name.as_str()).collect();
            fill("out.tool", &[("tools", &listed(&tools))])
        }
        OutReason::Pressure { rules } => {
            let reasons: Vec<String> = rules.iter().map(|r| clearance.reason(&Catalogue, atlas, r)).collect();
            fill("out.pressure", &[("reasons", &reasons.join(" "))])
        }
        OutReason::Unwanted => text("out.unwanted").to_owned(),
        OutReason::ZoneFull => fill("out.zone_full", &[("most", &atlas.settings.targets_per_zone)]),
        OutReason::Seconds { needs_s, spare_s } if needs_s > spare_s => {
            fill("out.seconds", &[("needs", &seconds(*needs_s)), ("spare", &seconds(*spare_s))])
        }
        OutReason::Seconds { .. } => text("out.seconds_better").to_owned(),
    }
}

/// The rules behind a target's absence: screening rules, or the kind of reason.
pub fn rule_ids(reason: &OutReason) -> Vec<String> {
    let one = |word: &str| vec![word.to_owned()];
    match reason {
        OutReason::Screening { rules, .. } | OutReason::Pressure { rules } => rules.clone(),
        OutReason::Never(_) => one(plan::screening::NEVER),
        OutReason::Tool { .. } => one("tools_at_hand"),
        OutReason::Unwanted => one("unwanted"),
        OutReason::ZoneFull => one("targets_per_zone"),
        OutReason::Seconds { .. } => one("minutes"),
    }
}

/// Why there is no draft, in words.
pub fn no_draft(atlas: &Atlas, clearance: &Clearance, none: &NoDraft) -> String {
    let said =
        |rules: &[String]| rules.iter().map(|r| clearance.reason(&Catalogue, atlas, r)).collect::<Vec<_>>().join(" ");
    match &none.reason {
        NoReason::Stop { rules } => fill("none.stop", &[("reasons", &said(rules))]),
        NoReason::Unanswered { .. } => text("none.unanswered").to_owned(),
        NoReason::NothingAllowed { rules } => fill("none.nothing_allowed", &[("reasons", &said(rules))]),
        NoReason::TooShort { needs_s } => fill("none.too_short", &[("needs", &seconds(*needs_s))]),
        NoReason::LockedNotAllowed => text("none.locked_not_allowed").to_owned(),
        NoReason::LockedTooLong { needs_s } => fill("none.locked_too_long", &[("needs", &seconds(*needs_s))]),
    }
}

/// What to let go of, each in a sentence.
pub fn releases(atlas: &Atlas, none: &NoDraft) -> Vec<String> {
    let one = |release: &Release| match release {
        Release::Lock(target) => fill("release.lock", &[("place", &atlas.target(*target).name)]),
        Release::Want(target) => fill("release.want", &[("place", &atlas.target(*target).name)]),
        Release::Minutes(minutes) => fill("release.minutes", &[("minutes", minutes)]),
        Release::Answer(questions) => fill("release.answer", &[("questions", &questions_named(atlas, questions))]),
        Release::Clinician(rules) => about(atlas, rules, "release.clinician"),
        Release::Wait(rules) => about(atlas, rules, "release.wait"),
        Release::OtherConcern => text("release.other_concern").to_owned(),
    };
    none.release.iter().map(one).collect()
}

/// Whom to ask about what. That only five questions are answered is no matter for a clinician.
fn about(atlas: &Atlas, rules: &[String], key: &'static str) -> String {
    let mut about: Vec<String> = Vec::new();
    for rule in rules {
        let name = match RuleRef::from_id(atlas, rule) {
            Some(RuleRef::Condition(c, _) | RuleRef::Unanswered(c)) => lower_first(&atlas.conditions[c.0].name),
            Some(RuleRef::Warning(sign)) => lower_first(&atlas.warning_signs[sign].sign),
            _ => continue,
        };
        if !about.contains(&name) {
            about.push(name);
        }
    }
    if about.is_empty() {
        return text("release.every_question").to_owned();
    }
    fill(key, &[("about", &listed(&about))])
}

/// The kind of a release, and the ids it names.
pub fn release_kind(atlas: &Atlas, release: &Release) -> (&'static str, Vec<String>) {
    let target = |ix| vec![atlas.target(ix).id.clone()];
    match release {
        Release::Lock(ix) => ("lock", target(*ix)),
        Release::Want(ix) => ("want", target(*ix)),
        Release::Minutes(minutes) => ("minutes", vec![minutes.to_string()]),
        Release::Answer(questions) => ("answer", questions.clone()),
        Release::Clinician(rules) => ("clinician", rules.clone()),
        Release::Wait(rules) => ("wait", rules.clone()),
        Release::OtherConcern => ("other_concern", Vec::new()),
    }
}

/// Groups and conditions by the words they are asked in.
fn questions_named(atlas: &Atlas, ids: &[String]) -> String {
    let named = |id: &String| super::question(atlas, id).to_owned();
    ids.iter().map(named).collect::<Vec<_>>().join(" ")
}
