//! One plan of weeks: what it says, its days, what is due, a day to type, and its end.

use std::sync::Arc;

use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, Error, ErrorKind, Reader, WeeksId};
use follow::Looks;
use maud::{Markup, html};
use vocab::{Date, Side};

use super::ask::Wrong;
use super::day::{self, Typed};
use super::stand::{self, Due, weeks_of};
use super::{aid, calendar};
use crate::catalogue::{fill, listed, sentence_case, text};
use crate::desk::clients::{form, said};
use crate::desk::keep::{self, answer, date_in_words};
use crate::desk::map_routes::{ok, to, value};
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::desk::visitor::token;
use crate::desk::{Desk, fields};
use crate::following::one::{self, Followed};
use crate::following::words::{size, value_name};

type Shared = State<Arc<Desk>>;

/// Everything that the page shows.
pub struct Shown {
    pub f: Followed,
    pub today: Date,
    /// The routine, in words.
    routine: Option<String>,
    /// Whether it may still be changed.
    open: bool,
    /// The day that is typed.
    pub typed: Typed,
    /// What is wrong in it.
    pub wrong: Vec<Wrong>,
    /// What is wrong about ending early, and what was typed there.
    pub end: Option<(String, String, String)>,
}

impl Shown {
    /// Reads it; `day` is the day to type.
    ///
    /// # Errors
    /// There are no such weeks of this client, there is no consent to care; of the store.
    pub fn read(
        r: &Reader<'_>,
        client: ClientId,
        weeks: WeeksId,
        today: Date,
        day: Option<Date>,
    ) -> Result<Shown, Error> {
        let row = weeks_of(r, client, weeks)?;
        r.require(client, ConsentKind::Care)?;
        let f = one::one(r, client, weeks, today)?.ok_or(ErrorKind::NoSuch(WeeksId::WORD, weeks.number()))?;
        let routine = match row.version {
            None => None,
            Some(version) => {
                let version = r.version(version)?;
                let name = r.routine(version.routine)?.name;
                Some(fill("weeks.version", &[("name", &name), ("n", &version.number)]))
            }
        };
        let open = stand::is_open(r, client, &row, today)?;
        let day = day.unwrap_or_else(|| f.body.date(f.today.clamp(f.body.begins(), f.body.end())).min(today));
        let typed = Typed::kept(r, client, day)?;
        Ok(Shown { f, today, routine, open, typed, wrong: Vec::new(), end: None })
    }

    /// Its address.
    pub fn at(&self) -> String {
        format!("/clients/{}/weeks/{}", self.f.client, self.f.weeks.id)
    }

    /// The page; `query`: the address's, for what was done.
    pub fn page(&self, query: &str) -> Markup {
        let f = &self.f;
        let title = fill("weeks.title", &[("name", &f.name)]);
        let due = stand::due(f);
        let main = html! {
            div.heading {
                div {
                    h1 { (title) }
                    p.lead { (where_it_is(f)) }
                }
                div.act { a.button href={ (self.at()) "/follow" } { (text("weeks.to_follow")) } }
            }
            (fields::done(query))
            @if f.weeks.ended.is_none() { (due_today(f, &due)) }
            section.part #plan aria-labelledby="plan-title" {
                h2 #plan-title { (text("weeks.plan")) }
                @for said in in_words(f) { p { (said) } }
                @if let Some(routine) = &self.routine { p { (fill("weeks.runs", &[("routine", routine)])) } }
                @if f.plan.is_some() { p.hint { (text(if self.open { "weeks.still_open" } else { "weeks.now_fixed" })) } }
                @if self.open {
                    div.act {
                        a.button href={ (self.at()) "/change" } { (text("weeks.change")) }
                        form method="post" action={ (self.at()) "/remove" } { (token()) button.quiet type="submit" { (text("weeks.remove")) } }
                    }
                }
            }
            section.part #days aria-labelledby="days-title" {
                h2 #days-title { (text("weeks.the_days")) }
                (calendar::table(f, self.today, &self.at()))
            }
            (day::section(self, !(due.visit || due.missed.is_some() || due.look)))
            (self.ending())
            p { a href={ "/clients/" (f.client) "#weeks" } { (text("client.to")) } }
        };
        page::whole(Here::Weeks, &title, main)
    }

    /// To end early, with a reason; or that it was.
    fn ending(&self) -> Markup {
        let f = &self.f;
        if f.weeks.ended.is_some() || f.today > f.body.end() || (self.open && self.end.is_none()) {
            return html! {};
        }
        let (why, day, reason) =
            self.end.clone().unwrap_or_else(|| (String::new(), self.today.to_string(), String::new()));
        let wrong = self.end.is_some();
        html! {
            section.part #ending aria-labelledby="ending-title" {
                h2 #ending-title { (text("weeks.ending")) }
                details.add open[wrong] {
                    summary { (text("weeks.end_early")) }
                    form method="post" action={ (self.at()) "/end#ending" } {
                        (token())
                        p.hint { (text("weeks.end_hint")) }
                        (fields::wrong(Some(why.as_str()).filter(|_| wrong)))
                        (fields::Field::text("last", text("weeks.end_day"), &day).kind("date").required().show())
                        (fields::lines("reason", text("weeks.end_reason"), &reason, 3, None))
                        div.act { button type="submit" { (text("weeks.end")) } }
                    }
                }
            }
        }
    }
}

