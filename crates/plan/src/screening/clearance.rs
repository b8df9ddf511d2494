//! From answers to what may be done: for every target, side, technique and tool.

use vocab::{Class, Date, Phrases, Side, Sides};

use super::answers::{Answer, Answers, Cleared, Own};
use super::rules::{RuleRef, cleared_sentence, never_because, reason, with_days_left};
use crate::atlas::{Atlas, Condition, ConditionIx, GroupIx, RuleZones, Shown, TargetIx, TechniqueIx, ToolIx, ZoneIx};

/// What is said of one candidate, with every rule that touched it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// The strictest class of all rules that touched it; go when none did.
    pub class: Class,
    /// Every rule that touched it.
    pub rules: Vec<RuleRef>,
}

impl Verdict {
    /// The ids of the rules, each once.
    pub fn rule_ids(&self, atlas: &Atlas) -> Vec<String> {
        self.rules.iter().map(|r| r.id(atlas)).collect()
    }
}

/// What may be done for this person on this day.
#[derive(Clone)]
pub struct Clearance {
    active: Vec<Active>,
    /// For every target: the active rules that touch it on the left, on the right, on the midline.
    touching: Vec<[Vec<u32>; 3]>,
    cleared: Vec<(ConditionIx, Cleared)>,
    /// How long ago each condition that says so began, in days.
    began: Vec<(ConditionIx, i64)>,
    today: Option<Date>,
    /// The rules that say *stop*; empty when there may be a routine.
    pub stop: Vec<RuleRef>,
    /// Ids of the grouped questions and conditions that are still to be answered, in the order asked.
    pub unanswered: Vec<String>,
    /// Ids of the conditions that rest only on a group's *no*, or contradict it: the door's rule holds while there are
    /// any.
    pub by_group: Vec<String>,
    /// The warning signs that are there today, by their place in [`Atlas::warning_signs`].
    pub warning_signs: Vec<usize>,
}

/// A rule that holds today.
#[derive(Clone)]
struct Active {
    rule: RuleRef,
    class: Class,
    techniques: Vec<TechniqueIx>,
    tools: Vec<ToolIx>,
    oil: bool,
}

impl Active {
    fn plain(rule: RuleRef, class: Class) -> Active {
        Active { rule, class, techniques: Vec::new(), tools: Vec::new(), oil: false }
    }

    fn matches(&self, atlas: &Atlas, technique: TechniqueIx, tool: ToolIx) -> bool {
        (self.techniques.is_empty() || self.techniques.contains(&technique))
            && (self.tools.is_empty() || self.tools.contains(&tool))
            && (!self.oil || atlas.technique(technique).glides)
    }
}

/// Where a rule reaches: zones, the sides of those that have sides, targets.
struct Reach {
    /// By zone; `None`: everywhere.
    zones: Option<Vec<bool>>,
    left: bool,
    right: bool,
    /// Only these targets; empty: all.
    targets: Vec<TargetIx>,
}

impl Reach {
    fn new(atlas: &Atlas, zones: Option<&[ZoneIx]>, side: Option<Side>, targets: &[TargetIx]) -> Reach {
        let zones = zones.map(|list| {
            let mut hit = vec![false; atlas.zones.len()];
            for zone in list {
                hit[zone.0] = true;
            }
            hit
        });
        // A side that is not said, or said to be the midline, is both.
        Reach { zones, left: side != Some(Side::Right), right: side != Some(Side::Left), targets: targets.to_vec() }
    }

    /// Whether it touches the target when worked on this side. A rule for one side touches what lies on the
    /// midline too, whether that is the whole target or one zone that a line crosses.
    fn touches(&self, atlas: &Atlas, target: TargetIx, slot: usize) -> bool {
        if !self.targets.is_empty() && !self.targets.contains(&target) {
            return false;
        }
        let side = [self.left, self.right, true][slot];
        let data = atlas.target(target);
        match &self.zones {
            None => side,
            Some(zones) => data.crosses.iter().any(|z| {
                let on_midline = atlas.zone(*z).sides == Sides::Midline;
                zones[z.0] && (side || on_midline)
            }),
        }
    }
}

