//! What of the page of a take-home needs its script: it is hidden until the script shows it.

use maud::{Markup, PreEscaped, html};
use plan::draft::Draft;
use plan::session::Score;
use serde_json::{Map, Value, json};

use super::Given;
use super::page::More;
use super::page_parts as parts;
use crate::catalogue::{fill, text};
use crate::play::{self, Play, View};
use crate::tell;

/// The scripts of the page, in their order: each stands in it with a sum of its own.
pub const SCRIPTS: [&str; 4] = [
    include_str!("../../assets/vendor/qrcode-generator-2.0.4.js"),
    include_str!("../../assets/engine.js"),
    include_str!("../../assets/player.js"),
    include_str!("../../assets/home.js"),
];

/// The words that the script puts together.
const WORDS: [(&str, &str); 27] = [
    ("one_second", "time.one_second"),
    ("seconds", "time.seconds"),
    ("one_minute", "time.one_minute"),
    ("minutes", "time.minutes"),
    ("minutes_seconds", "time.minutes_seconds"),
    ("kept", "home.kept"),
    ("session_line", "home.session_line"),
    ("ended_whole", "home.ended_whole"),
    ("ended_early", "home.ended_early"),
    ("ended_sign", "home.ended_sign"),
    ("ended_dizzy", "home.ended_dizzy"),
    ("ended_numb", "home.ended_numb"),
    ("relaxed", "home.relaxed"),
    ("stress", "home.stress"),
    ("wellbeing", "home.wellbeing"),
    ("sleep", "home.sleep"),
    ("take_away", "home.take_away"),
    ("take_away_sure", "home.take_away_sure"),
    ("taken_away", "home.taken_away"),
    ("yes", "home.yes"),
    ("no", "home.no"),
    ("note_lead", "home.note_lead"),
    ("note_name", "home.note_name"),
    ("note_left_words", "home.note_left_words"),
    ("note_left_felt", "home.note_left_felt"),
    ("note_left_days", "home.note_left_days"),
    ("photo_hour", "home.photo_hour"),
];

/// The most characters of own words, as the reader of home notes has it.
const MOST_WORDS: usize = crate::notes::MOST_WORDS;

/// What the script reads. Nothing in it may look like the end of the block.
pub fn data(given: &Given<'_>) -> Markup {
    let mut words: Map<String, Value> =
        WORDS.iter().map(|(name, key)| ((*name).to_owned(), json!(text(key)))).collect();
    // With the code, so that a whole folder of photographs finds its people at the desk.
    words.insert("photo_name".to_owned(), json!(format!("{}-{}", text("home.photo_name"), given.code)));
    let data = json!({
        "code": given.code,
        "language": given.language.tag(),
        "made": given.day.to_string(),
        // What the engine knows by numbers, by name.
        "targets": given.runnable.steps().iter().map(|s| json!([s.target_id(given.atlas), s.side.word()])).collect::<Vec<_>>(),
        "until": given.until.map(|d| d.to_string()),
        "words": words,
    });
    let safe = data.to_string().replace('<', "\\u003c");
    html! { script #home-data type="application/json" { (PreEscaped(safe)) } }
}

/// The button that begins, and what stands before it when the day of the page is over.
pub fn begin() -> Markup {
    html! {
        div.with-script hidden {
            div.expired #home-expired hidden role="status" {
                p { strong { (text("home.expired")) } }
                label.choice for="home-asked" { input #home-asked type="checkbox"; span { (text("home.asked")) } }
            }
            div.act {
                button.go #home-begin type="button" { (text("home.begin")) }
                button.quiet #home-print type="button" { (text("home.print")) }
            }
            p.unseen #home-told role="status" {}
        }
    }
}

/// From 0 to 10, or nothing.
fn level(when: &str, name: &str, label: &'static str, least: &'static str, most: &'static str) -> Markup {
    let id = format!("{when}-{name}");
    html! {
        div.level {
            label for=(id) { (text(label)) }
            select #(id) autocomplete="off" {
                option value="" { (text("home.not_said")) }
                @for n in 0..=10 {
                    option value=(n) {
                        @match n { 0 => (text(least)), 10 => (text(most)), n => (n) }
                    }
                }
            }
        }
    }
}

