//! Breaches and repairs in words, from the catalogue that the caller holds.

use vocab::{Class, Movement, Phrases, Side, Sides};

use super::{Breach, BreachKind, Repair};
use crate::atlas::{Atlas, Kind, Shown, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use crate::routine::{Place, Step, What};
use crate::screening::{Clearance, RuleRef};

/// The catalogue with the names of the atlas.
struct Words<'a> {
    book: &'a dyn Phrases,
    atlas: &'a Atlas,
}

impl Breach {
    /// What is wrong, in one or two plain sentences. `steps` are those that were checked.
    pub fn message(&self, book: &dyn Phrases, atlas: &Atlas, clearance: &Clearance, steps: &[Step]) -> String {
        let w = Words { book, atlas };
        let step = self.step.and_then(|at| steps.get(at)).map_or_else(String::new, |s| w.step_name(s));
        let technique = |ix: &TechniqueIx| atlas.technique(*ix).name.as_str();
        let reasons = |rules: &[RuleRef]| {
            let said: Vec<String> = rules.iter().map(|r| clearance.reason(book, atlas, &r.id(atlas))).collect();
            if said.is_empty() { String::new() } else { format!(" {}", said.join(" ")) }
        };
        match &self.kind {
            BreachKind::NoSuchSide(target, side) => {
                let row = atlas.target(*target);
                let key = match row.sides {
                    Sides::Lateral => "breach.no_such_side_lateral",
                    Sides::Midline => "breach.no_such_side_midline",
                };
                book.fill(key, &[("place", &row.name), ("side", side)])
            }
            BreachKind::NotForTheHand(target) => {
                let because = match &atlas.target(*target).shown {
                    Shown::Never(because) => because.as_str(),
                    _ => "",
                };
                let name = &atlas.target(*target).name;
                book.fill("breach.not_for_the_hand", &[("place", name), ("because", &because)]).trim_end().to_owned()
            }
            BreachKind::Stop(rules) => book.fill("breach.stop", &[("reasons", &reasons(rules))]),
            BreachKind::NotCleared(Class::AskFirst, rules) => {
                book.fill("breach.ask_first", &[("step", &step), ("reasons", &reasons(rules))])
            }
            BreachKind::NotCleared(_, rules) => {
                book.fill("breach.leave_out", &[("step", &step), ("reasons", &reasons(rules))])
            }
            BreachKind::TooHardToday(rules) => {
                book.fill("breach.gently", &[("step", &step), ("reasons", &reasons(rules))])
            }
            BreachKind::BeyondSkipped(skipped) => {
                book.fill("breach.beyond_skipped", &[("step", &step), ("places", &w.places(skipped))])
            }
            BreachKind::TooHardForTarget(_, most) => {
                book.fill("breach.too_hard", &[("step", &step), ("pressure", most)])
            }
            BreachKind::NotOfTarget(_, with) => {
                book.fill("breach.not_of_target", &[("step", &step), ("technique", &technique(with))])
            }
            BreachKind::NotOpening(zone, with) => {
                let zone = &atlas.zone(*zone).name;
                book.fill("breach.not_opening", &[("step", &step), ("zone", zone), ("technique", &technique(with))])
            }
            BreachKind::NotClosing(zone, with) => {
                let zone = &atlas.zone(*zone).name;
                book.fill("breach.not_closing", &[("step", &step), ("zone", zone), ("technique", &technique(with))])
            }
            BreachKind::NotOfTechnique(with, pressure) => book.fill(
                "breach.not_of_technique",
                &[("step", &step), ("technique", &technique(with)), ("pressure", pressure)],
            ),
            BreachKind::Seconds(with, min, max) => book.fill(
                "breach.seconds",
                &[("step", &step), ("technique", &technique(with)), ("min", min), ("max", max)],
            ),
            BreachKind::Laps(lap, most) => book.fill("breach.laps", &[("step", &step), ("lap", lap), ("most", most)]),
            BreachKind::WrongTool(Some(with), tool) => {
                let tool = w.tool(*tool);
                book.fill("breach.wrong_tool", &[("step", &step), ("technique", &technique(with)), ("tool", &tool)])
            }
            BreachKind::WrongTool(None, _) => book.fill("breach.oil_by_hand", &[("step", &step)]),
            BreachKind::NotAtHand(with) => {
                book.fill("breach.not_at_hand", &[("step", &step), ("tool", &w.tool(*with))])
            }
            BreachKind::NeckBothSides(zone) => {
                book.fill("breach.neck_both_sides", &[("step", &step), ("zone", &atlas.zone(*zone).name)])
            }
            BreachKind::OneHand(with) => {
                book.fill("breach.one_hand", &[("step", &step), ("technique", &technique(with))])
            }
            BreachKind::BothNeedsHands(with) => {
                book.fill("breach.both_needs_hands", &[("step", &step), ("tool", &w.tool(*with))])
            }
            BreachKind::WayBothSides => book.fill("breach.way_both_sides", &[("step", &step)]),
            BreachKind::WrongMovement => book.fill("breach.wrong_movement", &[("step", &step)]),
            BreachKind::OutOfOrder => book.fill("breach.out_of_order", &[("step", &step)]),
            BreachKind::Twice(_, side, earlier) => {
                let earlier = earlier + 1;
                book.fill("breach.twice", &[("step", &step), ("on", &w.on(*side)), ("earlier", &earlier)])
            }
            BreachKind::ZoneFull(zone, side, most) => {
                let place = w.place((*zone, *side));
                book.fill("breach.zone_full", &[("step", &step), ("place", &place), ("most", most)])
            }
            BreachKind::NotOpened(zone, side) => {
                book.fill("breach.not_opened", &[("step", &step), ("place", &w.place((*zone, *side)))])
            }
            BreachKind::NoOil(with) => book.fill("breach.no_oil", &[("step", &step), ("technique", &technique(with))]),
            BreachKind::NotClosed(zone, side, last) => {
                let (place, last) = (capital(&w.place((*zone, *side))), last + 1);
                book.fill("breach.not_closed", &[("place", &place), ("last", &last)])
            }
            BreachKind::TooLong(total, most) => {
                book.fill("breach.too_long", &[("total", total), ("over", &(total - most)), ("minutes", &(most / 60))])
            }
        }
    }

