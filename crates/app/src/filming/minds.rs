//! What is to be minded, and by whom: said before the hand is there.
//!
//! A class hears at each step all who leave it out. A video can be stopped and begun again, and says the same by these rules:
//! - what touches all that is done is said once, before the first step;
//! - what depends on the state of the skin at a place, wherever that is, is said once, before the first step, when it touches three places or more;
//! - everything else is said in full at the first place that it touches; at the next ones these places are named;
//! - left and right of the same, one after the other, are one place;
//! - the caution of a place is said in full once in each movement.

use std::collections::BTreeSet;

use plan::atlas::{Atlas, Condition, ConditionIx, RuleZones, TargetIx};
use plan::routine::{Step, What};
use plan::screening::{Clearance, Spoken};
use vocab::{Class, Movement, Side};

use crate::catalogue::{fill, full_stop, text};

/// So many of them are said in one sentence.
const AT_ONCE: usize = 4;
/// From so many places on it is said once for all.
const EVERYWHERE: usize = 3;

/// What is to be minded, in the language of now.
pub struct Cautions {
    /// Who leaves it out, before the first step: each said as one.
    pub opening: Vec<String>,
    /// What is said at each step.
    pub steps: Vec<Vec<String>>,
    /// Who leaves out single places: the place, and who.
    pub places: Vec<(String, String)>,
}

/// How it is said, and to whom.
struct Group {
    class: Class,
    same_side: bool,
    who: Vec<String>,
}

/// The cautions of these steps.
pub fn cautions(atlas: &Atlas, clearance: &Clearance, steps: &[Step]) -> Cautions {
    let spoken: Vec<Vec<Spoken>> = steps
        .iter()
        .map(|step| match step.what {
            What::Oil => Vec::new(),
            What::Target(target, technique) => clearance.spoken(atlas, target, step.side, technique),
        })
        .collect();
    let skin = of_skin(atlas, steps, &spoken);
    let mut told = Told { atlas, skin: &skin, said: Vec::new(), cautions: BTreeSet::new(), places: Vec::new() };
    let at_steps = (0..steps.len()).map(|at| told.step(steps, &spoken, at)).collect();
    Cautions { opening: opening(atlas, clearance, &skin), steps: at_steps, places: told.places }
}

/// The conditions that lie where the skin is so, and touch many of these places, each with its strictest class.
fn of_skin(atlas: &Atlas, steps: &[Step], spoken: &[Vec<Spoken>]) -> Vec<(ConditionIx, Class)> {
    let by_place = |c: &Condition| {
        let mut rules = c.rules.iter().filter(|r| r.zones != RuleZones::All || !r.targets.is_empty()).peekable();
        rules.peek().is_some() && rules.all(|r| r.zones == RuleZones::Where)
    };
    let mut all = Vec::new();
    for (ix, condition) in atlas.conditions.iter().enumerate().filter(|(_, c)| by_place(c)) {
        let touched = steps.iter().zip(spoken).filter_map(|(step, spoken)| {
            let here = spoken.iter().find(|s| s.condition.0 == ix)?;
            Some((step.target_id(atlas), here.class))
        });
        let touched: Vec<(&str, Class)> = touched.collect();
        let places: BTreeSet<&str> = touched.iter().map(|(place, _)| *place).collect();
        if let Some(class) = touched.iter().map(|(_, class)| *class).max().filter(|_| places.len() >= EVERYWHERE) {
            all.push((ConditionIx(ix), class));
        }
    }
    debug_assert!(all.iter().all(|(ix, _)| !atlas.conditions[ix.0].spoken.is_empty()));
    all
}

fn opening(atlas: &Atlas, clearance: &Clearance, skin: &[(ConditionIx, Class)]) -> Vec<String> {
    let who = |ix: ConditionIx| atlas.conditions[ix.0].spoken.clone();
    let first = grouped(clearance.spoken_first(atlas).iter().map(|s| (s.class, false, who(s.condition))));
    let mut said: Vec<String> = first
        .iter()
        .map(|g| match g.class {
            Class::Stop => sentences("say.all_stop", &g.who),
            Class::LeaveOut => sentences("say.all_out", &g.who),
            Class::AskFirst => sentences("say.all_ask", &g.who),
            Class::Gently | Class::Go => sentences("say.all_gently", &g.who),
        })
        .collect();
    let skin = grouped(skin.iter().map(|(ix, class)| (*class, false, who(*ix))));
    if !skin.is_empty() {
        said.push(text("say.skin").to_owned());
    }
    said.extend(skin.iter().map(|g| match g.class {
        Class::Stop => sentences("say.all_stop", &g.who),
        Class::LeaveOut => sentences("say.skin_out", &g.who),
        Class::AskFirst => sentences("say.skin_ask", &g.who),
        Class::Gently | Class::Go => sentences("say.skin_gently", &g.who),
    }));
    said
}

