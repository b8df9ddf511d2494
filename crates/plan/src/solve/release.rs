//! When what is locked or wanted does not fit: how long it would take, and the least that must be let go.

use crate::atlas::Atlas;
use crate::draft::Release;
use crate::request::Request;
use crate::routine::total_s;
use crate::screening::Clearance;
use crate::solve::assemble::assemble;
use crate::solve::build::build;
use crate::solve::instance::Instance;
use crate::solve::search::Search;

/// More constraints than this, and only single releases are tried.
const MOST_SUBSETS: usize = 12;
/// Longer than any routine: a day.
const NO_LIMIT_S: u32 = 86_400;

/// The fewest seconds that any routine of this problem takes: the required items, or the shortest single choice.
pub(super) fn fewest_seconds(atlas: &Atlas, instance: &Instance) -> u32 {
    if !instance.items.iter().any(|i| i.required) {
        let options =
            instance.items.iter().enumerate().flat_map(|(i, item)| (0..item.options.len()).map(move |o| (i, o)));
        return options.map(|one| total_s(atlas, &assemble(atlas, instance, &[one]))).min().unwrap_or(NO_LIMIT_S);
    }
    let mut smaller = instance.clone();
    smaller.items.retain(|i| i.required);
    // Every choice is worth the same, so the best is the shortest.
    for option in smaller.items.iter_mut().flat_map(|i| &mut i.options) {
        for step in &mut option.steps {
            step.gain = 0;
        }
    }
    smaller.budget_s = required_upper(&smaller).min(NO_LIMIT_S);
    Search::new(atlas, &smaller).best(smaller.budget_s, None, false).map_or(NO_LIMIT_S, |s| s.total_s)
}

/// Seconds that are enough for the longest choice of every item with everything around it.
fn required_upper(instance: &Instance) -> u32 {
    let s = &instance.settings;
    let change = s.change_tool_s + s.change_side_s + s.change_zone_s;
    let items: u32 = instance
        .items
        .iter()
        .map(|i| {
            let longest = i.options.iter().map(|o| o.steps.iter().map(|s| s.seconds + change).sum::<u32>()).max();
            longest.unwrap_or(0)
        })
        .sum();
    let places: u32 = instance
        .places
        .iter()
        .map(|p| {
            let seconds = |x: &Option<crate::solve::instance::Passage>| x.as_ref().map_or(0, |x| x.seconds + change);
            seconds(&p.open) + seconds(&p.close)
        })
        .sum();
    items + places + s.oil_s + change
}

/// The fewest locks and wishes that, let go together, leave a problem with a routine. Empty when letting all go would not
/// help.
pub(super) fn smallest_release(atlas: &Atlas, request: &Request, clearance: &Clearance) -> Vec<Release> {
    let locks = request.locked.len();
    let n = locks + request.wanted.len();
    let sizes = if n <= MOST_SUBSETS { 1..=n } else { 1..=1 };
    for size in sizes {
        for subset in subsets(n, size) {
            let mut smaller = request.clone();
            smaller.locked = keep(&request.locked, |i| !subset.contains(&i));
            smaller.wanted = keep(&request.wanted, |i| !subset.contains(&(i + locks)));
            if smaller.locked.is_empty() && smaller.wanted.is_empty() && smaller.concerns.is_empty() {
                continue;
            }
            let built = build(atlas, &smaller, clearance);
            let fits = built.impossible.is_empty()
                && Search::new(atlas, &built.instance).best(built.instance.budget_s, None, true).is_some();
            if fits {
                return subset
                    .into_iter()
                    .map(|i| match i.checked_sub(locks) {
                        None => Release::Lock(request.locked[i].target),
                        Some(w) => Release::Want(request.wanted[w].target),
                    })
                    .collect();
            }
        }
    }
    Vec::new()
}

fn keep<T: Clone>(all: &[T], which: impl Fn(usize) -> bool) -> Vec<T> {
    all.iter().enumerate().filter(|(i, _)| which(*i)).map(|(_, x)| x.clone()).collect()
}

/// Every set of `size` numbers below `n`, in lexicographic order.
fn subsets(n: usize, size: usize) -> Vec<Vec<usize>> {
    fn grow(n: usize, size: usize, from: usize, now: &mut Vec<usize>, all: &mut Vec<Vec<usize>>) {
        if now.len() == size {
            all.push(now.clone());
            return;
        }
        for i in from..n {
            now.push(i);
            grow(n, size, i + 1, now, all);
            now.pop();
        }
    }
    let mut all = Vec::new();
    grow(n, size, 0, &mut Vec::new(), &mut all);
    all
}

#[cfg(test)]
mod tests {
    use super::subsets;

    #[test]
    fn subsets_are_all_and_ordered() {
        assert_eq!(subsets(3, 2), [vec![0, 1], vec![0, 2], vec![1, 2]]);
        assert_eq!(subsets(2, 3), Vec::<Vec<usize>>::new());
    }
}
