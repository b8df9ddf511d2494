//! The search against a naive oracle that tries every choice of small problems, tie-breaks included.

mod common;

use common::random::{Rng, random_answers, random_request, today};
use plan::atlas::Atlas;
use plan::routine::{Step, What, total_s};
use plan::screening::Clearance;
use plan::solve::instance::Instance;
use plan::solve::{Solution, solve, steps_of};

/// Gain, length and list of a choice, if it is one that the model allows.
fn value(atlas: &Atlas, instance: &Instance, chosen: &[(usize, usize)]) -> Option<(u64, u32, Vec<Step>)> {
    if chosen.is_empty() {
        return None;
    }
    let mut counts = std::collections::BTreeMap::new();
    let mut gain = 0;
    for &(i, o) in chosen {
        let option = &instance.items[i].options[o];
        gain += option.gain();
        for place in &option.counts {
            *counts.entry(*place).or_insert(0) += 1;
        }
    }
    if counts.values().any(|n| *n > instance.settings.targets_per_zone) {
        return None;
    }
    let solution = Solution { chosen: chosen.to_vec(), gain, bound: gain, total_s: 0, proven: true };
    let steps = steps_of(atlas, instance, &solution);
    let total = total_s(atlas, &steps);
    (total <= instance.budget_s).then_some((gain, total, steps))
}

type Key = Vec<(String, vocab::Side, usize, usize, u32)>;

fn list(atlas: &Atlas, steps: &[Step]) -> Key {
    steps
        .iter()
        .map(|s| {
            let technique = match s.what {
                What::Oil => 0,
                What::Target(_, t) => t.0,
            };
            (s.target_id(atlas).to_owned(), s.side, technique, s.tool.0, s.seconds)
        })
        .collect()
}

fn naive(atlas: &Atlas, instance: &Instance) -> Option<(u64, u32, Key)> {
    let mut best: Option<(u64, u32, Key)> = None;
    let mut chosen: Vec<(usize, usize)> = Vec::new();
    fn go(
        atlas: &Atlas,
        instance: &Instance,
        i: usize,
        chosen: &mut Vec<(usize, usize)>,
        best: &mut Option<(u64, u32, Key)>,
    ) {
        if i == instance.items.len() {
            if let Some((gain, total, steps)) = value(atlas, instance, chosen) {
                let better = match best {
                    None => true,
                    Some((g, t, l)) => {
                        (gain, std::cmp::Reverse(total)) > (*g, std::cmp::Reverse(*t))
                            || (gain == *g && total == *t && list(atlas, &steps) < *l)
                    }
                };
                if better {
                    *best = Some((gain, total, list(atlas, &steps)));
                }
            }
            return;
        }
        if !instance.items[i].required {
            go(atlas, instance, i + 1, chosen, best);
        }
        for o in 0..instance.items[i].options.len() {
            chosen.push((i, o));
            go(atlas, instance, i + 1, chosen, best);
            chosen.pop();
        }
    }
    go(atlas, instance, 0, &mut chosen, &mut best);
    best
}

/// Cuts a problem down to what can be tried out whole: a few neighbouring items, at most five options each.
fn cut(instance: &mut Instance, rng: &mut Rng) {
    let keep = 2 + rng.below(4);
    while instance.items.len() > keep {
        let i = rng.below(instance.items.len());
        instance.items.remove(i);
    }
    for item in &mut instance.items {
        while item.options.len() > 5 {
            let o = rng.below(item.options.len());
            item.options.remove(o);
        }
        // Few distinct gains make many ties, and ties are where a search goes wrong.
        if rng.percent(50) {
            for step in item.options.iter_mut().flat_map(|o| &mut o.steps) {
                step.gain = step.gain / 4000 * 1000 + 1000;
            }
        }
    }
    instance.settings.targets_per_zone = 1 + rng.below(4) as u32;
    instance.budget_s = 60 + rng.below(360) as u32;
}

#[test]
fn equals_the_naive_oracle_with_ties() {
    let atlas = Atlas::built_in();
    let (mut compared, mut feasible) = (0, 0);
    for seed in 0..3000 {
        let mut rng = Rng::new(seed);
        let answers = random_answers(&atlas, &mut rng);
        let request = random_request(&atlas, &mut rng);
        let clearance = Clearance::new(&atlas, &answers, today());
        let Ok(mut instance) = plan::solve::instance(&atlas, &request, &clearance) else { continue };
        cut(&mut instance, &mut rng);
        if instance.items.is_empty() {
            continue;
        }
        compared += 1;
        let expected = naive(&atlas, &instance);
        let got = solve(&atlas, &instance);
        let got = got.map(|s| {
            let steps = steps_of(&atlas, &instance, &s);
            assert_eq!(total_s(&atlas, &steps), s.total_s, "seed {seed}: the search's own clock");
            assert!(s.proven, "seed {seed}");
            (s.gain, s.total_s, list(&atlas, &steps))
        });
        feasible += usize::from(expected.is_some());
        assert_eq!(got, expected, "seed {seed}, {:?}", request.side_mode);
    }
    assert!(compared > 1500 && feasible > 700, "too few cases: {compared} compared, {feasible} feasible");
}
