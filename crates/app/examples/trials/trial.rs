//! One invented person, photographed and read.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, mpsc};

use face::{Hairline, HairlineSource, Hands, Head, OwnMap, Places};
use phantom::{Person, Shot, Truth, photograph};
use vision::{Care, Finder, View};
use vocab::Side;

/// What was asked, what is true, what was read.
pub struct Trial {
    pub seed: u64,
    pub person: Person,
    pub truth: Truth,
    /// None: no face was found, or no map made.
    pub map: Option<OwnMap>,
}

/// Every point with a rule, on both sides; which are on the midline is known by their rule.
pub fn asked(places: &Places) -> Vec<(&str, Side)> {
    let head = face::drawn_head();
    let mut list = Vec::new();
    for code in places.codes() {
        let midline = places.find(code, Side::Left, &head).is_some_and(|(at, _)| at[0].abs() < 1e-6);
        list.extend(if midline { vec![(code, Side::Midline)] } else { vec![(code, Side::Left), (code, Side::Right)] });
    }
    list
}

/// The true head with its true hairline and the person's own thumb.
pub fn true_head(trial: &Trial) -> Head {
    let line = trial.truth.hairline_mm.iter().map(|p| [p[0], p[1]]).collect();
    let head = Head::new(trial.truth.head_mm.clone(), Hairline::through(line, HairlineSource::Hand, 0.0));
    head.with_thumb(trial.person.build.thumb_mm)
}

/// Runs trials on two threads, in the order of their seeds, telling how far it is.
pub fn run(first: u64, count: usize, places: &Places) -> Vec<Trial> {
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    let asked = asked(places);
    let told = Mutex::new(());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            let (sender, next, asked, told) = (sender.clone(), &next, &asked, &told);
            scope.spawn(move || {
                let finder = Finder::new().expect("the networks load");
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        break;
                    }
                    if i % 50 == 0 {
                        let _one = told.lock();
                        eprintln!("{i} of {count}");
                    }
                    sender.send(one(first + i as u64, &finder, places, asked)).expect("the list is read");
                }
            });
        }
        drop(sender);
        let mut trials: Vec<Trial> = receiver.iter().collect();
        trials.sort_by_key(|t| t.seed);
        trials
    })
}

fn one(seed: u64, finder: &Finder, places: &Places, asked: &[(&str, Side)]) -> Trial {
    let (person, shot) = (Person::invented(seed), Shot::random(seed));
    let (picture, truth) = photograph(&person, &shot);
    let view = View::new(picture.width, picture.height, &picture.rgb).expect("a whole picture");
    let found = finder.find(&view, Care::PHOTOGRAPH).ok();
    let map = found.and_then(|f| OwnMap::make(&f.landmarks, &view, &Hands::default(), places, asked));
    Trial { seed, person, truth, map }
}
