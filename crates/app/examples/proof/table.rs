//! The table "how it is proven": each bar with what was reached, by tone, light and severity.

use std::collections::BTreeMap;

use measure::{Leading, Measured, SideMeasured, combine};
use phantom::{Kind, Setting, Shot, SideTruth, Tone, UnderEye};

use crate::stats::{percent, quantile, spearman};
use crate::trial::{Plan, Trial, person, plan, run};

/// Even lights: what passes the gates.
pub const EVEN: [Setting; 5] = [Setting::D65, Setting::A, Setting::Led, Setting::Window, Setting::Gradient];

/// One line of the table.
pub struct Line {
    pub what: String,
    pub bar: String,
    pub got: String,
    pub held: bool,
    /// Whether it misses its bar by more than so few pictures could make it: 99 % of such tables with a just reached bar do not.
    pub beyond_chance: bool,
}

/// The lines, and what they rest on by group.
#[derive(Default)]
pub struct Table {
    pub lines: Vec<Line>,
}

/// So many standard deviations hold 99 %.
const SURE: f64 = 2.576;

impl Table {
    /// A quantile of errors.
    fn quantile(&mut self, what: &str, bar: f64, errors: &[f64], q: f64) {
        let spread = SURE * (q * (1.0 - q) / errors.len().max(1) as f64).sqrt();
        let (got, least) = (quantile(errors, q), quantile(errors, (q - spread).max(0.0)));
        self.line(what, format!("at most {bar}"), got, errors.len(), got <= bar, least > bar);
    }

    /// A share of cases, %, that is to be no more than the bar.
    fn at_most(&mut self, what: &str, bar: f64, cases: usize, count: usize) {
        let got = percent(cases, count);
        self.line(what, format!("at most {bar}"), got, count, got <= bar, got - chance(bar, count) > bar);
    }

    /// A share of cases, %, that is to be no less than the bar.
    fn at_least(&mut self, what: &str, bar: f64, cases: usize, count: usize) {
        let got = percent(cases, count);
        self.line(what, format!("at least {bar}"), got, count, got >= bar, got + chance(bar, count) < bar);
    }

    /// A share of cases, %, that is to lie between two bars.
    fn between(&mut self, what: &str, [low, high]: [f64; 2], cases: usize, count: usize) {
        let got = percent(cases, count);
        let beyond = got + chance(low, count) < low || got - chance(high, count) > high;
        self.line(what, format!("{low} to {high}"), got, count, (low..=high).contains(&got), beyond);
    }

    /// A rank correlation (its spread by Fisher's transform, with 1.06 for ranks: Fieller, Hartley, Pearson 1957).
    fn rank(&mut self, what: &str, bar: f64, pairs: &[(f64, f64)]) {
        let got = spearman(pairs);
        let spread = SURE * (1.06 / (pairs.len() as f64 - 3.0).max(1.0)).sqrt();
        let most = (got.clamp(-0.999, 0.999).atanh() + spread).tanh();
        self.line(what, format!("at least {bar}"), got, pairs.len(), got >= bar, most.is_nan() || most < bar);
    }

    fn line(&mut self, what: &str, bar: String, got: f64, count: usize, held: bool, beyond_chance: bool) {
        let got = format!("{got:.3} (n {count})");
        self.lines.push(Line { what: what.to_owned(), bar, got, held, beyond_chance });
    }

    /// How many lines miss their bar beyond chance.
    pub fn failed(&self) -> usize {
        self.lines.iter().filter(|l| l.beyond_chance).count()
    }

    pub fn print(&self) {
        println!("\n{:<62} {:<18} {:<22}", "what", "bar", "got");
        for l in &self.lines {
            let said = match (l.held, l.beyond_chance) {
                (true, _) => "held",
                (_, true) => "MISSED beyond chance",
                _ => "missed, as chance could have it",
            };
            println!("{:<62} {:<18} {:<22} {said}", l.what, l.bar, l.got);
        }
        let held = self.lines.iter().filter(|l| l.held).count();
        println!("\n{held} of {} lines held; a line fails where it misses beyond chance:", self.lines.len());
        println!("{} passed, {} failed", self.lines.len() - self.failed(), self.failed());
    }
}

