//! Upper bounds on the gain that the remaining items can add in the remaining seconds.
//!
//! The relaxation forgets tools and the limit of targets for a zone, and keeps seconds, sides and the entry into zones.
//! Forgetting can only make more possible, so the value is never too low. It is exact dynamic programming over
//! (item, what a transition depends on, seconds), so for one tool and few targets it is nearly the optimum itself.

use crate::solve::compact::{COption, Compact, Places};

/// A gain that cannot be had.
pub(super) const NONE: i32 = i32::MIN / 4;

pub(super) struct Bound {
    states: usize,
    width: usize,
    table: Vec<i32>,
}

/// A step pattern that options of one item share: how many seconds for how much gain.
struct Shape {
    first: u8,
    last: u8,
    tracks: u8,
    /// (cost, gain), cost ascending, gain ascending.
    front: Vec<(u32, i32)>,
}

fn shapes<'o>(options: impl Iterator<Item = &'o COption>) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = Vec::new();
    for option in options {
        let tracks = option.track.iter().flatten().fold(0u8, |set, t| set | 1 << t);
        let entry = (option.cost, small(option.gain));
        match shapes.iter_mut().find(|s| (s.first, s.last, s.tracks) == (option.first, option.last, tracks)) {
            Some(shape) => shape.front.push(entry),
            None => shapes.push(Shape { first: option.first, last: option.last, tracks, front: vec![entry] }),
        }
    }
    for shape in &mut shapes {
        shape.front.sort_unstable_by_key(|&(cost, gain)| (cost, -gain));
        let mut best = NONE;
        shape.front.retain(|&(_, gain)| {
            let better = gain > best;
            best = best.max(gain);
            better
        });
    }
    shapes
}

/// Gains are far below this: 100 targets of the largest weight stay under 2^28.
pub(super) fn small(gain: u64) -> i32 {
    i32::try_from(gain).unwrap_or(i32::MAX / 256)
}

/// Whether an option may be used when exactly `shell` is open, with or without oil.
pub(super) fn usable(option: &COption, shell: Places, oil: bool) -> bool {
    option.ways & !shell == 0 && (oil || !option.needs_oil)
}

impl Bound {
    /// The bound for work of at most `seconds` inside a shell.
    pub fn new(compact: &Compact<'_>, shell: Places, oil: bool, seconds: u32) -> Bound {
        let single = compact.tracks == 1;
        // One sequence: last side (0, 1, 2) and whether in the zone. Three: a bit a track, whether in the zone.
        let states = if single { 6 } else { 8 };
        let width = seconds as usize + 1;
        let n = compact.items.len();
        let mut table = vec![NONE; (n + 1) * states * width];
        table[n * states * width..].fill(0);
        for i in (0..n).rev() {
            let item = &compact.items[i];
            let shapes = shapes(item.options.iter().filter(|o| usable(o, shell, oil)));
            let (here, next) = table.split_at_mut((i + 1) * states * width);
            let here = &mut here[i * states * width..];
            for state in 0..states {
                let row = &mut here[state * width..(state + 1) * width];
                let leave = |s: usize| match (item.same_zone_next, single) {
                    (true, _) => s,
                    (false, true) => s / 2 * 2,
                    (false, false) => 0,
                };
                if !item.required {
                    let skip = leave(state);
                    row.copy_from_slice(&next[skip * width..(skip + 1) * width]);
                }
                for shape in &shapes {
                    let (extra, to) = if single {
                        let (side, inside) = ((state / 2) as u8, state % 2 == 1);
                        let turn =
                            if side != 0 && shape.first != 0 && side != shape.first { compact.side_s } else { 0 };
                        let enter = if inside { 0 } else { compact.zone_s };
                        (turn + enter, usize::from(shape.last) * 2 + 1)
                    } else {
                        let entered = !(state as u8) & shape.tracks;
                        (entered.count_ones() * compact.zone_s, state | usize::from(shape.tracks))
                    };
                    let to = leave(to);
                    let next = &next[to * width..(to + 1) * width];
                    for &(cost, gain) in &shape.front {
                        let cost = (cost + extra) as usize;
                        if cost >= width {
                            break;
                        }
                        for (best, rest) in row[cost..].iter_mut().zip(&next[..width - cost]) {
                            *best = (*best).max(gain + rest);
                        }
                    }
                }
            }
        }
        Bound { states, width, table }
    }

    /// The seconds it was made for.
    pub fn seconds(&self) -> u32 {
        self.width as u32 - 1
    }

    /// The most that items from `item` on can add in `seconds` from a state.
    pub fn at(&self, item: usize, state: usize, seconds: u32) -> i32 {
        let seconds = (seconds as usize).min(self.width - 1);
        self.table[(item * self.states + state) * self.width + seconds]
    }
}

/// A quick bound for ordering shells: each item's options on their upper hull, filled by gain for time.
pub(super) fn quick(compact: &Compact<'_>, shell: Places, oil: bool, seconds: u32) -> i32 {
    let mut sure = 0i64;
    let mut spent = 0u32;
    let mut pieces: Vec<(i64, u32)> = Vec::new();
    for item in &compact.items {
        let mut points: Vec<(u32, i64)> = if item.required { Vec::new() } else { vec![(0, 0)] };
        let options = item.options.iter().filter(|o| usable(o, shell, oil));
        points.extend(options.map(|o| (o.cost, i64::from(small(o.gain)))));
        points.sort_unstable_by_key(|&(cost, gain)| (cost, -gain));
        let mut hull: Vec<(u32, i64)> = Vec::new();
        for (cost, gain) in points {
            if hull.last().is_some_and(|&(c, g)| gain <= g || cost == c) {
                continue;
            }
            while hull.len() >= 2 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b.1 - a.1) * i64::from(cost - a.0) <= (gain - a.1) * i64::from(b.0 - a.0) {
                    hull.pop();
                } else {
                    break;
                }
            }
            hull.push((cost, gain));
        }
        let Some(&(cost, gain)) = hull.first() else {
            if item.required {
                return NONE;
            }
            continue;
        };
        sure += gain;
        spent += cost;
        pieces.extend(hull.windows(2).map(|w| (w[1].1 - w[0].1, w[1].0 - w[0].0)));
    }
    let Some(mut left) = seconds.checked_sub(spent) else { return NONE };
    pieces.sort_unstable_by(|a, b| (b.0 * i64::from(a.1)).cmp(&(a.0 * i64::from(b.1))));
    for (gain, cost) in pieces {
        if cost <= left {
            sure += gain;
            left -= cost;
        } else {
            sure += (gain * i64::from(left)).div_euclid(i64::from(cost)) + 1;
            break;
        }
    }
    i32::try_from(sure).unwrap_or(i32::MAX / 4)
}
