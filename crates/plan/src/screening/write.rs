//! Answers as a file that reads back to the same answers, and the day on which they have to be asked again.

use std::fmt::Write as _;

use vocab::{Date, Side};

use super::answers::{Answer, Answers, Own};
use crate::atlas::{Atlas, GroupIx, ZoneIx};
use crate::reading::quoted;

impl Answers {
    /// Writes the answers as [`Answers::parse`] reads them.
    pub fn to_toml(&self, atlas: &Atlas) -> String {
        let mut out = String::new();
        // Writing to a String cannot fail, so the answers of `writeln!` are not looked at.
        if let Some(asked) = self.asked {
            let _ = writeln!(out, "asked = {asked}");
        }
        out.push_str("\n[groups]\n");
        for (group, answer) in atlas.groups.iter().zip(&self.groups) {
            if let Some(answer) = answer {
                let _ = writeln!(out, "{} = {}", group.id, quoted(word(*answer)));
            }
        }
        out.push_str("\n[conditions]\n");
        for (condition, own) in atlas.conditions.iter().zip(&self.conditions) {
            if let Some(own) = own {
                let _ = writeln!(out, "{} = {}", condition.id, one(atlas, own));
            }
        }
        out.push_str("\n[warning_signs]\n");
        for sign in &self.signs {
            let mut fields = Vec::new();
            fields.extend(places(atlas, &sign.places));
            fields.extend(side(sign.side));
            let _ = writeln!(out, "{} = {{ {} }}", atlas.warning_signs[sign.sign].id, fields.join(", "));
        }
        out
    }

    /// The first day on which one of the answers no longer holds; `None`: they last.
    pub fn ask_again(&self, atlas: &Atlas) -> Option<Date> {
        let ends = atlas.conditions.iter().zip(&self.conditions).flat_map(|(condition, own)| {
            let said = own.is_some() || self.group(GroupIx(condition.group.0)).is_some();
            let asked = own.as_ref().and_then(|o| o.asked).or(self.asked).filter(|_| said);
            let stale = asked.zip(condition.ask_again_days).and_then(|(d, days)| d.plus(i64::from(days)));
            let ended = own.as_ref().and_then(|o| o.until).and_then(|until| until.plus(1));
            [stale, ended].into_iter().flatten()
        });
        ends.min()
    }
}

fn word(answer: Answer) -> &'static str {
    Answer::WORDS.iter().find(|(_, a)| *a == answer).map_or("unknown", |(word, _)| word)
}

fn one(atlas: &Atlas, own: &Own) -> String {
    if *own == Own::new(own.answer) {
        return quoted(word(own.answer));
    }
    let mut fields = vec![format!("answer = {}", quoted(word(own.answer)))];
    fields.extend(places(atlas, &own.places));
    fields.extend(side(own.side));
    let days = [("since", own.since), ("until", own.until), ("asked", own.asked)];
    fields.extend(days.into_iter().filter_map(|(name, day)| Some(format!("{name} = {}", day?))));
    if let Some(cleared) = &own.cleared {
        let (by, on, until) = (quoted(&cleared.by), cleared.on, cleared.until);
        fields.push(format!("cleared = {{ by = {by}, on = {on}, until = {until} }}"));
    }
    format!("{{ {} }}", fields.join(", "))
}

fn places(atlas: &Atlas, places: &[ZoneIx]) -> Option<String> {
    let ids: Vec<String> = places.iter().map(|z| quoted(&atlas.zone(*z).id)).collect();
    (!ids.is_empty()).then(|| format!("where = [{}]", ids.join(", ")))
}

fn side(side: Option<Side>) -> Option<String> {
    side.map(|side| format!("side = {}", quoted(side.word())))
}
