//! The words of a report, part by part.

use follow::{Looks, Value, Verdict, Visit};
use plan::atlas::Atlas;
use press::report::{Chart, Pair, Part, Photograph, Piece, Report};
use vocab::Side;

use super::days::local_day;
use super::evidence::{self, About, Grade};
use super::one::{Felt, Followed, Series};
use super::pair::{Chosen, Colours, SIZE};
use super::report::{Asked, Photographs};
use super::report_chart::svg;
use super::words::{self, amount, day, interval, number, size, value_name};
use crate::catalogue::{atlas_in, fill, full_stop, listed, sentence_case, text};
use crate::desk::keep::{date_in_words, day_in_words};
use crate::desk::visits::conditions;
use crate::language::{self, Language};

/// At most so many incidents are told one by one.
const MOST_TOLD: usize = 12;

/// Fills a report that has its verdict.
pub fn words(mut report: Report, f: &Followed, asked: &Asked<'_>, photographs: Option<&Photographs>) -> Report {
    let verdict = report.verdict().sentence().to_owned();
    report.language = asked.language.tag().to_owned();
    report.title = fill("report.title", &[("name", &f.name)]);
    report.lead = lead(f, asked);
    report.first = [beforehand(f), felt(f)];
    report.chart = f.primary().map(|s| chart(f, s, &verdict)).unwrap_or_default();
    report.beneath = [sessions(f), incidents(f)];
    report.verdict_title = text("report.verdict").to_owned();
    report.verdict_more = more(f);
    report.pair = photographs.map(|p| pair(f, p));
    let atlas = atlas_in(asked.language, asked.atlas);
    report.after = vec![known(f, asked, &atlas), cannot(), made(asked)];
    report.page = text("report.page").to_owned();
    report.goes_on = text("report.goes_on").to_owned();
    report
}

fn lead(f: &Followed, asked: &Asked<'_>) -> Vec<String> {
    let days = [("n", &f.body.days as &dyn std::fmt::Display)];
    let [first, last] = [1, f.body.end()].map(|d| date_in_words(f.body.date(d)));
    let mut said = vec![format!(
        "{} {}",
        fill("report.days", &[days[0], ("first", &first), ("last", &last)]),
        fill("report.made_on", &[("day", &date_in_words(asked.day))])
    )];
    if let Some(ended) = &f.weeks.ended {
        let day = day(f.body.number(ended.day), Some(f.body.first));
        said.push(fill("report.ended", &[("day", &day), ("reason", &full_stop(&ended.reason))]));
    }
    said
}

fn item(lead: &'static str, words: String) -> Vec<Piece> {
    vec![Piece::bold(text(lead)), Piece::plain(full_stop(&words))]
}

/// What was asked beforehand.
fn beforehand(f: &Followed) -> Part {
    let mut items = Vec::new();
    if let (Some(plan), Some(fixed)) = (&f.plan, &f.body.fixed) {
        let (value, unit) = (value_name(plan.value), size(plan.size, plan.value));
        items.push(item("report.value", fill("report.value_is", &[("value", &value), ("size", &unit)])));
        if !fixed.others.is_empty() {
            let others: Vec<&str> = fixed.others.iter().map(|v| value_name(v)).collect();
            items.push(item("report.others", listed(&others)));
        }
        let visits = [("before", &plan.baseline as &dyn std::fmt::Display), ("every", &plan.every)];
        let visits = if plan.value.said {
            fill("report.asked_days", &visits[..1])
        } else {
            fill("report.asked_visits", &[visits[0], visits[1], ("photographs", &plan.photographs)])
        };
        items.push(item("report.visits", visits));
        let times = if f.body.times.is_empty() { String::new() } else { format!(", {}", f.body.times) };
        items.push(item(
            "report.sessions_asked",
            fill("report.days_a_week", &[("n", &f.body.days_a_week), ("times", &times)]),
        ));
        if let Some(side) = fixed.side {
            let side = text(if side == Side::Left { "report.left" } else { "report.right" });
            items.push(item("report.one_side", side.to_owned()));
        }
        let looks: Vec<String> = plan.looks().iter().map(|l| day(l.day, Some(f.body.first))).collect();
        let key = if plan.looks == Looks::Two { "report.two_looks" } else { "report.one_look" };
        items.push(item("report.looks", fill(key, &[("days", &listed(&looks))])));
    }
    let written = f.body.number(local_day(f.weeks.at));
    let first_visit = f.primary().and_then(|s| s.visits.first()).map(|v| v.day);
    // By the moment where a visit has one; a day that was said has none, and counts as the earlier one of a plan of the same day.
    let before = match (f.first_at, first_visit) {
        (Some(at), _) => f.weeks.at.unix() < at.unix(),
        (None, visit) => visit.is_none_or(|v| written < v),
    };
    let key = match written {
        w if w <= 1 && before => "report.fixed",
        w if w <= 1 => "report.fixed_between",
        _ => "report.fixed_late",
    };
    let when = fill(key, &[("day", &day_in_words(f.weeks.at))]);
    Part { title: text("report.beforehand").to_owned(), paragraphs: vec![vec![Piece::plain(when)]], items }
}

