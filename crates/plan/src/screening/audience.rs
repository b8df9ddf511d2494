//! What is said aloud to many at once: who leaves a step out, and what they do instead.

use vocab::{Class, Side, Sides};

use super::clearance::Clearance;
use crate::atlas::{Atlas, Condition, ConditionIx, Rule, RuleZones, TargetIx, TechniqueIx};

/// What some of the audience must leave out or do lightly, in a sentence to speak.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// The condition.
    pub condition: ConditionIx,
    /// The strictest class that it brings here.
    pub class: Class,
    /// "Leave this out if ..."
    pub sentence: String,
    /// What those do instead.
    pub alternative: String,
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
        let (lead, alternative) = match class {
            Class::Stop => ("Do not join in today if", "Sit back and rest; ask a clinician."),
            Class::LeaveOut => ("Leave this out if", "Rest both hands in your lap until the next step."),
            Class::AskFirst => {
                ("Leave this out if", "Rest your hands until the next step, and ask a clinician before you do it.")
            }
            Class::Gently | Class::Go => {
                ("Only lay the hand on, without pressing, if", "Keep it featherlight, or rest.")
            }
        };
        let on_side = if same_side(condition) { " on this side" } else { "" };
        spoken.push(Spoken {
            condition: ConditionIx(ix),
            class,
            sentence: format!("{lead} {}{on_side}.", condition.spoken),
            alternative: alternative.to_owned(),
        });
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
