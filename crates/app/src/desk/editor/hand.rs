//! A routine under the hand: read from the form with everything that stands in it, changed by one action.
//!
//! The whole routine travels in the form, so that nothing that was written is lost on the way, with script or without.

use plan::atlas::{Atlas, Kind, Shown, TargetIx, TechniqueIx, ToolIx};
use plan::check::{self, Breach};
use plan::reading::{HANDS, MOST_STEPS, RoutineFile, STEP_SECONDS, infer_movements};
use plan::request::{Asked, MINUTES, Request};
use plan::routine::{OIL_TARGET, Step, What};
use plan::screening::Clearance;
use vocab::{Movement, Pressure, Side, Sides};

use crate::catalogue::text;
use crate::tell;

/// The minutes of a routine that nobody has given any.
const USUAL_MINUTES: u32 = 12;

/// What the form holds.
#[derive(Clone)]
pub struct Hand {
    /// What it is called.
    pub name: String,
    /// The minutes it may take.
    pub minutes: u32,
    /// Tools at hand, hands always among them, in data order.
    pub tools: Vec<ToolIx>,
    /// Whether the planner may work left and right at once.
    pub both: bool,
    /// The concerns that the planner is asked for.
    pub concerns: Vec<plan::atlas::ConcernIx>,
    /// The steps in order.
    pub steps: Vec<Step>,
    /// Which step was last touched, for the eye and the keyboard.
    pub at: Option<usize>,
    /// What an action could not do, in words.
    pub wrong: Option<String>,
}

impl Hand {
    /// Nothing yet.
    pub fn empty(atlas: &Atlas) -> Hand {
        Hand {
            name: String::new(),
            minutes: USUAL_MINUTES,
            tools: atlas.tool_named(HANDS).into_iter().collect(),
            both: false,
            concerns: Vec::new(),
            steps: Vec::new(),
            at: None,
            wrong: None,
        }
    }

    /// A saved routine. Tools at hand are those of its file.
    pub fn of(name: &str, file: RoutineFile) -> Hand {
        Hand {
            name: name.to_owned(),
            minutes: file.minutes,
            tools: file.tools,
            both: false,
            concerns: Vec::new(),
            steps: file.steps,
            at: None,
            wrong: None,
        }
    }

    /// Reads the form leniently: an unknown name is passed over, a number kept within bounds. The k-th value of each field of a
    /// step belongs to the k-th step.
    pub fn read(atlas: &Atlas, form: &[u8]) -> Hand {
        let mut hand = Hand::empty(atlas);
        let mut columns: [Vec<String>; 7] = Default::default();
        for (name, value) in form_urlencoded::parse(form) {
            match &*name {
                "name" => hand.name = value.trim().to_owned(),
                "minutes" => {
                    let said = value.trim().parse().unwrap_or(i64::from(USUAL_MINUTES));
                    hand.minutes = u32::try_from(said.clamp(*MINUTES.start(), *MINUTES.end())).unwrap_or(USUAL_MINUTES);
                }
                "tool" => hand.tools.extend(atlas.tool_named(&value).filter(|t| !hand.tools.contains(t))),
                "both" => hand.both = value == "yes",
                "concern" => {
                    hand.concerns.extend(atlas.concern_named(&value).filter(|c| !hand.concerns.contains(c)));
                }
                _ => {
                    if let Some(k) = COLUMNS.iter().position(|c| *c == name)
                        && columns[k].len() < MOST_STEPS
                    {
                        columns[k].push(value.into_owned());
                    }
                }
            }
        }
        hand.tools.sort_unstable();
        let count = columns.iter().map(Vec::len).min().unwrap_or(0);
        for i in 0..count {
            hand.steps.extend(step(atlas, &columns.each_ref().map(|c| c[i].as_str())));
        }
        hand
    }

    /// As a routine file, to be checked and kept.
    pub fn file(&self, audience: bool) -> RoutineFile {
        let (minutes, tools, steps) = (self.minutes, self.tools.clone(), self.steps.clone());
        RoutineFile { minutes, tools, audience, answers: None, steps }
    }

    /// The request that the planner is asked with.
    pub fn request(&self, atlas: &Atlas, audience: bool) -> Option<Request> {
        let hands = atlas.tool_named(HANDS)?;
        let concerns = self.concerns.iter().map(|&concern| Asked { concern, priority: 3 }).collect();
        let mut request = Request::plain(self.minutes, concerns, hands);
        request.tools = self.tools.clone();
        request.both = self.both;
        request.audience = audience;
        Some(request)
    }

    /// What it does that it must not.
    pub fn breaches(&self, atlas: &Atlas, clearance: &Clearance, audience: bool) -> Vec<Breach> {
        check::check(atlas, &self.file(audience), clearance)
    }

