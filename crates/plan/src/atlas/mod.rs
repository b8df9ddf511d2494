//! The atlas: where a hand can work, with what, how hard, for what, and what speaks against it.
//!
//! An [`Atlas`] is checked when it is loaded (see `load`): no cycle, no unknown name, a source on every row, a
//! way from every zone to the collarbone outlet. What comes after may rely on that.

mod load;
mod load_products;
mod load_screening;
mod words;

use vocab::{Class, Pressure, Side, Sides};

pub use words::{TextPlace, Wording};

macro_rules! index {
    ($(#[$doc:meta] $name:ident),+ $(,)?) => {$(
        #[$doc]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub usize);
    )+};
}
index!(
    /// A zone's place in [`Atlas::zones`].
    ZoneIx,
    /// A target's place in [`Atlas::targets`].
    TargetIx,
    /// A technique's place in [`Atlas::techniques`]; this order breaks ties.
    TechniqueIx,
    /// A tool's place in [`Atlas::tools`]; this order breaks ties.
    ToolIx,
    /// A concern's place in [`Atlas::concerns`].
    ConcernIx,
    /// A condition's place in [`Atlas::conditions`].
    ConditionIx,
    /// A question group's place in [`Atlas::groups`].
    GroupIx,
);

/// Most zones, and most tools, that an atlas may have; loading refuses more. The planner keeps a set of zone-sides in 128
/// bits.
pub const MOST_ROWS: usize = 64;

/// All reference data, cross-linked by index.
#[derive(Clone, Debug, Default)]
pub struct Atlas {
    /// Places of the hand.
    pub zones: Vec<Zone>,
    /// Named groups of zones ("neck", "face", "eye" ...), used by screening rules.
    pub zone_sets: Vec<ZoneSet>,
    /// Points, lines and zones that can be worked; every zone is also a target of the same id.
    pub targets: Vec<Target>,
    /// What the hand does.
    pub techniques: Vec<Technique>,
    /// What it does it with; hands are a tool.
    pub tools: Vec<Tool>,
    /// What the person comes with.
    pub concerns: Vec<Concern>,
    /// The five questions that open the door.
    pub groups: Vec<Group>,
    /// Conditions asked at intake.
    pub conditions: Vec<Condition>,
    /// Signs that mean a clinician.
    pub warning_signs: Vec<WarningSign>,
    /// Node groups of the anatomical graph, mapped to zones.
    pub drainage: Vec<DrainageEdge>,
    /// Which place of the hand a named region or node group of the anatomical graph belongs to.
    pub node_zones: Vec<NodeZone>,
    /// What is done before and after a routine.
    pub checklists: Vec<ChecklistItem>,
    /// What stands on an ingredient list that matters to a face.
    pub ingredients: Vec<Ingredient>,
    /// What an ingredient means for whom.
    pub product_rules: Vec<ProductRule>,
    /// Drops of oil for face and neck together, smallest and largest ("common practice, no source").
    pub oil_drops: (u32, u32),
    /// Numbers of the model that a practitioner may edit.
    pub settings: Settings,
}

/// Numbers of the planning model that are data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seconds for a change of tool between neighbouring steps.
    pub change_tool_s: u32,
    /// Seconds for a change from left to right or back.
    pub change_side_s: u32,
    /// Seconds for a change of zone, by name.
    pub change_zone_s: u32,
    /// Seconds to spread the oil.
    pub oil_s: u32,
    /// Seconds of a point after which more adds nothing.
    pub full_point_s: u32,
    /// Laps of a line after which more adds nothing.
    pub full_line_laps: u32,
    /// Seconds of a zone after which more adds nothing.
    pub full_zone_s: u32,
    /// Most targets worked in one zone on one side.
    pub targets_per_zone: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            change_tool_s: 5,
            change_side_s: 3,
            change_zone_s: 2,
            oil_s: 20,
            full_point_s: 20,
            full_line_laps: 3,
            full_zone_s: 30,
            targets_per_zone: 4,
        }
    }
}