/// How far a share, %, of so many cases strays about a bar by chance; one case at least.
fn chance(bar: f64, count: usize) -> f64 {
    let n = count.max(1) as f64;
    (SURE * (bar * (100.0 - bar) / n).max(0.0).sqrt()).max(100.0 / n)
}

/// Both sides of a usable trial with their truth.
fn sides<'a>(t: &'a Trial, m: &'a Option<Measured>) -> Vec<(&'a SideMeasured, &'a SideTruth)> {
    m.as_ref().and_then(|m| m.sides.as_ref()).map_or_else(Vec::new, |s| s.iter().zip(&t.truth.sides).collect())
}

fn error(s: &SideMeasured, truth: &SideTruth) -> [f64; 3] {
    let [l, a, b, de, _] = truth.shadow;
    let d = [s.shadow.l.value - l, s.shadow.a.value - a, s.shadow.b.value - b];
    [(s.shadow.de.value - de).abs(), d[0].abs(), (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()]
}

/// Shadows in both modes over all tones, lights and severities; `per_class` photographs a class.
pub fn shadows(table: &mut Table, first: u64, per_class: u64) {
    let mut plans = Vec::new();
    for i in 0..per_class * 6 {
        let tone = Tone::ALL[(i % 6) as usize];
        let setting = EVEN[(i / 6 % 5) as usize];
        // Severity over its whole range, out of step with lights.
        let severity = (i / 6) as f64 * 0.618_033_988_75 % 1.0 * 4.0;
        plans.push(plan(first + i * 6, tone, setting, severity, true));
    }
    let trials = run(&plans);
    for (mode, of) in [("referenced", true), ("relative", false)] {
        let got = |t: &Trial| if of { t.referenced.clone() } else { t.relative.clone() };
        let all: Vec<(usize, Option<Measured>)> = trials.iter().enumerate().map(|(i, t)| (i, got(t))).collect();
        let mut errors: Vec<(usize, [f64; 3])> = Vec::new();
        let (mut covered, mut count) = ([0usize; 2], 0usize);
        for (i, m) in &all {
            for (s, truth) in sides(&trials[*i], m) {
                errors.push((*i, error(s, truth)));
                covered[0] += usize::from((s.shadow.de.value - truth.shadow[3]).abs() <= s.shadow.de.u95);
                covered[1] += usize::from((s.shadow.l.value - truth.shadow[0]).abs() <= s.shadow.l.u95);
                count += 1;
            }
        }
        let column = |k: usize| errors.iter().map(|e| e.1[k]).collect::<Vec<f64>>();
        let bars: &[(usize, &str, f64, f64)] = if of {
            &[(0, "dE00", 0.4, 1.0), (1, "dL", 0.6, 1.3), (2, "vector", 0.8, 1.5)]
        } else {
            &[(0, "dE00", 0.5, 1.2)]
        };
        for (k, name, median, high) in bars {
            table.quantile(&format!("{mode}: {name}, median error"), *median, &column(*k), 0.5);
            table.quantile(&format!("{mode}: {name}, 95th percentile"), *high, &column(*k), 0.95);
        }
        let pooled = quantile(&column(0), 0.5);
        for tone in Tone::ALL {
            let own: Vec<f64> =
                errors.iter().filter(|e| trials[e.0].plan.person.tone == tone).map(|e| e.1[0]).collect();
            let bar = (0.55f64.min(1.5 * pooled) * 1e3).round() / 1e3;
            table.quantile(&format!("{mode}: fairness, {}: median dE00", tone.name()), bar, &own, 0.5);
        }
        for (k, name) in [(0, "dE00"), (1, "dL")] {
            table.between(&format!("{mode}: U95 of {name} covers, %"), [93.0, 97.0], covered[k], count);
        }
        let refused = all.iter().filter(|(_, m)| m.as_ref().is_none_or(|m| !m.usable)).count();
        table.at_most(&format!("{mode}: even light refused, %"), 5.0, refused, all.len());
        ranks(table, mode, &trials, &all);
        groups(mode, &trials, &errors);
        why(mode, &all);
    }
}

fn ranks(table: &mut Table, mode: &str, trials: &[Trial], all: &[(usize, Option<Measured>)]) {
    for tone in Tone::ALL {
        let (mut brown, mut blue, mut unsaid, mut count) = (Vec::new(), Vec::new(), 0, 0);
        for (i, m) in all.iter().filter(|(i, _)| trials[*i].plan.person.tone == tone) {
            for (s, truth) in sides(&trials[*i], m) {
                count += 1;
                match s.brown {
                    Some(v) => brown.push((v.value, truth.brown)),
                    None => unsaid += 1,
                }
                blue.push((s.blue_red.value, truth.blue_red));
            }
        }
        if tone == Tone::Dark {
            table.at_least(&format!("{mode}: brown, dark: says cannot tell, %"), 95.0, unsaid, count);
        } else {
            table.rank(&format!("{mode}: brown, {}: Spearman", tone.name()), 0.80, &brown);
            table.rank(&format!("{mode}: blue-red, {}: Spearman", tone.name()), 0.75, &blue);
        }
    }
}

/// Median and 95th percentile of the error of dE00 by tone, light and severity.
fn groups(mode: &str, trials: &[Trial], errors: &[(usize, [f64; 3])]) {
    println!("\n{mode}: error of dE00, median / 95th percentile (n)");
    let by = |title: &str, key: &dyn Fn(&Plan) -> String| {
        let mut groups: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for (i, e) in errors {
            groups.entry(key(&trials[*i].plan)).or_default().push(e[0]);
        }
        for (name, v) in groups {
            println!("  {title} {name:<14} {:.2} / {:.2} ({})", quantile(&v, 0.5), quantile(&v, 0.95), v.len());
        }
    };
    by("tone", &|p| format!("{} {}", p.person.tone as usize, p.person.tone.name()));
    by("light", &|p| format!("{:?}", p.setting));
    by("severity", &|p| format!("{:.0}", p.severity.floor()));
}

/// Which gates refused.
fn why(mode: &str, all: &[(usize, Option<Measured>)]) {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, m) in all {
        match m {
            None => *counts.entry("no_face").or_default() += 1,
            Some(m) => {
                m.gates.iter().filter(|g| !g.passed).for_each(|g| *counts.entry(g.name.name()).or_default() += 1)
            }
        }
    }
    println!("{mode}: refused by {counts:?}");
}

