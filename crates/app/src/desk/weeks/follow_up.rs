//! The follow-up of one client: how they felt first, then each value with its noise band, the verdict and what would settle it.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{ClientId, ConsentKind, WeeksId};
use maud::{Markup, html};
use vocab::Side;

use super::chart::{self, Words};
use super::plan::where_it_is;
use super::stand::weeks_of;
use crate::catalogue::{fill, full_stop, listed, sentence_case, text};
use crate::desk::keep::{answer, date_in_words};
use crate::desk::map_routes::ok;
use crate::desk::page::{self, Here};
use crate::desk::reply::html as answer_html;
use crate::desk::{Desk, report};
use crate::following::chart::{context_words, lay_out};
use crate::following::one::{self, Felt, Followed, Series};
use crate::following::words;

/// The charts are laid out this wide: for a wide page, two beside each other, and for a narrow page.
const WIDE: f64 = 860.0;
const HALF: f64 = 620.0;
const NARROW: f64 = 340.0;

pub async fn show(State(desk): State<Arc<Desk>>, Path((id, weeks)): Path<(i64, i64)>) -> Response {
    let (client, weeks) = (ClientId::from_number(id), WeeksId::from_number(weeks));
    let Some(today) = desk.today() else { return answer_html(StatusCode::SERVICE_UNAVAILABLE, page::no_clock()) };
    answer(desk, move |_, cabinet| {
        let (f, report) = cabinet.read(|r| {
            weeks_of(r, client, weeks)?;
            r.require(client, ConsentKind::Care)?;
            let f = one::must(r, client, weeks, today)?;
            let report = report::section(r, &f)?;
            Ok((f, report))
        })?;
        Ok(ok(follow_page(&f, &report)))
    })
    .await
}

fn follow_page(f: &Followed, report: &Markup) -> Markup {
    let title = fill("followup.title", &[("name", &f.name)]);
    let at = format!("/clients/{}/weeks/{}", f.client, f.weeks.id);
    let photographs: Vec<(usize, &Series)> = f.series.iter().enumerate().filter(|(_, s)| !s.value.said).collect();
    // The signs are explained beneath the first chart of each part.
    let first_said = f.felt.iter().position(|one| !one.series.visits.is_empty());
    let first_measured = photographs.iter().position(|(_, s)| !s.visits.is_empty());
    let main = html! {
        div.heading {
            div {
                h1 { (title) }
                p.lead { (where_it_is(f)) }
            }
            div.act { a.button href=(at) { (text("weeks.to_plan")) } }
        }
        nav.within aria-label=(text("followup.within")) {
            @for (id, key) in [("felt", "followup.felt"), ("values", "followup.values"), ("pair", "reportpage.section"), ("report", "reportpage.report_part"), ("dose", "followup.dose"), ("mind", "followup.mind")] {
                a href={ "#" (id) } { (text(key)) }
            }
        }
        @if f.plan.is_none() { p.gently { (text("weeks.no_plan")) } }
        section.part.felt #felt aria-labelledby="felt-title" {
            h2 #felt-title { (text("followup.felt")) }
            p.hint { (text("followup.felt_hint")) @if f.felt.iter().any(|one| one.series.holm.is_some()) { " " (text("followup.holm")) } }
            div.two { @for (i, one) in f.felt.iter().enumerate() { (felt(f, one, Some(i) == first_said)) } }
        }
        section.part.values #values aria-labelledby="values-title" {
            h2 #values-title { (text("followup.values")) }
            @if let Some(side) = f.body.fixed.as_ref().and_then(|x| x.side) {
                p.hint { (text(if side == Side::Left { "weeks.works_left" } else { "weeks.works_right" })) " " (text("followup.worked_side")) }
            }
            @if photographs.iter().any(|(_, s)| s.holm.is_some()) { p.hint { (text("followup.holm_beside")) } }
            @if photographs.is_empty() { p { (text(if f.plan.is_some() { "followup.no_values" } else { "followup.none_measured" })) } }
            @for (k, (i, one)) in photographs.iter().enumerate() { (value(f, one, *i == 0, Some(k) == first_measured)) }
            @if let Some(said) = sides(f) { h3 { (text("followup.sides")) } p { (said) } }
        }
        (report)
        section.part #dose aria-labelledby="dose-title" {
            h2 #dose-title { (text("followup.dose")) }
            p { (dose(f)) }
            (beside(f))
        }
        section.part.mind #mind aria-labelledby="mind-title" {
            h2 #mind-title { (text("followup.mind")) }
            p { (words::cause()) }
            p { (words::regression()) }
        }
        p { a href={ "/clients/" (f.client) "#weeks" } { (text("client.to")) } }
    };
    page::whole(Here::Weeks, &title, main)
}

