//! `draft --instance`: the optimisation problem itself, so that another solver can be asked the same question.
//!
//! The form is described in `docs/instance.md`.

use plan::atlas::{Atlas, Kind, TargetIx, TechniqueIx, ToolIx, ZoneIx};
use plan::request::{Request, SideMode};
use plan::screening::Clearance;
use plan::solve::instance::{Choice, ChoiceStep, Decides, Instance, Item, Passage};
use serde::Serialize;
use vocab::Side;

use crate::tell;

/// The name of the form.
const FORMAT: &str = "tragion-instance-1";
/// How much a technique or tool counts by its place in the order of preference, in percent.
const TECHNIQUE_FIT: [u32; 3] = [100, 85, 70];
const TOOL_FIT: [u32; 3] = [100, 90, 80];

/// A zone and a side.
type At<'a> = (&'a str, &'static str);

#[derive(Serialize)]
struct Problem<'a> {
    format: &'static str,
    gain_unit: &'static str,
    minutes: u32,
    budget_s: u32,
    side_mode: &'static str,
    transitions: Transitions,
    full: Full,
    targets_per_zone_side: u32,
    oil: Oil<'a>,
    places: Vec<PlaceRow<'a>>,
    items: Vec<ItemRow<'a>>,
    impossible: Option<String>,
}

#[derive(Serialize)]
struct Transitions {
    tool_s: u32,
    side_s: u32,
    zone_s: u32,
}

#[derive(Serialize)]
struct Full {
    point_s: u32,
    line_laps: u32,
    zone_s: u32,
}

#[derive(Serialize)]
struct Oil<'a> {
    seconds: u32,
    tool: &'a str,
    tool_order: usize,
    done: bool,
}

#[derive(Serialize)]
struct PlaceRow<'a> {
    zone: &'a str,
    side: &'static str,
    depth: u32,
    neck: bool,
    open: Option<PassageRow<'a>>,
    close: Option<PassageRow<'a>>,
}

#[derive(Serialize)]
struct PassageRow<'a> {
    technique: &'a str,
    technique_order: usize,
    tool: &'a str,
    tool_order: usize,
    pressure: &'static str,
    seconds: u32,
}

#[derive(Serialize)]
struct ItemRow<'a> {
    target: &'a str,
    kind: &'static str,
    zone: &'a str,
    zone_rank: usize,
    target_rank: i64,
    sides: &'static str,
    required: bool,
    weight: u32,
    lap_s: Option<u32>,
    options: Vec<OptionRow<'a>>,
}

#[derive(Serialize)]
struct OptionRow<'a> {
    technique: &'a str,
    technique_order: usize,
    technique_fit: u32,
    tool: &'a str,
    tool_order: usize,
    tool_fit: u32,
    needs_oil: bool,
    seconds: u32,
    gain: u64,
    steps: Vec<StepRow>,
    ways: Vec<At<'a>>,
    counts: Vec<At<'a>>,
}

#[derive(Serialize)]
struct StepRow {
    side: &'static str,
    pressure: &'static str,
    seconds: u32,
    gain: u64,
}

/// The problem as JSON text; a request that has none says why under `impossible`.
pub fn written(atlas: &Atlas, request: &Request, clearance: &Clearance) -> String {
    let instance = plan::solve::instance(atlas, request, clearance);
    let problem = match &instance {
        Ok(instance) => problem(atlas, request, instance),
        Err(none) => Problem { impossible: Some(tell::no_draft(atlas, clearance, none)), ..frame(atlas, request) },
    };
    let mut out = serde_json::to_string_pretty(&problem).unwrap_or_default();
    out.push('\n');
    out
}

/// What is the same whether or not there is anything to decide.
fn frame<'a>(atlas: &'a Atlas, request: &Request) -> Problem<'a> {
    let s = &atlas.settings;
    let hands = atlas.tool_named(plan::reading::HANDS).unwrap_or(ToolIx(0));
    Problem {
        format: FORMAT,
        gain_unit: "thousandths",
        minutes: request.minutes,
        budget_s: request.minutes * 60,
        side_mode: match request.side_mode {
            SideMode::TargetByTarget => "target_by_target",
            SideMode::SideBySide => "side_by_side",
        },
        transitions: Transitions { tool_s: s.change_tool_s, side_s: s.change_side_s, zone_s: s.change_zone_s },
        full: Full { point_s: s.full_point_s, line_laps: s.full_line_laps, zone_s: s.full_zone_s },
        targets_per_zone_side: s.targets_per_zone,
        oil: Oil { seconds: s.oil_s, tool: &atlas.tool(hands).id, tool_order: hands.0, done: false },
        places: Vec::new(),
        items: Vec::new(),
        impossible: None,
    }
}