/// How they felt: the four levels, by the same rule.
fn felt(f: &Followed) -> Part {
    let primary = f.plan.as_ref().map(|p| p.value);
    let items: Vec<Vec<Piece>> = f.felt.iter().filter_map(|l| level(l, primary == Some(l.series.value))).collect();
    let said = text(if items.is_empty() { "report.felt_none" } else { "report.felt_lead" });
    Part { title: text("report.felt").to_owned(), paragraphs: vec![vec![Piece::plain(said)]], items }
}

fn level(felt: &Felt, primary: bool) -> Option<Vec<Piece>> {
    let series = &felt.series;
    if series.visits.is_empty() && felt.differences.is_empty() {
        return None;
    }
    let lead = match series.value.name {
        "relaxed" => text("report.relaxed"),
        "stress" => text("report.stress"),
        "wellbeing" => text("report.wellbeing"),
        _ => text("report.sleep"),
    };
    let mut said = vec![Piece::bold(lead)];
    if primary {
        said.push(Piece::plain(text("report.felt_primary")));
    } else if let Some(sentence) = in_short(series) {
        said.push(Piece::plain(sentence));
    } else if !series.visits.is_empty() {
        said.push(Piece::plain(fill("report.felt_days", &[("n", &series.visits.len())])));
    }
    if let Some(level) = &felt.difference {
        let (by, within) = (signed(level.mean.estimate, series.value), interval(&level.mean, series.value));
        let of = felt.differences.len();
        said.push(Piece::plain(fill("report.after_session", &[("by", &by), ("interval", &within), ("n", &of)])));
    }
    Some(said)
}

/// A clear change in its sentence, what is none in a few words with the same numbers.
fn in_short(series: &Series) -> Option<String> {
    let (a, plan) = (series.assessment.as_ref()?, series.plan.as_ref()?);
    let key = match (a.verdict?, &a.change) {
        (Verdict::WithinNoise, Some(_)) => "report.felt_noise",
        (Verdict::TooEarly(_), Some(_)) => "report.felt_early",
        (Verdict::ClearChange, _) => return Some(words::sentence(a, plan)),
        _ => return None,
    };
    let change = a.change.as_ref()?;
    Some(fill(key, &[("by", &signed(change.estimate, plan.value)), ("interval", &interval(change, plan.value))]))
}

/// With a plus sign where it is more.
fn signed(n: f64, value: &Value) -> String {
    let said = amount(n, value);
    if n > 0.0 { format!("+{said}") } else { said }
}

fn verdict_of(series: &Series) -> Option<String> {
    Some(words::sentence(series.assessment.as_ref()?, series.plan.as_ref()?))
}

fn chart(f: &Followed, series: &Series, verdict: &str) -> Chart {
    let value = series.value;
    let up = fill("report.chart_up", &[("value", &sentence_case(value_name(value))), ("unit", &words::unit(value))]);
    let visits = run(&series.visits, value);
    let noise = series.assessment.as_ref().zip(series.plan.as_ref()).and_then(|(a, p)| words::noise(a, p));
    let noise = noise.unwrap_or_default();
    let described = fill(
        "report.chart_says",
        &[
            ("value", &value_name(value)),
            ("unit", &words::unit(value)),
            ("visits", &visits.join("; ")),
            ("noise", &noise),
            ("verdict", &verdict),
        ],
    );
    let odd: Vec<i32> = series
        .assessment
        .as_ref()
        .map(|a| a.odd.iter().filter_map(|i| series.visits.get(*i)).map(|v| v.day).collect())
        .unwrap_or_default();
    let signs = [
        Some(text(if value.said { "report.signs_said" } else { "report.signs" }).to_owned()),
        Some(noise).filter(|n| !n.is_empty()),
        words::odd(&odd, Some(f.body.first)),
    ];
    Chart {
        title: fill("report.chart", &[("value", &value_name(value))]),
        svg: svg(f, series, &up).unwrap_or_else(|| EMPTY.to_owned()),
        described,
        caption: signs.into_iter().flatten().collect(),
    }
}

