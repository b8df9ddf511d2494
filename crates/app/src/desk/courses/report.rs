//! What taking in came to: counted in memory while files come in, until the practice is locked.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use cabinet::{Cabinet, ClientId, CourseId, Time, VisitId};
use vocab::Date;

use super::measure;
use crate::notes::HomeNote;

/// So many single lines of a kind are kept; beyond, they are counted.
const MOST_LINES: usize = 1000;
/// So many notes wait for a hand to say whose they are.
const MOST_WAITING: usize = 500;

/// Lines that are told one by one, and how many more there were.
#[derive(Clone, Debug, Default)]
pub struct Lines {
    /// What is told.
    pub all: Vec<String>,
    /// Beyond the last.
    pub more: usize,
}

impl Lines {
    /// How many there were.
    pub fn count(&self) -> usize {
        self.all.len() + self.more
    }

    /// One more.
    pub fn add(&mut self, said: String) {
        if self.all.len() < MOST_LINES { self.all.push(said) } else { self.more += 1 }
    }
}

/// A note whose code says nobody.
#[derive(Clone, Debug)]
pub struct Waiting {
    /// Its file.
    pub name: String,
    /// What it says.
    pub note: HomeNote,
}

/// What came in for a course.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// Files looked at.
    pub files: usize,
    /// Notes read.
    pub notes: usize,
    /// Days: new, completed or replaced, the same, left as they were.
    pub days: [usize; 4],
    /// Notes of people who are not in the course; kept.
    pub outside: usize,
    /// Days that are kept otherwise, and were left.
    pub differ: Lines,
    /// What can't be used, by name.
    pub broken: Lines,
    /// Notes that wait for a hand.
    pub waiting: Vec<Waiting>,
    /// Photographs: taken in, there already.
    pub photographs: [usize; 2],
    /// When the note was made that a day's words are from, of what came in since the practice was unlocked.
    pub made: HashMap<(ClientId, Date), Date>,
}

impl Report {
    /// A note waits, or is told where there is no room for more.
    pub fn wait(&mut self, name: &str, note: HomeNote, why: String) {
        if self.waiting.iter().any(|w| w.note == note) {
            return;
        }
        if self.waiting.len() < MOST_WAITING {
            self.waiting.push(Waiting { name: name.to_owned(), note });
        } else {
            self.broken.add(why);
        }
    }

    /// Whether anything came in.
    pub fn is_empty(&self) -> bool {
        self.files == 0
    }
}

/// What photographs wait to be measured, and what could not be.
#[derive(Default)]
pub struct Measuring {
    /// Visits that a worker has in hand.
    pub taken: HashSet<VisitId>,
    /// Workers that run.
    pub workers: usize,
    /// What could not be measured, in words.
    pub refused: Lines,
    /// Measured since the practice was unlocked.
    pub done: usize,
}

/// What the pages of courses keep in memory.
#[derive(Clone, Default)]
pub struct State {
    reports: Arc<Mutex<BTreeMap<CourseId, Report>>>,
    measuring: Arc<Mutex<Measuring>>,
    /// One step at a time: a step works on a copy of the report.
    step: Arc<Mutex<()>>,
    /// Goes up when the practice is locked: what ends afterwards puts nothing back.
    epoch: Arc<AtomicU64>,
}

/// One step of taking in: the report as it was, to be put back when its days are on the disk.
pub struct Step<'a> {
    state: &'a State,
    id: CourseId,
    epoch: u64,
    /// What came in so far.
    pub report: Report,
    _one: MutexGuard<'a, ()>,
}

impl Step<'_> {
    /// Puts the report back, unless the practice was locked meanwhile.
    pub fn put(&self) {
        let mut reports = hold(&self.state.reports);
        if self.state.epoch.load(Ordering::SeqCst) == self.epoch {
            reports.insert(self.id, self.report.clone());
        }
    }
}

fn hold<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl State {
    /// Works on a course's report.
    pub fn with<T>(&self, id: CourseId, work: impl FnOnce(&mut Report) -> T) -> T {
        work(hold(&self.reports).entry(id).or_default())
    }

    /// What is being measured.
    pub fn measuring(&self) -> MutexGuard<'_, Measuring> {
        hold(&self.measuring)
    }

    /// Begins a step; another waits until this one is over.
    pub fn step(&self, id: CourseId) -> Step<'_> {
        let one = hold(&self.step);
        let epoch = self.epoch.load(Ordering::SeqCst);
        Step { state: self, id, epoch, report: self.with(id, |r| r.clone()), _one: one }
    }

    /// Somebody was erased: no name and no day of theirs stays here. What waits for a hand names nobody, and stays.
    pub fn erased(&self) {
        let _one = hold(&self.step);
        for report in hold(&self.reports).values_mut() {
            report.differ = Lines::default();
            report.broken = Lines::default();
            report.made.clear();
        }
        hold(&self.measuring).refused = Lines::default();
    }

    /// The practice was locked.
    pub fn forget(&self) {
        let mut reports = hold(&self.reports);
        self.epoch.fetch_add(1, Ordering::SeqCst);
        reports.clear();
        drop(reports);
        let mut measuring = hold(&self.measuring);
        measuring.refused = Lines::default();
        measuring.done = 0;
    }

    /// Measures what waits, beside the work; what was cut off before is gone on with.
    pub fn go_on(&self, cabinet: Arc<Cabinet>, now: Time) {
        measure::beside(self.clone(), cabinet, now);
    }
}
