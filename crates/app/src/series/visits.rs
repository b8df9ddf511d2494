//! From the rows of a series to the visits that are followed.

use std::collections::{BTreeMap, BTreeSet};

use follow::{Sided, Visit};
use vocab::{Date, Side};

use super::plan::SeriesPlan;
use super::read::{Row, RowSide, Table};

/// The most visits that are followed.
pub const MOST_VISITS: usize = 400;

/// A visit with what it was called.
#[derive(Clone, Debug, PartialEq)]
pub struct Labelled {
    /// Its day and date.
    pub date: Date,
    /// Its label; may be empty.
    pub label: String,
    /// Its values.
    pub visit: Visit,
}

/// A series by visits.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Day 1.
    pub first: Date,
    /// The day of the last row.
    pub last: i32,
    /// The visits, by day.
    pub visits: Vec<Labelled>,
    /// What is followed.
    pub of: Followed,
    /// Both sides at each visit that has both, where one side is worked alone.
    pub sides: Vec<Sided>,
    /// Days with a session, by day, each once.
    pub worked: Vec<i32>,
    /// What is to be said of how it was read.
    pub notes: Vec<Note>,
}

/// What a series is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Followed {
    /// The whole face: the mean of both sides of each photograph, or a value of the whole.
    Face,
    /// One side: the only one there is, or the one that is worked.
    One(Side),
}

/// Something to be said of how a series was read.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// Columns that are not read.
    Unknown(Vec<String>),
    /// So many photographs with one side only, the first on that line: left out of the series of whole faces.
    OneSided(usize, usize),
    /// Every photograph has this side only, so that is followed.
    OnlySide(Side),
    /// This side alone is worked: it is followed, and compared with the other one.
    WorkedSide(Side),
    /// So many visits after the last day of the plan; they are shown and not counted.
    AfterEnd(usize),
}

/// Why rows make no series.
#[derive(Clone, Debug, PartialEq)]
pub enum NoSeries {
    /// No row says yes, and no plan names the first worked day.
    NoWorkedDay,
    /// A session on this line, before the first worked day of the plan.
    WorkedBefore(usize),
    /// A session on this line on the side that is not worked.
    WorkedOtherSide(usize, Side),
    /// There are left and right sides, but no photograph with both.
    NoPairs,
    /// No value of the side that is worked.
    NoSide(Side),
    /// More than [`MOST_VISITS`].
    TooMany(usize),
}

/// One photograph.
#[derive(Default)]
struct Photo {
    line: usize,
    left: Option<f64>,
    right: Option<f64>,
    face: Option<f64>,
}

impl Photo {
    fn whole(&self) -> Option<f64> {
        self.face.or_else(|| Some(0.5 * (self.left? + self.right?)))
    }

    fn side(&self, side: Side) -> Option<f64> {
        if side == Side::Left { self.left } else { self.right }
    }
}

/// Visits by date and label, each with its photographs in order.
type Visits = BTreeMap<(Date, String), Vec<Photo>>;