/// At most so many visits are told one by one in the place of the chart; more are told by weeks.
const MOST_VISITS: usize = 16;

/// The visits in words: each, or the mean of each week.
fn run(visits: &[Visit], value: &Value) -> Vec<String> {
    if visits.len() <= MOST_VISITS {
        return visits.iter().map(|v| format!("{}: {}", day(v.day, None), number(v.mean, value))).collect();
    }
    let week = |v: &Visit| (v.day - 1).div_euclid(7);
    let weeks = visits.chunk_by(|a, b| week(a) == week(b));
    weeks
        .map(|w| {
            let mean = w.iter().map(|v| v.mean).sum::<f64>() / w.len() as f64;
            let [from, to] = [&w[0], &w[w.len() - 1]].map(|v| day(v.day, None));
            fill("report.week", &[("from", &from), ("to", &to), ("mean", &number(mean, value))])
        })
        .collect()
}

/// A drawing of nothing.
const EMPTY: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 800 10\"></svg>";

fn sessions(f: &Followed) -> Part {
    let mut paragraphs = vec![vec![Piece::plain(words::dose(&f.dose))]];
    let minutes: Vec<u32> =
        f.days.range(1..).filter(|(_, d)| d.done && d.minutes > 0).map(|(_, d)| d.minutes).collect();
    if !minutes.is_empty() {
        let mean = f64::from(minutes.iter().sum::<u32>()) / minutes.len() as f64;
        paragraphs.push(vec![Piece::plain(fill("report.minutes", &[("n", &format!("{mean:.0}"))]))]);
    }
    if let Some((trend, value)) = f.primary().and_then(|s| Some((s.assessment.as_ref()?.trend.as_ref()?, s.value))) {
        paragraphs.push(vec![Piece::plain(words::trend(trend, value))]);
    }
    Part { title: text("report.sessions").to_owned(), paragraphs, items: Vec::new() }
}

/// What went wrong, with its day. Free notes are the practitioner's, and stay with them.
fn incidents(f: &Followed) -> Part {
    let all: Vec<_> = f.written.iter().filter(|w| w.incident).collect();
    let told = all.iter().take(MOST_TOLD).map(|w| {
        vec![
            Piece::bold(format!("{}:", sentence_case(&day(w.day, Some(f.body.first))))),
            Piece::plain(full_stop(&w.words)),
        ]
    });
    let items: Vec<Vec<Piece>> = told.collect();
    let mut paragraphs = Vec::new();
    if items.is_empty() {
        paragraphs.push(vec![Piece::plain(text("report.no_incidents"))]);
    } else if all.len() > MOST_TOLD {
        paragraphs.push(vec![Piece::plain(fill("report.more_incidents", &[("n", &MOST_TOLD), ("all", &all.len())]))]);
    }
    if f.days.values().any(|d| !d.context.is_empty()) {
        paragraphs.push(vec![Piece::plain(text("report.context"))]);
    }
    Part { title: text("report.incidents").to_owned(), paragraphs, items }
}

/// What stands below the verdict: the earlier look, the sides, the values beside it.
fn more(f: &Followed) -> Vec<String> {
    let mut said = Vec::new();
    let Some((primary, plan)) = f.primary().zip(f.plan.as_ref()) else { return said };
    said.extend(primary.assessment.as_ref().and_then(|a| words::earlier(a, plan, Some(f.body.first))));
    said.extend(f.sides.as_ref().map(|s| words::sides(s, plan.value)));
    for other in f.series.iter().skip(1) {
        if let Some(sentence) = verdict_of(other) {
            said.push(fill(
                "report.beside",
                &[("value", &sentence_case(value_name(other.value))), ("verdict", &sentence)],
            ));
        }
    }
    said
}

fn pair(f: &Followed, photographs: &Photographs) -> Pair {
    let [first, latest] = &photographs.chosen;
    let between = latest.day - first.day;
    let mut how = vec![
        fill("report.pair_days", &[("n", &between)]),
        text("report.pair_rule").to_owned(),
        text("report.pair_eyes").to_owned(),
        text(colours(photographs.made.colours)).to_owned(),
    ];
    if photographs.made.closer {
        how.push(text("report.pair_closer").to_owned());
    }
    how.push(text("report.pair_mind").to_owned());
    let one = |k: usize, key: &'static str, chosen: &Chosen| {
        let when = day(chosen.day, Some(f.body.first));
        let mut caption = vec![fill(key, &[("day", &when)])];
        caption.push(light(chosen));
        Photograph {
            jpeg: photographs.made.jpeg[k].clone(),
            size: SIZE,
            described: fill("report.photograph", &[("day", &when), ("light", &light(chosen))]),
            caption,
        }
    };
    Pair {
        title: text("report.pair").to_owned(),
        photographs: [one(0, "report.first_photo", first), one(1, "report.latest_photo", latest)],
        how,
    }
}