/// What is known of a condition today.
enum Known<'a> {
    Yes(&'a Own),
    No,
    NoByGroup,
    Unknown,
}

impl Clearance {
    /// Screens the answers as of `today`.
    pub fn new(atlas: &Atlas, answers: &Answers, today: Date) -> Clearance {
        let mut built = Clearance::empty(atlas);
        built.today = Some(today);
        for (ix, condition) in atlas.conditions.iter().enumerate() {
            let ix = ConditionIx(ix);
            let known = known(answers, ix, condition, today);
            // A yes inside a group whose *no* covered everything contradicts the group: the rest of that *no* can't be
            // relied on either, so the door's rule stays. Otherwise adding a condition could open places.
            let contradicts = answers.group(condition.group) == Some(Answer::No);
            if contradicts && matches!(known, Known::Yes(_) | Known::Unknown) {
                built.by_group.push(condition.id.clone());
            }
            match known {
                Known::No => {}
                Known::NoByGroup => built.by_group.push(condition.id.clone()),
                Known::Unknown => built.add_unknown(atlas, ix, condition),
                Known::Yes(own) => built.add_condition(atlas, ix, condition, own, today),
            }
        }
        built.unanswered = unanswered(atlas, answers, today);
        if !built.by_group.is_empty() {
            built.add_door(atlas);
        }
        for today in answers.signs() {
            let sign = &atlas.warning_signs[today.sign];
            let zones = zones_of(&sign.zones, &sign.places, &today.places);
            let reach = Reach::new(atlas, zones, today.side, &[]);
            built.add(atlas, Active::plain(RuleRef::Warning(today.sign), sign.class), &reach);
            built.warning_signs.push(today.sign);
        }
        built.warning_signs.sort_unstable();
        built.warning_signs.dedup();
        built.finish()
    }

    /// The clearance for many at once, whom nobody can screen: only what the door opens, featherlight. What some
    /// of them must leave out is spoken at its step; see [`Clearance::spoken`].
    pub fn audience(atlas: &Atlas) -> Clearance {
        let mut built = Clearance::empty(atlas);
        built.add_door(atlas);
        built.finish()
    }

    fn empty(atlas: &Atlas) -> Clearance {
        let mut built = Clearance {
            active: Vec::new(),
            touching: vec![Default::default(); atlas.targets.len()],
            cleared: Vec::new(),
            began: Vec::new(),
            today: None,
            stop: Vec::new(),
            unanswered: Vec::new(),
            by_group: Vec::new(),
            warning_signs: Vec::new(),
        };
        let is_never = |ix: &usize| matches!(atlas.targets[*ix].shown, Shown::Never(_));
        let never: Vec<TargetIx> = (0..atlas.targets.len()).filter(is_never).map(TargetIx).collect();
        if !never.is_empty() {
            built.add(atlas, Active::plain(RuleRef::Never, Class::LeaveOut), &Reach::new(atlas, None, None, &never));
        }
        built
    }

    fn finish(mut self) -> Clearance {
        self.stop = self.active.iter().filter(|a| a.class == Class::Stop).map(|a| a.rule).collect();
        self
    }

    fn add(&mut self, atlas: &Atlas, active: Active, reach: &Reach) {
        let index = self.active.len() as u32;
        let mut touched = false;
        // What stops, stops everything, whatever was said of where and which side.
        let everywhere = Reach::new(atlas, None, None, &[]);
        let reach = if active.class == Class::Stop { &everywhere } else { reach };
        for (ix, slots) in self.touching.iter_mut().enumerate() {
            let used: &[usize] = match atlas.targets[ix].sides {
                Sides::Lateral => &[0, 1],
                Sides::Midline => &[2],
            };
            for &slot in used {
                if reach.touches(atlas, TargetIx(ix), slot) {
                    slots[slot].push(index);
                    touched = true;
                }
            }
        }
        if touched {
            self.active.push(active);
        }
    }

    fn add_door(&mut self, atlas: &Atlas) {
        let shut: Vec<ZoneIx> = (0..atlas.zones.len()).filter(|z| !atlas.zones[*z].door).map(ZoneIx).collect();
        self.add(atlas, Active::plain(RuleRef::Door, Class::Gently), &Reach::new(atlas, None, None, &[]));
        self.add(atlas, Active::plain(RuleRef::Door, Class::AskFirst), &Reach::new(atlas, Some(&shut), None, &[]));
    }

