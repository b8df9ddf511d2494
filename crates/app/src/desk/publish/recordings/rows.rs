//! The steps that were heard as rows of a form: as they were understood, and as they were corrected.

use plan::atlas::{Atlas, Shown, TargetIx};
use plan::check;
use plan::reading::{HANDS, RoutineFile, STEP_SECONDS, infer_movements};
use plan::request::MINUTES;
use plan::routine::{Step, What};
use plan::screening::Clearance;
use publish::recordings::Sure;
use vocab::{Movement, Pressure, Side, Sides};

use super::super::texts::Sent;
use crate::catalogue::fill;
use crate::recorded::{Recorded, for_all};

/// The most repairs that are tried to see how long a routine becomes.
const MOST_REPAIRS: usize = 100;

/// A step with what was heard.
#[derive(Clone, Debug)]
pub struct Row {
    /// The step.
    pub step: Step,
    /// When it is said, in seconds.
    pub time: Option<f64>,
    /// The words.
    pub heard: String,
    /// How sure, 0 to 1; 1: corrected by hand.
    pub confidence: f64,
    /// How sure each part is; none: corrected by hand.
    pub sure: Option<Sure>,
    /// What else the words may mean.
    pub also: Vec<TargetIx>,
    /// Left out by hand.
    pub out: bool,
}

impl Row {
    /// As they were understood.
    pub fn all(recorded: &Recorded) -> Vec<Row> {
        let row = |s: &publish::recordings::HeardStep| Row {
            step: s.step.clone(),
            time: s.time,
            heard: s.heard.clone(),
            confidence: s.confidence,
            sure: Some(s.sure),
            also: s.also.clone(),
            out: false,
        };
        recorded.recording.steps.iter().map(row).collect()
    }
}

/// The places that can be chosen.
pub fn workable(atlas: &Atlas, target: TargetIx) -> bool {
    !matches!(atlas.target(target).shown, Shown::Never(_))
}

/// The rows of a form, and what in it could not be read. The k-th value of each field belongs to the k-th row.
pub fn read(atlas: &Atlas, sent: &Sent) -> (Vec<Row>, Vec<String>) {
    let columns = ["target", "side", "technique", "seconds", "with", "pressure", "was", "time", "heard", "sure"]
        .map(|c| sent.all(c));
    let out = sent.all("out");
    let count = columns.iter().map(Vec::len).min().unwrap_or(0);
    let (mut rows, mut wrong) = (Vec::new(), Vec::new());
    for i in 0..count {
        let [target, side, technique, seconds, with, pressure, was, time, heard, sure] =
            columns.each_ref().map(|c| c[i]);
        let lost = || fill("recordings.lost", &[("n", &(i + 1)), ("heard", &heard.trim())]);
        let Some(target) = atlas.target_named(target) else {
            wrong.push(lost());
            continue;
        };
        let row = atlas.target(target);
        let Some(technique) = atlas.technique_named(technique).or(row.techniques.first().copied()) else {
            wrong.push(lost());
            continue;
        };
        let said = seconds.trim().parse::<i64>().ok().filter(|s| STEP_SECONDS.contains(s));
        let before: Vec<&str> = was.split(' ').collect();
        let old_seconds =
            before.last().and_then(|s| s.parse::<i64>().ok()).filter(|s| STEP_SECONDS.contains(s)).unwrap_or(10);
        if said.is_none() {
            let values: [(&str, &dyn std::fmt::Display); 4] = [
                ("n", &(i + 1)),
                ("said", &seconds.trim()),
                ("least", STEP_SECONDS.start()),
                ("most", STEP_SECONDS.end()),
            ];
            wrong.push(fill("recordings.seconds_wrong", &values));
        }
        let tools = &atlas.technique(technique).tools;
        let tool =
            atlas.tool_named(with).filter(|t| tools.contains(t)).or(tools.first().copied()).or(atlas.tool_named(HANDS));
        let Some(tool) = tool else {
            wrong.push(lost());
            continue;
        };
        let side = match (row.sides, Side::from_word(side)) {
            (Sides::Midline, _) => Side::Midline,
            (Sides::Lateral, Some(side)) if side != Side::Midline => side,
            (Sides::Lateral, _) => Side::Both,
        };
        let step = Step {
            movement: Movement::Work,
            what: What::Target(target, technique),
            side,
            tool,
            pressure: Pressure::from_word(pressure).unwrap_or(row.pressure),
            seconds: u32::try_from(said.unwrap_or(old_seconds)).unwrap_or(10),
        };
        let parts: Vec<f64> = sure.split(' ').filter_map(|s| s.parse().ok()).collect();
        let same = was == marked(atlas, &step);
        let heard_sure = match parts.as_slice() {
            [_, target, side, technique, seconds] if same => {
                Some(Sure { target: *target, side: *side, technique: *technique, seconds: *seconds })
            }
            _ => None,
        };
        let confidence = if same { parts.first().copied().unwrap_or(1.0).clamp(0.0, 1.0) } else { 1.0 };
        rows.push(Row {
            step,
            time: time.parse::<f64>().ok().filter(|t| t.is_finite()),
            heard: heard.to_owned(),
            confidence,
            sure: heard_sure,
            also: Vec::new(),
            out: out.contains(&(i + 1).to_string().as_str()),
        });
    }
    let mut steps: Vec<Step> = rows.iter().map(|r| r.step.clone()).collect();
    let said = vec![false; steps.len()];
    infer_movements(atlas, &mut steps, &said);
    for (row, step) in rows.iter_mut().zip(steps) {
        row.step = step;
    }
    (rows, wrong)
}