/// One level: a sentence, the difference of the sessions, the chart.
fn felt(f: &Followed, one: &Felt, explained: bool) -> Markup {
    let s = &one.series;
    let name = words::value_name(s.value);
    let said = !s.visits.is_empty() || !one.differences.is_empty();
    let decides = f.body.fixed.as_ref().is_some_and(|x| x.value == s.value);
    html! {
        section.series aria-labelledby={ "felt-" (s.value.name) } {
            h3 #{ "felt-" (s.value.name) } {
                (sentence_case(name))
                @if decides { span.hint { " · " (text("followup.primary")) } }
            }
            @if said {
                (verdict(f, s))
                @if f.looked() { @if let Some(said) = difference(one) { p { (said) } } }
                (picture(f, s, HALF, explained))
                @if decides { @for said in about(f, s) { p.hint { (said) } } }
                (numbers(f, s))
            } @else { p.hint { (text("followup.not_said")) } }
        }
    }
}

/// After less before, in words.
fn difference(one: &Felt) -> Option<String> {
    let level = one.difference.as_ref()?;
    let d = &level.mean;
    let value = one.series.value;
    let key = match (d.low > 0.0, d.high < 0.0) {
        (true, _) => "followup.after_more",
        (_, true) => "followup.after_less",
        _ => "followup.after_same",
    };
    let places: [(&str, &dyn std::fmt::Display); 4] = [
        ("by", &words::amount(d.estimate.abs(), value)),
        ("interval", &words::interval(d, value)),
        ("n", &one.differences.len()),
        ("days", &level.days),
    ];
    Some(fill(key, &places))
}

/// A value that photographs give.
fn value(f: &Followed, s: &Series, primary: bool, explained: bool) -> Markup {
    html! {
        section.series aria-labelledby={ "value-" (s.value.name) } {
            h3 #{ "value-" (s.value.name) } {
                (sentence_case(words::value_name(s.value)))
                @if primary && f.plan.is_some() { span.hint { " · " (text("followup.primary")) } }
            }
            (verdict(f, s))
            @if s.visits.is_empty() { p.hint { (text("followup.no_visits")) } }
            (picture(f, s, WIDE, explained))
            @for said in about(f, s) { p.hint { (said) } }
            (numbers(f, s))
        }
    }
}

/// The one sentence, with dates.
fn verdict_words(f: &Followed, s: &Series) -> Option<String> {
    let (assessment, plan) = (s.assessment.as_ref()?, s.plan.as_ref()?);
    Some(words::sentence_from(assessment, plan, Some(f.body.first)))
}

fn verdict(f: &Followed, s: &Series) -> Markup {
    html! {
        @if let Some(said) = verdict_words(f, s) {
            p.verdict { (said) }
        }
    }
}

/// The noise, an earlier look, the run, odd visits. Before the first look only the noise.
fn about(f: &Followed, s: &Series) -> Vec<String> {
    let (Some(a), Some(plan)) = (&s.assessment, &s.plan) else { return Vec::new() };
    let mut said: Vec<String> = words::noise(a, plan).into_iter().collect();
    if f.looked() {
        said.extend(words::earlier(a, plan, Some(f.body.first)));
        said.extend(a.trend.as_ref().map(|t| words::trend(t, s.value)));
        let odd: Vec<i32> = a.odd.iter().filter_map(|i| s.visits.get(*i)).map(|v| v.day).collect();
        said.extend(words::odd(&odd, Some(f.body.first)));
    }
    said
}

