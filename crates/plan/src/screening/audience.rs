//! What is said aloud to many at once: who leaves a step out, and what they do instead.

use vocab::{Class, Phrases, Side, Sides};

use super::clearance::Clearance;
use crate::atlas::{Atlas, Condition, ConditionIx, Rule, RuleZones, TargetIx, TechniqueIx};

/// What some of the audience must leave out or do lightly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// The condition.
    pub condition: ConditionIx,
    /// The strictest class that it brings here.
    pub class: Class,
    /// Whether it is only about the side that is worked.
    pub same_side: bool,
}

impl Spoken {
    /// Whom it does not suit, and what they do instead: two sentences to speak.
    pub fn sentences(&self, book: &dyn Phrases, atlas: &Atlas) -> String {
        let (key, instead) = match (self.class, self.same_side) {
            (Class::Stop, _) => ("spoken.stop", "spoken.stop_instead"),
            (Class::LeaveOut, false) => ("spoken.leave_out", "spoken.leave_out_instead"),
            (Class::LeaveOut, true) => ("spoken.leave_out_side", "spoken.leave_out_instead"),
            (Class::AskFirst, false) => ("spoken.leave_out", "spoken.ask_first_instead"),
            (Class::AskFirst, true) => ("spoken.leave_out_side", "spoken.ask_first_instead"),
            (Class::Gently | Class::Go, false) => ("spoken.gently", "spoken.gently_instead"),
            (Class::Gently | Class::Go, true) => ("spoken.gently_side", "spoken.gently_instead"),
        };
        let who = &atlas.conditions[self.condition.0].spoken;
        format!("{} {}", book.fill(key, &[("who", who)]), book.say(instead))
    }
}

impl Clearance {
    /// Whom a step does not suit, spoken at that step: conditions that touch this place or technique, not those that
    /// touch everything (these are spoken once, by [`Clearance::spoken_first`]).
    pub fn spoken(&self, atlas: &Atlas, target: TargetIx, side: Side, technique: TechniqueIx) -> Vec<Spoken> {
        let here = |c: &Condition, r: &Rule| !everywhere(c, r) && touches(atlas, c, r, target, technique);
        let one_side = atlas.target(target).sides == Sides::Lateral && side != Side::Midline;
        collect(atlas, here, |c| c.asks_side && one_side)
    }

    /// Who leaves the whole out, or does all of it lightly: spoken once, before the first step.
    pub fn spoken_first(&self, atlas: &Atlas) -> Vec<Spoken> {
        collect(atlas, everywhere, |_| false)
    }
}

fn collect(
    atlas: &Atlas,
    here: impl Fn(&Condition, &Rule) -> bool,
    same_side: impl Fn(&Condition) -> bool,
) -> Vec<Spoken> {
    let mut spoken = Vec::new();
    for (ix, condition) in atlas.conditions.iter().enumerate() {
        let class = condition.rules.iter().filter(|r| here(condition, r)).map(|r| r.class).max();
        let Some(class) = class else { continue };
        spoken.push(Spoken { condition: ConditionIx(ix), class, same_side: same_side(condition) });
    }
    spoken
}

/// Whether a rule touches all that is done, wherever it is.
fn everywhere(_: &Condition, rule: &Rule) -> bool {
    rule.zones == RuleZones::All
        && rule.targets.is_empty()
        && rule.techniques.is_empty()
        && rule.tools.is_empty()
        && !rule.oil
}

fn touches(atlas: &Atlas, condition: &Condition, rule: &Rule, target: TargetIx, technique: TechniqueIx) -> bool {
    let data = atlas.target(target);
    let zone = match &rule.zones {
        RuleZones::All => true,
        RuleZones::These(zones) => data.crosses.iter().any(|z| zones.contains(z)),
        RuleZones::Where => data.crosses.iter().any(|z| condition.places.contains(z)),
    };
    zone && (rule.targets.is_empty() || rule.targets.contains(&target))
        && (rule.techniques.is_empty() || rule.techniques.contains(&technique))
        && (!rule.oil || atlas.technique(technique).glides)
}
