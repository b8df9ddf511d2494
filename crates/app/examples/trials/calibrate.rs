//! The table of landmark errors, from invented faces.

use std::process::ExitCode;

use face::{HairlineSource, LANDMARKS, OwnMap, Places, canonical, mirror};
use vocab::Side;

use crate::trial::{Trial, run as trials, true_head};

/// The distance of the outer corners of the eyes that the table's millimetres belong to.
const EYES_MM: f64 = 89.0;

/// One error, across (toward the person's own left) and upward, millimetres.
type Error = [f64; 2];

pub fn run(count: usize) -> ExitCode {
    let all = trials(1_000_000, count, &Places::built_in());
    let read: Vec<(&Trial, &OwnMap)> = all.iter().filter_map(|t| t.map.as_ref().map(|m| (t, m))).collect();
    eprintln!("{} faces, {} read", all.len(), read.len());
    println!(
        "# How far the network and the search for the hairline err, millimetres on a face whose outer eye corners lie 89 mm"
    );
    println!("# apart, across (toward the own left) and upward. From {} invented faces, made by", read.len());
    println!(
        "# `cargo run --release -p app --example trials -- calibrate {count}`. Real faces were not measured: nothing is known of"
    );
    println!("# their truth.");
    println!("of,bias_across,bias_up,sd_across,sd_up,together");
    let errors: Vec<Vec<Error>> =
        (0..LANDMARKS).map(|n| read.iter().map(|(t, m)| landmark(t, m, n)).collect()).collect();
    for n in 0..LANDMARKS {
        // Both sides of the face together: what errs outward on one does so on the other.
        let m = mirror(n);
        let mut pooled = errors[n].clone();
        pooled.extend(errors[m].iter().map(|[x, y]| [-x, *y]));
        row(&n.to_string(), &pooled);
    }
    let seen = |m: &OwnMap| m.head.hairline.source == HairlineSource::Seen;
    for (name, want) in [("hairline", true), ("proportion", false)] {
        let of = |(_, m): &&(&Trial, &OwnMap)| seen(m) == want;
        let list: Vec<Error> = read.iter().filter(of).map(|(t, m)| hairline(t, m)).collect();
        row(name, &list);
    }
    for (name, want) in [("corner", true), ("proportion_corner", false)] {
        let of = |(_, m): &&(&Trial, &OwnMap)| seen(m) == want;
        let list: Vec<Error> = read.iter().filter(of).flat_map(|(t, m)| corners(t, m)).collect();
        row(name, &list);
    }
    let pose = |of: &dyn Fn(&face::Pose) -> f64| {
        let list: Vec<f64> = read
            .iter()
            .map(|(t, m)| {
                let [yaw, pitch, roll] = t.truth.pose_deg;
                of(&m.pose()) - of(&face::Pose::of_turns(yaw, pitch, roll))
            })
            .collect();
        let n = list.len() as f64;
        let mean = list.iter().sum::<f64>() / n;
        (mean, (list.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / n).sqrt())
    };
    for (name, (mean, sd)) in [("roll", pose(&|p| p.roll)), ("yaw", pose(&|p| p.yaw)), ("pitch", pose(&|p| p.pitch))] {
        println!("turn_{name},{mean:.3},0,{sd:.3},0,0");
    }
    println!("alike,0,0,{:.1},0,0", alike(&errors));
    for style in phantom::Hair::ALL {
        let of: Vec<&(&Trial, &OwnMap)> = read.iter().filter(|(t, _)| t.person.hair == style).collect();
        let mistaken = of.iter().filter(|(_, m)| seen(m)).count();
        let mut heights: Vec<i64> = of
            .iter()
            .filter(|(_, m)| seen(m))
            .map(|(_, m)| (m.head.hairline.height(0.0) - m.head.between_brows()[1]).round() as i64)
            .collect();
        heights.sort_unstable();
        eprintln!("{style:?}: {} faces, hairline seen in {mistaken}: heights {heights:?}", of.len());
    }
    ExitCode::SUCCESS
}

/// Upright axes of the face in the picture: the head's roll taken out.
pub fn upright(trial: &Trial, dx: f64, dy: f64) -> Error {
    let [yaw, pitch, roll] = trial.truth.pose_deg;
    let roll = face::Pose::of_turns(yaw, pitch, roll).roll.to_radians();
    // Pixels count down. A head tilted to its own left has its crown toward the picture's right.
    let (x, y) = (dx * trial.truth.mm_per_px, -dy * trial.truth.mm_per_px);
    [x * roll.cos() - y * roll.sin(), x * roll.sin() + y * roll.cos()]
}

