//! The fields of the practice's forms.

use cabinet::Birth;
use maud::{Markup, html};

use crate::catalogue::text;

/// A line to type in.
pub struct Field<'a> {
    /// Its name in the form, and its id.
    pub name: &'a str,
    /// What it asks.
    pub label: &'a str,
    /// What it holds.
    pub value: &'a str,
    /// `text`, `email`, `tel`, `date`, `search`.
    pub kind: &'a str,
    /// A word of help.
    pub hint: Option<&'a str>,
    /// Whether it has to be filled in.
    pub required: bool,
}

impl<'a> Field<'a> {
    /// A line of text.
    pub fn text(name: &'a str, label: &'a str, value: &'a str) -> Field<'a> {
        Field { name, label, value, kind: "text", hint: None, required: false }
    }

    /// Another kind of line.
    pub fn kind(self, kind: &'a str) -> Field<'a> {
        Field { kind, ..self }
    }

    /// With a word of help.
    pub fn hint(self, hint: &'a str) -> Field<'a> {
        Field { hint: Some(hint), ..self }
    }

    /// To be filled in.
    pub fn required(self) -> Field<'a> {
        Field { required: true, ..self }
    }

    /// The field.
    pub fn show(&self) -> Markup {
        let hint_id = format!("{}-hint", self.name);
        html! {
            div.field {
                label for=(self.name) { (self.label) }
                input #(self.name) type=(self.kind) name=(self.name) value=(self.value) required[self.required]
                    autocomplete="off" aria-describedby=[self.hint.map(|_| hint_id.as_str())];
                @if let Some(hint) = self.hint { p.hint #(hint_id) { (hint) } }
            }
        }
    }
}

/// Several lines to type in.
pub fn lines(name: &str, label: &str, value: &str, rows: u32, hint: Option<&str>) -> Markup {
    let hint_id = format!("{name}-hint");
    html! {
        div.field {
            label for=(name) { (label) }
            // A line end right after the tag is dropped by browsers: one of our own keeps the text's first.
            textarea #(name) name=(name) rows=(rows) aria-describedby=[hint.map(|_| hint_id.as_str())] { "\n" (value) }
            @if let Some(hint) = hint { p.hint #(hint_id) { (hint) } }
        }
    }
}

/// One of a few.
pub fn choice(name: &str, legend: &str, options: &[(&str, &str)], chosen: &str) -> Markup {
    html! {
        fieldset.field {
            legend { (legend) }
            div.row {
                @for (value, label) in options {
                    @let id = format!("{name}-{value}");
                    label.choice for=(id) {
                        input #(id) type="radio" name=(name) value=(value) checked[*value == chosen];
                        span { (label) }
                    }
                }
            }
        }
    }
}

/// When somebody was born, in words; nothing where it is not known.
pub fn born(birth: Option<Birth>) -> String {
    match birth {
        Some(Birth::Day(day)) => super::keep::date_in_words(day),
        Some(year) => year.to_string(),
        None => String::new(),
    }
}

/// What went wrong, above a form.
pub fn wrong(said: Option<&str>) -> Markup {
    html! { @if let Some(said) = said { div.missing role="alert" { p { (said) } } } }
}

/// A note that something was done, from the address' `done`.
pub fn done(query: &str) -> Markup {
    let said = match super::map_routes::value(query.as_bytes(), "done").as_deref() {
        Some("saved") => text("keep.saved"),
        Some("gone") => text("keep.gone"),
        Some("restored") => text("safe.restored"),
        _ => return html! {},
    };
    html! { p.said role="status" { (said) } }
}
