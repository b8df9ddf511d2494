//! What is to be minded, and by whom: said before the hand is there.
//!
//! A class hears at each step all who leave it out. A video can be stopped and begun again, and says the same by these rules:
//! - what touches all that is done is said once, before the first step;
//! - what depends on how it is at a place, wherever that is (the skin there), is said once, before the first step, when it touches three places
//!   or more;
//! - what depends on how it is at a place, and touches fewer, is said in full at each of them: nobody can know it from another place;
//! - everything else is said in full at the first place that it touches; at the next ones these places are named, as few as will do;
//! - left and right of the same, one after the other, are one place;
//! - the caution of a place is said in full once in each movement;
//! - what is only about tools that a technique is never done with is not said.

use std::collections::BTreeSet;

use plan::atlas::{Atlas, Condition, ConditionIx, Rule, RuleZones, TargetIx, TechniqueIx};
use plan::routine::{Step, What};
use plan::screening::Clearance;
use vocab::{Class, Movement, Side, Sides};

use crate::catalogue::{fill, full_stop, lower_first, text};

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
    /// By name, who leaves all of it out, or what there is where a place is left out: the strictest first.
    pub named: Named,
}

/// Who leaves it out, by the names of conditions.
#[derive(Default)]
pub struct Named {
    /// All of it.
    pub first: Vec<(Class, Vec<String>)>,
    /// Every place where it is so.
    pub skin: Vec<(Class, Vec<String>)>,
    /// Single places.
    pub places: Vec<(String, Vec<String>)>,
}

/// Somebody who leaves a step out, or does it lightly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Who {
    /// With which condition.
    pub condition: ConditionIx,
    /// The strictest class that it brings here.
    pub class: Class,
    /// Whether it is only about the side that is worked.
    pub same_side: bool,
    /// Whether it is about how it is at this place, wherever that is.
    pub here: bool,
}

/// Whom a step does not suit, but for what touches all that is done.
pub fn who(atlas: &Atlas, step: &Step) -> Vec<Who> {
    let What::Target(target, technique) = step.what else { return Vec::new() };
    let one_side = atlas.target(target).sides == Sides::Lateral && step.side != Side::Midline;
    let mut all = Vec::new();
    for (ix, condition) in atlas.conditions.iter().enumerate() {
        let rules: Vec<&Rule> = condition
            .rules
            .iter()
            .filter(|r| !everywhere(r) && touches(atlas, condition, r, target, technique))
            .collect();
        if let Some(class) = rules.iter().map(|r| r.class).max() {
            let here = !condition.places.is_empty() && rules.iter().all(|r| r.zones == RuleZones::Where);
            all.push(Who { condition: ConditionIx(ix), class, same_side: condition.asks_side && one_side, here });
        }
    }
    all
}

/// Whether a rule touches all that is done; it is said once, before the first step.
fn everywhere(rule: &Rule) -> bool {
    rule.zones == RuleZones::All
        && rule.targets.is_empty()
        && rule.techniques.is_empty()
        && rule.tools.is_empty()
        && !rule.oil
}

fn touches(atlas: &Atlas, condition: &Condition, rule: &Rule, target: TargetIx, technique: TechniqueIx) -> bool {
    let (place, way) = (atlas.target(target), atlas.technique(technique));
    let zone = match &rule.zones {
        RuleZones::All => true,
        RuleZones::These(zones) => place.crosses.iter().any(|z| zones.contains(z)),
        RuleZones::Where => place.crosses.iter().any(|z| condition.places.contains(z)),
    };
    zone && (rule.targets.is_empty() || rule.targets.contains(&target))
        && (rule.techniques.is_empty() || rule.techniques.contains(&technique))
        && (rule.tools.is_empty() || rule.tools.iter().any(|t| way.tools.contains(t)))
        && (!rule.oil || way.glides)
}

