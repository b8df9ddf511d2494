//! The optimisation problem as JSON, so that another solver can be asked the same question.
//!
//! The form is described in `docs/instance.md`. Ids are the atlas's own; every number is final.

use std::fmt::Write as _;

use crate::atlas::{Atlas, Kind, TargetIx};
use crate::request::{Request, SideMode};
use crate::solve::build::{fits, frame};
use crate::solve::instance::{Choice, Decides, Instance, Item, Passage, Place};

/// The name and version of the form.
pub const FORMAT: &str = "tragion-instance-1";

/// A JSON string.
fn text(value: &str) -> String {
    let mut out = String::from("\"");
    for c in value.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if (c as u32) < 0x20 => {
                let _ = write!(out, "\\u{:04x}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

fn passage(atlas: &Atlas, passage: Option<&Passage>) -> String {
    passage.map_or("null".to_owned(), |p| {
        format!(
            "{{\"technique\": {}, \"technique_order\": {}, \"tool\": {}, \"tool_order\": {}, \"pressure\": \"{}\", \"seconds\": {}}}",
            text(&atlas.technique(p.technique).id),
            p.technique.0,
            text(&atlas.tool(p.tool).id),
            p.tool.0,
            p.pressure,
            p.seconds
        )
    })
}

fn place(atlas: &Atlas, place: &Place) -> String {
    format!(
        "{{\"zone\": {}, \"side\": \"{}\", \"depth\": {}, \"neck\": {}, \"open\": {}, \"close\": {}}}",
        text(&atlas.zone(place.zone).id),
        place.side,
        place.depth,
        atlas.zone(place.zone).neck,
        passage(atlas, place.open.as_ref()),
        passage(atlas, place.close.as_ref())
    )
}

fn option(atlas: &Atlas, instance: &Instance, target: TargetIx, option: &Choice) -> String {
    let (technique_fit, tool_fit) = fits(atlas, target, option.technique, option.tool);
    let steps = list(option.steps.iter().map(|s| {
        format!(
            "{{\"side\": \"{}\", \"pressure\": \"{}\", \"seconds\": {}, \"gain\": {}}}",
            s.side, s.pressure, s.seconds, s.gain
        )
    }));
    let pair = |zone, side| format!("[{}, \"{side}\"]", text(&atlas.zone(zone).id));
    let ways = list(option.ways.iter().map(|&p| pair(instance.places[p].zone, instance.places[p].side)));
    let counts = list(option.counts.iter().map(|&(zone, side)| pair(zone, side)));
    format!(
        "{{\"technique\": {}, \"technique_order\": {}, \"technique_fit\": {technique_fit}, \"tool\": {}, \"tool_order\": {}, \"tool_fit\": {tool_fit}, \"needs_oil\": {}, \"seconds\": {}, \"gain\": {}, \"steps\": {steps}, \"ways\": {ways}, \"counts\": {counts}}}",
        text(&atlas.technique(option.technique).id),
        option.technique.0,
        text(&atlas.tool(option.tool).id),
        option.tool.0,
        option.needs_oil,
        option.steps.first().map_or(0, |s| s.seconds),
        option.gain(),
    )
}

fn item(atlas: &Atlas, instance: &Instance, item: &Item) -> String {
    let target = atlas.target(item.target);
    let kind = match target.kind {
        Kind::Point => "point",
        Kind::Line => "line",
        Kind::Zone => "zone",
    };
    let lap_s = target.laps.map_or("null".to_owned(), |l| l.lap_s.to_string());
    let sides = match item.decides {
        Decides::Pair => "pair",
        Decides::One(side) => side.word(),
    };
    format!(
        "{{\"target\": {}, \"kind\": \"{kind}\", \"weight\": {}, \"lap_s\": {lap_s}, \"zone\": {}, \"zone_rank\": {}, \"target_rank\": {}, \"sides\": \"{sides}\", \"required\": {}, \"options\": {}}}",
        text(&target.id),
        item.weight,
        text(&atlas.zone(item.zone).id),
        item.zone_rank,
        item.target_rank,
        item.required,
        list(item.options.iter().map(|o| format!("\n    {}", option(atlas, instance, item.target, o))))
    )
}

/// The problem of a request that has none, as JSON with the reason; `why` is a sentence.
pub fn without_problem(atlas: &Atlas, request: &Request, why: &str) -> String {
    written(atlas, &frame(atlas, request), Some(why))
}

/// Writes a fresh problem (nothing done yet) as JSON.
pub fn to_json(atlas: &Atlas, instance: &Instance) -> String {
    written(atlas, instance, None)
}

fn written(atlas: &Atlas, instance: &Instance, impossible: Option<&str>) -> String {
    let impossible = impossible.map_or("null".to_owned(), text);
    let s = &instance.settings;
    let mode = match instance.side_mode {
        SideMode::TargetByTarget => "target_by_target",
        SideMode::SideBySide => "side_by_side",
    };
    let places = list(instance.places.iter().map(|p| format!("\n  {}", place(atlas, p))));
    let items = list(instance.items.iter().map(|i| format!("\n  {}", item(atlas, instance, i))));
    format!(
        "{{\n\"format\": \"{FORMAT}\", \"gain_unit\": \"thousandths\", \"impossible\": {impossible},\n\"minutes\": {}, \"budget_s\": {},\n\"side_mode\": \"{mode}\",\n\"transitions\": {{\"tool_s\": {}, \"side_s\": {}, \"zone_s\": {}}},\n\"full\": {{\"point_s\": {}, \"line_laps\": {}, \"zone_s\": {}}},\n\"targets_per_zone_side\": {},\n\"oil\": {{\"seconds\": {}, \"tool\": {}, \"tool_order\": {}, \"done\": {}}},\n\"places\": {places},\n\"items\": {items}\n}}",
        instance.minutes,
        instance.budget_s,
        s.change_tool_s,
        s.change_side_s,
        s.change_zone_s,
        s.full_point_s,
        s.full_line_laps,
        s.full_zone_s,
        s.targets_per_zone,
        s.oil_s,
        text(&atlas.tool(instance.hands).id),
        instance.hands.0,
        instance.start.oil_done,
    )
}
