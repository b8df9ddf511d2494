//! Simulated people: what a plan meets. Nothing of the library's model is used here.

use follow::{Plan, Value, Visit};

use crate::chance::Chance;

/// What is true of one simulated cell.
#[derive(Clone, Copy, Debug)]
pub struct World {
    /// How strongly a day is tied to the next (first-order autoregression).
    pub rho: f64,
    /// Standard deviation between days, dE00.
    pub sd: f64,
    /// Share of visits that did not take place.
    pub missing: f64,
    /// Share of visits that are off by 4 dE00 either way.
    pub outliers: f64,
    /// What changes.
    pub course: Course,
}

/// How the level runs; each ends 2 dE00 lower at day 25, or as high as it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Course {
    /// Nothing changes.
    Still,
    /// The level falls on day 1 and stays.
    Step,
    /// The level falls evenly with the days, 2 dE00 at day 25.
    Drift,
    /// The level stays until day 21 and falls for the last week.
    Late,
}

/// The size of the change that is there, dE00.
pub const EFFECT: f64 = -2.0;
/// Standard deviation between photographs of a visit, dE00.
const WITHIN: f64 = 0.25;

impl Course {
    /// The level on a day.
    fn at(self, day: i32) -> f64 {
        match self {
            _ if day < 1 => 0.0,
            Course::Still => 0.0,
            Course::Step => EFFECT,
            Course::Drift => EFFECT * f64::from(day) / 25.0,
            Course::Late if day > 21 => EFFECT,
            Course::Late => 0.0,
        }
    }

    /// The change that is true.
    pub fn truth(self) -> f64 {
        if self == Course::Still { 0.0 } else { EFFECT }
    }
}

/// The plan of the proof: five baseline days and days 1, 4, ... 28, every third day, two photographs.
pub fn plan() -> Plan {
    Plan::usual(Value::usual())
}

impl World {
    /// The visits of one person.
    pub fn person(&self, plan: &Plan, chance: &mut Chance) -> Vec<Visit> {
        let level = chance.between(2.0, 12.0);
        let (mut last, mut noise) = (None, 0.0);
        let mut visits = Vec::new();
        for day in plan.visit_days() {
            let tie = last.map_or(0.0, |l: i32| self.rho.powi(day - l));
            noise = tie * noise + self.sd * (1.0 - tie * tie).sqrt() * chance.normal();
            last = Some(day);
            let off = if !chance.happens(self.outliers) {
                0.0
            } else if chance.happens(0.5) {
                4.0
            } else {
                -4.0
            };
            let photographs: Vec<f64> = (0..plan.photographs)
                .map(|_| level + self.course.at(day) + noise + off + WITHIN * chance.normal())
                .collect();
            if !chance.happens(self.missing) {
                visits.extend(Visit::of(day, &photographs));
            }
        }
        visits
    }
}
