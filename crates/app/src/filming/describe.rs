//! The title and the text under a video.

use plan::atlas::{Atlas, Concern, Urgency};
use plan::routine::What;
use publish::chapters::{self, Chapter};
use publish::script::Take;

use super::minds::Cautions;
use super::options::Options;
use super::words::tools;
use crate::catalogue::{fill, full_stop, listed, seconds, sentence_case, text};
use crate::desk::editor::runnable::Runnable;
use crate::desk::routine::checks;
use crate::following::evidence::{self, About, Grade};

/// The most letters of a title, as large video hosts have it (from memory).
const MOST_TITLE: usize = 100;
/// The tools whose trials are told where they are used.
const ROLLERS: [&str; 3] = ["roller", "edge_stone", "edge_metal"];

/// What the text is made of; all in the language of now.
pub struct From<'a> {
    pub atlas: &'a Atlas,
    pub runnable: &'a Runnable,
    pub options: &'a Options,
    pub take: &'a Take,
    pub cautions: &'a Cautions,
    pub chapters: &'a [Chapter],
    pub name: &'a str,
}

/// The title that is suggested: the name, cut where it is too long for one.
pub fn title(name: &str, length: f64, options: &Options) -> String {
    let key = if options.on.model() { "describe.title_model" } else { "describe.title" };
    let length = seconds(minutes(length));
    let title = |name: &str| fill(key, &[("name", &name), ("length", &length)]);
    let over = title(name).chars().count().saturating_sub(MOST_TITLE);
    if over == 0 {
        return title(name);
    }
    let kept = name.chars().count().saturating_sub(over + 1);
    let cut: String = name.chars().take(kept).collect();
    title(&format!("{}…", cut.trim_end()))
}

/// In whole minutes, as seconds.
fn minutes(length: f64) -> u32 {
    ((length / 60.0).round().max(1.0) as u32) * 60
}

/// The whole text: the title on its first line, then what is under the video.
pub fn description(from: &From<'_>) -> String {
    let mut parts = vec![title(from.name, from.take.length, from.options)];
    parts.extend(disclosed(from.options));
    parts.push(what(from));
    parts.push(text("describe.advice").to_owned());
    parts.push(part(text("describe.need"), needs(from)));
    parts.push(part(text("describe.who"), from.cautions.opening.clone()));
    if !from.cautions.places.is_empty() {
        let places = from.cautions.places.iter();
        let lines = places.map(|(place, who)| format!("{}: {}", sentence_case(place), full_stop(who))).collect();
        parts.push(part(text("describe.at"), lines));
    }
    parts.push(part(text("describe.stop"), stop(from.atlas)));
    parts.push(part(text("describe.known"), known(from)));
    if !from.chapters.is_empty() {
        parts.push(format!("{}\n{}", text("describe.chapters"), chapters::list(from.chapters).trim_end()));
    }
    parts.push(text("page.not_reviewed").to_owned());
    parts.join("\n\n") + "\n"
}

fn part(head: &str, lines: Vec<String>) -> String {
    let lines: Vec<String> = lines.into_iter().map(|line| format!("- {line}")).collect();
    format!("{head}\n{}", lines.join("\n"))
}

/// Payments first, each in front of what it is about.
fn disclosed(options: &Options) -> Vec<String> {
    let d = &options.disclosed;
    let one = |words: &String| words.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut lines = Vec::new();
    if !d.paid.trim().is_empty() {
        lines.push(full_stop(&fill("describe.paid", &[("who", &one(&d.paid))])));
    }
    if !d.gifted.trim().is_empty() {
        lines.push(full_stop(&fill("describe.gifted", &[("what", &one(&d.gifted))])));
    }
    // A link ends without a full stop.
    lines.extend(d.own.iter().filter(|w| !w.trim().is_empty()).map(|w| fill("describe.own", &[("what", &one(w))])));
    let paid = d.commission.iter().filter(|w| !w.trim().is_empty());
    lines.extend(paid.map(|w| fill("describe.commission", &[("what", &one(w))])));
    if d.unpaid {
        lines.push(text("describe.unpaid").to_owned());
    }
    if lines.is_empty() { Vec::new() } else { vec![lines.join("\n")] }
}

