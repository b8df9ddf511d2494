//! Everybody's change as a picture: a line each where they can be told apart, a histogram of thousands. What is a clear change differs in
//! form: a filled square or a filled bar against an open ring or an open bar.

use follow::{Change, Group, Standing, Value, Verdict};
use maud::{Markup, html};

use crate::catalogue::{fill, text};
use crate::following::many::Many;
use crate::following::words::{amount, number, unit, value_name};

/// Up to so many people have a line each.
pub const MOST_LINES: usize = 150;
/// About so many bars.
const BARS: f64 = 32.0;

fn n(value: f64) -> String {
    let said = format!("{value:.1}");
    said.strip_suffix(".0").map_or(said.clone(), str::to_owned)
}

/// One member's change.
struct One {
    change: Change,
    clear: bool,
}

/// The picture; nothing with fewer than two people assessed.
pub fn picture(many: &Many, value: &Value) -> Markup {
    let mut all: Vec<One> = many
        .lines
        .iter()
        .filter_map(|l| match &l.member.standing {
            Standing::Assessed { change, verdict, .. } if change.estimate.is_finite() => {
                Some(One { change: *change, clear: *verdict == Verdict::ClearChange })
            }
            _ => None,
        })
        .collect();
    if all.len() < 2 {
        return html! {};
    }
    all.sort_by(|a, b| a.change.estimate.total_cmp(&b.change.estimate));
    let lines = all.len() <= MOST_LINES;
    let says = description(&all, &many.group, value, lines);
    html! {
        figure.chart.course-chart {
            (one(&all, &many.group, value, &says, lines, "wide"))
            (one(&all, &many.group, value, &says, lines, "narrow"))
            figcaption.legend {
                @if lines {
                    span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { line.whisker x1="2" x2="28" y1="7" y2="7" {} rect.dot x="11" y="3" width="8" height="8" {} } (text("course.key_clear")) }
                    span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { line.whisker x1="2" x2="28" y1="7" y2="7" {} circle.dot.odd cx="15" cy="7" r="4" {} } (text("course.key_unclear")) }
                } @else {
                    span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { rect.bar.clear x="8" y="1" width="14" height="12" {} } (text("course.key_bar_clear")) }
                    span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { rect.bar x="8" y="1" width="14" height="12" {} } (text("course.key_bar_unclear")) }
                }
                @if many.group.mean.is_some() { span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { path.mean d="M3 7L15 1L27 7L15 13Z" {} } (text("course.key_mean")) } }
                @if many.group.next.is_some() { span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { line.next x1="1" x2="29" y1="7" y2="7" {} } (text("course.key_next")) } }
            }
        }
    }
}

fn description(all: &[One], group: &Group, value: &Value, lines: bool) -> String {
    let (least, most) = (all.first().map_or(0.0, |o| o.change.estimate), all.last().map_or(0.0, |o| o.change.estimate));
    let mean = group.mean.map_or(0.0, |m| m.estimate);
    let key = if lines { "course.svg_lines" } else { "course.svg_bars" };
    fill(
        key,
        &[
            ("n", &all.len()),
            ("least", &amount(least, value)),
            ("most", &amount(most, value)),
            ("mean", &amount(mean, value)),
            ("clear", &all.iter().filter(|o| o.clear).count()),
        ],
    )
}

/// A step of 1, 2 or 5 times a power of ten, so that about so many fit.
fn step(range: f64, about: f64) -> f64 {
    let raw = (range / about).max(1e-9);
    let power = 10_f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|s| *s >= raw).unwrap_or(10.0 * power)
}

struct Frame {
    left: f64,
    right: f64,
    low: f64,
    high: f64,
}

impl Frame {
    fn x(&self, v: f64) -> f64 {
        self.left + (v.clamp(self.low, self.high) - self.low) / (self.high - self.low) * (self.right - self.left)
    }
}

