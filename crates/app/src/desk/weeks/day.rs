//! One day typed at the desk: whether there was a session, how they felt, what else there was. It is kept as a home note.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, Error, Json, Reader, WeeksId};
use maud::{Markup, html};
use serde_json::{Value, json};
use vocab::Date;

use super::ask::{Wrong, all_wrong, bad, line};
use super::plan::Shown;
use super::stand::weeks_of;
use crate::catalogue::{fill, text};
use crate::desk::Desk;
use crate::desk::clients::{form, said};
use crate::desk::fields::lines;
use crate::desk::keep::{self, answer, date_in_words};
use crate::desk::map_routes::to;
use crate::desk::page;
use crate::desk::reply::html as answer_html;
use crate::desk::visitor::token;
use crate::following::chart::context_words;
use crate::following::days::CONTEXT;

/// The most minutes of a day.
const MOST_MINUTES: u64 = 600;
/// The longest cycle that is spoken of.
const MOST_CYCLE: u64 = 60;
/// The most characters of own words.
const MOST_WORDS: usize = 1000;

/// The levels before a session, and after: field, its label.
const BEFORE: [(&str, &str); 4] = [
    ("before_relaxed", "session.relaxed"),
    ("before_stress", "session.stress"),
    ("before_wellbeing", "session.wellbeing"),
    ("before_sleep", "session.sleep"),
];
const AFTER: [(&str, &str); 3] = [
    ("after_relaxed", "session.relaxed"),
    ("after_stress", "session.stress"),
    ("after_wellbeing", "session.wellbeing"),
];

/// A day as it was typed, or as it is kept.
pub struct Typed {
    day: String,
    done: String,
    minutes: String,
    before: [String; 4],
    after: [String; 3],
    context: Vec<String>,
    cycle: String,
    words: String,
    /// What is kept came from home, with sessions of its own: these stay.
    from_home: bool,
    /// The day whose note the form showed.
    shown: String,
    /// Why another day's note stands here than the one that was shown, in words.
    instead: Option<String>,
}

impl Typed {
    /// What is kept of a day, or nothing yet.
    ///
    /// # Errors
    /// Of the store.
    pub fn kept(r: &Reader<'_>, client: ClientId, day: Date) -> Result<Typed, Error> {
        let note = r.home_notes(client)?.into_iter().rev().find(|n| n.day == day);
        let body: Value = note.and_then(|n| serde_json::from_str(n.body.as_str()).ok()).unwrap_or_default();
        let from_home = comes_from_home(&body);
        let session = &body["sessions"][0];
        let number = |v: &Value| v.as_u64().map(|n| n.to_string()).unwrap_or_default();
        let before = |i: usize| {
            let own = number(&session["before"][i]);
            if own.is_empty() { number(&body["levels"][i]) } else { own }
        };
        let context = body["context"].as_array().into_iter().flatten().filter_map(Value::as_str);
        Ok(Typed {
            day: day.to_string(),
            done: body["done"].as_bool().map_or("", |done| if done { "yes" } else { "no" }).to_owned(),
            minutes: number(&body["minutes"]),
            before: [0, 1, 2, 3].map(before),
            after: [0, 1, 2].map(|i| number(&session["after"][i])),
            context: context.map(str::to_owned).collect(),
            cycle: number(&body["cycle_day"]),
            words: body["felt"]["words"].as_str().unwrap_or_default().to_owned(),
            from_home,
            shown: day.to_string(),
            instead: None,
        })
    }

    fn read(form: &[u8]) -> Typed {
        let context = form_urlencoded::parse(form).filter(|(n, _)| n == "context").map(|(_, v)| v.into_owned());
        Typed {
            day: said(form, "day"),
            done: said(form, "done"),
            minutes: said(form, "minutes"),
            before: BEFORE.map(|(name, _)| said(form, name)),
            after: AFTER.map(|(name, _)| said(form, name)),
            context: context.collect(),
            cycle: said(form, "cycle"),
            words: said(form, "words"),
            from_home: false,
            shown: said(form, "shown"),
            instead: None,
        }
    }

