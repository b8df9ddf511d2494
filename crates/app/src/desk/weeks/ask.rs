//! The form of a plan of weeks: as it was typed, what of it is wrong, and what it comes to.

use cabinet::{Error, Reader, VersionId};
use follow::{Looks, Plan, VALUES, Value};
use maud::{Markup, html};
use vocab::{Date, Side};

use crate::catalogue::{fill, text};
use crate::desk::clients::said;
use crate::following::body::{Body, Fixed};
use crate::following::words::{unit, value_name};

/// Bounds of what can be asked, both ends in.
const DAYS: [u16; 2] = [7, 366];
const BASELINE: [u8; 2] = [0, 30];
const EVERY: [u8; 2] = [1, 14];

/// As it was typed.
#[derive(Clone, Debug)]
pub struct Ask {
    first: String,
    days: String,
    times: String,
    days_a_week: String,
    value: String,
    others: Vec<String>,
    size: String,
    baseline: String,
    every: String,
    photographs: String,
    looks: String,
    side: String,
    later: bool,
    version: String,
}

/// A field and what is wrong in it.
pub type Wrong = (&'static str, String);

/// What may be chosen as the routine: number of the version, words.
pub type Routines = Vec<(VersionId, String)>;

impl Ask {
    /// As it stands there at first: the usual plan, and a first day that leaves room for its baseline.
    pub fn first(today: Date) -> Ask {
        let plan = Plan::usual(Value::usual());
        let room = i64::from(plan.baseline) * i64::from(plan.every);
        Ask {
            first: today.plus(room).unwrap_or(today).to_string(),
            days: plan.days.to_string(),
            times: "21:30".to_owned(),
            days_a_week: "7".to_owned(),
            value: plan.value.name.to_owned(),
            others: Vec::new(),
            size: plain(plan.size),
            baseline: plan.baseline.to_string(),
            every: plan.every.to_string(),
            photographs: plan.photographs.to_string(),
            looks: "1".to_owned(),
            side: "both".to_owned(),
            later: false,
            version: String::new(),
        }
    }

    /// As a kept plan fills it.
    pub fn of(body: &Body, version: Option<VersionId>) -> Ask {
        let mut ask = Ask::first(body.first);
        ask.first = body.first.to_string();
        ask.days = body.days.to_string();
        ask.times.clone_from(&body.times);
        ask.days_a_week = body.days_a_week.to_string();
        ask.version = version.map(|v| v.number().to_string()).unwrap_or_default();
        if let Some(f) = &body.fixed {
            f.value.name.clone_into(&mut ask.value);
            ask.others = f.others.iter().map(|v| v.name.to_owned()).collect();
            ask.size = plain(f.size);
            ask.baseline = f.baseline.to_string();
            ask.every = f.every.to_string();
            ask.photographs = f.photographs.to_string();
            ask.looks = if f.looks == Looks::Two { "2" } else { "1" }.to_owned();
            ask.side = f.side.map_or("both", Side::word).to_owned();
            ask.later = f.measure_later;
        }
        ask
    }

    /// From a form, or from an address.
    pub fn read(form: &[u8]) -> Ask {
        let others = form_urlencoded::parse(form).filter(|(n, _)| n == "others").map(|(_, v)| v.into_owned());
        Ask {
            first: said(form, "first"),
            days: said(form, "days"),
            times: said(form, "times"),
            days_a_week: said(form, "days_a_week"),
            value: said(form, "value"),
            others: others.collect(),
            size: said(form, "size"),
            baseline: said(form, "baseline"),
            every: said(form, "every"),
            photographs: said(form, "photographs"),
            looks: said(form, "looks"),
            side: said(form, "side"),
            later: said(form, "later") == "yes",
            version: said(form, "version"),
        }
    }

    /// The routine that was chosen; none where none was, or it is none of these.
    pub fn version(&self, routines: &Routines) -> Option<VersionId> {
        routines.iter().map(|r| r.0).find(|v| v.number().to_string() == self.version)
    }

    /// What it comes to.
    ///
    /// # Errors
    /// Each field that can't be used, with what it takes.
    pub fn body(&self, today: Date) -> Result<Body, Vec<Wrong>> {
        let mut wrong = Vec::new();
        let typed = |word: &str| word.chars().take(40).collect::<String>();
        let first = Date::parse(&self.first);
        match first {
            None => wrong.push(("first", fill("weeks.bad_first", &[("word", &typed(&self.first))]))),
            Some(day) if day < today => wrong.push(("first", text("weeks.past_first").to_owned())),
            Some(_) => {}
        }
        let days = within(&self.days, DAYS);
        let baseline = within(&self.baseline, BASELINE);
        let every = within(&self.every, EVERY);
        let days_a_week = within(&self.days_a_week, [1_u8, 7]);
        let bounds: [(&'static str, &str, bool, [u16; 2]); 4] = [
            ("days", &self.days, days.is_some(), DAYS),
            ("days_a_week", &self.days_a_week, days_a_week.is_some(), [1, 7]),
            ("baseline", &self.baseline, baseline.is_some(), BASELINE.map(u16::from)),
            ("every", &self.every, every.is_some(), EVERY.map(u16::from)),
        ];
        for (name, word, good, [least, most]) in bounds {
            if !good {
                let places: [(&str, &dyn std::fmt::Display); 3] =
                    [("word", &typed(word)), ("least", &least), ("most", &most)];
                wrong.push((name, fill("weeks.bad_number", &places)));
            }
        }
        let value = Value::named(&self.value);
        if value.is_none() {
            wrong.push(("value", text("weeks.bad_value").to_owned()));
        }
        let known = value.unwrap_or(Value::usual());
        let most = known.range[1] - known.range[0];
        let size = number(&self.size).filter(|s| *s > 0.0 && *s <= most);
        if size.is_none() {
            let places: [(&str, &dyn std::fmt::Display); 3] =
                [("word", &typed(&self.size)), ("most", &plain(most)), ("unit", &unit(known))];
            wrong.push(("size", fill("weeks.bad_size", &places)));
        }
        let (Some(first), Some(days), Some(days_a_week), Some(value), Some(size), Some(baseline), Some(every), true) =
            (first, days, days_a_week, value, size, baseline, every, wrong.is_empty())
        else {
            return Err(wrong);
        };
        let others = VALUES.iter().filter(|v| **v != *value && self.others.iter().any(|o| o == v.name));
        Ok(Body {
            first,
            days,
            times: self.times.chars().take(80).collect(),
            days_a_week,
            fixed: Some(Fixed {
                value,
                others: others.collect(),
                size,
                baseline,
                every,
                photographs: if self.photographs == "3" { 3 } else { 2 },
                looks: if self.looks == "2" { Looks::Two } else { Looks::One },
                side: Side::from_word(&self.side).filter(|s| matches!(s, Side::Left | Side::Right)),
                measure_later: self.later,
                noise: Vec::new(),
            }),
        })
    }

    /// The fields.
    pub fn fields(&self, wrong: &[Wrong], routines: &Routines) -> Markup {
        let line = |name, label, kind, typed: &str, hint| line(wrong, name, label, (kind, typed), hint);
        html! {
            fieldset {
                legend { (text("weeks.when")) }
                (line("first", text("weeks.first"), "date", &self.first, Some(text("weeks.first_hint"))))
                (line("days", text("weeks.days"), "number", &self.days, None))
                (line("days_a_week", text("weeks.days_a_week"), "number", &self.days_a_week, None))
                (line("times", text("weeks.times"), "text", &self.times, None))
                @if !routines.is_empty() {
                    div.field {
                        label for="version" { (text("weeks.routine")) }
                        select #version name="version" {
                            option value="" selected[self.version.is_empty()] { (text("weeks.no_routine")) }
                            @for (id, words) in routines {
                                @let id = id.number().to_string();
                                option value=(id) selected[id == self.version] { (words) }
                            }
                        }
                    }
                }
            }
            fieldset {
                legend { (text("weeks.what")) }
                div.field {
                    label for="value" { (text("weeks.value")) }
                    select #value name="value" aria-describedby="value-hint" {
                        @for value in &VALUES {
                            option value=(value.name) selected[value.name == self.value] { (value_name(value)) }
                        }
                    }
                    p.hint #value-hint { (bad(wrong, "value")) (text("weeks.value_hint")) }
                }
                (line("size", text("weeks.size"), "text", &self.size, Some(text("weeks.size_hint"))))
                details.others open[!self.others.is_empty()] {
                    summary { (text("weeks.others")) }
                    p.hint { (text("weeks.others_hint")) }
                    div.row {
                        @for value in VALUES.iter().filter(|v| !v.said) {
                            @let id = format!("others-{}", value.name);
                            label.choice for=(id) {
                                input #(id) type="checkbox" name="others" value=(value.name) checked[self.others.iter().any(|o| o == value.name)];
                                span { (value_name(value)) }
                            }
                        }
                    }
                }
            }
            fieldset {
                legend { (text("weeks.how")) }
                (line("baseline", text("weeks.baseline"), "number", &self.baseline, Some(text("weeks.baseline_hint"))))
                (line("every", text("weeks.every"), "number", &self.every, Some(text("weeks.every_hint"))))
                (choice("photographs", text("weeks.photographs"), &[("2", text("weeks.two")), ("3", text("weeks.three"))], &self.photographs, None))
                (choice("looks", text("weeks.looks"), &[("1", text("weeks.look_one")), ("2", text("weeks.look_two"))], &self.looks, Some(text("weeks.looks_hint"))))
                (choice("side", text("weeks.side"), &[("both", text("weeks.side_both")), ("left", text("weeks.side_left")), ("right", text("weeks.side_right"))], &self.side, Some(text("weeks.side_hint"))))
                label.choice for="later" {
                    input #later type="checkbox" name="later" value="yes" checked[self.later] aria-describedby="later-hint";
                    span { (text("weeks.later")) }
                }
                p.hint #later-hint { (text("weeks.later_hint")) }
            }
        }
    }
}

