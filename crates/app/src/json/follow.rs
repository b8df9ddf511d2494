//! `follow --json`.

use follow::{Change, LAST_WEEK, NoVerdict, PriorSource, TooEarly, Value, Verdict};
use serde::Serialize;
use vocab::Side;

use crate::catalogue::text;
use crate::commands::follow::Told;
use crate::following::words;
use crate::series::visits::{Followed, Labelled};
use crate::series::words::note;

/// Millionths, and no minus before a nought.
fn round(value: f64) -> f64 {
    let rounded = (value * 1e6).round() / 1e6;
    if rounded == 0.0 { 0.0 } else { rounded }
}

#[derive(Serialize)]
pub struct FollowOut {
    value: &'static str,
    unit: &'static str,
    baseline: Option<BaselineOut>,
    change: Option<ChangeOut>,
    verdict: Option<&'static str>,
    visible: Option<bool>,
    visits_to_settle: Option<u32>,
    trend: Option<TrendOut>,
    sides: Option<SidesOut>,
    dose: DoseOut,
    sentence: String,
    reason: Option<String>,
    reason_kind: Option<&'static str>,
    cause: &'static str,
    regression: &'static str,
    followed: &'static str,
    first: String,
    today: String,
    look_day: Option<i32>,
    size: f64,
    power: Option<f64>,
    earlier: Option<EarlierOut>,
    now: NowOut,
    noise: Option<NoiseOut>,
    visits: Vec<VisitOut>,
    notes: Vec<String>,
    reviewed_by_clinician: bool,
    notice: &'static str,
}

#[derive(Serialize)]
struct BaselineOut {
    n: usize,
    mean: f64,
    sem: f64,
    mdc95: f64,
    source: &'static str,
    clients: Option<usize>,
}

#[derive(Serialize)]
struct ChangeOut {
    estimate: f64,
    low: f64,
    high: f64,
    level: f64,
}

#[derive(Serialize)]
struct TrendOut {
    slope_per_day: f64,
    low: f64,
    high: f64,
    level: f64,
    method: &'static str,
}

#[derive(Serialize)]
struct SidesOut {
    difference: f64,
    low: f64,
    high: f64,
    level: f64,
    method: &'static str,
}

#[derive(Serialize)]
struct DoseOut {
    done: u32,
    asked: Option<u32>,
    association: Option<AssociationOut>,
}

#[derive(Serialize)]
struct AssociationOut {
    tau: f64,
    visits: usize,
    method: &'static str,
}

#[derive(Serialize)]
struct EarlierOut {
    day: i32,
    #[serde(flatten)]
    change: ChangeOut,
}

/// The last seven days up to the look.
#[derive(Serialize)]
struct NowOut {
    n: usize,
    from_day: i32,
    to_day: i32,
}

#[derive(Serialize)]
struct NoiseOut {
    between_sd: f64,
    within_sd: f64,
    df: f64,
}

#[derive(Serialize)]
struct VisitOut {
    day: i32,
    date: String,
    visit: String,
    mean: f64,
    photographs: u32,
    odd: bool,
}

impl ChangeOut {
    fn of(c: &Change) -> ChangeOut {
        ChangeOut { estimate: round(c.estimate), low: round(c.low), high: round(c.high), level: round(c.level) }
    }
}