    /// Does what a button says: `add`, `up.3`, `down.3`, `move.5.2`, `drop.3`, `other.3`, `split.3`, `repair.0.RULE`: a repair of another rule
    /// than the page showed is not done.
    pub fn act(&mut self, atlas: &Atlas, clearance: &Clearance, audience: bool, action: &str, place: &str) {
        let mut parts = action.split('.');
        let what = parts.next().unwrap_or_default();
        let mut number = || parts.next().and_then(|n| n.parse::<usize>().ok());
        let (first, second) = (number(), number());
        let step = first.filter(|i| *i < self.steps.len());
        match (what, step) {
            ("add", _) => self.add(atlas, clearance, place),
            ("up", Some(i)) if i > 0 => self.relocate(i, i - 1),
            ("down", Some(i)) if i + 1 < self.steps.len() => self.relocate(i, i + 1),
            ("move", Some(i)) => self.relocate(i, second.unwrap_or(i).min(self.steps.len() - 1)),
            ("drop", Some(i)) => {
                self.steps.remove(i);
                self.at = i.checked_sub(usize::from(i == self.steps.len()));
            }
            ("other", Some(i)) => self.other_side(atlas, i),
            ("split", Some(i)) if self.steps[i].side == Side::Both && self.steps.len() < MOST_STEPS => {
                check::apply(&check::Repair::Split { at: i }, &mut self.steps);
                self.at = Some(i);
            }
            ("repair", _) => {
                // The repair of what the form holds now: the page may be older than it.
                let breaches = self.breaches(atlas, clearance, audience);
                let rule = action.split('.').nth(2);
                let meant = |b: &&Breach| rule.is_none_or(|rule| rule == b.rule);
                if let Some(breach) = first.and_then(|n| breaches.get(n)).filter(meant) {
                    check::apply(&breach.repair, &mut self.steps);
                    self.at = breach.step.filter(|i| *i < self.steps.len());
                }
            }
            _ => {}
        }
    }

    fn relocate(&mut self, from: usize, to: usize) {
        let step = self.steps.remove(from);
        self.steps.insert(to, step);
        self.at = Some(to);
    }

    fn other_side(&mut self, atlas: &Atlas, i: usize) {
        let mut twin = self.steps[i].clone();
        twin.side = match twin.side {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
            Side::Midline | Side::Both => {
                self.wrong = Some(text("editor.no_other_side").to_owned());
                return;
            }
        };
        let there =
            self.steps.iter().position(|s| s.what == twin.what && s.side == twin.side && s.movement == twin.movement);
        if let Some(there) = there {
            self.wrong = Some(crate::catalogue::fill("editor.there_already", &[("n", &(there + 1))]));
            self.at = Some(there);
            return;
        }
        debug_assert!(twin.target_id(atlas) != OIL_TARGET);
        self.steps.insert(i + 1, twin);
        self.at = Some(i + 1);
    }

    /// Adds a step at a place, `target.side`, with what is usual there and allowed: its first technique that clearance
    /// allows, the first tool at hand, the lightest pressure, the fewest seconds. It comes after the last step that is worked.
    fn add(&mut self, atlas: &Atlas, clearance: &Clearance, place: &str) {
        let Some((id, side)) = place.rsplit_once('.') else {
            self.wrong = Some(text("editor.choose_place").to_owned());
            return;
        };
        if self.steps.len() >= MOST_STEPS {
            self.wrong = Some(text("editor.too_many").to_owned());
            return;
        }
        let hands = atlas.tool_named(HANDS);
        let new = if id == OIL_TARGET {
            hands.map(|tool| Step {
                movement: Movement::Prepare,
                what: What::Oil,
                side: Side::Midline,
                tool,
                pressure: Pressure::Featherlight,
                seconds: atlas.settings.oil_s,
            })
        } else {
            atlas
                .target_named(id)
                .zip(Side::from_word(side))
                .and_then(|(target, side)| self.usual(atlas, clearance, target, side))
        };
        let Some(new) = new else {
            self.wrong = Some(text("editor.choose_place").to_owned());
            return;
        };
        let at = place_for(&self.steps, new.movement);
        self.steps.insert(at, new);
        if self.steps[at].what != What::Oil {
            // Alone among the others it shows what it is: an opening before any work, else work.
            let mut said = vec![true; self.steps.len()];
            said[at] = false;
            let was = self.steps.clone();
            infer_movements(atlas, &mut self.steps, &said);
            if self.steps[at].movement == Movement::Close
                && was.get(at + 1).is_none_or(|s| s.movement != Movement::Close)
            {
                self.steps[at].movement = Movement::Work;
            }
        }
        self.at = Some(at);
    }

