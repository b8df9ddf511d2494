//! One rule, one interval, one verdict.

use crate::change::{LAST_WEEK, change, interval};
use crate::design::{Design, POWER, needed, power};
use crate::{Change, Fit, Look, Plan, Prior, PriorSource, Sided, Trend, Visit, trend};

/// What the weeks say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The interval of the change excludes zero.
    ClearChange,
    /// It does not, and a change of the plan's size would have been found in 80 of 100.
    WithinNoise,
    /// Neither.
    TooEarly(TooEarly),
}

/// Why it is too early.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TooEarly {
    /// The plan looks on this day, which has not come.
    BeforeLook(i32),
    /// There is no visit in the seven days before the look on this day.
    NoVisitNow(i32),
    /// The visits cannot tell a change of the plan's size from the noise yet.
    Unsure,
}

/// Why there is no verdict at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoVerdict {
    /// So many baseline days; three at least are needed.
    FewBaseline(usize),
    /// The plan says: work now, measure later.
    MeasureLater,
    /// There is no worked day.
    NotBegun,
}

/// The baseline and the size of the noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Baseline {
    /// Visits before the first worked day.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Standard error of measurement: what one visit of this person scatters (days and photographs), in the value's unit.
    pub sem: f64,
    /// 1.96 x sqrt(2) x `sem`: two single visits differ by less in 95 of 100 (Weir 2005, J Strength Cond Res 19:231). The size of the
    /// noise, not a second verdict.
    pub mdc95: f64,
    /// Where the prior of the noise comes from.
    pub source: PriorSource,
}

/// Worked side less the other side, by the same rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sides {
    /// How much more the worked side changed than the other one.
    pub difference: Change,
}

/// What is to be said of one series.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// The baseline; none without a baseline visit.
    pub baseline: Option<Baseline>,
    /// The change at the latest look; none before a look, and where there is no verdict.
    pub change: Option<Change>,
    /// The look it was taken at.
    pub look: Option<Look>,
    /// What an earlier look of the same plan said.
    pub earlier: Option<(Look, Change)>,
    /// The verdict; none where there cannot be one.
    pub verdict: Option<Verdict>,
    /// Why there is none.
    pub no_verdict: Option<NoVerdict>,
    /// Of a clear change of colour: whether an eye would see it. None: it may, or there is nothing to see.
    pub visible: Option<bool>,
    /// When it is too early: so many more visits would tell. None: no number of them would, or it is not too early.
    pub visits_to_settle: Option<u32>,
    /// How likely a change of the plan's size would have been found, 0 to 1.
    pub power: Option<f64>,
    /// The run of the worked days, as a description.
    pub trend: Option<Trend>,
    /// The fitted model, for the picture.
    pub fit: Option<Fit>,
    /// Places in `visits` that lie far from the line: marked, and kept.
    pub odd: Vec<usize>,
}

/// Assesses visits, sorted by day, on day `today`.
pub fn assess(plan: &Plan, prior: &Prior, visits: &[Visit], today: i32) -> Assessment {
    assess_shared(plan, prior, visits, today, 1.0)
}