/// Whether rows are there and every one is left out.
pub fn all_out(rows: &[Row]) -> bool {
    !rows.is_empty() && rows.iter().all(|r| r.out)
}

/// A step in one word, to see whether it was corrected.
pub fn marked(atlas: &Atlas, step: &Step) -> String {
    format!("{} {} {} {}", step.target_id(atlas), step.side, step.technique_id(atlas), step.seconds)
}

/// The parts of how sure a row is, as the form carries them.
pub fn sures(row: &Row) -> String {
    let two = |v: f64| format!("{v:.2}");
    row.sure.map_or_else(
        || two(row.confidence),
        |s| [row.confidence, s.target, s.side, s.technique, s.seconds].map(two).join(" "),
    )
}

/// The minutes that it needs once each repair is made: with fewer, the repairs that open the way would have the work taken out again.
fn minutes_mended(atlas: &Atlas, routine: &RoutineFile) -> u32 {
    let clearance = Clearance::audience(atlas);
    let mut mended = routine.clone();
    mended.minutes = u32::try_from(*MINUTES.end()).unwrap_or(routine.minutes);
    for _ in 0..MOST_REPAIRS {
        let Some(breach) = check::check(atlas, &mended, &clearance).into_iter().next() else { break };
        check::apply(&breach.repair, &mut mended.steps);
    }
    for_all(atlas, mended.steps).minutes
}

/// The rows that stay, as the editor's form.
pub fn form(atlas: &Atlas, rows: &[Row], name: &str) -> Vec<u8> {
    let steps: Vec<Step> = rows.iter().filter(|r| !r.out).map(|r| r.step.clone()).collect();
    let mut routine = for_all(atlas, steps);
    routine.minutes = routine.minutes.max(minutes_mended(atlas, &routine));
    let mut form = form_urlencoded::Serializer::new(String::new());
    form.append_pair("name", name).append_pair("minutes", &routine.minutes.to_string());
    for tool in &routine.tools {
        form.append_pair("tool", &atlas.tool(*tool).id);
    }
    for step in &routine.steps {
        form.append_pair("movement", step.movement.word())
            .append_pair("target", step.target_id(atlas))
            .append_pair("side", step.side.word())
            .append_pair("technique", step.technique_id(atlas))
            .append_pair("with", &atlas.tool(step.tool).id)
            .append_pair("pressure", step.pressure.word())
            .append_pair("seconds", &step.seconds.to_string());
    }
    form.finish().into_bytes()
}