/// On which drawing a place is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum View {
    /// The face from in front.
    Face,
    /// Neck, chest and shoulders from in front.
    Torso,
    /// Head, neck and shoulders from behind.
    Back,
}

/// A place of the hand.
#[derive(Clone, Debug)]
pub struct Zone {
    /// Its id, as in `neck_side`.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// Whether it exists once or on both sides.
    pub sides: Sides,
    /// The next zone on the main way to the collarbone outlet; `None` for the outlet.
    pub next_main: Option<ZoneIx>,
    /// Further ways, as knowledge only.
    pub next_part: Vec<ZoneIx>,
    /// Whether it counts as neck (never both sides at once).
    pub neck: bool,
    /// Its height, unique among zones: a larger number is higher on the body.
    pub height: i64,
    /// Steps to the outlet on the main tree; the outlet has 0. Filled on loading.
    pub depth: u32,
    /// On which drawing it lies.
    pub view: View,
    /// The most pressure it takes.
    pub pressure: Pressure,
    /// Whether the five grouped questions alone open it (for featherlight work).
    pub door: bool,
    /// The technique that opens it.
    pub open_technique: TechniqueIx,
    /// Seconds of its opening.
    pub open_s: u32,
    /// The technique that closes it.
    pub close_technique: TechniqueIx,
    /// Seconds of its closing.
    pub close_s: u32,
    /// The source of its place on the way.
    pub source: String,
}

/// A named group of zones.
#[derive(Clone, Debug)]
pub struct ZoneSet {
    /// Its id, as in `neck`.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// Its zones.
    pub zones: Vec<ZoneIx>,
}

/// What sort of target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A standard or own point.
    Point,
    /// A drawn way, counted in laps.
    Line,
    /// A whole zone.
    Zone,
}

/// Where a target can be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// On a photograph: landmarks or the estimated hairline carry it.
    Photo,
    /// On the drawing and in words only.
    Sketch,
    /// Known, but not for the hand; the reason is kept.
    Never(String),
}

/// A point, line or zone that can be worked.
#[derive(Clone, Debug)]
pub struct Target {
    /// Its id: the zone's id, the point's code, the line's id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// What sort it is.
    pub kind: Kind,
    /// Whether it exists once or on both sides.
    pub sides: Sides,
    /// The zone whose place in the order it takes.
    pub zone: ZoneIx,
    /// Every zone it crosses, `zone` included; one for points and zones.
    pub crosses: Vec<ZoneIx>,
    /// Techniques in order of preference, at most three.
    pub techniques: Vec<TechniqueIx>,
    /// The most pressure it takes (never above its zones').
    pub pressure: Pressure,
    /// Its place among the targets of its zone, unique within the zone; smaller is earlier.
    pub rank: i64,
    /// Where it can be shown.
    pub shown: Shown,
    /// How to find it, in plain words.
    pub find: String,
    /// For a point: its location rule, of landmarks and B-cun.
    pub rule: Option<String>,
    /// For a point: its standard name in pinyin.
    pub pinyin: Option<String>,
    /// For a line: from where to where.
    pub direction: Option<String>,
    /// For a line: where to dwell on the way; may be empty.
    pub dwell: Vec<String>,
    /// What to mind there, at the step.
    pub caution: Option<String>,
    /// For a line: seconds of one lap and the most laps.
    pub laps: Option<Laps>,
    /// The published or common source.
    pub source: String,
}

/// How a line is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Laps {
    /// Seconds of one lap, along the line and back to its start.
    pub lap_s: u32,
    /// Most laps.
    pub most: u32,
}