/// What leads, of shadows with one part alone; `per_class` photographs a class and part.
pub fn leading(table: &mut Table, first: u64, per_class: u64) {
    let mut plans = Vec::new();
    for i in 0..per_class * 18 {
        let tone = Tone::ALL[(i % 6) as usize];
        let kind = [Kind::Brown, Kind::BlueRed, Kind::Relief][(i / 6 % 3) as usize];
        let strength = 0.5 + (i / 18) as f64 * 0.618_033_988_75 % 1.0 * 2.5;
        let mut p = plan(first + i * 6, tone, EVEN[(i / 18 % 5) as usize], 0.0, true);
        p.shot.under_eye = UnderEye::only(kind, strength);
        plans.push(Plan { kind: Some(kind), ..p });
    }
    let trials = run(&plans);
    let rows = std::env::args().any(|a| a == "rows");
    for (mode, of) in [("referenced", true), ("relative", false)] {
        let (mut named, mut right, mut count) = (0, 0, 0);
        let mut by: BTreeMap<(usize, &str, &str), usize> = BTreeMap::new();
        for t in &trials {
            let m = if of { &t.referenced } else { &t.relative };
            let kind = t.plan.kind.expect("a single part");
            for (s, truth) in sides(t, m) {
                count += 1;
                let expected = match kind {
                    Kind::Brown => Leading::Brown,
                    Kind::BlueRed => Leading::BlueRed,
                    Kind::Relief => Leading::Relief,
                };
                *by.entry((t.plan.person.tone as usize, expected.name(), s.leading.name())).or_default() += 1;
                if rows {
                    let part = |v: measure::Value| format!("{:.4} +- {:.4}", v.value, v.u95 / 2.0);
                    // What the separation makes of the true colours: the rest of an error is the photograph's.
                    let [b, c] = [truth.band, truth.cheek].map(|[l, a, b]| colour::Lab { l, a, b }.xyz());
                    let light = |xyz| colour::Linear::of_xyz(xyz).0;
                    let d = std::array::from_fn(|k| -(light(b)[k] / light(c)[k]).log10());
                    let own = colour::separate(d, [[0.0; 3]; 3], &colour::Base::at(c));
                    println!("of the true colours: {:.4} {:.4} {:.4}", own.melanin, own.haemoglobin, own.shading);
                    let [b, c] = [s.band, s.cheek].map(colour::Lab::xyz);
                    let read: [f64; 3] = std::array::from_fn(|k| -(light(b)[k] / light(c)[k]).log10());
                    println!("densities, true {d:.3?}, read {read:.3?}");
                    println!(
                        "{mode} {} {} {:?}: brown {} ({:.4}), blue-red {} ({:.4}), relief {} ({:.4}): {}",
                        t.plan.person.tone.name(),
                        expected.name(),
                        t.plan.setting,
                        s.brown.map_or_else(String::new, part),
                        truth.brown,
                        part(s.blue_red),
                        truth.blue_red,
                        part(s.relief),
                        truth.relief,
                        s.leading.name()
                    );
                }
                if !matches!(s.leading, Leading::CannotTell | Leading::Mixed) {
                    named += 1;
                    right += usize::from(s.leading == expected);
                }
            }
        }
        table.at_least(&format!("{mode}: leading, of those named right, %"), 95.0, right, named);
        table.at_least(&format!("{mode}: leading, named, %"), 30.0, named, count);
        println!("\n{mode}: leading, (tone, true, said): {by:?}");
    }
}