/// The cautions of these steps.
pub fn cautions(atlas: &Atlas, clearance: &Clearance, steps: &[Step]) -> Cautions {
    let who: Vec<Vec<Who>> = steps.iter().map(|step| who(atlas, step)).collect();
    let skin = of_skin(atlas, steps, &who);
    let first: Vec<(ConditionIx, Class)> =
        clearance.spoken_first(atlas).iter().map(|s| (s.condition, s.class)).collect();
    let once: Vec<(ConditionIx, Class)> = first.iter().chain(&skin).copied().collect();
    let mut told = Told { atlas, once: &once, said: Vec::new(), cautions: BTreeSet::new(), places: Vec::new() };
    let at_steps = (0..steps.len()).map(|at| told.step(steps, &who, at)).collect();
    let name = |all: &[(ConditionIx, Class)]| {
        grouped(all.iter().map(|(ix, class)| (*class, lower_first(&atlas.conditions[ix.0].name))))
    };
    let named = Named { first: name(&first), skin: name(&skin), places: told.places };
    Cautions { opening: opening(atlas, &first, &skin), steps: at_steps, named }
}

/// The conditions that lie where it is so, and touch many of these places, each with its strictest class.
fn of_skin(atlas: &Atlas, steps: &[Step], who: &[Vec<Who>]) -> Vec<(ConditionIx, Class)> {
    let mut all = Vec::new();
    for ix in (0..atlas.conditions.len()).map(ConditionIx) {
        let touched = steps.iter().zip(who).filter_map(|(step, who)| {
            let here = who.iter().find(|w| w.condition == ix && w.here)?;
            Some((step.target_id(atlas), here.class))
        });
        let touched: Vec<(&str, Class)> = touched.collect();
        let places: BTreeSet<&str> = touched.iter().map(|(place, _)| *place).collect();
        if let Some(class) = touched.iter().map(|(_, class)| *class).max().filter(|_| places.len() >= EVERYWHERE) {
            all.push((ix, class));
        }
    }
    all
}

fn opening(atlas: &Atlas, first: &[(ConditionIx, Class)], skin: &[(ConditionIx, Class)]) -> Vec<String> {
    let groups =
        |all: &[(ConditionIx, Class)]| grouped(all.iter().map(|(ix, class)| (*class, said_of(atlas, *ix, false))));
    let mut said: Vec<String> = groups(first)
        .iter()
        .map(|(class, who)| match class {
            Class::Stop => sentences("say.all_stop", who),
            Class::LeaveOut => sentences("say.all_out", who),
            Class::AskFirst => sentences("say.all_ask", who),
            Class::Gently | Class::Go => sentences("say.all_gently", who),
        })
        .collect();
    said.push(text("say.rest").to_owned());
    if !skin.is_empty() {
        said.push(text("say.skin").to_owned());
    }
    said.extend(groups(skin).iter().map(|(class, who)| match class {
        Class::Stop => sentences("say.here_stop", who),
        Class::LeaveOut => sentences("say.skin_out", who),
        Class::AskFirst => sentences("say.skin_ask", who),
        Class::Gently | Class::Go => sentences("say.skin_gently", who),
    }));
    said
}

/// "if you have ...".
fn said_of(atlas: &Atlas, condition: ConditionIx, same_side: bool) -> String {
    let who = &atlas.conditions[condition.0].spoken;
    fill(if same_side { "say.if_side" } else { "say.if" }, &[("who", who)])
}

/// By class, the strictest first.
fn grouped(all: impl Iterator<Item = (Class, String)>) -> Vec<(Class, Vec<String>)> {
    let mut groups: Vec<(Class, Vec<String>)> = Vec::new();
    for (class, who) in all {
        match groups.iter_mut().find(|(of, _)| *of == class) {
            Some((_, group)) => group.push(who),
            None => groups.push((class, vec![who])),
        }
    }
    groups.sort_by_key(|(class, _)| std::cmp::Reverse(*class));
    groups
}

