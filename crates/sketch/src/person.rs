//! Whose face the sheet shows: the drawn one, one person's own, or their photograph.

use face::{Drawing, Seen, Spot};
use vocab::Side;

/// How the front frame of the drawing lies on one person's sheet.
///
/// A sheet is a front frame too: centimetres, y up, the person's own left at larger x. For a photograph it is the
/// picture in centimetre-like units: the pixel `(px, py)` is the place `(px / px_per_cm, -py / px_per_cm)`, see
/// [`crate::Picture`]. Lines are carried before the pen draws them, so that their widths stay even; marks keep their
/// size and stay upright. The back figure is the same for all.
#[derive(Clone, Copy)]
pub struct Person<'a> {
    carry: &'a dyn Fn(Spot) -> Spot,
    places: &'a dyn Fn(&str, Side) -> Option<Spot>,
    halo_cm: &'a dyn Fn(&str, Side) -> Option<f64>,
    /// Nothing is carried: what has been drawn once can be used again.
    pub(crate) drawn: bool,
}

impl std::fmt::Debug for Person<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Person").field("drawn", &self.drawn).finish_non_exhaustive()
    }
}

impl<'a> Person<'a> {
    /// The drawn face, as it is.
    pub fn drawn() -> Person<'static> {
        Person { carry: &|spot| spot, places: &|_, _| None, halo_cm: &|_, _| None, drawn: true }
    }

    /// A person to whose sheet `carry` brings every place of the front frame. It must be smooth and must not fold.
    pub fn new(carry: &'a dyn Fn(Spot) -> Spot) -> Person<'a> {
        Person { carry, drawn: false, ..Person::drawn() }
    }

    /// With this person's own exact place of a point on the sheet, where there is one; it goes before the carried one.
    /// It is asked with [`Side::Left`], [`Side::Right`], or [`Side::Midline`] for what exists once.
    #[must_use]
    pub fn with_places(self, places: &'a dyn Fn(&str, Side) -> Option<Spot>) -> Person<'a> {
        Person { places, ..self }
    }

    /// With the radius of the 95 % uncertainty of a target in centimetres of the sheet; drawn as a soft halo of its true
    /// size around a point and as a band behind a line. It is asked with the same sides as the places.
    #[must_use]
    pub fn with_halo_cm(self, halo_cm: &'a dyn Fn(&str, Side) -> Option<f64>) -> Person<'a> {
        Person { halo_cm, ..self }
    }

    /// Where a place of the front frame lies on the sheet; what is no number stays where it was.
    pub(crate) fn carry(&self, spot: Spot) -> Spot {
        let there = (self.carry)(spot);
        if there.x.is_finite() && there.y.is_finite() { there } else { spot }
    }

    /// The halo's radius; nothing that is no length above 0.
    pub(crate) fn halo(&self, target: &str, side: Side) -> Option<f64> {
        (self.halo_cm)(target, side).filter(|r| r.is_finite() && *r > 0.0)
    }

    /// A target on the drawing with this person's own place, if they have one, brought back to the front frame.
    pub(crate) fn see(&self, drawing: &Drawing, target: &str, side: Side) -> Option<Own> {
        let mut seen = drawing.see(target, side)?;
        let side = if seen.midline { Side::Midline } else { side };
        let point = seen.outline.is_empty() && seen.ways.is_empty() && seen.view.front();
        let own = (self.places)(target, side).filter(|s| point && s.x.is_finite() && s.y.is_finite());
        if let Some(own) = own {
            seen.at = self.back(own, seen.at);
        }
        let rest = own.map_or(Spot::default(), |own| own - self.carry(seen.at));
        Some(Own { seen, side, rest })
    }

    /// A seen target as it lies on the sheet.
    pub(crate) fn carried(&self, seen: &Seen) -> Seen {
        if !seen.view.front() {
            return seen.clone();
        }
        let run = |spots: &[Spot]| spots.iter().map(|s| self.carry(*s)).collect::<Vec<_>>();
        Seen {
            at: self.carry(seen.at),
            outline: run(&seen.outline),
            ways: seen.ways.iter().map(|way| run(way)).collect(),
            ..seen.clone()
        }
    }

    /// The place of the front frame that is carried to `there`, by Newton's method from `from`; where the sheet folds it
    /// is the nearest that was found.
    fn back(&self, there: Spot, from: Spot) -> Spot {
        const SMALL: f64 = 0.01;
        let mut best = (f64::MAX, from);
        let mut at = from;
        for _ in 0..12 {
            let here = self.carry(at);
            let miss = there - here;
            if miss.length() < best.0 {
                best = (miss.length(), at);
            }
            if miss.length() < 1e-9 {
                break;
            }
            let u = (self.carry(at + Spot::new(SMALL, 0.0)) - here) * (1.0 / SMALL);
            let v = (self.carry(at + Spot::new(0.0, SMALL)) - here) * (1.0 / SMALL);
            let det = u.x * v.y - u.y * v.x;
            if det.abs() < 1e-6 {
                break;
            }
            at = at + Spot::new((miss.x * v.y - miss.y * v.x) / det, (u.x * miss.y - u.y * miss.x) / det);
        }
        best.1
    }
}

/// A target of one person: its place on the drawing, and what is left between the carried place and their own.
pub(crate) struct Own {
    pub seen: Seen,
    pub side: Side,
    pub rest: Spot,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_own_place_is_brought_back_to_the_drawing() {
        let bulge = |s: Spot| Spot::new(s.x * 0.9 + 0.2 * (s.y * 0.3).sin() + 4.0, s.y * 1.1 - 0.02 * s.x * s.x - 7.0);
        let person = Person::new(&bulge);
        for (x, y) in [(0.0, 0.0), (5.0, -4.0), (-6.5, 3.0), (1.0, 9.0)] {
            let there = Spot::new(x, y);
            let got = person.back(bulge(there), Spot::default());
            assert!(got.to(there) < 1e-6, "{there:?} came back as {got:?}");
        }
    }
}
