//! Photographs of six faces at many strengths of shadow, in many lights, measured once.

use std::fmt::Write;

use phantom::{Person, Shot, Space, Tone, UnderEye, photograph};

use crate::trial::{Plan, run};

/// Seeds of these faces; of six in a row each has another class of skin.
const FIRST: u64 = 9_000_006;
/// Photographs of a visit.
const SHOTS: u64 = 2;
/// Even lights: what passes the gates.
const LIGHTS: [phantom::Setting; 5] = [
    phantom::Setting::D65,
    phantom::Setting::A,
    phantom::Setting::Led,
    phantom::Setting::Window,
    phantom::Setting::Gradient,
];
/// How far the truths reach below and above the level before the first session, dE00.
const REACH: [f64; 2] = [3.6, 1.6];

/// One visit: what is true, and what its photographs measured.
#[derive(Clone, Debug)]
pub struct Visit {
    /// Mean of the truths of its photographs, dE00, both sides.
    pub truth: f64,
    /// What was measured on those that passed the gates.
    pub measured: Vec<f64>,
}

/// A face with its visits.
pub struct Face {
    tone: &'static str,
    /// The level before the first session, dE00.
    pub level: f64,
    /// Every visit of which a photograph passed.
    pub visits: Vec<Visit>,
    /// How many photographs were drawn.
    pub photographs: usize,
    /// How many of them passed the gates.
    pub passed: usize,
}

impl Face {
    /// What its photographs are worth: bias, and scatter between visits and within one.
    pub fn described(&self) -> String {
        let off: Vec<f64> = self.visits.iter().map(|v| mean(&v.measured) - v.truth).collect();
        let bias = mean(&off);
        let sd = (off.iter().map(|o| (o - bias).powi(2)).sum::<f64>() / (off.len().max(2) - 1) as f64).sqrt();
        let pairs: Vec<f64> =
            self.visits.iter().filter(|v| v.measured.len() == 2).map(|v| v.measured[0] - v.measured[1]).collect();
        let within = (pairs.iter().map(|d| d * d / 2.0).sum::<f64>() / pairs.len().max(1) as f64).sqrt();
        format!(
            "{}: level {:.1} dE00; a visit reads {bias:+.2} off on average and scatters by {sd:.2}, photographs within a visit by {within:.2}; \
             {} of {} photographs passed",
            self.tone, self.level, self.passed, self.photographs
        )
    }
}

pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// So many visits of each face are drawn before they are kept.
const BATCH: u64 = 10;

/// So many of the six faces, spread over the classes of skin; what was kept is not measured anew.
pub fn faces(visits: u64, most: u64, kept: Option<&str>) -> Vec<Face> {
    let faces: Vec<Known> = (0..most).map(|k| Known::of(FIRST + k * Tone::ALL.len() as u64 / most)).collect();
    let mut text = kept.and_then(|path| std::fs::read_to_string(path).ok()).unwrap_or_default();
    let mut done = (text.lines().count() / faces.len()) as u64;
    while done < visits {
        let next = visits.min(done + BATCH);
        text.push_str(&draw(&faces, done..next));
        if let Some(path) = kept {
            std::fs::write(path, &text).expect("the pool can be written");
        }
        done = next;
        eprintln!("{done} of {visits} visits of each face");
    }
    faces.iter().enumerate().map(|(k, known)| known.face(k, &text)).collect()
}

/// A person, and how strong their shadow must be for a truth.
struct Known {
    person: Person,
    under: UnderEye,
    level: f64,
    /// Factor of brown and blue-red, and the truth it makes.
    curve: Vec<(f64, f64)>,
}