    /// The note that is kept of `day`, which is not the day that was shown, `before`: what was typed anew stands where it says nothing.
    fn instead(&self, day: Date, before: &Typed, mut kept: Typed) -> Typed {
        let put = |kept: &mut String, typed: &str, before: &str| {
            if kept.is_empty() && typed != before {
                typed.clone_into(kept);
            }
        };
        put(&mut kept.cycle, &self.cycle, &before.cycle);
        if kept.context.is_empty() {
            kept.context = self.context.iter().filter(|word| !before.context.contains(word)).cloned().collect();
        }
        if !kept.from_home {
            for (i, level) in kept.before.iter_mut().enumerate() {
                put(level, &self.before[i], &before.before[i]);
            }
            // Levels after a session need one, on either day.
            if kept.done == self.done {
                put(&mut kept.minutes, &self.minutes, &before.minutes);
                for (i, level) in kept.after.iter_mut().enumerate() {
                    put(level, &self.after[i], &before.after[i]);
                }
            }
            put(&mut kept.words, &self.words, &before.words);
        }
        let mut said = fill("day.kept_already", &[("day", &date_in_words(day))]);
        let anew = !self.words.is_empty() && self.words != before.words;
        if anew && (kept.from_home || kept.words != self.words) {
            said.push(' ');
            said.push_str(&fill("day.had_typed", &[("words", &self.words)]));
        }
        kept.instead = Some(said);
        kept
    }

    /// Puts it on what is kept of the day; `first`, `last`: the days that can be typed.
    fn onto(&self, kept: Value, [first, last]: [Date; 2]) -> Result<(Date, Value), Vec<Wrong>> {
        let mut wrong: Vec<Wrong> = Vec::new();
        let day = Date::parse(&self.day).filter(|d| *d >= first && *d <= last);
        if day.is_none() {
            let places: [(&str, &dyn std::fmt::Display); 2] =
                [("from", &date_in_words(first)), ("to", &date_in_words(last))];
            wrong.push(("day", fill("day.bad_day", &places)));
        }
        let mut number = |name: &'static str, typed: &str, least: u64, most: u64| -> Option<u64> {
            let read = typed.parse().ok().filter(|n| (least..=most).contains(n));
            if read.is_none() && !typed.is_empty() {
                let typed: String = typed.chars().take(40).collect();
                let places: [(&str, &dyn std::fmt::Display); 3] =
                    [("word", &typed), ("least", &least), ("most", &most)];
                wrong.push((name, fill("weeks.bad_number", &places)));
            }
            read
        };
        let minutes = number("minutes", &self.minutes, 0, MOST_MINUTES);
        let before: Vec<Option<u64>> =
            BEFORE.iter().zip(&self.before).map(|((name, _), typed)| number(name, typed, 0, 10)).collect();
        let after: Vec<Option<u64>> =
            AFTER.iter().zip(&self.after).map(|((name, _), typed)| number(name, typed, 0, 10)).collect();
        let cycle = number("cycle", &self.cycle, 1, MOST_CYCLE);
        let context: Vec<&str> = CONTEXT.into_iter().filter(|w| self.context.iter().any(|c| c == w)).collect();
        if self.words.chars().count() > MOST_WORDS {
            wrong.push(("words", fill("day.long_words", &[("most", &MOST_WORDS)])));
        }
        let home = comes_from_home(&kept);
        let done = self.done == "yes";
        let felt = before.iter().chain(&after).any(Option::is_some);
        let nothing = self.done.is_empty() && !felt && context.is_empty() && cycle.is_none() && self.words.is_empty();
        if nothing && !home {
            wrong.push(("day", text("day.nothing").to_owned()));
        }
        if !home && !done && after.iter().any(Option::is_some) {
            wrong.push(("after_relaxed", text("day.after_what").to_owned()));
        }
        let (Some(day), true) = (day, wrong.is_empty()) else { return Err(wrong) };
        let mut body = if kept.is_object() { kept } else { json!({}) };
        body["context"] = json!(context);
        body["cycle_day"] = json!(cycle);
        if !home {
            let minutes = if done { minutes.unwrap_or(0) } else { 0 };
            let places = body["felt"]["places"].as_array().cloned().unwrap_or_default();
            body["done"] = json!(done);
            body["minutes"] = json!(minutes);
            body["felt"] = json!({ "words": self.words, "places": places });
            body["levels"] = if done { Value::Null } else { json!(before) };
            // Levels of a day without a session are the day's; of a session they are its own.
            let session = json!({
                "at": null, "seconds": minutes * 60, "ended": "whole", "felt": [],
                "before": before, "after": [after[0], after[1], after[2], None::<u64>], "words": "",
            });
            body["sessions"] = if done { json!([session]) } else { json!([]) };
        }
        Ok((day, body))
    }
}

/// Whether a kept note holds sessions that a take-home timed: these are not typed over.
fn comes_from_home(body: &Value) -> bool {
    body["sessions"].as_array().into_iter().flatten().any(|s| s["at"].is_string())
}

