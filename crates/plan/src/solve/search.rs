//! The exact search: which places are open decides a "shell"; within one, a pass over the fixed order finds the best.
//!
//! Shells are taken by falling upper bound until none left can reach the best routine found. A routine that leaves a
//! place of its shell unused is longer there than in its own smaller shell, so nothing is lost by not forbidding it.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use crate::atlas::Atlas;
use crate::solve::assemble::assemble;
use crate::solve::bound::{Bound, NONE, quick, usable};
use crate::solve::compact::{Compact, Frame, MAX_PLACES, Places};
use crate::solve::instance::Instance;
use crate::solve::labels::{Found, Pass, compare_lists};

/// The best choice of an instance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// Chosen (item, option) pairs in item order.
    pub chosen: Vec<(usize, usize)>,
    /// The gain in thousandths.
    pub gain: u64,
    /// An upper bound; equal to the gain when proven.
    pub bound: u64,
    /// The length of the whole in seconds.
    pub total_s: u32,
    /// Whether nothing better exists.
    pub proven: bool,
}

/// Labels kept an item by the heuristic pass that finds a first good routine.
const FIRST_PASS: usize = 24;

struct Shell {
    places: Places,
    oil: bool,
    quick: i32,
}

/// Finds the best choice, or `None` when nothing fits (proven, since the search is exhaustive).
pub fn solve(atlas: &Atlas, instance: &Instance) -> Option<Solution> {
    Search::new(atlas, instance).best(instance.budget_s, None, false)
}

/// A search that can be asked for several budgets.
pub(crate) struct Search<'a> {
    compact: Compact<'a>,
    shells: Vec<(Places, bool)>,
    /// Bounds are made once for the widest budget that will be asked.
    widest_s: u32,
    bounds: RefCell<BTreeMap<(Places, bool), Rc<Bound>>>,
}

impl<'a> Search<'a> {
    pub fn new(atlas: &'a Atlas, instance: &'a Instance) -> Search<'a> {
        let mut compact = Compact::new(atlas, instance);
        // Places that clearance skips cost nothing and distinguish nothing.
        let real = |p: usize| p < MAX_PLACES && instance.places[p].open.is_some();
        let mask: Places = (0..instance.places.len()).filter(|&p| real(p)).fold(0, |set, p| set | 1 << p);
        for option in compact.items.iter_mut().flat_map(|i| &mut i.options) {
            option.ways &= mask;
        }
        let base = instance.start.opened.iter().filter(|&&p| real(p)).fold(0, |set, p| set | 1 << p);
        let mut shells = Vec::new();
        for places in unions(&compact, base) {
            let inside = || compact.items.iter().flat_map(|i| &i.options).filter(move |o| usable(o, places, true));
            let any_oil = inside().any(|o| o.needs_oil);
            let any_dry = inside().any(|o| !o.needs_oil);
            let oil_done = instance.start.oil_done;
            if oil_done || any_dry || instance.start.may_be_empty {
                shells.push((places, false));
            }
            if any_oil && !oil_done {
                shells.push((places, true));
            }
        }
        Search { compact, shells, widest_s: instance.budget_s, bounds: RefCell::default() }
    }

    /// The same search, to be asked for budgets up to `widest_s`.
    pub fn up_to(mut self, widest_s: u32) -> Search<'a> {
        self.widest_s = widest_s;
        self
    }

    /// The bound of a shell, wide enough for the work that fits the budget.
    fn bound(&self, shell: &Shell, frame: Frame, budget_s: u32) -> Rc<Bound> {
        let around = frame.before_s + frame.after_s;
        let credit = 3 * self.compact.zone_s;
        let mut bounds = self.bounds.borrow_mut();
        let known = bounds.get(&(shell.places, shell.oil));
        if let Some(known) = known.filter(|b| b.seconds() >= budget_s - around + credit) {
            return Rc::clone(known);
        }
        let seconds = self.widest_s.max(budget_s) - around + credit;
        let made = Rc::new(Bound::new(&self.compact, shell.places, shell.oil || self.oil_free(), seconds));
        bounds.insert((shell.places, shell.oil), Rc::clone(&made));
        made
    }

    /// Whether an option may be used without an oil step of its own.
    fn oil_free(&self) -> bool {
        self.compact.instance.start.oil_done
    }

    /// The best choice within `budget_s`. `known`: a gain that is already had, to beat when only the gain matters.
    pub fn best(&self, budget_s: u32, known: Option<u64>, gain_only: bool) -> Option<Solution> {
        let c = &self.compact;
        let mut shells: Vec<Shell> = Vec::new();
        for &(places, oil) in &self.shells {
            let frame = c.frame(places, oil);
            let Some(left) = budget_s.checked_sub(frame.before_s + frame.after_s) else { continue };
            let quick = quick(c, places, oil || self.oil_free(), left);
            if quick >= 0 {
                shells.push(Shell { places, oil, quick });
            }
        }
        shells.sort_by(|a, b| b.quick.cmp(&a.quick).then(a.places.cmp(&b.places)).then(a.oil.cmp(&b.oil)));

        let mut best: Option<Found> = None;
        let mut floor = known.map_or(-1, |g| i32::try_from(g).unwrap_or(i32::MAX));
        let mut unproven = NONE;
        for shell in &shells {
            let hopeless = if gain_only { shell.quick <= floor } else { shell.quick < floor };
            if hopeless {
                break;
            }
            let oil = shell.oil || self.oil_free();
            let frame = c.frame(shell.places, shell.oil);
            let bound = self.bound(shell, frame, budget_s);
            let mut pass = Pass {
                compact: c,
                shell: shell.places,
                oil,
                frame,
                bound: &bound,
                budget_s,
                width: Some(FIRST_PASS),
                gain_only: true,
            };
            if let (Some(first), _) = pass.run(floor) {
                floor = floor.max(first.gain);
                self.take(&mut best, first);
            }
            pass.width = None;
            pass.gain_only = gain_only;
            let (found, exact) = pass.run(floor);
            if let Some(found) = found {
                floor = floor.max(found.gain);
                self.take(&mut best, found);
            }
            if !exact {
                unproven = unproven.max(shell.quick);
            }
        }
        let best = best?;
        let gain = u64::try_from(best.gain).unwrap_or(0);
        let bound = gain.max(u64::try_from(unproven).unwrap_or(0));
        Some(Solution { chosen: best.chosen, gain, bound, total_s: best.total_s, proven: bound == gain })
    }

    fn take(&self, best: &mut Option<Found>, found: Found) {
        let better = best.as_ref().is_none_or(|b| {
            let c = &self.compact;
            b.gain
                .cmp(&found.gain)
                .then(found.total_s.cmp(&b.total_s))
                .then_with(|| {
                    let list = |f: &Found| assemble(c.atlas, c.instance, &f.chosen);
                    compare_lists(c, &list(&found), &list(b))
                })
                .is_lt()
        });
        if better {
            *best = Some(found);
        }
    }
}

/// Every set of places that some choice of options opens, together with what is open already.
fn unions(compact: &Compact<'_>, base: Places) -> Vec<Places> {
    let options = compact.items.iter().flat_map(|i| &i.options);
    let single: BTreeSet<Places> = options.map(|o| o.ways).collect();
    let mut all: BTreeSet<Places> = BTreeSet::from([base]);
    for ways in single {
        let longer: Vec<Places> = all.iter().map(|set| set | ways).collect();
        all.extend(longer);
    }
    all.into_iter().collect()
}