/// Where the weeks are today.
pub fn where_it_is(f: &Followed) -> String {
    let first = date_in_words(f.body.first);
    if let Some(ended) = &f.weeks.ended {
        return fill("weeks.ended", &[("day", &date_in_words(ended.day)), ("reason", &ended.reason)]);
    }
    match f.today {
        day if day > f.body.end() => fill("weeks.over", &[("day", &date_in_words(f.body.date(f.body.end())))]),
        day if day >= 1 => fill("weeks.day_of", &[("day", &day), ("days", &f.body.end()), ("first", &first)]),
        day if day >= f.body.begins() && f.plan.is_some() => {
            fill("weeks.in_baseline", &[("first", &first), ("in", &days_words(1 - day))])
        }
        day => fill("weeks.ahead", &[("first", &first), ("in", &days_words(1 - day))]),
    }
}

fn days_words(days: i32) -> String {
    if days == 1 { text("weeks.one_day").to_owned() } else { fill("weeks.n_days", &[("n", &days)]) }
}

/// The plan in sentences.
pub fn in_words(f: &Followed) -> Vec<String> {
    let body = &f.body;
    let last = date_in_words(body.date(body.end()));
    let mut said = Vec::new();
    let times = if body.times.is_empty() { String::new() } else { fill("weeks.at_times", &[("times", &body.times)]) };
    let week = if body.days_a_week == 7 {
        text("weeks.each_day").to_owned()
    } else {
        fill("weeks.on_days", &[("n", &body.days_a_week)])
    };
    let places: [(&str, &dyn std::fmt::Display); 5] = [
        ("days", &body.days),
        ("first", &date_in_words(body.first)),
        ("last", &last),
        ("week", &week),
        ("times", &times),
    ];
    said.push(fill("weeks.schedule", &places));
    let (Some(fixed), Some(plan)) = (&body.fixed, &f.plan) else {
        said.push(text("weeks.no_plan").to_owned());
        return said;
    };
    let places: [(&str, &dyn std::fmt::Display); 2] =
        [("value", &value_name(fixed.value)), ("size", &size(fixed.size, fixed.value))];
    said.push(fill("weeks.follows", &places));
    if !fixed.others.is_empty() {
        let names: Vec<&str> = fixed.others.iter().map(|v| value_name(v)).collect();
        said.push(fill("weeks.beside", &[("values", &listed(&names))]));
    }
    let photographs = text(if fixed.photographs == 3 { "weeks.three" } else { "weeks.two" });
    let places: [(&str, &dyn std::fmt::Display); 3] = [
        ("n", &fixed.baseline),
        ("every", &sentence_case(&aid::every_words(fixed.every))),
        ("photographs", &photographs),
    ];
    said.push(if fixed.value.said { fill("weeks.visits_said", &places[..1]) } else { fill("weeks.visits", &places) });
    let looks: Vec<String> = plan.looks().iter().map(|l| date_in_words(body.date(l.day))).collect();
    said.push(match fixed.looks {
        Looks::One => fill("weeks.looks_once", &[("day", &looks[0])]),
        Looks::Two => fill("weeks.looks_twice", &[("days", &listed(&looks))]),
    });
    if let Some(side) = fixed.side {
        said.push(text(if side == Side::Left { "weeks.works_left" } else { "weeks.works_right" }).to_owned());
    }
    if fixed.measure_later {
        said.push(text("weeks.measures_later").to_owned());
    } else if usize::from(fixed.baseline) < follow::Plan::LEAST_BASELINE {
        said.push(text("weeks.few_baseline").to_owned());
    }
    said
}

