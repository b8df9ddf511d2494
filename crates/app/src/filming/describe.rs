//! The title and the text under a video.

use plan::atlas::{Atlas, Concern, Urgency};
use plan::routine::What;
use publish::chapters::{self, Chapter};
use publish::script::Take;
use vocab::Class;

use super::minds::Cautions;
use super::options::Options;
use super::words::tools;
use crate::catalogue::{fill, full_stop, listed, lower_first, seconds, sentence_case, text};
use crate::desk::editor::runnable::Runnable;
use crate::desk::routine::checks;
use crate::following::evidence::{self, About, Grade};

/// The most letters of a title, as large video hosts have it (from memory).
const MOST_TITLE: usize = 100;
/// The most characters of a description that they take.
pub const MOST: usize = 5000;
/// The tools whose trials are told where they are used.
const ROLLERS: [&str; 3] = ["roller", "edge_stone", "edge_metal"];

/// What the text is made of; all in the language of now.
pub struct From<'a> {
    pub atlas: &'a Atlas,
    pub runnable: &'a Runnable,
    pub options: &'a Options,
    pub take: &'a Take,
    pub cautions: &'a Cautions,
    /// All of them, and those of the parts alone.
    pub chapters: [&'a [Chapter]; 2],
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

/// How much of it stands there. What a host has no room for is left off, one after another in this order, cautions last, and
/// that is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd)]
pub enum Kept {
    /// All of it.
    All,
    /// Without the places of each movement; the chapters name them.
    NoMovements,
    /// Without the preparations; the video says them.
    NoPreparations,
    /// Chapters for the parts alone.
    Parts,
    /// Without chapters.
    NoChapters,
    /// Without the list of single places; the video says it at each.
    NoPlaces,
    /// Without the signs for a doctor's visit soon.
    Urgent,
}

impl Kept {
    /// From all of it to the least.
    pub const ORDER: [Kept; 7] = [
        Kept::All,
        Kept::NoMovements,
        Kept::NoPreparations,
        Kept::Parts,
        Kept::NoChapters,
        Kept::NoPlaces,
        Kept::Urgent,
    ];
}

/// The whole text: the title on its first line, then what is under the video. Of several lengths the first that a host takes; the last if none.
pub fn description(from: &From<'_>) -> (String, Kept) {
    let fits = |kept: &Kept| written(from, *kept).chars().count() <= MOST;
    let kept = Kept::ORDER.into_iter().find(fits).unwrap_or(Kept::Urgent);
    (written(from, kept), kept)
}

fn written(from: &From<'_>, kept: Kept) -> String {
    let mut parts = vec![title(from.name, from.take.length, from.options)];
    parts.extend(disclosed(from.options));
    parts.push(what(from, kept < Kept::NoMovements));
    parts.push(text("describe.advice").to_owned());
    let needs = needs(from, kept < Kept::NoPreparations);
    if !needs.is_empty() {
        parts.push(part(text("describe.need"), needs));
    }
    parts.push(part(text("describe.who"), who(from)));
    if kept >= Kept::NoPlaces {
        parts.push(text("describe.at_said").to_owned());
    } else if !from.cautions.named.places.is_empty() {
        let places = from.cautions.named.places.iter();
        let lines = places
            .map(|(place, who)| format!("{}: {}.", sentence_case(place), who.join(text("describe.between"))))
            .collect();
        parts.push(part(text("describe.at"), lines));
    }
    parts.push(part(text("describe.stop"), stop(from.atlas, kept < Kept::Urgent)));
    parts.push(part(text("describe.known"), known(from)));
    let chapters = from.chapters[usize::from(kept >= Kept::Parts)];
    if !chapters.is_empty() && kept < Kept::NoChapters {
        parts.push(format!("{}\n{}", text("describe.chapters"), chapters::list(chapters).trim_end()));
    }
    parts.push(text("page.not_reviewed").to_owned());
    parts.join("\n\n") + "\n"
}

/// Who leaves it out, by the names of conditions.
fn who(from: &From<'_>) -> Vec<String> {
    let named = &from.cautions.named;
    let first = named.first.iter().map(|(class, names)| {
        let key = match class {
            Class::Stop => "describe.all_stop",
            Class::LeaveOut => "describe.all_out",
            Class::AskFirst => "describe.all_ask",
            Class::Gently | Class::Go => "describe.all_gently",
        };
        fill(key, &[("names", &names.join(text("describe.between")))])
    });
    let skin = named.skin.iter().map(|(class, names)| {
        let key = match class {
            Class::Stop | Class::LeaveOut => "describe.skin_out",
            Class::AskFirst => "describe.skin_ask",
            Class::Gently | Class::Go => "describe.skin_gently",
        };
        fill(key, &[("names", &names.join(text("describe.between")))])
    });
    first.chain(skin).collect()
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
fn what(from: &From<'_>, places: bool) -> String {
    let mut movements: Vec<(&str, Vec<String>)> = Vec::new();
    for act in &from.take.acts {
        match movements.last_mut().filter(|(movement, _)| *movement == act.movement) {
            Some((_, places)) if places.contains(&act.place) => {}
            Some((_, places)) => places.push(act.place.clone()),
            None => movements.push((&act.movement, vec![act.place.clone()])),
        }
    }
    let key = if places { "describe.what_in_order" } else { "describe.what" };
    let lead = fill(key, &[("n", &from.take.acts.len()), ("length", &seconds(minutes(from.take.length)))]);
    if !places {
        return lead;
    }
    let line = |(movement, places): (&str, Vec<String>)| format!("{movement}: {}", full_stop(&listed(&places)));
    part(&lead, movements.into_iter().map(line).collect())
}

fn needs(from: &From<'_>, preparations: bool) -> Vec<String> {
    let (steps, draft) = (from.runnable.steps(), from.runnable.timed(from.atlas));
    let mut needs = Vec::new();
    let tools = tools(from.atlas, steps);
    if !tools.is_empty() {
        needs.push(fill("say.tools", &[("tools", &listed(&tools))]));
    }
    if steps.iter().any(|s| s.what == What::Oil) {
        needs.push(text("say.oil").to_owned());
    }
    if preparations {
        needs.extend(checks(from.atlas, &draft, "before").into_iter().map(full_stop));
    }
    needs
}

/// When to stop: the signs for a clinician by how soon, the most urgent first.
fn stop(atlas: &Atlas, soon: bool) -> Vec<String> {
    let mut said = vec![text("say.halt_below").to_owned()];
    for (urgency, key) in
        [(Urgency::Emergency, "describe.now"), (Urgency::SameDay, "describe.today"), (Urgency::Doctor, "describe.soon")]
    {
        let signs: Vec<String> =
            atlas.warning_signs.iter().filter(|s| s.urgency == urgency).map(|s| lower_first(&s.sign)).collect();
        if !signs.is_empty() && (soon || urgency != Urgency::Doctor) {
            said.push(fill(key, &[("signs", &signs.join(text("describe.between")))]));
        }
    }
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
