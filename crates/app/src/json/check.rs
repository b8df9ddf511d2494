//! `check --json`.

use plan::atlas::Atlas;
use plan::check::Breach;
use plan::reading::RoutineFile;
use plan::routine::total_s;
use plan::screening::Clearance;
use serde::Serialize;

use crate::catalogue::{Catalogue, text};

#[derive(Serialize)]
pub struct Check {
    pub ok: bool,
    reviewed_by_clinician: bool,
    notice: &'static str,
    minutes: u32,
    total_s: u32,
    pub breaches: Vec<Row>,
}

#[derive(Serialize)]
pub struct Row {
    step: Option<usize>,
    pub rule: &'static str,
    pub message: String,
    pub repair: String,
}

impl Check {
    pub fn new(atlas: &Atlas, clearance: &Clearance, routine: &RoutineFile, breaches: &[Breach]) -> Check {
        Check {
            ok: breaches.is_empty(),
            reviewed_by_clinician: false,
            notice: text("page.not_reviewed"),
            minutes: routine.minutes,
            total_s: total_s(atlas, &routine.steps),
            breaches: Row::all(atlas, clearance, routine, breaches),
        }
    }
}

impl Row {
    /// The step's number, from 1.
    pub fn step_number(&self) -> Option<usize> {
        self.step.map(|n| n + 1)
    }

    /// Breaches with their repairs, in words.
    pub fn all(atlas: &Atlas, clearance: &Clearance, routine: &RoutineFile, breaches: &[Breach]) -> Vec<Row> {
        let row = |breach: &Breach| Row {
            step: breach.step,
            rule: breach.rule,
            message: breach.message(&Catalogue, atlas, clearance, &routine.steps),
            repair: breach.repair_words(&Catalogue, atlas, &routine.steps),
        };
        breaches.iter().map(row).collect()
    }
}