/// Who it is: "if a, if b, or if c".
fn whoever(ifs: &[String]) -> String {
    match ifs.split_last() {
        Some((last, most)) if !most.is_empty() => format!("{}{}{last}", most.join(", "), text("say.or")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// The sentence for all of these, a few at a time.
fn sentences(key: &'static str, ifs: &[String]) -> String {
    let one = |(i, ifs): (usize, &[String])| fill(if i == 0 { key } else { "say.too" }, &[("who", &whoever(ifs))]);
    ifs.chunks(AT_ONCE).enumerate().map(one).collect::<Vec<_>>().join(" ")
}

/// What was said already.
struct Told<'a> {
    atlas: &'a Atlas,
    /// Before the first step.
    once: &'a [(ConditionIx, Class)],
    /// Which condition, how strict, at which place.
    said: Vec<(ConditionIx, Class, TargetIx)>,
    cautions: BTreeSet<(usize, Movement)>,
    places: Vec<(String, Vec<String>)>,
}

impl Told<'_> {
    fn step(&mut self, steps: &[Step], who: &[Vec<Who>], at: usize) -> Vec<String> {
        let step = &steps[at];
        let What::Target(ix, _) = step.what else {
            return vec![text("oil.caution").to_owned()];
        };
        let target = self.atlas.target(ix);
        let known = |w: &&Who| !self.once.iter().any(|(c, class)| *c == w.condition && *class >= w.class);
        let here: Vec<&Who> = who[at].iter().filter(known).collect();
        if target.caution.is_none() && here.is_empty() {
            return Vec::new();
        }
        if at > 0 && twins(&steps[at - 1], step) {
            return vec![text("say.mind_same").to_owned()];
        }
        let (old, fresh): (Vec<&Who>, Vec<&Who>) = here.into_iter().partition(|w| {
            let places = self.places_of(w);
            if w.here { places.contains(&ix) } else { !places.is_empty() }
        });
        let repeats = !self.cautions.insert((ix.0, step.movement));
        let places = self.cover(&old, ix);
        let elsewhere: Vec<&str> =
            places.iter().filter(|t| **t != ix).map(|t| self.atlas.target(*t).name.as_str()).collect();
        let again = places.contains(&ix);
        let mut minds: Vec<String> = Vec::new();
        if repeats {
            minds.push(text("say.mind_again").to_owned());
        } else {
            minds.extend(target.caution.as_deref().map(full_stop));
            if again {
                minds.push(text("say.mind_again").to_owned());
            }
        }
        if !elsewhere.is_empty() {
            minds.push(fill("say.who_before", &[("places", &elsewhere.join(", "))]));
        }
        let said = |w: &&Who| (w.class, said_of(self.atlas, w.condition, w.same_side));
        minds.extend(grouped(fresh.iter().map(said)).iter().map(|(class, who)| match class {
            Class::Stop => sentences("say.here_stop", who),
            Class::LeaveOut => sentences("say.here_out", who),
            Class::AskFirst => sentences("say.here_ask", who),
            Class::Gently | Class::Go => sentences("say.here_gently", who),
        }));
        if !fresh.is_empty() {
            let names = fresh.iter().map(|w| lower_first(&self.atlas.conditions[w.condition.0].name));
            self.places.push((target.name.clone(), names.collect()));
        }
        self.said.extend(fresh.iter().map(|w| (w.condition, w.class, ix)));
        minds
    }

    /// Where it was said, at least as strictly.
    fn places_of(&self, who: &Who) -> Vec<TargetIx> {
        let told = self.said.iter().filter(|(c, class, _)| *c == who.condition && *class >= who.class);
        told.map(|(_, _, target)| *target).collect()
    }

    /// Places at which all of these were said, few of them: this very place first, then each time the one that says most of what is left.
    fn cover(&self, who: &[&Who], here: TargetIx) -> Vec<TargetIx> {
        let mut left: Vec<Vec<TargetIx>> = who.iter().map(|w| self.places_of(w)).collect();
        let mut cover = Vec::new();
        while !left.is_empty() {
            let says = |t: &TargetIx| left.iter().filter(|places| places.contains(t)).count();
            let mut all: Vec<TargetIx> = left.iter().flatten().copied().collect();
            all.sort_by_key(|t| t.0);
            let best = all.iter().copied().max_by_key(|t| (*t == here, says(t), std::cmp::Reverse(t.0)));
            let Some(best) = best else { break };
            cover.push(best);
            left.retain(|places| !places.contains(&best));
        }
        cover
    }
}

/// Whether the second is the first on the other side.
pub fn twins(first: &Step, second: &Step) -> bool {
    let crossed = matches!((first.side, second.side), (Side::Left, Side::Right) | (Side::Right, Side::Left));
    crossed && (first.movement, first.what, first.tool) == (second.movement, second.what, second.tool)
}
