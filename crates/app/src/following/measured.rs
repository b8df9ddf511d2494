//! What the photographs of a client's visits say, by value and side; and the size of the noise in it.

use std::collections::BTreeMap;

use cabinet::{ClientId, Error, Reader, ReadingSide, Time, VisitReading};
use follow::{Prior, Sided, Value, Visit, change, level};
use vocab::{Date, Side};

use super::body::Body;
use super::days::local_day;

/// So many days of visits are needed before their own noise is spoken of.
const LEAST_OWN: usize = 4;

/// The readings of a client.
pub struct Measured {
    found: Vec<VisitReading>,
}

impl Measured {
    /// Reads them.
    ///
    /// # Errors
    /// Of the store.
    pub fn read(r: &Reader<'_>, client: ClientId) -> Result<Measured, Error> {
        Ok(Measured { found: r.readings(client)? })
    }

    /// The visits of a value that belong to a plan: of the whole face, or of one side.
    pub fn of(&self, value: &Value, side: Option<Side>, body: &Body) -> Vec<Visit> {
        let mut visits = self.all(value, side, body.first);
        visits.retain(|v| (body.earliest()..=body.end()).contains(&v.day));
        visits
    }

    /// The moment of the first of these visits.
    pub fn first_at(&self, value: &Value, side: Option<Side>, body: &Body) -> Option<Time> {
        let (side, within) = (reading_side(side), body.earliest()..=body.end());
        let theirs = self.found.iter().filter(|f| f.side == side && f.name == value.name).map(|f| f.at);
        theirs.filter(|at| within.contains(&body.number(local_day(*at)))).min()
    }

    /// Both sides of the days that have both.
    pub fn sided(&self, value: &Value, worked: Side, body: &Body) -> Vec<Sided> {
        let other = if worked == Side::Left { Side::Right } else { Side::Left };
        let (worked, unworked) = (self.of(value, Some(worked), body), self.of(value, Some(other), body));
        let pair = |w: &Visit| Some(Sided { worked: *w, unworked: *unworked.iter().find(|u| u.day == w.day)? });
        worked.iter().filter_map(pair).collect()
    }

    /// A day each, oldest first; day 1 is `first`. Two visits of one day count as one.
    fn all(&self, value: &Value, side: Option<Side>, first: Date) -> Vec<Visit> {
        let side = reading_side(side);
        let mut days: BTreeMap<i32, Visit> = BTreeMap::new();
        for found in self.found.iter().filter(|f| f.side == side && f.name == value.name) {
            let day = i32::try_from(local_day(found.at).days_since(first) + 1).unwrap_or(i32::MAX);
            let visit = Visit { day, mean: found.mean, count: found.count, ss: found.ss };
            days.entry(day).and_modify(|known| *known = pooled(known, &visit)).or_insert(visit);
        }
        days.into_values().collect()
    }

    /// What this client's own visits of a value scatter, under a prior: about the lines of their latest weeks that have four visits,
    /// else about one level.
    pub fn noise(&self, value: &Value, side: Option<Side>, prior: &Prior, earlier: &[Body], today: Date) -> Noise {
        for body in earlier.iter().rev() {
            let visits = self.of(value, side, body);
            if let (Some(fit), true) = (change(&visits, body.end(), prior), visits.len() >= LEAST_OWN) {
                return Noise { sd: fit.sigma, within: fit.within, own: visits.len() };
            }
        }
        Noise::of(&self.all(value, side, today), prior)
    }
}

fn reading_side(side: Option<Side>) -> ReadingSide {
    match side {
        Some(Side::Left) => ReadingSide::Left,
        Some(Side::Right) => ReadingSide::Right,
        _ => ReadingSide::Face,
    }
}

/// Two visits of one day as one.
fn pooled(a: &Visit, b: &Visit) -> Visit {
    let (n, m) = (f64::from(a.count), f64::from(b.count));
    let mean = (n * a.mean + m * b.mean) / (n + m);
    let ss = a.ss + b.ss + n * (a.mean - mean).powi(2) + m * (b.mean - mean).powi(2);
    Visit { day: a.day, mean, count: a.count + b.count, ss }
}

/// The noise that a plan is expected to meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Standard deviation between days.
    pub sd: f64,
    /// Standard deviation between photographs of a visit.
    pub within: f64,
    /// So many days of their own visits are in it; 0: the prior alone.
    pub own: usize,
}

impl Noise {
    /// Of a client's own visits, about one level, drawn toward the prior; the prior alone with fewer than four days. A change in
    /// between counts as noise, so that a plan is rather too long.
    pub fn of(visits: &[Visit], prior: &Prior) -> Noise {
        let days: Vec<(i32, f64)> = visits.iter().map(|v| (v.day, v.mean)).collect();
        match level(&days, prior).filter(|_| visits.len() >= LEAST_OWN) {
            None => Noise { sd: prior.sd, within: prior.within, own: 0 },
            Some(level) => {
                let ss: f64 = visits.iter().map(|v| v.ss).sum();
                let df: f64 = visits.iter().map(|v| f64::from(v.count.max(1) - 1)).sum();
                let within = (ss + Prior::WITHIN_DF * prior.within.powi(2)) / (df + Prior::WITHIN_DF);
                Noise { sd: level.sigma, within: within.sqrt(), own: visits.len() }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_visits_of_a_day_are_as_one_with_all_their_photographs() {
        let of = |photographs: &[f64]| Visit::of(1, photographs).expect("a visit");
        let one = pooled(&of(&[7.0, 7.4]), &of(&[8.0, 8.2, 8.1]));
        let all = of(&[7.0, 7.4, 8.0, 8.2, 8.1]);
        assert_eq!(one.count, all.count);
        assert!((one.mean - all.mean).abs() < 1e-12 && (one.ss - all.ss).abs() < 1e-12, "{one:?} {all:?}");
    }

    #[test]
    fn own_noise_needs_days_and_follows_them() {
        let prior = Prior::stated(Value::usual());
        let visits = |scatter: f64, n: i32| -> Vec<Visit> {
            let one = |k| Visit::of(3 * k, &[8.0 + if k % 2 == 0 { scatter } else { -scatter }]);
            (0..n).filter_map(one).collect()
        };
        assert_eq!(Noise::of(&visits(3.0, 3), &prior), Noise { sd: prior.sd, within: prior.within, own: 0 });
        let (quiet, loud) = (Noise::of(&visits(0.05, 10), &prior), Noise::of(&visits(3.0, 10), &prior));
        assert!(quiet.sd < prior.sd && loud.sd > 2.0, "{quiet:?} {loud:?}");
        assert_eq!((quiet.own, quiet.within), (10, prior.within));
    }
}