/// The routines that a client's weeks may run: their own and everybody's, each in its latest version.
///
/// # Errors
/// Of the store.
pub fn routines(r: &Reader<'_>, client: cabinet::ClientId) -> Result<Routines, Error> {
    let mut found = Vec::new();
    for routine in r.routines(Some(client))?.into_iter().chain(r.routines(None)?) {
        if let Some(version) = r.versions(routine.id)?.last() {
            let words = fill("weeks.version", &[("name", &routine.name), ("n", &version.number)]);
            found.push((version.id, words));
        }
    }
    Ok(found)
}

/// A number as people type it: with a point or a comma.
pub fn number(typed: &str) -> Option<f64> {
    typed.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite())
}

/// Without noughts that say nothing.
pub fn plain(value: f64) -> String {
    format!("{}", (value * 1e6).round() / 1e6)
}

fn within<T: std::str::FromStr + PartialOrd>(typed: &str, [least, most]: [T; 2]) -> Option<T> {
    typed.parse().ok().filter(|n| *n >= least && *n <= most)
}

/// What is wrong in a field, before its hint.
pub fn bad(wrong: &[Wrong], name: &str) -> Markup {
    let said = wrong.iter().find(|w| w.0 == name);
    html! { @if let Some((_, said)) = said { strong.bad { (said) " " } } }
}

