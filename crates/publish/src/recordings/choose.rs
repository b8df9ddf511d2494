//! What was meant: of the places that a wording may mean the one that what the hand does fits, and its technique, tool, pressure, seconds.

use plan::atlas::{Atlas, Kind as Sort, TargetIx, TechniqueIx, ToolIx};
use plan::reading::{HANDS, infer_movements};
use plan::routine::{Step, What};
use vocab::{Pressure, Side, Sides};

use super::fold::{Open, bare, heard, workable};
use super::lexicon::Lexicon;
use super::stream::Stream;
use super::{HeardStep, Sure};

/// Bounds of a step whose seconds nobody told.
const UNTOLD_S: (f64, f64) = (10.0, 30.0);

/// The steps, with their movements.
pub fn steps(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, open: Vec<Open>) -> Vec<HeardStep> {
    let times: Vec<Option<f64>> = open.iter().map(|s| s.time).collect();
    let mut out: Vec<HeardStep> = Vec::new();
    for (i, step) in open.iter().enumerate() {
        let next = times[i + 1..].iter().flatten().next().copied();
        let Some(heard) = one(atlas, lexicon, stream, step, next) else { continue };
        // What is told twice in a row is one step.
        match out.last_mut() {
            Some(last) if last.step.what == heard.step.what && last.step.side == heard.step.side => {
                if heard.sure.seconds > last.sure.seconds {
                    (last.step.seconds, last.sure.seconds) = (heard.step.seconds, heard.sure.seconds);
                }
            }
            _ => out.push(heard),
        }
    }
    let mut steps: Vec<Step> = out.iter().map(|s| s.step.clone()).collect();
    let said = vec![false; steps.len()];
    infer_movements(atlas, &mut steps, &said);
    for (heard, step) in out.iter_mut().zip(steps) {
        heard.step = step;
    }
    out
}

fn one(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, open: &Open, next: Option<f64>) -> Option<HeardStep> {
    let points = |t: &TargetIx| suits(atlas, lexicon, open, *t);
    let rank = |t: &TargetIx| open.targets.iter().position(|o| o == t).unwrap_or(usize::MAX);
    let mut order = open.targets.clone();
    order.sort_by_key(|t| (std::cmp::Reverse(points(t)), rank(t)));
    let target = area(atlas, lexicon, open, run(atlas, lexicon, stream, open, *order.first()?));
    let also: Vec<TargetIx> = order[1..].to_vec();
    let row = atlas.target(target);
    let tool = open.tool.as_deref().and_then(|t| atlas.tool_named(t));
    let (technique, technique_sure) = technique(atlas, lexicon, open, target, tool)?;
    let tools = &atlas.technique(technique).tools;
    let hands = atlas.tool_named(HANDS)?;
    let tool =
        tool.filter(|t| tools.contains(t)).or(tools.contains(&hands).then_some(hands)).or(tools.first().copied())?;
    let side = match row.sides {
        Sides::Midline => Side::Midline,
        Sides::Lateral => open.side.filter(|s| *s != Side::Midline).unwrap_or(Side::Both),
    };
    let pressure = pressure(atlas, open, target, technique);
    let (seconds, seconds_sure) = seconds(atlas, open, target, technique, next);
    let close = also.iter().filter(|t| points(t) + 1 >= points(&target)).count();
    let target_sure = (0.55 + 0.06 * open.weight.min(7) as f64 - 0.1 * close.min(3) as f64).clamp(0.2, 0.97);
    let sure = Sure { target: target_sure, side: open.side_sure, technique: technique_sure, seconds: seconds_sure };
    let whole = (0.5 * sure.target + 0.3 * sure.side + 0.1 * sure.technique + 0.1 * sure.seconds)
        * if open.weak() { 0.8 } else { 1.0 };
    let words = stream.said(open.said.0, open.said.1);
    let step = bare(atlas, What::Target(target, technique), side, tool, pressure, seconds);
    Some(heard(step, open, words, sure, (whole * 100.0).round() / 100.0, also))
}

