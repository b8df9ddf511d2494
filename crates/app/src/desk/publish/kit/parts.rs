//! The parts of a film's page that show what was made: script, shots, captions, chapters, description.

use maud::{Markup, html};
use publish::captions::Cue;
use publish::claims::Claim;
use publish::script::Line;

use super::known::{Known, Made, below};
use crate::catalogue::{clock, fill, full_stop, listed, sentence_case, text};
use crate::desk::publish::found::{self, More};
use crate::filming::Kit;

/// Seconds of a film as on a clock.
pub fn at(seconds: f64) -> String {
    clock(seconds.max(0.0) as u32)
}

/// What everybody may not do, and is therefore not in it.
pub fn left_out(made: &Made) -> Markup {
    html! {
        section.part aria-labelledby="left-out-title" {
            h2 #left-out-title { (text("film.left_out")) }
            @if made.kit.left_out.is_empty() { p { (text("film.nothing_left_out")) } }
            @else { p.gently { (fill("film.left_out_places", &[("places", &listed(&made.kit.left_out))])) } }
        }
    }
}

/// The lines of a script, with a head where an act begins: number (none: before and after) and its lines.
pub fn by_act(kit: &Kit) -> Vec<(Option<usize>, Vec<&Line>)> {
    let mut groups: Vec<(Option<usize>, Vec<&Line>)> = Vec::new();
    for line in &kit.script {
        match groups.last_mut() {
            Some((act, lines)) if *act == line.act => lines.push(line),
            _ => groups.push((line.act, vec![line])),
        }
    }
    groups
}

/// The name of an act: the place and its side.
pub fn act_name(kit: &Kit, act: Option<usize>, first: bool) -> String {
    match act.and_then(|a| kit.names().get(a)) {
        Some(name) => sentence_case(name),
        None if first => text("film.opening").to_owned(),
        None => text("film.closing").to_owned(),
    }
}

/// What is said, when.
pub fn script(known: &Known, made: &Made) -> Markup {
    let kit = &made.kit;
    html! {
        section.part.film-script aria-labelledby="script-title" {
            h2 #script-title { (text("film.script")) }
            p.hint { (fill("film.script_hint", &[("n", &kit.acts.len()), ("length", &at(kit.length)), ("routine", &clock(kit.routine))])) }
            @if !kit.told.is_empty() {
                div.gently { p { (text("film.told")) } ul { @for told in &kit.told { li { (told) } } } }
            }
            details.film-whole { summary { (text("film.script_whole")) }
                ol.film-lines lang=(known.language().tag()) {
                    @for (i, (act, lines)) in by_act(kit).iter().enumerate() {
                        li {
                            h3 { span.film-at { (at(lines.first().map_or(0.0, |l| l.from))) } " " (act_name(kit, *act, i == 0)) }
                            @for line in lines { p { (line.says) } }
                        }
                    }
                }
            }
        }
    }
}

/// What is filmed, from where, with a still of each step.
pub fn shots(known: &Known, made: &Made) -> Markup {
    let (kit, mirrored) = (&made.kit, known.body.options.on.mirrored());
    html! {
        section.part.film-shots aria-labelledby="shots-title" {
            h2 #shots-title { (text("film.shots")) }
            p.hint { (if mirrored { text("film.shots_mirrored") } else { text("film.shots_camera") }) }
            ol.shots lang=(known.language().tag()) {
                @for shot in &kit.shots {
                    li {
                        div.shot-words {
                            h3 { span.film-at { (at(shot.from)) "–" (at(shot.to)) } " " (sentence_case(&shot.angle)) }
                            p { (shot.steps.join("; ")) }
                            @let screen = if mirrored { &shot.mirrored } else { &shot.screen };
                            @if !screen.is_empty() { p { strong { (sentence_case(screen)) } } }
                            p.hint { @if !shot.hand.is_empty() { (full_stop(&sentence_case(&shot.hand))) " " } (full_stop(&sentence_case(&shot.shows.join("; ")))) }
                        }
                        @if !shot.acts.is_empty() {
                            ul.stills { @for act in &shot.acts { li { (still(known, kit, *act)) } } }
                        }
                    }
                }
            }
        }
    }
}

/// A small still that leads to the large one; it takes the colours of the page.
fn still(known: &Known, kit: &Kit, act: usize) -> Markup {
    let address = |light: &str, ending: &str| format!("{}/stills/wide-{light}/{}.{ending}", known.at(), act + 1);
    let name = kit.names().get(act).map_or("", String::as_str);
    html! {
        a href=(address("day", "png")) {
            picture {
                source media="(prefers-color-scheme: dark)" srcset=(address("night", "svg"));
                img src=(address("day", "svg")) width="192" height="108" loading="lazy" alt=(fill("film.still_alt", &[("n", &(act + 1)), ("name", &name)]));
            }
        }
    }
}