/// In which light the two are shown.
pub fn colours(colours: Colours) -> &'static str {
    match colours {
        Colours::Matched => "report.by_card",
        Colours::NoCard => "report.no_card",
        Colours::OneCard => "report.one_card",
    }
}

/// Under which conditions a photograph was taken, in one sentence; free notes are left out.
pub fn light(chosen: &Chosen) -> String {
    let rows = conditions(&chosen.visit);
    let said: Vec<String> = rows
        .into_iter()
        .filter(|(name, _, _)| *name != "notes")
        .map(|(_, what, value)| fill("report.condition", &[("what", &what), ("value", &value)]))
        .collect();
    if said.is_empty() { text("report.no_conditions").to_owned() } else { full_stop(&said.join("; ")) }
}

/// What is known of the concerns, and of massage of the face, from trials.
fn known(f: &Followed, asked: &Asked<'_>, atlas: &Atlas) -> Part {
    let mut items = Vec::new();
    for concern in asked.concerns.iter().filter_map(|c| atlas.concerns.get(c.0)) {
        items.push(vec![
            Piece::bold(format!("{}:", sentence_case(&concern.name))),
            Piece::plain(concern.known.clone()),
            Piece::plain(source(&concern.source)),
        ]);
    }
    let under_eyes = f.primary().is_some_and(|s| ["dE00", "dL", "brown", "blue_red", "relief"].contains(&s.value.name));
    let told = asked.concerns.iter().any(|c| atlas.concerns.get(c.0).is_some_and(|c| c.id == "shadows_under_eyes"));
    for fact in evidence::facts() {
        let fits = match fact.about {
            About::Face => true,
            // Where the concern itself is told, it says the same.
            About::UnderEyes => under_eyes && !told,
            About::Levels => f.felt.iter().any(|l| !l.series.visits.is_empty() || !l.differences.is_empty()),
        };
        if fits {
            let grade = match fact.grade {
                Grade::VeryLow => Some(text("report.grade_very_low")),
                Grade::Low => Some(text("report.grade_low")),
                Grade::Code => None,
            };
            let mut said =
                vec![Piece::plain(fact.says()), Piece::plain(fill("report.source", &[("source", &fact.source)]))];
            said.extend(grade.map(Piece::plain));
            items.push(said);
        }
    }
    let lead = vec![Piece::plain(text("report.known_lead"))];
    Part { title: text("report.known").to_owned(), paragraphs: vec![lead], items }
}

/// A source as it stands in the data; in another language than that of the data, what can be looked up of it.
fn source(words: &str) -> String {
    let words = if language::now() == Language::English { words.to_owned() } else { citations(words) };
    if words.is_empty() { String::new() } else { fill("report.source", &[("source", &words)]) }
}

/// The parts of a source that name a year, without the remarks on how it was read.
fn citations(source: &str) -> String {
    let year = |part: &&str| {
        part.as_bytes()
            .windows(4)
            .any(|w| w.iter().all(u8::is_ascii_digit) && (w.starts_with(b"19") || w.starts_with(b"20")))
    };
    let bare = |part: &str| {
        let part = part.split(", grade").next().unwrap_or(part);
        let part = part.split(", abstract").next().unwrap_or(part);
        part.split(" (").next().unwrap_or(part).trim().to_owned()
    };
    source.split("; ").filter(year).map(bare).collect::<Vec<_>>().join("; ")
}

/// What cannot be said: the same in every report.
fn cannot() -> Part {
    let said = [
        words::cause(),
        text("report.one_person"),
        words::regression(),
        text("report.other_light"),
        text("report.expected"),
        text("report.next"),
    ];
    let items = said.into_iter().map(|t| vec![Piece::plain(t)]).collect();
    Part { title: text("report.cannot").to_owned(), paragraphs: Vec::new(), items }
}

/// Who made it.
fn made(asked: &Asked<'_>) -> Part {
    let by = match asked.by.trim() {
        "" => fill("report.by_nobody", &[("day", &date_in_words(asked.day))]),
        name => fill("report.by", &[("name", &name), ("day", &date_in_words(asked.day))]),
    };
    let paragraphs = [by.as_str(), text("report.with"), text("page.no_medicine")];
    Part {
        title: text("report.who").to_owned(),
        paragraphs: paragraphs.into_iter().map(|t| vec![Piece::plain(t)]).collect(),
        items: Vec::new(),
    }
}