    /// The smallest repair, in plain words. `steps` are those that were checked; they are counted from 1.
    pub fn repair_words(&self, book: &dyn Phrases, atlas: &Atlas, steps: &[Step]) -> String {
        let w = Words { book, atlas };
        match &self.repair {
            Repair::Insert { at, step } => book.fill(
                "repair.insert",
                &[("step", &w.whole_step(step)), ("where", &w.where_to(*at, None, steps.len()))],
            ),
            Repair::Change { at, to } => match steps.get(*at) {
                Some(from) => book.fill("repair.change", &[("n", &(at + 1)), ("changes", &w.changes(from, to))]),
                None => book.fill("repair.make", &[("n", &(at + 1)), ("step", &w.whole_step(to))]),
            },
            Repair::Split { at } => book.fill("repair.split", &[("n", &(at + 1))]),
            Repair::Move { from, to } => {
                let place = w.where_to(*to, Some(*from), steps.len());
                book.fill("repair.move", &[("n", &(from + 1)), ("where", &place)])
            }
            Repair::Drop { steps: gone, frees_s } => {
                let what = if gone.len() == steps.len() && gone.len() > 1 {
                    book.say("repair.drop_all").to_owned()
                } else {
                    let steps: Vec<String> = gone.iter().map(|at| (at + 1).to_string()).collect();
                    let key = if steps.len() == 1 { "repair.drop_one" } else { "repair.drop_some" };
                    book.fill(key, &[("steps", &book.list(&steps))])
                };
                let key = if *frees_s == 0 { "repair.drop" } else { "repair.drop_frees" };
                book.fill(key, &[("what", &what), ("seconds", frees_s)])
            }
            Repair::Shorten { to, frees_s } => {
                let one = |(at, s): &(usize, u32)| book.fill("repair.shorten_one", &[("n", &(at + 1)), ("seconds", s)]);
                let each: Vec<String> = to.iter().map(one).collect();
                book.fill("repair.shorten", &[("each", &book.list(&each)), ("seconds", frees_s)])
            }
            Repair::StopToday => book.say("repair.stop_today").to_owned(),
        }
    }
}

