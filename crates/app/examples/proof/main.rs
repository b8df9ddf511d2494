//! The proof of the measurement on invented faces of known truth.
//!
//! ```text
//! cargo run --release -p app --example proof -- table [SHARE [REST]]  the whole table; SHARE of the pictures of shadows, REST of the others
//! cargo run --release -p app --example proof -- calibrate N     the same of other seeds, for tuning: N pictures a class
//! cargo run --release -p app --example proof -- look N          picture by picture
//! cargo run --release -p app --example proof -- leading N rows  what leads, side by side with the truth
//! ```

mod stats;
mod table;
mod trial;

use phantom::Tone;
use trial::{Trial, plan, run};

/// Seeds that the bars are held to; everything was tuned on others.
const PROOF: u64 = 4_000_002;
const TUNING: u64 = 700_002;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |k: usize, or: f64| args.get(k).and_then(|n| n.parse::<f64>().ok()).unwrap_or(or);
    let mut table = table::Table::default();
    let failed = match args.first().map(String::as_str) {
        Some("border") => return border(),
        Some("look") => return look(number(1, 36.0) as u64),
        Some("calibrate") => {
            table::shadows(&mut table, TUNING, number(1, 20.0) as u64);
            0
        }
        Some("leading") => {
            table::leading(&mut table, TUNING + 300_000, number(1, 5.0) as u64);
            0
        }
        Some("pairs") => {
            table::unchanged(&mut table, TUNING + 400_000, number(1, 30.0) as u64);
            table::changed(&mut table, TUNING + 500_000, number(1, 30.0) as u64 / 3);
            0
        }
        Some("refusals") => {
            table::refusals(&mut table, TUNING + 600_000, number(1, 12.0) as u64);
            0
        }
        _ => {
            let share = number(1, 1.0);
            let rest = number(2, share);
            let of = |n: f64| (n * rest).ceil() as u64;
            table::shadows(&mut table, PROOF, (120.0 * share).ceil() as u64);
            table::leading(&mut table, PROOF + 1_000_000, of(18.0));
            table::refusals(&mut table, PROOF + 2_000_000, of(102.0));
            table::unchanged(&mut table, PROOF + 3_000_000, of(120.0));
            table::changed(&mut table, PROOF + 4_000_000, of(60.0));
            table.failed()
        }
    };
    table.print();
    if failed > 0 {
        std::process::exit(1);
    }
}

/// How far below the true vertices the network sees the lower border of the band, and what the lids' margins are off, mm.
fn border() {
    let plans: Vec<trial::Plan> = (0..48)
        .map(|i| plan(TUNING + 200_000 + i * 7, Tone::ALL[(i % 6) as usize], table::EVEN[(i % 5) as usize], 0.0, false))
        .collect();
    let mut low = vec![Vec::new(); 6];
    let (mut lids, mut plain) = (vec![Vec::new(); 9], vec![Vec::new(); 9]);
    for t in run(&plans) {
        let (Some(found), Some(m)) = (&t.landmarks, &t.relative) else { continue };
        for side in [0, 1] {
            let own = |n: usize| if side == 1 { n } else { face::mirror(n) };
            let mm = t.full.mm_per_px;
            let pairs = [(448, 346), (449, 347), (450, 348), (451, 349), (452, 350), (453, 357)];
            for (k, (a, b)) in pairs.into_iter().enumerate() {
                let y = |n: usize| found.at(own(n)).y - t.full.landmarks[own(n)][1];
                low[k].push((y(a) + y(b)) / 2.0 * mm);
            }
            let line: Vec<[f64; 3]> = face::region::LOWER_LID.iter().map(|n| t.full.landmarks[own(*n)]).collect();
            let off = |p: face::Pixel| {
                let near = line.windows(2).map(|w| beside([p.x, p.y], [w[0][0], w[0][1]], [w[1][0], w[1][1]]));
                near.min_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(f64::NAN) * mm
            };
            let own = face::region::margins(found)[side];
            for k in 0..9 {
                lids[k].push(off(m.margins[side][k]));
                plain[k].push(off(own[k]));
            }
        }
    }
    for (name, all) in [("lower border", low), ("lid margin, the network's", plain), ("lid margin, refined", lids)] {
        for (k, v) in all.iter().enumerate() {
            let mean = v.iter().sum::<f64>() / v.len() as f64;
            let sd = (v.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / v.len() as f64).sqrt();
            println!("{name} {k} (outer to inner): mean {mean:.2} mm lower, SD {sd:.2} (n {})", v.len());
        }
    }
}

