//! How a series is drawn, as plain places and words: the page makes an SVG of it, the report a picture on paper.
//!
//! Everything is in the units of [`Chart::width`], x to the right and y downward.

use follow::{LAST_WEEK, Visit};

use super::days::CONTEXT;
use super::one::{Followed, Series};
use crate::catalogue::text;

/// Room for the numbers and the names of the rows on the left, for the days, and for one row beneath.
const WIDE_LEFT: f64 = 100.0;
const NARROW_LEFT: f64 = 62.0;
const UNDER: f64 = 30.0;
const ROW: f64 = 22.0;
/// How much room the lines take from top to bottom.
const HIGH: f64 = 230.0;

/// A stretch of days that a verdict compares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Before the first worked day.
    Baseline,
    /// The week before the look.
    LastWeek,
}

/// A visit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dot {
    /// Where.
    pub at: [f64; 2],
    /// The ends of its own uncertainty: 1.96 standard errors of its photographs each way.
    pub ends: [f64; 2],
    /// Whether it lies far from the line; it is kept.
    pub odd: bool,
}

/// What stands on a row beneath the days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// A day with a session.
    Session,
    /// Something that went wrong.
    Incident,
    /// A note.
    Note,
    /// A short night, a cold and the like.
    Context,
}

/// A row beneath the days, named in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What stands on it.
    pub sign: Sign,
    /// Its name.
    pub words: &'static str,
    /// Its middle.
    pub y: f64,
    /// Where a sign stands.
    pub at: Vec<f64>,
}

/// A series as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// The whole width.
    pub width: f64,
    /// The whole height.
    pub height: f64,
    /// The lines' part: left, top, right, bottom.
    pub plot: [f64; 4],
    /// The stretches that are compared: which, from where, to where.
    pub phases: Vec<(Phase, [f64; 2])>,
    /// The noise band: the baseline's mean give or take what one visit scatters; top and bottom.
    pub band: Option<[f64; 2]>,
    /// Where the first worked day begins.
    pub first: f64,
    /// Where today is, while the weeks run.
    pub today: Option<f64>,
    /// The fitted lines, from where to where: the baseline's level, then the worked days'. None before the first look.
    pub lines: Vec<[[f64; 2]; 2]>,
    /// The visits.
    pub dots: Vec<Dot>,
    /// Numbers on the left, with their height.
    pub values: Vec<(f64, String)>,
    /// Days under the lines.
    pub days: Vec<(f64, String)>,
    /// Rows beneath.
    pub rows: Vec<Row>,
}

/// Lays a series out in this width; none without a visit.
pub fn lay_out(f: &Followed, series: &Series, width: f64) -> Option<Chart> {
    let first_visit = series.visits.first()?.day;
    let (from, to) = (first_visit.min(f.body.begins()).max(f.body.earliest()) - 1, f.body.end() + 1);
    let left = if width > 500.0 { WIDE_LEFT } else { NARROW_LEFT };
    let plot = [left, 22.0, width - 10.0, 22.0 + HIGH];
    let x = |day: f64| plot[0] + (day - f64::from(from)) / f64::from(to - from) * (plot[2] - plot[0]);
    let assessment = series.assessment.as_ref();
    let within = assessment.and_then(|a| a.fit).map_or(series.prior.within, |f| f.within);
    let ends = |v: &Visit| {
        let half = 1.96 * within / f64::from(v.count.max(1)).sqrt();
        [v.mean - half, v.mean + half]
    };
    let band = assessment.and_then(|a| a.baseline).map(|b| [b.mean + 1.96 * b.sem, b.mean - 1.96 * b.sem]);
    let seen: Vec<f64> = series.visits.iter().flat_map(ends).chain(band.into_iter().flatten()).collect();
    let scale = Scale::of(&seen, series.value.range, series.value.said);
    let y = |value: f64| plot[3] - (value - scale.low) / (scale.high - scale.low) * HIGH;

    let dots = series.visits.iter().enumerate().map(|(i, v)| Dot {
        at: [x(f64::from(v.day)), y(v.mean)],
        ends: ends(v).map(y),
        odd: f.looked() && assessment.is_some_and(|a| a.odd.contains(&i)),
    });
    let look = assessment.and_then(|a| a.look).map_or(f.body.end(), |l| l.day);
    let mut phases = Vec::new();
    if series.plan.is_some() {
        phases.push((Phase::Baseline, [x(f64::from(from)), x(0.5)]));
        phases.push((Phase::LastWeek, [x(f64::from(look - LAST_WEEK) + 0.5), x(f64::from(look) + 0.5)]));
    }
    let mut lines = Vec::new();
    if let (Some(fit), true) = (assessment.and_then(|a| a.fit), assessment.is_some_and(|a| a.change.is_some())) {
        let line = |day: f64| fit.base + fit.change + fit.slope * (day - fit.read);
        let (one, last) = (1.0, f64::from(look));
        let held = |value: f64| y(value.clamp(scale.low, scale.high));
        lines.push([[x(f64::from(first_visit)), held(fit.base)], [x(0.0), held(fit.base)]]);
        lines.push([[x(one), held(line(one))], [x(last), held(line(last))]]);
    }
    let rows = rows(f, from, plot[3] + UNDER, &x);
    let height = rows.last().map_or(plot[3] + UNDER, |r| r.y + ROW / 2.0);
    Some(Chart {
        width,
        height,
        plot,
        phases,
        band: band.map(|b| b.map(y)),
        first: x(0.5),
        today: (f.today >= from && f.today <= f.body.end()).then(|| x(f64::from(f.today))),
        lines,
        dots: dots.collect(),
        values: scale.ticks().into_iter().map(|v| (y(v), scale.words(v))).collect(),
        days: day_ticks(from, f.body.end())
            .into_iter()
            .map(|d| (x(f64::from(d)), d.to_string().replace('-', "\u{2212}")))
            .collect(),
        rows,
    })
}

