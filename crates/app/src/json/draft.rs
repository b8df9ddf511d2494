//! `draft --json`.

use plan::atlas::Atlas;
use plan::draft::{Draft, DraftStep, Fallback, LeftOut, NoDraft, NoReason};
use plan::request::Request;
use plan::routine::{Step, timeline};
use plan::screening::Clearance;
use plan::solve::Outcome;
use serde::Serialize;
use vocab::Side;

use crate::catalogue::text;
use crate::tell;

/// The unit of every gain: thousandths of a weight.
const GAIN_UNIT: &str = "thousandths";

#[derive(Serialize)]
pub struct Routine {
    minutes: u32,
    reviewed_by_clinician: bool,
    notice: &'static str,
    steps: Vec<StepRow>,
    total_s: u32,
    gain: u64,
    bound: u64,
    gain_unit: &'static str,
    proven_best: bool,
    left_out: Vec<OutRow>,
    curve: Vec<Point>,
    fallbacks: Vec<FallbackRow>,
    way_left_out: Vec<Place>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason_kind: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rules: Option<Vec<String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    smallest_release: Option<Vec<ReleaseRow>>,
}

#[derive(Serialize)]
struct StepRow {
    movement: &'static str,
    target: String,
    side: &'static str,
    technique: String,
    tool: String,
    pressure: &'static str,
    seconds: u32,
    start_s: u32,
    end_s: u32,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    why: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    caution: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    spoken: Vec<String>,
}

#[derive(Serialize)]
struct OutRow {
    target: String,
    side: &'static str,
    reason: String,
    rule: String,
    rules: Vec<String>,
}

#[derive(Serialize)]
struct Point {
    minutes: u32,
    gain: u64,
}

#[derive(Serialize)]
struct FallbackRow {
    after_step: usize,
    seconds_left: u32,
    steps: Vec<StepRow>,
}

#[derive(Serialize)]
struct Place {
    zone: String,
    side: &'static str,
}

#[derive(Serialize)]
struct ReleaseRow {
    kind: &'static str,
    what: Vec<String>,
    text: String,
}

impl Routine {
    pub fn new(atlas: &Atlas, request: &Request, clearance: &Clearance, outcome: &Outcome) -> Routine {
        match outcome {
            Outcome::Draft(draft) => drafted(atlas, request, clearance, draft),
            Outcome::None(none) => none_drafted(atlas, request, clearance, none),
        }
    }
}

fn empty(request: &Request) -> Routine {
    Routine {
        minutes: request.minutes,
        reviewed_by_clinician: false,
        notice: text("page.not_reviewed"),
        steps: Vec::new(),
        total_s: 0,
        gain: 0,
        bound: 0,
        gain_unit: GAIN_UNIT,
        proven_best: false,
        left_out: Vec::new(),
        curve: Vec::new(),
        fallbacks: Vec::new(),
        way_left_out: Vec::new(),
        reason: None,
        reason_kind: None,
        rules: None,
        smallest_release: None,
    }
}

fn drafted(atlas: &Atlas, request: &Request, clearance: &Clearance, draft: &Draft) -> Routine {
    let place = |(zone, side): &(String, Side)| Place { zone: zone.clone(), side: side.word() };
    Routine {
        steps: draft.steps.iter().map(|s| step_row(atlas, request, clearance, s)).collect(),
        total_s: draft.total_s,
        gain: draft.gain,
        bound: draft.bound,
        proven_best: draft.proven_best,
        left_out: draft.left_out.iter().map(|out| out_row(atlas, clearance, out)).collect(),
        curve: draft.curve.iter().map(|p| Point { minutes: p.minutes, gain: p.gain }).collect(),
        fallbacks: draft.fallbacks.iter().map(|f| fallback_row(atlas, draft, f)).collect(),
        way_left_out: draft.blocked.iter().map(place).collect(),
        ..empty(request)
    }
}

fn bare(atlas: &Atlas, step: &Step, (start_s, end_s): (u32, u32)) -> StepRow {
    StepRow {
        movement: step.movement.word(),
        target: step.target_id(atlas).to_owned(),
        side: step.side.word(),
        technique: step.technique_id(atlas).to_owned(),
        tool: atlas.tool(step.tool).id.clone(),
        pressure: step.pressure.word(),
        seconds: step.seconds,
        start_s,
        end_s,
        why: Vec::new(),
        caution: None,
        spoken: Vec::new(),
    }
}

fn step_row(atlas: &Atlas, request: &Request, clearance: &Clearance, drafted: &DraftStep) -> StepRow {
    let step = &drafted.step;
    let spoken = if request.audience { tell::spoken(atlas, clearance, step) } else { Vec::new() };
    StepRow {
        why: drafted.why.iter().map(|w| tell::why(atlas, clearance, step, w)).collect(),
        caution: tell::step(atlas, step).caution.map(str::to_owned),
        spoken,
        ..bare(atlas, step, (drafted.start_s, drafted.end_s))
    }
}

fn out_row(atlas: &Atlas, clearance: &Clearance, out: &LeftOut) -> OutRow {
    let rules = tell::rule_ids(&out.reason);
    OutRow {
        target: atlas.target(out.target).id.clone(),
        side: out.side.word(),
        reason: tell::left_out(atlas, clearance, out),
        rule: rules.first().cloned().unwrap_or_default(),
        rules,
    }
}

/// The times of a fallback's steps count from when the step before it ends.
fn fallback_row(atlas: &Atlas, draft: &Draft, fallback: &Fallback) -> FallbackRow {
    let before = draft.steps.get(fallback.after_step).map(|s| s.step.clone());
    let mut whole: Vec<Step> = before.into_iter().collect();
    let skip = whole.len();
    let begun = whole.first().map_or(0, |s| s.seconds);
    whole.extend(fallback.steps.iter().cloned());
    let times = timeline(atlas, &whole).into_iter().skip(skip).map(|(a, b)| (a - begun, b - begun));
    let steps = fallback.steps.iter().zip(times).map(|(step, times)| bare(atlas, step, times)).collect();
    FallbackRow { after_step: fallback.after_step, seconds_left: fallback.seconds_left, steps }
}

fn none_drafted(atlas: &Atlas, request: &Request, clearance: &Clearance, none: &NoDraft) -> Routine {
    let (kind, rules) = match &none.reason {
        NoReason::Stop { rules } => ("stop", rules.clone()),
        NoReason::Unanswered { questions } => ("unanswered", questions.clone()),
        NoReason::NothingAllowed { rules } => ("nothing_allowed", rules.clone()),
        NoReason::TooShort { .. } => ("too_short", Vec::new()),
        NoReason::LockedNotAllowed => ("locked_not_allowed", Vec::new()),
        NoReason::LockedTooLong { .. } => ("locked_too_long", Vec::new()),
    };
    let texts = tell::releases(atlas, none);
    let release = none.release.iter().zip(texts).map(|(release, text)| {
        let (kind, what) = tell::release_kind(atlas, release);
        ReleaseRow { kind, what, text }
    });
    Routine {
        reason: Some(tell::no_draft(atlas, clearance, none)),
        reason_kind: Some(kind),
        rules: Some(rules),
        smallest_release: Some(release.collect()),
        ..empty(request)
    }
}
