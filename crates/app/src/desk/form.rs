//! What the Start form says, read leniently: an unknown name is passed over, a number is kept within bounds.

use plan::atlas::{Atlas, ConcernIx, Condition, ConditionIx, GroupIx, RuleZones, ToolIx, ZoneIx};
use plan::reading::HANDS;
use plan::request::{Asked, Request};
use plan::screening::{Answer, Answers, Own, SignToday};
use vocab::{Date, Side};

/// The minutes the page offers at once.
pub const USUAL_MINUTES: [u32; 3] = [5, 8, 12];
/// The minutes the page takes: those of the curve.
pub const MINUTES: std::ops::RangeInclusive<u32> = 2..=30;
/// The priority of a concern: the page asks for no finer one.
const PRIORITY: u32 = 3;

/// A condition's own question, as far as it is answered.
#[derive(Clone, Default)]
pub struct OwnAsk {
    /// Yes, no, not sure.
    pub answer: Option<Answer>,
    /// Where.
    pub places: Vec<ZoneIx>,
    /// On which side.
    pub side: Option<Side>,
    /// Since when.
    pub since: Option<Date>,
}

/// A warning sign, as far as it is ticked.
#[derive(Clone, Default)]
pub struct SignAsk {
    /// Whether it is there today.
    pub today: bool,
    /// Where.
    pub places: Vec<ZoneIx>,
    /// On which side.
    pub side: Option<Side>,
}

/// Everything the form says.
#[derive(Clone)]
pub struct Ask {
    /// The concerns.
    pub concerns: Vec<ConcernIx>,
    /// The minutes, if they are said.
    pub minutes: Option<u32>,
    /// Tools beside the hands.
    pub tools: Vec<ToolIx>,
    /// Whether both hands work at once where they can.
    pub both: bool,
    /// The five grouped questions.
    pub groups: Vec<Option<Answer>>,
    /// Whether every question is gone through, for more than featherlight work.
    pub full: bool,
    /// For each group: whether "none of the others" is ticked.
    pub rest: Vec<bool>,
    /// Each condition's own question.
    pub own: Vec<OwnAsk>,
    /// Each warning sign.
    pub signs: Vec<SignAsk>,
}

impl Ask {
    /// Nothing said yet.
    pub fn empty(atlas: &Atlas) -> Ask {
        Ask {
            concerns: Vec::new(),
            minutes: None,
            tools: Vec::new(),
            both: false,
            groups: vec![None; atlas.groups.len()],
            full: false,
            rest: vec![false; atlas.groups.len()],
            own: vec![OwnAsk::default(); atlas.conditions.len()],
            signs: vec![SignAsk::default(); atlas.warning_signs.len()],
        }
    }

    /// Reads an encoded form.
    pub fn read(atlas: &Atlas, form: &[u8]) -> Ask {
        let mut ask = Ask::empty(atlas);
        let mut other = None;
        for (name, value) in form_urlencoded::parse(form) {
            let number = || value.trim().parse::<u32>().ok().map(|n| n.clamp(*MINUTES.start(), *MINUTES.end()));
            match &*name {
                "concern" => once(&mut ask.concerns, atlas.concern_named(&value)),
                "minutes" => ask.minutes = number(),
                "other" => other = number(),
                "tool" => once(&mut ask.tools, atlas.tool_named(&value)),
                "hands" => ask.both = value == "both",
                "full" => ask.full = value == "yes",
                _ => ask.take_answer(atlas, &name, &value),
            }
        }
        ask.minutes = ask.minutes.or(other);
        ask
    }

    fn take_answer(&mut self, atlas: &Atlas, name: &str, value: &str) {
        let answer = || Answer::WORDS.iter().find(|(word, _)| *word == value).map(|(_, answer)| *answer);
        let side = || matches!(value, "left" | "right" | "both").then(|| Side::from_word(value)).flatten();
        let Some((kind, id)) = name.split_once('.') else { return };
        let group = || atlas.groups.iter().position(|g| g.id == id);
        let sign = || atlas.warning_signs.iter().position(|s| s.id == id);
        let condition = || atlas.condition_named(id).map(|c| c.0);
        match kind {
            "group" => {
                if let Some(g) = group() {
                    self.groups[g] = answer();
                }
            }
            "rest" => {
                if let Some(g) = group() {
                    self.rest[g] = value == "no";
                }
            }
            "own" => {
                if let Some(c) = condition() {
                    self.own[c].answer = answer();
                }
            }
            "where" => {
                if let Some(c) = condition() {
                    let zone = atlas.zone_named(value).filter(|z| atlas.conditions[c].places.contains(z));
                    once(&mut self.own[c].places, zone);
                }
            }
            "side" => {
                if let Some(c) = condition() {
                    self.own[c].side = side();
                }
            }
            "since" => {
                if let Some(c) = condition() {
                    self.own[c].since = Date::parse(value);
                }
            }
            "sign" => {
                if let Some(s) = sign() {
                    self.signs[s].today = value == "yes";
                }
            }
            "sign_where" => {
                if let Some(s) = sign() {
                    let zone = atlas.zone_named(value).filter(|z| atlas.warning_signs[s].places.contains(z));
                    once(&mut self.signs[s].places, zone);
                }
            }
            "sign_side" => {
                if let Some(s) = sign() {
                    self.signs[s].side = side();
                }
            }
            _ => {}
        }
    }