/// What the hand does.
#[derive(Clone, Debug)]
pub struct Technique {
    /// Its id, as in `small_circles`.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// One imperative sentence for voice and page: what the hand does.
    pub says: String,
    /// In which direction.
    pub direction: String,
    /// The notation mark: stroke, hold, circles, press, to_and_fro, palm, pinch.
    pub mark: String,
    /// Tools in order of preference, at most three.
    pub tools: Vec<ToolIx>,
    /// The pressures it can take.
    pub pressures: Vec<Pressure>,
    /// Fewest and most seconds of a step on a point or zone; the difference is divisible by 5.
    pub seconds: (u32, u32),
    /// Whether it needs oil under it (openings and closings never do).
    pub glides: bool,
    /// Whether it can be done left and right at once with both hands.
    pub two_hands: bool,
    /// Whether the other hand supports the skin, in words.
    pub support: Option<String>,
    /// How to do it with the other hand when a shoulder is stiff.
    pub other_hand: Option<String>,
    /// What it must never do.
    pub never: Vec<String>,
    /// The source.
    pub source: String,
}

/// What the hand works with.
#[derive(Clone, Debug)]
pub struct Tool {
    /// Its id; `hands` always exists.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// Its contact with the skin in square millimetres, for the scale.
    pub contact_mm2: u32,
    /// How it is cleaned.
    pub care: String,
    /// Grams on a kitchen scale, most for featherlight, light, firm.
    pub grams: [u32; 3],
    /// The source.
    pub source: String,
}

/// On what an association rests.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Grade {
    /// Handed down; no trial.
    Tradition,
    /// Follows from where muscles, vessels and nodes lie; no trial of the effect.
    Anatomy,
    /// A published trial touches it (named in the source).
    Trial,
}

/// What the person comes with.
#[derive(Clone, Debug)]
pub struct Concern {
    /// Its id, as in `tight_jaw`.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// What is honestly known.
    pub known: String,
    /// The source of what is known.
    pub source: String,
    /// Which targets serve it.
    pub links: Vec<Link>,
}

/// A target that serves a concern.
#[derive(Clone, Debug)]
pub struct Link {
    /// The target.
    pub target: TargetIx,
    /// How much, 1 to 10: the practitioner's priority, never an effect.
    pub weight: u32,
    /// On what it rests.
    pub grade: Grade,
    /// The source.
    pub source: String,
}

/// One of the five grouped questions.
#[derive(Clone, Debug)]
pub struct Group {
    /// Its id, as in `heart_and_vessels`.
    pub id: String,
    /// The question as asked.
    pub question: String,
    /// What to think of, in one sentence.
    pub think_of: String,
    /// The source.
    pub source: String,
}

/// A condition asked at intake and the rules it brings.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Its id, as in `filler`.
    pub id: String,
    /// What it is called on a page.
    pub name: String,
    /// The question as asked.
    pub question: String,
    /// The group that covers it.
    pub group: GroupIx,
    /// Where it can be: the zones offered when *where* is asked; empty when it is not.
    pub places: Vec<ZoneIx>,
    /// Whether the side is asked.
    pub asks_side: bool,
    /// Whether since when is asked.
    pub asks_since: bool,
    /// After how many days the answer is asked again; `None`: it lasts.
    pub ask_again_days: Option<u32>,
    /// What it forbids or softens.
    pub rules: Vec<Rule>,
    /// Why, in one plain sentence.
    pub reason: String,
    /// What to do.
    pub action: String,
    /// The source.
    pub source: String,
    /// `found`, `memory` or `inference`, as in the reference table.
    pub mark: String,
    /// What is said aloud to many at once, after "Leave this out if".
    pub spoken: String,
}

/// What a condition forbids or softens. It touches a candidate when every selector that is given matches.
#[derive(Clone, Debug)]
pub struct Rule {
    /// How strict.
    pub class: Class,
    /// The zones it touches.
    pub zones: RuleZones,
    /// Only these targets, if any are given.
    pub targets: Vec<TargetIx>,
    /// Only these techniques, if any are given.
    pub techniques: Vec<TechniqueIx>,
    /// Only these tools, if any are given.
    pub tools: Vec<ToolIx>,
    /// Only what needs oil.
    pub oil: bool,
    /// Only from this many days after its beginning (0: at once).
    pub from_day: u32,
    /// Only until this many days after its beginning; `None`: without end. Unknown beginning: still within.
    pub until_day: Option<u32>,
    /// The example that tests it; a rule without one is refused on loading.
    pub proof: Proof,
}

