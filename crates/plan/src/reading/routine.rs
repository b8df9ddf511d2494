//! A routine file: `examples/routine.toml` explains it.

use std::fmt::Write as _;
use std::ops::RangeInclusive;

use vocab::read::{Document, Table};
use vocab::{Finding, Movement, Pressure, Side};

use super::{target, technique, tool, tools_at_hand};
use crate::atlas::{Atlas, Kind, ToolIx};
use crate::request::MINUTES;
use crate::routine::{OIL_TARGET, OIL_TECHNIQUE, Step, What};

/// The seconds a written step may have; what its technique takes is narrower and is checked, not read.
pub const STEP_SECONDS: RangeInclusive<i64> = 1..=600;
/// The most steps that are read: an hour of the shortest steps.
pub const MOST_STEPS: usize = 720;

/// A routine as written by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoutineFile {
    /// The minutes it may take, transitions included.
    pub minutes: u32,
    /// Tools at hand in data order, hands always among them.
    pub tools: Vec<ToolIx>,
    /// Whether it is for a video or a class: nobody can be screened.
    pub audience: bool,
    /// The answers file named by the routine, relative to it.
    pub answers: Option<String>,
    /// The steps in the order of the file.
    pub steps: Vec<Step>,
}

impl RoutineFile {
    /// Reads a routine file; `file` is the name used in findings.
    ///
    /// A side that does not exist, a pressure too high and the like are read: they are for
    /// [`crate::check::check`] to say, with a repair.
    ///
    /// # Errors
    /// Everything that is wrong in the file, in the order of its lines.
    pub fn parse(file: &str, text: &str, atlas: &Atlas) -> Result<RoutineFile, Vec<Finding>> {
        let document = Document::parse(file, text)?;
        let root = document.root();
        let minutes = u32::try_from(root.need_int("minutes", MINUTES)).unwrap_or_default();
        let tools = tools_at_hand(&root, "tools", atlas);
        let audience = root.flag("audience").unwrap_or(false);
        let answers = root.text("answers").map(|word| word.text);
        if audience && answers.is_some() {
            let message = "an `audience` cannot be screened, so `answers` would say nothing; leave one of the two out";
            document.note(root.line_of("answers"), message);
        }
        let tables = root.tables("step");
        if tables.is_empty() {
            root.note("the routine has no step; write each under [[step]]");
        }
        if let Some(table) = tables.get(MOST_STEPS) {
            table.note(format!("this is step {}; at most {MOST_STEPS} are read", MOST_STEPS + 1));
        }
        let rows: Vec<Row> = tables.into_iter().take(MOST_STEPS).filter_map(|table| row(table, atlas)).collect();
        root.finish();
        let findings = document.into_findings();
        if !findings.is_empty() {
            return Err(findings);
        }
        let (mut steps, said): (Vec<Step>, Vec<bool>) = rows.into_iter().map(|row| (row.step, row.said)).unzip();
        infer_movements(atlas, &mut steps, &said);
        Ok(RoutineFile { minutes, tools, audience, answers, steps })
    }
}

/// A step as read, and whether it said its movement.
struct Row {
    step: Step,
    said: bool,
}

/// Reads one step; `None` after noting what is wrong.
fn row(table: Table, atlas: &Atlas) -> Option<Row> {
    let movement = table.choice("movement", &words(Movement::ALL, Movement::word));
    let said = table.has("movement");
    let target_word = table.need_text("target");
    let technique_word = table.need_text("technique");
    let what = if target_word.text == OIL_TARGET {
        if technique_word.text != OIL_TECHNIQUE {
            table.unknown_word("technique", &technique_word, [OIL_TECHNIQUE]);
        }
        Some(What::Oil)
    } else if target_word.text.trim().is_empty() || technique_word.text.trim().is_empty() {
        None
    } else {
        let known = atlas.targets.iter().map(|t| t.id.as_str()).chain([OIL_TARGET]);
        let found = match atlas.target_named(&target_word.text) {
            None => {
                table.unknown_word("target", &target_word, known);
                None
            }
            Some(_) => target(&table, "target", &target_word, atlas),
        };
        let with = technique(&table, "technique", &technique_word, atlas);
        found.zip(with).map(|(target, technique)| What::Target(target, technique))
    };
    let oil = target_word.text == OIL_TARGET;
    let side = side(&table, oil);
    let hands = atlas.tool_named(super::HANDS);
    let with = match table.text("tool") {
        None => hands,
        Some(word) => tool(&table, "tool", &word, atlas),
    };
    let pressures = words(Pressure::ALL, Pressure::word);
    let pressure = if oil && !table.has("pressure") {
        Some(Pressure::Featherlight)
    } else {
        table.need_choice("pressure", &pressures)
    };
    let seconds = u32::try_from(table.need_int("seconds", STEP_SECONDS)).ok();
    table.finish();
    let step = Step {
        movement: movement.unwrap_or(Movement::Work),
        what: what?,
        side: side?,
        tool: with?,
        pressure: pressure?,
        seconds: seconds?,
    };
    Some(Row { step, said })
}