impl FollowOut {
    pub fn new(told: &Told) -> FollowOut {
        let (plan, said, first) = (told.plan(), &told.said, Some(told.series.first));
        let value: &Value = plan.value;
        let sentence = words::sentence_from(said, plan, first);
        let kind = reason(said.verdict, said.no_verdict);
        let look = said.look.map_or_else(|| plan.end(), |l| l.day);
        // Before the look nothing is said of how it runs.
        let told_yet = !matches!(said.verdict, Some(Verdict::TooEarly(TooEarly::BeforeLook(_))));
        let visit = |(i, l): (usize, &Labelled)| VisitOut {
            day: l.visit.day,
            date: l.date.to_string(),
            visit: l.label.clone(),
            mean: round(l.visit.mean),
            photographs: l.visit.count,
            odd: told_yet && said.odd.contains(&i),
        };
        FollowOut {
            value: value.name,
            unit: value.unit,
            baseline: said.baseline.map(|b| BaselineOut {
                n: b.n,
                mean: round(b.mean),
                sem: round(b.sem),
                mdc95: round(b.mdc95),
                source: source(b.source),
                clients: if let PriorSource::Practice(n) = b.source { Some(n) } else { None },
            }),
            change: said.change.as_ref().map(ChangeOut::of),
            verdict: said.verdict.map(verdict),
            visible: said.visible,
            visits_to_settle: said.visits_to_settle,
            trend: said.trend.filter(|_| told_yet).map(|t| TrendOut {
                slope_per_day: round(t.slope),
                low: round(t.low),
                high: round(t.high),
                level: 0.95,
                method: "theil_sen",
            }),
            sides: told.sides.map(|s| SidesOut {
                difference: round(s.difference.estimate),
                low: round(s.difference.low),
                high: round(s.difference.high),
                level: round(s.difference.level),
                method: "worked_less_unworked",
            }),
            dose: DoseOut {
                done: told.dose.done,
                asked: told.dose.asked,
                association: told.dose.association.filter(|_| told_yet).map(|a| AssociationOut {
                    tau: round(a.tau),
                    visits: a.visits,
                    method: "kendall_tau_b",
                }),
            },
            reason: kind.map(|_| sentence.clone()),
            reason_kind: kind,
            sentence,
            cause: words::cause(),
            regression: words::regression(),
            followed: match told.series.of {
                Followed::Face => "face",
                Followed::One(Side::Left) => "left",
                Followed::One(_) => "right",
            },
            first: told.series.first.to_string(),
            today: told.series.first.plus(i64::from(told.today) - 1).map(|d| d.to_string()).unwrap_or_default(),
            look_day: said.look.map(|l| l.day),
            size: round(plan.size),
            power: said.power.map(round),
            earlier: said.earlier.as_ref().map(|(l, c)| EarlierOut { day: l.day, change: ChangeOut::of(c) }),
            now: NowOut { n: told.counts(look)[1].0, from_day: (look - LAST_WEEK + 1).max(1), to_day: look },
            noise: said.fit.map(|f| NoiseOut {
                between_sd: round(f.sigma),
                within_sd: round(f.within),
                df: round(f.df),
            }),
            visits: told.series.visits.iter().enumerate().map(visit).collect(),
            notes: told.series.notes.iter().map(note).collect(),
            reviewed_by_clinician: false,
            notice: text("page.not_reviewed"),
        }
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::ClearChange => "clear_change",
        Verdict::WithinNoise => "within_noise",
        Verdict::TooEarly(_) => "too_early",
    }
}

fn source(source: PriorSource) -> &'static str {
    match source {
        PriorSource::Stated => "stated",
        PriorSource::Practice(_) => "practice",
        PriorSource::Given => "given",
    }
}

/// Why there is no verdict, or why it is too early.
fn reason(verdict: Option<Verdict>, none: Option<NoVerdict>) -> Option<&'static str> {
    Some(match (none, verdict) {
        (Some(NoVerdict::FewBaseline(_)), _) => "few_baseline",
        (Some(NoVerdict::MeasureLater), _) => "measure_later",
        (Some(NoVerdict::NotBegun), _) => "not_begun",
        (None, Some(Verdict::TooEarly(TooEarly::BeforeLook(_)))) => "before_look",
        (None, Some(Verdict::TooEarly(TooEarly::NoVisitNow(_)))) => "no_visit_now",
        (None, Some(Verdict::TooEarly(TooEarly::Unsure))) => "unsure",
        _ => return None,
    })
}
