//! The clearance written out: every target, side, technique and tool, for `screen`.

use vocab::{Class, Side};

use super::clearance::Clearance;
use crate::atlas::{Atlas, Kind, Target, TargetIx, TechniqueIx, Urgency};

/// The whole clearance as rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// One row for each candidate, openings and closings of zones included, in the order of the data.
    pub clearance: Vec<ReportRow>,
    /// The warning signs that are there today.
    pub warning_signs: Vec<SignRow>,
    /// Ids of the questions still to be answered.
    pub unanswered: Vec<String>,
    /// Ids of the rules that say *stop*; empty when there may be a routine.
    pub stop: Vec<String>,
}

/// What is said of one candidate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportRow {
    /// The target's id.
    pub target: String,
    /// The side.
    pub side: Side,
    /// The technique's id.
    pub technique: String,
    /// The tool's id.
    pub tool: String,
    /// The strictest class of the rules.
    pub class: Class,
    /// Ids of every rule that touched it.
    pub rules: Vec<String>,
}

/// A warning sign that is there today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignRow {
    /// Its id.
    pub id: String,
    /// The sign in words.
    pub sign: String,
    /// How soon a clinician.
    pub urgency: Urgency,
    /// What to do.
    pub action: String,
}

impl Report {
    /// Writes out a clearance.
    pub fn new(atlas: &Atlas, clearance: &Clearance) -> Report {
        let mut rows = Vec::new();
        for (ix, target) in atlas.targets.iter().enumerate() {
            for &side in target.sides.each() {
                for technique in techniques(atlas, target) {
                    for &tool in &atlas.technique(technique).tools {
                        let verdict = clearance.of(atlas, TargetIx(ix), side, technique, tool);
                        rows.push(ReportRow {
                            target: target.id.clone(),
                            side,
                            technique: atlas.technique(technique).id.clone(),
                            tool: atlas.tool(tool).id.clone(),
                            class: verdict.class,
                            rules: verdict.rule_ids(atlas),
                        });
                    }
                }
            }
        }
        let sign = |ix: &usize| {
            let sign = &atlas.warning_signs[*ix];
            let (id, text, action) = (sign.id.clone(), sign.sign.clone(), sign.action.clone());
            SignRow { id, sign: text, urgency: sign.urgency, action }
        };
        Report {
            clearance: rows,
            warning_signs: clearance.warning_signs.iter().map(sign).collect(),
            unanswered: clearance.unanswered.clone(),
            stop: clearance.stop.iter().map(|r| r.id(atlas)).collect(),
        }
    }
}

/// The techniques that can be done at a target: its own, and of a zone its opening and closing.
pub(crate) fn techniques(atlas: &Atlas, target: &Target) -> Vec<TechniqueIx> {
    let mut all = target.techniques.clone();
    if target.kind == Kind::Zone {
        let zone = atlas.zone(target.zone);
        for technique in [zone.open_technique, zone.close_technique] {
            if !all.contains(&technique) {
                all.push(technique);
            }
        }
    }
    all
}
