//! Shorter rests, solved beforehand, so that no solver is needed while the session runs, nor at home.
//!
//! After each step, for each lateness: which targets still to come are left out so that as few planned seconds of work as possible are lost
//! and the lateness is made up for; of equals the later ones go. Left and right of a target go together, and a target of which one side is
//! done stays, unless nothing else helps. What only they needed (openings, oil) goes with them; what is open is closed.

use vocab::Movement;

use super::engine::{State, Status, prune, rest_ms};
use super::score::{Ending, Score};

/// How late one may be, in seconds: each has a rest of its own.
pub const LATE_S: [u32; 7] = [15, 30, 60, 90, 120, 180, 300];
/// So many sets are looked at for one rest; the best until then is taken.
const LOOKS: usize = 600;

/// The shorter rests of a score, by place, then by lateness.
pub(super) fn endings(score: &Score) -> Vec<Ending> {
    let mut all = Vec::new();
    for after in 0..score.steps.len() {
        let mut state = State::begin(score);
        for status in &mut state.status[..=after] {
            *status = Status::Done;
        }
        let groups = groups(score, after);
        let Some(whole) = groups.first().map(|_| rest_ms(score, &state, Some(after))) else { continue };
        let drop_of = |chosen: &[usize]| {
            let mut drop: Vec<usize> = chosen.iter().flat_map(|g| groups[*g].steps.iter().copied()).collect();
            drop.sort_unstable();
            drop
        };
        let frees = |chosen: &[usize]| {
            let mut without = state.clone();
            for i in drop_of(chosen) {
                without.status[i] = Status::LeftOut;
            }
            prune(score, &mut without.status);
            whole.saturating_sub(rest_ms(score, &without, Some(after)))
        };
        let every: Vec<usize> = (0..groups.len()).collect();
        let most = frees(&every);
        for late in LATE_S.into_iter().filter(|late| u64::from(*late) * 1000 < most) {
            let mut search =
                Search { groups: &groups, frees: &frees, need: u64::from(late) * 1000, best: None, looks: 0 };
            search.go(0, &mut Vec::new(), 0);
            let chosen = search.best.map_or(every.clone(), |(_, chosen)| chosen);
            all.push(Ending { after, late, drop: drop_of(&chosen) });
        }
        let late = u32::try_from(most / 1000).unwrap_or(u32::MAX);
        all.push(Ending { after, late, drop: drop_of(&every) });
    }
    all
}

/// What is left out together.
struct Group {
    steps: Vec<usize>,
    /// Seconds that are lost; of a target of which one side is done so many that anything else goes before.
    cost: u32,
}

/// More than any routine is long.
const HALF_DONE: u32 = 1_000_000;

/// The targets still to be worked, cheapest first; those half done last.
fn groups(score: &Score, after: usize) -> Vec<Group> {
    let work = |i: &usize| score.steps[*i].movement == Movement::Work;
    let mut found: Vec<(usize, Group)> = Vec::new();
    for i in (after + 1..score.steps.len()).filter(work) {
        let row = &score.steps[i];
        match found.iter_mut().find(|(target, _)| *target == row.target) {
            Some((_, group)) => {
                group.steps.push(i);
                group.cost += row.seconds;
            }
            None => {
                let half = (0..=after).filter(work).any(|d| score.steps[d].target == row.target);
                let cost = row.seconds + if half { HALF_DONE } else { 0 };
                found.push((row.target, Group { steps: vec![i], cost }));
            }
        }
    }
    found.sort_by_key(|(_, g)| (g.cost, std::cmp::Reverse(g.steps[0])));
    found.into_iter().map(|(_, group)| group).collect()
}

struct Search<'a> {
    groups: &'a [Group],
    frees: &'a dyn Fn(&[usize]) -> u64,
    need: u64,
    best: Option<(u32, Vec<usize>)>,
    looks: usize,
}

impl Search<'_> {
    /// Adds groups from `from` on, as long as less is lost than in the best set found.
    fn go(&mut self, from: usize, chosen: &mut Vec<usize>, lost: u32) {
        if self.looks >= LOOKS {
            return;
        }
        self.looks += 1;
        if !chosen.is_empty() && (self.frees)(chosen) >= self.need {
            self.best = Some((lost, chosen.clone()));
            return;
        }
        for g in from..self.groups.len() {
            let with = lost + self.groups[g].cost;
            if self.best.as_ref().is_some_and(|(least, _)| with >= *least) {
                continue;
            }
            chosen.push(g);
            self.go(g + 1, chosen, with);
            chosen.pop();
        }
    }
}