    /// Unknown never passes: every place the condition could be, on both sides, at any time, asks.
    fn add_unknown(&mut self, atlas: &Atlas, ix: ConditionIx, condition: &Condition) {
        for rule in &condition.rules {
            let reach = Reach::new(atlas, zones_of(&rule.zones, &condition.places, &[]), None, &rule.targets);
            let active = Active {
                rule: RuleRef::Unanswered(ix),
                class: Class::AskFirst,
                techniques: rule.techniques.clone(),
                tools: rule.tools.clone(),
                oil: rule.oil,
            };
            self.add(atlas, active, &reach);
        }
    }

    fn add_condition(&mut self, atlas: &Atlas, ix: ConditionIx, condition: &Condition, own: &Own, today: Date) {
        let cleared = own.cleared.as_ref().filter(|c| c.holds(today));
        // A beginning that lies in the future is a slip of the pen: as good as not known.
        let days = own.since.map(|since| today.days_since(since)).filter(|days| *days >= 0);
        for (number, rule) in condition.rules.iter().enumerate() {
            let begun = days.is_none_or(|d| d >= i64::from(rule.from_day));
            let within = rule.until_day.is_none_or(|until| days.is_none_or(|d| d < i64::from(until)));
            if !begun || !within {
                continue;
            }
            let class = match (rule.class, cleared) {
                (Class::AskFirst, Some(_)) => Class::Gently,
                (class, _) => class,
            };
            let side = if condition.asks_side { own.side } else { None };
            let reach = Reach::new(atlas, zones_of(&rule.zones, &condition.places, &own.places), side, &rule.targets);
            let active = Active {
                rule: RuleRef::Condition(ix, number),
                class,
                techniques: rule.techniques.clone(),
                tools: rule.tools.clone(),
                oil: rule.oil,
            };
            self.add(atlas, active, &reach);
        }
        self.cleared.extend(cleared.map(|c| (ix, c.clone())));
        self.began.extend(days.map(|days| (ix, days)));
    }

    /// Which lists of touching rules count for a side. A lateral target asked for without a side is both.
    fn slots(atlas: &Atlas, target: TargetIx, side: Side) -> &'static [usize] {
        match (atlas.target(target).sides, side) {
            (Sides::Midline, _) => &[2],
            (Sides::Lateral, Side::Left) => &[0],
            (Sides::Lateral, Side::Right) => &[1],
            (Sides::Lateral, Side::Midline | Side::Both) => &[0, 1],
        }
    }

    /// What is said of a candidate, with every rule that touched it; of both sides at once, the strictest of the two.
    pub fn of(&self, atlas: &Atlas, target: TargetIx, side: Side, technique: TechniqueIx, tool: ToolIx) -> Verdict {
        let mut verdict = Verdict { class: Class::Go, rules: Vec::new() };
        self.each(atlas, target, side, technique, tool, |active| {
            verdict.class = verdict.class.max(active.class);
            if !verdict.rules.contains(&active.rule) {
                verdict.rules.push(active.rule);
            }
        });
        verdict
    }

    /// Only the class of [`Clearance::of`].
    pub fn class(&self, atlas: &Atlas, target: TargetIx, side: Side, technique: TechniqueIx, tool: ToolIx) -> Class {
        let mut class = Class::Go;
        self.each(atlas, target, side, technique, tool, |active| class = class.max(active.class));
        class
    }

    fn each<'a>(
        &'a self,
        atlas: &Atlas,
        target: TargetIx,
        side: Side,
        technique: TechniqueIx,
        tool: ToolIx,
        mut found: impl FnMut(&'a Active),
    ) {
        for &slot in Clearance::slots(atlas, target, side) {
            for &index in &self.touching[target.0][slot] {
                let active = &self.active[index as usize];
                if active.matches(atlas, technique, tool) {
                    found(active);
                }
            }
        }
    }

    /// Why a rule says what it says, for this person: with the days that are left, and with a clinician's word where
    /// one was given.
    pub fn reason(&self, book: &dyn Phrases, atlas: &Atlas, rule: &str) -> String {
        let text = reason(book, atlas, rule);
        let (Some(RuleRef::Condition(ix, number)), Some(today)) = (RuleRef::from_id(atlas, rule), self.today) else {
            return text;
        };
        let condition = &atlas.conditions[ix.0];
        let data = &condition.rules[number];
        if let Some((_, word)) = self.cleared.iter().find(|(c, _)| *c == ix)
            && data.class == Class::AskFirst
            && word.holds(today)
        {
            return cleared_sentence(book, condition, word);
        }
        let began = self.began.iter().find(|(c, _)| *c == ix).map(|(_, days)| *days);
        match (data.until_day, began) {
            (Some(until), Some(days)) => with_days_left(book, text, i64::from(until) - days),
            _ => text,
        }
    }

    /// As [`Clearance::reason`], at a target: a place that is not for the hand says why.
    pub fn reason_at(&self, book: &dyn Phrases, atlas: &Atlas, target: TargetIx, rule: RuleRef) -> String {
        match (rule, never_because(&atlas.target(target).shown)) {
            (RuleRef::Never, Some(because)) => because.to_owned(),
            _ => self.reason(book, atlas, &rule.id(atlas)),
        }
    }
}

