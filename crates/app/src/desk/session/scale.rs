//! How somebody is, before and after: numbers from 0 to 10 that may all be left out.

use maud::{Markup, html};
use serde_json::{Map, Value, json};

use crate::catalogue::{fill, text};
use crate::desk::clients::said;

/// What is asked: its name in the store, what it asks, what 0 and what 10 mean.
pub type Asked = (&'static str, &'static str, &'static str);

/// Before.
pub const BEFORE: [Asked; 4] = [
    ("relaxed", "session.relaxed", "session.relaxed_ends"),
    ("stress", "session.stress", "session.stress_ends"),
    ("wellbeing", "session.wellbeing", "session.wellbeing_ends"),
    ("sleep", "session.sleep", "session.sleep_ends"),
];
/// After.
pub const AFTER: [Asked; 3] = [BEFORE[0], BEFORE[1], BEFORE[2]];

/// What a form says.
pub struct Scale {
    /// Name and what was typed.
    typed: Vec<(&'static str, String)>,
}

impl Scale {
    /// Nothing said.
    pub fn empty(asked: &[Asked]) -> Scale {
        Scale { typed: asked.iter().map(|(name, ..)| (*name, String::new())).collect() }
    }

    /// From a form.
    pub fn of_form(asked: &[Asked], form: &[u8]) -> Scale {
        Scale { typed: asked.iter().map(|(name, ..)| (*name, said(form, name))).collect() }
    }

    /// From what is kept.
    pub fn kept(asked: &[Asked], felt: &Value) -> Scale {
        let of = |name: &str| felt.get(name).and_then(Value::as_u64).map_or_else(String::new, |n| n.to_string());
        Scale { typed: asked.iter().map(|(name, ..)| (*name, of(name))).collect() }
    }

    fn number(typed: &str) -> Option<Option<u8>> {
        if typed.is_empty() {
            return Some(None);
        }
        typed.parse().ok().filter(|n| *n <= 10).map(Some)
    }

    /// The names whose number is none from 0 to 10.
    pub fn wrong(&self) -> Vec<&'static str> {
        self.typed.iter().filter(|(_, typed)| Scale::number(typed).is_none()).map(|(name, _)| *name).collect()
    }

    /// As it is kept: what was not said is not there.
    pub fn json(&self) -> Map<String, Value> {
        let said = |(name, typed): &(&str, String)| {
            let number = Scale::number(typed).flatten()?;
            Some(((*name).to_owned(), json!(number)))
        };
        self.typed.iter().filter_map(said).collect()
    }

    /// The fields.
    pub fn fields(&self, asked: &[Asked]) -> Markup {
        let wrong = self.wrong();
        html! {
            div.scale {
                @for (name, label, ends) in asked {
                    @let typed = self.typed.iter().find(|(n, _)| n == name).map_or("", |(_, t)| t.as_str());
                    @let bad = wrong.contains(name);
                    @let help = format!("{name}-ends");
                    div.field {
                        label for=(name) { (text(label)) }
                        input #(name) type="text" inputmode="numeric" name=(name) value=(typed) autocomplete="off" maxlength="6"
                            aria-describedby=(help) aria-invalid=[bad.then_some("true")];
                        p.hint #(help) {
                            @if bad { strong { (text("session.zero_to_ten")) } " " }
                            (text(ends))
                        }
                    }
                }
            }
        }
    }
}

/// Before and after beside each other, for what was said both times.
pub fn before_after(felt: &str) -> Option<String> {
    let felt: Value = serde_json::from_str(felt).ok()?;
    let of = |when: &str, name: &str| felt.get(when)?.get(name)?.as_u64();
    let pairs: Vec<String> = AFTER
        .iter()
        .filter_map(|(name, label, _)| {
            let (before, after) = (of("before", name)?, of("after", name)?);
            Some(fill("session.from_to", &[("what", &text(label)), ("before", &before), ("after", &after)]))
        })
        .collect();
    (!pairs.is_empty()).then(|| fill("session.scales", &[("said", &pairs.join(", "))]))
}