impl Words<'_> {
    /// A step's place in words: "Small circles, chewing muscle, left".
    fn step_name(&self, step: &Step) -> String {
        match step.what {
            What::Oil => self.book.say("breach.the_oil").to_owned(),
            What::Target(target, technique) => {
                let what = capital(&self.atlas.technique(technique).name);
                format!("{what}, {}{}", self.target_name(target), self.comma_side(step.side))
            }
        }
    }

    /// A target's name; a point's code stands with it.
    fn target_name(&self, target: TargetIx) -> String {
        let row = self.atlas.target(target);
        match row.kind {
            Kind::Point => format!("{} ({})", row.id, row.name),
            Kind::Line | Kind::Zone => row.name.clone(),
        }
    }

    /// Everything about a step that is to be inserted.
    fn whole_step(&self, step: &Step) -> String {
        let name = match step.what {
            What::Oil => self.book.say("repair.oil").to_owned(),
            What::Target(target, technique) => {
                let key = match step.movement {
                    Movement::Open => "repair.opening",
                    Movement::Close => "repair.closing",
                    Movement::Prepare | Movement::Work => "repair.work",
                };
                let place = format!("{}{}", self.target_name(target), self.comma_side(step.side));
                let technique = &self.atlas.technique(technique).name;
                self.book.fill(key, &[("place", &place), ("technique", technique)])
            }
        };
        let tool = self.tool(step.tool);
        let values: [(&str, &dyn std::fmt::Display); 4] =
            [("name", &name), ("tool", &tool), ("pressure", &step.pressure), ("seconds", &step.seconds)];
        self.book.fill("repair.whole_step", &values)
    }

    /// What changes from one step to another.
    fn changes(&self, from: &Step, to: &Step) -> String {
        let mut said = Vec::new();
        if let (What::Target(t1, x1), What::Target(t2, x2)) = (from.what, to.what) {
            if t1 != t2 {
                said.push(self.book.fill("repair.take_whole", &[("place", &self.target_name(t2))]));
            }
            if x1 != x2 {
                said.push(self.book.fill("repair.use", &[("technique", &self.atlas.technique(x2).name)]));
            }
        }
        if from.movement != to.movement {
            said.push(self.book.fill("repair.movement", &[("movement", &to.movement)]));
        }
        if from.side != to.side {
            said.push(self.book.fill("repair.side", &[("side", &to.side)]));
        }
        if from.tool != to.tool {
            said.push(self.book.fill("repair.take", &[("tool", &self.tool(to.tool))]));
        }
        if from.pressure != to.pressure {
            said.push(self.book.fill("repair.pressure", &[("pressure", &to.pressure)]));
        }
        if from.seconds != to.seconds {
            said.push(self.book.fill("repair.time", &[("seconds", &to.seconds)]));
        }
        self.book.list(&said)
    }

    /// Where a step goes, counted from 1 among the steps as they were: `from` is taken out first.
    fn where_to(&self, to: usize, from: Option<usize>, len: usize) -> String {
        // Without the step that is taken out, what stood behind it has moved up by one.
        let now = |index: usize| if from.is_some_and(|f| index >= f) { index + 1 } else { index };
        let left = len - usize::from(from.is_some());
        if to >= left {
            self.book.say("repair.to_the_end").to_owned()
        } else {
            self.book.fill("repair.before", &[("n", &(now(to) + 1))])
        }
    }

    /// A zone on a side, in words.
    fn place(&self, (zone, side): (ZoneIx, Side)) -> String {
        format!("{}{}", self.atlas.zone(zone).name, self.comma_side(side))
    }

    fn places(&self, list: &[Place]) -> String {
        self.book.list(&list.iter().map(|p| self.place(*p)).collect::<Vec<_>>())
    }

    fn tool(&self, ix: ToolIx) -> String {
        match self.atlas.tool(ix).id.as_str() {
            crate::reading::HANDS => self.book.say("breach.hands").to_owned(),
            _ => self.book.fill("breach.tool", &[("tool", &self.atlas.tool(ix).name)]),
        }
    }

    /// A side behind a name; the midline goes without saying.
    fn comma_side(&self, side: Side) -> &str {
        match side {
            Side::Left => self.book.say("breach.comma_left"),
            Side::Right => self.book.say("breach.comma_right"),
            Side::Midline => "",
            Side::Both => self.book.say("breach.comma_both"),
        }
    }

    fn on(&self, side: Side) -> &str {
        match side {
            Side::Left => self.book.say("breach.on_left"),
            Side::Right => self.book.say("breach.on_right"),
            Side::Midline => self.book.say("breach.on_midline"),
            Side::Both => self.book.say("breach.on_both"),
        }
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
