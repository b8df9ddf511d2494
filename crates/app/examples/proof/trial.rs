//! One invented person, photographed, saved as a JPEG, opened again and measured.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use colour::{Linear, Space, Table8};
use measure::{Card, Light, Measured, Options, measure};
use phantom::{Kind, Person, Setting, Shot, SkinTruth, Tone, Truth, UnderEye, photograph};
use vision::{Care, Finder, Limits, Photograph, View, decode};

/// What is photographed.
#[derive(Clone, Debug)]
pub struct Plan {
    pub person: Person,
    pub shot: Shot,
    /// Whether the card is read.
    pub card: bool,
    /// The skin class that the measurement is told.
    pub tone: Option<Tone>,
    pub setting: Setting,
    pub severity: f64,
    /// The single part of its shadow.
    pub kind: Option<Kind>,
}

/// A photograph with what is true and what was measured.
pub struct Trial {
    pub plan: Plan,
    pub truth: SkinTruth,
    pub full: Truth,
    /// With the card; none: no face, no card, or no fit.
    pub referenced: Option<Measured>,
    /// Without it; none: no face was found.
    pub relative: Option<Measured>,
    /// What the network found.
    pub landmarks: Option<face::Landmarks>,
}

/// A photograph as light.
pub struct Lit<'a> {
    pub width: usize,
    pub height: usize,
    pub rgb: &'a [u8],
    pub table: Table8,
}

impl Light for Lit<'_> {
    fn size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    fn linear(&self, x: usize, y: usize) -> Linear {
        self.table.linear(self.levels(x, y))
    }

    fn levels(&self, x: usize, y: usize) -> [u8; 3] {
        let at = 3 * (y * self.width + x);
        [self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]]
    }
}

/// The class that the measurement knows by the phantom's.
pub fn told(tone: Tone) -> colour::Tone {
    colour::Tone::parse(tone.name()).expect("one name for one class")
}

/// The person of a seed in a class.
pub fn person(seed: u64, tone: Tone) -> Person {
    let tones = Tone::ALL.len() as u64;
    let at = Tone::ALL.iter().position(|t| *t == tone).expect("a class") as u64;
    Person::invented(seed - seed % tones + at)
}

pub fn plan(seed: u64, tone: Tone, setting: Setting, severity: f64, card: bool) -> Plan {
    let person = person(seed, tone);
    let mut shot = Shot::measured(seed, setting);
    shot.card = card;
    shot.under_eye = UnderEye::of_severity(&person, severity, seed);
    Plan { person, shot, card, tone: Some(tone), setting, severity, kind: None }
}

/// Runs plans on two threads, in order, telling how far it is.
pub fn run(plans: &[Plan]) -> Vec<Trial> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let finder = Finder::new().expect("the networks load");
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(plan) = plans.get(i) else { break };
                    if i.is_multiple_of(50) {
                        eprintln!("{i} of {}", plans.len());
                    }
                    let trial = one(plan, &finder);
                    done.lock().expect("no panic").push((i, trial));
                }
            });
        }
    });
    let mut done = done.into_inner().expect("no panic");
    done.sort_by_key(|d| d.0);
    done.into_iter().map(|d| d.1).collect()
}

fn one(plan: &Plan, finder: &Finder) -> Trial {
    let (picture, truth) = photograph(&plan.person, &plan.shot);
    let view = View::new(picture.width, picture.height, &picture.rgb).expect("a whole picture");
    let photo = decode(&vision::jpeg(&view, 92).expect("written"), &Limits::default()).expect("read again");
    let skin = truth.skin.clone().expect("a measured shot has its truth");
    let (referenced, relative, landmarks) =
        look(&photo, &space(&plan.shot), plan, &truth, finder).unwrap_or((None, None, None));
    Trial { plan: plan.clone(), truth: skin, full: truth, referenced, relative, landmarks }
}

fn space(shot: &Shot) -> Space {
    match shot.jpeg_space {
        phantom::Space::Srgb => Space::srgb(),
        phantom::Space::DisplayP3 => Space::display_p3(),
    }
}

type Both = (Option<Measured>, Option<Measured>, Option<face::Landmarks>);