fn one(all: &[One], group: &Group, value: &Value, says: &str, lines: bool, kind: &str) -> Markup {
    let width = if kind == "wide" { 720.0 } else { 330.0 };
    // The farthest hundredth on either side is drawn at the edge, so that one person does not squeeze all others.
    let ends = |pick: fn(&Change) -> f64| {
        let mut of: Vec<f64> = all.iter().map(|o| pick(&o.change)).collect();
        of.sort_by(f64::total_cmp);
        (of[of.len() / 100], of[of.len() - 1 - of.len() / 100])
    };
    let (low, high) = if lines { (ends(|c| c.low).0, ends(|c| c.high).1) } else { ends(|c| c.estimate) };
    let (low, high) = group.next.map_or((low, high), |next| (low.min(next.low), high.max(next.high)));
    let (low, high) = (low.min(0.0), high.max(0.0));
    let tick = step(high - low, if kind == "wide" { 8.0 } else { 4.0 });
    let frame =
        Frame { left: 44.0, right: width - 14.0, low: (low / tick).floor() * tick, high: (high / tick).ceil() * tick };
    let row = if all.len() > 30 { 6.0 } else { 12.0 };
    let (top, body) = (26.0, if lines { row * all.len() as f64 } else { 200.0 });
    let (bottom, id) = (top + body, |part: &str| format!("course-{kind}-{part}"));
    let ticks: Vec<f64> =
        (0..=40).map(|k| frame.low + f64::from(k) * tick).take_while(|v| *v <= frame.high + 1e-9).collect();
    html! {
        svg class={ "course " (kind) } viewBox={ "0 0 " (n(width)) " " (n(bottom + 84.0)) } role="img" aria-labelledby={ (id("title")) " " (id("says")) } {
            title id=(id("title")) { (fill("course.svg_title", &[("value", &value_name(value))])) }
            desc id=(id("says")) { (says) }
            @for v in &ticks {
                line.grid x1=(n(frame.x(*v))) x2=(n(frame.x(*v))) y1=(n(top)) y2=(n(bottom)) {}
                text.tick x=(n(frame.x(*v))) y=(n(bottom + 62.0)) text-anchor="middle" { (number(*v, value)) }
            }
            line.begins x1=(n(frame.x(0.0))) x2=(n(frame.x(0.0))) y1=(n(top - 8.0)) y2=(n(bottom + 46.0)) {}
            text.axis x=(n(frame.x(0.0))) y=(n(top - 12.0)) text-anchor="middle" { (text("course.no_change")) }
            @if lines { (forest(all, &frame, top, row)) } @else { (histogram(all, &frame, top, bottom)) }
            (together(group, &frame, bottom))
            text.axis x=(n(frame.right)) y=(n(bottom + 80.0)) text-anchor="end" { (fill("course.axis", &[("unit", &unit(value))])) }
        }
    }
}

fn forest(all: &[One], frame: &Frame, top: f64, row: f64) -> Markup {
    html! {
        @for (i, of) in all.iter().enumerate() {
            @let y = top + row * (i as f64 + 0.5);
            @let (size, x) = (if row > 8.0 { 4.0 } else { 2.2 }, frame.x(of.change.estimate));
            line.whisker x1=(n(frame.x(of.change.low))) x2=(n(frame.x(of.change.high))) y1=(n(y)) y2=(n(y)) {}
            @if of.clear { rect.dot x=(n(x - size)) y=(n(y - size)) width=(n(2.0 * size)) height=(n(2.0 * size)) {} }
            @else { circle.dot.odd cx=(n(x)) cy=(n(y)) r=(n(size)) {} }
        }
    }
}

/// Bars of equal width; of each the clear changes stand below, filled.
fn histogram(all: &[One], frame: &Frame, top: f64, bottom: f64) -> Markup {
    let wide = step(frame.high - frame.low, BARS);
    let bars = (((frame.high - frame.low) / wide).round() as usize).max(1);
    let mut counts = vec![[0_usize; 2]; bars];
    for of in all {
        let at = ((of.change.estimate - frame.low) / wide).floor().clamp(0.0, bars as f64 - 1.0) as usize;
        counts[at][usize::from(of.clear)] += 1;
    }
    let most = counts.iter().map(|c| c[0] + c[1]).max().unwrap_or(1).max(1);
    let tick = step(most as f64, 4.0).max(1.0);
    let high = (most as f64 / tick).ceil() * tick;
    let up = |count: f64| count / high * (bottom - top);
    let levels: Vec<f64> = (1..=8).map(|k| f64::from(k) * tick).take_while(|v| *v <= high + 1e-9).collect();
    html! {
        @for v in levels {
            line.grid x1=(n(frame.left)) x2=(n(frame.right)) y1=(n(bottom - up(v))) y2=(n(bottom - up(v))) {}
            text.tick x=(n(frame.left - 6.0)) y=(n(bottom - up(v) + 4.0)) text-anchor="end" { (format!("{v:.0}")) }
        }
        @for (i, [unclear, clear]) in counts.iter().enumerate() {
            @let x = frame.x(frame.low + wide * i as f64);
            @let across = (frame.x(frame.low + wide * (i as f64 + 1.0)) - x - 1.0).max(0.5);
            @let (c, u) = (up(*clear as f64), up(*unclear as f64));
            @if *clear > 0 { rect.bar.clear x=(n(x)) y=(n(bottom - c)) width=(n(across)) height=(n(c)) {} }
            @if *unclear > 0 { rect.bar x=(n(x)) y=(n(bottom - c - u)) width=(n(across)) height=(n(u)) {} }
        }
    }
}

/// All together beneath: the mean as a diamond as wide as its interval, and where one more person would lie.
fn together(group: &Group, frame: &Frame, bottom: f64) -> Markup {
    let (y, z) = (bottom + 18.0, bottom + 38.0);
    html! {
        line.grid x1=(n(frame.left)) x2=(n(frame.right)) y1=(n(bottom)) y2=(n(bottom)) {}
        @if let Some(m) = &group.mean {
            @let (low, mid, high) = (frame.x(m.low), frame.x(m.estimate), frame.x(m.high));
            path.mean d={ "M" (n(low.min(mid - 3.0))) " " (n(y)) "L" (n(mid)) " " (n(y - 7.0)) "L" (n(high.max(mid + 3.0))) " " (n(y)) "L" (n(mid)) " " (n(y + 7.0)) "Z" } {}
        }
        @if let Some(next) = &group.next { line.next x1=(n(frame.x(next.low))) x2=(n(frame.x(next.high))) y1=(n(z)) y2=(n(z)) {} }
    }
}
