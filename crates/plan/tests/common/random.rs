//! Seeded random people and requests, for tests and for the comparison with a general solver.

use plan::atlas::{Atlas, ConcernIx, ConditionIx, GroupIx, Shown, TargetIx, ToolIx, ZoneIx};
use plan::request::{Asked, Lock, Order, Request, SideMode, Wish};
use plan::screening::{Answer, Answers, Own};
use vocab::{Date, Side};

/// SplitMix64 (Steele, Lea, Flood 2014): small, seeded, good enough to draw test cases.
pub struct Rng(u64);

impl Rng {
    pub fn new(seed: u64) -> Rng {
        Rng(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66_D1CE_4E5B)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    /// True in so many of a hundred cases.
    pub fn percent(&mut self, p: u64) -> bool {
        self.next() % 100 < p
    }

    pub fn pick<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}

/// The day of all random people.
pub fn today() -> Date {
    Date::new(2026, 3, 1).expect("a day")
}

/// A random *yes* with a random place, side and day where the condition asks for them.
pub fn random_yes(atlas: &Atlas, condition: ConditionIx, rng: &mut Rng) -> Own {
    let data = &atlas.conditions[condition.0];
    let mut own = Own::new(Answer::Yes);
    if !data.places.is_empty() && rng.percent(80) {
        own.places = vec![rng.pick(&data.places)];
    }
    if data.asks_side && rng.percent(80) {
        own.side = Some(rng.pick(&[Side::Left, Side::Right]));
    }
    if data.asks_since && rng.percent(70) {
        own.since = Date::new(2026, 1 + rng.below(2) as u8, 1 + rng.below(28) as u8);
    }
    own
}

/// A random person: mostly clear, with a few conditions, or with only the grouped questions answered.
pub fn random_answers(atlas: &Atlas, rng: &mut Rng) -> Answers {
    let mut answers = match rng.below(10) {
        0 | 1 => Answers::by_groups(atlas, Answer::No),
        2 => {
            let mut some = Answers::by_groups(atlas, Answer::No);
            for g in 0..atlas.groups.len() {
                if rng.percent(15) {
                    some = some.with_group(GroupIx(g), Answer::Unknown);
                }
            }
            some
        }
        _ => Answers::all_no(atlas),
    };
    for _ in 0..rng.below(4) {
        let condition = ConditionIx(rng.below(atlas.conditions.len()));
        let own = random_yes(atlas, condition, rng);
        answers = answers.with(condition, own);
    }
    answers
}

fn workable(atlas: &Atlas) -> Vec<TargetIx> {
    (0..atlas.targets.len())
        .map(TargetIx)
        .filter(|t| !matches!(atlas.target(*t).shown, Shown::Never(_)) && !atlas.target(*t).techniques.is_empty())
        .collect()
}

/// A random request of realistic size.
pub fn random_request(atlas: &Atlas, rng: &mut Rng) -> Request {
    let hands = atlas.tool_named("hands").expect("hands");
    let mut request = Request::plain(2 + rng.below(18) as u32, Vec::new(), hands);
    for _ in 0..1 + rng.below(3) {
        let concern = ConcernIx(rng.below(atlas.concerns.len()));
        if !request.concerns.iter().any(|a| a.concern == concern) {
            request.concerns.push(Asked { concern, priority: 1 + rng.below(5) as u32 });
        }
    }
    for t in 0..atlas.tools.len() {
        if ToolIx(t) != hands && rng.percent(35) {
            request.tools.push(ToolIx(t));
        }
    }
    request.tools.sort_unstable();
    request.both = rng.percent(40);
    request.side_mode = if rng.percent(35) { SideMode::SideBySide } else { SideMode::TargetByTarget };
    request.order = match rng.below(5) {
        0 => Order::Downward,
        1 => {
            let mut zones: Vec<ZoneIx> = (0..atlas.zones.len()).map(ZoneIx).collect();
            for i in (1..zones.len()).rev() {
                zones.swap(i, rng.below(i + 1));
            }
            zones.truncate(1 + rng.below(zones.len()));
            Order::Own(zones)
        }
        _ => Order::Outward,
    };
    let workable = workable(atlas);
    let linked: Vec<TargetIx> = request
        .concerns
        .iter()
        .flat_map(|a| atlas.concerns[a.concern.0].links.iter().map(|l| l.target))
        .filter(|t| workable.contains(t))
        .collect();
    if linked.is_empty() {
        return request;
    }
    if rng.percent(15) {
        request.wanted.push(Wish { target: rng.pick(&linked), side: None });
    }
    if rng.percent(15) {
        let target = rng.pick(&linked);
        let side = rng.pick(&[None, atlas.target(target).sides.each().first().copied()]);
        if request.wanted.iter().all(|w| w.target != target) {
            request.unwanted.push(Wish { target, side });
        }
    }
    if rng.percent(15) {
        request.free.push(rng.pick(&linked));
    }
    if rng.percent(10) {
        let target = rng.pick(&linked);
        let technique = atlas.target(target).techniques[0];
        let seconds = match atlas.target(target).laps {
            Some(laps) => laps.lap_s,
            None => atlas.technique(technique).seconds.0,
        };
        let clash = request.unwanted.iter().any(|w| w.target == target);
        if !clash {
            let (technique, seconds) = (Some(technique), Some(seconds));
            request.locked.push(Lock { target, side: None, technique, tool: None, seconds });
        }
    }
    if rng.percent(20) {
        request.weights.push((rng.pick(&workable), 1 + rng.below(30) as u32));
    }
    if rng.percent(20) {
        request.tender.push(rng.pick(&linked));
    }
    if rng.percent(20) {
        request.softer.push(rng.pick(&linked));
    }
    request
}
