//! Plans of four weeks, each a draw of visits whose truth is known, assessed as any other's.

use follow::{Plan, Prior, Value, Verdict, assess};

use crate::pool::Face;

/// The true change, dE00.
const CHANGE: f64 = -2.0;

/// What is true over the weeks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Course {
    /// Nothing but days that differ.
    Same,
    /// From the first worked day on lower.
    Step,
    /// Lower from day to day; in the middle of the last week as much as the step.
    Ramp,
}

impl Course {
    pub const ALL: [Course; 3] = [Course::Same, Course::Step, Course::Ramp];

    pub fn words(self) -> &'static str {
        match self {
            Course::Same => "no change: clear changes",
            Course::Step => "2 dE00 less from the first day on: found",
            Course::Ramp => "slowly 2 dE00 less: found",
        }
    }

    fn on(self, day: i32) -> f64 {
        match self {
            Course::Step if day >= 1 => CHANGE,
            Course::Ramp if day >= 1 => CHANGE * f64::from(day) / 25.0,
            _ => 0.0,
        }
    }
}

/// What became of the runs.
#[derive(Default)]
pub struct Tally {
    pub runs: usize,
    pub clear: usize,
    wrong_way: usize,
    held: usize,
    noise: usize,
    early: usize,
    sum: f64,
    half: f64,
    /// Farthest that a visit's truth lies from what it stands for.
    apart: f64,
}

impl Tally {
    pub fn of(faces: &[Face], course: Course, runs: u64) -> Tally {
        let mut tally = Tally::default();
        for n in 0..runs {
            // The same days and noises under each truth.
            let mut chance = Chance(0x9e37_79b9_7f4a_7c15 ^ n.wrapping_mul(0xbf58_476d_1ce4_e5b9));
            if let Some(face) = faces.get((n % faces.len().max(1) as u64) as usize) {
                tally.one(face, course, &mut chance);
            }
        }
        tally
    }

    fn one(&mut self, face: &Face, course: Course, chance: &mut Chance) {
        let value = Value::usual();
        let plan = Plan::usual(value);
        let (sd, rho) = (0.3 + 0.3 * chance.unit(), 0.6 * chance.unit());
        let (mut day_before, mut off): (Option<i32>, f64) = (None, 0.0);
        let mut days = Vec::new();
        for day in plan.visit_days() {
            // An autoregression of the first order: days are tied, and those further apart less.
            let tie = day_before.map_or(0.0, |d| rho.powi(day - d));
            off = tie * off + (1.0 - tie * tie).sqrt() * sd * chance.normal();
            day_before = Some(day);
            days.push((chance.unit(), day, face.level + course.on(day) + off));
        }
        // Days choose in an order of chance, so that what is left for the last ones falls on both phases alike.
        days.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut used = vec![false; face.visits.len()];
        let mut visits = Vec::new();
        for (_, day, wanted) in days {
            let nearest = (0..face.visits.len())
                .filter(|i| !used[*i])
                .min_by(|a, b| distance(face, *a, wanted).total_cmp(&distance(face, *b, wanted)));
            let Some(at) = nearest else { continue };
            used[at] = true;
            self.apart = self.apart.max(distance(face, at, wanted));
            visits.extend(follow::Visit::of(day, &face.visits[at].measured));
        }
        visits.sort_by_key(|v| v.day);
        let said = assess(&plan, &Prior::stated(value), &visits, plan.end());
        let Some(change) = said.change else { return };
        let truth = if course == Course::Same { 0.0 } else { CHANGE };
        self.runs += 1;
        self.sum += change.estimate;
        self.half += (change.high - change.low) / 2.0;
        self.held += usize::from(change.low <= truth && truth <= change.high);
        match said.verdict {
            Some(Verdict::ClearChange) if truth < 0.0 && change.estimate > 0.0 => self.wrong_way += 1,
            Some(Verdict::ClearChange) => self.clear += 1,
            Some(Verdict::WithinNoise) => self.noise += 1,
            _ => self.early += 1,
        }
    }

    pub fn described(&self) -> String {
        let n = self.runs.max(1) as f64;
        format!(
            "mean change {:+.2}, half interval {:.2}, interval holds the truth in {:.1} %; within the noise {}, too early {}, clear the \
             wrong way {}; truths at most {:.2} off",
            self.sum / n,
            self.half / n,
            100.0 * self.held as f64 / n,
            self.noise,
            self.early,
            self.wrong_way,
            self.apart
        )
    }
}

fn distance(face: &Face, at: usize, wanted: f64) -> f64 {
    (face.visits[at].truth - wanted).abs()
}

/// SplitMix64 (Steele, Lea, Flood 2014).
struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Box and Muller 1958.
    fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.unit(), self.unit());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}
