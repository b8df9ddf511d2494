//! Random scores and random things that happen in a session.

use plan::atlas::Atlas;
use plan::screening::Clearance;
use plan::session::{Do, Event, Felt, Score};
use plan::solve::{instance, solve, steps_of};

use crate::random::{Rng, random_answers, random_request, today};

/// So many sequences are played on one score.
#[allow(dead_code, reason = "not every user plays several")]
pub const SEQUENCES: usize = 50;

/// The score of a random person's draft, now and then for a class; `None`: this person has no routine.
pub fn random_score(atlas: &Atlas, rng: &mut Rng) -> Option<Score> {
    let answers = random_answers(atlas, rng);
    let clearance = Clearance::new(atlas, &answers, today());
    let request = random_request(atlas, rng);
    let problem = instance(atlas, &request, &clearance).ok()?;
    let steps = steps_of(atlas, &problem, &solve(atlas, &problem)?);
    let talk = if rng.percent(20) { rng.below(15) as u32 } else { 0 };
    let mut score = Score::new(atlas, &steps, request.minutes, talk);
    // Less time than was planned for: somebody came late.
    if rng.percent(60) {
        score.budget = score.budget * (45 + rng.below(50) as u32) / 100;
    }
    Some(score)
}

/// What happens: mostly small things, now and then something that ends it all; now and then a long time passes.
pub fn random_events(rng: &mut Rng) -> Vec<Event> {
    let mut at = rng.below(3_000) as u64;
    let mut events = vec![Event { at, what: Do::Start }];
    for _ in 0..rng.below(40) {
        at += match rng.below(10) {
            0 => 0,
            1 => rng.below(120_000) as u64,
            2 => 1,
            _ => rng.below(15_000) as u64,
        };
        let felt = [Felt::Easy, Felt::Tender, Felt::Tight, Felt::Red, Felt::Painful, Felt::Painful, Felt::Tender];
        let what = match rng.below(100) {
            0 => Do::Felt(Felt::Dizzy),
            1 => Do::Felt(Felt::Numb),
            2 => Do::Sign,
            3 => Do::End,
            4 => Do::Start,
            5..=14 => Do::Longer,
            15..=29 => Do::Next,
            30..=35 => Do::Skip,
            36..=41 => Do::Back,
            42..=47 => Do::Pause,
            48..=57 => Do::Resume,
            58..=63 => Do::Swap,
            _ => Do::Felt(rng.pick(&felt)),
        };
        events.push(Event { at, what });
    }
    events
}
