//! Whether a group's intervals hold what they say, by simulation from visits to the summary; and what was tried and rejected.
//!
//! `cargo run --release -p follow --example proven_many [GROUPS]`: so many groups of five a cell (2 000), fewer of larger ones. Exit code 1:
//! a bar is missed by more than so many groups could make it.

#[allow(dead_code)]
#[path = "proven/chance.rs"]
mod chance;
#[allow(dead_code)]
#[path = "proven/world.rs"]
mod world;

use std::process::ExitCode;

use chance::Chance;
use follow::stats::random_effects;
use follow::{Member, Prior, Standing, Verdict, Visit, change, interval, summarise};
use world::{Course, World, plan};

/// The mean of true changes.
const MEAN: f64 = -0.5;
const BAR: f64 = 95.0;

/// Of 100 groups: whose interval held the mean; whose prediction held one more person's measured change.
struct Held {
    groups: f64,
    mean: f64,
    next: f64,
    /// What was rejected: every member weighted by their own standard error alone; its interval of one more true change (Higgins 2009).
    own_mean: f64,
    own_next: f64,
}

/// One person with their own noise: the change as measured, its standard error, and the true change.
fn person(tau: f64, rho: f64, chance: &mut Chance) -> (Standing, f64) {
    let (plan, truth) = (plan(), MEAN + tau * chance.normal());
    let prior = Prior::stated(plan.value);
    let sd = chance.between(0.3, 0.9);
    let world = World { rho, sd, missing: 0.15, outliers: 0.0, course: Course::Still };
    loop {
        let visits = world.person(&plan, chance).into_iter();
        let visits: Vec<Visit> =
            visits.map(|v| Visit { mean: v.mean + if v.day >= 1 { truth } else { 0.0 }, ..v }).collect();
        if let Some(fit) = change(&visits, plan.end(), &prior) {
            let change = interval(&fit, 0.05);
            return (Standing::Assessed { change, se: fit.se, verdict: Verdict::WithinNoise }, truth);
        }
    }
}

fn measured(standing: &Standing) -> (f64, f64) {
    match standing {
        Standing::Assessed { change, se, .. } => (change.estimate, se * se),
        _ => (f64::NAN, f64::NAN),
    }
}

fn cell(size: usize, tau: f64, rho: f64, groups: usize, seed: u64) -> Held {
    let mut chance = Chance::new(seed);
    let mut held = Held { groups: groups as f64, mean: 0.0, next: 0.0, own_mean: 0.0, own_next: 0.0 };
    let one = 100.0 / groups as f64;
    let inside = |low: f64, high: f64, v: f64| f64::from(u8::from(low <= v && v <= high)) * one;
    for _ in 0..groups {
        let standings: Vec<Standing> = (0..size).map(|_| person(tau, rho, &mut chance).0).collect();
        let (more, truth) = person(tau, rho, &mut chance);
        let estimates: Vec<(f64, f64)> = standings.iter().map(measured).collect();
        let members: Vec<Member> =
            standings.into_iter().map(|standing| Member { standing, done: 0, asked: 0 }).collect();
        let group = summarise(&members);
        if let (Some(mean), Some(next)) = (group.mean, group.next) {
            held.mean += inside(mean.low, mean.high, MEAN);
            held.next += inside(next.low, next.high, measured(&more).0);
        }
        if let Some(own) = random_effects(&estimates) {
            let [low, high] = own.interval(0.95);
            held.own_mean += inside(low, high, MEAN);
            if let Some([low, high]) = own.prediction(0.95) {
                held.own_next += inside(low, high, truth);
            }
        }
    }
    held
}

fn main() -> ExitCode {
    let groups: usize = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(2000);
    println!(
        "groups of people with five baseline days and days 1, 4, ... 28, 15 % missing, SD 0.3 to 0.9; bar {BAR} %"
    );
    println!("held of 100: mean, one more person | rejected, weights of own errors alone: mean, one more true change");
    let (mut passed, mut failed, mut seed) = (0, 0, 0);
    for (size, groups) in [(5, groups), (12, groups / 2), (60, groups / 5)] {
        for tau in [0.0, 0.5, 1.5] {
            for rho in [0.0, 0.6] {
                seed += 1;
                let h = cell(size, tau, rho, groups, seed);
                // Three standard errors of so many groups, and the slack that is granted to every simulation.
                let least = BAR - 0.4 - 3.0 * (BAR * (100.0 - BAR) / h.groups).sqrt();
                let fine = h.mean >= least && h.next >= least;
                (passed, failed) = (passed + u32::from(fine), failed + u32::from(!fine));
                println!(
                    "{} {size:3} people, between {tau}, tie {rho}: {:.1} {:.1} | {:.1} {:.1}   ({groups} groups: at least {least:.1})",
                    if fine { "held  " } else { "MISSED" },
                    h.mean,
                    h.next,
                    h.own_mean,
                    h.own_next,
                );
            }
        }
    }
    println!("{passed} passed, {failed} failed");
    if failed > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}