/// The side of a step; the oil has none and may leave it out, or say `midline`.
fn side(table: &Table, oil: bool) -> Option<Side> {
    if !oil {
        return table.need_choice("side", &words(Side::ALL, Side::word));
    }
    match table.choice("side", &words(Side::ALL, Side::word)) {
        None | Some(Side::Midline) => Some(Side::Midline),
        Some(_) => {
            let message = "spreading the oil has no side; leave `side` out";
            table.document().note(table.line_of("side"), message);
            None
        }
    }
}

/// Every value of a closed set with its spelling.
fn words<T: Copy>(all: &[T], word: fn(T) -> &'static str) -> Vec<(&'static str, T)> {
    all.iter().map(|value| (word(*value), *value)).collect()
}

/// Gives a movement to every step that did not say one (`said` is false).
///
/// The oil prepares. A zone's opening technique before any work opens; a zone's closing technique after the last
/// step that does not close, closes; all else is work. A zone that opens twice before any work closes the second
/// time if its opening and closing are the same technique.
pub fn infer_movements(atlas: &Atlas, steps: &mut [Step], said: &[bool]) {
    let unsaid = |i: usize| !said.get(i).copied().unwrap_or(false);
    let technique_of_zone = |step: &Step, opening: bool| match step.what {
        What::Target(target, technique) if atlas.target(target).kind == Kind::Zone => {
            let zone = atlas.zone(atlas.target(target).zone);
            technique == if opening { zone.open_technique } else { zone.close_technique }
        }
        _ => false,
    };
    for (_, step) in steps.iter_mut().enumerate().filter(|(i, _)| unsaid(*i)) {
        step.movement = if step.what == What::Oil { Movement::Prepare } else { Movement::Work };
    }
    let mut end = 0;
    while end < steps.len() {
        let step = &steps[end];
        let again = || steps[..end].iter().any(|s| s.what == step.what && s.side == step.side);
        let goes_on = match step.what {
            What::Oil => true,
            _ if !unsaid(end) => step.movement == Movement::Open,
            _ => technique_of_zone(step, true) && !again(),
        };
        if !goes_on {
            break;
        }
        if unsaid(end) && steps[end].what != What::Oil {
            steps[end].movement = Movement::Open;
        }
        end += 1;
    }
    for i in (end..steps.len()).rev() {
        if unsaid(i) && technique_of_zone(&steps[i], false) {
            steps[i].movement = Movement::Close;
        } else if unsaid(i) || steps[i].movement != Movement::Close {
            break;
        }
    }
}

/// Writes steps as a routine file that reads back to the same steps; the tools at hand are those of the steps.
///
/// An audience can't be screened, so with `audience` no answers file is named.
pub fn write_routine(atlas: &Atlas, minutes: u32, audience: bool, answers: Option<&str>, steps: &[Step]) -> String {
    let mut tools: Vec<ToolIx> = steps.iter().map(|s| s.tool).collect();
    tools.sort_unstable();
    tools.dedup();
    let answers = answers.map(str::to_owned);
    RoutineFile { minutes, tools, audience, answers, steps: steps.to_vec() }.to_toml(atlas)
}

impl RoutineFile {
    /// Writes the routine as [`RoutineFile::parse`] reads it. For an audience no answers file is named.
    pub fn to_toml(&self, atlas: &Atlas) -> String {
        let tools: Vec<String> = self.tools.iter().map(|t| quoted(&atlas.tool(*t).id)).collect();
        let mut out = format!("minutes = {}\ntools = [{}]\n", self.minutes, tools.join(", "));
        // Writing to a String cannot fail, so the answers of `writeln!` are not looked at.
        if self.audience {
            out.push_str("audience = true\n");
        }
        if let Some(file) = self.answers.as_deref().filter(|_| !self.audience) {
            let _ = writeln!(out, "answers = {}", quoted(file));
        }
        for step in &self.steps {
            let _ = writeln!(out, "\n[[step]]\nmovement = {}", quoted(step.movement.word()));
            let _ = writeln!(out, "target = {}", quoted(step.target_id(atlas)));
            if step.what != What::Oil {
                let _ = writeln!(out, "side = {}", quoted(step.side.word()));
            }
            let _ = writeln!(out, "technique = {}", quoted(step.technique_id(atlas)));
            let _ = writeln!(out, "tool = {}", quoted(&atlas.tool(step.tool).id));
            let _ = writeln!(out, "pressure = {}", quoted(step.pressure.word()));
            let _ = writeln!(out, "seconds = {}", step.seconds);
        }
        out
    }
}

/// A TOML basic string.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
