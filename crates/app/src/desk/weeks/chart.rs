//! Charts as SVG in the page: with a title and a description, and nothing that colour alone says.

use maud::{Markup, PreEscaped, html};

use crate::catalogue::{sentence_case, text};
use crate::following::chart::{Chart, Phase, Sign};

/// A number of the drawing.
fn n(value: f64) -> String {
    let said = format!("{value:.1}");
    said.strip_suffix(".0").map_or(said.clone(), str::to_owned)
}

/// A path through points.
fn path(points: &[[f64; 2]]) -> String {
    let to = |(i, p): (usize, &[f64; 2])| format!("{}{} {}", if i == 0 { "M" } else { "L" }, n(p[0]), n(p[1]));
    points.iter().enumerate().map(to).collect::<Vec<_>>().join("")
}

/// The curves of the planning aid.
pub struct Picture {
    /// Its name.
    pub title: String,
    /// What it shows, in a sentence.
    pub description: String,
    /// The first and last number across, in steps of 1.
    pub across: [f64; 2],
    /// What is across.
    pub across_words: String,
    /// What is upward.
    pub up_words: String,
    /// The highest number upward.
    pub highest: f64,
    /// A level line, with its words.
    pub level: (f64, String),
    /// Up to here it is shaded, with its words.
    pub shaded: (f64, String),
    /// The curves; the first is the one that was asked for.
    pub lines: Vec<Line>,
    /// The place that was asked for.
    pub here: Option<[f64; 2]>,
}

/// A curve.
pub struct Line {
    /// Its words, at its end.
    pub words: String,
    /// Its points, in numbers.
    pub points: Vec<[f64; 2]>,
}

/// The planning aid's picture.
pub fn aid(p: &Picture) -> Markup {
    let (width, left, top, right, bottom) = (460.0, 38.0, 30.0, 448.0, 250.0);
    let step = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let step = step.into_iter().find(|s| p.highest / s <= 6.0).unwrap_or(100.0);
    let high = (p.highest / step).ceil() * step;
    let x = |v: f64| left + (v - p.across[0] + 0.5) / (p.across[1] - p.across[0] + 1.0) * (right - left);
    let y = |v: f64| bottom - v / high * (bottom - top);
    let places = usize::from(step < 1.0) + usize::from(step < 0.1);
    let ticks = (0..=12).map(|k| f64::from(k) * step).take_while(|v| *v <= high + 1e-9);
    let days = (1..=60).map(f64::from).filter(|d| *d >= p.across[0] && *d <= p.across[1]);
    html! {
        figure.chart {
            (patterns("aid"))
            svg.aid-chart viewBox={ "0 0 " (n(width)) " 292" } role="img" aria-labelledby="aid-svg-title aid-svg-says" {
                title #aid-svg-title { (p.title) }
                desc #aid-svg-says { (p.description) }
                rect.hatched x=(n(x(p.across[0] - 0.5))) y=(n(top)) width=(n(x(p.shaded.0) - x(p.across[0] - 0.5))) height=(n(bottom - top)) fill="url(#aid-hatch)" {}
                @for v in ticks { line.grid x1=(n(left)) x2=(n(right)) y1=(n(y(v))) y2=(n(y(v))) {} text.tick x=(n(left - 6.0)) y=(n(y(v) + 4.0)) text-anchor="end" { (format!("{v:.places$}")) } }
                @for d in days { text.tick x=(n(x(d))) y=(n(bottom + 17.0)) text-anchor="middle" { (format!("{d:.0}")) } }
                text.axis x=(n(left)) y="14" { (p.up_words) }
                text.axis x=(n(right)) y=(n(bottom + 37.0)) text-anchor="end" { (p.across_words) }
                line.level x1=(n(left)) x2=(n(right)) y1=(n(y(p.level.0))) y2=(n(y(p.level.0))) {}
                text.label x=(n(right)) y=(n(y(p.level.0) + 15.0)) text-anchor="end" { (p.level.1) }
                @for (i, line) in p.lines.iter().enumerate() {
                    @let points: Vec<[f64; 2]> = line.points.iter().map(|q| [x(q[0]), y(q[1])]).collect();
                    path class=(if i == 0 { "curve" } else { "curve dashed" }) d=(path(&points)) {}
                }
                @if let Some(here) = p.here { circle.here cx=(n(x(here[0]))) cy=(n(y(here[1]))) r="6" {} }
            }
            figcaption.legend {
                @for (i, line) in p.lines.iter().enumerate() {
                    span.key { (sample(if i == 0 { "curve" } else { "curve dashed" })) (line.words) }
                }
                @if p.here.is_some() { span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { circle.here cx="15" cy="7" r="5" {} } (text("aid.here")) } }
                span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { rect.hatched x="3" y="1" width="24" height="12" fill="url(#aid-hatch)" {} } (p.shaded.1) }
            }
        }
    }
}