/// The days that are named: the first worked one, whole weeks, and where it begins.
fn day_ticks(from: i32, end: i32) -> Vec<i32> {
    let step = if end <= 35 { 7 } else { 7 * (end / 28 + 1) };
    let mut days: Vec<i32> = (1..).map(|k| -k * step).take_while(|d| *d > from).collect();
    days.reverse();
    days.push(1);
    days.extend((1..).map(|k| k * step).take_while(|d| *d <= end));
    days
}

fn rows(f: &Followed, from: i32, top: f64, x: &dyn Fn(f64) -> f64) -> Vec<Row> {
    let mut found: Vec<(Sign, &'static str, Vec<i32>)> = Vec::new();
    let sessions: Vec<i32> = f.sessions.iter().filter(|s| s.1).map(|s| s.0).collect();
    found.push((Sign::Session, text("chart.sessions"), sessions));
    let of = |incident: bool| f.written.iter().filter(|w| w.incident == incident).map(|w| w.day).collect::<Vec<i32>>();
    found.push((Sign::Incident, text("chart.incidents"), of(true)));
    for word in CONTEXT {
        let days = f.days.iter().filter(|(_, d)| d.context.contains(&word)).map(|(day, _)| *day).collect();
        found.push((Sign::Context, context_words(word), days));
    }
    found.push((Sign::Note, text("chart.notes"), of(false)));
    let shown = found.into_iter().map(|(sign, words, days)| {
        let at: Vec<f64> = days.into_iter().filter(|d| *d > from).map(|d| x(f64::from(d))).collect();
        (sign, words, at)
    });
    // Sessions always have their row, so that none done is seen too.
    let shown = shown.filter(|(sign, _, at)| *sign == Sign::Session || !at.is_empty());
    shown.enumerate().map(|(i, (sign, words, at))| Row { sign, words, y: top + ROW * (i as f64 + 0.5), at }).collect()
}

/// A word of [`CONTEXT`] as people read it.
pub fn context_words(word: &str) -> &'static str {
    match word {
        "short_night" => text("chart.short_night"),
        "cold" => text("chart.cold"),
        "allergy" => text("chart.allergy"),
        _ => text("chart.salty_meal"),
    }
}

/// The numbers on the left.
struct Scale {
    low: f64,
    high: f64,
    step: f64,
}

impl Scale {
    /// Around what is seen; what is said is drawn on all of its scale.
    fn of(seen: &[f64], range: [f64; 2], said: bool) -> Scale {
        let (mut low, mut high) = seen.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        if said {
            (low, high) = (range[0], range[1]);
        }
        let wide = (high - low).max(1e-6);
        let rough = wide / 4.0;
        let ten = 10_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].map(|k| k * ten).into_iter().find(|s| *s >= rough).unwrap_or(ten);
        if !said {
            (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        }
        Scale { low, high, step }
    }

    fn ticks(&self) -> Vec<f64> {
        let first = (self.low / self.step).ceil();
        (0..12).map(|k| (first + f64::from(k)) * self.step).take_while(|v| *v <= self.high + 1e-9).collect()
    }

    /// With as many places as the step has.
    fn words(&self, value: f64) -> String {
        let places = (-self.step.log10().floor()).max(0.0) as usize;
        let said = format!("{value:.places$}");
        said.replace('-', "\u{2212}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_holds_all_that_is_seen_in_few_even_steps() {
        for (seen, ticks) in [
            (vec![7.3, 9.9], vec!["7", "8", "9", "10"]),
            (vec![0.31, 0.36], vec!["0.30", "0.32", "0.34", "0.36"]),
            (vec![-1.2, 1.1], vec!["\u{2212}2", "\u{2212}1", "0", "1", "2"]),
        ] {
            let scale = Scale::of(&seen, [-60.0, 60.0], false);
            let said: Vec<String> = scale.ticks().into_iter().map(|v| scale.words(v)).collect();
            assert_eq!(said, ticks);
            assert!(seen.iter().all(|v| *v >= scale.low && *v <= scale.high));
        }
        assert_eq!(Scale::of(&[4.0], [0.0, 10.0], true).ticks(), [0.0, 5.0, 10.0]);
    }

    #[test]
    fn whole_weeks_are_named() {
        assert_eq!(day_ticks(-15, 28), [-14, -7, 1, 7, 14, 21, 28]);
        assert_eq!(day_ticks(-1, 7), [1, 7]);
    }
}
