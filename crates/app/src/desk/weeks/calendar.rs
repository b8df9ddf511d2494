//! The days of a plan as a calm strip: what was asked and what was done, a week a row.

use follow::LAST_WEEK;
use maud::{Markup, html};
use vocab::Date;

use super::stand::{last, visits};
use crate::catalogue::{fill, text};
use crate::desk::keep::date_in_words;
use crate::following::one::Followed;

/// What a day shows, each with its words.
#[derive(Default)]
struct Signs {
    asked: bool,
    visited: bool,
    done: bool,
    noted: bool,
    silent: bool,
    look: bool,
    incident: bool,
}

const WEEKDAYS: [&str; 7] = ["weeks.mon", "weeks.tue", "weeks.wed", "weeks.thu", "weeks.fri", "weeks.sat", "weeks.sun"];

/// Monday is 0.
fn weekday(day: Date) -> i64 {
    // 1 January 2024 was a Monday.
    Date::new(2024, 1, 1).map_or(0, |monday| day.days_since(monday).rem_euclid(7))
}

/// The days as a table, Monday first; `at` is the address of the weeks.
pub fn table(f: &Followed, today: Date, at: &str) -> Markup {
    let body = &f.body;
    let (first, end) = (body.date(body.begins()), body.date(body.end()));
    let Some(monday) = first.plus(-weekday(first)) else { return html! {} };
    let rows = (end.days_since(monday) / 7) + 1;
    html! {
        table.days {
            caption.unseen { (text("weeks.the_days")) }
            thead { tr { @for key in WEEKDAYS { th scope="col" { (text(key)) } } } }
            tbody {
                @for week in 0..rows {
                    tr {
                        @for at_day in 0..7 {
                            @let day = monday.plus(7 * week + at_day).unwrap_or(first);
                            @if day < first || day > end { td.outside {} } @else { (cell(f, day, today, at)) }
                        }
                    }
                }
            }
        }
        ul.legend {
            @if f.plan.is_some() {
                @for (class, key) in [("line-baseline", "chart.baseline"), ("line-last", "chart.last_week")] {
                    li { span.sign.(class) aria-hidden="true" {} (text(key)) }
                }
            }
            @for (class, key) in [
                ("asked", "weeks.sign_asked"), ("visited", "weeks.sign_visited"), ("done", "weeks.sign_done"),
                ("silent", "weeks.sign_silent"), ("look", "weeks.sign_look"), ("incident", "weeks.sign_incident"),
            ] { li { span.sign.(class) aria-hidden="true" {} (text(key)) } }
        }
    }
}

fn signs(f: &Followed, number: i32) -> Signs {
    let day = f.days.get(&number);
    let counts = number <= last(f);
    let photographs = f.series.iter().any(|s| !s.value.said);
    let plan = f.plan.as_ref().filter(|_| counts);
    Signs {
        asked: photographs && plan.is_some_and(|p| p.visit_days().contains(&number)),
        visited: visits(f).contains(&number),
        done: day.is_some_and(|d| d.done),
        noted: day.is_some_and(|d| d.noted),
        silent: counts && number >= 1 && number < f.today && !day.is_some_and(|d| d.noted),
        look: plan.is_some_and(|p| p.looks().iter().any(|l| l.day == number)),
        incident: f.written.iter().any(|w| w.incident && w.day == number),
    }
}

/// The month of a day in words, where a new one begins: in three letters, there is no room for more.
fn month(day: Date, first: Date) -> Option<String> {
    let begins = day == first || day.to_string().ends_with("-01");
    let words = date_in_words(day);
    begins.then(|| words.split(' ').nth(1).unwrap_or_default().chars().take(3).collect())
}

fn cell(f: &Followed, day: Date, today: Date, at: &str) -> Markup {
    let month = month(day, f.body.date(f.body.begins()));
    let number = f.body.number(day);
    let s = signs(f, number);
    let last_week =
        f.plan.as_ref().and_then(|p| p.looks().last().map(|l| l.day)).is_some_and(|look| number > look - LAST_WEEK);
    let class = match number {
        n if n < 1 => "baseline",
        n if n > last(f) => "after",
        _ if last_week => "last-week",
        _ => "worked",
    };
    let said: Vec<&str> = [
        (s.asked && !s.visited, "weeks.sign_asked"),
        (s.visited, "weeks.sign_visited"),
        (s.done, "weeks.sign_done"),
        (s.noted && !s.done, "weeks.sign_noted"),
        (s.silent, "weeks.sign_silent"),
        (s.look, "weeks.sign_look"),
        (s.incident, "weeks.sign_incident"),
    ]
    .into_iter()
    .filter(|(is, _)| *is)
    .map(|(_, key)| text(key))
    .collect();
    let label = if number >= 1 {
        fill("weeks.cell", &[("n", &number), ("day", &date_in_words(day))])
    } else {
        fill("weeks.cell_before", &[("day", &date_in_words(day))])
    };
    let inner = html! {
        span.number aria-hidden="true" {
            (day.to_string().rsplit('-').next().unwrap_or_default().trim_start_matches('0'))
            @if let Some(month) = month { " " (month) }
        }
        span.unseen { (label) @if !said.is_empty() { ": " (said.join(", ")) } }
        span.signs aria-hidden="true" {
            @if s.visited { span.sign.visited {} } @else if s.asked { span.sign.asked {} }
            @if s.done { span.sign.done {} } @else if s.silent { span.sign.silent {} }
            @if s.look { span.sign.look {} }
            @if s.incident { span.sign.incident {} }
        }
    };
    html! {
        td class=(class) aria-current=[(day == today).then_some("date")] {
            @if day <= today { a href={ (at) "?day=" (day) "#day" } { (inner) } } @else { span.ahead { (inner) } }
        }
    }
}
