//! The words that the player's script puts together.

use serde_json::{Map, Value, json};
use vocab::{Pressure, Side};

use super::View;
use super::panes::LETTERS;
use crate::catalogue::{sentence_case, text};
use crate::tell;

/// Texts by the name that the script knows. Places in braces are filled there.
const WORDS: [(&str, &str); 36] = [
    ("of", "play.of"),
    ("aloud", "play.aloud"),
    ("how", "play.how"),
    ("change_tool", "play.change_tool"),
    ("change_left", "play.change_left"),
    ("change_right", "play.change_right"),
    ("ready", "play.ready"),
    ("talk", "play.talk"),
    ("paused", "play.paused"),
    ("pause", "play.pause"),
    ("on", "play.on"),
    ("next", "play.next"),
    ("last", "play.last"),
    ("mind", "play.mind"),
    ("second", "play.second"),
    ("seconds", "play.seconds"),
    ("begin_again", "play.begin_again"),
    ("restored", "play.restored"),
    ("away", "play.away"),
    ("interrupted", "play.interrupted"),
    ("note_longer", "play.note_longer"),
    ("note_no_longer", "play.note_no_longer"),
    ("note_red", "play.note_red"),
    ("note_lighter", "play.note_lighter"),
    ("note_ended", "play.note_ended"),
    ("note_dropped", "play.note_dropped"),
    ("note_one_dropped", "play.note_one_dropped"),
    ("note_target", "play.note_target"),
    ("note_shorter", "play.note_shorter"),
    ("note_closing", "play.note_closing"),
    ("sign_aloud", "play.sign_aloud"),
    ("dizzy_aloud", "play.dizzy_aloud"),
    ("numb_aloud", "play.numb_aloud"),
    ("whole_aloud", "play.whole_aloud"),
    ("early_aloud", "play.early_aloud"),
    ("place_side", "place.with_side"),
];

/// All of them, with the pressures, the sides and the letters.
pub fn for_script(view: View) -> Value {
    let mut all: Map<String, Value> = WORDS.iter().map(|(name, key)| ((*name).to_owned(), json!(text(key)))).collect();
    let pressures: Vec<String> = Pressure::ALL.iter().map(|p| sentence_case(tell::pressure(*p))).collect();
    all.insert("pressures".to_owned(), json!(pressures));
    all.insert("left".to_owned(), json!(view.side(Side::Left)));
    all.insert("right".to_owned(), json!(view.side(Side::Right)));
    let times = json!({
        "one_second": text("time.one_second"), "seconds": text("time.seconds"), "one_minute": text("time.one_minute"),
        "minutes": text("time.minutes"), "minutes_seconds": text("time.minutes_seconds"),
    });
    all.insert("times".to_owned(), times);
    let letters: Map<String, Value> =
        LETTERS.iter().map(|(what, letter, _)| (text(letter).to_lowercase(), json!(what))).collect();
    all.insert("letters".to_owned(), Value::Object(letters));
    Value::Object(all)
}
