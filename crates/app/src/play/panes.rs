//! What lies over the player when nothing runs: before it begins, voice and keys, what to do when everything ends, and the end.

use maud::{Markup, html};
use plan::atlas::Atlas;

use super::Play;
use crate::catalogue::{fill, text};
use crate::desk::sign_list;

/// What can be felt, in the order of the buttons: the word of the log and its label.
pub const FELT: [(&str, &str); 7] = [
    ("easy", "play.easy"),
    ("tender", "play.tender"),
    ("tight", "play.tight"),
    ("red", "play.red"),
    ("painful", "play.painful"),
    ("dizzy", "play.dizzy"),
    ("numb", "play.numb"),
];

/// What the letters do: the word that the script knows, its letter, its label.
pub const LETTERS: [(&str, &str, &str); 13] = [
    ("easy", "play.letter_easy", "play.easy"),
    ("tender", "play.letter_tender", "play.tender"),
    ("tight", "play.letter_tight", "play.tight"),
    ("red", "play.letter_red", "play.red"),
    ("painful", "play.letter_painful", "play.painful"),
    ("dizzy", "play.letter_dizzy", "play.dizzy"),
    ("numb", "play.letter_numb", "play.numb"),
    ("longer", "play.letter_longer", "play.longer"),
    ("skip", "play.letter_skip", "play.skip"),
    ("swap", "play.letter_swap", "play.swap"),
    ("end", "play.letter_end", "play.end"),
    ("sign", "play.letter_sign", "play.sign"),
    ("set", "play.letter_set", "play.set"),
];

/// Keys that are no letters.
const KEYS: [(&str, &str); 5] = [
    ("play.key_space", "play.does_space"),
    ("play.key_right", "play.does_right"),
    ("play.key_left", "play.does_left"),
    ("play.key_up", "play.does_up"),
    ("play.key_escape", "play.does_escape"),
];

/// Every pane; the script shows one at a time.
pub fn all(play: &Play<'_>) -> Markup {
    html! {
        div.play-pane data-pane="ready" {
            (play.ready)
            p.play-restored data-play="restored" hidden {}
            p.hint data-play="no-voice" hidden { (text("play.no_voice")) }
            p.hint { (text("play.tap")) " " (fill("play.keys_hint", &[("key", &text("play.letter_set").to_uppercase())])) }
            div.play-act { button.go type="button" data-play="begin" { (text("play.begin")) } }
        }
        (settings())
        (ends("sign", play.atlas, "play.sign_title", &["play.sign_do"]))
        (ends("dizzy", play.atlas, "play.dizzy_title", &["play.dizzy_do", "play.dizzy_rest", "play.dizzy_help", "play.dizzy_later"]))
        (ends("numb", play.atlas, "play.numb_title", &["play.numb_do", "play.numb_rest", "play.numb_help", "play.numb_later"]))
        div.play-pane data-pane="over" hidden {
            h2 data-over="whole" { (text("play.whole_title")) }
            h2 data-over="early" hidden { (text("play.early_title")) }
        }
        // What follows is the same however it ended, and the script puts it below.
        div data-play="after" hidden { (play.after) }
    }
}

fn settings() -> Markup {
    let check = |name: &str, label: &'static str, on: bool| {
        html! { label.choice { input type="checkbox" data-play=(name) checked[on]; span { (text(label)) } } }
    };
    html! {
        div.play-pane data-pane="set" hidden role="dialog" aria-labelledby="play-set-title" {
            h2 #play-set-title { (text("play.set_title")) }
            div.play-choices {
                (check("voice", "play.voice", true))
                (check("chimes", "play.chimes", true))
                (check("day", "play.day", false))
                (check("letters", "play.letters", true))
            }
            p.hint data-play="no-voice" hidden { (text("play.no_voice")) }
            p.hint { (text("play.local_voice")) }
            (key_list())
            div.play-act { button.go type="button" data-play="set-close" { (text("play.close")) } }
        }
    }
}

/// Every key and what it does.
fn key_list() -> Markup {
    html! {
        h3 { (text("play.keys")) }
        dl.play-keys {
            @for (key, does) in KEYS { div { dt { (text(key)) } dd { (text(does)) } } }
            @for (_, letter, label) in LETTERS { div { dt { kbd { (text(letter).to_uppercase()) } } dd { (text(label)) } } }
        }
    }
}

/// Everything has ended at once: what to do, and the list of signs.
fn ends(name: &str, atlas: &Atlas, title: &'static str, said: &[&'static str]) -> Markup {
    let id = format!("play-{name}-title");
    html! {
        div.play-pane.play-ends data-pane=(name) hidden role="alertdialog" aria-labelledby=(id) {
            h2 #(id) tabindex="-1" { (text(title)) }
            @for said in said { p { (text(said)) } }
            h3 { (text("play.signs")) }
            (sign_list(atlas))
        }
    }
}