fn look(photo: &Photograph, space: &Space, plan: &Plan, truth: &Truth, finder: &Finder) -> Option<Both> {
    let rgb = photo.rgb8();
    let (width, height) = (photo.width as usize, photo.height as usize);
    let view = View::new(width, height, &rgb)?;
    let found = finder.find(&view, Care::PHOTOGRAPH).ok()?;
    // Where errors come from: the truth's own landmarks instead of the network's.
    let landmarks = if std::env::args().any(|a| a == "true-landmarks") {
        face::Landmarks::new(truth.landmarks.clone())?
    } else {
        found.landmarks
    };
    let lit = Lit { width, height, rgb: &rgb, table: space.table8() };
    let of = |card| {
        let options = Options { card, tone: plan.tone.map(told), ..Options::default() };
        measure(&lit, &view, &landmarks, &options).ok()
    };
    let card = if plan.card { card(&lit, truth) } else { None };
    Some((card.and_then(|c| of(Some(c))), of(None), Some(landmarks.clone())))
}

/// The card, its patches where the truth says they lie: what finding them costs is measured beside the finder.
fn card(lit: &Lit<'_>, truth: &Truth) -> Option<Card> {
    let seen = truth.card.as_ref()?;
    let mut patches = Vec::new();
    let mut readings = Vec::new();
    for p in &seen.patches {
        let [l, a, b] = p.lab_d65;
        patches.push(colour::Patch { name: p.name.clone(), lab: colour::Lab { l, a, b }, grey: p.grey });
        readings.push(reading(lit, &p.corners_px));
    }
    let fit = colour::CardFit::fit(&patches, &readings).ok()?;
    Some(Card { fit, tilt_deg: None })
}

/// The mean of the middle of a patch.
fn reading(lit: &Lit<'_>, corners: &[[f64; 2]; 4]) -> colour::Reading {
    let n = 24;
    let (mut sum, mut clipped, mut squares) = ([0.0; 3], 0.0, [0.0; 3]);
    for i in 0..n {
        for j in 0..n {
            let (u, v) = (0.25 + 0.5 * (i as f64 + 0.5) / n as f64, 0.25 + 0.5 * (j as f64 + 0.5) / n as f64);
            let at = |k: usize| {
                let [a, b, c, d] = corners.map(|p| p[k]);
                (a * (1.0 - u) + b * u) * (1.0 - v) + (d * (1.0 - u) + c * u) * v
            };
            let (x, y) = ((at(0).max(0.0) as usize).min(lit.width - 1), (at(1).max(0.0) as usize).min(lit.height - 1));
            let levels = lit.levels(x, y);
            clipped += f64::from(u8::from(levels.iter().any(|v| *v >= 250 || *v <= 2)));
            let Linear(c) = lit.linear(x, y);
            for k in 0..3 {
                sum[k] += c[k];
                squares[k] += c[k] * c[k];
            }
        }
    }
    let count = (n * n) as f64;
    let mean = sum.map(|s| s / count);
    let se = std::array::from_fn(|k| ((squares[k] / count - mean[k] * mean[k]).max(0.0) / count).sqrt());
    colour::Reading { linear: Linear(mean), se, clipped: clipped / count }
}

/// Two under-eyes of one person whose true shadows differ by `de` on the mean of both sides: the same kinds, more of them.
pub fn two_apart(person: &Person, shot: &Shot, de: f64) -> (UnderEye, UnderEye) {
    let before = UnderEye::of_severity(person, 1.5, person.seed);
    // The truth does not depend on the picture's size: a small one tells it soon enough.
    let truth = |under: &UnderEye| {
        let small = Shot { width: 480, height: 600, samples: 1, card: false, under_eye: under.clone(), ..shot.clone() };
        let (_, truth) = photograph(person, &small);
        let sides = truth.skin.expect("a measured shot has its truth").sides;
        (sides[0].shadow[3] + sides[1].shadow[3]) / 2.0
    };
    let from = truth(&before);
    let (mut low, mut high) = (1.0, 6.0);
    let mut after = before.clone();
    for _ in 0..7 {
        let by = (low + high) / 2.0;
        let more = |v: [f64; 2]| v.map(|s| s * by);
        // Relief is left as it is: shape is not what changes.
        after = UnderEye { brown: more(before.brown), blue_red: more(before.blue_red), relief: before.relief };
        if truth(&after) - from < de { low = by } else { high = by }
    }
    (before, after)
}