    fn usual(&self, atlas: &Atlas, clearance: &Clearance, target: TargetIx, side: Side) -> Option<Step> {
        let offered = techniques(atlas, target);
        let tool_for = |technique: TechniqueIx| {
            let tools = &atlas.technique(technique).tools;
            tools.iter().copied().find(|t| self.tools.contains(t)).or(tools.first().copied())
        };
        let allowed = |technique: &TechniqueIx| {
            tool_for(*technique).is_some_and(|tool| clearance.class(atlas, target, side, *technique, tool).allows())
        };
        let technique = offered.iter().copied().find(allowed).or(offered.first().copied())?;
        let tool = tool_for(technique)?;
        let pressure = atlas.technique(technique).pressures.iter().copied().min()?;
        let seconds = seconds(atlas, target, technique).first().copied()?;
        Some(Step { movement: Movement::Work, what: What::Target(target, technique), side, tool, pressure, seconds })
    }
}

/// Where a step of this movement belongs among steps that are in order.
fn place_for(steps: &[Step], movement: Movement) -> usize {
    steps.iter().position(|s| s.movement > movement).unwrap_or(steps.len())
}

/// The fields of a step in the form.
pub const COLUMNS: [&str; 7] = ["movement", "target", "side", "technique", "with", "pressure", "seconds"];

fn step(atlas: &Atlas, [movement, target, side, technique, tool, pressure, seconds]: &[&str; 7]) -> Option<Step> {
    let word = |all: &[Movement], w: &str| all.iter().copied().find(|m| m.word() == w);
    let what = if *target == OIL_TARGET {
        What::Oil
    } else {
        let target = atlas.target_named(target)?;
        What::Target(target, atlas.technique_named(technique).or(atlas.target(target).techniques.first().copied())?)
    };
    let pressure = Pressure::ALL.iter().copied().find(|p| p.word() == *pressure)?;
    let said: i64 = seconds.trim().parse().unwrap_or(*STEP_SECONDS.start());
    Some(Step {
        movement: word(Movement::ALL, movement).unwrap_or(Movement::Work),
        what,
        side: if what == What::Oil { Side::Midline } else { Side::from_word(side)? },
        tool: atlas.tool_named(tool).or(atlas.tool_named(HANDS))?,
        pressure,
        seconds: u32::try_from(said.clamp(*STEP_SECONDS.start(), *STEP_SECONDS.end())).ok()?,
    })
}

/// The techniques that can be done at a target: its own, and of a zone its opening and closing.
pub fn techniques(atlas: &Atlas, target: TargetIx) -> Vec<TechniqueIx> {
    let row = atlas.target(target);
    let mut all = row.techniques.clone();
    if row.kind == Kind::Zone {
        let zone = atlas.zone(row.zone);
        all.extend([zone.open_technique, zone.close_technique]);
    }
    let mut seen = Vec::new();
    all.retain(|t| {
        !seen.contains(t) && {
            seen.push(*t);
            true
        }
    });
    all
}

/// The seconds that a technique takes at a target: in fives, of a line whole laps.
pub fn seconds(atlas: &Atlas, target: TargetIx, technique: TechniqueIx) -> Vec<u32> {
    match atlas.target(target).laps {
        Some(laps) if laps.lap_s > 0 => (1..=laps.most).map(|n| n * laps.lap_s).collect(),
        _ => {
            let (least, most) = atlas.technique(technique).seconds;
            (least..=most).step_by(5).collect()
        }
    }
}

/// The sides on which a target can be worked, in words of files.
pub fn sides(atlas: &Atlas, target: TargetIx) -> &'static [Side] {
    match atlas.target(target).sides {
        Sides::Midline => &[Side::Midline],
        Sides::Lateral => &[Side::Left, Side::Right, Side::Both],
    }
}

/// Every place that the hand can work, by zone: the zone's name, then each `target.side` with its words.
pub fn places(atlas: &Atlas) -> Vec<(String, Vec<(String, String)>)> {
    let mut all =
        vec![(text("editor.oil").to_owned(), vec![(format!("{OIL_TARGET}.midline"), text("oil.place").to_owned())])];
    for (z, zone) in atlas.zones.iter().enumerate() {
        let mut rows = Vec::new();
        for (t, target) in atlas.targets.iter().enumerate().filter(|(_, t)| t.zone.0 == z) {
            if matches!(target.shown, Shown::Never(_)) {
                continue;
            }
            for &side in sides(atlas, TargetIx(t)) {
                let words = crate::catalogue::sentence_case(&tell::place(atlas, TargetIx(t), side));
                rows.push((format!("{}.{side}", target.id), words));
            }
        }
        if !rows.is_empty() {
            all.push((crate::catalogue::sentence_case(&zone.name), rows));
        }
    }
    all
}
