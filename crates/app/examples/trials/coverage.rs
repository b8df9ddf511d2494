//! Does the truth lie within the stated circle as often as is said?

use std::process::ExitCode;

use face::{HairlineSource, Places, ScaleSource};

use crate::trial::{asked, run as trials, true_head};

pub fn run(count: usize) -> ExitCode {
    let places = Places::built_in();
    let all = trials(1, count, &places);
    let read: Vec<_> = all.iter().filter_map(|t| t.map.as_ref().map(|m| (t, m))).collect();
    println!("{} faces, {} read", all.len(), read.len());
    let iris = read.iter().filter(|(_, m)| m.scale.source == ScaleSource::Iris);
    let held = read.iter().filter(|(t, m)| (m.scale.mm_per_px - t.truth.mm_per_px).abs() <= m.scale.u95).count();
    println!("scale from fitted irises: {}; within its U95: {:.1} %", iris.count(), share(held, read.len()));
    let mut errors: Vec<f64> = read.iter().map(|(t, m)| (m.scale.mm_per_px / t.truth.mm_per_px - 1.0).abs()).collect();
    errors.sort_by(f64::total_cmp);
    println!(
        "scale error: median {:.2} %, 95th percentile {:.2} %",
        100.0 * at(&errors, 0.5),
        100.0 * at(&errors, 0.95)
    );
    let fits: Vec<f64> = read
        .iter()
        .flat_map(|(t, m)| m.irises.iter().map(|i| 2.0 * i.1.radius * t.truth.mm_per_px / t.truth.iris_mm - 1.0))
        .collect();
    let n = fits.len().max(1) as f64;
    let mean = fits.iter().sum::<f64>() / n;
    let sd = (fits.iter().map(|f| (f - mean).powi(2)).sum::<f64>() / n).sqrt();
    println!("fitted irises: {n}; width against the truth: mean {:+.2} %, SD {:.2} %", 100.0 * mean, 100.0 * sd);
    let seen = |m: &face::OwnMap| m.head.hairline.source == HairlineSource::Seen;
    let of =
        |want: bool, got: bool| read.iter().filter(|(t, m)| t.truth.hairline_seen == want && seen(m) == got).count();
    println!(
        "hairline: {} of {} that show it are seen; {} of {} that hide it are mistaken for one",
        of(true, true),
        of(true, true) + of(true, false),
        of(false, true),
        of(false, true) + of(false, false)
    );
    println!("{:<9} {:<8} {:>8} {:>11} {:>11} {:>8}", "point", "side", "within", "median mm", "95th mm", "stated");
    let mut bad = 0;
    for (code, side) in asked(&places) {
        let mut away: Vec<(f64, f64)> = Vec::new();
        for (trial, map) in &read {
            let (place, _) = places.find(code, side, &true_head(trial)).expect("a rule");
            let [x, y] = trial.truth.project(place);
            let point = map.points.iter().find(|p| p.code == code && p.side == side).expect("asked for");
            let mm = (point.at.x - x).hypot(point.at.y - y) * trial.truth.mm_per_px;
            away.push((mm, point.uncertainty_mm));
        }
        if std::env::var_os("DETAIL").is_some() {
            detail(&read, &places, code, side);
        }
        let within = share(away.iter().filter(|(mm, u)| mm <= u).count(), away.len());
        let mut errors: Vec<f64> = away.iter().map(|a| a.0).collect();
        errors.sort_by(f64::total_cmp);
        let mut stated: Vec<f64> = away.iter().map(|a| a.1).collect();
        stated.sort_by(f64::total_cmp);
        let good = (90.0..=98.0).contains(&within);
        bad += usize::from(!good);
        println!(
            "{code:<9} {side:<8} {within:>6.1} % {:>11.2} {:>11.2} {:>8.2}{}",
            at(&errors, 0.5),
            at(&errors, 0.95),
            at(&stated, 0.5),
            if good { "" } else { "  outside of 90 to 98" },
            side = format!("{side:?}").to_lowercase(),
        );
    }
    let unread = all.len() - read.len();
    println!(
        "{} passed, {} failed",
        asked(&places).len() - bad + usize::from(unread == 0),
        bad + usize::from(unread > 0)
    );
    if bad == 0 && unread == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// What was found against what was stated, apart by where the hairline is known from.
fn detail(read: &[(&crate::trial::Trial, &face::OwnMap)], places: &Places, code: &str, side: vocab::Side) {
    for (name, want) in [("seen", HairlineSource::Seen), ("not", HairlineSource::Proportion)] {
        let of: Vec<_> = read.iter().filter(|(_, m)| m.head.hairline.source == want).collect();
        let mut list: Vec<[f64; 6]> = Vec::new();
        for (trial, map) in of {
            let (place, _) = places.find(code, side, &true_head(trial)).expect("a rule");
            let [x, y] = trial.truth.project(place);
            let point = map.points.iter().find(|p| p.code == code && p.side == side).expect("asked for");
            let [dx, dy] = crate::calibrate::upright(trial, point.at.x - x, point.at.y - y);
            let (b, s) = (point.spread.bias, point.spread.sd);
            list.push([dx, dy, b[0], b[1], s[0], s[1]]);
        }
        let n = list.len() as f64;
        let mean = |k: usize| list.iter().map(|e| e[k]).sum::<f64>() / n;
        let sd = |k: usize| (list.iter().map(|e| (e[k] - mean(k)).powi(2)).sum::<f64>() / n).sqrt();
        println!(
            "    {name} {n}: found {:+.2} {:+.2} sd {:.2} {:.2}; stated {:+.2} {:+.2} sd {:.2} {:.2}",
            mean(0),
            mean(1),
            sd(0),
            sd(1),
            mean(2),
            mean(3),
            mean(4),
            mean(5)
        );
    }
}

fn share(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

/// A quantile of a sorted list.
fn at(sorted: &[f64], share: f64) -> f64 {
    sorted.get(((sorted.len() as f64 - 1.0) * share).round() as usize).copied().unwrap_or(f64::NAN)
}