fn sample(class: &str) -> Markup {
    html! { svg.sample viewBox="0 0 30 14" aria-hidden="true" { path class=(class) d="M1 7L29 7" {} } }
}

/// What is shaded: slanting lines and dots in rows. In a drawing of their own, since one that is not shown lends no pattern.
fn patterns(id: &str) -> Markup {
    let of = |name: &str, size: u8, turn: &str, inner: &str| {
        format!(
            "<pattern id=\"{id}-{name}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\"{turn}>{inner}</pattern>"
        )
    };
    let hatch =
        of("hatch", 7, " patternTransform=\"rotate(45)\"", "<line class=\"ink\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\"/>");
    let dots = of("dots", 8, "", "<circle class=\"ink\" cx=\"2\" cy=\"2\" r=\"1\"/>");
    html! { svg.patterns width="0" height="0" aria-hidden="true" { defs { (PreEscaped(hatch)) (PreEscaped(dots)) } } }
}

/// What a chart is called and says.
pub struct Words<'w> {
    /// Its name among the others of the page: a short word for ids.
    pub id: &'w str,
    /// Its title.
    pub title: &'w str,
    /// What it shows, in sentences.
    pub description: &'w str,
    /// What is upward.
    pub up: &'w str,
    /// Whether a dot is what somebody said on a day, and no visit.
    pub said: bool,
    /// Whether the signs are explained beneath it: once on a page is enough.
    pub explained: bool,
}

/// A series, laid out twice: for a wide page and for a narrow one.
pub fn series(wide: &Chart, narrow: &Chart, words: &Words<'_>) -> Markup {
    html! {
        figure.chart {
            (patterns(words.id))
            (one(wide, words, "wide"))
            (one(narrow, words, "narrow"))
            (legend(wide, words))
        }
    }
}

