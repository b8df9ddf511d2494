//! What holds for this person today, whatever the routine: where a step works, what its way is, what may be opened.

use vocab::{Movement, Pressure, Side, Sides};

use crate::atlas::{Atlas, Kind, Shown, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use crate::reading::HANDS;
use crate::routine::{Place, Step, What, places, way};
use crate::screening::{Clearance, Verdict};

/// Atlas, clearance and tools, seen together.
pub(super) struct Person<'a> {
    pub(super) atlas: &'a Atlas,
    pub(super) clearance: &'a Clearance,
    /// Tools at hand in data order, hands among them.
    pub(super) tools: Vec<ToolIx>,
    /// The tool that is always at hand, if the atlas has it.
    pub(super) hands: Option<ToolIx>,
    /// The target that is the whole zone, for every zone.
    whole: Vec<Option<TargetIx>>,
}

impl<'a> Person<'a> {
    pub(super) fn new(atlas: &'a Atlas, clearance: &'a Clearance, tools: &[ToolIx]) -> Person<'a> {
        let hands = atlas.tool_named(HANDS);
        let mut tools = tools.to_vec();
        tools.extend(hands);
        tools.sort_unstable();
        tools.dedup();
        let whole = atlas.zones.iter().map(|z| atlas.target_named(&z.id)).collect();
        Person { atlas, clearance, tools, hands, whole }
    }

    /// The zone and technique that a step opens or closes a way with, whatever its movement says.
    pub(super) fn whole_zone(&self, step: &Step) -> Option<(ZoneIx, TechniqueIx)> {
        match step.what {
            What::Target(target, technique) if self.atlas.target(target).kind == Kind::Zone => {
                Some((self.atlas.target(target).zone, technique))
            }
            _ => None,
        }
    }

    /// Whether the target of a step exists on its side. The oil has no side.
    pub(super) fn side_exists(&self, step: &Step) -> bool {
        let What::Target(target, _) = step.what else { return true };
        match self.atlas.target(target).sides {
            Sides::Lateral => step.side != Side::Midline,
            Sides::Midline => step.side == Side::Midline,
        }
    }

    /// Every zone that a step touches, on every side on which it touches it.
    pub(super) fn places(&self, step: &Step) -> Vec<Place> {
        places(self.atlas, step)
    }

    /// The union of the ways of every place that a step touches, nearest first.
    pub(super) fn way(&self, step: &Step) -> Vec<Place> {
        way(self.atlas, step)
    }

    /// What screening says of a step. Of the oil: what it says of every glide there is, at its mildest.
    pub(super) fn verdict(&self, step: &Step) -> Verdict {
        match step.what {
            What::Target(target, technique) => self.clearance.of(self.atlas, target, step.side, technique, step.tool),
            What::Oil => self.oil_verdict(),
        }
    }

    /// The oil is left out when no glide is left; by the rules that touch all of them, or else by any.
    fn oil_verdict(&self) -> Verdict {
        let go = Verdict { class: vocab::Class::Go, rules: Vec::new() };
        let mut mildest: Option<Verdict> = None;
        for (ix, target) in self.atlas.targets.iter().enumerate().filter(|(_, t)| !matches!(t.shown, Shown::Never(_))) {
            for &technique in target.techniques.iter().filter(|t| self.atlas.technique(**t).glides) {
                for &tool in &self.atlas.technique(technique).tools {
                    for &side in target.sides.each() {
                        let said = self.clearance.of(self.atlas, TargetIx(ix), side, technique, tool);
                        if said.class.allows() {
                            return go;
                        }
                        mildest = Some(match mildest {
                            None => said,
                            Some(old) => {
                                let common: Vec<_> =
                                    old.rules.iter().copied().filter(|r| said.rules.contains(r)).collect();
                                let rules = if common.is_empty() { old.rules } else { common };
                                Verdict { class: old.class.min(said.class), rules }
                            }
                        });
                    }
                }
            }
        }
        mildest.unwrap_or(go)
    }

    /// The opening of a place as clearance and tools allow it; `None`: it is skipped.
    pub(super) fn opening(&self, (zone, side): Place) -> Option<Step> {
        let row = self.atlas.zone(zone);
        self.way_step(Movement::Open, (zone, side), row.open_technique, row.open_s, None)
    }

    /// The closing of a place, with the tool that opened it if it may; `None`: it is skipped.
    pub(super) fn closing(&self, (zone, side): Place, opened_with: ToolIx) -> Option<Step> {
        let row = self.atlas.zone(zone);
        self.way_step(Movement::Close, (zone, side), row.close_technique, row.close_s, Some(opened_with))
    }

    fn way_step(
        &self,
        movement: Movement,
        (zone, side): Place,
        technique: TechniqueIx,
        seconds: u32,
        first: Option<ToolIx>,
    ) -> Option<Step> {
        let target = self.whole[zone.0]?;
        let row = self.atlas.technique(technique);
        let preferred = first.filter(|t| row.tools.contains(t)).into_iter().chain(row.tools.iter().copied());
        let mut at_hand = preferred.filter(|tool| self.tools.contains(tool));
        let tool = at_hand.find(|tool| self.clearance.of(self.atlas, target, side, technique, *tool).class.allows())?;
        let what = What::Target(target, technique);
        Some(Step { movement, what, side, tool, pressure: Pressure::Featherlight, seconds })
    }

    /// The places on a step's way whose opening is skipped.
    pub(super) fn skipped(&self, step: &Step) -> Vec<Place> {
        self.way(step).into_iter().filter(|place| self.opening(*place).is_none()).collect()
    }
}