/// What happens: the movements with their places.
fn what(from: &From<'_>) -> String {
    let mut movements: Vec<(&str, Vec<String>)> = Vec::new();
    for act in &from.take.acts {
        match movements.last_mut().filter(|(movement, _)| *movement == act.movement) {
            Some((_, places)) if places.contains(&act.place) => {}
            Some((_, places)) => places.push(act.place.clone()),
            None => movements.push((&act.movement, vec![act.place.clone()])),
        }
    }
    let lead = fill("describe.what", &[("n", &from.take.acts.len()), ("length", &seconds(minutes(from.take.length)))]);
    part(
        &lead,
        movements
            .into_iter()
            .map(|(movement, places)| format!("{movement}: {}", full_stop(&listed(&places))))
            .collect(),
    )
}

fn needs(from: &From<'_>) -> Vec<String> {
    let (steps, draft) = (from.runnable.steps(), from.runnable.timed(from.atlas));
    let mut needs = Vec::new();
    let tools = tools(from.atlas, steps);
    if !tools.is_empty() {
        needs.push(fill("say.tools", &[("tools", &listed(&tools))]));
    }
    if steps.iter().any(|s| s.what == What::Oil) {
        needs.push(text("say.oil").to_owned());
    }
    needs.extend(checks(from.atlas, &draft, "before").into_iter().map(full_stop));
    needs
}

/// When to stop: what asks for the same is said once, the most urgent first.
fn stop(atlas: &Atlas) -> Vec<String> {
    let mut signs: Vec<_> = atlas.warning_signs.iter().collect();
    signs.sort_by_key(|s| match s.urgency {
        Urgency::Emergency => 0,
        Urgency::SameDay => 1,
        Urgency::Doctor => 2,
    });
    let mut lines: Vec<(&str, Vec<&str>)> = Vec::new();
    for sign in signs {
        match lines.iter_mut().find(|(action, _)| *action == sign.action) {
            Some((_, signs)) => signs.push(&sign.sign),
            None => lines.push((&sign.action, vec![&sign.sign])),
        }
    }
    let mut said = vec![text("say.halt_below").to_owned()];
    said.extend(
        lines.into_iter().map(|(action, signs)| {
            fill("describe.sign", &[("action", &full_stop(action)), ("signs", &signs.join("; "))])
        }),
    );
    said
}

/// What is known of the concerns, with its sources, and what is not.
fn known(from: &From<'_>) -> Vec<String> {
    let mut lines = vec![text("describe.no_trial").to_owned()];
    let concerns = concerns(from);
    for concern in &concerns {
        lines.push(format!("{}: {}", sentence_case(&concern.name), concern.known));
    }
    let eyes = concerns.iter().any(|c| matches!(c.id.as_str(), "puffy_lids" | "tired_eyes"));
    let rolls = from.runnable.steps().iter().any(|s| ROLLERS.contains(&from.atlas.tool(s.tool).id.as_str()));
    for fact in evidence::facts() {
        let fits = match fact.about {
            About::UnderEyes => eyes && fact.grade == Grade::VeryLow,
            About::Face => rolls,
            // It speaks of what was asked at a session.
            About::Levels => false,
        };
        if fits {
            let grade = match fact.grade {
                Grade::VeryLow => text("describe.grade_very_low"),
                Grade::Low => text("describe.grade_low"),
                Grade::Code => "",
            };
            let source = fill("describe.source", &[("source", &fact.source)]);
            lines.push(format!("{} {source} {grade}", fact.says()).trim_end().to_owned());
        }
    }
    lines
}

/// The concerns that were chosen, else those that the name names.
fn concerns<'a>(from: &From<'a>) -> Vec<&'a Concern> {
    let name = from.name.to_lowercase();
    let chosen = &from.options.concerns;
    let fits = |c: &&Concern| {
        if chosen.is_empty() { name.contains(&c.name.to_lowercase()) } else { chosen.contains(&c.id) }
    };
    from.atlas.concerns.iter().filter(fits).collect()
}