/// What must be refused; `count` photographs each.
pub fn refusals(table: &mut Table, first: u64, count: u64) {
    type Change = (&'static str, fn(&mut Shot, usize));
    let changes: [Change; 9] = [
        ("side light", |s, _| s.setting = Some(Setting::SideWindow)),
        ("turned 25 to 35 degrees", |s, _| {
            s.yaw = (25.0 + (s.seed % 11) as f64) * if s.seed % 2 == 0 { 1.0 } else { -1.0 }
        }),
        ("blurred", |s, _| s.blur = 5.0 + (s.seed % 4) as f64),
        // Dark skin takes more light before it is blown out.
        ("clipped", |s, tone| s.exposure = [2.6, 2.7, 3.1, 3.5, 4.4, 5.4][tone]),
        ("dim", |s, _| s.exposure = -5.0),
        ("eyes closed", |s, _| s.eyes_closed = true),
        ("spectacles", |s, _| s.spectacles = true),
        ("painted", |s, _| s.painted = true),
        ("monochrome", |s, _| s.monochrome = true),
    ];
    for (name, change) in changes {
        let plans: Vec<Plan> = (0..count)
            .map(|i| {
                let tone = Tone::ALL[(i % 6) as usize];
                let mut p = plan(first + i * 6, tone, Setting::D65, 2.0, false);
                p.shot.seed = first + i;
                change(&mut p.shot, tone as usize);
                p
            })
            .collect();
        let trials = run(&plans);
        let refused = |t: &Trial| t.relative.as_ref().is_none_or(|m| !m.usable);
        if name == "spectacles" {
            // Where rims and glare leave the areas free, a right result is as good as a refusal.
            let right = |t: &Trial| {
                sides(t, &t.relative)
                    .iter()
                    .all(|(s, truth)| (s.shadow.de.value - truth.shadow[3]).abs() <= s.shadow.de.u95)
            };
            let good = trials.iter().filter(|t| refused(t) || right(t)).count();
            table.at_least("refused or within U95: spectacles, %", 99.0, good, trials.len());
            continue;
        }
        let count = trials.iter().filter(|t| refused(t)).count();
        table.at_least(&format!("refused: {name}, %"), 99.0, count, trials.len());
    }
}

/// Two photographs of one face in one light with nothing changed; `count` pairs.
pub fn unchanged(table: &mut Table, first: u64, count: u64) {
    let mut plans = Vec::new();
    for i in 0..count {
        for k in 0..2 {
            let mut p =
                plan(first + i * 6, Tone::ALL[(i % 6) as usize], EVEN[(i / 6 % 5) as usize], (i % 5) as f64, true);
            again(&mut p, first + i * 6, k, first + i);
            p.shot.light_seed = first + i * 6;
            plans.push(p);
        }
    }
    let trials = run(&plans);
    for (mode, of) in [("referenced", true), ("relative", false)] {
        let (mut apart, mut flagged) = (Vec::new(), 0);
        for pair in trials.chunks_exact(2) {
            let visit = |t: &Trial| combine(&[if of { t.referenced.clone()? } else { t.relative.clone()? }]);
            let (Some(a), Some(b)) = (visit(&pair[0]), visit(&pair[1])) else { continue };
            for k in 0..2 {
                let change = b.sides[k].since(&a.sides[k]);
                apart.push(change.de.value.abs());
                flagged += usize::from(change.de.value.abs() > change.de.u95);
            }
        }
        table.quantile(&format!("{mode}: no change, 95 % of differences of dE00"), 0.7, &apart, 0.95);
        table.at_most(&format!("{mode}: no change, flagged, %"), 5.0, flagged, apart.len());
    }
}

/// Another photograph of the same person: another pose, distance, noise; the same skin, light and camera.
fn again(p: &mut Plan, same: u64, k: u64, visit: u64) {
    let first = Shot::measured(same, p.setting);
    let mut shot = Shot::measured(visit * 97 + k + 1, p.setting);
    shot.card = p.shot.card;
    shot.under_eye = p.shot.under_eye.clone();
    shot.camera_kind = first.camera_kind;
    shot.jpeg_space = first.jpeg_space;
    p.shot = shot;
}

/// Visits of three photographs before and after a true change of 2 dE00 on both sides; `count` people.
pub fn changed(table: &mut Table, first: u64, count: u64) {
    let mut plans = Vec::new();
    for i in 0..count {
        let (tone, setting) = (Tone::ALL[(i % 6) as usize], EVEN[(i / 6 % 5) as usize]);
        let base = plan(first + i * 6, tone, setting, 1.5, true);
        let person = person(first + i * 6, tone);
        let (before, after) = crate::trial::two_apart(&person, &base.shot, 2.0);
        for (visit, under) in [(0, before), (1, after)] {
            for k in 0..3 {
                let mut p = plan(first + i * 6, tone, setting, 1.5, true);
                p.shot.under_eye = under.clone();
                again(&mut p, first + i * 6, k, first + i * 2 + visit);
                plans.push(p);
            }
        }
    }
    let trials = run(&plans);
    for (mode, of) in [("referenced", true), ("relative", false)] {
        let (mut found, mut all, mut moved) = (0, 0, Vec::new());
        for six in trials.chunks_exact(6) {
            let visit = |t: &[Trial]| {
                combine(
                    &t.iter()
                        .filter_map(|t| if of { t.referenced.clone() } else { t.relative.clone() })
                        .collect::<Vec<_>>(),
                )
            };
            let (Some(a), Some(b)) = (visit(&six[..3]), visit(&six[3..])) else { continue };
            for k in 0..2 {
                let change = b.sides[k].since(&a.sides[k]);
                moved.push(change.de.value);
                found += usize::from(change.de.value > change.de.u95);
                all += 1;
            }
        }
        println!(
            "\n{mode}: a true change of 2 dE00 was measured as {:.2} at the median, {:.2} to {:.2}",
            quantile(&moved, 0.5),
            quantile(&moved, 0.05),
            quantile(&moved, 0.95)
        );
        table.at_least(&format!("{mode}: true change of 2 dE00 found, %"), 90.0, found, all);
    }
}