/// The captions, as they will stand under the picture.
pub fn captions(known: &Known, made: &Made) -> Markup {
    let cues = &made.kit.cues;
    let row = |cue: &Cue| html! { li { span.film-at { (at(cue.from)) } span { @for (i, line) in cue.lines.iter().enumerate() { @if i > 0 { br; } (line) } } } };
    html! {
        section.part.film-captions aria-labelledby="captions-title" {
            h2 #captions-title { (text("film.captions")) }
            p.hint { (fill("film.captions_hint", &[("n", &cues.len())])) }
            ol.cues lang=(known.language().tag()) { @for cue in cues.iter().take(3) { (row(cue)) } }
            @if cues.len() > 3 {
                details { summary { (fill("film.captions_more", &[("n", &(cues.len() - 3))])) }
                    ol.cues lang=(known.language().tag()) { @for cue in cues.iter().skip(3) { (row(cue)) } }
                }
            }
        }
    }
}

/// A text to be taken over: a field that can be selected, and a button that copies it where a script runs.
pub fn copied(id: &str, label: &'static str, value: &str, language: &str) -> Markup {
    let rows = value.lines().map(|l| 1 + l.chars().count() / 80).sum::<usize>().clamp(1, 18);
    html! {
        div.field.copied {
            label for=(id) { (text(label)) }
            textarea #(id) rows=(rows) readonly lang=(language) { "\n" (value) }
            button.quiet type="button" data-copy=(id) data-done=(text("film.copied")) hidden { (text("film.copy")) }
        }
    }
}

/// Chapters, title, description and own words, each to be copied, each checked.
pub fn words(known: &Known, made: &Made) -> Markup {
    let (kit, tag) = (&made.kit, known.language().tag());
    let title = known.title(kit);
    let checked = Checked::new(known, kit);
    html! {
        section.part.film-words aria-labelledby="chapters-title" {
            h2 #chapters-title { (text("film.chapters")) }
            @if kit.chapters.is_empty() { p { (text("film.no_chapters")) } }
            @else { (copied("chapters", "film.chapters_label", chapter_list(kit).trim_end(), tag)) }
        }
        section.part.film-words aria-labelledby="description-title" {
            h2 #description-title { (text("film.description")) }
            (copied("video-title", "film.title", title, tag))
            (copied("video-description", "film.description_label", below(&kit.description).trim_end(), tag))
            @if !known.body.words.is_empty() { (copied("video-words", "film.words", &known.body.words, tag)) }
        }
        section.part.film-claims #claims aria-labelledby="claims-title" {
            h2 #claims-title { (text("film.claims")) }
            (found::notice())
            @if tag != "en" { p.gently { (text("film.claims_english")) } }
            @for broken in &known.standing.broken { p.gently { (broken) } }
            @for (name, label, claims) in &checked.0 {
                h3 { (text(label)) ": " (found::summary(claims)) }
                @if !claims.is_empty() { (found::found(claims, &known.standing, &More { prefix: name, ..More::default() })) }
            }
            p.hint { (text("film.claims_hint")) " " a href={ (known.at()) "/change" } { (text("film.change")) } }
        }
    }
}

fn chapter_list(kit: &Kit) -> String {
    publish::chapters::list(&kit.chapters)
}

/// What the claims check says of name, title, description and own words.
struct Checked(Vec<(&'static str, &'static str, Vec<Claim>)>);

impl Checked {
    fn new(known: &Known, kit: &Kit) -> Checked {
        let countries = known.standing.codes();
        let check = |said: &str| match publish::timed::read("text.txt", said) {
            Ok(spoken) => publish::claims::check(&known.standing.rules, &spoken, &countries),
            // Nothing to read is nothing to find.
            Err(_) => Vec::new(),
        };
        let mut all = vec![
            ("title", "film.title", check(known.title(kit))),
            ("description", "film.description_label", check(below(&kit.description))),
        ];
        // The name is said in the film and stands in its script: it is checked by itself where the title does not hold it whole.
        if !known.title(kit).contains(known.film.name.as_str()) {
            all.insert(0, ("name", "film.name", check(&known.film.name)));
        }
        if !known.body.words.is_empty() {
            all.push(("words", "film.words", check(&known.body.words)));
        }
        Checked(all)
    }
}

/// Every file.
pub fn downloads(known: &Known, made: &Made) -> Markup {
    html! {
        section.part.film-files aria-labelledby="files-title" {
            h2 #files-title { (text("film.files")) }
            ul.files {
                @for (name, label) in super::files::FILES {
                    li { a href={ (known.at()) "/files/" (name) } download { (name) } " " span.hint { (text(label)) } }
                }
            }
            p.hint { (fill("film.files_stills", &[("n", &made.kit.acts.len())])) }
        }
    }
}