/// What stands above the button of the player that begins.
fn ready(given: &Given<'_>, draft: &Draft) -> Markup {
    html! {
        h2 { (given.name) }
        p { strong { (text("home.never_hurts")) } " " (text("home.changed")) }
        @if let Some(until) = given.until {
            p { (fill("home.after_day", &[("day", &crate::desk::keep::date_in_words(until))])) }
        }
        details data-home="questions" {
            summary { (text("home.each_time")) }
            p { (text("home.each_time_lead")) }
            ul { @for question in given.questions() { li { (question) } } }
        }
        label.choice.none-today { input type="checkbox" data-home="none-today" autocomplete="off"; span { (text("home.none_today")) } }
        p.hint { (text("home.none_today_hint")) }
        details {
            summary { (text("home.before")) }
            ul { @for item in crate::desk::routine::checks(given.atlas, draft, "before") { li { (item) } } }
        }
        fieldset.levels {
            legend { (text("home.how_before")) }
            p.hint { (text("home.scale")) }
            (level("before", "relaxed", "home.relaxed", "home.relaxed_0", "home.relaxed_10"))
            (level("before", "stress", "home.stress", "home.stress_0", "home.stress_10"))
            (level("before", "wellbeing", "home.wellbeing", "home.wellbeing_0", "home.wellbeing_10"))
            (level("before", "sleep", "home.sleep", "home.sleep_0", "home.sleep_10"))
        }
        div.act { button type="button" data-home="leave" { (text("home.back")) } }
    }
}

/// What stands below when it is over.
fn after(given: &Given<'_>, draft: &Draft) -> Markup {
    html! {
        form.levels data-home="after" {
            ul { @for item in crate::desk::routine::checks(given.atlas, draft, "after") { li { (item) } } }
            fieldset {
                legend { (text("home.how_after")) }
                p.hint { (text("home.scale")) }
                (level("after", "relaxed", "home.relaxed", "home.relaxed_0", "home.relaxed_10"))
                (level("after", "stress", "home.stress_now", "home.stress_0", "home.stress_10"))
                (level("after", "wellbeing", "home.wellbeing", "home.wellbeing_0", "home.wellbeing_10"))
            }
            div.level.own {
                label for="after-words" { (text("home.words")) }
                textarea #after-words rows="3" maxlength=(MOST_WORDS) autocomplete="off" aria-describedby="after-words-hint" {}
                p.hint #after-words-hint { (fill("home.words_hint", &[("most", &MOST_WORDS)])) }
            }
            div.act { button.go type="submit" { (text("home.keep")) } }
        }
    }
}

/// The player, closed.
pub fn player(given: &Given<'_>) -> Markup {
    let draft = given.draft();
    let steps = given.runnable.steps();
    let score = Score::new(given.atlas, steps, given.file.minutes, 0).json();
    let spoken: Vec<Vec<String>> = if given.file.audience {
        steps.iter().map(|step| tell::spoken(given.atlas, given.clearance, step)).collect()
    } else {
        Vec::new()
    };
    let play = Play {
        atlas: given.atlas,
        steps,
        score: &score,
        spoken: &spoken,
        drawing: parts::figure(given, &draft),
        view: View::Mirror,
        language: given.language.tag(),
        ready: ready(given, &draft),
        after: after(given, &draft),
    };
    html! { div #home-player { (play::stage(&play)) } }
}

/// The notes, the photograph, the home note.
pub fn notes(more: &More) -> Markup {
    html! {
        section.part.with-script #notes aria-labelledby="notes-title" hidden {
            h2 #notes-title tabindex="-1" { (text("home.notes")) }
            p { (text("home.notes_lead")) }
            p.hint #home-kept-here hidden { (text("home.kept_here")) }
            p.caution #home-kept-not hidden { (text("home.kept_not")) }
            p.caution #home-full role="alert" hidden { (text("home.full")) }
            p #home-none { (text("home.nothing_yet")) }
            ol.log #home-sessions {}
            (note())
            @if more.photographs { (photo(more)) }
        }
    }
}