/// "circles down the side of the nose": what no line takes is done over its zone.
fn area(atlas: &Atlas, lexicon: &Lexicon, open: &Open, target: TargetIx) -> TargetIx {
    let row = atlas.target(target);
    let names = heard_techniques(lexicon, open);
    let fits = |t: TargetIx| names.iter().any(|n| atlas.technique_named(n).is_some_and(|n| takes(atlas, t, n)));
    let moves = open.actions.iter().any(|a| matches!(a.as_str(), "circle" | "knead" | "to_and_fro"));
    if row.kind != Sort::Line || !moves || names.is_empty() || fits(target) {
        return target;
    }
    atlas
        .target_named(&atlas.zone(row.zone).id)
        .filter(|z| atlas.target(*z).kind == Sort::Zone && fits(*z))
        .unwrap_or(target)
}

/// The line that a zone stands for, where it is stroked in a direction.
fn run(atlas: &Atlas, lexicon: &Lexicon, stream: &Stream, open: &Open, target: TargetIx) -> TargetIx {
    let id = &atlas.target(target).id;
    let strokes = open.actions.iter().any(|a| matches!(a.as_str(), "stroke" | "scrape" | "roll"));
    // Some lines are pressed, pinched or circled along as well.
    let walked = matches!(
        id.as_str(),
        "upper_lid" | "ear" | "nape" | "behind_ear" | "nose_side" | "scalp_front" | "shoulder_top" | "shoulder_crest"
    );
    let moves = open.actions.iter().any(|a| matches!(a.as_str(), "circle" | "knead" | "to_and_fro" | "tap"));
    if (moves || !strokes) && (!walked || open.actions.is_empty()) {
        return target;
    }
    let row = |(from, to): (usize, usize)| stream.words.get(from..=to).unwrap_or_default();
    let words = row(open.said).iter().chain(open.first_said.map(row).unwrap_or_default());
    // "behind the strap muscle" is where the neck is stroked, no line.
    if matches!(id.as_str(), "neck_side" | "nape")
        && words.clone().any(|w| matches!(w.raw.as_str(), "muscle" | "strap"))
    {
        return target;
    }
    let told = |said: &[String]| words.clone().any(|w| said.contains(&w.raw));
    let found = lexicon.runs.iter().find(|r| {
        r.zone == *id && told(&r.said) && (id != "shoulder_top" || strokes == (r.target == "shoulder_crest"))
    });
    found.and_then(|r| atlas.target_named(&r.target)).unwrap_or(target)
}

/// How well a target suits what the hand does; larger is better.
fn suits(atlas: &Atlas, lexicon: &Lexicon, open: &Open, target: TargetIx) -> i32 {
    let row = atlas.target(target);
    let has = |all: &[&str]| open.actions.iter().any(|a| all.contains(&a.as_str()));
    let tool = open.tool.as_deref().is_some_and(|t| t != HANDS);
    let strokes = has(&["stroke", "scrape", "roll"]) || tool && !has(&["hold", "press", "circle"]);
    let finger = open.finger && has(&["palm"]);
    let rests = has(&["hold", "press", "release"]) || finger;
    let moves = has(&["circle", "knead", "pinch", "to_and_fro", "tap", "work"]) || has(&["palm"]) && !finger;
    let mut points = match row.kind {
        Sort::Line => {
            if strokes {
                4
            } else if open.actions.is_empty() {
                0
            } else {
                -3
            }
        }
        Sort::Point => {
            i32::from(rests && !strokes) * 2 + i32::from(open.finger && !has(&["pinch"])) * 3
                - i32::from(strokes && !rests) * 3
        }
        Sort::Zone => {
            // A muscle is pressed and let go, a point is held.
            let muscle = has(&["press"]) && has(&["release"]) && !open.finger && row.id == "jaw_muscle";
            i32::from(moves) * 2 + i32::from(strokes) + i32::from(muscle) * 3 - i32::from(open.finger && rests)
        }
    };
    let names = heard_techniques(lexicon, open);
    let taken = names.iter().position(|t| atlas.technique_named(t).is_some_and(|t| takes(atlas, target, t)));
    points += taken.map_or(0, |n| if n == 0 { 3 } else { 2 });
    if !workable(atlas, target) {
        points -= 8;
    }
    points
}