/// The zones of a rule: `None` is everywhere.
fn zones_of<'a>(zones: &'a RuleZones, offered: &'a [ZoneIx], said: &'a [ZoneIx]) -> Option<&'a [ZoneIx]> {
    match zones {
        RuleZones::All => None,
        RuleZones::These(zones) => Some(zones),
        RuleZones::Where if said.is_empty() => Some(offered),
        RuleZones::Where => Some(said),
    }
}

/// What is known of a condition: its own answer, else its group's, as long as it holds.
fn known<'a>(answers: &'a Answers, ix: ConditionIx, condition: &Condition, today: Date) -> Known<'a> {
    let own = answers.own(ix);
    let asked = own.and_then(|o| o.asked).or(answers.asked());
    // An answer dated in the future can't be right; one that is too old, or past its own end, is asked again.
    let stale = asked.is_some_and(|asked| {
        let age = today.days_since(asked);
        age < 0 || condition.ask_again_days.is_some_and(|days| age >= i64::from(days))
    });
    let ended = own.and_then(|o| o.until).is_some_and(|until| until < today);
    if stale || ended {
        return Known::Unknown;
    }
    match (own, answers.group(condition.group)) {
        (Some(own), _) => match own.answer {
            Answer::Yes => Known::Yes(own),
            Answer::No => Known::No,
            Answer::Unknown => Known::Unknown,
        },
        (None, Some(Answer::No)) => Known::NoByGroup,
        (None, _) => Known::Unknown,
    }
}

impl Answers {
    /// Whether a condition applies today: its own answer, else its group's, as long as it holds; else it is unknown.
    pub fn stands(&self, atlas: &Atlas, ix: ConditionIx, today: Date) -> Answer {
        match known(self, ix, &atlas.conditions[ix.0], today) {
            Known::Yes(_) => Answer::Yes,
            Known::No | Known::NoByGroup => Answer::No,
            Known::Unknown => Answer::Unknown,
        }
    }
}

/// The questions still to be answered: a group whose own conditions are unknown for want of its answer, a
/// condition when its group is open or when its own answer does not hold.
fn unanswered(atlas: &Atlas, answers: &Answers, today: Date) -> Vec<String> {
    let mut ids = Vec::new();
    for (g, group) in atlas.groups.iter().enumerate() {
        let g = GroupIx(g);
        let of_group = atlas.conditions.iter().enumerate().filter(|(_, c)| c.group == g);
        let mut conditions = Vec::new();
        let mut ask_group = false;
        for (ix, condition) in of_group {
            if !matches!(known(answers, ConditionIx(ix), condition, today), Known::Unknown) {
                continue;
            }
            if answers.own(ConditionIx(ix)).is_none() && answers.group(g) != Some(Answer::Yes) {
                ask_group = true;
            } else {
                conditions.push(condition.id.clone());
            }
        }
        if ask_group {
            ids.push(group.id.clone());
        }
        ids.extend(conditions);
    }
    ids
}