    /// Only what may stand in an address: wishes, no answer.
    pub fn wishes_only(self, atlas: &Atlas) -> Ask {
        let Ask { concerns, minutes, tools, both, .. } = self;
        Ask { concerns, minutes, tools, both, ..Ask::empty(atlas) }
    }

    /// The minutes, eight if nothing is said.
    pub fn minutes_or_usual(&self) -> u32 {
        self.minutes.unwrap_or(USUAL_MINUTES[1])
    }

    /// Whether a group's own questions stand open.
    pub fn group_open(&self, group: GroupIx) -> bool {
        self.full || matches!(self.groups.get(group.0), Some(Some(Answer::Yes | Answer::Unknown)))
    }

    /// The groups without an answer. When every question is gone through, the grouped ones are not needed.
    pub fn open_groups(&self) -> Vec<GroupIx> {
        if self.full {
            return Vec::new();
        }
        (0..self.groups.len()).map(GroupIx).filter(|g| self.groups[g.0].is_none()).collect()
    }

    /// The conditions of open groups without an answer.
    pub fn open_conditions(&self, atlas: &Atlas) -> Vec<ConditionIx> {
        let unanswered = |c: &ConditionIx| {
            let group = atlas.conditions[c.0].group;
            self.group_open(group) && !self.rest[group.0] && self.own[c.0].answer.is_none()
        };
        (0..atlas.conditions.len()).map(ConditionIx).filter(unanswered).collect()
    }

    /// The request it makes.
    pub fn request(&self, atlas: &Atlas) -> Option<Request> {
        let hands = atlas.tool_named(HANDS)?;
        let concerns = self.concerns.iter().map(|&concern| Asked { concern, priority: PRIORITY }).collect();
        let mut request = Request::plain(self.minutes_or_usual(), concerns, hands);
        request.tools.extend(self.tools.iter().filter(|t| **t != hands));
        request.tools.sort_unstable();
        request.both = self.both;
        Some(request)
    }

    /// The answers it gives, as of today.
    pub fn answers(&self, atlas: &Atlas, today: Date) -> Answers {
        let mut answers = Answers::unknown(atlas).asked_on(today);
        for (g, answer) in self.groups.iter().enumerate() {
            let group = GroupIx(g);
            // Once each question of a group has its own answer, the grouped one has nothing left to say.
            let own = |(ix, c): (usize, &Condition)| c.group != group || self.rest[g] || self.own[ix].answer.is_some();
            let each_answered = self.group_open(group) && atlas.conditions.iter().enumerate().all(own);
            if let (Some(answer), false) = (answer, each_answered) {
                answers = answers.with_group(group, *answer);
            }
        }
        for (ix, condition) in atlas.conditions.iter().enumerate() {
            // Answers to questions that stand closed are left over from before the group's *no*.
            if !self.group_open(condition.group) {
                continue;
            }
            let ask = &self.own[ix];
            let none_of_the_others = self.rest[condition.group.0].then_some(Answer::No);
            let Some(answer) = ask.answer.or(none_of_the_others) else { continue };
            let mut own = Own::new(answer);
            if answer == Answer::Yes {
                own.places = ask.places.clone();
                own.places.sort_unstable();
                own.side = ask.side.filter(|_| condition.asks_side);
                own.since = ask.since.filter(|_| condition.asks_since);
            }
            answers = answers.with(ConditionIx(ix), own);
        }
        for (sign, ask) in self.signs.iter().enumerate().filter(|(_, ask)| ask.today) {
            let local = atlas.warning_signs[sign].zones == RuleZones::Where;
            let places = if local { ask.places.clone() } else { Vec::new() };
            answers = answers.with_sign(SignToday { sign, places, side: ask.side });
        }
        answers
    }
}

fn once<T: PartialEq>(list: &mut Vec<T>, item: Option<T>) {
    if let Some(item) = item
        && !list.contains(&item)
    {
        list.push(item);
    }
}