fn picture(f: &Followed, s: &Series, wide: f64, explained: bool) -> Markup {
    let (Some(wide), Some(narrow)) = (lay_out(f, s, wide), lay_out(f, s, NARROW)) else { return html! {} };
    let name = words::value_name(s.value);
    let title = fill("chart.title", &[("value", &name)]);
    let day = |v: Option<&follow::Visit>| v.map(|v| date_in_words(f.body.date(v.day))).unwrap_or_default();
    let sessions = f.days.values().filter(|d| d.done).count();
    let places: [(&str, &dyn std::fmt::Display); 4] = [
        ("n", &s.visits.len()),
        ("first", &day(s.visits.first())),
        ("last", &day(s.visits.last())),
        ("sessions", &sessions),
    ];
    let mut description = fill("chart.says", &places);
    for more in verdict_words(f, s)
        .into_iter()
        .chain(s.assessment.as_ref().zip(s.plan.as_ref()).and_then(|(a, p)| words::noise(a, p)))
    {
        description.push(' ');
        description.push_str(&full_stop(&more));
    }
    let words = Words {
        id: s.value.name,
        title: &title,
        description: &description,
        up: words::unit(s.value),
        said: s.value.said,
        explained,
    };
    chart::series(&wide, &narrow, &words)
}

/// The numbers of the chart as a table.
fn numbers(f: &Followed, s: &Series) -> Markup {
    if s.visits.is_empty() {
        return html! {};
    }
    let odd = |i: usize| f.looked() && s.assessment.as_ref().is_some_and(|a| a.odd.contains(&i));
    html! {
        details.numbers {
            summary { (text("followup.numbers")) span.unseen { ", " (words::value_name(s.value)) } }
            @if let Some(b) = s.assessment.as_ref().and_then(|a| a.baseline) {
                p.hint { (fill("followup.mdc", &[("sem", &words::amount(b.sem, s.value)), ("mdc", &words::amount(b.mdc95, s.value))])) }
            }
            table.numbers {
                caption { (fill("followup.table", &[("value", &words::value_name(s.value)), ("unit", &words::unit(s.value))])) }
                thead { tr {
                    th scope="col" { (text("followup.day")) }
                    th scope="col" { (text("followup.date")) }
                    th scope="col" { (text("followup.value")) }
                    @if !s.value.said { th scope="col" { (text("followup.photographs")) } th scope="col" { (text("followup.scatter")) } }
                } }
                tbody {
                    @for (i, v) in s.visits.iter().enumerate() {
                        tr {
                            th scope="row" { (v.day.to_string().replace('-', "\u{2212}")) }
                            td { (date_in_words(f.body.date(v.day))) }
                            td { (words::number(v.mean, s.value)) @if odd(i) { " " (text("followup.odd")) } }
                            @if !s.value.said {
                                td { (v.count) }
                                td { @if v.count > 1 { (words::number((v.ss / f64::from(v.count - 1)).sqrt(), s.value)) } @else { "–" } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn sides(f: &Followed) -> Option<String> {
    f.body.fixed.as_ref()?.side?;
    let primary = f.primary()?;
    Some(match &f.sides {
        Some(sides) if f.looked() => words::sides(sides, primary.value),
        _ => text("followup.sides_not_yet").to_owned(),
    })
}

fn dose(f: &Followed) -> String {
    // Before a look the relation with the value would be a peep at it.
    let dose = if f.looked() { f.dose } else { follow::Dose { association: None, ..f.dose } };
    words::dose(&dose)
}

/// Incidents, notes and what else stood beside the days, in words.
fn beside(f: &Followed) -> Markup {
    let mut marks: Vec<(i32, String, bool)> = f.written.iter().map(|w| (w.day, w.words.clone(), w.incident)).collect();
    for (day, d) in &f.days {
        let mut said: Vec<String> = d.context.iter().map(|w| crate::catalogue::lower_first(context_words(w))).collect();
        if let Some(n) = d.cycle_day {
            said.push(fill("followup.cycle", &[("n", &n)]));
        }
        if !said.is_empty() {
            marks.push((*day, sentence_case(&listed(&said)), false));
        }
    }
    marks.sort_by_key(|m| m.0);
    html! {
        @if !marks.is_empty() {
            h3 { (text("followup.beside")) }
            p.hint { (text("followup.beside_hint")) }
            ul.log {
                @for (day, said, incident) in &marks {
                    li.incident[*incident] {
                        p.hint { @if *incident { strong { (text("note.incident")) } " · " } (date_in_words(f.body.date(*day))) }
                        p.words { (said) }
                    }
                }
            }
        }
    }
}