/// The section with the form; `first`: nothing else is to be done before it.
pub fn section(s: &Shown, first: bool) -> Markup {
    let t = &s.typed;
    let wrong = s.wrong.as_slice();
    let level =
        |name: &'static str, label: &'static str, typed: &str| line(wrong, name, label, ("number", typed), None);
    let marked = |word: &str| t.context.iter().any(|c| c == word);
    html! {
        section.part #day aria-labelledby="day-title" {
            h2 #day-title { (text("day.title")) }
            (all_wrong(wrong))
            @if let Some(said) = &t.instead { div.missing role="alert" { p { (said) } } }
            form.type-day method="post" action={ (s.at()) "/day#day" } {
                (token())
                input type="hidden" name="shown" value=(t.shown);
                (line(wrong, "day", text("day.day"), ("date", &t.day), Some(text("day.day_hint"))))
                @if t.from_home {
                    p { (text("day.from_home")) }
                } @else {
                    fieldset.field {
                        legend { (text("day.done")) }
                        div.row {
                            @for (value, key) in [("yes", "day.yes"), ("no", "day.no")] {
                                @let id = format!("done-{value}");
                                label.choice for=(id) { input #(id) type="radio" name="done" value=(value) checked[t.done == value]; span { (text(key)) } }
                            }
                        }
                    }
                    (line(wrong, "minutes", text("day.minutes"), ("number", &t.minutes), None))
                    fieldset.field.levels {
                        legend { (text("day.before")) }
                        p.hint { (text("day.levels_hint")) }
                        div.levels { @for (i, (name, label)) in BEFORE.iter().enumerate() { (level(name, text(label), &t.before[i])) } }
                    }
                    fieldset.field.levels {
                        legend { (text("day.after")) }
                        div.levels { @for (i, (name, label)) in AFTER.iter().enumerate() { (level(name, text(label), &t.after[i])) } }
                    }
                }
                fieldset.field {
                    legend { (text("day.context")) }
                    p.hint { (text("day.context_hint")) }
                    div.row {
                        @for word in CONTEXT {
                            @let id = format!("context-{word}");
                            label.choice for=(id) { input #(id) type="checkbox" name="context" value=(word) checked[marked(word)]; span { (context_words(word)) } }
                        }
                    }
                }
                (line(wrong, "cycle", text("day.cycle"), ("number", &t.cycle), Some(text("day.cycle_hint"))))
                @if !t.from_home {
                    (lines("words", text("day.words"), &t.words, 3, None))
                    (bad(wrong, "words"))
                }
                div.act { button.go[first] type="submit" { (text("day.keep")) } }
            }
        }
    }
}

pub async fn keep(State(desk): State<Arc<Desk>>, Path((id, weeks)): Path<(i64, i64)>, request: Request) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let mut typed = Typed::read(&form);
        let mut shown = cabinet.read(|r| Shown::read(r, client, weeks, today, None))?;
        let f = &shown.f;
        let bounds = [f.body.date(f.body.earliest()), f.body.date(f.body.end()).min(today)];
        let day = Date::parse(&typed.day);
        let kept = cabinet.write(keep::now(desk), |w| {
            w.require(client, ConsentKind::Care)?;
            let row = weeks_of(w, client, weeks)?;
            let note = w.home_notes(client)?.into_iter().rev().find(|n| Some(n.day) == day);
            // Blank fields, or those of the day that was shown, must not go onto another day's note.
            let before = Date::parse(&typed.shown).filter(|shown| Some(*shown) != day);
            if let (Some(before), Some(day), true) = (before, day, note.is_some())
                && (bounds[0]..=bounds[1]).contains(&day)
            {
                let before = Typed::kept(w, client, before)?;
                typed = typed.instead(day, &before, Typed::kept(w, client, day)?);
                return Ok(Err(Vec::new()));
            }
            let body = note.as_ref().and_then(|n| serde_json::from_str(n.body.as_str()).ok()).unwrap_or_default();
            typed.from_home = comes_from_home(&body);
            let (day, body) = match typed.onto(body, bounds) {
                Ok(read) => read,
                Err(wrong) => return Ok(Err(wrong)),
            };
            let body = Json::new(body.to_string())?;
            match note {
                Some(note) => w.change_home_note(note.id, &body)?,
                None => {
                    w.add_home_note(client, Some(row.id), day, &body)?;
                }
            }
            Ok(Ok(()))
        })?;
        match kept {
            Ok(()) => Ok(to(&format!("/clients/{client}/weeks/{weeks}?done=saved"))),
            Err(wrong) => {
                shown.typed = typed;
                shown.wrong = wrong;
                Ok(keep::again(shown.page("")))
            }
        }
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn onto(form: &str, kept: Value) -> Result<Value, Vec<&'static str>> {
        let day = |d| Date::parse(d).expect("a day");
        let read = Typed::read(form.as_bytes()).onto(kept, [day("2026-02-01"), day("2026-03-01")]);
        read.map(|r| r.1).map_err(|w| w.into_iter().map(|w| w.0).collect())
    }

    #[test]
    fn a_day_is_kept_as_a_home_note_is() {
        let form = "day=2026-02-20&done=yes&minutes=8&before_relaxed=3&after_relaxed=7&context=cold&context=shouting&cycle=12&words=quiet";
        let body = onto(form, Value::Null).expect("a note");
        assert_eq!((body["done"].clone(), body["minutes"].clone()), (json!(true), json!(8)));
        assert_eq!(body["sessions"][0]["before"], json!([3, null, null, null]));
        assert_eq!(body["sessions"][0]["after"], json!([7, null, null, null]));
        assert_eq!((body["context"].clone(), body["cycle_day"].clone()), (json!(["cold"]), json!(12)));
        assert_eq!(body["felt"]["words"], "quiet");
        let rest = onto("day=2026-02-20&done=no&before_sleep=6", Value::Null).expect("a note");
        assert_eq!((rest["levels"].clone(), rest["sessions"].clone()), (json!([null, null, null, 6]), json!([])));
    }

    #[test]
    fn another_days_note_is_shown_with_what_was_typed_anew() {
        let read = |form: &str| Typed::read(form.as_bytes());
        let before = read("day=2026-02-20&done=yes&minutes=8&cycle=12&context=cold&words=soft");
        let typed = read(
            "day=2026-02-21&shown=2026-02-20&done=yes&minutes=8&cycle=12&context=cold&context=allergy&before_stress=4&after_stress=2&words=a+new+one",
        );
        let kept = || read("day=2026-02-21&shown=2026-02-21&done=no&minutes=0&before_relaxed=3&words=quiet");
        let day = Date::parse("2026-02-21").expect("a day");
        let now = typed.instead(day, &before, kept());
        assert_eq!((now.day.as_str(), now.shown.as_str(), now.done.as_str()), ("2026-02-21", "2026-02-21", "no"));
        assert_eq!((now.minutes.as_str(), now.words.as_str(), now.cycle.as_str()), ("0", "quiet", ""));
        assert_eq!((now.context, now.before), (vec!["allergy".to_owned()], ["3", "4", "", ""].map(str::to_owned)));
        assert_eq!(now.after, ["", "", ""].map(str::to_owned), "there was no session");
        let said = now.instead.expect("words");
        assert!(said.contains("21 February 2026") && said.contains("a new one"), "{said}");
        let nothing = read("day=2026-02-21&shown=2026-02-20").instead(day, &before, kept());
        assert!(!nothing.instead.expect("words").contains("had typed"));
    }

    #[test]
    fn what_came_from_home_is_not_typed_over() {
        let home = json!({ "done": true, "minutes": 9, "sessions": [{ "at": "21:30", "before": [4, null, null, null] }], "felt": { "words": "warm" } });
        let body = onto("day=2026-02-20&context=allergy&done=no&minutes=1", home.clone()).expect("a note");
        assert_eq!(body["sessions"], home["sessions"]);
        assert_eq!((body["minutes"].clone(), body["felt"]["words"].clone()), (json!(9), json!("warm")));
        assert_eq!(body["context"], json!(["allergy"]));
    }

    #[test]
    fn what_is_typed_wrong_is_said_by_its_field() {
        for (form, fields) in [
            ("day=2026-02-20", vec!["day"]),
            ("day=2026-03-02&done=no", vec!["day"]),
            ("day=soon&done=no", vec!["day"]),
            ("day=2026-02-20&done=yes&minutes=601", vec!["minutes"]),
            ("day=2026-02-20&done=yes&before_stress=11&after_stress=x", vec!["before_stress", "after_stress"]),
            ("day=2026-02-20&done=no&after_relaxed=3", vec!["after_relaxed"]),
            ("day=2026-02-20&done=yes&cycle=0", vec!["cycle"]),
        ] {
            assert_eq!(onto(form, Value::Null).err(), Some(fields), "{form}");
        }
    }
}