/// What is due today, and the one thing to do first.
fn due_today(f: &Followed, due: &Due) -> Markup {
    if !stand::runs(f) {
        return html! {};
    }
    let at = format!("/clients/{}", f.client);
    let said = due_words(f, due);
    html! {
        section.part.due-today #due aria-labelledby="due-title" {
            h2 #due-title { (text("weeks.due_today")) }
            @if said.is_empty() { p { (text("weeks.nothing_due")) } }
            ul.why { @for one in &said { li { (one) } } }
            div.act {
                @if due.visit || due.missed.is_some() { a.button.go href={ (at) "/visits/new" } { (text("weeks.to_visit")) } }
                @else if due.look { a.button.go href={ (at) "/weeks/" (f.weeks.id) "/follow" } { (text("weeks.to_look")) } }
            }
        }
    }
}

/// What is due, a sentence each.
pub fn due_words(f: &Followed, due: &Due) -> Vec<String> {
    let mut said = Vec::new();
    if due.visit {
        let n = f.body.fixed.as_ref().map_or(2, |x| x.photographs);
        let photographs = text(if n == 3 { "weeks.three" } else { "weeks.two" });
        said.push(fill("weeks.due_visit", &[("photographs", &photographs)]));
    } else if let Some(day) = due.missed {
        said.push(fill("weeks.due_missed", &[("day", &date_in_words(f.body.date(day)))]));
    }
    if due.level {
        said.push(text("weeks.due_level").to_owned());
    }
    if due.session {
        said.push(text("weeks.due_session").to_owned());
    }
    if due.look {
        said.push(text("weeks.due_look").to_owned());
    }
    match due.silent.len() {
        0 => {}
        1 => said.push(fill("weeks.due_note", &[("day", &date_in_words(f.body.date(due.silent[0])))])),
        n => said.push(fill("weeks.due_notes", &[("n", &n)])),
    }
    said
}

pub async fn show(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>, request: Request) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |_, cabinet| {
        let day = value(query.as_bytes(), "day").and_then(|d| Date::parse(&d)).filter(|d| *d <= today);
        let shown = cabinet.read(|r| Shown::read(r, client, weeks, today, day))?;
        Ok(ok(shown.page(&query)))
    })
    .await
}

pub async fn end(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>, request: Request) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        let (day, reason) = (said(&form, "last"), said(&form, "reason"));
        let mut shown = cabinet.read(|r| Shown::read(r, client, weeks, today, None))?;
        let last = Date::parse(&day);
        let begins = shown.f.body.date(shown.f.body.begins());
        let good = last.filter(|d| *d >= begins && *d <= today && shown.f.body.number(*d) <= shown.f.body.end());
        let why = match good {
            None => Some(fill("weeks.bad_end", &[("from", &date_in_words(begins)), ("to", &date_in_words(today))])),
            Some(_) if reason.is_empty() => Some(text("weeks.no_reason").to_owned()),
            Some(_) => None,
        };
        if let Some(why) = why {
            shown.end = Some((why, day, reason));
            return Ok(keep::again(shown.page("")));
        }
        cabinet.write(keep::now(desk), |w| {
            w.require(client, ConsentKind::Care)?;
            weeks_of(w, client, weeks)?;
            w.end_weeks(weeks, good.unwrap_or(today), &reason)
        })?;
        Ok(to(&format!("/clients/{client}/weeks/{weeks}?done=saved")))
    })
    .await
}

pub async fn remove(State(desk): Shared, Path((id, weeks)): Path<(i64, i64)>) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |desk, cabinet| {
        cabinet.write(keep::now(desk), |w| {
            let row = weeks_of(w, client, weeks)?;
            if !stand::is_open(w, client, &row, today)? {
                return Err(ErrorKind::Unchangeable("plan of weeks").into());
            }
            w.remove_weeks(weeks)
        })?;
        Ok(to(&format!("/clients/{client}?done=gone#weeks")))
    })
    .await
}
