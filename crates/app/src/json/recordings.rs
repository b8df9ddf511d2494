//! `captions --from FILE --json`: a draft's fields, and what was heard.

use plan::atlas::Atlas;
use plan::routine::timeline;
use publish::recordings::Said;
use serde::Serialize;

use super::check::Row;
use crate::catalogue::text;
use crate::recorded::Recorded;

#[derive(Serialize)]
pub struct Recording {
    file: String,
    format: &'static str,
    minutes: u32,
    reviewed_by_clinician: bool,
    notice: &'static str,
    steps: Vec<StepRow>,
    total_s: u32,
    cautions: Vec<SaidRow>,
    not_understood: Vec<SaidRow>,
    ok: bool,
    breaches: Vec<Row>,
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
    time: Option<f64>,
    confidence: f64,
    sure: SureRow,
    heard: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    also: Vec<String>,
}

#[derive(Serialize)]
struct SureRow {
    target: f64,
    side: f64,
    technique: f64,
    seconds: f64,
}

#[derive(Serialize)]
struct SaidRow {
    time: Option<f64>,
    words: String,
}

impl Recording {
    pub fn new(atlas: &Atlas, recorded: &Recorded) -> Recording {
        let steps = recorded.routine.steps.as_slice();
        let times = timeline(atlas, steps);
        let total_s = times.last().map_or(0, |t| t.1);
        let row = |(heard, (start_s, end_s)): (&publish::recordings::HeardStep, (u32, u32))| StepRow {
            movement: heard.step.movement.word(),
            target: heard.step.target_id(atlas).to_owned(),
            side: heard.step.side.word(),
            technique: heard.step.technique_id(atlas).to_owned(),
            tool: atlas.tool(heard.step.tool).id.clone(),
            pressure: heard.step.pressure.word(),
            seconds: heard.step.seconds,
            start_s,
            end_s,
            time: heard.time,
            confidence: hundredths(heard.confidence),
            sure: SureRow {
                target: hundredths(heard.sure.target),
                side: hundredths(heard.sure.side),
                technique: hundredths(heard.sure.technique),
                seconds: hundredths(heard.sure.seconds),
            },
            heard: heard.heard.clone(),
            also: heard.also.iter().map(|t| atlas.target(*t).id.clone()).collect(),
        };
        let said = |all: &[Said]| all.iter().map(|s| SaidRow { time: s.time, words: s.words.clone() }).collect();
        Recording {
            file: recorded.file.clone(),
            format: recorded.format(),
            minutes: recorded.routine.minutes,
            reviewed_by_clinician: false,
            notice: text("page.not_reviewed"),
            steps: recorded.recording.steps.iter().zip(times).map(row).collect(),
            total_s,
            cautions: said(&recorded.recording.cautions),
            not_understood: said(&recorded.recording.not_understood),
            ok: recorded.breaches.is_empty(),
            breaches: Row::all(atlas, &recorded.clearance, &recorded.routine, &recorded.breaches),
        }
    }
}

/// Two digits: more would say more than is known.
fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
