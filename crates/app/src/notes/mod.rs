//! Home notes: what a take-home hands back. Read strictly ([`read`]), from a file, a pasted text or a picture of the QR.

mod node;
mod read;
#[cfg(test)]
mod tests;
mod words;

use plan::atlas::Atlas;
use serde_json::{Value, json};

pub use self::read::{Day, HomeNote, MOST_BYTES, MOST_WORDS, Session, read};
pub use self::words::left_out_words;
use crate::catalogue::text;
use crate::own;

/// A note from the bytes of a file: JSON, or a picture that shows its QR.
///
/// # Errors
/// In words: what is wrong, where, and what to do.
pub fn from_bytes(bytes: &[u8]) -> Result<HomeNote, String> {
    if bytes.is_empty() {
        return Err(text("homenote.empty_file").to_owned());
    }
    // Every picture that is read here has bytes that are no text.
    if let Ok(said) = std::str::from_utf8(bytes) {
        return from_text(said);
    }
    let photo = own::photograph(bytes).map_err(|refused| refused.0)?;
    let rgb = photo.rgb8();
    let view = vision::View::new(photo.width as usize, photo.height as usize, &rgb);
    let codes = view.map(|view| vision::read_codes(&view)).unwrap_or_default();
    let mut wrong_one = None;
    for code in &codes {
        match read(code) {
            Ok(note) => return Ok(note),
            Err(wrong) => wrong_one = Some(wrong),
        }
    }
    Err(wrong_one.map_or_else(|| text("homenote.no_code").to_owned(), |wrong| words::wrong(&wrong)))
}

/// A note from a text: a file's, a pasted one.
///
/// # Errors
/// In words.
pub fn from_text(said: &str) -> Result<HomeNote, String> {
    if said.trim().is_empty() {
        return Err(text("homenote.empty_file").to_owned());
    }
    read(said).map_err(|wrong| words::wrong(&wrong))
}

impl Session {
    fn json(&self) -> Value {
        let felt: Vec<Value> = self.felt.iter().map(|f| json!([f.target, f.side.word(), f.felt])).collect();
        json!({
            "at": format!("{:02}:{:02}", self.at.0, self.at.1), "seconds": self.seconds, "ended": self.ended.word(),
            "felt": felt, "before": self.before, "after": self.after, "words": self.words,
        })
    }
}

impl Day {
    /// As the cabinet keeps a day: `done`, `minutes`, `felt` for whoever looks at days, `sessions` for the whole of it.
    pub fn body(&self) -> Value {
        let seconds: u32 = self.sessions.iter().map(|s| s.seconds).sum();
        let words: Vec<&str> =
            self.sessions.iter().map(|s| s.words.as_str()).filter(|w| !w.trim().is_empty()).collect();
        let mut places: Vec<Value> = Vec::new();
        for f in self.sessions.iter().flat_map(|s| &s.felt) {
            let place = json!({ "target": f.target, "side": f.side.word(), "felt": f.felt });
            if !places.contains(&place) {
                places.push(place);
            }
        }
        json!({
            "done": seconds > 0,
            "minutes": seconds.div_ceil(60),
            "felt": { "words": words.join("\n"), "places": places },
            "sessions": self.sessions.iter().map(Session::json).collect::<Vec<_>>(),
        })
    }
}

impl HomeNote {
    /// The note in its long form.
    pub fn json(&self) -> Value {
        let days: Vec<Value> = self
            .days
            .iter()
            .map(|d| json!({ "day": d.day.to_string(), "sessions": d.sessions.iter().map(Session::json).collect::<Vec<_>>() }))
            .collect();
        let mut note = json!({
            "tragion": "home-note", "version": 1, "code": self.code, "made": self.made.to_string(),
            "language": self.language, "days": days,
        });
        if !self.left_out.is_empty() {
            note["left_out"] = json!(self.left_out);
        }
        note
    }

    /// Ids of places that the atlas does not know, each once.
    pub fn unknown<'n>(&'n self, atlas: &Atlas) -> Vec<&'n str> {
        let mut unknown: Vec<&str> = Vec::new();
        for f in self.days.iter().flat_map(|d| &d.sessions).flat_map(|s| &s.felt) {
            if atlas.target_named(&f.target).is_none() && !unknown.contains(&f.target.as_str()) {
                unknown.push(&f.target);
            }
        }
        unknown
    }
}