/// A line with its hint and what is wrong in it.
pub fn line(
    wrong: &[Wrong],
    name: &'static str,
    label: &str,
    (kind, typed): (&str, &str),
    hint: Option<&str>,
) -> Markup {
    let is_bad = wrong.iter().any(|w| w.0 == name);
    let id = format!("{name}-hint");
    // A number field would drop what is no number, and nothing typed may be lost.
    let (kind, mode) = if kind == "number" { ("text", Some("numeric")) } else { (kind, None) };
    let kind = if kind == "date" && is_bad { "text" } else { kind };
    html! {
        div.field {
            label for=(name) { (label) }
            input.short[mode.is_some() || name == "size"] #(name) type=(kind) inputmode=[mode] name=(name) value=(typed) autocomplete="off"
                aria-invalid=[is_bad.then_some("true")] aria-describedby=[(is_bad || hint.is_some()).then_some(id.as_str())];
            @if is_bad || hint.is_some() { p.hint #(id) { (bad(wrong, name)) (hint.unwrap_or_default()) } }
        }
    }
}

fn choice(name: &str, legend: &str, options: &[(&str, &str)], chosen: &str, hint: Option<&str>) -> Markup {
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
            @if let Some(hint) = hint { p.hint { (hint) } }
        }
    }
}

/// What is wrong, above the form, each with the way to its field.
pub fn all_wrong(wrong: &[Wrong]) -> Markup {
    html! {
        @if !wrong.is_empty() {
            div.missing role="alert" {
                p { (text("weeks.wrong")) }
                ul { @for (name, said) in wrong { li { a href={ "#" (name) } { (said) } } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn today() -> Date {
        Date::parse("2026-03-01").expect("a day")
    }

    #[test]
    fn the_usual_form_is_the_usual_plan() {
        let body = Ask::first(today()).body(today()).expect("a plan");
        assert_eq!(body.plan(None), Some(Plan::usual(Value::usual())));
        assert_eq!(body.first.to_string(), "2026-03-16");
        assert_eq!(body.date(body.begins()), today(), "the baseline can begin today");
    }

    #[test]
    fn what_is_typed_wrong_is_said_by_its_field() {
        let good = "first=2026-03-16&days=28&days_a_week=7&value=dE00&size=2&baseline=5&every=3";
        let wrong = |change: &str| {
            let name = change.split('=').next().unwrap_or_default();
            let kept: Vec<&str> = good.split('&').filter(|p| p.split('=').next() != Some(name)).collect();
            let found = Ask::read(format!("{}&{change}", kept.join("&")).as_bytes()).body(today());
            found.err().unwrap_or_default().into_iter().map(|w| w.0).collect::<Vec<_>>()
        };
        assert!(wrong("times=").is_empty());
        for (change, field) in [
            ("first=soon", "first"),
            ("first=2026-02-28", "first"),
            ("days=6", "days"),
            ("days=367", "days"),
            ("days_a_week=8", "days_a_week"),
            ("value=shine", "value"),
            ("size=0", "size"),
            ("size=-1", "size"),
            ("size=1e9", "size"),
            ("size=NaN", "size"),
            ("baseline=31", "baseline"),
            ("baseline=-1", "baseline"),
            ("every=0", "every"),
            ("every=x", "every"),
        ] {
            assert_eq!(wrong(change), [field], "{change}");
        }
        assert!(wrong("size=1%2C5").is_empty(), "a comma is a point");
    }
}