impl Series {
    /// The series of a table, by a plan.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of(table: &Table, plan: &SeriesPlan) -> Result<Series, NoSeries> {
        let first = first(table, plan)?;
        let side = match plan.side {
            Some(side) => {
                let other = |r: &&Row| r.worked && of_row(r.side) != Some(side);
                if let Some(row) = table.rows.iter().find(other) {
                    return Err(NoSeries::WorkedOtherSide(row.line, side));
                }
                Some(side)
            }
            None => one_worked(table),
        };
        let visits = photographs(table);
        if visits.len() > MOST_VISITS {
            return Err(NoSeries::TooMany(visits.len()));
        }
        let all = || visits.values().flatten();
        let mut notes = Vec::new();
        if !table.unknown.is_empty() {
            notes.push(Note::Unknown(table.unknown.clone()));
        }
        let of = if let Some(side) = side {
            if !all().any(|p| p.side(side).is_some()) {
                return Err(NoSeries::NoSide(side));
            }
            notes.push(Note::WorkedSide(side));
            Followed::One(side)
        } else if all().any(|p| p.whole().is_some()) {
            let mut single = all().filter(|p| p.whole().is_none());
            if let Some(one) = single.next() {
                notes.push(Note::OneSided(1 + single.count(), one.line));
            }
            Followed::Face
        } else {
            let [left, right] = [Side::Left, Side::Right].map(|s| all().any(|p| p.side(s).is_some()));
            let side = match (left, right) {
                (true, true) => return Err(NoSeries::NoPairs),
                (true, false) => Side::Left,
                _ => Side::Right,
            };
            notes.push(Note::OnlySide(side));
            Followed::One(side)
        };
        let day = |date: Date| i32::try_from(date.days_since(first)).unwrap_or(i32::MAX - 1) + 1;
        let mut labelled = Vec::new();
        let mut sides = Vec::new();
        for ((date, label), photos) in &visits {
            let values = |pick: &dyn Fn(&Photo) -> Option<f64>| {
                Visit::of(day(*date), &photos.iter().filter_map(pick).collect::<Vec<_>>())
            };
            let visit = values(&|p| match of {
                Followed::Face => p.whole(),
                Followed::One(side) => p.side(side),
            });
            labelled.extend(visit.map(|visit| Labelled { date: *date, label: label.clone(), visit }));
            if let Some(side) = side {
                let other = if side == Side::Left { Side::Right } else { Side::Left };
                // Both from the same photographs, so that what a photograph does to both falls out.
                let worked = values(&|p| p.side(other).and(p.side(side)));
                let unworked = values(&|p| p.side(side).and(p.side(other)));
                sides.extend(worked.zip(unworked).map(|(worked, unworked)| Sided { worked, unworked }));
            }
        }
        labelled.sort_by_key(|l| l.visit.day);
        sides.sort_by_key(|s| s.worked.day);
        let worked: BTreeSet<i32> = table.rows.iter().filter(|r| r.worked).map(|r| day(r.date)).collect();
        let last = table.rows.iter().map(|r| day(r.date)).max().unwrap_or(0);
        Ok(Series { first, last, visits: labelled, of, sides, worked: worked.into_iter().collect(), notes })
    }

    /// The visits alone.
    pub fn plain(&self) -> Vec<Visit> {
        self.visits.iter().map(|l| l.visit).collect()
    }
}

fn first(table: &Table, plan: &SeriesPlan) -> Result<Date, NoSeries> {
    let earliest = table.rows.iter().filter(|r| r.worked).min_by_key(|r| r.date);
    match (plan.first, earliest) {
        (Some(first), Some(row)) if row.date < first => Err(NoSeries::WorkedBefore(row.line)),
        (Some(first), _) => Ok(first),
        (None, Some(row)) => Ok(row.date),
        (None, None) => Err(NoSeries::NoWorkedDay),
    }
}

fn of_row(side: RowSide) -> Option<Side> {
    match side {
        RowSide::Left => Some(Side::Left),
        RowSide::Right => Some(Side::Right),
        RowSide::Face => None,
    }
}

/// The side that alone is worked, where the rows say so: every session on this side, and the other one named as not worked on such a day.
fn one_worked(table: &Table) -> Option<Side> {
    let sides: BTreeSet<Option<Side>> = table.rows.iter().filter(|r| r.worked).map(|r| of_row(r.side)).collect();
    let side = (sides.len() == 1).then(|| sides.first().copied().flatten()).flatten()?;
    let days: BTreeSet<Date> = table.rows.iter().filter(|r| r.worked).map(|r| r.date).collect();
    let spared =
        |r: &Row| !r.worked && r.value.is_some() && of_row(r.side).is_some_and(|s| s != side) && days.contains(&r.date);
    table.rows.iter().any(spared).then_some(side)
}

/// Rows of one photograph come together: by its label, and without one the first left with the first right of a visit, and so on.
fn photographs(table: &Table) -> Visits {
    let mut visits: BTreeMap<(Date, String), BTreeMap<(String, usize), Photo>> = BTreeMap::new();
    let mut unnamed: BTreeMap<(Date, String, RowSide), usize> = BTreeMap::new();
    for row in &table.rows {
        let Some(value) = row.value else { continue };
        let nth = if row.photo.is_empty() {
            let seen = unnamed.entry((row.date, row.visit.clone(), row.side)).or_default();
            *seen += 1;
            // A value of the whole face is a photograph of its own.
            *seen + if row.side == RowSide::Face { 1_000_000 } else { 0 }
        } else {
            0
        };
        let photo =
            visits.entry((row.date, row.visit.clone())).or_default().entry((row.photo.clone(), nth)).or_default();
        if photo.line == 0 {
            photo.line = row.line;
        }
        match row.side {
            RowSide::Left => photo.left = Some(value),
            RowSide::Right => photo.right = Some(value),
            RowSide::Face => photo.face = Some(value),
        }
    }
    visits.into_iter().map(|(key, photos)| (key, photos.into_values().collect())).collect()
}
