//! An old recording as a draft for an audience, checked by the planner's rules: for the command line and for the desk.

use plan::atlas::Atlas;
use plan::check::{self, Breach};
use plan::reading::{HANDS, RoutineFile};
use plan::request::MINUTES;
use plan::routine::{Step, total_s};
use plan::screening::Clearance;
use publish::recordings::{self, Recording};
use publish::timed::{self, Format, Spoken};
use vocab::Finding;

/// A recording that was read and checked.
pub struct Recorded {
    /// The file's name.
    pub file: String,
    /// As it was read.
    pub spoken: Spoken,
    /// What was understood.
    pub recording: Recording,
    /// The same as a routine for whoever listens; its minutes are those it needs.
    pub routine: RoutineFile,
    /// What an audience may do.
    pub clearance: Clearance,
    /// What it does that it must not.
    pub breaches: Vec<Breach>,
}

impl Recorded {
    /// Reads a caption file's text.
    ///
    /// # Errors
    /// A file that can't be read, and one in which no step was understood.
    pub fn new(atlas: &Atlas, file: &str, text: &str) -> Result<Recorded, Vec<Finding>> {
        let spoken = timed::read(file, text)?;
        let recording = recordings::read(atlas, &spoken);
        if recording.steps.is_empty() {
            return Err(vec![Finding::new(file, 0, crate::catalogue::text("recordings.no_step"))]);
        }
        let steps: Vec<Step> = recording.steps.iter().map(|s| s.step.clone()).collect();
        let routine = for_all(atlas, steps);
        let clearance = Clearance::audience(atlas);
        let breaches = check::check(atlas, &routine, &clearance);
        Ok(Recorded { file: file.to_owned(), spoken, recording, routine, clearance, breaches })
    }

    /// The kind of file, in the word of JSON.
    pub fn format(&self) -> &'static str {
        match self.spoken.format {
            Format::Text => "text",
            Format::WebVtt => "webvtt",
            Format::Srt => "srt",
            Format::PlainTimed => "plain_timed",
        }
    }
}

/// Steps as a routine for whoever listens, with the tools that they take and the minutes that they need.
pub fn for_all(atlas: &Atlas, steps: Vec<Step>) -> RoutineFile {
    let mut tools: Vec<_> = steps.iter().map(|s| s.tool).chain(atlas.tool_named(HANDS)).collect();
    tools.sort_unstable();
    tools.dedup();
    let minutes = i64::from(total_s(atlas, &steps).div_ceil(60)).clamp(*MINUTES.start(), *MINUTES.end());
    RoutineFile { minutes: u32::try_from(minutes).unwrap_or(1), tools, audience: true, answers: None, steps }
}