/// The names of techniques that were heard, the likeliest first.
fn heard_techniques<'a>(lexicon: &'a Lexicon, open: &Open) -> Vec<&'a str> {
    let has = |a: &str| open.actions.iter().any(|b| b == a);
    let mut found: Vec<&str> = Vec::new();
    let tool = open.tool.as_deref();
    if has("stroke") || has("scrape") || has("roll") {
        match tool {
            Some("roller") => found.push("roll"),
            Some("edge_stone" | "edge_metal") => found.push("edge_stroke"),
            _ => {}
        }
    }
    if has("press") && has("release") {
        found.push("press_release");
    } else if has("press") && has("hold") {
        found.push("hold");
    }
    if has("palm") && open.finger && !has("release") {
        found.push("hold");
    }
    // What helps another action is not the action: a hand rests, then circles.
    let helps = |a: &str| matches!(a, "palm" | "hold" | "press" | "roll" | "release");
    for plain in [true, false] {
        for action in open.actions.iter().filter(|a| helps(a) != plain) {
            found.extend(lexicon.techniques.get(action).into_iter().flatten().map(String::as_str));
        }
    }
    found
}

/// Whether a target takes a technique, its opening and closing included.
fn takes(atlas: &Atlas, target: TargetIx, technique: TechniqueIx) -> bool {
    let row = atlas.target(target);
    let zone = atlas.zone(row.zone);
    row.techniques.contains(&technique)
        || row.kind == Sort::Zone && (zone.open_technique == technique || zone.close_technique == technique)
}

fn technique(
    atlas: &Atlas,
    lexicon: &Lexicon,
    open: &Open,
    target: TargetIx,
    tool: Option<ToolIx>,
) -> Option<(TechniqueIx, f64)> {
    let row = atlas.target(target);
    let names = heard_techniques(lexicon, open);
    for (n, name) in names.iter().enumerate() {
        if let Some(technique) = atlas.technique_named(name).filter(|t| takes(atlas, target, *t)) {
            return Some((technique, if n == 0 { 0.9 } else { 0.75 }));
        }
    }
    // Something else was heard than the place takes: it is kept for the check to say so, where the word is plain.
    let with_tool = tool.and_then(|tool| {
        row.techniques
            .iter()
            .copied()
            .find(|t| atlas.technique(*t).tools.contains(&tool) && atlas.tool(tool).id != HANDS)
    });
    let hands = |t: &TechniqueIx| atlas.technique(*t).tools.iter().any(|tool| atlas.tool(*tool).id == HANDS);
    let usual = with_tool.or(row.techniques.iter().copied().find(hands)).or(row.techniques.first().copied());
    let zone = atlas.zone(row.zone);
    usual.or(Some(zone.open_technique)).map(|t| (t, if with_tool.is_some() { 0.6 } else { 0.35 }))
}

fn pressure(atlas: &Atlas, open: &Open, target: TargetIx, technique: TechniqueIx) -> Pressure {
    // What was told stands, for the check to say where it is too much; what was not told is the lightest that is done so.
    let least = atlas.technique(technique).pressures.iter().copied().min();
    open.pressure.or(least).unwrap_or(atlas.target(target).pressure)
}

fn seconds(atlas: &Atlas, open: &Open, target: TargetIx, technique: TechniqueIx, next: Option<f64>) -> (u32, f64) {
    let row = atlas.target(target);
    let laps = row.laps.filter(|l| l.lap_s > 0);
    if let Some(length) = open.length {
        let said = match (length.times, laps) {
            (Some(times), Some(laps)) => f64::from(times.min(laps.most) * laps.lap_s),
            _ => length.seconds,
        };
        return (said.round().clamp(1.0, 600.0) as u32, length.sure);
    }
    let (least, most) = atlas.technique(technique).seconds;
    let left = open.time.zip(next).map(|(a, b)| b - a).filter(|s| *s > 0.0);
    let plain = left.unwrap_or(f64::from(least)).clamp(UNTOLD_S.0, UNTOLD_S.1);
    let sure = if left.is_some() { 0.35 } else { 0.2 };
    match laps {
        Some(laps) => {
            let n = (plain / f64::from(laps.lap_s)).round().clamp(1.0, f64::from(laps.most.max(1)));
            (n as u32 * laps.lap_s, sure)
        }
        None => {
            let fives = (plain / 5.0).round() * 5.0;
            (fives.clamp(f64::from(least), f64::from(most.max(least))) as u32, sure)
        }
    }
}
