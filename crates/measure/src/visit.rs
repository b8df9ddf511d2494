//! Several photographs of one visit as one measurement.

use colour::{Base, Lab};
use vocab::Side;

use crate::leading::Leading;
use crate::photo::{Measured, SideMeasured};
use crate::shadow::{Shadow, shadow};
use crate::{M3, V3, Value};

/// One visit.
#[derive(Clone, Debug)]
pub struct Visit {
    /// How many photographs it holds.
    pub photographs: usize,
    /// Own right, own left.
    pub sides: [VisitSide; 2],
    /// Own left less own right of the shadow's dL and dE00.
    pub difference: [Value; 2],
}

/// One side of a visit.
#[derive(Clone, Debug)]
pub struct VisitSide {
    /// The person's own side.
    pub side: Side,
    /// The shadow, the mean of all photographs.
    pub shadow: Shadow,
    /// Luminance density of brown, blue-red and relief.
    pub parts: [Option<Value>; 3],
    /// What leads.
    pub leading: Leading,
    /// Standard deviation of dE00 between the photographs; none of one.
    pub spread: Option<f64>,
    mean: V3,
    cheek: Lab,
    repeat: M3,
}

/// A difference between two visits of one person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Later less earlier of dL.
    pub l: Value,
    /// Later less earlier of dE00.
    pub de: Value,
}

/// Combines the usable photographs of one visit; none where none is usable.
pub fn combine(photographs: &[Measured]) -> Option<Visit> {
    let usable: Vec<&[SideMeasured; 2]> =
        photographs.iter().filter(|m| m.usable).filter_map(|m| m.sides.as_ref()).collect();
    if usable.is_empty() {
        return None;
    }
    let side = |k: usize| one(&usable.iter().map(|s| &s[k]).collect::<Vec<_>>());
    let (right, left) = (side(0), side(1));
    let less = |l: Value, r: Value, u: f64| Value::of(l.value - r.value, u);
    // What a person's photographs share (tone curve, card) is shared by the two sides too.
    let u = |k: fn(&VisitSide) -> f64| k(&right).hypot(k(&left));
    let difference = [
        less(left.shadow.l, right.shadow.l, u(|s| s.repeat[(0, 0)].sqrt())),
        less(left.shadow.de, right.shadow.de, u(|s| s.between().u())),
    ];
    Some(Visit { photographs: usable.len(), sides: [right, left], difference })
}

fn one(photographs: &[&SideMeasured]) -> VisitSide {
    let n = photographs.len() as f64;
    let vector = |s: &&SideMeasured| V3::new(s.shadow.l.value, s.shadow.a.value, s.shadow.b.value);
    let mean = photographs.iter().map(vector).sum::<V3>() / n;
    let mut own = photographs.iter().map(|s| s.repeat).sum::<M3>() / n;
    let shared = photographs.iter().map(|s| s.shared).sum::<M3>() / n;
    let mut spread = None;
    if photographs.len() > 1 {
        // The photographs' own scatter counts with what each says of itself, as much as its few degrees of freedom are worth.
        let seen =
            photographs.iter().map(|s| (vector(s) - mean) * (vector(s) - mean).transpose()).sum::<M3>() / (n - 1.0);
        own = (own * PRIOR_WEIGHT + seen * (n - 1.0)) / (PRIOR_WEIGHT + n - 1.0);
        let de = photographs.iter().map(|s| s.shadow.de.value).sum::<f64>() / n;
        spread = Some((photographs.iter().map(|s| (s.shadow.de.value - de).powi(2)).sum::<f64>() / (n - 1.0)).sqrt());
    }
    let repeat = own / n;
    let cheek = Lab {
        l: photographs.iter().map(|s| s.cheek.l).sum::<f64>() / n,
        a: photographs.iter().map(|s| s.cheek.a).sum::<f64>() / n,
        b: photographs.iter().map(|s| s.cheek.b).sum::<f64>() / n,
    };
    let value = |of: &dyn Fn(&SideMeasured) -> Option<Value>| {
        let all: Vec<Value> = photographs.iter().filter_map(|s| of(s)).collect();
        let count = all.len() as f64;
        (!all.is_empty()).then(|| {
            let mean = all.iter().map(|v| v.value).sum::<f64>() / count;
            Value::of(mean, of_many(all.iter().map(|v| v.u().powi(2)).sum::<f64>() / count, count))
        })
    };
    let parts = [value(&|s| s.brown), value(&|s| Some(s.blue_red)), value(&|s| Some(s.relief))];
    let densities: Vec<&(V3, M3)> = photographs.iter().filter_map(|s| s.densities.as_ref()).collect();
    let leading = if densities.is_empty() {
        Leading::CannotTell
    } else {
        let count = densities.len() as f64;
        let mean = densities.iter().map(|d| d.0).sum::<V3>() / count;
        let covariance = densities.iter().map(|d| d.1).sum::<M3>() / count * (0.5 + 0.5 / count);
        Leading::of(mean.into(), &covariance, &Base::at(cheek.xyz()))
    };
    VisitSide {
        side: photographs[0].side,
        shadow: shadow(on(cheek, mean), cheek, &(repeat + shared)),
        parts,
        leading,
        spread,
        mean,
        cheek,
        repeat,
    }
}

/// Half of a part's variance is taken to be the photographs' own and falls with their number; the other half they share (our own
/// choice).
fn of_many(variance: f64, count: f64) -> f64 {
    (variance * (0.5 + 0.5 / count)).sqrt()
}

/// How many degrees of freedom the photographs' own word is worth against their scatter (our own choice).
const PRIOR_WEIGHT: f64 = 8.0;

fn on(cheek: Lab, d: V3) -> Lab {
    Lab { l: cheek.l + d[0], a: cheek.a + d[1], b: cheek.b + d[2] }
}

impl VisitSide {
    /// dE00 with the uncertainty that counts between visits of one person: what all photographs share is left out.
    pub fn between(&self) -> Value {
        shadow(on(self.cheek, self.mean), self.cheek, &self.repeat).de
    }

    /// What changed from an earlier visit to this one.
    pub fn since(&self, earlier: &VisitSide) -> Change {
        let less = |a: Value, b: Value| Value { value: a.value - b.value, u95: a.u95.hypot(b.u95) };
        let l = |s: &VisitSide| Value::of(s.shadow.l.value, s.repeat[(0, 0)].max(0.0).sqrt());
        Change { l: less(l(self), l(earlier)), de: less(self.between(), earlier.between()) }
    }
}
