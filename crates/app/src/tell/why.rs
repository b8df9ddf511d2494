//! Why a step is in a routine, as sentences.

use plan::atlas::{Atlas, TargetIx};
use plan::draft::Why;
use plan::routine::{Step, What};
use plan::screening::Clearance;
use vocab::Side;

use super::{grade, zone_place};
use crate::catalogue::{Catalogue, fill, full_stop, listed, lower_first, text};

/// The most places named before "and so many more".
const NAMED: usize = 2;

/// One reason in a sentence.
pub fn why(atlas: &Atlas, clearance: &Clearance, step: &Step, why: &Why) -> String {
    match why {
        Why::OnTheWay { from } => fill("why.on_the_way", &[("places", &few(&worked(atlas, from)))]),
        Why::ClosesTheWay => text("why.closes").to_owned(),
        Why::NeedsOil { glides } => {
            let names: Vec<String> = glides.iter().map(|t| atlas.target(*t).name.clone()).collect();
            fill("why.oil", &[("places", &few(&names))])
        }
        Why::Serves { concern, weight, grade: on } => {
            let concern = &atlas.concerns[concern.0];
            let links = concern.links.iter().filter(|l| matches!(step.what, What::Target(t, _) if t == l.target));
            let source = links.map(|l| l.source.as_str()).next().unwrap_or_default();
            // The grade always shows, also where a source of the practitioner's own does not begin with it.
            let word = grade(*on).split(',').next().unwrap_or_default();
            let source = if source.contains(word) { source.to_owned() } else { format!("{}: {source}", grade(*on)) };
            let values: [(&str, &dyn std::fmt::Display); 3] =
                [("concern", &lower_first(&concern.name)), ("weight", weight), ("source", &full_stop(&source))];
            fill("why.serves", &values)
        }
        Why::OwnWeight(weight) => fill("why.own_weight", &[("weight", weight)]),
        Why::Wanted => text("why.wanted").to_owned(),
        Why::Locked => text("why.locked").to_owned(),
        Why::Tender => text("why.tender").to_owned(),
        // Lighter, but not always featherlight: the reason says it all.
        Why::Softened { rules } if rules.iter().all(|r| r == plan::screening::FELT) => {
            clearance.reason(&Catalogue, atlas, plan::screening::FELT)
        }
        Why::Softened { rules } => {
            let reasons: Vec<String> = rules.iter().map(|r| clearance.reason(&Catalogue, atlas, r)).collect();
            fill("why.softened", &[("reasons", &reasons.join(" "))])
        }
        Why::WayBlocked { skipped } => {
            let names: Vec<String> = skipped.iter().map(|(zone, side)| zone_place(atlas, zone, *side)).collect();
            fill("why.way_blocked", &[("places", &few(&names))])
        }
    }
}

/// Worked targets by name, each once: the step's own side says which side is meant.
fn worked(atlas: &Atlas, from: &[(TargetIx, Side)]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for &(target, _) in from {
        let name = &atlas.target(target).name;
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

/// The first few names; the rest as a number.
fn few(names: &[String]) -> String {
    if names.len() <= NAMED + 1 {
        return listed(names);
    }
    fill("list.and_more", &[("most", &names[..NAMED].join(", ")), ("more", &(names.len() - NAMED))])
}
