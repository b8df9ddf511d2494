//! Visits: what was read on one day.

/// One value at one visit: the mean of its photographs (or the one number that somebody said), and what they scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Visit {
    /// The day, counted so that 1 is the first worked day.
    pub day: i32,
    /// Mean of the photographs that passed the gates, in the value's unit.
    pub mean: f64,
    /// How many there were, 1 or more.
    pub count: u32,
    /// Sum of squared deviations from the mean within the visit.
    pub ss: f64,
}

impl Visit {
    /// A visit of these photographs; none without one, or with a number that is not finite.
    pub fn of(day: i32, photographs: &[f64]) -> Option<Visit> {
        let count = u32::try_from(photographs.len()).ok().filter(|n| *n > 0)?;
        let mean = photographs.iter().sum::<f64>() / f64::from(count);
        let ss = photographs.iter().map(|v| (v - mean).powi(2)).sum();
        mean.is_finite().then_some(Visit { day, mean, count, ss })
    }
}

/// One value at one visit on the two sides of a face, for a plan that works one side only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sided {
    /// The worked side.
    pub worked: Visit,
    /// The other side, on the same day.
    pub unworked: Visit,
}

impl Sided {
    /// Worked less unworked. What each side scatters counts, as if the two were not tied within a photograph (which is wider).
    pub fn difference(&self) -> Visit {
        let (w, u) = (&self.worked, &self.unworked);
        Visit { day: w.day, mean: w.mean - u.mean, count: w.count.min(u.count), ss: w.ss + u.ss }
    }
}
