//! The page of a take-home: one file that needs nothing else. Without its script it is a complete guide; with it, it runs.
//!
//! Everything lies within: style, script, type, drawing. A policy in its head forbids every request, and names style and scripts by their
//! sums, so that nothing else runs in it either.

use std::sync::OnceLock;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::Given;
use super::page_parts as parts;
use super::page_script as script;
use crate::catalogue::{fill, in_language, seconds, text};
use crate::desk::keep::date_in_words;

/// By which a page of ours is known again.
pub const CREATOR: &str = "Tragion take-home";

/// What a page says of who it is for, and what it helps with.
#[derive(Clone, Debug, Default)]
pub struct More {
    /// A first name, or nothing at all.
    pub who: Option<String>,
    /// Whether it helps to take the day's photograph.
    pub photographs: bool,
    /// The hour of the first photograph, where one is known: `21:30`.
    pub hour: Option<String>,
}

const STYLES: [&str; 3] = [sketch::CSS, include_str!("../../assets/home.css"), include_str!("../../assets/player.css")];
const LATIN: &[u8] = include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2");
const LATIN_EXT: &[u8] = include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-ext-wght-normal.woff2");

/// The whole file.
pub fn page(given: &Given<'_>, more: &More) -> String {
    in_language(given.language, || whole(given, more).into_string())
}

fn whole(given: &Given<'_>, more: &More) -> Markup {
    let title = fill("home.title", &[("routine", &given.name)]);
    html! {
        (DOCTYPE)
        html lang=(given.language.tag()) {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy());
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="referrer" content="no-referrer";
                meta name="robots" content="noindex";
                meta name="generator" content=(CREATOR);
                meta name="format-detection" content="telephone=no";
                title { (title) }
                style { (PreEscaped(style())) }
            }
            body {
                div #page { (body(given, more)) }
                (script::player(given))
                (script::data(given))
                @for script in script::SCRIPTS { script { (PreEscaped(script)) } }
            }
        }
    }
}

fn body(given: &Given<'_>, more: &More) -> Markup {
    let draft = given.draft();
    let rows = crate::desk::steps::rows(given.atlas, given.clearance, &draft);
    html! {
        a.skip href="#routine" { (text("home.skip")) }
        header.top {
            div {
                h1 { (given.name) }
                p.lead {
                    @if let Some(who) = &more.who { (fill("home.for_name", &[("name", who)])) " " }
                    (fill("home.sum", &[("steps", &draft.steps.len()), ("length", &seconds(draft.total_s))])) " "
                    (fill("home.made", &[("day", &date_in_words(given.day))]))
                }
                @if let Some(until) = given.until {
                    p.until { strong { (fill("home.after_day", &[("day", &date_in_words(until))])) } }
                }
                (script::begin())
                noscript { p.hint { (text("home.no_script")) } }
            }
        }
        main {
            nav.within aria-label=(text("home.within")) {
                @for (id, label) in [
                    ("cautions", text("home.cautions")), ("each-time", text("home.each_time")), ("stop", text("home.stop")), ("routine", text("home.routine")), ("after", text("home.after")),
                ] { a href={ "#" (id) } { (label) } }
                a.with-script href="#notes" hidden { (text("home.notes")) }
            }
            (parts::cautions(given, &draft))
            (parts::each_time(given))
            (parts::stop(given.atlas))
            (parts::left_out(given))
            (parts::product(given))
            (parts::checklist(given.atlas, &draft, "before", text("home.before")))
            (parts::routine(given, &draft, &rows))
            (parts::checklist(given.atlas, &draft, "after", text("home.after")))
            (script::notes(more))
        }
        footer.foot {
            p.review { (text("page.not_reviewed")) }
            p { (text("page.no_medicine")) }
            p { (text("home.alone")) }
            p.code { (given.code) }
        }
    }
}

/// Everything that says how it looks, the type within: the same for every page, put together once.
fn style() -> &'static str {
    static STYLE: OnceLock<String> = OnceLock::new();
    STYLE.get_or_init(made_style)
}

fn made_style() -> String {
    let mut style = String::new();
    for (bytes, range) in [
        (
            LATIN_EXT,
            "U+0100-02BA,U+02BD-02C5,U+02C7-02CC,U+02CE-02D7,U+02DD-02FF,U+1D00-1DBF,U+1E00-1E9F,U+1EF2-1EFF,U+2020,U+20A0-20AB,U+20AD-20C0,U+2113,U+2C60-2C7F,U+A720-A7FF",
        ),
        (
            LATIN,
            "U+0000-00FF,U+0131,U+0152-0153,U+02BB-02BC,U+02C6,U+02DA,U+02DC,U+0304,U+0308,U+0329,U+2000-206F,U+20AC,U+2122,U+2191,U+2193,U+2212,U+2215,U+FEFF,U+FFFD",
        ),
    ] {
        style.push_str(
            "@font-face{font-family:\"Next\";font-weight:200 800;font-display:swap;src:url(data:font/woff2;base64,",
        );
        style.push_str(&STANDARD.encode(bytes));
        style.push_str(") format(\"woff2\");unicode-range:");
        style.push_str(range);
        style.push('}');
    }
    for part in STYLES {
        style.push_str(part);
    }
    style
}

/// Nothing from anywhere; these scripts and this style alone; pictures and files of the page's own making.
fn policy() -> &'static str {
    static POLICY: OnceLock<String> = OnceLock::new();
    POLICY.get_or_init(made_policy)
}

fn made_policy() -> String {
    let sum = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())));
    let scripts: Vec<String> = script::SCRIPTS.iter().map(|s| sum(s)).collect();
    format!(
        "default-src 'none'; style-src {}; script-src {}; font-src data:; img-src data: blob:; media-src blob:; form-action 'none'; base-uri 'none'",
        sum(style()),
        scripts.join(" ")
    )
}

/// A title of the drawing in its figure.
pub fn drawn(given: &Given<'_>) -> &'static str {
    if given.face.is_some() { text("home.own_map") } else { text("home.drawn_map") }
}

#[cfg(test)]
mod tests;