/// An example answer and what it must give: the test that every safety rule carries with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proof {
    /// Where the example has it; empty: it does not say.
    pub places: Vec<ZoneIx>,
    /// On which side the example has it; `None`: it does not say.
    pub side: Option<Side>,
    /// How many days ago the example says it began; `None`: it does not say.
    pub since_days: Option<u32>,
    /// The target looked at.
    pub target: TargetIx,
    /// The side of the target looked at.
    pub on: Side,
    /// The technique looked at.
    pub technique: TechniqueIx,
    /// The tool looked at.
    pub tool: ToolIx,
    /// What the clearance must say there.
    pub class: Class,
}

/// Which zones a rule touches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RuleZones {
    /// Everywhere.
    All,
    /// Where the answer says, or all of the condition's places if it does not say.
    Where,
    /// These.
    These(Vec<ZoneIx>),
}

/// How soon a clinician.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Urgency {
    /// The emergency number, now.
    Emergency,
    /// The same day.
    SameDay,
    /// The general practitioner.
    Doctor,
}

/// A sign that means a clinician.
#[derive(Clone, Debug)]
pub struct WarningSign {
    /// Its id, as in `stroke`.
    pub id: String,
    /// The sign, in plain words.
    pub sign: String,
    /// How soon.
    pub urgency: Urgency,
    /// Stop, or ask first at these zones.
    pub class: Class,
    /// The zones it touches (ignored for stop).
    pub zones: RuleZones,
    /// Where it can be, when it is local.
    pub places: Vec<ZoneIx>,
    /// What to do, in one sentence.
    pub action: String,
    /// The source.
    pub source: String,
    /// The example that tests it.
    pub proof: Proof,
}

/// An edge of the anatomical graph.
#[derive(Clone, Debug)]
pub struct DrainageEdge {
    /// From which region or node group.
    pub from: String,
    /// To which node group, trunk, duct or vein.
    pub to: String,
    /// What sort of edge.
    pub kind: String,
    /// The source with its page.
    pub source: String,
}

/// The zone that a name of the anatomical graph belongs to.
#[derive(Clone, Debug)]
pub struct NodeZone {
    /// The region or node group.
    pub node: String,
    /// The zone.
    pub zone: ZoneIx,
    /// The source of the mapping ("ours" where it is ours).
    pub source: String,
}

/// Something done before or after.
#[derive(Clone, Debug)]
pub struct ChecklistItem {
    /// `before` or `after`.
    pub when: String,
    /// The sentence.
    pub text: String,
    /// Only with a tool, only with oil, or always.
    pub only: Option<String>,
    /// The source.
    pub source: String,
}

/// A name on an ingredient list.
#[derive(Clone, Debug)]
pub struct Ingredient {
    /// The name as declared (INCI or the regulation's).
    pub name: String,
    /// Other names of the same, as lists write them.
    pub also: Vec<String>,
    /// Plants whose every product counts: a name that begins with one of these is this ingredient.
    pub plants: Vec<String>,
    /// `fragrance_allergen`, `nut_oil`, `essential_oil`, `other`.
    pub kind: String,
    /// Largest share on the face in hundredths of a percent, where one is known.
    pub face_limit_bp: Option<u32>,
    /// What to say.
    pub note: String,
    /// The source.
    pub source: String,
}