impl Known {
    fn of(seed: u64) -> Known {
        let person = Person::invented(seed);
        let under = UnderEye::of_severity(&person, 2.0, seed);
        let shot = Shot { width: 480, height: 600, samples: 1, ..Shot::measured(seed, phantom::Setting::D65) };
        // The truth hardly depends on the picture's size: a small one tells it soon enough.
        let curve: Vec<(f64, f64)> = (0..12)
            .map(|k| {
                let by = 0.4 * f64::from(k);
                let (_, truth) = photograph(&person, &Shot { under_eye: more(&under, by), ..shot.clone() });
                (by, both(&truth.skin.expect("a measured shot has its truth")))
            })
            .collect();
        // Room for the whole change and for the days below it.
        let level = curve[0].1 + REACH[0] + 0.4;
        Known { person, under, level, curve }
    }

    /// The factor for a truth; beyond the curve its end.
    fn factor(&self, truth: f64) -> f64 {
        let at = self.curve.windows(2).find(|w| truth <= w[1].1);
        let Some([(a, low), (b, high)]) = at.map(|w| [w[0], w[1]]) else { return self.curve[self.curve.len() - 1].0 };
        a + (b - a) * ((truth - low) / (high - low).max(1e-9)).clamp(0.0, 1.0)
    }

    fn face(&self, k: usize, text: &str) -> Face {
        let mut face =
            Face { tone: self.person.tone.name(), level: self.level, visits: Vec::new(), photographs: 0, passed: 0 };
        for line in text.lines() {
            let cells: Vec<f64> = line.split(',').filter_map(|c| c.parse().ok()).collect();
            let [who, truth, measured @ ..] = cells.as_slice() else { continue };
            if *who as usize != k {
                continue;
            }
            face.photographs += SHOTS as usize;
            face.passed += measured.len();
            if !measured.is_empty() {
                face.visits.push(Visit { truth: *truth, measured: measured.to_vec() });
            }
        }
        face
    }
}

/// Relief is left as it is: shape is not what changes.
fn more(under: &UnderEye, by: f64) -> UnderEye {
    let more = |v: [f64; 2]| v.map(|s| s * by);
    UnderEye { brown: more(under.brown), blue_red: more(under.blue_red), relief: under.relief }
}

fn both(truth: &phantom::SkinTruth) -> f64 {
    0.5 * (truth.sides[0].shadow[3] + truth.sides[1].shadow[3])
}

/// Draws and measures everything: one line a visit, with the face, the truth, and what passed.
fn draw(faces: &[Known], visits: std::ops::Range<u64>) -> String {
    let mut plans = Vec::new();
    for i in visits {
        for known in faces {
            // Spread evenly over what is needed, in no order that the light could go with.
            let share = ((i as f64 + 0.5) * 0.618_033_988_749_895).fract();
            let truth = known.level - REACH[0] + share * (REACH[0] + REACH[1]);
            let seed = known.person.seed + 6_000 * (1 + i);
            let setting = LIGHTS[(seed / 7 % 5) as usize];
            for n in 0..SHOTS {
                let mut shot = Shot::measured(seed + 600 * n, setting);
                (shot.width, shot.height) = (960, 1200);
                shot.light_seed = seed;
                shot.camera_kind = 1 + (known.person.seed % 5) as u8;
                shot.jpeg_space = Space::Srgb;
                shot.under_eye = more(&known.under, known.factor(truth));
                let (person, tone) = (known.person.clone(), Some(known.person.tone));
                plans.push(Plan { person, shot, card: false, tone, setting, severity: share, kind: None });
            }
        }
    }
    let trials = run(&plans);
    let mut text = String::new();
    for (at, visit) in trials.chunks_exact(SHOTS as usize).enumerate() {
        let truth = mean(&visit.iter().map(|t| both(&t.truth)).collect::<Vec<_>>());
        let _ = write!(text, "{},{truth}", at % faces.len());
        for m in visit.iter().filter_map(|t| t.relative.as_ref()) {
            if let Some([right, left]) = &m.sides {
                let _ = write!(text, ",{}", 0.5 * (right.shadow.de.value + left.shadow.de.value));
            }
        }
        text.push('\n');
    }
    text
}