fn one(c: &Chart, words: &Words<'_>, kind: &str) -> Markup {
    let id = |part: &str| format!("{}-{kind}-{part}", words.id);
    let [left, top, right, bottom] = c.plot;
    let fill_of = |phase: Phase| format!("{}-{}", words.id, if phase == Phase::Baseline { "hatch" } else { "dots" });
    let tall = bottom - top;
    html! {
        svg class={ "run " (kind) } viewBox={ "0 0 " (n(c.width)) " " (n(c.height)) } role="img" aria-labelledby={ (id("title")) " " (id("says")) } {
            title id=(id("title")) { (words.title) }
            desc id=(id("says")) { (words.description) }
            @if let Some([high, low]) = c.band {
                rect.band x=(n(left)) y=(n(high.max(top))) width=(n(right - left)) height=(n(low.min(bottom) - high.max(top))) {}
            }
            @for (phase, [from, to]) in &c.phases {
                rect.phase x=(n(from.max(left))) y=(n(top)) width=(n(to - from.max(left))) height=(n(tall)) fill={ "url(#" (fill_of(*phase)) ")" } {}
            }
            @for (y, said) in &c.values {
                line.grid x1=(n(left)) x2=(n(right)) y1=(n(*y)) y2=(n(*y)) {}
                text.tick x=(n(left - 6.0)) y=(n(y + 4.0)) text-anchor="end" { (said) }
            }
            text.axis x=(n(if kind == "wide" { left } else { 0.0 })) y="12" { (words.up) }
            line.begins x1=(n(c.first)) x2=(n(c.first)) y1=(n(top)) y2=(n(c.height)) {}
            @if let Some(today) = c.today { line.today x1=(n(today)) x2=(n(today)) y1=(n(top)) y2=(n(bottom)) {} }
            @for line in &c.lines { path.fit d=(path(line)) {} }
            @for dot in &c.dots {
                line.whisker x1=(n(dot.at[0])) x2=(n(dot.at[0])) y1=(n(dot.ends[1])) y2=(n(dot.ends[0])) {}
                circle class=(if dot.odd { "dot odd" } else { "dot" }) cx=(n(dot.at[0])) cy=(n(dot.at[1])) r=(if dot.odd { "5" } else { "4" }) {}
                @if dot.odd { path.ring d={ "M" (n(dot.at[0] - 8.0)) " " (n(dot.at[1] - 8.0)) "h16v16h-16z" } {} }
            }
            @for (x, day) in &c.days { text.tick x=(n(*x)) y=(n(bottom + 17.0)) text-anchor="middle" { (day) } }
            @for row in &c.rows {
                @if kind == "wide" { text.row x=(n(left - 10.0)) y=(n(row.y + 4.0)) text-anchor="end" { (row.words) } }
                @else { text.row x="0" y=(n(row.y + 4.0)) { (sentence_case(row.words.split(' ').next_back().unwrap_or_default())) } }
                @for x in &row.at { (sign(row.sign, *x, row.y)) }
            }
        }
    }
}

fn sign(sign: Sign, x: f64, y: f64) -> Markup {
    match sign {
        Sign::Session => html! { line.session x1=(n(x)) x2=(n(x)) y1=(n(y - 7.0)) y2=(n(y + 7.0)) {} },
        Sign::Incident => html! { path.incident d={ "M" (n(x)) " " (n(y - 7.0)) "l7 7l-7 7l-7 -7z" } {} },
        Sign::Note => html! { rect.note x=(n(x - 4.0)) y=(n(y - 4.0)) width="8" height="8" {} },
        Sign::Context => html! { circle.context cx=(n(x)) cy=(n(y)) r="4.5" {} },
    }
}

fn legend(c: &Chart, words: &Words<'_>) -> Markup {
    let pattern = |part: &str| format!("url(#{}-{part})", words.id);
    if !words.explained {
        return html! { @if c.dots.iter().any(|d| d.odd) { figcaption.legend { (odd_key()) } } };
    }
    html! {
        figcaption.legend {
            span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { line.whisker x1="15" x2="15" y1="0" y2="14" {} circle.dot cx="15" cy="7" r="4" {} } (text(if words.said { "chart.dot_said" } else { "chart.dot" })) }
            @if c.band.is_some() { span.key { svg.sample viewBox="0 0 30 14" aria-hidden="true" { rect.band x="1" y="1" width="28" height="12" {} } (text("chart.band")) } }
            @if c.dots.iter().any(|d| d.odd) { (odd_key()) }
            @if !c.lines.is_empty() { span.key { (sample("fit")) (text("chart.line")) } }
            @for (phase, _) in &c.phases {
                span.key {
                    @let part = if *phase == Phase::Baseline { "hatch" } else { "dots" };
                    svg.sample viewBox="0 0 30 14" aria-hidden="true" { rect.phase x="1" y="1" width="28" height="12" fill=(pattern(part)) {} }
                    (text(if *phase == Phase::Baseline { "chart.baseline" } else { "chart.last_week" }))
                }
            }
        }
    }
}

fn odd_key() -> Markup {
    html! {
        span.key {
            svg.sample viewBox="0 0 30 14" aria-hidden="true" { path.ring d="M8 0h14v14h-14z" {} circle.dot.odd cx="15" cy="7" r="4" {} }
            (text("chart.odd"))
        }
    }
}