fn landmark(trial: &Trial, map: &OwnMap, n: usize) -> Error {
    let (truth, got) = (trial.truth.landmarks[n], map.landmarks.at(n));
    let eyes = {
        let (a, b) = (trial.truth.head_mm[33], trial.truth.head_mm[263]);
        (a[0] - b[0]).hypot(a[1] - b[1])
    };
    upright(trial, got.x - truth[0], got.y - truth[1]).map(|v| v * EYES_MM / eyes)
}

/// The height of the hairline where the map says it is, against the true one straight above or below: the mean over the front.
fn hairline(trial: &Trial, map: &OwnMap) -> Error {
    let head = true_head(trial);
    let mut sum = 0.0;
    let columns = [-25.0, -12.0, 0.0, 12.0, 25.0];
    for x in columns {
        let mid = (map.head.point(10, Side::Left)[0] + map.head.point(151, Side::Left)[0]) / 2.0;
        let (own, _) = map.head.surface(mid + x, map.head.hairline.height(mid + x));
        let got = map.frame.to_picture(own);
        let true_mid = (head.point(10, Side::Left)[0] + head.point(151, Side::Left)[0]) / 2.0;
        let (place, _) = head.surface(true_mid + x, head.hairline.height(true_mid + x));
        let [tx, ty] = trial.truth.project(place);
        sum += upright(trial, got.x - tx, got.y - ty)[1];
    }
    [0.0, sum / columns.len() as f64]
}

fn corners(trial: &Trial, map: &OwnMap) -> Vec<Error> {
    let head = true_head(trial);
    let one = |side: Side| {
        let c = map.head.corner(side);
        let got = map.frame.to_picture(map.head.surface(c[0], c[1]).0);
        let t = head.corner(side);
        let [tx, ty] = trial.truth.project(head.surface(t[0], t[1]).0);
        let [x, y] = upright(trial, got.x - tx, got.y - ty);
        [if side == Side::Right { -x } else { x }, y]
    };
    vec![one(Side::Left), one(Side::Right)]
}

/// Mean and standard deviation. What was taken for a hairline and is none counts too: a person cannot tell either.
fn row(name: &str, errors: &[Error]) {
    let of = |k: usize| {
        let n = errors.len().max(1) as f64;
        let mean = errors.iter().map(|e| e[k]).sum::<f64>() / n;
        let sd = (errors.iter().map(|e| (e[k] - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0)).sqrt();
        (mean, sd)
    };
    let ((bx, sx), (by, sy)) = (of(0), of(1));
    let n = errors.len().max(1) as f64;
    let shared = errors.iter().map(|e| (e[0] - bx) * (e[1] - by)).sum::<f64>() / n;
    println!("{name},{bx:.2},{by:.2},{sx:.2},{sy:.2},{:.2}", shared / (sx * sy).max(1e-9));
}

/// The distance over which the errors of two landmarks lose their likeness: pairs about 30 mm apart tell it.
fn alike(errors: &[Vec<Error>]) -> f64 {
    let surface = canonical();
    let (mut sum, mut count) = (0.0, 0.0);
    for a in (0..surface.len()).step_by(5) {
        for b in (2..surface.len()).step_by(7) {
            let d = (0..3).map(|k| (10.0 * (surface[a][k] - surface[b][k])).powi(2)).sum::<f64>().sqrt();
            if (25.0..35.0).contains(&d) {
                for k in 0..2 {
                    sum += correlation(&errors[a], &errors[b], k);
                    count += 1.0;
                }
            }
        }
    }
    let mean: f64 = (sum / f64::max(count, 1.0)).clamp(0.02, 0.98);
    -30.0 / mean.ln()
}

fn correlation(a: &[Error], b: &[Error], k: usize) -> f64 {
    let n = a.len() as f64;
    let mean = |l: &[Error]| l.iter().map(|e| e[k]).sum::<f64>() / n;
    let (ma, mb) = (mean(a), mean(b));
    let cross: f64 = a.iter().zip(b).map(|(x, y)| (x[k] - ma) * (y[k] - mb)).sum();
    let power = |l: &[Error], m: f64| l.iter().map(|e| (e[k] - m).powi(2)).sum::<f64>();
    cross / (power(a, ma) * power(b, mb)).sqrt().max(1e-12)
}