/// The strictest first.
fn grouped(all: impl Iterator<Item = (Class, bool, String)>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (class, same_side, who) in all {
        match groups.iter_mut().find(|g| g.class == class && g.same_side == same_side) {
            Some(group) => group.who.push(who),
            None => groups.push(Group { class, same_side, who: vec![who] }),
        }
    }
    groups.sort_by_key(|g| (std::cmp::Reverse(g.class), g.same_side));
    groups
}

/// Who it is: "if a, if b or if c".
pub fn whoever(who: &[String]) -> String {
    let ifs: Vec<String> = who.iter().map(|who| fill("say.if", &[("who", who)])).collect();
    match ifs.split_last() {
        Some((last, most)) if !most.is_empty() => format!("{}{}{last}", most.join(", "), text("say.or")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// The sentence for all of these, a few at a time.
fn sentences(key: &'static str, who: &[String]) -> String {
    let chunks = who.chunks(AT_ONCE).enumerate();
    let one = |(i, who): (usize, &[String])| fill(if i == 0 { key } else { "say.too" }, &[("who", &whoever(who))]);
    chunks.map(one).collect::<Vec<_>>().join(" ")
}

/// What was said already.
struct Told<'a> {
    atlas: &'a Atlas,
    skin: &'a [(ConditionIx, Class)],
    /// Which condition, how strict, at which place.
    said: Vec<(ConditionIx, Class, TargetIx)>,
    cautions: BTreeSet<(usize, Movement)>,
    places: Vec<(String, String)>,
}

impl Told<'_> {
    fn step(&mut self, steps: &[Step], spoken: &[Vec<Spoken>], at: usize) -> Vec<String> {
        let step = &steps[at];
        let What::Target(ix, _) = step.what else {
            return vec![text("oil.caution").to_owned()];
        };
        let target = self.atlas.target(ix);
        let here: Vec<&Spoken> = spoken[at]
            .iter()
            .filter(|s| !self.skin.iter().any(|(c, class)| *c == s.condition && *class >= s.class))
            .collect();
        let nothing = target.caution.is_none() && here.is_empty();
        if nothing {
            return Vec::new();
        }
        if at > 0 && twins(&steps[at - 1], step) {
            return vec![text("say.mind_same").to_owned()];
        }
        let (old, fresh): (Vec<&Spoken>, Vec<&Spoken>) = here.into_iter().partition(|s| self.knows(s));
        let mut minds: Vec<String> = Vec::new();
        let repeats = !self.cautions.insert((ix.0, step.movement));
        let before: BTreeSet<usize> = old.iter().filter_map(|s| self.place_of(s)).map(|t| t.0).collect();
        let elsewhere: Vec<&String> =
            before.iter().filter(|t| **t != ix.0).map(|t| &self.atlas.target(TargetIx(*t)).name).collect();
        if repeats && elsewhere.is_empty() {
            minds.push(text("say.mind_again").to_owned());
        } else {
            minds.extend(target.caution.as_deref().map(full_stop));
            if !elsewhere.is_empty() {
                let places = elsewhere.iter().map(|p| p.as_str()).collect::<Vec<_>>().join(", ");
                minds.push(fill("say.who_before", &[("places", &places)]));
            } else if before.contains(&ix.0) {
                minds.push(text("say.mind_again").to_owned());
            }
        }
        let who = |s: &Spoken| self.atlas.conditions[s.condition.0].spoken.clone();
        let groups = grouped(fresh.iter().map(|s| (s.class, s.same_side, who(s))));
        minds.extend(groups.iter().map(|g| match (g.class, g.same_side) {
            (Class::Stop, _) => sentences("say.here_stop", &g.who),
            (Class::LeaveOut, false) => sentences("say.here_out", &g.who),
            (Class::LeaveOut, true) => sentences("say.side_out", &g.who),
            (Class::AskFirst, false) => sentences("say.here_ask", &g.who),
            (Class::AskFirst, true) => sentences("say.side_ask", &g.who),
            (Class::Gently | Class::Go, false) => sentences("say.here_gently", &g.who),
            (Class::Gently | Class::Go, true) => sentences("say.side_gently", &g.who),
        }));
        if !fresh.is_empty() {
            let all: Vec<String> = fresh.iter().map(|s| who(s)).collect();
            self.places.push((target.name.clone(), whoever(&all)));
        }
        self.said.extend(fresh.iter().map(|s| (s.condition, s.class, ix)));
        minds
    }

    fn knows(&self, spoken: &Spoken) -> bool {
        self.place_of(spoken).is_some()
    }

    /// Where it was said, at least as strictly.
    fn place_of(&self, spoken: &Spoken) -> Option<TargetIx> {
        let told = self.said.iter().find(|(c, class, _)| *c == spoken.condition && *class >= spoken.class);
        told.map(|(_, _, target)| *target)
    }
}

/// Whether the second is the first on the other side.
pub fn twins(first: &Step, second: &Step) -> bool {
    let crossed = matches!((first.side, second.side), (Side::Left, Side::Right) | (Side::Right, Side::Left));
    crossed && (first.movement, first.what, first.tool) == (second.movement, second.what, second.tool)
}