fn note() -> Markup {
    html! {
        h3 #note-title { (text("home.note")) }
        p #home-note-none { (text("home.note_none")) }
        div #home-note-have hidden {
            p.week #home-week hidden { strong { (text("home.note_week")) } }
            p #home-note-lead {}
            p { (text("home.note_sent")) }
            div.act {
                button #home-note-save type="button" { (text("home.note_save")) }
                button #home-note-share type="button" hidden { (text("home.note_share")) }
                button #home-note-qr type="button" { (text("home.note_qr")) }
                button #home-note-text type="button" { (text("home.note_text")) }
            }
            div.qr #home-qr hidden tabindex="-1" {
                p { (text("home.note_qr_hint")) }
                svg #home-qr-svg role="img" aria-label=(text("home.note_qr_alt")) shape-rendering="crispEdges" {
                    rect #home-qr-white fill="#fff" width="1" height="1" {}
                    path #home-qr-path fill="#000" {}
                }
                p.hint #home-qr-left {}
                div.act { button #home-qr-save type="button" { (text("home.note_qr_save")) } }
            }
            div #home-text hidden {
                label for="home-text-area" { (text("home.note_text_hint")) }
                textarea #home-text-area readonly rows="6" {}
            }
        }
    }
}

fn photo(more: &More) -> Markup {
    html! {
        h3 #photo-title { (text("home.photo")) }
        p { (text("home.photo_lead")) }
        p #photo-hour hidden data-hour=[more.hour.as_deref()] {}
        p.hint { (text("home.photo_stays")) }
        p #photo-no-camera hidden { (text("home.photo_camera_no")) }
        div.act { button #photo-camera type="button" hidden { (text("home.photo_camera")) } }
        div.field {
            label for="photo-file" { (text("home.photo_choose")) }
            input #photo-file type="file" accept="image/*" capture="user";
        }
        p.caution #photo-bad role="alert" hidden { (text("home.photo_bad")) }
        div.frame #photo-live hidden {
            p { (text("home.photo_fit")) }
            div.under { video #photo-video muted playsinline {} (outline()) }
            div.act {
                button #photo-take type="button" { (text("home.photo_take")) }
                button #photo-stop type="button" { (text("home.photo_stop")) }
            }
        }
        div.frame #photo-still hidden {
            p { (text("home.photo_check")) }
            div.under { img #photo-picture alt=(text("home.photo_shown")); (outline()) }
            div.act {
                button #photo-save type="button" { (text("home.photo_save")) }
                button #photo-again type="button" { (text("home.photo_again")) }
            }
        }
    }
}

/// A face to fit into: contour, the line of the eyes, the middle. Proportions of the drawn face.
fn outline() -> Markup {
    html! {
        svg.outline viewBox="0 0 300 400" preserveAspectRatio="xMidYMid meet" role="img" aria-label=(text("home.photo_outline")) {
            @for class in ["casing", "ink"] {
                g class=(class) fill="none" {
                    path d="M150 40 C225 40 250 105 247 180 C244 265 205 345 150 345 C95 345 56 265 53 180 C50 105 75 40 150 40 Z" {}
                    path d="M40 185 H260 M150 60 V330" stroke-dasharray="6 8" {}
                    path d="M85 185 q27 -18 54 0 q-27 16 -54 0 Z M161 185 q27 -18 54 0 q-27 16 -54 0 Z M122 285 q28 14 56 0" {}
                }
            }
        }
    }
}