/// The distance of a place from a piece of line, pixels; more than 0 below it.
fn beside(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let t = (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
    let (x, y) = (p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
    x.hypot(y) * if (y * dx - x * dy) * dx.signum() >= 0.0 { 1.0 } else { -1.0 }
}

fn pick(t: &Trial) -> Option<&measure::Measured> {
    if std::env::args().any(|a| a == "referenced") { t.referenced.as_ref() } else { t.relative.as_ref() }
}

fn look(count: u64) {
    let mut plans = Vec::new();
    for i in 0..count {
        let tone = Tone::ALL[(i % 6) as usize];
        let setting = table::EVEN[(i / 6 % 5) as usize];
        plans.push(plan(TUNING + 100_000 + i * 6, tone, setting, ((i / 30 + i) % 5) as f64, true));
    }
    let mut errors: Vec<[f64; 5]> = Vec::new();
    let mut light: Vec<f64> = Vec::new();
    println!(
        "seed tone setting sev side usable | true dL da db dE | got dL da db dE u | plain dE | shade | ml tl | b bt h ht r rt | lead"
    );
    for t in run(&plans) {
        let Some(m) = pick(&t) else {
            println!("{} no face", t.plan.shot.seed);
            continue;
        };
        let failed: Vec<String> =
            m.gates.iter().filter(|g| !g.passed).map(|g| format!("{}={:.2}", g.name.name(), g.value)).collect();
        let Some(sides) = &m.sides else {
            println!(
                "{} {} {:?} refused {}",
                t.plan.shot.seed,
                t.plan.person.tone.name(),
                t.plan.setting,
                failed.join(" ")
            );
            continue;
        };
        for (k, s) in sides.iter().enumerate() {
            let truth = &t.truth.sides[k];
            let [l, a, b, de, _] = truth.shadow;
            errors.push([
                s.shadow.l.value - l,
                s.shadow.a.value - a,
                s.shadow.b.value - b,
                s.shadow.de.value - de,
                t.plan.severity,
            ]);
            light.push(s.shading.value - truth.light);
            println!(
                "{} {} {:?} {} {} | {l:.2} {a:.2} {b:.2} {de:.2} | {:.2} {:.2} {:.2} {:.2} {:.2} | {:.2} | {:.3} {:.3} {:.3} | {:.3} {:.3} {:.3} {:.3} {:.3} {:.3} | {}",
                t.plan.shot.seed,
                t.plan.person.tone.name(),
                t.plan.setting,
                t.plan.severity,
                ["R", "L"][k],
                s.shadow.l.value,
                s.shadow.a.value,
                s.shadow.b.value,
                s.shadow.de.value,
                s.shadow.de.u95,
                s.as_photographed.de.value,
                s.shading.value,
                s.shading.u95,
                truth.light,
                s.brown.map_or(f64::NAN, |v| v.value),
                truth.brown,
                s.blue_red.value,
                truth.blue_red,
                s.relief.value,
                truth.relief,
                s.leading.name(),
            );
        }
    }
    let bias = light.iter().sum::<f64>() / light.len() as f64;
    let rms = (light.iter().map(|v| v * v).sum::<f64>() / light.len() as f64).sqrt();
    println!("de-shading: bias {bias:.3}, rms {rms:.3} (ln)");
    for severity in [0.0, 1.0, 2.0, 3.0, 4.0, 9.0] {
        let of = |k: usize| -> Vec<f64> {
            errors.iter().filter(|e| severity > 8.0 || e[4] == severity).map(|e| e[k]).collect()
        };
        let mean = |v: Vec<f64>| v.iter().sum::<f64>() / v.len() as f64;
        println!(
            "severity {severity}: n {} bias dL {:.2} da {:.2} db {:.2} dE {:.2}; median |dE| {:.2}, 95 % {:.2}",
            of(0).len(),
            mean(of(0)),
            mean(of(1)),
            mean(of(2)),
            mean(of(3)),
            stats::quantile(&of(3).iter().map(|v| v.abs()).collect::<Vec<_>>(), 0.5),
            stats::quantile(&of(3).iter().map(|v| v.abs()).collect::<Vec<_>>(), 0.95)
        );
    }
}