/// What ingredients mean for everybody, or for whom a condition applies to.
#[derive(Clone, Debug)]
pub struct ProductRule {
    /// Its id.
    pub id: String,
    /// For whom; none: everybody.
    pub condition: Option<ConditionIx>,
    /// Which kinds of ingredient; `essential_oil` holds the oils among the allergens too, those with a limit on the face.
    pub kinds: Vec<String>,
    /// Which ingredients besides, by their place in [`Atlas::ingredients`].
    pub names: Vec<usize>,
    /// What follows: gently, ask first or leave out.
    pub class: Class,
    /// What to say.
    pub says: String,
    /// The source.
    pub source: String,
}

impl ProductRule {
    /// Whether it speaks of this ingredient.
    pub fn touches(&self, ix: usize, ingredient: &Ingredient) -> bool {
        let oil = ingredient.kind == "fragrance_allergen" && ingredient.face_limit_bp.is_some();
        let kind = |kind: &String| *kind == ingredient.kind || oil && kind == "essential_oil";
        self.names.contains(&ix) || self.kinds.iter().any(kind)
    }
}

impl Atlas {
    /// The zone's data.
    pub fn zone(&self, ix: ZoneIx) -> &Zone {
        &self.zones[ix.0]
    }

    /// The target's data.
    pub fn target(&self, ix: TargetIx) -> &Target {
        &self.targets[ix.0]
    }

    /// The technique's data.
    pub fn technique(&self, ix: TechniqueIx) -> &Technique {
        &self.techniques[ix.0]
    }

    /// The tool's data.
    pub fn tool(&self, ix: ToolIx) -> &Tool {
        &self.tools[ix.0]
    }

    /// The zone of this id.
    pub fn zone_named(&self, id: &str) -> Option<ZoneIx> {
        self.zones.iter().position(|z| z.id == id).map(ZoneIx)
    }

    /// The target of this id.
    pub fn target_named(&self, id: &str) -> Option<TargetIx> {
        self.targets.iter().position(|t| t.id == id).map(TargetIx)
    }

    /// The technique of this id.
    pub fn technique_named(&self, id: &str) -> Option<TechniqueIx> {
        self.techniques.iter().position(|t| t.id == id).map(TechniqueIx)
    }

    /// The tool of this id.
    pub fn tool_named(&self, id: &str) -> Option<ToolIx> {
        self.tools.iter().position(|t| t.id == id).map(ToolIx)
    }

    /// The concern of this id.
    pub fn concern_named(&self, id: &str) -> Option<ConcernIx> {
        self.concerns.iter().position(|c| c.id == id).map(ConcernIx)
    }

    /// The condition of this id.
    pub fn condition_named(&self, id: &str) -> Option<ConditionIx> {
        self.conditions.iter().position(|c| c.id == id).map(ConditionIx)
    }

    /// The question group of this id.
    pub fn group_named(&self, id: &str) -> Option<GroupIx> {
        self.groups.iter().position(|g| g.id == id).map(GroupIx)
    }

    /// The zone set of this id.
    pub fn zone_set(&self, id: &str) -> Option<&ZoneSet> {
        self.zone_sets.iter().find(|s| s.id == id)
    }

    /// The zones after `(zone, side)` on the main tree, nearest first, to the outlet of that side.
    /// From a midline zone the way goes to both sides.
    pub fn way(&self, zone: ZoneIx, side: Side) -> Vec<(ZoneIx, Side)> {
        let mut way = Vec::new();
        let mut front = vec![(zone, side)];
        while let Some((from, on)) = front.pop() {
            let Some(next) = self.zone(from).next_main else { continue };
            let sides: &[Side] = match (self.zone(next).sides, on) {
                (Sides::Midline, _) => &[Side::Midline],
                (Sides::Lateral, Side::Left) => &[Side::Left],
                (Sides::Lateral, Side::Right) => &[Side::Right],
                (Sides::Lateral, Side::Midline | Side::Both) => &[Side::Left, Side::Right],
            };
            for &s in sides {
                if !way.contains(&(next, s)) {
                    way.push((next, s));
                    front.push((next, s));
                }
            }
        }
        way
    }
}