/// The same of one value of several, which may spend only a share (more than 0, 1 at most) of what the plan's looks may.
pub fn assess_shared(plan: &Plan, prior: &Prior, visits: &[Visit], today: i32, share: f64) -> Assessment {
    let before: Vec<&Visit> = visits.iter().filter(|v| v.day <= 0).collect();
    let looks = plan.looks().into_iter().filter(|l| l.day <= today);
    let looks: Vec<Look> = looks.map(|l| Look { alpha: l.alpha * share, ..l }).collect();
    let end = looks.last().map_or(plan.end(), |l| l.day);
    let fit = change(visits, end, prior);
    let mut said = Assessment {
        baseline: baseline(&before, fit.as_ref(), prior),
        change: None,
        look: None,
        earlier: None,
        verdict: None,
        no_verdict: None,
        visible: None,
        visits_to_settle: None,
        power: None,
        trend: trend(visits, end, prior),
        odd: fit.as_ref().map(|f| odd(visits, f, prior)).unwrap_or_default(),
        fit,
    };
    if plan.measure_later && !plan.value.said {
        said.no_verdict = Some(NoVerdict::MeasureLater);
        return said;
    }
    if before.len() < Plan::LEAST_BASELINE {
        said.no_verdict = Some(NoVerdict::FewBaseline(before.len()));
        return said;
    }
    let Some(look) = looks.last().copied() else {
        let day = plan.looks().first().map_or(plan.end(), |l| l.day);
        said.verdict = Some(Verdict::TooEarly(TooEarly::BeforeLook(day)));
        return said;
    };
    said.look = Some(look);
    let now = visits.iter().filter(|v| v.day <= look.day && v.day > look.day - LAST_WEEK && v.day >= 1).count();
    let (Some(fit), true) = (said.fit, now > 0) else {
        said.verdict = Some(Verdict::TooEarly(TooEarly::NoVisitNow(look.day)));
        said.visits_to_settle = more(plan, prior, visits, today, said.fit.as_ref());
        return said;
    };
    let found = interval(&fit, look.alpha);
    said.change = Some(found);
    said.earlier = earlier(&looks, visits, prior);
    let used = visits.iter().filter(|v| v.day <= look.day).map(|v| (v.day, v.count)).collect();
    let design = Design { visits: used, end: look.day, sd: fit.sigma, within: fit.within, alpha: look.alpha };
    said.power = power(&design, plan.size, prior);
    if found.low > 0.0 || found.high < 0.0 {
        said.verdict = Some(Verdict::ClearChange);
        said.visible = visible(plan, &found);
    } else if said.power.is_some_and(|p| p >= POWER) {
        said.verdict = Some(Verdict::WithinNoise);
    } else {
        said.verdict = Some(Verdict::TooEarly(TooEarly::Unsure));
        said.visits_to_settle = more(plan, prior, visits, today, Some(&fit));
    }
    said
}

/// Worked side less the other side, at the plan's last look that has come; none before it or without three baseline days.
pub fn sides(plan: &Plan, prior: &Prior, visits: &[Sided], today: i32) -> Option<Sides> {
    let differences: Vec<Visit> = visits.iter().map(Sided::difference).collect();
    assess(plan, prior, &differences, today).change.map(|difference| Sides { difference })
}

fn earlier(looks: &[Look], visits: &[Visit], prior: &Prior) -> Option<(Look, Change)> {
    let [first, _] = looks else { return None };
    Some((*first, interval(&change(visits, first.day, prior)?, first.alpha)))
}

fn more(plan: &Plan, prior: &Prior, visits: &[Visit], today: i32, fit: Option<&Fit>) -> Option<u32> {
    let (sd, within) = fit.map_or((prior.sd, prior.within), |f| (f.sigma, f.within));
    needed(plan, visits, today, sd, within, prior)
}

fn baseline(before: &[&Visit], fit: Option<&Fit>, prior: &Prior) -> Option<Baseline> {
    let n = before.len();
    if n == 0 {
        return None;
    }
    let mean = before.iter().map(|v| v.mean).sum::<f64>() / n as f64;
    let (sd, within) = fit.map_or((prior.sd, prior.within), |f| (f.sigma, f.within));
    let photographs = before.iter().map(|v| f64::from(v.count)).sum::<f64>() / n as f64;
    let sem = (sd.powi(2) + within.powi(2) / photographs).sqrt();
    Some(Baseline { n, mean, sem, mdc95: 1.96 * std::f64::consts::SQRT_2 * sem, source: prior.source })
}

/// Whether an eye would see it: the end of the interval nearer to zero must reach what everybody sees, or the farther one stay
/// below what anybody does; else it stays open.
fn visible(plan: &Plan, change: &Change) -> Option<bool> {
    if !plan.value.colour {
        return None;
    }
    let (near, far) = (change.low.abs().min(change.high.abs()), change.low.abs().max(change.high.abs()));
    if near >= plan.eye.far {
        Some(true)
    } else if far < plan.eye.near {
        Some(false)
    } else {
        None
    }
}

/// Visits farther than three scaled MAD from the line; the MAD is taken at half the prior at least, so that a very quiet series marks nothing small.
fn odd(visits: &[Visit], fit: &Fit, prior: &Prior) -> Vec<usize> {
    let rest: Vec<f64> = visits
        .iter()
        .map(|v| {
            v.mean
                - if v.day <= 0 { fit.base } else { fit.base + fit.change + fit.slope * (f64::from(v.day) - fit.read) }
        })
        .collect();
    let mut sizes: Vec<f64> = rest.iter().map(|r| r.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let Some(middle) = sizes.get(sizes.len() / 2) else { return Vec::new() };
    let limit = 3.0 * (1.4826 * middle).max(0.5 * prior.sd);
    rest.iter().enumerate().filter(|(_, r)| r.abs() > limit).map(|(i, _)| i).collect()
}