fn problem<'a>(atlas: &'a Atlas, request: &Request, instance: &'a Instance) -> Problem<'a> {
    let passage = |p: &'a Passage| PassageRow {
        technique: &atlas.technique(p.technique).id,
        technique_order: p.technique.0,
        tool: &atlas.tool(p.tool).id,
        tool_order: p.tool.0,
        pressure: p.pressure.word(),
        seconds: p.seconds,
    };
    let place = |p: &'a plan::solve::instance::Place| PlaceRow {
        zone: &atlas.zone(p.zone).id,
        side: p.side.word(),
        depth: p.depth,
        neck: atlas.zone(p.zone).neck,
        open: p.open.as_ref().map(passage),
        close: p.close.as_ref().map(passage),
    };
    Problem {
        budget_s: instance.budget_s,
        places: instance.places.iter().map(place).collect(),
        items: instance.items.iter().map(|item| item_row(atlas, request, instance, item)).collect(),
        ..frame(atlas, request)
    }
}

fn item_row<'a>(atlas: &'a Atlas, request: &Request, instance: &'a Instance, item: &'a Item) -> ItemRow<'a> {
    let target = atlas.target(item.target);
    ItemRow {
        target: &target.id,
        kind: match target.kind {
            Kind::Point => "point",
            Kind::Line => "line",
            Kind::Zone => "zone",
        },
        zone: &atlas.zone(item.zone).id,
        zone_rank: item.zone_rank,
        target_rank: item.target_rank,
        sides: match item.decides {
            Decides::Pair => "pair",
            Decides::One(side) => side.word(),
        },
        required: item.required,
        weight: weight(atlas, request, item.target),
        lap_s: target.laps.map(|l| l.lap_s),
        options: item.options.iter().map(|choice| option_row(atlas, instance, item.target, choice)).collect(),
    }
}

fn option_row<'a>(atlas: &'a Atlas, instance: &'a Instance, target: TargetIx, choice: &'a Choice) -> OptionRow<'a> {
    let step =
        |s: &ChoiceStep| StepRow { side: s.side.word(), pressure: s.pressure.word(), seconds: s.seconds, gain: s.gain };
    let at = |zone: ZoneIx, side: Side| (atlas.zone(zone).id.as_str(), side.word());
    OptionRow {
        technique: &atlas.technique(choice.technique).id,
        technique_order: choice.technique.0,
        technique_fit: technique_fit(atlas, target, choice.technique),
        tool: &atlas.tool(choice.tool).id,
        tool_order: choice.tool.0,
        tool_fit: tool_fit(atlas, choice.technique, choice.tool),
        needs_oil: choice.needs_oil,
        seconds: choice.steps.first().map_or(0, |s| s.seconds),
        gain: choice.gain(),
        steps: choice.steps.iter().map(step).collect(),
        ways: choice.ways.iter().map(|&w| at(instance.places[w].zone, instance.places[w].side)).collect(),
        counts: choice.counts.iter().map(|&(zone, side)| at(zone, side)).collect(),
    }
}

fn technique_fit(atlas: &Atlas, target: TargetIx, technique: TechniqueIx) -> u32 {
    let place = atlas.target(target).techniques.iter().position(|t| *t == technique);
    place.and_then(|p| TECHNIQUE_FIT.get(p)).copied().unwrap_or(0)
}

fn tool_fit(atlas: &Atlas, technique: TechniqueIx, tool: ToolIx) -> u32 {
    let place = atlas.technique(technique).tools.iter().position(|t| *t == tool);
    place.and_then(|p| TOOL_FIT.get(p)).copied().unwrap_or(0)
}

/// The practitioner's own weight, else the sum of priority times link weight over the asked concerns.
fn weight(atlas: &Atlas, request: &Request, target: TargetIx) -> u32 {
    if let Some((_, own)) = request.weights.iter().find(|(t, _)| *t == target) {
        return *own;
    }
    let links = request.concerns.iter().flat_map(|asked| {
        let links = atlas.concerns[asked.concern.0].links.iter();
        links.filter(|l| l.target == target).map(|l| asked.priority * l.weight)
    });
    links.sum()
}
