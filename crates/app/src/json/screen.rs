//! `screen --json`.

use plan::atlas::{Atlas, Shown, Target, Urgency};
use plan::screening::{Clearance, Report};
use serde::Serialize;
use vocab::Date;

use crate::catalogue::{Catalogue, text};

#[derive(Serialize)]
pub struct Screen<'a> {
    today: String,
    reviewed_by_clinician: bool,
    notice: &'static str,
    clearance: Vec<Row<'a>>,
    never: Vec<Never<'a>>,
    warning_signs: Vec<Sign<'a>>,
    unanswered: &'a [String],
    stop: &'a [String],
    rules: Vec<Rule<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    target: &'a str,
    side: &'static str,
    technique: &'a str,
    tool: &'a str,
    class: &'static str,
    rules: &'a [String],
}

/// What is in the atlas for knowledge, and not for the hand.
#[derive(Serialize)]
struct Never<'a> {
    target: &'a str,
    name: &'a str,
    reason: &'a str,
}

#[derive(Serialize)]
struct Sign<'a> {
    id: &'a str,
    sign: &'a str,
    urgency: &'static str,
    action: &'a str,
}

#[derive(Serialize)]
struct Rule<'a> {
    id: &'a str,
    reason: String,
}

impl<'a> Screen<'a> {
    pub fn new(atlas: &'a Atlas, clearance: &Clearance, report: &'a Report, today: Date) -> Screen<'a> {
        let row = |r: &'a plan::screening::ReportRow| Row {
            target: &r.target,
            side: r.side.word(),
            technique: &r.technique,
            tool: &r.tool,
            class: r.class.word(),
            rules: &r.rules,
        };
        let sign = |s: &'a plan::screening::SignRow| {
            let urgency = match s.urgency {
                Urgency::Emergency => "emergency",
                Urgency::SameDay => "same_day",
                Urgency::Doctor => "doctor",
            };
            Sign { id: &s.id, sign: &s.sign, urgency, action: &s.action }
        };
        let never = |t: &'a Target| match &t.shown {
            Shown::Never(reason) => Some(Never { target: &t.id, name: &t.name, reason }),
            _ => None,
        };
        let mut ids: Vec<&str> = report.clearance.iter().flat_map(|r| &r.rules).map(String::as_str).collect();
        ids.extend(report.stop.iter().map(String::as_str));
        ids.sort_unstable();
        ids.dedup();
        Screen {
            today: today.to_string(),
            reviewed_by_clinician: false,
            notice: text("page.not_reviewed"),
            clearance: report.clearance.iter().map(row).collect(),
            never: atlas.targets.iter().filter_map(never).collect(),
            warning_signs: report.warning_signs.iter().map(sign).collect(),
            unanswered: &report.unanswered,
            stop: &report.stop,
            rules: ids.into_iter().map(|id| Rule { id, reason: clearance.reason(&Catalogue, atlas, id) }).collect(),
        }
    }
}
